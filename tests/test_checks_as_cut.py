"""The checks of fit on parts as cut: what was measured explains what is wrong, and the new sizes are right."""

from __future__ import annotations

import re
from dataclasses import replace
from math import pi, radians, tan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.checks.fit import fit
from assembly.checks.gap import gap
from assembly.checks.interference import interference
from assembly.checks.unmatched import unmatched
from assembly.findings import Finding, by_harm
from assembly.placing import place
from model.as_cut import CutAsCut, PartAsCut
from model.design import Design, Shop
from model.draft import Draft
from model.frames import frame_of, inverse, move, turn
from model.part import Feature
from model.recut import recut
from model.shapes.board import board
from model.solids import box
from tests import zoo
from tests.strategies import POST, RAIL, row_of_posts, tenoned_pair, upright

SHOP = Shop()
REACH = 88.9 * 2 / 3
"""The zoo's tenons: two thirds of an 88.9 mm post; the mortises are 2 mm deeper."""


def found(design: Design, *measured: PartAsCut) -> tuple[Finding, ...]:
    assembly = place(recut(design, measured))
    return by_harm(f for one in (interference, gap, fit, unmatched) for f in one(assembly, SHOP))


def cut(part: str, joint: str, **what: float) -> PartAsCut:
    """What was measured of one cut."""
    return PartAsCut(part, cuts=(CutAsCut(joint, **what),))


def sizes(text: str) -> list[float]:
    return [float(n) for n in re.findall(r"(\d+\.?\d*) mm", text)]


def amount(finding: Finding) -> float:
    assert finding.amount is not None
    return finding.amount.value


# -- stand-offs -----------------------------------------------------------------------------------


@settings(max_examples=15, deadline=None)
@given(by=st.floats(0.1, 8.0), on=st.sampled_from(["tenon", "mortise"]))
def test_a_standoff_in_a_closed_frame_is_one_finding(by: float, on: str) -> None:
    deep, post = REACH + 2.0 + by, "post_2a"
    record = cut("long_rail_01", "long_rail_01_end", depth=deep) if on == "tenon" else cut(
        post, "long_rail_01_end", depth=REACH - by)
    (finding,) = found(zoo.frame(), record)
    assert (finding.kind, finding.severity, finding.joints) == ("gap", "stop", ("long_rail_01_end",))
    assert finding.parts == ("long_rail_01", post) and amount(finding) == pytest.approx(by, abs=0.005)
    assert "does not close, by as much" in finding.message


def test_the_mortise_is_only_to_be_cut_deeper_where_there_is_wood_for_it() -> None:
    """A post of 88.9 mm takes a mortise of 87.9 at most: a tenon 25 mm too long has to be cut."""
    (some,) = found(zoo.trestle(), cut("long_rail_01", "long_rail_01_end", depth=REACH + 4.0))
    assert sizes(some.remedy) == pytest.approx([REACH, REACH + 6.0], abs=0.06)
    (much,) = found(zoo.trestle(), cut("long_rail_01", "long_rail_01_end", depth=REACH + 27.0))
    assert sizes(much.remedy) == pytest.approx([REACH], abs=0.06) and "mortise" not in much.remedy


def test_a_loose_tenon_too_long_names_itself_and_both_mortises() -> None:
    design = zoo.ring_loose()
    tenon = next(j.a for j in design.joints if j.of == "ring_1_2")
    (finding,) = found(design, PartAsCut(tenon, length=design.part[tenon].blank.length + 5.0))
    assert amount(finding) == pytest.approx(1.0, abs=0.005), "2 mm of room at either end"
    assert finding.joints == ("ring_1_2",) and set(finding.parts) == {tenon, "segment_1", "segment_2"}
    assert sizes(finding.remedy) == pytest.approx([101.6, 5.0], abs=0.06)


def test_a_shoulder_stopped_by_something_else_says_by_what() -> None:
    design = tenoned_pair()
    seat = design.joint["tie"].seat_b
    lump = Feature("lump", "add", box((31.0, -18.0, -1.5), (44.0, 18.0, 2.0)).moved(seat), "lump", frame=seat)
    lumpy = zoo.changed(design, "post", lambda p: replace(p, features=(*p.features, lump)))
    (finding,) = gap(place(lumpy), SHOP)
    assert amount(finding) == pytest.approx(1.5, abs=0.005)
    assert "its shoulder meets the wood of post, 362.5 mm from the end of post" in finding.message


