"""Interference: known depths, silence where faces merely touch, and a second library's verdicts."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from assembly.interference import TOLERANCE, Overlap, overlaps
from assembly.placing import Assembly, place
from assembly.shrink import DELTA
from assembly.thickness import least_width
from model.design import Design
from model.frames import Frame, identity, inverse, move, turn
from model.solids import Solid, arc_points, box, hull, prism
from tests import zoo
from tests.strategies import (
    boxes,
    lengths,
    reordered,
    rigid_frames,
    row_of_posts,
    set_down,
    side_by_side,
    small_frames,
    tenoned_pair,
    tenoned_pairs,
)

BLOCK = box((0, 0, 0), (100, 60, 40))
PUSHES = [0.03, 0.05, 0.1, 0.5, 1.8, 5.0, 20.0]


def verdicts(assembly: Assembly) -> set[tuple[frozenset[str], float]]:
    """Who is in whom, and how deep, whatever the order."""
    return {(frozenset((o.a, o.b)), round(o.depth, 2)) for o in overlaps(assembly)}


def only(found: tuple[Overlap, ...]) -> Overlap:
    assert len(found) == 1
    assert found[0].told
    return found[0]


# -- known depths ---------------------------------------------------------------------------------


@pytest.mark.parametrize("push", PUSHES)
@pytest.mark.parametrize("frame", [identity(), move(8000, -3000, 500) @ turn((1, 2, 3), 0.7)], ids=["flat", "turned"])
def test_a_push_is_found_with_its_depth_and_place(push: float, frame: Frame) -> None:
    other = box((-10, -10, 40 - push), (50, 70, 80))
    found = only(overlaps(set_down({"one": (BLOCK, frame), "other": (other, frame)})))
    assert found.depth == pytest.approx(push, abs=DELTA)
    assert found.where == pytest.approx(frame[:3, :3] @ (25, 30, 40 - push / 2) + frame[:3, 3], abs=2 * DELTA)
    assert found.along == pytest.approx(frame[:3, 2], abs=1e-6)
    assert found.volume == pytest.approx(50 * 60 * push, rel=1e-6)


@pytest.mark.parametrize("push", PUSHES)
def test_a_tenon_too_long_is_found_with_its_depth(push: float) -> None:
    """The zoo's trestle has 2 mm of room at the bottom of its mortises; here the rail is home, however it got there."""
    found = only(overlaps(Assembly(zoo.tenon_long(2.0 + push), place(zoo.trestle()).frames)))
    assert {found.a, found.b} == {"long_rail_01", "post_2"}
    assert found.depth == pytest.approx(push, abs=DELTA)


@pytest.mark.parametrize("push", PUSHES)
def test_a_mortise_shifted_past_its_fit_is_found(push: float) -> None:
    """Its fit is 0.1 mm a side."""
    assert only(overlaps(place(zoo.mortise_shifted(0.1 + push)))).depth == pytest.approx(push, abs=DELTA)


@settings(max_examples=30, deadline=None)
@given(boxes(), boxes(), st.tuples(*[st.floats(0.05, 0.95)] * 3), rigid_frames())
def test_the_depth_of_two_boxes_is_their_least_overlap(one: Solid, other: Solid, share: tuple[float, ...],
                                                       frame: Frame) -> None:
    """A corner of one box inside the other: the least of the three overlaps, by hand."""
    least = np.minimum(one.bounds[1], other.bounds[1]) * share
    pushed = other.moved(move(*(one.bounds[1] - least)))
    depth = float(least.min())
    assume(depth > 2 * TOLERANCE)
    found = only(overlaps(set_down({"one": (one, frame), "other": (pushed, frame)})))
    assert found.depth == pytest.approx(depth, abs=1.01 * DELTA)


def test_two_tenons_that_meet_in_a_post() -> None:
    """Two tenons 60 mm deep from both sides of a 90 mm post: 30 mm long, 12 thick in common, so 12 mm deep."""
    found = only(overlaps(place(row_of_posts([500.0, 500.0], [300.0], depth=60.0))))
    assert {found.a, found.b} == {"rail_0_0", "rail_1_0"}
    assert found.depth == pytest.approx(12.0, abs=2 * DELTA)
    assert found.where == pytest.approx((500.0, 0.0, 300.0), abs=1e-6)


def test_every_place_is_told_and_the_deepest_first() -> None:
    comb = box((0, 0, 0), (300, 20, 20)).joined(box((20, 5, -9), (40, 15, 1)), box((200, 5, -3), (240, 15, 1)))
    found = overlaps(side_by_side(comb, box((0, 0, -40), (300, 20, 0)), identity()))
    assert [round(o.depth, 3) for o in found] == pytest.approx([9.0, 3.0], abs=DELTA)
    assert [o.where[0] for o in found] == pytest.approx([30.0, 220.0], abs=DELTA)


# -- silence --------------------------------------------------------------------------------------


