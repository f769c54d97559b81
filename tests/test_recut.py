"""Parts cut anew as they were measured, against what a rule and a pencil give."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.placing import place
from model.as_cut import CutAsCut, PartAsCut
from model.design import Design
from model.draft import Draft
from model.errors import MeasureError
from model.joints import KINDS
from model.measurable import worth_measuring
from model.part import Part
from model.recut import recut
from model.recut.wood import TURNS, in_place_of, mirrored_wood, turned_wood
from model.shapes.board import board
from model.shapes.curved_band import curved_band
from model.shapes.mitred_board import mitred_board
from model.shapes.tapered_leg import tapered_leg
from tests import zoo
from tests.joined import usual
from tests.strategies import lengths, rigid_frames, tenoned_pair


def alone(name: str, shape: str = "board") -> Design:
    """One piece of wood and nothing else."""
    stock = zoo.milled("stick", 40.0, 90.0)
    blanks = {"board": lambda: board(stock, 500.0), "tapered": lambda: tapered_leg(stock, 500.0, 60.0, 30.0),
              "mitred": lambda: mitred_board(stock, 500.0, math.radians(10), math.radians(10)),
              "band": lambda: curved_band(zoo.milled("wide", 40.0, 150.0), 800.0, 720.0, math.radians(40))}
    draft = Draft(name)
    draft.add(name, blanks[shape]())
    return draft.finish()


def same_wood(one: Part, other: Part) -> bool:
    """Whether two parts are the same wood in the same place, to a crumb of 1e-3 mm³."""
    apart = (one.finished.manifold - other.finished.manifold).volume()
    return apart < 1e-3 and (other.finished.manifold - one.finished.manifold).volume() < 1e-3


def measured_as_drawn(design: Design) -> list[PartAsCut]:
    """A record for every part, with every value as drawn."""
    by_part: dict[str, dict[str, dict[str, float]]] = {}
    for m in worth_measuring(design):
        by_part.setdefault(m.part, {}).setdefault(m.joint, {})[m.what] = m.drawn
    return [PartAsCut(part, **cuts.pop("", {}), cuts=tuple(CutAsCut(j, **sizes) for j, sizes in cuts.items()))
            for part, cuts in by_part.items()]


@pytest.mark.parametrize("name", zoo.SOUND)
def test_what_is_measured_as_drawn_changes_nothing(name: str) -> None:
    design = zoo.SOUND[name]()
    again = recut(design, measured_as_drawn(design))
    assert again.drawn is design
    for part in design.parts:
        assert same_wood(part, again.part[part.name]), part.name
    for joint in design.joints:
        other = again.joint[joint.name]
        np.testing.assert_allclose(other.seat_a, joint.seat_a, atol=1e-6)
        np.testing.assert_allclose(other.seat_b, joint.seat_b, atol=1e-6)


def test_nothing_measured_is_the_design_itself() -> None:
    design = zoo.trestle()
    assert recut(design, ()) is design


def test_what_was_not_measured_stays_the_same_object() -> None:
    design = zoo.trestle()
    again = recut(design, [PartAsCut("post_1", thickness=88.0)])
    assert again.part["post_2"] is design.part["post_2"]
    assert again.joint["long_rail_01_end"] is design.joint["long_rail_01_end"]


@given(lengths(5, 60), lengths(10, 120), lengths(50, 900))
@settings(max_examples=25, deadline=None)
def test_a_board_has_the_sizes_measured(thickness: float, width: float, length: float) -> None:
    part = recut(alone("b"), [PartAsCut("b", length=length, width=width, thickness=thickness)]).part["b"]
    assert part.finished.volume == pytest.approx(length * width * thickness, rel=1e-9)
    np.testing.assert_allclose(part.finished.bounds, [[0, 45 - width, 20 - thickness], [length, 45, 20]], atol=1e-9)
    assert (part.blank.length, part.blank.width, part.blank.thickness) == (length, width, thickness)


@given(st.sampled_from(["mitred", "tapered", "band"]), lengths(0.1, 5))
@settings(max_examples=20, deadline=None)
def test_a_piece_planed_thinner_loses_its_back(shape: str, less: float) -> None:
    design = alone("b", shape)
    was = design.part["b"]
    now = recut(design, [PartAsCut("b", thickness=was.blank.thickness - less)]).part["b"]
    assert now.finished.bounds[1][2] == pytest.approx(was.finished.bounds[1][2], abs=1e-9)
    gone = was.finished.manifold - now.finished.manifold
    assert gone.volume() == pytest.approx(was.finished.volume - now.finished.volume, rel=1e-6)
    if shape != "tapered":
        assert gone.volume() == pytest.approx(was.finished.volume * less / was.blank.thickness, rel=1e-6)


@given(st.floats(-3, 3).map(math.radians))
@settings(max_examples=20, deadline=None)
def test_an_end_out_of_square_turns_about_its_middle(off: float) -> None:
    part = recut(alone("b"), [PartAsCut("b", end_angle=off)]).part["b"]
    assert part.finished.volume == pytest.approx(500.0 * 90.0 * 40.0, rel=1e-9)
    assert part.finished.bounds[1][0] == pytest.approx(500.0 + 45.0 * math.tan(abs(off)), abs=1e-6)
    assert part.blank.places["end"][:3, 2] @ (1, 0, 0) == pytest.approx(math.cos(off))
    longer = part.blank.solid.mesh[0][np.argmax(part.blank.solid.mesh[0][:, 0])]
    assert abs(off) < 1e-6 or (longer[1] > 0) == (off > 0)


def test_a_mitre_is_measured_from_square() -> None:
    part = recut(alone("b", "mitred"), [PartAsCut("b", start_angle=math.radians(10.1))]).part["b"]
    assert part.finished.bounds[0][0] == pytest.approx(-45.0 * math.tan(math.radians(10.1)), abs=1e-6)


@pytest.mark.parametrize("way", TURNS)
def test_a_turn_made_often_enough_gives_back_the_part(way: str) -> None:
    part = zoo.frame().part["post_11"] if "post_11" in zoo.frame().part else zoo.frame().parts[0]
    times = 4 if "quarter" in way else 2
    turned = part
    for _ in range(times):
        turned = turned_wood(turned, way)  # type: ignore[arg-type]
    assert same_wood(part, turned)


def test_the_mirror_image_of_the_mirror_image_is_the_part() -> None:
    part = zoo.gateway_small().part["far_leg_left"]
    assert same_wood(part, mirrored_wood(mirrored_wood(part)))


def test_exchanged_wood_lies_as_it_lay_in_its_own_place() -> None:
    design = zoo.trestle()
    again = recut(design, [PartAsCut("post_1", exchanged_with="post_2")])
    assert same_wood(again.part["post_1"], design.part["post_2"])
    assert same_wood(again.part["post_2"], design.part["post_1"])
    assert [j.seat_a is k.seat_a for j, k in zip(again.joints, design.joints, strict=True)]
    both = recut(design, [PartAsCut("post_1", exchanged_with="post_2"), PartAsCut("post_2", exchanged_with="post_1")])
    assert same_wood(both.part["post_1"], design.part["post_2"])


def test_what_is_turned_has_its_joints_where_the_drawing_has_them() -> None:
    design = zoo.trestle()
    again = recut(design, [PartAsCut("post_1", turned="end for end", thickness=80.0)])
    assert again.joints == design.joints


@pytest.mark.parametrize(("name", "record"), [
    ("trestle", PartAsCut("long_rail_01", turned="end for end")),
    ("row", PartAsCut("post_3", mirrored=True)),
    ("frame", PartAsCut("long_rail_01", exchanged_with="long_rail_02")),
    ("ring", PartAsCut("segment_8", exchanged_with="segment_1")),
    ("ring_loose", PartAsCut("segment_7", exchanged_with="segment_8")),
])
def test_wood_that_is_the_same_however_it_lies_is_the_drawing_s(name: str, record: PartAsCut) -> None:
    design = zoo.SOUND[name]()
    again = recut(design, [record])
    assert all(again.part[p.name] is p for p in design.parts)


def test_cuts_that_serve_another_joint_when_turned_go_by_its_name() -> None:
    """The rail's tenons change places; one of them is 2 mm shorter, so the rail is not the same turned round."""
    design = zoo.trestle()
    short = PartAsCut("long_rail_01", turned="end for end", cuts=(CutAsCut("long_rail_01_end", depth=40.0),))
    rail = recut(design, [short]).part["long_rail_01"]
    reach = {f.joint: f.solid.bounds[1 if f.joint == "long_rail_01_end" else 0][0] for f in rail.features
             if f.role == "tenon"}
    assert reach["long_rail_01_start"] == pytest.approx(-40.0, abs=1e-6)
    assert reach["long_rail_01_end"] > rail.blank.length + 40.0


