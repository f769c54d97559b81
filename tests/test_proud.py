"""Proud: steps and angles planted between faces that were to be flush, feet that do not stand, and sound work."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.checks.proud import proud
from assembly.checks.wording import small
from assembly.feet import stance
from assembly.findings import Finding
from assembly.flushness import seams, steps
from assembly.placing import Assembly, place
from model.design import Design, Flush
from model.draft import Draft
from model.frames import X, Y, Z, frame_of, move, snapped, turn
from model.part import Part
from model.reader import read
from model.shapes.board import board
from model.shapes.mitred_board import mitred_board
from tests import zoo
from tests.as_cut_by_hand import as_cut, shifted, smaller
from tests.joined import facing, pair
from tests.strategies import lengths, rigid_frames, upright
from tests.zoo import SOUND, milled

EXAMPLES = ("orchard_gate", "quay_bench", "lantern_ring", "hive_stand", "net_rack")
ROOM = Path(__file__).parents[1] / "examples"
PLANK = milled("plank", 40.0, 140.0)
SIDES = ("face", "back", "edge", "far_edge")


@cache
def example(name: str) -> Design:
    return read(ROOM / f"{name}.toml")


def found(design: Design) -> list[Finding]:
    return proud(place(design), design.shop)


def only(design: Design) -> Finding:
    findings = found(design)
    assert len(findings) == 1, [f.message for f in findings]
    return findings[0]


@cache
def end_to_end() -> Design:
    """Two boards end to end, flush on all four sides, a loose tenon between them."""
    a, b = board(PLANK, 500.0), board(PLANK, 400.0)
    return pair("loose tenon", a, b, a.place("end"), facing(b.place("start")))


# -- sound work ----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SOUND)
def test_nothing_is_said_of_sound_work(name: str) -> None:
    assert found(SOUND[name]()) == []


@pytest.mark.parametrize("name", EXAMPLES)
def test_nothing_is_said_of_the_examples(name: str) -> None:
    assert found(example(name)) == []


def test_nothing_is_said_of_what_is_cut_as_drawn() -> None:
    design = zoo.gateway_small()
    assert found(replace(design, drawn=design)) == []


def test_mortise_walls_in_line_with_each_other_are_no_seam() -> None:
    """The walls of both mortises of a loose tenon lie in one plane, and nobody ever sees them."""
    found_seams = [s for s in seams(place(end_to_end())) if {s.a, s.b} == {"a", "b"}]
    assert len(found_seams) == 4 and all(s.flush for s in found_seams)


def test_arches_sawn_after_the_glue_up_are_flush_where_they_are_sawn() -> None:
    """The curve runs through both segments at once: only their faces and backs can stand out."""
    for seam in seams(place(zoo.ring())):
        assert abs(seam.step) < 1e-6 and seam.flush


# -- planted steps -------------------------------------------------------------------------------


def test_an_arch_planed_thin_leaves_its_legs_proud() -> None:
    """Segments out of 63.5 mm stock planed to 60: all four legs, drawn flush on both sides, stand 3.5 mm proud."""
    gate = example("orchard_gate")
    segments = [p.name for p in gate.parts if p.group == "segment"]
    finding = only(as_cut(gate, {n: lambda p: smaller(p, back=3.5) for n in segments}))
    legs = {p.name for p in gate.parts if p.group == "leg"}
    assert set(finding.parts[:4]) == legs and "far_arch_1" in finding.parts
    assert (finding.kind, finding.severity) == ("proud", "warn")
    assert finding.amount is not None
    assert (finding.amount.value, finding.amount.unit) == (pytest.approx(3.5, abs=1e-4), "mm")
    assert "on the back" in finding.message
    assert finding.remedy.startswith("Rip ") and "2 23/64 in thick" in finding.remedy
    metric = only(as_cut(replace(gate, unit="mm"), {n: lambda p: smaller(p, back=3.5) for n in segments}))
    assert "3.5 mm proud on the back" in metric.message and "to 60 mm thick: 3.5 mm off the back" in metric.remedy


def test_one_segment_alone_too_thin_is_cut_anew() -> None:
    """Its neighbours are still flush with theirs: ripping them would move the step on."""
    finding = only(as_cut(zoo.gateway(), {"far_arch_3": lambda p: smaller(p, back=2.0)}))
    assert finding.parts == ("far_arch_3", "far_arch_2", "far_arch_4")
    assert "lies 2 mm below" in finding.message and finding.remedy.startswith("Cut far_arch_3 anew, 38.1 mm thick")


@settings(max_examples=40, deadline=None)
@given(st.integers(100, 10_000).map(lambda n: n / 1000.0), st.sampled_from(SIDES), st.sampled_from(["a", "b"]))
def test_a_board_planed_down_is_found_by_as_much(mm: float, side: str, part: str) -> None:
    finding = only(as_cut(end_to_end(), {part: lambda p: smaller(p, **{side: mm})}))
    assert finding.amount is not None and finding.amount.unit == "mm"
    assert finding.amount.value == pytest.approx(mm, abs=2e-4)
    other = "b" if part == "a" else "a"
    assert finding.parts == (other, part) and finding.joints == ("j",)
    assert f"proud on the {side.replace('_', ' ')}" in finding.message
    new = (40.0 if side in ("face", "back") else 140.0) - mm
    assert any(f"Rip {other} to {small(new + rounding)} " in finding.remedy for rounding in (-1e-6, 1e-6))


@settings(max_examples=30, deadline=None)
@given(st.integers(100, 10_000).map(lambda n: n / 1000.0), st.sampled_from(SIDES))
def test_a_board_left_too_large_is_found_by_as_much(mm: float, side: str) -> None:
    finding = only(as_cut(end_to_end(), {"a": lambda p: smaller(p, **{side: -mm})}))
    assert finding.parts == ("a", "b") and finding.amount is not None
    assert finding.amount.value == pytest.approx(mm, abs=2e-4)
    assert f"Rip a to {40 if side in ('face', 'back') else 140} mm" in finding.remedy


@settings(max_examples=20, deadline=None)
@given(rigid_frames(), st.booleans(), lengths(0.1, 10.0), st.sampled_from(SIDES))
def test_standing_elsewhere_or_in_the_mirror_changes_nothing(frame: np.ndarray, mirror: bool, mm: float,
                                                             side: str) -> None:
    design = as_cut(end_to_end(), {"b": lambda p: smaller(p, **{side: mm})})
    here = only(design)
    assert design.drawn is not None
    there = replace(design, base_frame=snapped(frame @ design.base_frame),
                    drawn=replace(design.drawn, base_frame=snapped(frame @ design.base_frame)))
    finding = only(there.in_the_mirror() if mirror else there)
    assert finding.parts == here.parts and finding.amount is not None and here.amount is not None
    assert finding.amount.value == pytest.approx(here.amount.value, abs=1e-4)
    assert finding.remedy == here.remedy
    at = frame @ (*(here.where or (0, 0, 0)), 1.0)
    if not mirror:
        assert place(there).frames.keys() == place(design).frames.keys()
        assert finding.where is not None and abs(np.dot(frame[:3, :3] @ Z, np.subtract(finding.where, at[:3]))) < 200.0


def test_a_step_of_a_tenth_is_told_and_less_is_not() -> None:
    assert found(as_cut(end_to_end(), {"b": lambda p: smaller(p, back=0.099)})) == []
    assert len(found(as_cut(end_to_end(), {"b": lambda p: smaller(p, back=0.1)}))) == 1


def test_a_part_off_its_place_is_told_once_and_is_not_to_be_ripped() -> None:
    """A leg's mortise 1.2 mm off across the arch: proud on one side, low on the other, its size right."""
    finding = only(shifted(example("orchard_gate"), "far_leg_left_top", y=1.2))
    assert set(finding.parts) == {"far_leg_left", "far_arch_1"} and finding.amount is not None
    assert finding.amount.value == pytest.approx(1.2, abs=1e-4)
    assert "Both have their size" in finding.remedy


