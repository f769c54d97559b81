"""What is left around every pocket: hand values, each kind of wall, each step, and what never changes the answer."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from assembly.checks.exposed_joint import exposed_joint
from assembly.checks.thin_wall import LIMITS, thin_wall
from assembly.findings import Finding
from assembly.placing import place
from assembly.walls import Wall, left_around
from assembly.walls_nearest import from_sheet, nearest, sheet
from model.as_cut import CutAsCut, PartAsCut
from model.design import Design, Shop, StageSpec
from model.draft import Draft
from model.frames import Frame, frame_of, move, turn
from model.part import Feature, Part
from model.recut import recut
from model.shapes.board import board
from model.shapes.curved_band import curved_band
from model.solids import SAGITTA, Solid, box, hull
from tests import zoo
from tests.joined import boards, facing, pair, usual
from tests.published.test_mortise_cover import two_segments
from tests.strategies import POST, RAIL, lengths, rigid_frames, row_of_posts, tenoned_pair, upright

SHOP = Shop()


def thin(design: Design) -> list[Finding]:
    return thin_wall(place(design), SHOP)


def exposed(design: Design) -> list[Finding]:
    return exposed_joint(place(design), SHOP)


def walls(design: Design, part: str, *kinds: str) -> dict[tuple[str, ...], float]:
    """The walls of a part, mm, by kind, joints and stage."""
    left = left_around(design, design.part[part])
    return {(w.kind, *joints(left.pockets, w), left.stages[w.step]): w.left for w in left.walls
            if not kinds or w.kind in kinds}


def joints(pockets: tuple[Feature, ...], wall: Wall) -> list[str]:
    return [str(pockets[k].joint) for k in (wall.pocket, wall.other) if k is not None]


def sized(fit: float = 0.1, **sizes: float) -> Design:
    """A post of 90 mm and a rail of 40 by 90 mm with one tenon 40 by 12 by 30 mm, its width along the post.

    In the post's frame the mortise goes in at the edge, along -y; z runs across it.
    """
    draft = Draft("sized")
    draft.add("post", board(POST, 800.0), upright(0.0, 0.0))
    draft.add("rail", board(RAIL, 500.0), frame_of((45.0, 0.0, 400.0), (0, 1, 0), (1, 0, 0)))
    seat = frame_of((45.0, 0.0, 400.0), (-1, 0, 0), (0, 0, 1))
    draft.join_at("tie", "blind tenon", "rail", "post", seat, fit=fit,
                  sizes={"thickness": 12.0, "width": 40.0, "depth": 30.0} | sizes)
    return draft.finish()


def moved(design: Design, part: str, by: Frame, role: str = "mortise", joint: str | None = None) -> Design:
    """The design with the pockets of a part moved in its own frame."""
    return zoo.changed(design, part, lambda p: zoo.refeatured(
        p, role, lambda f: replace(f, solid=f.solid.moved(by), frame=by @ f.frame), joint))


def deeper(design: Design, part: str, by: Frame) -> Design:
    """The design with the mortises of a part cut on to where moving them would take their bottoms."""
    return zoo.changed(design, part, lambda p: zoo.refeatured(
        p, "mortise", lambda f: replace(f, solid=f.solid.joined(f.solid.moved(by)))))


# -- nearest points -------------------------------------------------------------------------------


@st.composite
def lumps(draw: st.DrawFn, at: float) -> Solid:
    corners = draw(st.lists(st.tuples(*(st.integers(-100, 100),) * 3), min_size=6, max_size=12, unique=True))
    cloud = np.array(corners, dtype=np.float64) / 10.0
    assume(np.linalg.matrix_rank(cloud - cloud[0], tol=0.5) == 3)
    return hull(cloud + np.array([at, 0.0, 0.0]))


@settings(max_examples=60, deadline=None)
@given(lumps(0.0), lumps(25.0))
def test_nearest_points_of_two_lumps_as_another_library_has_them(one: Solid, other: Solid) -> None:
    """Outside check: manifold3d's own least distance between solids."""
    found = nearest(sheet(*one.mesh), sheet(*other.mesh))
    assert found is not None
    assert found.distance == pytest.approx(one.manifold.min_gap(other.manifold, 100.0), abs=1e-6)
    assert np.linalg.norm(found.on_a - found.on_b) == pytest.approx(found.distance, abs=1e-9)