def test_cuts_that_serve_nothing_when_turned_keep_a_name() -> None:
    design = zoo.trestle()
    turned = recut(design, [PartAsCut("post_1", turned="quarter turn")]).part["post_1"]
    assert sorted(f.joint or "" for f in turned.features) == sorted(
        f.joint or "" for f in design.part["post_1"].features)


@given(st.floats(-6, 6), st.floats(-6, 6))
@settings(max_examples=20, deadline=None)
def test_the_other_part_goes_where_the_mortise_is(along: float, across: float) -> None:
    design = tenoned_pair()
    again = recut(design, [PartAsCut("post", cuts=(CutAsCut("tie", along=along, across=across),))])
    post = place(design).frames["post"]
    off = (place(again).frames["rail"] - place(design).frames["rail"])[:3, 3]
    side = next(f for f in design.part["post"].blank.places.values()
                if abs((post[:3, :3] @ f[:3, 2]) @ (1, 0, 0) - 1) < 1e-9)
    np.testing.assert_allclose(off, post[:3, :3] @ (side[:3, 0] * along + side[:3, 1] * across), atol=1e-6)


def test_a_mortise_too_shallow_has_its_bottom_higher() -> None:
    design = tenoned_pair(depth=30.0, width=60.0, thickness=12.0, fit=0.1)
    again = recut(design, [PartAsCut("post", cuts=(CutAsCut("tie", depth=28.5),))])
    more = again.part["post"].finished.volume - design.part["post"].finished.volume
    assert more == pytest.approx(3.5 * 60.2 * 12.2, rel=1e-6)


