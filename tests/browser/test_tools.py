"""Looking at the work: turned, moved, closer, fitted; cut open; measured."""

from __future__ import annotations

import re
import time
from collections.abc import Sequence

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Opens
from tests.browser.opened import Opened, differ, drawn, edges, wooden
from tests.browser.test_pieces import on_the_wood, touch

ALL = pytest.mark.parametrize("size", ["phone", "desktop", "wide phone"])
FILLED = 0.8
"""A picture that is fitted fills at least this share of the free width or height."""


def fingers(opened: Opened, *ways: tuple[tuple[float, float], tuple[float, float]]) -> None:
    """Lay fingers on the glass, draw each from a place to another, and lift them."""
    session = opened.page.context.new_cdp_session(opened.page)

    def send(kind: str, points: Sequence[tuple[float, float]]) -> None:
        session.send("Input.dispatchTouchEvent", {
            "type": kind, "touchPoints": [{"x": x, "y": y, "id": k} for k, (x, y) in enumerate(points)]})

    send("touchStart", [a for a, _ in ways])
    for k in range(1, 7):
        send("touchMove", [(a[0] + (b[0] - a[0]) * k / 6, a[1] + (b[1] - a[1]) * k / 6) for a, b in ways])
    send("touchEnd", [])
    session.detach()


def twice(opened: Opened, x: float, y: float) -> None:
    """Touch a place twice, a sixth of a second apart however busy the machine is."""
    session, now = opened.page.context.new_cdp_session(opened.page), time.time()
    for kind, points, after in (("touchStart", [{"x": x, "y": y}], 0.0), ("touchEnd", [], 0.06),
                                ("touchStart", [{"x": x, "y": y}], 0.16), ("touchEnd", [], 0.22)):
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points, "timestamp": now + after})
    session.detach()


def size_of(opened: Opened) -> float:
    left, up, right, down = edges(drawn(opened.look()))
    return max(right - left, down - up)


@ALL
def test_fit_fills_the_free_area(opens: Opens, size: str) -> None:
    """Also after it was turned away from and moved out of sight; with the bars taken off."""
    opened = opens(size=size, link="#step=end")
    opened.press("Fit")
    fitted = opened.look()
    words = opened.page.locator(".tools .words").bounding_box()
    box = opened.box()
    assert words is not None
    top = words["y"] + words["height"] - box["y"]
    left, up, right, down = edges(drawn(fitted))
    width, height = fitted.shape[1], fitted.shape[0]
    assert left >= 2 and right <= width - 2 and down <= height - 2 and up >= top, "all of it is in view"
    assert max((right - left) / width, (down - up) / (height - top)) >= FILLED, (left, up, right, down, width, height)
    assert abs((left + right) / 2 - width / 2) < 0.12 * width, "in the middle"
    opened.keep("fitted")


def test_the_mouse_turns_moves_and_comes_closer(opens: Opens) -> None:
    opened = opens(link="#step=end")
    mouse, (x, y) = opened.page.mouse, opened.middle()
    opened.press("Fit")
    fitted, large = opened.look(), size_of(opened)
    mouse.move(x, y)
    mouse.down()
    mouse.move(x + 60, y + 10, steps=4)
    mouse.move(x + 140, y + 20, steps=4)
    mouse.up()
    turned = opened.look()
    assert differ(fitted, turned).mean() > 0.03
    mouse.move(x, y)
    mouse.down(button="right")
    mouse.move(x + 120, y, steps=4)
    mouse.up(button="right")
    before, after = edges(drawn(turned)), edges(drawn(opened.look()))
    assert after[0] - before[0] > 60, "moved along with the hand"
    opened.press("Fit")
    mouse.move(x, y)
    mouse.wheel(0, 400)
    assert size_of(opened) < 0.8 * large
    opened.press("Fit")
    assert size_of(opened) == pytest.approx(large, rel=0.2)


def test_fingers_turn_move_and_pinch(opens: Opens) -> None:
    opened = opens(size="phone", link="#step=end")
    x, y = opened.middle()
    opened.press("Fit")
    fitted, large = opened.look(), size_of(opened)
    fingers(opened, ((x - 60, y), (x + 60, y + 20)))
    assert differ(fitted, opened.look()).mean() > 0.03, "one finger turns"
    opened.press("Fit")
    before = edges(drawn(opened.look()))
    fingers(opened, ((x - 30, y), (x + 10, y)), ((x + 30, y), (x + 70, y)))
    after = edges(drawn(opened.look()))
    assert after[0] - before[0] > 15, "two fingers move"
    opened.press("Fit")
    fingers(opened, ((x - 90, y), (x - 30, y)), ((x + 90, y), (x + 30, y)))
    assert size_of(opened) < 0.75 * large, "fingers drawn together go farther"
    opened.press("Fit")
    closer = opened.look()
    twice(opened, *on_the_wood(opened))
    assert differ(closer, opened.look()).mean() > 0.03, "two touches come closer"
    opened.press("Fit")


def test_keys_turn_and_fit_the_work(opens: Opens) -> None:
    opened = opens(link="#step=end")
    opened.press("Fit")
    fitted = opened.look()
    opened.page.locator("canvas").focus()
    opened.key("ArrowLeft", "ArrowLeft", "-")
    assert differ(fitted, opened.look()).mean() > 0.03
    at = opened.step()
    opened.key("ArrowRight", "ArrowRight", "0")
    assert opened.step() == at, "while the work has the focus the arrows turn it"


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_cut_open(opens: Opens, size: str) -> None:
    opened = opens(size=size, link="#step=end")
    whole = opened.look()
    opened.press("Cut")
    seen = [opened.look()]
    assert differ(whole, seen[0]).any()
    for name in ("Along", "Up", "Other side"):
        opened.press(name)
        seen.append(opened.look())
        assert differ(seen[-2], seen[-1]).any(), name
    opened.keep("cut")
    opened.page.get_by_role("slider", name="Where", exact=True).fill("0.3")
    assert differ(seen[-1], opened.look()).any()
    opened.press("Cut")
    assert differ(whole, opened.look()).mean() < 0.002


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_measured_between_two_places(opens: Opens, size: str) -> None:
    """The gate is drawn in inches: so is every figure."""
    opened = opens(size=size, link="#step=end")
    opened.press("Measure")
    strip = opened.page.locator(".strip.measure")
    expect(strip).to_contain_text("Touch a point, an edge or a face")
    x, y = on_the_wood(opened)
    touch(opened, (x, y))
    expect(strip).to_contain_text("Picked:")
    opened.page.wait_for_timeout(400)
    wood = wooden(opened.look())
    box = opened.box()
    far = max((abs(a + box["x"] - x) + abs(b + box["y"] - y), a, b) for b in range(80, wood.shape[0] - 4, 6)
               for a in range(4, wood.shape[1] - 4, 6) if wood[b - 2:b + 3, a - 2:a + 3].all())
    touch(opened, (far[1] + box["x"], far[2] + box["y"]))
    expect(strip.locator(".figure")).to_have_text(re.compile(r"\d.* in|\d+(\.\d+)?°|\d.* ft"))
    opened.keep("measured")
    opened.press("Measure anew")
    expect(strip).to_contain_text("Touch a point")
    opened.press("Measure")
    expect(strip).to_have_count(0)
