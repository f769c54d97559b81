"""A page opened in a browser, as a person has it before them, and everything that went wrong on it."""

from __future__ import annotations

import io
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from playwright.sync_api import Browser, Locator, Page

CHROMIUM = Path("/usr/bin/chromium")
REMEDY = "apt-get install -y --no-install-recommends chromium"
"""What brings the browser on a Debian machine."""
FLAGS = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync", "--use-gl=angle", "--use-angle=swiftshader",
         "--enable-unsafe-swiftshader")
ARTEFACTS = Path(__file__).parent / "artefacts"
SIZES = {"phone": (390, 844), "desktop": (1366, 768), "wide phone": (844, 390)}
PATIENCE = 10_000
"""Milliseconds to wait for what should come at once, on a machine that is busy with other things."""
DIFFERENT = 24
"""Levels of 255 by which a pixel has to differ to count."""

BARE = """addEventListener('DOMContentLoaded', () => {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync('[data-bare] :is(.tools, .touched, .signs) { visibility: hidden !important }');
  document.adoptedStyleSheets.push(sheet);
});"""
"""Lets the words that lie over the work be taken off for a picture of it, as the page's policy allows."""
STILL = "[...document.querySelectorAll('.work canvas')].every(canvas => canvas.dataset.still === 'yes')"
"""Whether the work is drawn with all its pixels, and nothing more is to be drawn."""
GO = """async link => {
  for (const one of ['#', link]) {
    if (location.hash === one || (one === '#' && location.hash === '')) continue;
    const heard = new Promise(done => { addEventListener('hashchange', done, { once: true }); });
    location.hash = one;
    await heard;
  }
}"""

Picture = NDArray[np.int16]


@dataclass
class Opened:
    """The walk page in a browser; every problem is kept and makes the test fail that meets it."""

    page: Page
    size: str
    problems: list[str] = field(default_factory=list)

    @property
    def touch(self) -> bool:
        return "phone" in self.size

    def press(self, name: str, inside: str = "body") -> None:
        """Press the button of this name, with a finger where there is no mouse."""
        self.tap(self.page.locator(inside).get_by_role("button", name=name, exact=True))

    def tap(self, what: Locator) -> None:
        if self.touch:
            what.tap()
        else:
            what.click()

    def tab(self, name: str) -> None:
        self.tap(self.page.locator(f"#tab-{name.lower()}"))

    def step(self) -> int:
        """Return the number of the step that is shown, from 1."""
        return int(self.page.locator(".rule").get_attribute("aria-valuenow") or 0)

    def go(self, link: str) -> None:
        """Follow a link into the page, such as "#step=1.1"."""
        self.page.evaluate(GO, link)

    def key(self, *keys: str) -> None:
        for one in keys:
            self.page.keyboard.press(one)

    def until(self, holds: Callable[[], bool], what: str = "", patience: float = PATIENCE / 1000) -> None:
        """Wait until something holds, for so many seconds at most."""
        end = time.monotonic() + patience
        while not holds():
            assert time.monotonic() < end, what or "it never came to hold"
            self.page.wait_for_timeout(40)

    def ready(self) -> None:
        """Wait until the page says that it is ready."""
        self.until(lambda: bool(self.page.evaluate("document.documentElement.dataset.ready === 'yes'")), "never ready")

    def box(self, selector: str = ".work") -> dict[str, float]:
        found = self.page.locator(selector).first.bounding_box()
        assert found is not None, f"{selector} is not to be seen"
        return dict(found)

    def middle(self, right: float = 0.5, down: float = 0.5) -> tuple[float, float]:
        """Return a place in the picture of the work, as shares of its width and height, in CSS pixels."""
        box = self.box()
        return box["x"] + box["width"] * right, box["y"] + box["height"] * down

    def look(self) -> Picture:
        """Return the work as it is drawn once it has come to rest, without the words that lie over it: (h, w, 3)."""
        self.until(lambda: bool(self.page.evaluate(STILL)), "the work does not come to rest")
        return self.canvas()

    def canvas(self) -> Picture:
        """Return the work as it is drawn at this moment."""
        box = self.box()
        self.page.evaluate("document.documentElement.dataset.bare = ''")
        clip = {side: box[side] for side in ("x", "y", "width", "height")}
        taken = self.page.screenshot(clip=clip, scale="css")  # type: ignore[arg-type]
        self.page.evaluate("delete document.documentElement.dataset.bare")
        return np.asarray(Image.open(io.BytesIO(taken)).convert("RGB"), dtype=np.int16)

    def keep(self, name: str, full: bool = False) -> None:
        """Keep a screenshot to be looked at."""
        ARTEFACTS.mkdir(exist_ok=True)
        self.page.screenshot(path=ARTEFACTS / f"{name}-{self.size.replace(' ', '-')}.png", full_page=full, scale="css")