def test_a_loop_open_for_its_own_reason_is_told_beside_a_standoff() -> None:
    rail = zoo.frame().part["cross_rail_01"].blank.length
    findings = found(zoo.frame(), PartAsCut("cross_rail_01", length=rail - 3.0),
                     cut("long_rail_01", "long_rail_01_end", depth=REACH + 3.0))
    assert sorted(amount(f) for f in findings) == pytest.approx([1.0, 3.0], abs=0.005)
    assert {f.kind for f in findings} == {"gap"}


# -- open loops that were measured ----------------------------------------------------------------


@settings(max_examples=15, deadline=None)
@given(off=st.floats(0.1, 9.0), longer=st.booleans())
def test_a_rail_off_its_length_is_named_with_what_would_match_it(off: float, longer: bool) -> None:
    design = zoo.frame()
    drawn = design.part["long_rail_01"].blank.length
    made = drawn + (off if longer else -off)
    (finding,) = found(design, PartAsCut("long_rail_01", length=made))
    assert finding.parts[0] == "long_rail_01" and amount(finding) == pytest.approx(off, abs=0.002)
    assert f"{'Shorten' if longer else 'Cut'} long_rail_01" in finding.remedy
    assert sizes(finding.remedy) == pytest.approx([drawn, made], abs=0.06)
    assert "long_rail_02, long_rail_03 and long_rail_04" in finding.remedy, "all four run between the same two sides"


def test_what_matches_lets_all_loops_close() -> None:
    """The remedy done: every rail it names cut to the size it says."""
    design = zoo.frame()
    short = design.part["long_rail_01"].blank.length - 4.0
    records = [PartAsCut(f"long_rail_0{k}", length=short) for k in (1, 2, 3, 4)]
    assert found(design, *records) == ()


@pytest.mark.parametrize(("what", "rails", "length"), [
    ("thickness", ("long_rail_03", "long_rail_04"), 1222.2), ("width", ("cross_rail_03", "cross_rail_04"), 322.2)])
def test_a_post_too_thin_asks_for_shorter_rails_across_from_it(what: str, rails: tuple[str, str],
                                                               length: float) -> None:
    design = zoo.frame()
    (finding,) = found(design, PartAsCut("post_1a", **{what: 88.9 - 1.5}))
    assert finding.parts[0] == "post_1a" and amount(finding) == pytest.approx(1.5, abs=0.002)
    assert f"{rails[0]} and {rails[1]}" in finding.remedy
    assert sizes(finding.remedy) == pytest.approx([88.9, length - 1.5], abs=0.06)
    matched = [PartAsCut(rail, length=design.part[rail].blank.length - 1.5) for rail in rails]
    assert found(design, PartAsCut("post_1a", **{what: 88.9 - 1.5}), *matched) == ()


def test_all_loops_that_one_part_keeps_open_are_one_finding() -> None:
    (finding,) = found(zoo.grid(), PartAsCut("post_2b", thickness=88.9 - 1.0))
    assert finding.parts[0] == "post_2b" and "likewise" in finding.message


@pytest.mark.parametrize("off", [-2.5, 0.3])
@pytest.mark.parametrize("way", ["along", "across"])
@pytest.mark.parametrize(("part", "named"), [
    ("post_2a", "Plug the mortise for long_rail_01 in post_2a"), ("long_rail_01", "Make long_rail_01 anew")])
def test_a_cut_off_its_place_is_named(off: float, way: str, part: str, named: str) -> None:
    (finding,) = found(zoo.frame(), cut(part, "long_rail_01_end", **{way: off}))
    assert amount(finding) == pytest.approx(abs(off), abs=0.002)
    assert part in finding.parts and f"off its place {way}" in finding.message and named in finding.remedy


