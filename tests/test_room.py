"""Room: what goes on the machine, through the doorway and into the vehicle, held against figures from outside."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from assembly.findings import Finding
from assembly.placing import Assembly, place
from assembly.plan import Stage
from assembly.room import sized
from assembly.room.attitude import TOUCH, WORTH, Attitude, best
from assembly.room.doorway import EASY, TIGHT, through
from assembly.room.flow import Flow
from assembly.room.hull import Hull, hull_of
from assembly.room.turns import CLOSE
from assembly.room.vehicle import lain
from assembly.stages import plan
from model.design import Design, Shop
from model.frames import MIRROR_X, Frame, Z, move, points, turn
from model.shop import Machine, Opening, Vehicle
from tests import zoo
from tests.strategies import lengths, rigid_frames, row_of_posts

Floats = NDArray[np.float64]
WORST = {"note": 1, "warn": 2, "stop": 3}


def block(x: float, y: float, z: float) -> Floats:
    """The corners of a box."""
    return np.array([[a, b, c] for a in (0.0, x) for b in (0.0, y) for c in (0.0, z)])


def goes(corners: Floats, width: float, height: float) -> Attitude:
    return through(hull_of(corners), Opening(width, height))


def carver(p: float, q: float, a: float, b: float) -> bool:
    """Whether a rectangle p x q goes into one of a x b, p >= q, a >= b (Carver 1957, from memory; derived again).

    Tilted by t it is p cos t + q sin t long and p sin t + q cos t high. With p > a the least tilt is that at which the
    first is a: cos t = (p a - q r) / (p² + q²), sin t = (q a + p r) / (p² + q²), r = sqrt(p² + q² - a²), wherever it
    may be tilted at all; the second is then (2 p q a + (p² - q²) r) / (p² + q²), and has to be b at most.
    """
    if p <= a:
        return q <= b
    return q <= b and b >= (2 * p * q * a + (p * p - q * q) * math.sqrt(p * p + q * q - a * a)) / (p * p + q * q)


# -- through an opening ---------------------------------------------------------------------------


@settings(max_examples=8, deadline=None)
@given(a=lengths(300, 2400), b=lengths(300, 2400), p=lengths(100, 2600), q=lengths(20, 900))
def test_a_long_timber_goes_through_as_its_section_goes_into_the_opening(a: float, b: float, p: float,
                                                                         q: float) -> None:
    a, b, p, q = max(a, b), min(a, b), max(p, q), min(p, q)
    found = goes(block(60_000.0, p, q), b, a)
    assume(abs(found.room) > 2 * CLOSE)
    assert (found.room > 0) == carver(p, q, a, b)


@pytest.mark.parametrize(("side", "passes"), [(2090.0, True), (2110.0, True), (2240.0, True), (2260.0, False)])
def test_a_square_panel_that_leaves_the_door_only_tilted(side: float, passes: bool) -> None:
    """A door of 900 x 2100 and a panel 40 thick: by Carver's rule the largest square that passes has sides of 2256."""
    assert carver(side, 40.0, 2100.0, 900.0) == passes
    found = goes(block(side, side, 40.0), 900.0, 2100.0)
    assert (found.room > 0) == passes
    tilted = side > 2100.0 - TIGHT
    assert (found.tilt > 0) == tilted
    if passes and tilted:
        t = found.tilt
        assert found.said == f"on its edge, tilted {math.degrees(t):.0f} degrees"
        # the most room is where there is as much across as in height
        assert side * math.cos(t) + 40 * math.sin(t) - 2100 == pytest.approx(
            side * math.sin(t) + 40 * math.cos(t) - 900, abs=0.1)


def test_a_cube_is_nowhere_narrower_than_its_side() -> None:
    """The least width of a box is its least side, so none passes a slit that is narrower."""
    found = goes(block(1500.0, 1500.0, 1500.0), 1480.0, 5000.0)
    assert found.room == pytest.approx(-20.0, abs=0.1) and found.sure


@pytest.mark.parametrize("more", [0.99, 1.01])
def test_a_regular_tetrahedron_through_a_square(more: float) -> None:
    """The least square for one of edge 1 has sides of 1/sqrt 2 (Itoh, Tanoue & Zamfirescu 2006; from memory)."""
    corners = 1000.0 / math.sqrt(8.0) * np.array([[1, 1, 1], [1, -1, -1], [-1, 1, -1], [-1, -1, 1.0]])
    assert np.linalg.norm(corners[0] - corners[1]) == pytest.approx(1000.0)
    side = more * 1000.0 / math.sqrt(2.0)
    found = goes(points(turn([1, 2, 3], 0.7), corners), side, side)
    assert found.sure and (found.room > 0) == (more > 1)