def test_nearest_points_of_edges_that_cross_askew() -> None:
    one = sheet(*box((0, 0, 0), (10, 10, 10)).mesh)
    roof = hull([(x, y, z) for x, y in ((-20, 5), (30, 5)) for z in (13.0,)] +
                [(x, y, 20.0) for x in (-20, 30) for y in (0, 10)])
    other = sheet(*roof.mesh)
    found = nearest(one, other)
    assert found is not None and found.distance == pytest.approx(3.0)
    ridge = sheet(*box((0, 0, 0), (10, 10, 10)).moved(move(12, 12, -20) @ turn((0, 1, 0), 0.0)).mesh)
    found = nearest(one, ridge)
    assert found is not None and found.distance == pytest.approx(math.sqrt(8 + 100))


def test_points_from_a_sheet() -> None:
    cube = sheet(*box((0, 0, 0), (10, 10, 10)).mesh)
    distance, rows = from_sheet(np.array([(5.0, 5.0, 13.0), (13.0, 14.0, 10.0)]), cube)
    assert distance == pytest.approx([3.0, 5.0])
    assert rows.shape == (2,)


# -- hand values ----------------------------------------------------------------------------------


def test_a_blind_mortise_in_the_middle_of_a_post() -> None:
    """Beside it 45 - 6 - 0.1, under it 90 - 30 - 2."""
    assert walls(sized(), "post") == pytest.approx({("wall", "tie", ""): 38.9, ("floor", "tie", ""): 58.0}, abs=1e-6)


def test_the_wall_of_a_mortise_by_the_end_of_a_post() -> None:
    by_end = moved(sized(), "post", move(x=375.0))
    assert walls(by_end, "post", "wall") == pytest.approx({("wall", "tie", ""): 800 - 775 - 20.1}, abs=1e-6)
    (found,) = thin(by_end)
    assert (found.kind, found.severity, found.parts, found.joints) == ("thin-wall", "warn", ("post",), ("tie",))
    assert found.amount is not None and found.amount.value == pytest.approx(4.9, abs=1e-3)
    assert "the end of post" in found.message and "1.1 mm" in found.remedy and not found.late


@pytest.mark.parametrize(("offset", "severity"), [(32.8, None), (33.0, "warn"), (36.8, "warn"), (37.0, "stop")])
def test_a_wall_is_warned_of_below_6_mm_and_refused_below_2(offset: float, severity: str | None) -> None:
    """45 - 6 - 0.1 - offset is left."""
    found = thin(moved(sized(), "post", move(z=offset)))
    assert [f.severity for f in found] == ([] if severity is None else [severity])
    for f in found:
        assert f.amount is not None and f.amount.value == pytest.approx(38.9 - offset, abs=1e-3)
        assert "the face of post" in f.message


@pytest.mark.parametrize(("more", "severity"), [(56.9, None), (57.2, "warn"), (57.6, "stop")])
def test_the_floor_under_a_mortise_is_no_wall_beside_it(more: float, severity: str | None) -> None:
    """90 - 32 - more is left under it: the joints themselves leave a millimetre."""
    found = thin(deeper(deeper(sized(), "post", move(y=-30.0)), "post", move(y=30.0 - more)))
    assert [f.severity for f in found] == ([] if severity is None else [severity])
    for f in found:
        assert f.amount is not None and f.amount.value == pytest.approx(58.0 - more, abs=1e-3)
        assert "under the mortise" in f.message and "shallower" in f.remedy


