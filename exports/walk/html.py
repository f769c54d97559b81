"""The walk page as one file: words, data, style and script, and the policy that lets nothing else in."""

from __future__ import annotations

import base64
import hashlib
import html
import json
import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from exports.names import printable
from exports.walk.sent import sent
from model.errors import DryfitError

REMEDY = "pip install --force-reinstall --no-deps ."
"""What brings the bundle where dryfit was installed without it; in dryfit's own folder, the npm registry in reach."""
_BUILT = Path(__file__).resolve().parents[1] / "page" / "built"
_ICON = ("%3Csvg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 16 16'%3E%3Cpath fill='%23b98a54' d='M1 2h5v12H1z'/%3E"
         "%3Cpath fill='%23d9b684' d='M6 5h9v6H6z'/%3E%3Cpath fill='none' stroke='%23332c22' "
         "d='M1.5 2.5h4.5v11h-4.5zM6 5.5h8.5v5H6'/%3E%3C/svg%3E")
"""A rail against a post."""


class PageMissing(DryfitError):
    """The walk page's bundle is not there: dryfit was installed without it."""


def has_page() -> bool:
    """Return whether the walk page's bundle is there."""
    return all((_BUILT / name).is_file() for name in ("walk.js", "walk.css"))


def page(data: Mapping[str, Any], document: str, live: bool = False) -> str:
    """Return the walk page as HTML, to be written as UTF-8.

    `data` is what `exports.walk.walk_data` gives, `document` the inside of `<main id="words">`: HTML of our own
    making, shown where the script cannot run, and in print. The policy lets in this script and this style by
    their digests, pictures that are in the page, and nothing from anywhere else; a `live` page may also ask the
    server that it came from.
    Raises PageMissing where dryfit was installed without the bundle.
    """
    script, style = bundle()
    return _PAGE.format(
        policy=policy(live), title=html.escape(printable(str(data["title"]))[:200]), icon=_ICON,
        style=style, document=document, data=in_script(sent(data)), script=script)


@cache
def bundle() -> tuple[str, str]:
    """Return the page's script and style, ready to stand in HTML. Raises PageMissing."""
    try:
        script, style = ((_BUILT / name).read_text(encoding="utf-8") for name in ("walk.js", "walk.css"))
    except OSError as error:
        raise PageMissing("the walk page is not there: dryfit was installed without it. In dryfit's own folder, with "
                          f"the npm registry in reach, this would help:  {REMEDY}") from error
    return _enclosed(script), _enclosed(style)


def in_script(data: object) -> str:
    """Return data as JSON that may stand in a script element whatever text it holds: ASCII, and no `<` or `&`."""
    made = json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return made.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _enclosed(code: str) -> str:
    """Return script or style with nothing that would end its element early, and its lines ended as HTML reads them."""
    code = code.replace("\r\n", "\n").replace("\r", "\n").replace("<!--", "<\\!--")
    return re.sub(r"</(?=script|style)", r"<\\/", code, flags=re.IGNORECASE)


def policy(live: bool = False) -> str:
    """Return the page's content security policy. Raises PageMissing."""
    script, style = bundle()
    asked = "'self'" if live else "'none'"
    return (f"default-src 'none'; script-src '{_digest(script)}'; style-src '{_digest(style)}'; img-src data: blob:; "
            f"connect-src {asked}; base-uri 'none'; form-action 'none'")


def _digest(code: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(code.encode()).digest()).decode()


_PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover">
<meta name="color-scheme" content="light dark">
<meta name="referrer" content="no-referrer">
<meta name="format-detection" content="telephone=no">
<title>{title}</title>
<link rel="icon" href="data:image/svg+xml,{icon}">
<style>{style}</style>
</head>
<body>
<div id="page"></div>
<main id="words">
{document}
</main>
<script type="application/json" id="walk">{data}</script>
<script>{script}</script>
</body>
</html>
"""
