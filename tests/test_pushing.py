"""Pushing home: where a piece stops, by how much, and what hangs on it; against hand values and plain booleans."""

from __future__ import annotations

from dataclasses import replace
from math import radians
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.bites import bites
from assembly.interference import overlaps
from assembly.placing import Assembly, as_drawn, place, place_in_stage
from assembly.pushing import pushed
from model.as_cut import CutAsCut, PartAsCut
from model.design import Design
from model.draft import Draft
from model.frames import Frame, frame_of, inverse, move, turn
from model.part import Feature
from model.reader import read
from model.recut import recut
from model.shapes.board import board
from model.shapes.mitred_board import mitred_board
from model.solids import box, hull
from model.stock import Stock
from tests import zoo
from tests.strategies import POST, RAIL, WOOD, lengths, reordered, rigid_frames, row_of_posts, tenoned_pair, upright

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("*.toml"))


def cut(part: str, joint: str, **what: float) -> PartAsCut:
    """What was measured of one cut."""
    return PartAsCut(part, cuts=(CutAsCut(joint, **what),))


def long_tenon(design: Design, by: float, rail: str = "rail", joint: str = "tie") -> Design:
    """The design with one tenon `by` mm longer than the drawn mortise is deep: 2 mm of room and as much again."""
    reach = design.joint[joint].travel
    return recut(design, [cut(rail, joint, depth=reach + 2.0 + by)])


# -- how far short --------------------------------------------------------------------------------


@settings(max_examples=40, deadline=None)
@given(by=lengths(0.1, 20), fit=st.sampled_from([0.0, 0.05, 0.1, 0.25, 1.0]), depth=lengths(10, 30))
def test_a_tenon_too_long_stops_by_what_it_is_too_long(by: float, fit: float, depth: float) -> None:
    """By hand: the mortise is 2 mm deeper than the drawn tenon; what the tenon is longer than that stays open."""
    assembly = place(long_tenon(tenoned_pair(depth=depth, fit=fit), by))
    assert assembly.standoffs == {"tie": pytest.approx(by, abs=0.005)}
    assert overlaps(assembly) == ()


@settings(max_examples=25, deadline=None)
@given(by=lengths(0.1, 20), depth=lengths(25, 40))
def test_a_mortise_too_shallow_does_the_same(by: float, depth: float) -> None:
    design = tenoned_pair(depth=depth)
    shallow = recut(design, [cut("post", "tie", depth=depth - by)])
    assert place(shallow).standoffs == {"tie": pytest.approx(by, abs=0.005)}


@settings(max_examples=20, deadline=None)
@given(by=lengths(0.2, 8))
def test_the_wood_in_common_says_the_same(by: float) -> None:
    """A boolean that knows nothing of sliding: pushed on by h, the tenon is in the wood by its section times h."""
    design = long_tenon(tenoned_pair(), by)
    assembly = place(design)
    joint = design.joint["tie"]
    post, rail = design.part["post"].finished.manifold, design.part["rail"].finished
    for further, meant in ((-0.01, 0.0), (0.05, 0.05), (0.2, 0.2)):
        on = assembly.frames["rail"] @ joint.seat_a @ move(z=further) @ inverse(joint.seat_a)
        there = rail.moved(inverse(assembly.frames["post"]) @ on).manifold
        assert (post ^ there).volume() == pytest.approx(60.0 * 12.0 * meant, abs=0.1)


@pytest.mark.parametrize("lean", [0.0, 10.0, 35.0, 55.0])
@pytest.mark.parametrize("by", [0.1, 3.0])
def test_a_tenon_that_leans_in_its_shoulder_stops_exactly_too(lean: float, by: float) -> None:
    """The way home leans to the shoulder; what is missing is told along that way."""
    draft = Draft("leaning")
    draft.add("top", board(POST, 900.0))
    draft.add("leg", mitred_board(Stock("leg", WOOD, 40.0, 60.0), 700.0, start_angle=radians(lean)))
    top, leg = draft.blanks["top"], draft.blanks["leg"]
    draft.join("lean", "blind tenon", "leg", "top", leg.places["start"],
               top.place("back", along=450.0) @ turn((1.0, 0.0, 0.0), np.pi), sizes={"run": "grain", "depth": 55.0})
    design = draft.finish()
    assert place(design).standoffs == {}
    short = recut(design, [cut("leg", "lean", depth=57.0 + by)])
    assert place(short).standoffs == {"lean": pytest.approx(by, abs=0.005)}


