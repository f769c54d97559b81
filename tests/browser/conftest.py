"""One browser for all, and the pages that the tests open."""

from __future__ import annotations

import fcntl
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from assembly.rehearsal import Rehearsal, rehearse
from exports.walk import walk_data
from exports.walk.document import document
from exports.walk.html import bundle, page
from model.design import Design
from model.reader import read
from tests import zoo
from tests.browser.hostile import hostile
from tests.browser.opened import CHROMIUM, FLAGS, REMEDY, Opened, open_page
from tests.page import bundled

ROOT = Path(__file__).resolve().parents[2]
Opens = Callable[..., Opened]


def _gate() -> Design:
    return read(ROOT / "examples" / "orchard_gate.toml")


DESIGNS: dict[str, Callable[[], Design]] = {"gate": _gate, "mistaken": zoo.mortise_shifted, "hostile": hostile}


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Debian's Chromium without a screen, drawing with the processor; skips where it is not there."""
    if not CHROMIUM.exists():
        pytest.skip(f"no browser here; this would help: {REMEDY}")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=str(CHROMIUM), args=list(FLAGS))
        yield started
        started.close()


@pytest.fixture(scope="session")
def walks(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], str]:
    """The address of the walk page of a design, made once for all that test beside each other."""
    bundled()
    bundle.cache_clear()
    shared = tmp_path_factory.getbasetemp()
    shared = shared.parent if shared.name.startswith("popen-") else shared

    def address(name: str) -> str:
        file = shared / f"{name}.html"
        with (shared / f"{name}.lock").open("a") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if not file.exists():
                file.write_text(_page(rehearse(DESIGNS[name]())), encoding="utf-8", errors="replace", newline="\n")
        return file.as_uri()

    return address


def _page(rehearsal: Rehearsal) -> str:
    data = walk_data(rehearsal)
    return page(data, document(rehearsal, walk=data))


@pytest.fixture(scope="module")
def kept(browser: Any, walks: Callable[[str], str]) -> Iterator[dict[tuple[Any, ...], Opened]]:
    """Pages that stay open through a module."""
    found: dict[tuple[Any, ...], Opened] = {}
    yield found
    for opened in found.values():
        opened.page.context.close()


@pytest.fixture
def opens(browser: Any, walks: Callable[[str], str], kept: dict[tuple[Any, ...], Opened]) -> Iterator[Opens]:
    """Open the walk page of a design on a device; what goes wrong on it fails the test.

    The page stays open for the tests that follow; with `fresh` (or anything else asked for) it is the test's own.
    """
    used: list[Opened] = []

    def opened(name: str = "gate", size: str = "desktop", link: str = "", **how: Any) -> Opened:
        key = (name, size)
        own = bool(how.pop("fresh", False) or how)
        if own or key not in kept:
            made = open_page(browser, walks(name) + link, size, **how)
            if not own:
                kept[key] = made
        else:
            made = kept[key]
            made.go(link or "#step=1.1")
        used.append(made)
        return made

    yield opened
    problems = [p for one in used for p in one.problems]
    for one in used:
        one.problems.clear()
        if one not in kept.values():
            one.page.context.close()
    assert not problems
