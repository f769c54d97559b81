"""Times of a glue-up: against trying every way to batch it, by hand, and what more people and minutes must not do."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.effort import effort, rules
from assembly.order import order
from assembly.placing import Assembly, place
from assembly.plan import Stage
from assembly.sessions.fitting import Fitting
from assembly.sessions.tasks import tasks_of
from assembly.stages import plan
from assembly.timing import slow, timed, windows
from assembly.timing.session import Load, Windows, glued_areas, in_time
from assembly.timing.stage import people_each, times_of
from model.design import StageSpec
from model.glue_times import GlueTimes, glue_times
from model.part import ALL
from model.shop import Shop
from model.solids import box
from tests import zoo
from tests.blocks import polygon, standing, tied

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


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 5), st.floats(0.2, 3.0), st.floats(0.5, 10.0))
def test_people_who_come_for_heavy_pieces_make_nothing_worse(people: int, lift: float, opened: float) -> None:
    """Pieces that take more people than there are take their time all the same, so that it is not lost by help."""
    few = Shop(people=people, lift_one=lift, open_minutes=opened, closed_minutes=60.0)
    more = replace(few, people=people + 1)
    assembly, stage = trestle_stage()
    hands = people_each(assembly, few, stage)
    now, helped = times_of(assembly, few, stage, hands), times_of(assembly, more, stage, hands)
    assert better(helped, now)
    assert not slow(assembly, more, stage) or slow(assembly, few, stage)
    tasks = tasks_of(order(assembly, [(n,) for n in assembly.names], ALL, {}))
    every = range(len(tasks.tasks))
    assert better(Fitting(assembly, more, tasks.tasks).time(every), Fitting(assembly, few, tasks.tasks).time(every))


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


def two_sides() -> Assembly:
    """Two sides of two stiles and five rungs, and nine rails between the sides: 38 joints with tenons of 20 x 10 x 30
    mm."""
    solids = {f"{side}_stile_{k}": box((460.0 * k, y, 0), (460.0 * k + 60, y + 60, 1100))
              for side, y in (("near", 0.0), ("far", 700.0)) for k in (0, 1)}
    joints = []
    for side, y in (("near", 0.0), ("far", 700.0)):
        for k in range(5):
            z, rung = 200.0 * k + 50, f"{side}_rung_{k}"
            tenons = box((30, y + 25, z + 20), (490, y + 35, z + 40))
            solids[rung] = box((60, y, z), (460, y + 60, z + 60)).joined(tenons)
            for end, (x, way) in enumerate(((60.0, -1), (460.0, 1))):
                stile = f"{side}_stile_{end}"
                solids[stile] = solids[stile].cut(tenons)
                joints.append(tied(f"{rung}_{end}", rung, stile, (x, y + 30, z + 30), (way, 0, 0), 30.0))
    for k in range(9):
        z, x, rail = 200.0 * (k // 2) + 150, 460.0 * (k % 2), f"rail_{k}"
        tenons = box((x + 25, 30, z + 20), (x + 35, 730, z + 40))
        solids[rail] = box((x, 60, z), (x + 60, 700, z + 60)).joined(tenons)
        for side, y, way in (("near", 60.0, -1), ("far", 700.0, 1)):
            stile = f"{side}_stile_{k % 2}"
            solids[stile] = solids[stile].cut(tenons)
            joints.append(tied(f"{rail}_{side}", rail, stile, (x + 30, y, z + 30), (0, way, 0), 30.0))
    return standing(solids, joints)


def test_a_work_of_38_joints_in_one_go_and_by_sides() -> None:
    """One person in one go is told that it is too slow for a ten-minute glue; two people with sides made before are
    not (common practice, no source)."""
    assembly = two_sides()
    names = [j.name for j in assembly.design.joints]
    assert len(names) == 38
    near, far = (tuple(n for n in names if n.startswith(f"{side}_rung")) for side in ("near", "far"))
    rest = tuple(n for n in names if n.startswith("rail"))

    def late(stages: tuple[StageSpec, ...], people: int) -> int:
        given = replace(assembly, design=replace(assembly.design, stages=stages))
        found = plan(given, Shop(people=people, open_minutes=10.0))
        assert len(found.stages) == len(stages) and not [f for f in found.findings if f.kind == "blocked"]
        return sum(f.kind == "open-time" for f in found.findings)

    assert late((StageSpec("all", tuple(names)),), 1)
    assert not late((StageSpec("near", near), StageSpec("far", far), StageSpec("all", rest, ("near", "far"))), 2)


# -- stages ----------------------------------------------------------------------------------------

@cache
def trestle_stage() -> tuple[Assembly, Stage]:
    """Return two posts and a rail, and its only stage."""
    assembly = place(zoo.trestle())
    (stage,) = plan(assembly, Shop()).stages
    return assembly, stage


@cache
def frame_stage() -> tuple[Assembly, Stage]:
    """Return a frame, and the stage of it that closes the most joints."""
    assembly = place(zoo.frame())
    return assembly, max(plan(assembly, Shop()).stages, key=lambda s: len(s.joints))


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


@pytest.mark.parametrize("name", ["frame", "ring_loose", "gateway_small"])
def test_every_square_millimetre_is_spread_once(name: str) -> None:
    """Loose tenons go into one half with one move and into the other with the next: each is glued only once."""
    assembly = place(zoo.SOUND[name]())
    table = effort()
    for stage in plan(assembly, Shop()).stages:
        each = [a for m in stage.moves for a in glued_areas(assembly, m.joints).values()]
        assert sum(each) == pytest.approx(sum(s.area for s in stage.spreads))
        seconds = table.spread_joint * len(each) + table.spread_area * sum(each) / 1e4
        assert stage.minutes["spread"] == pytest.approx(seconds / 60.0, abs=0.01)


def test_what_closes_all_at_once_is_brought_first() -> None:
    """Seven pieces in a ring: six are brought to the first, then all seven joints close together, ten seconds each."""
    (stage,) = plan(polygon(7), Shop()).stages
    (close,) = [a for a in stage.actions if a.what == "close"]
    brought = [a for a in stage.actions if a.what == "bring"]
    assert len(brought) == 6 and all(a.end <= close.start + 1e-9 for a in brought)
    assert set(close.joints) == set(stage.joints) and len(close.joints) == 7
    assert close.end - close.start == pytest.approx(7 * effort().close_joint / 60.0, abs=0.002)


def test_a_stage_too_slow_says_how_much_and_what_helps() -> None:
    """What is offered is enough, and a minute less of it is not."""
    assembly = two_sides()
    whole = StageSpec("all", tuple(j.name for j in assembly.design.joints))
    (stage,) = plan(replace(assembly, design=replace(assembly.design, stages=(whole,))), Shop()).stages
    shop = Shop(people=1)
    (found,) = slow(assembly, shop, stage)
    assert (found.kind, found.severity, found.stage) == ("open-time", "warn", stage.name)
    times = windows(assembly, shop, stage.moves, people_each(assembly, shop, stage), len(stage.clamps), stage.rest.held)
    assert found.amount is not None and found.amount.unit == "min"
    assert found.amount.value == pytest.approx(times.closed_used, abs=0.01)
    assert f"{times.closed_used - times.closed:.1f} min too long" in found.message
    glue_open = float(found.remedy.split("stays open for ")[1].split(" min")[0])
    assert slow(assembly, replace(shop, open_minutes=glue_open), stage) == []
    assert slow(assembly, replace(shop, open_minutes=glue_open - 1.0), stage)
    more = replace(shop, people=9, open_minutes=1440.0)
    assert slow(assembly, more, stage) == []


def test_only_the_closed_time_that_is_short_has_to_be_longer() -> None:
    """Where the shop says how long joints may wait closed, and that is what is short."""
    assembly, stage = frame_stage()
    shop = Shop(people=1, open_minutes=30.0, closed_minutes=2.0)
    (found,) = slow(assembly, shop, stage)
    assert "stays open" not in found.remedy
    closed = float(found.remedy.split("closed for ")[1].split(" min")[0])
    assert slow(assembly, replace(shop, closed_minutes=closed), stage) == []
    assert slow(assembly, replace(shop, closed_minutes=closed - 1.0), stage)
    short = replace(shop, open_minutes=2.0)
    (found,) = slow(assembly, short, stage)
    opened, closed = (float(found.remedy.split(said)[1].split()[0]) for said in ("stays open for ", "closed for "))
    assert slow(assembly, replace(short, open_minutes=opened, closed_minutes=closed), stage) == []


def test_a_few_seconds_too_long_are_told_as_such() -> None:
    assembly, stage = frame_stage()
    used = slow(assembly, Shop(people=1, closed_minutes=0.1), stage)[0].amount
    assert used is not None
    (found,) = slow(assembly, Shop(people=1, closed_minutes=used.value - 0.05), stage)
    assert " 3 s too long" in found.message or " 4 s too long" in found.message


def test_people_offered_are_enough_and_one_fewer_is_not() -> None:
    assembly, stage = frame_stage()
    for opened in (3.0, 4.0, 5.0, 6.0, 7.0):
        shop = Shop(people=1, open_minutes=opened)
        for found in slow(assembly, shop, stage):
            if "more p" in found.remedy:
                more = int(found.remedy.split("ave ")[1].split(" more")[0])
                assert slow(assembly, replace(shop, people=1 + more), stage) == []
                assert slow(assembly, replace(shop, people=more), stage)
                return
    pytest.fail("no people were offered")


def test_one_closing_too_slow_by_itself_stops() -> None:
    """The joint that lies open for the longest is named, and no split is offered: it would not help."""
    assembly, stage = frame_stage()
    (found,) = slow(assembly, Shop(people=1, open_minutes=0.5), stage)
    assert found.severity == "stop" and "split the stage" not in found.remedy.lower()
    assert any(n in found.message for n in stage.joints) and "the longest" in found.message


def test_in_the_heat_a_cooler_room_is_offered() -> None:
    assembly, stage = frame_stage()
    needed = next(o for o in range(3, 60) if not slow(assembly, Shop(people=1, open_minutes=float(o)), stage))
    hot = Shop(people=1, open_minutes=float(needed), temperature=35.0)
    (found,) = slow(assembly, hot, stage)
    assert "work at 20 °C" in found.remedy.replace("Work", "work")


def test_a_cold_room_stops() -> None:
    assembly, stage = frame_stage()
    found = slow(assembly, Shop(temperature=4.0), stage)
    assert [(f.kind, f.severity) for f in found] == [("open-time", "stop")]
    assert "10 °C" in found[0].message
    assert found[0].amount is not None and (found[0].amount.value, found[0].amount.unit) == (6.0, "°C")


def test_windows_of_no_moves() -> None:
    assert windows(place(zoo.frame()), Shop(), [], [], 0).fits
