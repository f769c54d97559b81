"""For everybody: light and dark, large text, readers, print, old browsers, hostile names."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Opens
from tests.browser.hostile import LONG, MARKUP, NAMES
from tests.browser.opened import ARTEFACTS, Opened, drawn
from tests.page import PAGE

AXE = PAGE / "node_modules" / "axe-core" / "axe.min.js"
SCREENS = {"order": "#step=2.2", "finished": "#step=end", "finding": "#finding=1", "piece": "#piece=near_leg_left"}
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
NO_WEBGL = """const asked = HTMLCanvasElement.prototype.getContext;
HTMLCanvasElement.prototype.getContext = function (kind, ...more) {
  return kind === 'webgl2' ? null : asked.call(this, kind, ...more);
};"""


def violations(opened: Opened, *rules: str) -> list[str]:
    """Ask axe-core: some rules, or all those of WCAG 2.2 A and AA and its own best practices."""
    if not opened.page.evaluate("'axe' in window"):
        opened.page.evaluate(AXE.read_text(encoding="utf-8") + "\n;0")
    asked = {"type": "rule", "values": list(rules)} if rules else {"type": "tag", "values": TAGS}
    found = opened.page.evaluate("asked => axe.run({ runOnly: asked, resultTypes: ['violations'] })", asked)
    return [f"{one['id']}: {one['help']}: {node['html'][:160]} {node.get('failureSummary', '')[:300]}"
            for one in found["violations"] for node in one["nodes"]]


@pytest.mark.parametrize("size", ["phone", "desktop"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_screen_passes_the_checker(opens: Opens, size: str, scheme: str) -> None:
    """In the dark only the colours are others."""
    opened, rules = opens(size=size), ("color-contrast",) if scheme == "dark" else ()
    opened.page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    wrong: list[str] = []
    for name, link in SCREENS.items():
        opened.go(link)
        opened.look()
        opened.keep(f"{name}-{scheme}")
        wrong += [f"{name}: {v}" for v in violations(opened, *rules)]
    for name in ("Findings", "Pieces"):
        opened.tab(name)
        opened.press(f"All {name.lower()}")
        wrong += [f"{name}: {v}" for v in violations(opened, *rules)]
    opened.tab("Order")
    opened.press("Cut")
    opened.press("Measure")
    wrong += [f"cut and measure: {v}" for v in violations(opened, *rules)]
    opened.press("Measure")
    opened.press("Cut")
    opened.page.emulate_media(color_scheme="light")
    assert not wrong, "\n".join(wrong)


def test_a_running_glue_up_passes_the_checker(opens: Opens) -> None:
    opened = opens("mistaken", "phone", fresh=True)
    opened.press("Run this glue-up")
    wrong = violations(opened)
    opened.tap(opened.page.locator(".tick-area"))
    wrong += violations(opened)
    assert not wrong, "\n".join(wrong)


def test_dark_by_choice_and_kept(opens: Opens) -> None:
    opened = opens("mistaken", fresh=True)
    page = opened.page
    light = opened.look()
    page.locator("summary", has_text="How it is shown").click()
    page.get_by_role("radio", name="dark", exact=True).check()
    dark = opened.look()
    assert dark.mean() < light.mean() - 60
    page.reload()
    opened.ready()
    assert opened.look().mean() < light.mean() - 60


@pytest.mark.parametrize("size", ["phone", "desktop", "wide phone"])
def test_text_of_twice_the_size_loses_nothing(opens: Opens, size: str) -> None:
    opened = opens(size=size, link="#step=2.2", script="addEventListener('DOMContentLoaded', () => "
                   "{ document.documentElement.style.fontSize = '200%'; });")
    page = opened.page
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "nothing runs out to the side"
    cut_off = page.evaluate("""() => [...document.querySelectorAll('#page button, #page h1, #page h2, #page p')]
        .filter(e => e.checkVisibility() && e.getClientRects().length && !e.closest('.unseen, .hush') &&
            getComputedStyle(e).overflow !== 'visible' && (e.scrollWidth > e.clientWidth + 2 ||
            e.scrollHeight > e.clientHeight + 2)).map(e => e.innerText)""")
    assert not cut_off
    outside = page.evaluate("""() => [...document.querySelectorAll('#page button')].filter(e => e.checkVisibility())
        .filter(e => { const b = e.getBoundingClientRect(); return b.left < -1 || b.right > innerWidth + 1; })
        .map(e => e.innerText)""")
    assert not outside
    opened.keep("large-text")
    assert page.evaluate("""() => {
        const said = document.querySelector('#panel .large');
        said.scrollIntoView({ block: 'center' });
        const box = said.getBoundingClientRect();
        const at = document.elementFromPoint(box.left + 8, box.top + box.height / 2);
        return said === at || said.contains(at); }"""), "what to do can be brought into sight"
    opened.keep("large-text-step")
    opened.press("Next")
    opened.until(lambda: page.url.endswith("#step=2.3"))
    assert drawn(opened.look()).any(), "and the work still has its room"


def test_it_prints_as_words(opens: Opens) -> None:
    opened = opens("mistaken")
    ARTEFACTS.mkdir(exist_ok=True)
    made = Path(ARTEFACTS / "print.pdf")
    opened.page.pdf(path=made, format="A4")
    assert made.read_bytes().startswith(b"%PDF-")
    opened.page.emulate_media(media="print")
    words = opened.page.locator("#words")
    expect(words).to_be_visible()
    expect(opened.page.locator("#page")).to_be_hidden()
    expect(words).to_contain_text("Stage 1")
    opened.page.emulate_media(media="screen")
    expect(words).to_be_hidden()


def test_without_webgl_2_there_are_the_words(opens: Opens) -> None:
    opened = opens("mistaken", "phone", script=NO_WEBGL)
    page = opened.page
    expect(page.locator(".why-undrawn")).to_contain_text("no WebGL 2")
    expect(page.locator("#words")).to_be_visible()
    expect(page.locator("#words")).to_contain_text("Stage 1")
    opened.press("Next")
    opened.until(lambda: opened.step() == 2)
    opened.keep("no-webgl", full=True)
    assert not violations(opened)


def test_without_a_script_there_are_the_words(opens: Opens, browser: object, walks: object) -> None:
    context = browser.new_context(java_script_enabled=False, offline=True)  # type: ignore[attr-defined]
    page = context.new_page()
    page.goto(walks("mistaken"))  # type: ignore[operator]
    expect(page.locator("#words")).to_be_visible()
    expect(page.locator("#words")).to_contain_text("Stage 1")
    context.close()


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_hostile_names_are_text(opens: Opens, size: str) -> None:
    opened = opens("hostile", size)
    page = opened.page
    for link in ("#step=1.2", "#finding=1", "#step=end"):
        opened.go(link)
        opened.look()
    opened.keep("hostile-step")
    opened.tab("Pieces")
    text = page.locator("#panel").inner_text()
    assert MARKUP[:20] in text or NAMES[1][:9] in text
    opened.tap(page.locator(".marks .chips button").first)
    opened.keep("hostile-piece")
    assert page.locator("#page img, #page script, #words script").count() == 0
    assert "taken" not in page.title().replace(NAMES[1], "")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "long names break"
    assert len(page.content()) < 40 * len(LONG) + 3_000_000