@settings(max_examples=30, deadline=None)
@given(boxes(), boxes(), st.sampled_from([0.0, 1e-9, 0.01, 0.05, 1.0]), st.integers(0, 2), rigid_frames())
def test_boxes_that_touch_or_stand_clear_are_silent(one: Solid, other: Solid, clear: float, axis: int,
                                                    frame: Frame) -> None:
    away = np.zeros(3)
    away[axis] = one.bounds[1][axis] + clear
    assert overlaps(set_down({"one": (one, frame), "other": (other, frame @ move(*away))})) == ()


@settings(max_examples=15, deadline=None)
@given(tenoned_pairs(), rigid_frames())
def test_a_tenon_in_its_mortise_is_silent(design: Design, frame: Frame) -> None:
    assert overlaps(place(design).moved(frame)) == ()


@pytest.mark.parametrize("name", zoo.SOUND)
def test_sound_designs_are_silent(name: str) -> None:
    assert overlaps(place(zoo.SOUND[name]())) == ()


@pytest.mark.parametrize("about", [0.0, 0.01, 0.3])
def test_a_dowel_in_its_hole_is_silent_however_it_is_turned(about: float) -> None:
    dowel = prism(arc_points(12.0, 0.0, 2 * np.pi)[:-1], 0.0, 60.0)
    drilled = box((-40, -40, 0), (40, 40, 60)).cut(dowel.moved(move(z=-5.0)), dowel.moved(move(z=5.0)))
    assert overlaps(side_by_side(drilled, dowel, turn((0, 0, 1), about))) == ()
    thicker = prism(arc_points(12.1, 0.0, 2 * np.pi)[:-1], 0.0, 60.0)
    assert overlaps(side_by_side(drilled, thicker, turn((0, 0, 1), about))) != ()


def test_curved_bands_on_one_arc_are_silent() -> None:
    def band(inner: float, outer: float, start: float) -> Solid:
        outline = np.vstack([arc_points(outer, start, start + 0.4), arc_points(inner, start + 0.4, start)])
        return prism(outline, -19.0, 19.0)

    for start in (0.0, 0.0123, 0.2):
        assert overlaps(side_by_side(band(1000.0, 1090.0, 0.0), band(910.0, 1000.0, start), identity())) == ()


# -- what cannot be told --------------------------------------------------------------------------


def thin_walled(wall: float = 0.03) -> Solid:
    return BLOCK.cut(box((10, 10, 5), (40, 20, 50)), box((10, 20 + wall, 5), (40, 30, 50)))


def test_one_thin_wall_is_judged_by_the_other_part() -> None:
    assert only(overlaps(side_by_side(thin_walled(), BLOCK, move(x=98.0)))).depth == pytest.approx(2.0, abs=DELTA)
    assert overlaps(side_by_side(thin_walled(), BLOCK, move(x=100.0))) == ()


def test_two_thin_walls_are_not_guessed_at() -> None:
    (found,) = overlaps(side_by_side(thin_walled(), thin_walled(), move(x=98.0)))
    assert not found.told
    assert found.depth == pytest.approx(2.0, abs=DELTA)


def test_two_thin_walls_that_touch_are_clear() -> None:
    assert overlaps(side_by_side(thin_walled(), thin_walled(), move(x=100.0))) == ()
    assert overlaps(side_by_side(thin_walled(), thin_walled(), turn((0, 0, 1), 0.3) @ move(x=200.0))) == ()


# -- laws -----------------------------------------------------------------------------------------


@settings(max_examples=20, deadline=None)
@given(boxes(), boxes(), rigid_frames(reach=150.0), rigid_frames())
def test_the_verdict_does_not_depend_on_who_comes_first_nor_where_it_all_stands(
        one: Solid, other: Solid, between: Frame, frame: Frame) -> None:
    here = overlaps(side_by_side(one, other, between))
    there = overlaps(set_down({"other": (other, frame @ between), "one": (one, frame)}))
    assume(all(abs(o.depth - TOLERANCE) > 2e-3 for o in (*here, *there)))
    assert len(here) == len(there)
    for p, q in zip(here, there, strict=True):
        assert p.depth == pytest.approx(q.depth, abs=1e-4)
        assert frame[:3, :3] @ p.where + frame[:3, 3] == pytest.approx(q.where, abs=1e-3)
        assert abs(p.along @ frame[:3, :3].T @ q.along) == pytest.approx(1.0, abs=1e-3) or p.depth > 1.0


DESIGNS = {"sound": lambda: row_of_posts([500.0, 640.0], [200.0]),
           "tenons meet": lambda: row_of_posts([500.0, 640.0], [200.0, 450.0], depth=52.0),
           "shifted": lambda: zoo.mortise_shifted(1.0)}