@pytest.mark.parametrize(("long", "fits"), [(2430.0, True), (2470.0, False)])
def test_a_stick_across_the_corners_of_a_vehicle(long: float, fits: bool) -> None:
    """A thin stick goes in along the diagonal, here sqrt(2000² + 1000² + 1000²) = 2449 mm."""
    found = lain(hull_of(block(long, 1.0, 1.0)), Vehicle(2000.0, 1000.0, 1000.0))
    assert (found.room > 0) == fits and found.sure


def test_a_board_leans_across_a_vehicle() -> None:
    """A board 1100 wide and 20 thick goes into 1000 x 600 leaning from floor to wall (Carver), and not level."""
    assert carver(1100.0, 20.0, 1000.0, 600.0)
    found = lain(hull_of(block(1900.0, 1100.0, 20.0)), Vehicle(2000.0, 1000.0, 600.0))
    assert found.room > 0 and found.tilt > math.radians(10)


def test_a_small_door_counts_and_what_sticks_out_is_told() -> None:
    body = hull_of(block(2500.0, 800.0, 500.0))
    assert lain(body, Vehicle(2400.0, 1000.0, 1000.0)).room < 0
    out = lain(body, Vehicle(2400.0, 1000.0, 1000.0, overhang=300.0))
    assert out.room == pytest.approx(200.0) and out.size[0] == pytest.approx(2500.0)
    assert lain(body, Vehicle(2600.0, 1000.0, 1000.0, door_width=790.0, door_height=490.0)).room < 0


TOLD = WORTH + 0.02
"""What does not go in is told as it lies level, unless tilting saves WORTH of what is missing; the search may miss a
fiftieth besides."""


@st.composite
def bodies(draw: st.DrawFn) -> Floats:
    """A box with corners cut or grown: 8 to 14 points."""
    corners = block(*(draw(lengths(200, 2500)) for _ in range(3)))
    more = [[draw(lengths(-300, 2800)) for _ in range(3)] for _ in range(draw(st.integers(0, 6)))]
    return np.concatenate([corners, np.array(more).reshape(-1, 3)])