def test_a_tenon_too_long_and_thick_keeps_its_shoulder() -> None:
    design = tenoned_pair(depth=30.0, width=60.0, thickness=12.0)
    again = recut(design, [PartAsCut("rail", cuts=(CutAsCut("tie", depth=33.0, thickness=12.6, width=59.0),))])
    more = again.part["rail"].finished.volume - design.part["rail"].finished.volume
    assert more == pytest.approx(33.0 * 12.6 * 59.0 - 30.0 * 12.0 * 60.0, rel=1e-6)


def test_a_loose_tenon_that_came_out_longer_is_longer_both_ways() -> None:
    design = zoo.ring_loose()
    tenon = next(p for p in design.parts if p.group == "loose tenon")
    again = recut(design, [PartAsCut(tenon.name, length=tenon.blank.length + 3.0)])
    for joint in (j for j in again.joints if j.a == tenon.name):
        was = design.joint[joint.name].seat_a
        along = (points_along(joint.seat_a), points_along(was))
        assert along[0] - along[1] == pytest.approx(1.5, abs=1e-9)


def points_along(seat: np.ndarray) -> float:
    """How far along the grain a seat lies, mm."""
    return float(seat[0, 3])


def test_a_left_out_mortise_is_solid_wood() -> None:
    design = tenoned_pair()
    again = recut(design, [PartAsCut("post", cuts=(CutAsCut("tie", left_out=True),))])
    assert again.part["post"].finished.volume == pytest.approx(800.0 * 90 * 90, rel=1e-9)