def test_two_mortises_from_opposite_sides_leave_what_is_between_their_bottoms() -> None:
    """90 - 2 (depth + 2)."""
    assert walls(row_of_posts([500.0, 500.0], [300.0], depth=40.0), "post_1", "between") == pytest.approx(
        {("between", "rail_0_0_end", "rail_1_0_start", ""): 6.0}, abs=1e-6)
    (found,) = thin(row_of_posts([500.0, 500.0], [300.0], depth=41.0))
    assert found.severity == "warn" and found.amount is not None and found.amount.value == pytest.approx(4.0)
    assert found.joints == ("rail_0_0_end", "rail_1_0_start")


def test_two_mortises_that_meet_inside_a_post_say_how_much_shallower_to_make_one() -> None:
    (found,) = thin(row_of_posts([500.0, 500.0], [300.0], depth=60.0))
    assert (found.severity, found.parts) == ("stop", ("post_1",))
    assert found.amount is not None and found.amount.value == 0.0
    assert "run 34 mm into each other" in found.message and "40 mm shallower" in found.remedy


def test_a_through_mortise_has_no_floor_and_may_come_out() -> None:
    design = usual("through tenon")
    assert {k[0] for k in walls(design, "b")} == {"wall"}
    assert exposed(design) == [] == thin(design)


def test_a_lap_leaves_a_floor_and_the_wood_to_the_end() -> None:
    """A lap for a board of 140 mm, 74 mm from the start: 74 - 70 - 0.1."""
    a, b = boards()
    by_end = pair("cross lap", a, b, a.place("face", 250.0) @ move(z=-20.0),
                  facing(b.place("face", 74.0), math.pi / 2) @ move(z=20.0))
    assert walls(by_end, "b") == pytest.approx({("rib", "j", ""): 3.9, ("floor", "j", ""): 20.0}, abs=1e-5)
    assert thin(by_end) == [] == exposed(by_end)
    (found,) = thin(moved(by_end, "b", move(x=-3.5), "lap"))
    assert found.severity == "warn" and "beside a lap" in found.message and found.amount is not None
    assert found.amount.value == pytest.approx(0.4, abs=1e-3)


def test_a_bridle_is_held_to_what_its_joint_leaves() -> None:
    """Thirds of 12 mm are 4 mm: its own proportion, and no wall beside a mortise."""
    a, b = boards(thickness=12.0)
    bridle = pair("bridle", a, b, a.place("end"), facing(b.place("edge", 450.0)))
    assert walls(bridle, "b", "core")[("core", "j", "j", "")] == pytest.approx(4.0)
    assert thin(bridle) == [] == exposed(bridle)


@pytest.mark.parametrize("kind", ["half lap", "cross lap", "housing", "glued face", "loose tenon", "blind tenon"])
def test_usual_joints_are_silent(kind: str) -> None:
    assert thin(usual(kind)) == [] == exposed(usual(kind))
    snug = usual(kind, fit=0.0)
    assert thin(snug) == [] == exposed(snug)


@pytest.mark.parametrize(("where", "along", "floor"), [
    ("outer", 0.0, 58.0), ("outer", 60.0, 58.0), ("inner", 30.0, 500.0 - math.hypot(442.0, 20.1)), ("face", 0.0, 18.0)])
def test_mouths_in_curved_faces(where: str, along: float, floor: float) -> None:
    """A band from 420 to 500 mm, 40 mm thick; a mortise 40.2 by 12.2, 22 mm deep; round faces go on at its mouth."""
    band = curved_band(zoo.milled("band", 40.0, 200.0), 500.0, 420.0, 0.7)
    rail = boards()[0]
    design = pair("blind tenon", rail, band, rail.place("end"), facing(band.place(where, along)),
                  sizes={"thickness": 12.0, "width": 40.0, "depth": 20.0})
    beside = 500.0 - math.hypot(466.1, 20.1) if where == "face" else 20.0 - 6.1
    assert walls(design, "b") == pytest.approx({("wall", "j", ""): beside, ("floor", "j", ""): floor}, abs=2 * SAGITTA)
    assert thin(design) == [] == exposed(design)