def test_two_sides_at_once_are_one_finding_with_one_new_size() -> None:
    finding = only(as_cut(end_to_end(), {"b": lambda p: smaller(p, back=1.0, face=2.5)}))
    assert finding.amount is not None and finding.amount.value == pytest.approx(2.5)
    assert "2.5 mm proud on the face and 1 mm proud on the back" in finding.message
    assert finding.remedy == "Rip a to 36.5 mm thick: 2.5 mm off the face and 1 mm off the back."


def longer(mm: float, end: str = "end") -> Design:
    """The frame of through tenons with one tenon `mm` longer (shorter where negative)."""
    design = zoo.frame_through()

    def change(part: Part) -> Part:
        return zoo.refeatured(part, "tenon", lambda f: replace(f, solid=_stretched(f.solid, mm)), f"long_rail_01_{end}")

    return as_cut(design, {"long_rail_01": change})


def _stretched(solid: zoo.Any, mm: float) -> zoo.Any:
    return solid.joined(solid.moved(move(x=mm))) if mm > 0 else solid.kept(solid.moved(move(x=mm)))


def test_a_through_tenon_too_long_or_too_short() -> None:
    long, short = only(longer(1.3)), only(longer(-0.7))
    assert long.amount is not None and short.amount is not None
    assert (long.amount.value, short.amount.value) == (pytest.approx(1.3), pytest.approx(0.7))
    assert long.message.startswith("The tenon of long_rail_01 stands 1.3 mm proud of the back of post_2a")
    assert "Pare" in long.remedy
    assert short.message.startswith("The tenon of long_rail_01 ends 0.7 mm below the back of post_2a")
    assert long.parts[0] == short.parts[0] == "long_rail_01"