@settings(max_examples=25, deadline=None)
@given(corners=bodies(), width=lengths(400, 1500), height=lengths(900, 2600), seed=st.integers(0, 1000))
def test_no_turn_leaves_more_room(corners: Floats, width: float, height: float, seed: int) -> None:
    """Held against ten thousand turns drawn evenly by scipy; how much too large work is, is told within WORTH."""
    from scipy.spatial.transform import Rotation

    found = goes(corners, width, height)
    turns = Rotation.random(10_000, random_state=seed).as_matrix()
    along = turns[:, 1:] @ corners.T
    most = (np.array([width, height]) - (along.max(axis=-1) - along.min(axis=-1))).min(axis=1).max()
    enough = TIGHT if found.tilt or found.lies != "upright" else EASY
    if found.sure and found.room < min(enough, TIGHT):
        assert most <= max(found.room + CLOSE + TOLD * max(0.0, -found.room),
                           TIGHT if found.room >= TIGHT else -1e9)
    assert found.room == pytest.approx(min(width - found.size[1], height - found.size[2]), abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(corners=bodies(), frame=rigid_frames(), mirrored=st.booleans(), width=lengths(400, 1500),
       height=lengths(900, 2600))
def test_moved_turned_and_mirrored_it_passes_as_before(corners: Floats, frame: Frame, mirrored: bool, width: float,
                                                       height: float) -> None:
    about = move(*frame[:3, 3]) @ turn(Z, float(np.arctan2(frame[1, 0], frame[0, 0])))
    moved = points(about @ MIRROR_X if mirrored else about, corners)
    one = best(hull_of(corners), (math.inf, width, height), TIGHT)
    other = best(hull_of(moved), (math.inf, width, height), TIGHT)
    assume(abs(one.room) > 2 * CLOSE and abs(one.room - TIGHT) > 2 * CLOSE)
    assert (one.room > 0, one.room > TIGHT) == (other.room > 0, other.room > TIGHT)


@settings(max_examples=25, deadline=None)
@given(corners=bodies(), width=lengths(400, 1500), height=lengths(900, 2600), more=lengths(3, 500),
       higher=st.booleans())
def test_a_larger_opening_makes_nothing_worse(corners: Floats, width: float, height: float, more: float,
                                              higher: bool) -> None:
    small = goes(corners, width, height)
    large = goes(corners, width + more * (not higher), height + more * higher)
    assert (large.fits, large.room >= TIGHT - TOUCH) >= (small.fits, small.room >= TIGHT)


@settings(max_examples=20, deadline=None)
@given(corners=bodies(), sizes=st.tuples(lengths(900, 3000), lengths(500, 1600), lengths(500, 1600)),
       more=st.lists(lengths(0, 300), min_size=4, max_size=4))
def test_a_larger_vehicle_makes_nothing_worse(corners: Floats, sizes: tuple[float, float, float],
                                              more: list[float]) -> None:
    body = hull_of(corners)
    small = lain(body, Vehicle(*sizes))
    long, wide, high = (a + b for a, b in zip(sizes, more, strict=False))
    large = lain(body, Vehicle(long, wide, high, overhang=more[3]))
    assume(abs(small.room) > CLOSE)
    assert (large.room >= 0) >= (small.room >= 0)


# -- whole plans ----------------------------------------------------------------------------------


@cache
def planned(make: Callable[[], Design]) -> tuple[Assembly, tuple[Stage, ...]]:
    assembly = place(make())
    return assembly, plan(assembly, Shop()).stages


def ladder() -> Design:
    """Three posts of 90 x 90 x 700 in a row, 700 apart: 1490 long, 700 high, 90 thick."""
    return row_of_posts([700.0, 700.0], [150.0, 550.0])


def room(make: Callable[[], Design], **has: object) -> tuple[tuple[Stage, ...], list[Finding]]:
    assembly, stages = planned(make)
    return sized(assembly, Shop(**has), stages)  # type: ignore[arg-type]


def worst(found: Sequence[Finding]) -> int:
    return max((WORST[f.severity] for f in found), default=0)


@pytest.mark.parametrize("make", zoo.SOUND.values(), ids=zoo.SOUND)
def test_nothing_is_held_against_a_shop_that_says_nothing(make: Callable[[], Design]) -> None:
    stages, found = room(make)
    assert worst(found) <= WORST["note"] and {f.kind for f in found} <= {"size"}
    assert {s.place for s in stages} == {"shop"}
    assert stages == planned(make)[1]


def test_work_that_leaves_upright_is_said_once() -> None:
    stages, [found] = room(ladder, doorway=Opening(900.0, 2100.0))
    assert {s.place for s in stages} == {"shop"} and found.severity == "note"
    assert "the finished work goes out through the doorway upright: 810 mm to spare across, 1400 mm in height" in (
        found.message)


def test_work_that_leaves_tilted_is_told_how() -> None:
    """1490 long and 700 high, 90 thick, with 20 to spare out by 670 x 470: 700 only goes tilted into 650 x 450."""
    assert carver(700.0, 90.0, 650.0, 450.0)
    stages, [found] = room(ladder, doorway=Opening(470.0, 670.0))
    assert {s.place for s in stages} == {"shop"} and found.severity == "note"
    assert "upright, tilted" in found.message and found.amount is not None and found.amount.value >= TIGHT


def test_a_squeeze_is_a_warning() -> None:
    _, [found] = room(ladder, doorway=Opening(105.0, 710.0))
    assert found.severity == "warn" and "a squeeze" in found.message
    assert found.amount is not None and found.amount.value == pytest.approx(10.0)


def test_what_cannot_leave_is_glued_up_outside_from_there_on() -> None:
    """Four posts: two sides of two posts pass the door, the four of them together do not."""
    _assembly, stages = planned(zoo.frame)
    placed, found = room(zoo.frame, doorway=Opening(200.0, 2000.0))
    last = stages[-1]
    assert [s.place for s in placed] == ["shop"] * (len(stages) - 1) + ["outside"]
    [warned] = [f for f in found if f.severity == "warn"]
    assert warned.stage == last.name and f"stage {last.name} is glued up outside" in warned.message
    assert "too wide" in warned.message and warned.amount is not None
    size = warned.amount.value
    assert size > 0 and not [f for f in found if f.severity == "stop"]
    wider = room(zoo.frame, doorway=Opening(200.0 + size + 2 * CLOSE, 2000.0 + size + 2 * CLOSE))
    assert {s.place for s in wider[0]} == {"shop"}, "so much more is enough"


def test_a_narrow_door_puts_every_stage_outside() -> None:
    placed, found = room(zoo.frame, doorway=Opening(95.0, 200.0))
    assert {s.place for s in placed} == {"outside"} and worst(found) == WORST["warn"]


def test_a_part_that_is_needed_outside_and_cannot_leave_stops_the_plan() -> None:
    placed, found = room(zoo.frame, doorway=Opening(60.0, 95.0))
    stopped = [f for f in found if f.severity == "stop"]
    assert {s.place for s in placed} == {"outside"}
    assert {f.parts[0][:4] for f in stopped} == {"post"} and "does not go through the doorway" in stopped[0].message


@pytest.mark.parametrize("make", [zoo.frame, zoo.gateway_small, zoo.ring_on_posts])
def test_a_wider_door_takes_no_stage_outside(make: Callable[[], Design]) -> None:
    last: set[int] | None = None
    for width in (70.0, 200.0, 500.0, 900.0, 2500.0):
        out = {s.number for s in room(make, doorway=Opening(width, 2100.0))[0] if s.place == "outside"}
        assert last is None or out <= last
        last = out


@pytest.mark.parametrize("way", [move(500.0, -900.0) @ turn(Z, 0.8), turn(Z, math.pi / 2)])
@pytest.mark.parametrize("has", [
    {"doorway": Opening(500.0, 1100.0)},
    {"vehicle": Vehicle(900.0, 500.0, 500.0, overhang=300.0)},
    {"machines": (Machine("band saw", 700.0, 500.0, 50.0),)}])
def test_moved_work_meets_the_same_limits(way: Frame, has: dict[str, object]) -> None:
    assembly, stages = planned(zoo.gateway_small)
    one = sized(assembly, Shop(**has), stages)  # type: ignore[arg-type]
    other = sized(assembly.moved(way), Shop(**has), stages)  # type: ignore[arg-type]
    assert [s.place for s in one[0]] == [s.place for s in other[0]]
    for f, g in zip(one[1], other[1], strict=True):
        assert (f.severity, f.parts, f.stage) == (g.severity, g.parts, g.stage)
        assert f.amount is not None and g.amount is not None
        assert f.amount.value == pytest.approx(g.amount.value, abs=2 * CLOSE, rel=0.03)


def test_mirrored_work_meets_the_same_limits() -> None:
    has = Shop(doorway=Opening(500.0, 1100.0), vehicle=Vehicle(900.0, 500.0, 500.0))
    assembly, stages = planned(zoo.gateway_small)
    mirrored = place(assembly.design.in_the_mirror())
    one, other = sized(assembly, has, stages), sized(mirrored, has, stages)
    assert [s.place for s in one[0]] == [s.place for s in other[0]]
    assert [(f.severity, f.parts, f.stage) for f in one[1]] == [(f.severity, f.parts, f.stage) for f in other[1]]


# -- the vehicle ----------------------------------------------------------------------------------


def test_finished_work_in_the_vehicle() -> None:
    placed, [found] = room(ladder, vehicle=Vehicle(1600.0, 1000.0, 900.0))
    assert {s.place for s in placed} == {"shop"} and found.severity == "note"
    assert "upright: 910 mm to spare across, 200 mm in height, 110 mm in length" in found.message


def test_what_sticks_out_minds_the_law() -> None:
    _, [found] = room(ladder, vehicle=Vehicle(1300.0, 500.0, 800.0, overhang=400.0))
    assert found.severity == "warn" and "sticks out 190 mm behind" in found.message and "law" in found.remedy


def test_work_too_large_for_the_vehicle_is_joined_on_site() -> None:
    placed, found = room(zoo.frame, vehicle=Vehicle(3000.0, 1600.0, 250.0))
    assert placed[-1].place == "outside" and {s.place for s in placed[:-1]} == {"shop"}
    [warned] = found
    assert warned.severity == "warn" and f"joined on site: stage {placed[-1].name}" in warned.message


def test_a_part_too_long_for_the_vehicle_stops_the_plan() -> None:
    _, found = room(ladder, vehicle=Vehicle(400.0, 300.0, 300.0))
    assert {f.parts for f in found if f.severity == "stop"} == {(f"post_{k}",) for k in range(3)} | {
        (f"rail_{k}_{n}",) for k in range(2) for n in range(2)}


# -- machines -------------------------------------------------------------------------------------


def sawn(**sizes: float | None) -> tuple[Machine, ...]:
    return (Machine("band saw", cuts=("curve",), **sizes),)  # type: ignore[arg-type]


def test_what_a_machine_must_take_is_said_where_none_is_named() -> None:
    _, [found] = room(zoo.gateway_small)
    assert found.severity == "note" and found.amount is not None
    assert "38.1 mm high" not in found.message and "38 mm high" in found.message, "PS 20: a 2x8 is 1 1/2 in thick"


def test_a_bed_too_small_stops_and_one_large_enough_is_silent() -> None:
    _, [note] = room(zoo.gateway_small)
    assert note.amount is not None
    long = note.amount.value
    _, none = room(zoo.gateway_small, machines=sawn(length=long + 0.1, width=long, height=38.2))
    assert not none
    for sizes in ({"length": long / 2, "width": long / 2}, {"height": 37.0}):
        _, [stop] = room(zoo.gateway_small, machines=sawn(**sizes))
        assert stop.severity == "stop" and "band saw takes" in stop.message and "Cut it before stage" in stop.remedy
    _, [thin] = room(zoo.gateway_small, machines=sawn(height=37.0))
    assert thin.amount is not None and thin.amount.value == pytest.approx(38.1 - 37.0, abs=1e-6)


def test_a_machine_for_other_cuts_is_not_asked() -> None:
    _, [found] = room(zoo.gateway_small, machines=(Machine("mortiser", 300.0, 300.0, 300.0, ("mortise",)),))
    assert found.severity == "note"
    _, [found] = room(zoo.gateway_small, machines=(Machine("band saw", 300.0, 300.0, 300.0),))
    assert found.severity == "stop", "a machine that names no cuts makes all"


def test_a_machine_does_not_come_outside() -> None:
    placed, found = room(zoo.gateway_small, machines=sawn(), doorway=Opening(150.0, 150.0))
    out = {s.name for s in placed if s.place == "outside"}
    assert [f for f in found if f.severity == "warn" and "band saw stands in the shop" in f.message and f.stage in out]


# -- what makes what ------------------------------------------------------------------------------


def test_what_comes_of_what() -> None:
    assembly, stages = planned(zoo.frame)
    flow = Flow(assembly, stages)
    [(last, whole)] = flow.finals()
    assert last == len(stages) - 1 and set(whole) == set(assembly.names)
    for k, stage in enumerate(stages):
        for unit in stage.units:
            maker = flow.maker(unit, k)
            assert (maker is None) == (len(unit) == 1)
            if maker is not None:
                assert flow.user(unit, maker) == k


def test_a_body_is_as_it_is_carried() -> None:
    """The arch leaves the stage it is glued in once it is sawn: smaller than its blanks were."""
    assembly, stages = planned(zoo.gateway_small)
    flow = Flow(assembly, stages)
    later = {f.after for p in assembly.design.parts for f in p.features}
    k = next(i for i, s in enumerate(stages) if s.name in later)
    carried = flow.body(k, stages[k].results[0])
    _, [note] = room(zoo.gateway_small)
    assert note.amount is not None
    assert carried.widths(np.eye(3)).max() < note.amount.value


def test_hulls_alike_are_one() -> None:
    one: Hull = hull_of(block(100.0, 200.0, 300.0))
    assert one == hull_of(points(move(5, 6, 7) @ turn(Z, 1.0), block(100.0, 200.0, 300.0)))
    assert one != hull_of(block(100.0, 200.0, 300.1)) and one != hull_of(block(300.0, 200.0, 100.0))
    square = block(100.0, 100.0, 100.0) - [50, 50, 0]
    top = square[:, 2:] > 0
    twisted = np.where(top, points(turn(Z, math.pi / 4), square), square)
    assert hull_of(square) != hull_of(twisted), "every corner as high and as far from the middle"


def test_stages_keep_all_else() -> None:
    assembly, stages = planned(zoo.frame)
    placed, _ = sized(assembly, Shop(doorway=Opening(95.0, 200.0)), stages)
    assert [replace(s, place="shop") for s in placed] == list(stages)
