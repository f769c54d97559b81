"""What was found: the list, the card and the work say the same."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Opens
from tests.browser.opened import Opened, differ, drawn, edges

BOTH = pytest.mark.parametrize("size", ["phone", "desktop"])


def data(opened: Opened) -> Any:
    return json.loads(opened.page.locator("#walk").text_content() or "")


@BOTH
def test_choosing_one_flies_to_it_and_draws_it_apart(opens: Opens, size: str) -> None:
    opened = opens("mistaken", size)
    page, whole = opened.page, opened.look()
    opened.tab("Findings")
    rows = page.locator(".rows .row")
    found = data(opened)["findings"]
    assert rows.count() == len(found)
    expect(page.locator("#tab-findings")).to_contain_text(str(len(found)))
    first = rows.first
    expect(first).to_contain_text("STOP")
    opened.tap(first)
    card = page.locator(".finding-card")
    expect(card).to_contain_text(found[0]["message"])
    expect(card).to_contain_text(found[0]["remedy"])
    apart = opened.look()
    assert differ(whole, apart).mean() > 0.05, "flown to"
    opened.keep("finding")
    slide = card.get_by_role("slider", name="Draw apart")
    assert float(slide.input_value()) > 0
    slide.fill("0")
    together = opened.look()
    assert differ(apart, together).any()
    slide.fill("1")
    assert len(edges(drawn(opened.look()))) == 4
    if found[0]["amount"]:
        expect(page.locator(".signs")).to_contain_text(re.compile(re.escape(found[0]["amount"].split()[0])))
    opened.press("Next finding")
    expect(page.locator("#finding-title")).to_contain_text(found[1]["title"])
    opened.press("Finding before")
    expect(page.locator("#finding-title")).to_contain_text(found[0]["title"])
    opened.press("All findings")
    expect(rows.first).to_be_focused()
    opened.keep("findings")


def test_only_those_of_one_weight_are_listed_by_choice(opens: Opens) -> None:
    opened = opens("mistaken")
    opened.tab("Findings")
    filters = opened.page.get_by_role("group", name="Show only")
    if filters.count() == 0:
        return
    stops = sum(f["severity"] == "stop" for f in data(opened)["findings"])
    filters.get_by_role("button", name=f"{stops} STOP", exact=True).click()
    assert opened.page.locator(".rows .row").count() == stops
    filters.get_by_role("button").first.click()


@BOTH
def test_the_wrong_way_and_the_right_way_round(opens: Opens, size: str) -> None:
    opened = opens("gate", size)
    found = data(opened)["findings"]
    number = next(f["number"] for f in found if f["turned"])
    opened.go(f"#finding={number}")
    page = opened.page
    card = page.locator(".finding-card")
    expect(card).to_be_visible()
    wrong = opened.look()
    expect(card.get_by_role("status")).to_contain_text(found[number - 1]["turned"]["wrongSays"])
    opened.keep("wrong-way")
    opened.press("Right way round")
    expect(card.get_by_role("status")).to_contain_text(found[number - 1]["turned"]["rightSays"])
    assert differ(wrong, opened.look()).any()
    opened.keep("right-way")
    expect(card.get_by_role("heading", name="Pencil this on")).to_be_visible()
    opened.press("Wrong way round")
    assert differ(wrong, opened.look()).mean() < 0.01


def test_from_a_finding_to_its_step_and_back(opens: Opens) -> None:
    opened = opens("mistaken")
    opened.go("#finding=1")
    page = opened.page
    page.locator(".finding-card .facts .go").click()
    expect(page.locator("#tab-order")).to_have_attribute("aria-selected", "true")
    page.locator(".found .finding-here").first.click()
    expect(page.locator(".finding-card")).to_be_visible()
    page.locator(".finding-card .chips button").first.click()
    expect(page.locator(".piece-card")).to_be_visible()


def test_escape_closes_the_card(opens: Opens) -> None:
    opened = opens("mistaken")
    opened.go("#finding=1")
    expect(opened.page.locator("#finding-title")).to_be_focused()
    opened.key("Escape")
    expect(opened.page.locator(".finding-card")).to_have_count(0)