@settings(max_examples=20, deadline=None)
@given(st.integers(6, 200).map(lambda n: n / 100.0), st.sampled_from(["x", "y"]))
def test_faces_out_of_one_plane_by_an_angle(degrees: float, about: str) -> None:
    """The second board leans about the seam of its faces, or of its edges."""
    design = end_to_end()
    axis = {"x": X, "y": Y}[about]
    joints = tuple(replace(j, seat_b=j.seat_b @ turn(axis, math.radians(degrees))) if j.name == "j" else j
                   for j in design.joints if j.of is None)
    plain = replace(design, joints=tuple(j for j in design.joints if j.of is None), parts=design.parts[:2])
    bent = replace(plain, joints=joints, drawn=plain)
    assembly = place(bent)
    angles = [math.degrees(s.angle) for s in steps(assembly)]
    assert max(angles) == pytest.approx(degrees, abs=1e-3)
    assert proud(assembly, bent.shop)


def test_angles_below_the_limit_are_not_told() -> None:
    design = end_to_end()
    joints = tuple(replace(j, seat_b=j.seat_b @ turn(X, math.radians(0.03))) for j in design.joints if j.of is None)
    plain = replace(design, joints=tuple(j for j in design.joints if j.of is None), parts=design.parts[:2])
    assert found(replace(plain, joints=joints, drawn=plain)) == []


# -- the drawing ---------------------------------------------------------------------------------


def stepped(mm: float, flush: Sequence[Flush] = ()) -> Design:
    """Two boards end to end, the second `mm` higher in the drawing."""
    a, b = board(PLANK, 500.0), board(PLANK, 400.0)
    design = pair("loose tenon", a, b, a.place("end"), facing(b.place("start")) @ move(y=mm))
    return replace(design, flush=tuple(flush))


FACES = Flush("a", "face", "b", "face")


@pytest.mark.parametrize("mm", [0.06, 0.8, 1.5])
def test_nearly_flush_in_the_drawing_is_a_note(mm: float) -> None:
    findings = found(stepped(mm))
    assert findings and {f.severity for f in findings} == {"note"}
    assert all(f.amount is not None and f.amount.value == pytest.approx(mm, abs=1e-4) for f in findings)


@pytest.mark.parametrize("mm", [0.0, 0.04, 1.6, 12.0])
def test_flush_or_plainly_not_is_no_note(mm: float) -> None:
    assert found(stepped(mm)) == []


@pytest.mark.parametrize("mm", [0.06, 0.8, 6.0])
def test_declared_flush_but_drawn_otherwise(mm: float) -> None:
    findings = [f for f in found(stepped(mm, [FACES])) if f.severity == "warn"]
    assert len(findings) == 1 and findings[0].amount is not None
    assert findings[0].amount.value == pytest.approx(mm, abs=1e-4) and "declared flush" in findings[0].message


