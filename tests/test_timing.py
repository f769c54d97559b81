"""Times of a glue-up: against trying every way to batch it, by hand, and what more people and minutes must not do."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.effort import rules
from assembly.placing import place
from assembly.stages import plan
from assembly.timing import slow, timed, windows
from assembly.timing.session import Load, Windows, in_time
from model.glue_times import GlueTimes, glue_times
from model.shop import Shop
from tests import zoo

loads = st.lists(st.builds(Load, st.lists(st.floats(0.1, 3.0), max_size=3).map(tuple), st.floats(0.1, 2.0)),
                 min_size=1, max_size=7)


def glue(opened: float = 8.0, closed: float = 12.0) -> GlueTimes:
    return GlueTimes(opened, closed, 45.0, 24.0, 10.0, "glue")


def every_way(asked: list[Load], people: int, clamping: float, times: GlueTimes) -> tuple[bool, float]:
    """Return whether some way to batch the moves keeps both windows, and the least time of those that do."""
    best = float("inf")
    for cuts in range(2 ** (len(asked) - 1)):
        ends = [k + 1 for k in range(len(asked) - 1) if cuts >> k & 1] + [len(asked)]
        now, opened, first = 0.0, 0.0, None
        for a, b in pairwise([0, *ends]):
            glued = [(t, k) for k in range(a, b) for t in asked[k].spread]
            spread = max(sum(t for t, _ in glued) / people, max((t for t, _ in glued), default=0.0))
            at = now + spread
            done = {}
            for k in range(a, b):
                at += asked[k].close
                done[k] = at
                if asked[k].spread and first is None:
                    first = at
            for n, (_, k) in enumerate(glued):
                left = [t for t, _ in glued[n:]]
                opened = max(opened, max(sum(left) / people, max(left)) + done[k] - now - spread)
            now = at
        closed = 0.0 if first is None else now - first + clamping
        if opened <= times.open + 1e-9 and closed <= times.closed + 1e-9:
            best = min(best, now + clamping)
    return best < float("inf"), best


@settings(max_examples=150, deadline=None)
@given(loads, st.integers(1, 4), st.floats(0.0, 3.0), st.floats(2.0, 10.0), st.floats(2.0, 14.0))
def test_the_best_of_all_ways_to_batch_the_moves(asked: list[Load], people: int, clamping: float, opened: float,
                                                closed: float) -> None:
    """Moves before the first glue count too, but nothing is open then."""
    times = glue(opened, closed)
    found = in_time(asked, people, clamping, times)
    fits, least = every_way(asked, people, clamping, times)
    assert found.fits == fits
    assert sum(found.batches) == len(asked)
    if fits:
        assert found.needed == pytest.approx(least)


def better(one: Windows, other: Windows) -> bool:
    """Whether the first is at least as good: it fits where the other does, and then takes no longer."""
    return not other.fits or (one.fits and one.needed <= other.needed + 1e-9)


@settings(max_examples=150, deadline=None)
@given(loads, st.integers(1, 5), st.integers(0, 12), st.floats(1.0, 20.0), st.floats(1.0, 20.0))
def test_more_people_and_more_minutes_make_nothing_worse(asked: list[Load], people: int, clamps: int, opened: float,
                                                         closed: float) -> None:
    def at(hands: int, minutes: float, waits: float) -> Windows:
        return in_time(asked, hands, -(-clamps // hands) / 3.0, glue(minutes, waits))

    now = at(people, opened, closed)
    assert better(at(people + 1, opened, closed), now)
    assert better(at(people, opened + 1.0, closed), now)
    assert better(at(people, opened, closed + 1.0), now)


def test_two_moves_by_hand() -> None:
    """Two joints of 3 min to spread, 1 min to close each, one person, 2 min of clamping. All at once: 3 + 3 + 1 = 7 for
    the first, 1 + 2 = 3 waiting closed. One by one: 4 open, 3 + 1 + 2 = 6 closed; both take 10."""
    asked = [Load((3.0,), 1.0), Load((3.0,), 1.0)]
    together = in_time(asked, 1, 2.0, glue(7.0, 3.0))
    assert (together.open_used, together.closed_used, together.needed, together.batches) == (7.0, 3.0, 10.0, (2,))
    apart = in_time(asked, 1, 2.0, glue(6.9, 6.0))
    assert (apart.open_used, apart.closed_used, apart.needed, apart.batches) == (4.0, 6.0, 10.0, (1, 1))
    assert together.fits and apart.fits
    assert not in_time(asked, 1, 2.0, glue(6.9, 5.9)).fits
    assert in_time(asked, 2, 1.0, glue(6.9, 5.9)).fits


def test_a_dry_move_waits_for_no_glue() -> None:
    found = in_time([Load((), 30.0), Load((1.0,), 1.0)], 1, 0.0, glue())
    assert found.fits and found.needed == 32.0 and found.open_used == 2.0


@pytest.mark.parametrize(("name", "kind", "opened", "closed"), [
    ("aliphatic resin", "PVA or aliphatic", 10.0, 15.0), ("slow epoxy", "gap-filling epoxy", 10.0, 45 * 10 / 35),
    ("hide glue", "hide glue", 10.0, 15.0)])
def test_times_of_a_glue(name: str, kind: str, opened: float, closed: float) -> None:
    """Common practice, no source: closed is to open as in the table (12 to 8, 45 to 35)."""
    found = glue_times(Shop(glue=name))
    assert found.of == kind
    assert (found.open, found.closed) == pytest.approx((opened, closed))


def test_warmth_halves_a_glues_times() -> None:
    """Halved at 30 °C (common practice, no source), and so doubled at 10 °C."""
    cool, normal, warm = (glue_times(Shop(temperature=t)) for t in (10.0, 20.0, 30.0))
    assert warm.open == normal.open / 2 and cool.open == normal.open * 2
    assert warm.closed == normal.closed / 2 and cool.clamped == normal.clamped * 2


# -- the trade: common practice, no source ---------------------------------------------------------

def test_forty_joints_in_one_go_by_one_person_are_refused() -> None:
    """Nearly forty joints, one person, a glue open for ten minutes: nobody would begin (common practice, no source)."""
    forty = [Load((33.0 / 60.0,) * 38, 38 * 10.0 / 60.0)]
    ten = glue_times(Shop(open_minutes=10.0))
    assert not in_time(forty, 1, 38 * 20.0 / 60.0 / 1, ten).fits
    assert not in_time(forty, 2, 38 * 20.0 / 60.0 / 2, ten).fits


def test_the_same_with_two_people_and_sides_made_before_passes() -> None:
    """Two sides of ten joints each, then the eighteen that are left, two people (common practice, no source)."""
    ten = glue_times(Shop(open_minutes=10.0))
    for count in (10, 10, 18):
        one_go = [Load((33.0 / 60.0,) * count, count * 10.0 / 60.0)]
        assert in_time(one_go, 2, count / 2 * 20.0 / 60.0, ten).fits


# -- stages ----------------------------------------------------------------------------------------


def test_minutes_and_timeline_of_a_stage_agree() -> None:
    assembly = place(zoo.frame())
    for stage in plan(assembly, Shop()).stages:
        assert max(a.end for a in stage.actions) == pytest.approx(stage.minutes["needed"], abs=0.02)
        closed = {n: a.end for a in stage.actions if a.what == "close" for n in a.joints}
        spread = {n: a for a in stage.actions if a.what == "spread" for n in a.joints}
        assert set(spread) <= set(closed) and all(spread[n].end <= closed[n] + 0.01 for n in spread)
        assert max(closed[n] - a.start for n, a in spread.items()) >= stage.minutes["open used"] - 0.02
        assert all(a.people <= Shop().people for a in stage.actions)


def test_glue_by_area_and_rate() -> None:
    """Both faces at 220 g/m2 of a glue of 1.1 g/mL: 0.4 mL for every thousand square millimetres of joint."""
    assembly = place(zoo.frame())
    stage = timed(assembly, Shop(spread_rate=220.0), plan(assembly, Shop()).stages[0])
    assert stage.spreads
    for spread in stage.spreads:
        assert spread.ml == pytest.approx(0.4 * spread.area / 1000.0)
        assert {"tenon", "mortise"} <= {word for _, faces in spread.faces for word in faces.split(" and ")}


def test_a_shop_that_has_measured_is_believed() -> None:
    assert rules(Shop(seconds={"close_joint": 99.0})).close_joint == 99.0


def test_a_stage_too_slow_says_how_much_and_what_helps() -> None:
    assembly = place(zoo.grid())
    stage = max(plan(assembly, Shop()).stages, key=lambda s: len(s.joints))
    shop = Shop(open_minutes=0.5 * stage.minutes["closed used"], people=1)
    (found,) = slow(assembly, shop, stage)
    assert found.kind == "open-time" and found.stage == stage.name
    assert found.amount is not None and found.amount.unit == "min"
    assert "more" in found.remedy or "stays open" in found.remedy
    more = replace(shop, people=9, open_minutes=1440.0)
    assert slow(assembly, more, stage) == []


def test_a_cold_room_stops() -> None:
    assembly = place(zoo.frame())
    stage = plan(assembly, Shop()).stages[0]
    found = slow(assembly, Shop(temperature=4.0), stage)
    assert [(f.kind, f.severity) for f in found] == [("open-time", "stop")]
    assert "10 °C" in found[0].message


def test_windows_of_no_moves() -> None:
    assert windows(place(zoo.frame()), Shop(), [], [], 0).fits