@pytest.mark.parametrize("name", DESIGNS)
@settings(max_examples=8, deadline=None)
@given(frame=rigid_frames(), seed=st.randoms(use_true_random=False))
def test_verdicts_keep_when_the_whole_is_moved_mirrored_or_reordered(name: str, frame: Frame, seed) -> None:
    design = DESIGNS[name]()
    told = verdicts(place(design))
    assert bool(told) is (name != "sound")
    assert verdicts(place(design).moved(frame)) == told
    assert verdicts(place(design.in_the_mirror())) == told
    order = list(range(len(design.parts)))
    seed.shuffle(order)
    assert verdicts(place(reordered(design, order))) == told


@settings(max_examples=15, deadline=None)
@given(small_frames())
def test_nothing_in_nothing_means_the_union_has_the_volume_of_the_sum(design: Design) -> None:
    assembly = place(design)
    solids = [assembly.solid(n).moved(assembly.frames[n]) for n in assembly.names]
    union = solids[0].joined(*solids[1:])
    common = sum(s.volume for s in solids) - union.volume
    if overlaps(assembly):
        assert common > 1.0
    else:
        assert common == pytest.approx(0.0, abs=1e-3)


# -- widths ---------------------------------------------------------------------------------------


def test_the_width_of_a_regular_tetrahedron() -> None:
    """Between two opposite edges: the edge over the square root of two (elementary geometry), less than its height."""
    solid = hull([(1, 1, 1), (1, -1, -1), (-1, 1, -1), (-1, -1, 1)])
    width, _ = least_width(solid.manifold)
    assert width == pytest.approx(2.0, rel=1e-12)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000), st.integers(4, 12))
def test_no_direction_is_narrower_than_the_width(seed: int, count: int) -> None:
    rng = np.random.default_rng(seed)
    corners = rng.normal(size=(count, 3)) * (30, 20, 10)
    width, along = least_width(hull(corners).manifold)
    ways = rng.normal(size=(4000, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    assert np.ptp(corners @ along) == pytest.approx(width, rel=1e-9)
    assert np.ptp(corners @ ways.T, axis=0).min() >= width - 1e-9


# -- a second opinion -----------------------------------------------------------------------------


def by_a_collision_library(assembly: Assembly) -> set[frozenset[str]]:
    """Pairs that collide after trimesh.collision, which asks FCL (Pan, Chitta and Manocha, 2012)."""
    manager = trimesh.collision.CollisionManager()
    for name in assembly.names:
        mesh = trimesh.Trimesh(*assembly.solid(name).mesh, process=False)
        manager.add_object(name, mesh, transform=assembly.frames[name])
    return {frozenset(pair) for pair in manager.in_collision_internal(return_names=True)[1]}


@settings(max_examples=40, deadline=None)
@given(boxes(40.0, 300.0), boxes(40.0, 300.0), rigid_frames(reach=250.0))
def test_verdicts_agree_with_a_collision_library_where_the_case_is_clear(one: Solid, other: Solid,
                                                                         frame: Frame) -> None:
    assembly = side_by_side(one, other, frame)
    found = overlaps(assembly)
    gap = one.manifold.min_gap(other.moved(frame).manifold, 1000.0)
    assume(gap > 0.5 or (found and found[0].depth > 0.5) or (gap == 0.0 and not found))
    collide = by_a_collision_library(assembly)
    if gap > 0.5:
        assert not collide and not found
    elif found:
        assert collide
    else:
        common = one.kept(other.moved(frame))
        assert common.manifold.is_empty() or least_width(common.manifold)[0] < 2 * TOLERANCE


def test_a_collision_library_agrees_on_loose_boards_and_on_crossed_ones() -> None:
    """Flush faces are left out: a collision library calls every one of them a hit."""
    boards = {f"board_{k}": (BLOCK, move(z=50.0 * k) @ turn((0, 0, 1), 0.2 * k)) for k in range(6)}
    crossed = {**boards, "stake": (box((40, 20, 0), (48, 28, 300)), move(z=5.0))}
    assert by_a_collision_library(set_down(boards)) == set() == {p for p, _ in verdicts(set_down(boards))}
    assert by_a_collision_library(set_down(crossed)) == {p for p, _ in verdicts(set_down(crossed))}
    assert len(verdicts(set_down(crossed))) >= 3


@settings(max_examples=20, deadline=None)
@given(lengths(0.2, 25.0))
def test_moving_out_by_the_depth_clears_it(push: float) -> None:
    """What the message asks for does what it says."""
    design = tenoned_pair(fit=0.0)
    assembly = place(design)
    rail = assembly.frames["rail"]
    pushed = Assembly(design, {**assembly.frames, "rail": rail @ move(z=push)})
    (found, *_) = overlaps(pushed)
    assert found.depth == pytest.approx(push if push < 12 else 12, abs=2 * DELTA)
    back = inverse(rail)[:3, :3] @ found.along * found.depth
    cleared = Assembly(design, {**assembly.frames, "rail": rail @ move(z=push) @ move(*back)})
    other = Assembly(design, {**assembly.frames, "rail": rail @ move(z=push) @ move(*-back)})
    depths = [max((o.depth for o in overlaps(a)), default=0.0) for a in (cleared, other)]
    assert min(depths) <= 2 * DELTA or push >= 6
