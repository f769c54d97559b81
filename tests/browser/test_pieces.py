"""Pieces: found, touched, hidden, shown alone, spread apart."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Opens
from tests.browser.opened import Opened, differ, drawn, edges, wooden

BOTH = pytest.mark.parametrize("size", ["phone", "desktop"])


def on_the_wood(opened: Opened) -> tuple[float, float]:
    """Return a place on the page at which wood is drawn, well inside it."""
    wood = wooden(opened.look())
    box, best = opened.box(), (0, 0, 0)
    for y in range(70, wood.shape[0] - 6, 3):
        for x in range(6, wood.shape[1] - 6, 3):
            score = int(wood[y - 5:y + 6, x - 5:x + 6].sum())
            if score > best[0]:
                best = (score, x, y)
    assert best[0], "no wood is drawn"
    return box["x"] + best[1], box["y"] + best[2]


def touch(opened: Opened, place: tuple[float, float]) -> None:
    if opened.touch:
        opened.page.touchscreen.tap(*place)
    else:
        opened.page.mouse.click(*place)


@BOTH
def test_found_by_name_and_by_mark(opens: Opens, size: str) -> None:
    opened = opens(size=size)
    opened.tab("Pieces")
    page = opened.page
    field, pieces = page.get_by_role("searchbox"), page.locator(".marks .chips button")
    everything = pieces.count()
    field.fill("spacer")
    assert 0 < pieces.count() < everything
    assert all("spacer" in name for name in pieces.all_inner_texts())
    mark = page.locator(".marks .mark").first.inner_text()
    field.fill(mark)
    expect(page.locator(".marks .mark").first).to_have_text(mark)
    field.fill("nothing of that name")
    expect(page.locator(".pieces")).to_contain_text("No piece has that name or mark.")
    field.fill("near_leg_left")
    opened.tap(pieces.first)
    card = page.locator(".piece-card")
    for said in ("near_leg_left", "Size", "Stock", "Mass", "Grain", "Comes in", "joint"):
        expect(card).to_contain_text(said)
    opened.look()
    opened.keep("piece")
    opened.press("All pieces")
    field.fill("")
    opened.keep("pieces")


@BOTH
def test_hidden_alone_and_spread_apart(opens: Opens, size: str) -> None:
    opened = opens(size=size, link="#piece=near_leg_left")
    page = opened.page
    whole = opened.look()
    opened.press("Hide", ".piece-card")
    hidden = opened.look()
    assert differ(whole, hidden).any()
    expect(page.locator(".away")).to_contain_text("One piece is hidden.")
    opened.tap(page.locator(".away .chips button").first)
    assert differ(whole, opened.look()).mean() < 0.002
    opened.press("Alone")
    one = drawn(opened.look())
    assert one.any() and one.mean() < drawn(whole).mean()
    opened.press("Alone")
    slide = page.get_by_role("slider", name="Spread apart")
    slide.fill("1")
    spread = opened.look()
    assert differ(whole, spread).mean() > 0.02
    left, _, right, down = edges(drawn(spread)[60:])
    assert left > 0 and right < spread.shape[1] and down < spread.shape[0] - 60, "spread apart it is still all in view"
    opened.keep("spread")
    slide.fill("0")
    opened.press("All pieces")


@BOTH
def test_touched_for_its_card(opens: Opens, size: str) -> None:
    opened = opens(size=size, link="#step=end")
    touch(opened, on_the_wood(opened))
    touched = opened.page.locator(".touched")
    expect(touched).to_be_visible()
    name = touched.locator(".name").inner_text()
    opened.keep("touched")
    opened.press("Its card", ".touched")
    expect(opened.page.locator("#piece-name")).to_have_text(name)
    opened.press("All pieces")
    opened.tab("Order")


def test_a_chosen_piece_can_be_hidden_from_the_step_and_comes_back(opens: Opens) -> None:
    opened = opens(link="#step=end")
    before = opened.look()
    touch(opened, on_the_wood(opened))
    opened.press("Hide", ".touched")
    assert differ(before, opened.look()).any()
    opened.page.get_by_role("button", name="Show all").click()
    assert differ(before, opened.look()).mean() < 0.002