def test_a_leaning_mouth_is_no_wall() -> None:
    """A mortise at 45 degrees to the face it goes into: the wedge of wood beside its mouth is the mouth."""
    slanted = moved(sized(), "post", turn_about(np.array([400.0, 45.0, 0.0]), (0, 0, 1), math.pi / 4))
    assert thin(slanted) == [] == exposed(slanted)
    assert walls(slanted, "post", "wall") == pytest.approx({("wall", "tie", ""): 38.9}, abs=1e-6)


def turn_about(at: np.ndarray, axis: tuple[float, float, float], angle: float) -> Frame:
    frame: Frame = move(*at) @ turn(axis, angle) @ move(*-at)
    return frame


# -- coming out -----------------------------------------------------------------------------------


@pytest.mark.parametrize("out", [0.03, 0.5, 3.0, 11.0])
def test_a_mortise_off_its_place_comes_out_through_the_side(out: float) -> None:
    design = moved(sized(), "post", move(z=38.9 + out))
    (found,) = exposed(design)
    assert (found.kind, found.severity, found.parts, found.joints) == ("exposed-joint", "stop", ("post",), ("tie",))
    assert found.amount is not None and found.amount.value == pytest.approx(out, abs=1e-3)
    assert "through the face of post" in found.message and not found.late
    assert thin(design) == []


def test_a_side_flush_with_the_face_leaves_no_wall() -> None:
    (found,) = thin(moved(sized(fit=0.0), "post", move(z=39.0)))
    assert found.severity == "stop" and found.amount is not None and found.amount.value == 0.0


@pytest.mark.parametrize("out", [0.05, 4.0])
def test_a_blind_mortise_too_deep_comes_out_behind(out: float) -> None:
    (found,) = exposed(deeper(deeper(sized(), "post", move(y=-30.0)), "post", move(y=-28.0 - out)))
    assert found.amount is not None and found.amount.value == pytest.approx(out, abs=1e-3)
    assert "through the far edge of post" in found.message and "shallower" in found.remedy


def test_a_mortise_over_an_arris_comes_out_by_its_farthest_corner() -> None:
    (found,) = exposed(moved(sized(), "post", move(x=382.0, z=41.0)))
    assert found.amount is not None and found.amount.value == pytest.approx(math.hypot(2.1, 2.1), abs=1e-3)


def as_cut(design: Design, part: str, by: Frame, role: str, joint: str | None = None) -> Design:
    return replace(moved(design, part, by, role, joint), drawn=design)


def test_a_lap_run_out_at_the_end_as_cut_is_exposed_where_the_drawing_had_wood() -> None:
    a, b = boards()
    drawn = pair("cross lap", a, b, a.place("face", 250.0) @ move(z=-20.0),
                 facing(b.place("face", 100.0), math.pi / 2) @ move(z=20.0))
    (found,) = exposed(as_cut(drawn, "b", move(x=-35.0), "lap"))
    assert found.amount is not None and found.amount.value == pytest.approx(35.0 - 29.9, abs=1e-3)
    assert "the start of b" in found.message
    assert exposed(as_cut(drawn, "b", move(x=-20.0), "lap")) == []
    assert exposed(as_cut(drawn, "b", move(y=3.0), "lap")) == [], "it runs out there in the drawing too"


def test_a_housing_stopped_in_the_drawing_must_not_show_as_cut() -> None:
    a, b = boards(width=100.0, other=140.0)
    drawn = pair("housing", a, b, a.place("end"), facing(b.place("face", 450.0), math.pi / 2) @ move(z=13.0))
    assert walls(drawn, "b", "rib")[("rib", "j", "")] == pytest.approx(19.9)
    (found,) = exposed(as_cut(drawn, "b", move(y=21.0), "housing"))
    assert found.amount is not None and found.amount.value == pytest.approx(1.1, abs=1e-3)