def test_a_tenon_with_a_point_stops_where_its_point_meets_the_bottom() -> None:
    """A tip 10 mm long over the whole tenon: its edge, not its flat, reaches the bottom first."""
    design = tenoned_pair()
    seat = design.joint["tie"].seat_a
    tip = hull([(x, y, z) for x in (-30, 30) for y, z in ((-6.0, 29.0), (6.0, 29.0), (0.0, 42.0))]).moved(seat)
    pointed = zoo.changed(design, "rail", lambda p: replace(
        p, features=(*p.features, Feature("tip", "add", tip, "tenon", "tie", frame=seat))))
    assert place(pointed).standoffs == {"tie": pytest.approx(10.0, abs=0.005)}


@pytest.mark.parametrize("block", [0.3, 7.0])
def test_a_shoulder_stopped_by_a_block_beside_the_mortise(block: float) -> None:
    """What is in the way may stand beside the joint: a block grown onto the post under the rail's shoulder."""
    design = tenoned_pair()
    seat = design.joint["tie"].seat_b
    lump = box((31.0, -20.0, -block), (44.0, 20.0, 2.0)).moved(seat)
    lumpy = zoo.changed(design, "post", lambda p: replace(
        p, features=(*p.features, Feature("lump", "add", lump, "lump", frame=seat))))
    assert place(lumpy).standoffs == {"tie": pytest.approx(block, abs=0.005)}


# -- what does not count --------------------------------------------------------------------------


@pytest.mark.parametrize("name", zoo.SOUND)
def test_sound_designs_go_home(name: str) -> None:
    assert place(zoo.SOUND[name]()).standoffs == {}


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_examples_go_home(path: Path) -> None:
    assert place(read(path)).standoffs == {}


def test_a_tenon_that_does_not_enter_is_left_home() -> None:
    """Too thick, or beside its mortise: it stops at the mouth, and the wood it would be in is interference's."""
    design = tenoned_pair()
    for wrong in ([cut("rail", "tie", thickness=12.6)], [cut("post", "tie", thickness=11.0)]):
        assembly = place(recut(design, wrong))
        assert assembly.standoffs == {} and len(overlaps(assembly)) == 2
    beside = zoo.mortise_shifted(3.0)
    assert place(beside).standoffs == {} and overlaps(place(beside))


def test_a_mortise_never_cut_is_not_a_standoff() -> None:
    assert place(recut(tenoned_pair(), [PartAsCut("post", cuts=(CutAsCut("tie", left_out=True),))])).standoffs == {}


def test_a_lap_too_narrow_does_not_go_in_and_one_too_deep_goes_further() -> None:
    design = zoo.bench()
    lap = next(j for j in design.joints if j.kind == "cross lap")
    assert place(recut(design, [cut(lap.a, lap.name, width=37.0)])).standoffs == {}
    assert place(recut(design, [cut(lap.a, lap.name, depth=6.0)])).standoffs == {}


def test_faces_glued_flat_have_nothing_to_slide_into() -> None:
    draft = Draft("flat")
    draft.add("post", board(POST, 400.0), upright(0, 0))
    draft.add("block", board(RAIL, 200.0), frame_of((60.0, 0, 100), (1, 0, 0), (0, 0, 1)))
    draft.join_at("lies", "glued face", "block", "post", frame_of((45, 0, 200), (-1, 0, 0), (0, 0, 1)))
    assembly = place(draft.finish())
    assert assembly.standoffs == {} and overlaps(assembly)[0].depth == pytest.approx(5.0, abs=0.02)


# -- what hangs on it -----------------------------------------------------------------------------


def test_the_error_travels_down_the_chain() -> None:
    """Three posts in a row; the first rail stops 4 mm short of the second post: all that follows stands 4 mm on."""
    design = row_of_posts([500.0, 600.0], [300.0])
    sound, short = place(design), place(long_tenon(design, 4.0, "rail_0_0", "rail_0_0_end"))
    for name in design.part:
        moved = short.frames[name][:3, 3] - sound.frames[name][:3, 3]
        far = name in ("post_1", "rail_1_0", "post_2")
        assert moved == pytest.approx((4.0 if far else 0.0, 0.0, 0.0), abs=1e-6)


def test_two_in_a_chain_add_up() -> None:
    design = row_of_posts([500.0, 600.0], [300.0])
    records = [cut(f"rail_{k}_0", f"rail_{k}_0_end", depth=25.0 + 2.0 + by) for k, by in ((0, 1.5), (1, 2.25))]
    short = place(recut(design, records))
    assert short.standoffs == {"rail_0_0_end": pytest.approx(1.5), "rail_1_0_end": pytest.approx(2.25)}
    away = short.frames["post_2"][:3, 3] - place(design).frames["post_2"][:3, 3]
    assert float(np.linalg.norm(away)) == pytest.approx(3.75, abs=1e-6)


