"""The walk page as one file: what is in it, and that no text in a design can be anything but text."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from exports.walk import html as page_module
from exports.walk.html import PageMissing, has_page, in_script, page

HOSTILE = ["</script><script>alert(1)</script>", "<!--<script>", "]]>", "\u2028\u2029", "\x00\x07\x1b[31m", "\ud800",
           "&lt;img src=x onerror=alert(1)>", "\"'`${1}", "x" * 10_000]


class Elements(HTMLParser):
    """Every element of a page with its attributes, and the text of those that hold code or data."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.started: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self._inside = False
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.started.append((tag, dict(attrs)))
        self.texts.append("")
        self._inside = True

    def handle_endtag(self, tag: str) -> None:
        self._inside = False

    def handle_data(self, data: str) -> None:
        if self._inside:
            self.texts[-1] += data

    def of(self, tag: str) -> list[tuple[dict[str, str | None], str]]:
        return [(a, t) for (name, a), t in zip(self.started, self.texts, strict=True) if name == tag]


@pytest.fixture
def built(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A bundle of our own in place of the one that is built."""
    (tmp_path / "walk.js").write_bytes(b'const s = "</script><!--", r = 1 </a/.exec("");\r\n')
    (tmp_path / "walk.css").write_text('a::after { content: "</style>" }\n', encoding="utf-8")
    monkeypatch.setattr(page_module, "_BUILT", tmp_path)
    page_module.bundle.cache_clear()
    yield tmp_path
    page_module.bundle.cache_clear()


def policy(elements: Elements) -> dict[str, list[str]]:
    said = next(a["content"] for a, _ in elements.of("meta") if a.get("http-equiv") == "Content-Security-Policy")
    return {name: rest for name, *rest in (part.split() for part in (said or "").split(";"))}


def sha256(code: str) -> str:
    """As the standard "Content Security Policy Level 3" (W3C) has it: of the element's text in UTF-8, in base64."""
    return "'sha256-" + base64.b64encode(hashlib.sha256(code.encode()).digest()).decode() + "'"


def test_only_its_own_script_and_style_may_run(built: Path) -> None:
    elements = Elements(page({"title": "a"}, "<h1>a</h1>"))
    scripts = [t for a, t in elements.of("script") if a.get("type") != "application/json"]
    styles = [t for _, t in elements.of("style")]
    assert len(scripts) == len(styles) == 1
    assert policy(elements) == {
        "default-src": ["'none'"], "script-src": [sha256(scripts[0])], "style-src": [sha256(styles[0])],
        "img-src": ["data:", "blob:"], "connect-src": ["'none'"], "base-uri": ["'none'"], "form-action": ["'none'"]}
    served = Elements(page({"title": "a"}, "", live=True))
    assert policy(served)["connect-src"] == ["'self'"]


def test_code_that_would_end_its_element_does_not(built: Path) -> None:
    elements = Elements(page({"title": "a"}, ""))
    script = elements.of("script")[-1][1]
    assert script == 'const s = "<\\/script><\\!--", r = 1 </a/.exec("");\n'
    assert elements.of("style")[0][1] == 'a::after { content: "<\\/style>" }\n'


def test_nothing_is_asked_of_elsewhere(built: Path) -> None:
    text = page({"title": "a"}, '<img src="data:image/png;base64,AA==" alt="">')
    for tag, attributes in Elements(text).started:
        assert not [n for n in attributes if n.startswith("on") or n == "style"], tag
        for name in ("src", "href", "action", "data", "srcset"):
            assert (attributes.get(name) or "data:").startswith("data:"), (tag, attributes)


def test_it_can_be_read_and_made_larger(built: Path) -> None:
    elements = Elements(page({"title": "A gate & more"}, "<p>Words</p>"))
    assert dict(elements.of("html")[0][0]) == {"lang": "en"}
    assert elements.of("title")[0][1] == "A gate & more"
    meta = {a["name"]: a["content"] or "" for a, _ in elements.of("meta") if "name" in a}
    assert meta["color-scheme"] == "light dark"
    assert not re.search("maximum-scale|user-scalable", meta["viewport"])
    assert elements.of("main")[0][0] == {"id": "words"}


@pytest.mark.parametrize("hostile", HOSTILE, ids=range(len(HOSTILE)))
def test_a_hostile_name_is_text(built: Path, hostile: str) -> None:
    text = page({"title": hostile, "parts": [{"name": hostile}]}, "")
    text.encode()
    elements = Elements(text)
    assert [t for t, _ in elements.started].count("script") == 2
    assert "img" not in [t for t, _ in elements.started]
    data = next(t for a, t in elements.of("script") if a.get("id") == "walk")
    assert json.loads(data)["parts"][0]["name"] == hostile
    assert len(elements.of("title")[0][1]) <= 200


@given(st.recursive(st.none() | st.booleans() | st.integers() | st.text(),
                    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner)))
def test_data_comes_back_as_it_went_in(data: object) -> None:
    text = in_script(data)
    assert text.isascii()
    assert not set(text) & set("<>&\n\r")
    assert json.loads(text) == data


@pytest.mark.parametrize("number", [float("nan"), float("inf")])
def test_what_is_no_number_in_json_is_refused(number: float) -> None:
    with pytest.raises(ValueError):
        in_script([number])


def test_without_the_bundle_the_page_says_what_would_help(built: Path) -> None:
    assert has_page()
    (built / "walk.css").unlink()
    assert not has_page()
    with pytest.raises(PageMissing, match="pip install"):
        page({"title": "a"}, "")