MEASURED: dict[str, tuple[PartAsCut, str, float]] = {
    "planed thin": (PartAsCut("post", thickness=55.0), "thin-wall", 3.9),
    "sawn short": (PartAsCut("post", length=425.0), "thin-wall", 4.9),
    "ripped to the bottom of the mortise": (PartAsCut("post", width=31.0), "exposed-joint", 1.0),
    "mortise too wide": (PartAsCut("post", cuts=(CutAsCut("tie", thickness=80.0),)), "thin-wall", 5.0),
    "mortise off across": (PartAsCut("post", cuts=(CutAsCut("tie", across=36.0),)), "thin-wall", 2.9),
    "mortise off along": (PartAsCut("post", cuts=(CutAsCut("tie", along=376.0),)), "thin-wall", 3.9),
    "mortise too deep": (PartAsCut("post", cuts=(CutAsCut("tie", depth=89.25),)), "thin-wall", 0.75),
    "mortise through": (PartAsCut("post", cuts=(CutAsCut("tie", depth=93.0),)), "exposed-joint", 3.0),
}
"""What was measured on the post of `sized`, what it must bring, and how much (mm, by hand)."""


@pytest.mark.parametrize("name", MEASURED)
def test_what_was_measured_moves_the_walls(name: str) -> None:
    record, kind, amount = MEASURED[name]
    design = recut(sized(), [record])
    (found,) = (*thin(design), *exposed(design))
    assert (found.kind, found.parts) == (kind, ("post",))
    assert found.amount is not None and found.amount.value == pytest.approx(amount, abs=1e-3)


@pytest.mark.parametrize("record", [
    PartAsCut("post_2a", mirrored=True), PartAsCut("post_2a", turned="end for end"),
    PartAsCut("post_2a", exchanged_with="post_2b"), PartAsCut("slat_01", mirrored=True),
    PartAsCut("slat_01", turned="rolled over"), PartAsCut("slat_01", exchanged_with="long_rail_01")])
def test_wood_the_wrong_way_round_keeps_its_walls(record: PartAsCut) -> None:
    """A mouth is a mouth wherever it looks: what is wrong with such wood is for other checks."""
    design = recut(zoo.bench(), [record])
    assert thin(design) == [] == exposed(design)
    as_it_was = sorted(round(w.left, 6) for n in zoo.bench().parts for w in left_around(zoo.bench(), n).walls)
    assert sorted(round(w.left, 6) for n in design.parts for w in left_around(design, n).walls) == as_it_was


# -- step by step ---------------------------------------------------------------------------------


def rail_by_the_joint(at: float, *, after: str | None = None) -> Design:
    """Two segments with a loose tenon and a mortise 30 by 20 mm in the first one's face, `at` mm from its end."""
    design = two_segments(50.0, 60.0)
    one = design.part["one"]
    middle = one.blank.places["face"] @ move(x=one.blank.length - at)
    cutter = box((-15.0, -10.0, -30.0), (15.0, 10.0, 5.0)).moved(middle)
    rail = Part("rail", board(zoo.milled("rail", 20.0, 30.0), 300.0))
    seat = facing(middle)
    mortise = Feature("mortise of rung", "cut", cutter, "mortise", "rung", after, seat)
    rung = replace(design.joints[0], name="rung", kind="blind tenon", a="rail", b="one", seat_a=rail.blank.place("end"),
                   seat_b=seat, of=None)
    glue_up = StageSpec("glue up", tuple(j.name for j in design.joints))
    one = replace(one, features=(*one.features, mortise))
    return replace(design, parts=(one, *(p for p in design.parts if p.name != "one"), rail),
                   joints=(*design.joints, rung), stages=(glue_up, StageSpec("rungs", ("rung",), ("glue up",))))