def test_an_end_out_of_square_is_told_in_degrees_with_the_angle_to_cut() -> None:
    (finding,) = found(zoo.frame(), PartAsCut("long_rail_01", end_angle=radians(0.4)))
    assert finding.amount is not None and finding.amount.unit == "deg"
    assert amount(finding) == pytest.approx(0.4, abs=0.002)
    assert "by 0 mm" not in finding.message and "Cut the end of long_rail_01 to 0°" in finding.remedy


def test_a_ring_with_a_short_segment_is_matched_by_the_one_across() -> None:
    """By symmetry: of eight segments only the fifth runs the way the first does."""
    design = zoo.ring_loose()
    (finding,) = found(design, PartAsCut("segment_1", length=design.part["segment_1"].blank.length - 1.5))
    assert amount(finding) == pytest.approx(1.5, abs=0.002)
    assert "make segment_5" in finding.remedy
    both = [PartAsCut(f"segment_{k}", length=design.part["segment_1"].blank.length - 1.5) for k in (1, 5)]
    assert found(design, *both) == ()


@pytest.mark.parametrize(("depth", "says"), [(3.75, "1 mm deeper"), (5.75, "Glue a shaving of 1 mm into")])
def test_a_lap_off_its_depth_says_how_to_right_it(depth: float, says: str) -> None:
    (finding,) = found(zoo.bench(), cut("cross_rail_02", "slat_01_1", depth=depth))
    assert finding.kind == "gap" and amount(finding) == pytest.approx(1.0, abs=0.002) and says in finding.remedy


def test_what_was_measured_and_explains_nothing_is_not_blamed() -> None:
    """A joint drawn off its place opens the loop; the rail beside it was measured a little thin, which does not."""
    design = zoo.rail_short(4.0)
    (finding,) = (f for f in found(design, PartAsCut("long_rail_02", thickness=37.0)) if f.amount and f.kind == "gap"
                  and len(f.joints) > 1)
    assert "was measured" not in finding.message and amount(finding) == pytest.approx(4.0, abs=0.002)


# -- faces ----------------------------------------------------------------------------------------


def shaved_shoulder(design: Design, low: tuple[float, float], high: tuple[float, float], mm: float) -> Design:
    """The pair as cut: the rail's shoulder sawn back by mm over a part of it, given in the seat."""
    seat = design.joint["tie"].seat_a
    waste = box((*low, -mm), (*high, 0.0)).cut(box((-30.1, -6.1, -mm - 1), (30.1, 6.1, 1)))
    slip = Feature("slip", "cut", waste.moved(seat), "shoulder", "tie", frame=seat)
    made = zoo.changed(design, "rail", lambda p: replace(p, features=(*p.features, slip)))
    return replace(made, drawn=design)


def test_a_shoulder_of_which_half_is_left_is_told_with_how_far_the_rest_is_open() -> None:
    some = shaved_shoulder(tenoned_pair(), (-50, 2.0), (50, 30), 1.3)
    assert gap(place(some), SHOP) == [], "more than half still meets"
    (finding,) = gap(place(shaved_shoulder(tenoned_pair(), (-50, -15.0), (50, 30), 1.3)), SHOP)
    assert finding.severity == "warn" and amount(finding) == pytest.approx(1.3, abs=0.002)
    assert "stay 1.3 mm apart" in finding.message


@pytest.mark.parametrize("angle", [0.3, 1.0, 5.0])
def test_a_shoulder_that_meets_on_one_edge_is_told_by_its_angle(angle: float) -> None:
    """By hand: over the 90 mm of the rail's width it opens to 90 tan(angle)."""
    design = tenoned_pair()
    seat = design.joint["tie"].seat_a
    hinge = seat @ move(x=-45.0) @ turn((0.0, 1.0, 0.0), radians(angle))
    waste = box((-200, -60, 0), (300, 60, 50)).moved(hinge).cut(box((-30, -6, -99), (30, 6, 99)).moved(seat))
    made = zoo.changed(design, "rail", lambda p: replace(
        p, features=(*p.features, Feature("lean", "cut", waste, "shoulder", "tie", frame=seat))))
    (finding,) = gap(place(made), SHOP)
    assert finding.amount is not None and finding.amount.unit == "deg"
    assert amount(finding) == pytest.approx(angle, abs=0.002)
    assert sizes(finding.message)[0] == pytest.approx(90.0 * tan(radians(angle)), abs=0.06)


