"""Going through the order: forward, back, along the rule, playing, by keys, by a link; and a glue-up that is run."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Opens
from tests.browser.opened import Opened, differ

BOTH = pytest.mark.parametrize("size", ["phone", "desktop"])


def last(opened: Opened) -> int:
    return int(opened.page.locator(".rule").get_attribute("aria-valuemax") or 0)


@BOTH
def test_a_step_forward_and_back(opens: Opens, size: str) -> None:
    opened = opens(size=size)
    card = opened.page.locator("#panel")
    expect(opened.page.get_by_role("button", name="Back", exact=True)).to_be_disabled()
    before, said = opened.look(), card.inner_text()
    opened.press("Next")
    opened.until(lambda: opened.step() == 2)
    assert differ(before, opened.look()).any(), "the work is drawn as it is after the step"
    assert card.inner_text() != said
    opened.press("Back")
    opened.until(lambda: opened.step() == 1)
    assert card.inner_text() == said
    opened.keep("order")
    opened.go("#step=end")
    opened.until(lambda: opened.step() == last(opened))
    expect(opened.page.get_by_role("button", name="Next", exact=True)).to_be_disabled()
    opened.look()
    opened.keep("finished")


@BOTH
def test_the_thumb_finds_back_and_next(opens: Opens, size: str) -> None:
    """At the outer edges and at least 64 px high; nothing to press is smaller than 48 px."""
    opened = opens(size=size, link="#step=2.1")
    width, height = opened.page.viewport_size.values()  # type: ignore[union-attr]
    back, forward = opened.box(".foot.back"), opened.box(".foot.next")
    assert back["x"] <= 2 and forward["x"] + forward["width"] >= width - 2
    for box in (back, forward):
        assert box["height"] >= 64 and box["y"] + box["height"] >= height - 2
    for button in opened.page.locator("button:visible, summary:visible, label.check:visible").all():
        box = button.bounding_box()
        assert box and box["height"] >= 47.5 and box["width"] >= 47.5, button.inner_text()


@BOTH
def test_the_rule_is_drawn_along(opens: Opens, size: str) -> None:
    opened = opens(size=size)
    box, mouse = opened.box(".rule"), opened.page.mouse
    y = box["y"] + box["height"] / 2
    mouse.move(box["x"] + box["width"] * 0.2, y)
    mouse.down()
    opened.until(lambda: opened.step() > 1)
    early = opened.step()
    for share in (0.4, 0.6, 0.8):
        mouse.move(box["x"] + box["width"] * share, y)
    mouse.up()
    assert opened.step() > early
    mouse.click(box["x"] + box["width"] - 4, y)
    opened.until(lambda: opened.step() == last(opened))


def test_it_plays_and_stops_at_a_touch(opens: Opens) -> None:
    opened = opens("mistaken", fresh=True, reduced_motion="no-preference")
    opened.press("Play")
    opened.until(lambda: opened.step() >= 3)
    still = opened.canvas()
    opened.until(lambda: bool(differ(still, opened.canvas()).any()), "something moves")
    opened.press("Pause")
    at = opened.step()
    opened.page.wait_for_timeout(1500)
    assert opened.step() == at
    opened.press("Play")
    opened.page.mouse.click(*opened.middle())
    expect(opened.page.get_by_role("button", name="Play", exact=True)).to_be_visible()


def test_keys_alone(opens: Opens) -> None:
    opened = opens()
    opened.page.locator("body").click(position={"x": 2, "y": 2})
    opened.key("End")
    assert opened.step() == last(opened)
    opened.key("ArrowLeft", "ArrowLeft")
    assert opened.step() == last(opened) - 2
    opened.key("Home")
    assert opened.step() == 1
    opened.key("ArrowRight")
    opened.until(lambda: opened.step() == 2)
    opened.key("PageDown")
    expect(opened.page.locator("#panel h2").first).to_contain_text("Stage 2")
    opened.key(" ")
    expect(opened.page.get_by_role("button", name="Pause", exact=True)).to_be_visible()
    opened.key(" ")
    expect(opened.page.get_by_role("button", name="Play", exact=True)).to_be_visible()


def test_tab_reaches_everything_and_the_focus_is_seen(opens: Opens) -> None:
    opened = opens(link="#step=1.2")
    page = opened.page
    page.locator(".skip").focus()
    met: list[str] = []
    for _ in range(60):
        opened.key("Tab")
        found = page.evaluate("""() => {
            const at = document.activeElement, seen = getComputedStyle(at);
            const ring = seen.outlineStyle !== 'none' && parseFloat(seen.outlineWidth) > 0 || seen.boxShadow !== 'none';
            return [at.tagName, at.getAttribute('aria-label') || at.innerText || '', ring]; }""")
        if found[0] == "BODY":
            break
        assert found[2], f"no ring about {found}"
        met.append(found[1].strip())
    said = " | ".join(met)
    for name in ("The rule", "Back", "Play", "Next", "Cut", "Measure", "Order", "Arrow keys turn", "Run this glue-up"):
        assert name in said, (name, said)


@BOTH
def test_a_link_opens_at_its_step(opens: Opens, size: str) -> None:
    opened = opens(size=size, link="#step=3.2", fresh=True)
    expect(opened.page.locator("#panel h2").first).to_contain_text("Stage 3")
    opened.press("Next")
    opened.until(lambda: opened.page.url.endswith("#step=3.3"))


def test_what_is_to_come_is_ghosted_by_choice(opens: Opens) -> None:
    opened = opens(link="#step=2.2")
    button = opened.page.get_by_role("button", name="To come", exact=True)
    before, was = opened.look(), button.get_attribute("aria-pressed")
    button.click()
    assert button.get_attribute("aria-pressed") != was
    assert differ(before, opened.look()).any()
    button.click()


def test_the_step_is_said_to_those_who_do_not_see_it(opens: Opens) -> None:
    opened = opens()
    opened.press("Next")
    said = opened.page.locator("[aria-live=polite]").first
    opened.until(lambda: "2 of" in said.inner_text() or "Step 2" in said.inner_text(), said.inner_text())


@BOTH
def test_a_glue_up_is_run_with_the_clock(opens: Opens, size: str) -> None:
    """Ticked with the side of the thumb, warned before the limit, and still there after a reload."""
    opened = opens("mistaken", size, fresh=True, clock=True)
    page, tick = opened.page, opened.page.locator(".tick-area")
    opened.press("Run this glue-up")
    expect(tick).to_be_visible()
    box = tick.bounding_box()
    assert box and box["width"] * box["height"] >= 64 * 64 * 4, "the side of a thumb"
    for _ in range(12):
        if "First glue" in tick.inner_text():
            break
        opened.tap(tick)
        page.clock.fast_forward("00:01")
    assert "First glue" in tick.inner_text()
    opened.tap(tick)
    big = page.locator(".big")
    page.clock.fast_forward("01:00")
    opened.until(lambda: page.locator(".run.calm").count() == 1)
    before = big.inner_text()
    opened.tap(tick)
    count = page.locator(".current .count").inner_text()
    opened.keep("run")
    page.reload()
    opened.ready()
    expect(page.locator(".current .count")).to_have_text(count)
    for _ in range(200):
        if page.locator(".warning").count():
            break
        page.clock.fast_forward("00:30")
    expect(page.locator(".warning")).to_contain_text("Time is short")
    assert seconds(big.inner_text()) < seconds(before)
    opened.keep("run-soon")
    page.clock.fast_forward("30:00")
    expect(page.locator(".warning")).to_contain_text("Too late")
    opened.press("Undo the last tick")
    opened.press("Stop the run")
    opened.press("Yes, stop")
    expect(page.locator(".tick-area")).to_have_count(0)
    expect(page.locator(".earlier")).to_contain_text("Run on")


def seconds(clock: str) -> int:
    minutes, rest = clock.strip("+").split(":")[-2:]
    return int(minutes) * 60 + int(rest)