def test_a_rail_mortise_beside_a_loose_tenon() -> None:
    """The loose tenon's mortise is 60 mm deep, square to an end 10 degrees off square, 50 mm high; the rail's is 30 mm
    deep and reaches the middle of it. Its nearer corner, 10 mm off the middle, lies (at - 15) cos 10 - 10 sin 10 from
    the end's plane."""
    wood = (80.0 - 15.0) * math.cos(math.radians(10)) - 10.0 * math.sin(math.radians(10)) - 60.0
    assert 2.0 < wood < 6.0
    (found,) = thin(rail_by_the_joint(80.0))
    assert found.severity == "warn" and set(found.joints) == {"tie", "rung"} and not found.late
    assert found.amount is not None and found.amount.value == pytest.approx(wood, abs=1e-3)


def test_a_rail_mortise_that_would_be_cut_into_a_glued_loose_tenon_is_told_late() -> None:
    (found,) = thin(rail_by_the_joint(60.0, after="glue up"))
    assert (found.severity, found.stage, found.late) == ("stop", "glue up", True)
    assert "would be cut into what is glued" in found.message
    (found,) = thin(rail_by_the_joint(60.0))
    assert (found.severity, found.stage, found.late) == ("stop", "", False)


def test_a_rail_mortise_across_the_joint_comes_out_at_the_end() -> None:
    found = exposed(rail_by_the_joint(10.0))
    assert [f.joints for f in found] == [("rung",)] and "the end of one" in found[0].message


def test_a_wall_thin_by_a_later_cut_says_so_and_what_there_was_before() -> None:
    """The blank is 300 mm wide: 150 - 25 cos 10 - 60 sin 10 = 114.96 mm over the corner that the curve bares."""
    design = two_segments(50.0, 60.0, 980.0)
    found = thin(design)
    assert [f.parts for f in found] == [("one",), ("two",)]
    for f in found:
        assert f.late and f.stage == "glue up"
        assert "3.2 mm of the 115 mm of wood" in f.message and "once its curve is sawn after glue up" in f.message
    assert {k[0]: round(v, 2) for k, v in walls(design, "one").items()}["wall"] == 22.5, "60 mm thick, 15 mm mortise"


# -- laws -----------------------------------------------------------------------------------------


@settings(max_examples=25, deadline=None)
@given(lengths(0.0, 34.0), st.sampled_from(["z", "-z", "x"]))
def test_a_pocket_moved_towards_a_face_leaves_as_much_less(by: float, way: str) -> None:
    if way == "x":
        start = moved(sized(), "post", move(x=344.0))
        first, then = (walls(d, "post", "wall")[("wall", "tie", "")]
                       for d in (start, moved(start, "post", move(x=by))))
        assert first == pytest.approx(35.9) and then == pytest.approx(35.9 - by, abs=1e-6)
    else:
        sign = 1.0 if way == "z" else -1.0
        then = walls(moved(sized(), "post", move(z=sign * by)), "post", "wall")[("wall", "tie", "")]
        assert then == pytest.approx(38.9 - by, abs=1e-6)


MOVABLE: dict[str, Callable[[], Design]] = {
    "thin side": lambda: moved(sized(), "post", move(z=35.0)),
    "thin end": lambda: moved(sized(), "post", move(x=377.0)),
    "out": lambda: moved(sized(), "post", move(z=41.0)),
    "meeting": lambda: row_of_posts([500.0, 500.0], [300.0], depth=60.0),
    "cover": lambda: two_segments(50.0, 60.0, 980.0),
    "laid open": lambda: two_segments(50.0, 60.0, 972.0),
}


def verdicts(design: Design, frame: Frame | None = None) -> list[tuple[object, ...]]:
    here = place(design) if frame is None else place(design).moved(frame)
    return sorted((f.kind, f.severity, f.parts, tuple(sorted(f.joints)), f.late, f.amount and round(f.amount.value, 2))
                  for one in (thin_wall, exposed_joint) for f in one(here, SHOP))


