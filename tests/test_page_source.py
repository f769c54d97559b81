"""The walk page's own checks, run by the node that also bundles it: types, lint, unit tests."""

from __future__ import annotations

import json
import re

import pytest

from exports.page import hook
from tests.page import PAGE, fetched

LONGEST_FILE = 400


@pytest.mark.parametrize("check", ["types", "lint", "test"])
def test_the_page_passes(check: str) -> None:
    fetched()
    done = hook.run(PAGE, [*hook.npm(), "run", "--silent", check], {"NO_COLOR": "1"})
    assert done.returncode == 0, done.stdout
    if check == "test":
        ran = re.search(r"^# tests (\d+)|tests (\d+)$", done.stdout, re.MULTILINE)
        assert ran and int(ran[1] or ran[2]) > 0, done.stdout


def test_no_file_of_the_page_grows_too_long() -> None:
    """Styles and scripts alike; the linter looks at functions."""
    files = [f for folder in ("source", "tests") for f in (PAGE / folder).rglob("*") if f.is_file()]
    assert files
    assert not [f.name for f in files if f.read_text(encoding="utf-8").count("\n") > LONGEST_FILE]


def test_releases_are_named_exactly() -> None:
    """What is fetched years from now is what was tried: every release is pinned, and locked with a digest."""
    asked = json.loads((PAGE / "package.json").read_text(encoding="utf-8"))
    for release in {**asked["dependencies"], **asked["devDependencies"]}.values():
        assert re.fullmatch(r"\d+\.\d+\.\d+(-[\w.]+)?", release), release
    locked = json.loads((PAGE / "package-lock.json").read_text(encoding="utf-8"))["packages"]
    for place, of in locked.items():
        if place:
            assert of["integrity"].startswith("sha512-"), place
    bundles = {n.removeprefix("node_modules/") for n, of in locked.items() if n and not of.get("dev")
               and not of.get("optional")}
    assert bundles == {"three", "preact", "@preact/signals", "@preact/signals-core", "esbuild"}