def test_a_lap_too_deep_lets_the_pieces_down() -> None:
    design = zoo.ring_straight()
    joint = design.joints[0]
    sizes = {m.what: m.drawn for m in worth_measuring(design) if (m.part, m.joint) == (joint.a, joint.name)}
    again = recut(design, [PartAsCut(joint.a, cuts=(CutAsCut(joint.name, depth=sizes["depth"] + 1.0),))])
    was, now = design.joint[joint.name].seat_a, again.joint[joint.name].seat_a
    np.testing.assert_allclose(now[:3, 3] - was[:3, 3], -was[:3, 2], atol=1e-9)
    assert again.part[joint.a].finished.volume < design.part[joint.a].finished.volume - 100.0


@pytest.mark.parametrize(("record", "key"), [
    (PartAsCut("nobody", length=1.0), "part"),
    (PartAsCut("post", thickness=-1.0), "thickness"),
    (PartAsCut("post", end_angle=math.radians(85)), "end_angle"),
    (PartAsCut("post", exchanged_with="post"), "exchanged_with"),
    (PartAsCut("post", cuts=(CutAsCut("nothing"),)), "joint"),
    (PartAsCut("post", cuts=(CutAsCut("tie", depth=0.0),)), "depth"),
    (PartAsCut("post", cuts=(CutAsCut("tie"), CutAsCut("tie"))), "joint"),
    (PartAsCut("post"), "part"),
    (PartAsCut("post", turned="inside out"), "turned"),  # type: ignore[arg-type]
    (PartAsCut("post", width=1e-9), "width"),
    (PartAsCut("post", length=math.inf), "length"),
    (PartAsCut("post", length=1e9), "length"),
    (PartAsCut("post", start_angle=math.nan), "start_angle"),
    (PartAsCut("post", cuts=(CutAsCut("tie", along=math.nan),)), "along"),
    (PartAsCut("post", cuts=(CutAsCut("tie", across=math.inf),)), "across"),
    (PartAsCut("post", cuts=(CutAsCut("tie", along=1e4),)), "along"),
    (PartAsCut("post", cuts=(CutAsCut("tie", across=-90.0),)), "across"),
    (PartAsCut("post", cuts=(CutAsCut("tie", thickness=1e-9),)), "thickness"),
    (PartAsCut("rail", cuts=(CutAsCut("tie", across=-60.0),)), "across"),
    (PartAsCut("rail", cuts=(CutAsCut("tie", thickness=41.0),)), "thickness"),
    (PartAsCut("rail", cuts=(CutAsCut("tie", width=91.0),)), "width"),
])
def test_what_no_part_can_have_is_refused(record: PartAsCut, key: str) -> None:
    with pytest.raises(MeasureError) as refused:
        recut(tenoned_pair(), [record, record] if record == PartAsCut("post") else [record])
    assert refused.value.key == key
    assert refused.value.accepted


def test_a_length_at_which_the_ends_cross_is_refused() -> None:
    with pytest.raises(MeasureError):
        recut(alone("b", "mitred"), [PartAsCut("b", length=2.0)])


def test_the_width_of_a_band_is_not_measured_by_a_face() -> None:
    with pytest.raises(MeasureError):
        recut(alone("b", "band"), [PartAsCut("b", width=70.0)])


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_joint_measured_as_drawn_changes_nothing(kind: str) -> None:
    design = usual(kind)
    again = recut(design, measured_as_drawn(design))
    assert all(same_wood(part, again.part[part.name]) for part in design.parts)
    assert [m.what for m in worth_measuring(design) if m.joint] or kind == "glued face"


