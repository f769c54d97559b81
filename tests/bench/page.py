"""Print what the walk page takes: `python -m tests.bench.page [--parts 1000]`.

For the main example and for a lattice: the page's size, the time from opening it to the first picture, and the
median time between frames while the work is turned and while it plays; and how long a number that is changed on a
served page takes until new solids and findings are on the screen. Each beside its aim, as a share of it. Drawn by
the processor alone, so a phone or computer of today is quicker.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from assembly.rehearsal import rehearse
from model.design import Design
from model.reader import read
from tests.bench.structures import lattice
from tests.browser.make import fresh_bundle, walked
from tests.browser.opened import CHROMIUM, FLAGS, Opened, open_page

ROOT = Path(__file__).resolve().parents[2]
GATE = ROOT / "examples" / "orchard_gate.toml"
AIMS = {"gate": (1.5, 120.0, 2.0), "lattice": (3.0, 350.0, 5.0)}
"""Seconds until it is ready, milliseconds of a median frame, megabytes."""
LIVE = 1.5
"""Seconds from a changed number to new solids and findings."""
COUNTED = """window.pictures = [];
const given = WebGL2RenderingContext.prototype.fenceSync;
WebGL2RenderingContext.prototype.fenceSync = function (...how) {
  window.pictures.push(performance.now());
  return given.apply(this, how);
};"""
"""Notes when each picture was given to the card: one is not begun before the one before is drawn."""
FRAMES = """seconds => new Promise(done => {
  window.pictures = [];
  setTimeout(() => { done(window.pictures.slice(1).map((at, k) => at - window.pictures[k])); }, seconds * 1000);
})"""
DRAG = """seconds => {
  const canvas = document.querySelector('canvas'), box = canvas.getBoundingClientRect(), began = performance.now();
  canvas.setPointerCapture = () => {};
  const send = (kind, x) => canvas.dispatchEvent(new PointerEvent(kind, { pointerId: 1, isPrimary: true, bubbles: true,
    clientX: box.left + box.width / 2 + x, clientY: box.top + box.height / 2 }));
  send('pointerdown', 0);
  const frame = now => {
    const gone = (now - began) / 1000;
    send('pointermove', 120 * Math.sin(2 * gone));
    if (gone < seconds) requestAnimationFrame(frame); else send('pointerup', 0);
  };
  requestAnimationFrame(frame);
}"""


def main() -> int:
    """Run the bench."""
    given = argparse.ArgumentParser(prog="python -m tests.bench.page", description=__doc__)
    given.add_argument("--parts", type=int, default=1000, help="parts of the lattice")
    given.add_argument("--runs", type=int, default=3, help="how often each page is opened; medians are printed")
    asked = given.parse_args()
    fresh_bundle()
    print(f"{os.cpu_count()} cores, no graphics processor; {os.getloadavg()[0]:.1f} processes ran in the minute before")
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as folder:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=list(FLAGS))
        for name, design in (("gate", read(GATE)), ("lattice", lattice(asked.parts))):
            _opened(browser, name, design, Path(folder), asked.runs)
        _live(browser, Path(folder))
        browser.close()
    return 0


def _opened(browser: Any, name: str, design: Design, folder: Path, runs: int) -> None:
    file = folder / f"{name}.html"
    pictures = name == "gate"
    file.write_text(walked(rehearse(design), pictures), encoding="utf-8", newline="\n")
    ready, size, (aim, frame, large) = [], file.stat().st_size / 1e6, AIMS[name]
    print(f"\n{name}, {len(design.parts)} parts{', with its pictures' if pictures else ''}")
    for run in range(runs):
        opened = open_page(browser, file.as_uri(), "desktop", reduced_motion="no-preference", script=COUNTED)
        ready.append(opened.page.evaluate("performance.getEntriesByName('ready')[0].startTime") / 1000)
        if run == runs - 1:
            turning = _turning(opened)
            playing = _playing(opened)
        opened.page.context.close()
    _said("ready", ready, aim, "s")
    _said("a frame while it is turned", turning, frame, "ms")
    _said("a frame while it plays", playing, frame, "ms")
    _said("size", [size], large, "MB")


def _turning(opened: Opened, seconds: float = 4.0) -> list[float]:
    opened.go("#step=end")
    opened.page.wait_for_timeout(1500)
    opened.page.evaluate(DRAG, seconds)
    return list(opened.page.evaluate(FRAMES, seconds - 0.5))[2:]


def _playing(opened: Opened, seconds: float = 5.0) -> list[float]:
    opened.key("End", "PageUp", "ArrowRight")
    opened.page.wait_for_timeout(1500)
    opened.press("Play")
    return list(opened.page.evaluate(FRAMES, seconds))[2:]


def _live(browser: Any, folder: Path) -> None:
    """A number of the main example changed on the served page, until a solid and the list of findings are new."""
    file = folder / "gate.toml"
    file.write_bytes(GATE.read_bytes())
    served = subprocess.Popen([sys.executable, "-m", "exports", "walk", str(file), "--no-browser"], cwd=ROOT, text=True,
                              stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    try:
        assert served.stdout is not None
        opened = open_page(browser, served.stdout.readline().strip(), "desktop")
        opened.until(lambda: int(opened.page.locator(".rule").get_attribute("aria-valuemax") or 0) > 2, "planned", 120)
        took = [_changed(opened, text) for text in ("9", "8", "9", "8")]
        print("\na number of the gate changed on the served page")
        _said("new solids and findings", took, LIVE, "s")
    finally:
        served.terminate()
        served.wait(20)


def _changed(opened: Opened, text: str) -> float:
    """Return the seconds from Enter in the number of rails of a leg to the new number of pieces on the page."""
    status = opened.page.locator(".pieces [role=status]").first
    opened.tab("Pieces")
    before = status.inner_text()
    opened.tab("Numbers")
    field = opened.page.locator("[id='number-family.leg_rails']")
    field.fill(text)
    began = time.perf_counter()
    field.press("Enter")
    opened.tab("Pieces")
    opened.until(lambda: status.inner_text() != before, "new pieces", 60)
    took = time.perf_counter() - began
    opened.page.wait_for_timeout(8000)
    return took


def _said(what: str, values: Sequence[float], aim: float, unit: str) -> None:
    value = statistics.median(values)
    mark = "ok        " if value <= aim else "NOT ENOUGH"
    print(f"  {mark} {what:<28}{value:>9.2f} {unit:<3} {value / aim:>6.0%} of the {aim:g} {unit} aimed at")


if __name__ == "__main__":
    raise SystemExit(main())