def differ(one: Picture, other: Picture) -> NDArray[np.bool_]:
    """Return which pixels differ for an eye; a row that is cut off by rounding counts for nothing."""
    if max(abs(one.shape[k] - other.shape[k]) for k in (0, 1)) == 1:
        height, width = (min(one.shape[k], other.shape[k]) for k in (0, 1))
        one, other = one[:height, :width], other[:height, :width]
    return np.asarray(np.abs(one - other).max(axis=2) > DIFFERENT)


def drawn(picture: Picture) -> NDArray[np.bool_]:
    """Return which pixels are not paper: the most common colour is."""
    colours, counts = np.unique(picture.reshape(-1, 3), axis=0, return_counts=True)
    return np.asarray(np.abs(picture - colours[counts.argmax()]).max(axis=2) > DIFFERENT)


def wooden(picture: Picture) -> NDArray[np.bool_]:
    """Return which pixels have the colour of wood: no paper, shadow, steel or ink."""
    return np.asarray(drawn(picture) & (picture[:, :, 0] > picture[:, :, 2] + 35))


def edges(mask: NDArray[np.bool_]) -> tuple[int, int, int, int]:
    """Return the box about what is set: left, top, right, bottom."""
    down, right = np.nonzero(mask)
    assert len(down), "nothing is drawn"
    return int(right.min()), int(down.min()), int(right.max()) + 1, int(down.max()) + 1


def open_page(browser: Browser, address: str, size: str, **how: Any) -> Opened:
    """Open an address on a device of a size, with the network off where it is a file."""
    width, height = SIZES[size]
    script = how.pop("script", None)
    clock = how.pop("clock", False)
    reduced = how.pop("reduced_motion", "reduce")
    context = browser.new_context(
        viewport={"width": width, "height": height}, has_touch="phone" in size, is_mobile="phone" in size,
        offline=address.startswith("file:"), reduced_motion=reduced, **how)
    context.set_default_timeout(PATIENCE)
    opened = Opened(context.new_page(), size)
    _watch(opened, address)
    opened.page.add_init_script(BARE)
    if script:
        opened.page.add_init_script(script)
    if clock:
        opened.page.clock.install()
    opened.page.goto(address)
    opened.ready()
    return opened


def _watch(opened: Opened, address: str) -> None:
    own = address.split("#")[0] if address.startswith("file:") else "/".join(address.split("/")[:3]) + "/"
    page, problems = opened.page, opened.problems
    page.on("console", lambda m: problems.append(f"console: {m.text}") if m.type == "error" else None)
    page.on("pageerror", lambda e: problems.append(f"error: {e}\n{e.stack}"))
    page.on("requestfailed", lambda r: problems.append(f"failed: {r.url[:200]}") if r.failure != "net::ERR_ABORTED"
            else None)
    page.on("request", lambda r: problems.append(f"asked elsewhere: {r.url[:200]}")
            if not r.url.startswith((own, "data:", "blob:")) else None)