@pytest.mark.parametrize(("kind", "part", "what", "more", "loses"), [
    # usual() joins boards of 140 by 40 mm with a fit of 0.1 mm a side.
    ("housing", "b", "depth", 1.5, 1.5 * 140.0 * 40.2),
    ("housing", "b", "width", 1.5, 1.5 * 140.0 * 40.0 / 3),
    ("cross lap", "a", "depth", 1.0, 1.0 * 140.0 * 140.2),
    ("cross lap", "b", "width", -2.0, -2.0 * 140.0 * 20.0),
    ("bridle", "a", "depth", 3.0, None),
])
def test_the_wood_a_cut_loses(kind: str, part: str, what: str, more: float, loses: float | None) -> None:
    design = usual(kind)
    drawn = next(m.drawn for m in worth_measuring(design) if (m.part, m.joint, m.what) == (part, "j", what))
    again = recut(design, [PartAsCut(part, cuts=(CutAsCut("j", **{what: drawn + more}),))])
    lost = design.part[part].finished.volume - again.part[part].finished.volume
    if loses is None:
        loses = -more * sum(f.solid.volume for f in design.part[part].features if f.role == "tenon") / drawn
        assert lost == pytest.approx(loses, rel=0.2)
        return
    assert lost == pytest.approx(loses, rel=1e-6)


def test_parts_measured_alike_are_one_solid() -> None:
    design = zoo.row()
    posts = [p.name for p in design.parts if p.group == design.parts[0].group][1:3]
    again = recut(design, [PartAsCut(name, thickness=86.0) for name in posts])
    assert again.part[posts[0]].blank.solid is again.part[posts[1]].blank.solid


@given(rigid_frames(), st.floats(-3, 3))
@settings(max_examples=15, deadline=None)
def test_where_the_work_stands_changes_nothing_of_how_it_is_cut(frame: np.ndarray, off: float) -> None:
    design = tenoned_pair()
    record = PartAsCut("post", thickness=88.0, start_angle=math.radians(off), cuts=(CutAsCut("tie", along=off),))
    here = recut(design, [record])
    there = recut(replace(design, base_frame=frame @ design.base_frame), [record])
    assert [p.finished for p in there.parts] == [p.finished for p in here.parts]
    for name, stands in place(here).frames.items():
        np.testing.assert_allclose(place(there).frames[name], frame @ stands, atol=1e-5)


@pytest.mark.parametrize("name", ["trestle", "gateway_small", "ring", "ring_loose", "bench"])
def test_in_the_mirror_the_same_is_measured(name: str) -> None:
    design = zoo.SOUND[name]()
    assert worth_measuring(design.in_the_mirror()) == worth_measuring(design)


@given(lengths(60, 89), lengths(5, 28), st.floats(-2, 2))
@settings(max_examples=15, deadline=None)
def test_the_mirror_image_is_cut_as_the_piece_is(thickness: float, depth: float, off: float) -> None:
    lean = math.radians(off)
    record = PartAsCut("post", thickness=thickness, start_angle=lean / 2, end_angle=lean,
                       cuts=(CutAsCut("tie", depth=depth),))
    for design in (tenoned_pair(), zoo.SOUND["trestle"]()):
        if "tie" not in design.joint:
            record = replace(record, part="post_1", cuts=())
        one, image = recut(design, [record]).in_the_mirror(), recut(design.in_the_mirror(), [record])
        assert all(same_wood(image.part[p.name], p) for p in one.parts)
        for joint in one.joints:
            np.testing.assert_allclose(image.joint[joint.name].seat_b, joint.seat_b, atol=1e-6)


def test_a_mitred_segment_in_the_mirror_leans_the_same_way() -> None:
    design = zoo.ring_loose()
    record = PartAsCut("segment_1", length=400.0, start_angle=math.radians(21), end_angle=math.radians(23.5))
    one, image = recut(design, [record]).in_the_mirror(), recut(design.in_the_mirror(), [record])
    assert same_wood(image.part["segment_1"], one.part["segment_1"])


def test_exchanged_twice_each_has_its_own_wood_again() -> None:
    design = zoo.frame()
    one, other = design.part["post_1a"], design.part["post_2b"]
    swapped = in_place_of(one, other), in_place_of(other, one)
    assert same_wood(in_place_of(swapped[0], swapped[1]), one)
    assert same_wood(in_place_of(swapped[1], swapped[0]), other)