def housed(design: Design, away: float, aside: float) -> Design:
    """A shelf pulled out of its housing and moved aside, its joint left where the drawing has it."""
    by = move(y=aside, z=-away)
    joint = design.joint["let_in"]
    return replace(design, joints=(replace(joint, seat_a=joint.seat_a @ inverse(by)),))


def shelf() -> Design:
    """An upright with a shelf let 10 mm into it."""
    draft = Draft("shelf")
    draft.add("upright", board(RAIL, 400.0), upright(0, 0))
    draft.add("shelf", board(RAIL, 300.0), frame_of((10.0, 0, 200), (0, 1, 0), (1, 0, 0)))
    upr, she = draft.blanks["upright"], draft.blanks["shelf"]
    draft.join("let_in", "housing", "shelf", "upright", she.places["start"],
               upr.place("face", along=200.0) @ turn((1, 0, 0), pi) @ move(z=10.0),
               sizes={"depth": 10.0})
    return draft.finish()


@pytest.mark.parametrize("aside", [0.0, 3.0])
@pytest.mark.parametrize("away", [12.0, 17.5])
def test_a_piece_out_of_its_housing_and_aside_is_told_from_the_faces_that_should_meet(away: float,
                                                                                     aside: float) -> None:
    """Moved aside, its end also looks at the face beside the housing, which is nearer by the housing's depth."""
    assert gap(place(shelf()), SHOP) == []
    (finding,) = gap(place(housed(shelf(), away, aside)), SHOP)
    assert amount(finding) == pytest.approx(away, abs=0.002)


def test_a_tenon_cut_much_too_short_is_told() -> None:
    assert found(zoo.trestle(), cut("long_rail_01", "long_rail_01_end", depth=31.0)) == ()
    (finding,) = found(zoo.trestle(), cut("long_rail_01", "long_rail_01_end", depth=20.0))
    assert finding.severity == "warn" and amount(finding) == pytest.approx(REACH - 20.0, abs=0.002)


# -- interference ---------------------------------------------------------------------------------


@settings(max_examples=15, deadline=None)
@given(over=st.floats(0.05, 3.0), on=st.sampled_from(["rail", "post"]), what=st.sampled_from(["width", "thickness"]))
def test_a_tenon_too_large_says_both_sizes_and_the_new_ones(over: float, on: str, what: str) -> None:
    """Drawn 12 by 60 mm with 0.1 mm a side; over by so much a side as cut."""
    size = {"width": 60.0, "thickness": 12.0}[what]
    cut_to = size + 0.2 + 2 * over if on == "rail" else size - 2 * over
    (finding,) = found(tenoned_pair(), cut(on, "tie", **{what: cut_to}))
    tenon, mortise = (cut_to, size + 0.2) if on == "rail" else (size, cut_to)
    assert (finding.kind, finding.parts) == ("interference", ("rail", "post"))
    assert amount(finding) == pytest.approx(over, abs=0.005)
    told = sizes(finding.message)
    assert told[-3:-1] == pytest.approx([tenon, mortise], abs=0.06)
    assert sizes(finding.remedy) == pytest.approx([mortise - 0.2, tenon + 0.2], abs=0.06)


def test_a_piece_too_wide_for_its_housing_says_by_how_much_to_open_it() -> None:
    findings = found(zoo.fence(), PartAsCut("slat_03", width=64.0 + 1.0))
    assert {f.kind for f in findings} == {"interference"} and len(findings) == 2
    assert all("too wide for its housing" in f.message and "Open the housing" in f.remedy for f in findings)
    assert all(sizes(f.remedy)[0] == pytest.approx(1.0, abs=0.06) for f in findings)


# -- unmatched ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("part", "says"), [
    ("post_2", "has no mortise for its tenon"), ("long_rail_01", "stays empty: long_rail_01 has no tenon")])