def test_loops_that_close_but_for_it_name_it() -> None:
    assembly = place(long_tenon(zoo.frame(), 1.0, "long_rail_01", "long_rail_01_end"))
    (loop,) = assembly.open_loops
    assert loop.standoffs == ("long_rail_01_end",) and loop.gap == pytest.approx(1.0, abs=1e-6)


def test_a_loop_that_is_open_for_another_reason_does_not() -> None:
    design = zoo.frame()
    rail = design.part["cross_rail_01"].blank.length
    both = recut(design, [PartAsCut("cross_rail_01", length=rail - 3.0),
                          cut("long_rail_01", "long_rail_01_end", depth=62.2667)])
    loops = {loop.joint: loop for loop in place(both).open_loops}
    assert sorted(bool(loop.standoffs) for loop in loops.values()) == [False, True]
    (own,) = (loop for loop in loops.values() if not loop.standoffs)
    assert own.joint.startswith("cross_rail_01") and own.gap == pytest.approx(3.0, abs=1e-6)


def test_it_holds_in_a_stage_and_is_gone_in_the_drawing() -> None:
    design = long_tenon(zoo.gateway_small(), 1.0, "near_leg_left", "near_leg_left_top")
    assembly = place(design)
    assert assembly.standoffs == {"near_leg_left_top": pytest.approx(1.0, abs=0.005)}
    stage = next(s for s in design.stages if "near_leg_left_top" in s.joints)
    there = place_in_stage(design, stage)
    assert there.standoffs == assembly.standoffs
    assert as_drawn(assembly).standoffs == {} and as_drawn(assembly).open_loops == ()


# -- loose tenons ---------------------------------------------------------------------------------


def pair_with_loose_tenon(depth: float = 40.0) -> Design:
    """Two boards end to end with a loose tenon between them, `depth` mm in each, 2 mm of room at either end."""
    draft = Draft("spliced")
    draft.add("left", board(RAIL, 400.0))
    draft.add("right", board(RAIL, 400.0))
    left, right = draft.blanks["left"], draft.blanks["right"]
    draft.join("splice", "loose tenon", "left", "right", left.places["end"],
               right.places["start"] @ turn((1.0, 0.0, 0.0), np.pi), sizes={"length": 2 * depth})
    return draft.finish()


@pytest.mark.parametrize(("longer", "apart"), [(3.9, 0.0), (4.5, 0.5), (9.0, 5.0)])
def test_a_loose_tenon_may_use_the_room_at_both_its_ends(longer: float, apart: float) -> None:
    design = pair_with_loose_tenon()
    assembly = place(recut(design, [PartAsCut("splice_tenon", length=80.0 + longer)]))
    assert assembly.standoffs == ({"splice": pytest.approx(apart, abs=0.005)} if apart else {})
    assert assembly.open_loops == () and overlaps(assembly) == ()


@pytest.mark.parametrize(("shallow", "apart"), [(3.0, 0.0), (4.0, 0.0), (7.5, 3.5)])
def test_a_mortise_too_shallow_pushes_a_loose_tenon_into_the_other(shallow: float, apart: float) -> None:
    """By hand: the two mortises are 84 mm deep together, the tenon is 80 mm long."""
    design = pair_with_loose_tenon()
    assembly = place(recut(design, [cut("left", "splice", depth=42.0 - shallow)]))
    assert assembly.standoffs == ({"splice": pytest.approx(apart, abs=0.005)} if apart else {})
    assert assembly.open_loops == () and overlaps(assembly) == ()


# -- laws -----------------------------------------------------------------------------------------


@settings(max_examples=10, deadline=None)
@given(frame=rigid_frames(), by=lengths(0.1, 5), seed=st.randoms(use_true_random=False))
def test_it_does_not_change_when_all_is_moved_mirrored_or_reordered(frame: Frame, by: float, seed) -> None:
    design = long_tenon(row_of_posts([400.0, 500.0], [300.0]), by, "rail_1_0", "rail_1_0_start")
    meant = {"rail_1_0_start": pytest.approx(by, abs=0.005)}
    order = list(range(len(design.parts)))
    seed.shuffle(order)
    assert place(design).moved(frame).standoffs == meant
    assert place(design.in_the_mirror()).standoffs == meant
    assert place(reordered(design, order)).standoffs == meant
    assert place(replace(design, base="post_2")).standoffs == meant


def test_what_placing_learns_of_a_pair_is_not_worked_out_again() -> None:
    bites.cache_clear()
    design = zoo.grid()
    assembly = place(design)
    known = bites.cache_info().misses
    assert known > 0
    overlaps(assembly)
    assert bites.cache_info().misses == known, "every pair that comes near in this design is joined"


def test_assemblies_set_down_by_hand_have_none() -> None:
    design = tenoned_pair()
    assert Assembly(replace(design, joints=()), place(design).frames).standoffs == {}
    assert pushed(design).shifts == {}