@pytest.mark.parametrize("name", MOVABLE)
def test_mirrored_moved_or_cut_in_another_order_the_findings_are_the_same(name: str) -> None:
    design = MOVABLE[name]()
    told = verdicts(design)
    assert told
    assert verdicts(design.in_the_mirror()) == told
    backwards = replace(design, parts=tuple(replace(p, features=p.features[::-1]) for p in design.parts[::-1]))
    assert verdicts(backwards) == told


@settings(max_examples=10, deadline=None)
@given(rigid_frames())
def test_wherever_the_work_stands_the_findings_stay_and_go_with_it(frame: Frame) -> None:
    design = MOVABLE["thin side"]()
    assert verdicts(design, frame) == verdicts(design)
    (here,), (there,) = thin_wall(place(design), SHOP), thin_wall(place(design).moved(frame), SHOP)
    assert here.where is not None
    assert there.where == pytest.approx(frame[:3, :3] @ here.where + frame[:3, 3], abs=1e-4)


@settings(max_examples=15, deadline=None)
@given(rigid_frames(500.0))
def test_a_part_drawn_in_another_frame_has_the_same_walls(frame: Frame) -> None:
    """Blank, pockets and places carried by one frame: nothing depends on the axes of the part."""
    design = MOVABLE["cover"]()
    part = design.part["one"]
    turned = replace(part, blank=replace(part.blank, solid=part.blank.solid.moved(frame)), features=tuple(
        replace(f, solid=f.solid.moved(frame), frame=frame @ f.frame) for f in part.features))
    one, other = (sorted((w.kind, round(w.left, 4)) for w in left_around(design, p).walls) for p in (part, turned))
    assert one == other


# -- sound ones, and words ------------------------------------------------------------------------


@pytest.mark.parametrize("name", zoo.SOUND)
def test_sound_designs_leave_enough_everywhere(name: str) -> None:
    design = zoo.SOUND[name]()
    assert thin(design) == [] == exposed(design)
    pocketed = [p for p in design.parts if any(f.role == "mortise" for f in p.features)]
    assert all(left_around(design, p).walls for p in pocketed), "every mortise was measured"


@pytest.mark.parametrize(("segments", "radius"), [(12, 200.0), (16, 300.0), (20, 350.0)])
def test_loose_tenons_from_both_ends_of_a_short_segment_keep_a_wall(segments: int, radius: float) -> None:
    """They lean towards each other, so their inner corners are nearest: 8 mm there, less a sliver of the fit."""
    design = zoo.made("closed ring", "tight", segments=segments, radius=radius, segment_joint="loose tenon")
    (between,) = walls(design, "segment_1", "between").values()
    assert between == pytest.approx(8.0, abs=0.1)


def test_findings_say_what_where_how_much_and_what_to_do() -> None:
    for make in MOVABLE.values():
        design = make()
        for f in (*thin(design), *exposed(design)):
            assert all(n in f.message for n in (*f.parts, *f.joints))
            assert f.where is not None and f.amount is not None and f.amount.unit == "mm"
            assert re_figures(f.message) and re_figures(f.remedy) and f.message.endswith(".") and f.remedy.endswith(".")


def re_figures(text: str) -> bool:
    return any(ch.isdigit() for ch in text) and " mm" in text


def test_inches_are_told_where_the_file_is_in_inches() -> None:
    (found,) = thin(replace(MOVABLE["thin side"](), unit="in"))
    assert "0.154 in" in found.message and " mm" not in found.message + found.remedy


def test_every_limit_stops_below_where_it_warns() -> None:
    assert all(0 <= limit.stop < limit.warn for limit in LIMITS.values())


def test_a_part_without_pockets_has_nothing_around_them() -> None:
    design = tenoned_pair()
    assert left_around(design, design.part["rail"]).walls == ()