def test_half_a_joint_never_cut_is_one_finding(part: str, says: str) -> None:
    (finding,) = found(zoo.trestle(), PartAsCut(part, cuts=(CutAsCut("long_rail_01_end", left_out=True),)))
    assert (finding.kind, finding.severity) == ("unmatched", "stop") and says in finding.message
    assert set(finding.parts) == {"post_2", "long_rail_01"} and finding.joints == ("long_rail_01_end",)


@pytest.mark.parametrize("part", ["slat_01", "cross_rail_02"])
def test_a_lap_never_cut_is_one_finding(part: str) -> None:
    (finding,) = found(zoo.bench(), PartAsCut(part, cuts=(CutAsCut("slat_01_1", left_out=True),)))
    assert finding.kind == "unmatched" and finding.parts[0] == part
    assert amount(finding) == pytest.approx(4.75, abs=0.002)


def test_a_housing_never_cut_is_known_from_the_drawing() -> None:
    (finding,) = found(zoo.fence(), PartAsCut("long_rail_01", cuts=(CutAsCut("slat_01_1", left_out=True),)))
    assert finding.kind == "unmatched" and "the housing of slat_01_1 was never cut in long_rail_01" in finding.message


def test_one_mortise_of_a_loose_tenon_never_cut_is_one_finding() -> None:
    (finding,) = found(zoo.ring_loose(), PartAsCut("segment_1", cuts=(CutAsCut("ring_1_2", left_out=True),)))
    assert finding.kind == "unmatched" and finding.parts == ("segment_1", "segment_2")


def test_mortises_without_their_loose_tenon_are_told() -> None:
    design = zoo.ring_loose()
    tenon = next(j.a for j in design.joints if j.of == "ring_1_2")
    without = replace(design, parts=tuple(p for p in design.parts if p.name != tenon),
                      joints=tuple(j for j in design.joints if j.a != tenon))
    (finding,) = (f for f in unmatched(place(without), SHOP) if f.kind == "unmatched")
    assert "stay empty" in finding.message and finding.joints == ("ring_1_2",)


def block_beside(gap_mm: float, *, drawn: Design | None = None) -> Design:
    """Two posts on a rail; a block glued onto the one comes within `gap_mm` of the other, no joint between."""
    design = row_of_posts([300.0], [300.0])
    draft = Draft("beside")
    for part in design.parts:
        draft.blanks[part.name], draft.own[part.name], draft.groups[part.name] = part.blank, [], part.group
    draft.joints = [replace(j, travel=0.0) for j in design.joints]
    block = board(POST, 210.0 - gap_mm)
    draft.add("block", block)
    draft.join("glued", "glued face", "block", "post_0", block.places["start"],
               draft.blanks["post_0"].place("edge", along=500.0) @ turn((1, 0, 0), pi))
    return replace(draft.finish(), drawn=drawn, base_frame=design.base_frame)


def test_parts_that_lie_on_each_other_with_no_joint_are_a_note() -> None:
    assert unmatched(place(block_beside(1.0)), SHOP) == []
    touching = unmatched(place(block_beside(0.0)), SHOP)
    assert [f.severity for f in touching] == ["note"] and set(touching[0].parts) == {"block", "post_1"}
    assert amount(touching[0]) == pytest.approx(90.0 * 90.0, rel=1e-3)


def test_contact_that_the_drawing_has_not_is_a_warning() -> None:
    (finding,) = unmatched(place(block_beside(0.0, drawn=block_beside(1.0))), SHOP)
    assert finding.severity == "warn" and "in the drawing they do not touch there" in finding.message
    (kept,) = unmatched(place(block_beside(0.0, drawn=block_beside(0.0))), SHOP)
    assert kept.severity == "note"


def test_a_joint_cut_but_never_declared_is_a_warning_by_its_name() -> None:
    design = zoo.frame()
    rest = replace(design, stages=(), joints=tuple(j for j in design.joints if j.name != "long_rail_01_end"))
    (finding,) = unmatched(place(rest), SHOP)
    assert finding.severity == "warn" and "cut for long_rail_01_end, which was never declared" in finding.message
    assert set(finding.parts) == {"long_rail_01", "post_2a"}