def test_declared_flush_and_so() -> None:
    assert found(stepped(0.0, [FACES])) == []


def test_declared_flush_but_square_to_each_other() -> None:
    finding = only(stepped(0.0, [Flush("a", "face", "b", "edge")]))
    assert finding.amount is not None and (finding.amount.value, finding.amount.unit) == (90.0, "deg")


def test_declared_flush_and_cut_off_it() -> None:
    """Declared faces are compared where they come nearest, however far apart they are."""
    design = zoo.frame()
    declared = replace(design, flush=(Flush("post_1a", "edge", "post_2a", "edge"),))
    assert found(declared) == []
    finding = only(as_cut(declared, {"post_2a": lambda p: smaller(p, edge=0.6)}))
    assert finding.amount is not None and finding.amount.value == pytest.approx(0.6, abs=1e-4)
    assert set(finding.parts) == {"post_1a", "post_2a"}


# -- feet ----------------------------------------------------------------------------------------


LEGS = ("post_1a", "post_2a", "post_1b", "post_2b")


@settings(max_examples=40, deadline=None)
@given(st.integers(100, 10_000).map(lambda n: n / 1000.0), st.sampled_from(LEGS), st.booleans())
def test_a_foot_cut_off_its_length_is_found_by_as_much(mm: float, leg: str, short: bool) -> None:
    finding = only(as_cut(zoo.frame(), {leg: lambda p: smaller(p, start=mm if short else -mm)}))
    assert finding.parts == (leg,) and finding.amount is not None
    assert (finding.amount.value, finding.amount.unit) == (pytest.approx(mm, abs=2e-4), "mm")
    assert ("short of" if short else "below") in finding.message
    if not short:
        assert f"Shorten {leg} by" in finding.remedy and "to 700 mm long" in finding.remedy


def test_two_short_feet_are_each_told() -> None:
    cut = {"post_1a": lambda p: smaller(p, start=2.0), "post_3c": lambda p: smaller(p, start=3.0)}
    design = as_cut(zoo.grid(), cut)
    assert {f.parts: f.amount and f.amount.value for f in found(design)} == {
        ("post_1a",): pytest.approx(2.0), ("post_3c",): pytest.approx(3.0)}


def on_legs(degrees: float, lean: float = 0.0, *, short: float = 0.0, askew: float = 0.0) -> Design:
    """A top on four legs that lean outward by an angle, their feet cut `degrees` from square, one shorter and askew."""
    draft = Draft("stand")
    draft.add("top", board(milled("top", 60.0, 400.0), 800.0), frame_of((0, 0, 500.0), (0, 0, 1), (1, 0, 0)))
    for k, (x, way) in enumerate(((150.0, -1.0), (150.0, -1.0), (650.0, 1.0), (650.0, 1.0))):
        one = k == 0
        leg = mitred_board(milled("leg", 50.0, 70.0), 450.0 - (short if one else 0.0), math.radians(lean * way),
                           math.radians(-degrees * way + (askew if one else 0.0)))
        y = 120.0 if k % 2 else -120.0
        seat = frame_of((x, y, 470.0), (0, 0, 1), (1, 0, 0))
        draft.add(f"leg_{k}", leg, group="leg")
        draft.join(f"foot_{k}", "glued face", f"leg_{k}", "top", leg.place("start"),
                   np.linalg.inv(draft.layout["top"]) @ seat)
    draft.base = "top"
    return draft.finish()


def test_upright_legs_cut_square_stand() -> None:
    assert found(on_legs(0.0)) == []
    assert len((stance(place(on_legs(0.0))) or pytest.fail()).feet) == 4


def test_leaning_legs_cut_level_stand() -> None:
    assert found(on_legs(12.0, 12.0)) == []


def test_leaning_legs_cut_square_stand_on_their_edges() -> None:
    finding = only(on_legs(0.0, 12.0))
    assert set(finding.parts) == {"leg_0", "leg_1", "leg_2", "leg_3"} and finding.amount is not None
    assert (finding.amount.value, finding.amount.unit) == (pytest.approx(12.0, abs=1e-3), "deg")
    assert "12.00 degrees from square" in finding.remedy


