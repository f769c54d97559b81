"""The page as `dryfit walk` serves it: a number changed on it, a file broken and mended, the step and the look kept."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import ROOT
from tests.browser.opened import Opened, differ, open_page
from tests.page import bundled

PLANNED = 60_000
"""Milliseconds for a new plan on a machine that is busy with other things."""


@dataclass
class Served:
    """A design file and the page that follows it."""

    file: Path
    opened: Opened


@pytest.fixture(scope="module")
def served(browser: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    bundled()
    file = tmp_path_factory.mktemp("live") / "stand.toml"
    file.write_bytes((ROOT / "examples" / "hive_stand.toml").read_bytes())
    process = subprocess.Popen([sys.executable, "-m", "exports", "walk", str(file), "--no-browser"], cwd=ROOT,
                               stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
                               env={**os.environ, "PYTHONUNBUFFERED": "1"})
    try:
        assert process.stdout is not None
        address = process.stdout.readline().strip()
        assert re.fullmatch(r"http://127\.0\.0\.1:\d+/\S+", address), (address, process.stderr)
        opened = open_page(browser, address, "desktop")
        expect(opened.page.locator(".rule")).to_be_visible(timeout=PLANNED)
        planned(opened)
        yield Served(file, opened)
        opened.page.context.close()
    finally:
        process.terminate()
        process.wait(20)


def planned(opened: Opened) -> None:
    """Wait until the order is worked out: until then there is one step, the finished work."""
    opened.until(lambda: int(opened.page.locator(".rule").get_attribute("aria-valuemax") or 0) > 2, "planned", 60)


@pytest.fixture(autouse=True)
def nothing_wrong(served: Served) -> Iterator[None]:
    yield
    problems, served.opened.problems[:] = list(served.opened.problems), []
    assert not problems


def test_a_number_changed_on_the_page_changes_the_work_and_the_file(served: Served) -> None:
    opened, page = served.opened, served.opened.page
    opened.go("#step=1.3")
    before, was = opened.look(), served.file.read_text()
    opened.tab("Numbers")
    field = page.locator(".numbers .field").filter(has_text=re.compile("length", re.I)).locator("input").first
    text = field.input_value()
    number = re.match(r"\d+", text)
    assert number is not None, text
    field.fill(f"{int(number[0]) + 400}{text[number.end():]}")
    field.press("Enter")
    opened.until(lambda: served.file.read_text() != was, patience=60)
    now = served.file.read_text()
    assert now.count("\n") == was.count("\n") and [c for c in now if c == "#"] == [c for c in was if c == "#"]
    assert sum(a != b for a, b in zip(now.splitlines(), was.splitlines(), strict=True)) == 1
    opened.until(lambda: bool(differ(before, opened.look()).any()), "the work is drawn anew", patience=60)
    opened.keep("numbers")
    page.locator(".undo").click()
    opened.until(lambda: served.file.read_text() == was, patience=60)
    opened.tab("Order")
    planned(opened)
    opened.until(lambda: opened.step() == 3, "the step is kept")
    opened.until(lambda: differ(before, opened.look()).mean() < 0.002, "as it was before, and seen from there", 60)


def test_a_number_that_cannot_be_is_refused_where_it_stands(served: Served) -> None:
    opened, page = served.opened, served.opened.page
    was = served.file.read_text()
    opened.tab("Numbers")
    field = page.locator(".numbers .field").first
    kept = field.locator("input").input_value()
    field.locator("input").fill("many")
    field.locator("input").press("Enter")
    expect(field.locator(".said")).to_contain_text("Not written")
    assert served.file.read_text() == was
    field.locator("input").press("Escape")
    expect(field.locator("input")).to_have_value(kept)
    opened.tab("Order")


def test_a_broken_file_leaves_the_last_good_state_and_says_where(served: Served) -> None:
    opened, page = served.opened, served.opened.page
    opened.tab("Order")
    planned(opened)
    opened.go("#step=1.3")
    mouse, (x, y) = page.mouse, opened.middle()
    mouse.move(x, y)
    mouse.down()
    mouse.move(x + 90, y, steps=5)
    mouse.up()
    seen, was = opened.look(), served.file.read_text()
    served.file.write_text(was.replace("\n", "\nthis is = = no line\n", 1))
    wrong = page.locator("#wrong")
    expect(wrong).to_contain_text("Line 2", timeout=PLANNED)
    assert differ(seen, opened.look()).mean() < 0.002, "the last good state stays, looked at as before"
    assert opened.step() == 3
    opened.keep("broken-file")
    served.file.write_text(was)
    expect(wrong).to_have_count(0, timeout=PLANNED)
    planned(opened)
    opened.until(lambda: opened.step() == 3, "the step is kept")
    opened.until(lambda: differ(seen, opened.look()).mean() < 0.002, "and seen from there", 60)