@pytest.mark.parametrize("mm", [0.2, 3.0, 9.0])
def test_a_leg_drawn_short(mm: float) -> None:
    finding = only(on_legs(0.0, short=mm))
    assert finding.parts == ("leg_0",) and finding.amount is not None
    assert finding.amount.value == pytest.approx(mm, abs=1e-3)


@pytest.mark.parametrize("degrees", [0.06, 1.0, 5.0])
def test_a_foot_drawn_askew(degrees: float) -> None:
    finding = only(on_legs(0.0, askew=degrees))
    assert finding.parts == ("leg_0",) and finding.amount is not None
    assert (finding.amount.value, finding.amount.unit) == (pytest.approx(degrees, abs=1e-3), "deg")


@pytest.mark.parametrize("name", ["ring", "ring_straight", "ring_triangle", "ring_loose"])
def test_a_ring_on_the_ground_has_no_feet(name: str) -> None:
    assert stance(place(SOUND[name]())) is None


def test_spacers_are_no_feet() -> None:
    feet = stance(place(zoo.gateway()))
    assert feet is not None
    assert {f.part for f in feet.feet} == {f"{s}_leg_{e}" for s in ("far", "near") for e in ("left", "right")}


@settings(max_examples=25, deadline=None)
@given(rigid_frames(), st.sampled_from(["frame", "bench", "gateway_small", "ring_on_posts", "fence", "ring_triangle"]))
def test_sound_work_lying_anyhow_is_not_said_to_stand_badly(frame: np.ndarray, name: str) -> None:
    standing = stance(place(SOUND[name]()).moved(frame))
    assert standing is None or standing.off == ()


@settings(max_examples=20, deadline=None)
@given(st.integers(-180, 180), lengths(0.1, 9.0), st.booleans())
def test_a_short_foot_is_short_wherever_the_work_stands(degrees: float, mm: float, mirror: bool) -> None:
    frame = move(700.0, -300.0, 50.0) @ turn(Z, math.radians(degrees))
    design = as_cut(zoo.frame(), {"post_2b": lambda p: smaller(p, start=mm)})
    assert design.drawn is not None
    there = replace(design, base_frame=snapped(frame @ design.base_frame),
                    drawn=replace(design.drawn, base_frame=snapped(frame @ design.base_frame)))
    finding = only(there.in_the_mirror() if mirror else there)
    assert finding.parts == ("post_2b",) and finding.amount is not None
    assert finding.amount.value == pytest.approx(mm, abs=2e-4)


def test_three_feet_stand_whatever_their_length_and_lean() -> None:
    """A stool on three legs never rocks: a short leg is told by the level of the other two."""
    draft = Draft("stool")
    for k, (x, y) in enumerate(((0.0, 0.0), (400.0, 0.0), (200.0, 350.0))):
        draft.add(f"leg_{k}", board(milled("leg", 50.0, 50.0), 400.0), upright(x, y), group="leg")
    draft.add("seat", board(milled("seat", 30.0, 500.0), 600.0), frame_of((-100.0, 150.0, 415.0), (0, 0, 1), (1, 0, 0)))
    for k in range(3):
        at = draft.layout[f"leg_{k}"][:3, 3] + (0, 0, 400.0)
        draft.join_at(f"top_{k}", "glued face", f"leg_{k}", "seat", frame_of(at, (0, 0, 1), (1, 0, 0)))
    draft.base = "seat"
    design = draft.finish()
    assert found(design) == []
    finding = only(as_cut(design, {"leg_1": lambda p: smaller(p, start=4.0)}))
    assert finding.parts == ("leg_1",) and "leans by" in finding.message


def test_feet_where_a_joint_stays_open_are_left_to_it() -> None:
    assembly = place(zoo.rail_short())
    assert assembly.open_loops
    drawn = replace(assembly.design, drawn=zoo.frame())
    assert stance(replace_design(assembly, drawn)) is None


def replace_design(assembly: Assembly, design: Design) -> Assembly:
    return Assembly(design, assembly.frames, assembly.open_loops, assembly.loose)
