"""Close-ups of each kind of finding: a way of their own to be shown, at a size at which what is wrong is seen."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
import pytest

from assembly.findings import Amount, Finding
from assembly.placing import place
from assembly.rehearsal import Rehearsal, rehearse
from exports.pictures import can_draw
from exports.pictures.camera import HEIGHT, WIDTH, facing
from exports.pictures.chosen import EVERYWHERE, chosen, picture_name
from exports.pictures.closeups import at_most, draw_closeup, key_picture
from exports.pictures.flush import step_at
from exports.pictures.gauge import gauge
from exports.pictures.marks import draw_marks
from exports.pictures.moment import moment
from exports.pictures.overlays import fibres
from exports.pictures.paint import paint
from exports.pictures.pairs import turned, unlike
from exports.pictures.pencilling import rows
from exports.pictures.play import play_at
from exports.pictures.probe import REMEDY, quiet_surroundings
from exports.pictures.scene import Canvas, Piece
from exports.pictures.sections import cutting_plane, in_wood
from exports.pictures.shots import LEAST_STEP, MOST_WALL, foot, place_of, step, wall
from exports.pictures.walls import wall_at
from model.as_cut import CutAsCut, PartAsCut
from model.design import Design
from model.draft import Draft
from model.frames import Frame, about, identity, inverse, move, points
from model.part import Part
from model.recut import recut
from model.recut.wood import HALF
from model.shapes.board import board
from model.solids import box
from tests.rehearsed import by_hand
from tests.zoo import MISTAKES, STOCK, bench, changed, frame, gateway_small, part_loose, trestle

drawing = pytest.mark.skipif(can_draw() is not None, reason=f"pictures cannot be drawn here: {REMEDY}")
FRONT = facing((0.5, 0.8, -0.36))


@pytest.fixture(scope="module")
def canvas() -> Iterator[Canvas]:
    quiet_surroundings()
    with Canvas() as one:
        yield one


def carried(part: Part, frame: Frame) -> Part:
    """Return the part with its whole wood carried by a frame of its own."""
    features = tuple(replace(f, solid=f.solid.moved(frame), frame=frame @ f.frame) for f in part.features)
    return replace(part, blank=replace(part.blank, solid=part.blank.solid.moved(frame)), features=features)


def as_cut(design: Design, name: str, frame: Frame, **noted: object) -> Design:
    cut = changed(design, name, lambda p: carried(p, frame))
    return replace(cut, drawn=design, measured=(PartAsCut(name, **noted),))  # type: ignore[arg-type]


def rolled_over() -> Design:
    """The small gateway, one leg rolled over."""
    middle = gateway_small().part["far_leg_left"].blank.solid.bounds.mean(axis=0)
    return as_cut(gateway_small(), "far_leg_left", about(middle, HALF["rolled over"]), turned="rolled over")


def mirrored() -> Design:
    """The small gateway, one leg made as its own mirror image."""
    middle = gateway_small().part["far_leg_left"].blank.solid.bounds.mean(axis=0)
    over = move(*middle) @ np.diag([1.0, 1.0, -1.0, 1.0]) @ move(*-middle)
    return as_cut(gateway_small(), "far_leg_left", over, mirrored=True)


def exchanged() -> Design:
    """The bench, the wood of two of its posts exchanged."""
    design = bench()
    one, other = design.part["post_1a"], design.part["post_2a"]
    wood = {"post_1a": other, "post_2a": one}
    parts = tuple(replace(p, blank=replace(p.blank, solid=wood[p.name].blank.solid), features=wood[p.name].features)
                  if p.name in wood else p for p in design.parts)
    return replace(design, parts=parts, drawn=design, measured=(PartAsCut("post_1a", exchanged_with="post_2a"),
                                                                PartAsCut("post_2a", exchanged_with="post_1a")))


def aside(mm: float) -> Design:
    """The trestle, a mortise of one post cut so far to the side."""
    def moved(part: Part) -> Part:
        return replace(part, features=tuple(
            replace(f, solid=f.solid.moved(move(y=mm)), frame=move(y=mm) @ f.frame)
            if f.joint == "long_rail_01_start" else f for f in part.features))

    return replace(changed(trestle(), "post_1", moved), drawn=trestle())


def stepped(mm: float) -> Rehearsal:
    """Two boards side by side on one level, the second so much thinner at its top, and a finding about their seam."""
    draft = Draft("seat")
    draft.add("one", board(STOCK["ring"], 600.0), identity())
    made = draft.finish()
    other = board(STOCK["ring"], 600.0, thickness=38.0 - mm)
    design = replace(made, parts=(*made.parts, Part("two", other)))
    assembly = place(design)
    standing = replace(assembly, frames={**assembly.frames, "two": move(y=-90.0)}, loose=())
    top = float(standing.vertices("one")[:, 2].max())
    finding = Finding("proud", "warn", ("one", "two"), "A step.", "Plane it.", (300.0, -45.0, top), Amount(mm, "mm"))
    return replace(by_hand(made), design=design, assembly=standing, findings=(finding,))


def found(design: Design, kind: str) -> tuple[Rehearsal, Finding]:
    rehearsal = rehearse(design)
    return rehearsal, next(f for f in rehearsal.findings if f.kind == kind and f.severity != "note")


# -- which are drawn ------------------------------------------------------------------------------


@pytest.mark.parametrize("name", sorted(MISTAKES))
def test_everything_that_stops_or_warns_has_a_close_up(name: str) -> None:
    rehearsal = rehearse(MISTAKES[name][0]())
    grave = {n for n, f in enumerate(rehearsal.findings, 1) if f.severity != "note" and f.kind not in EVERYWHERE}
    assert grave and {n for n, _ in chosen(rehearsal.findings, rehearsal.assembly)[0]} == grave


@drawing
def test_what_is_lifted_held_pressed_or_carried_is_drawn_among_what_is_there(canvas: Canvas) -> None:
    rehearsal = rehearse(frame())
    stage = rehearsal.plan.stages[-1]
    joint = next(n for n in stage.joints)
    look, facing_it = paint(rehearsal.assembly), FRONT
    key = key_picture(rehearsal, canvas, look, facing_it)
    some = stage.parts[:1]
    for kind, parts in (("mass", some), ("hands", some), ("size", stage.parts), ("stance", some), ("clamps", ())):
        finding = Finding(kind, "warn", parts, "It is so.", "Do this.", None, Amount(3.0, ""), (joint,),  # type: ignore[arg-type]
                          stage=stage.name)
        ((number, told),), _ = chosen([finding], rehearsal.assembly)
        assert told.parts, "one that names joints alone is drawn with their parts"
        assert draw_closeup(number, told, rehearsal, canvas, key).size == (WIDTH, HEIGHT)


def test_pictures_sort_as_the_report_does() -> None:
    gap = Finding("gap", "stop", ("a",), "", "")
    assert sorted([picture_name(10, gap), picture_name(2, gap)]) == ["finding_02_gap", "finding_10_gap"]


# -- how they are shown ---------------------------------------------------------------------------


def test_a_turned_piece_is_shown_as_it_stands_and_as_it_should_with_its_turn() -> None:
    rehearsal, finding = found(rolled_over(), "backwards")
    shot = turned(finding, rehearsal)
    assert shot is not None
    legs = [p for p in shot.pieces if p.name == "far_leg_left"]
    drawn = gateway_small().part["far_leg_left"].finished
    assert len(legs) == 2 and legs[0].solid.key != legs[1].solid.key
    assert legs[1].solid.volume == pytest.approx(drawn.volume, rel=1e-9)
    np.testing.assert_allclose(legs[1].solid.bounds, drawn.bounds, atol=1e-6)
    assert [c.right for c in shot.captions] == [False, True]
    (arc,) = shot.strokes
    middle = legs[0].vertices.mean(axis=0)
    along = legs[0].frame[:3, 0]
    flat = [p - middle - along * float((p - middle) @ along) for p in arc.at]
    turns = np.degrees(np.arccos(np.clip(np.dot(flat[0], flat[-1]) / np.linalg.norm(flat[0]) / np.linalg.norm(flat[-1]),
                                         -1, 1)))
    assert turns > 120.0, "half a turn about the grain, as seen from the middle of the leg"
    assert {"rail_01", "far_arch_1"} <= {p.name for p in shot.pieces}, "what it is joined to stands round it"


def test_the_two_views_have_one_scale_and_do_not_meet() -> None:
    for design, kind in ((rolled_over(), "backwards"), (mirrored(), "handed"), (exchanged(), "look-alike")):
        rehearsal, finding = found(design, kind)
        shot = (turned if kind == "backwards" else unlike)(finding, rehearsal)
        assert shot is not None
        half = len(shot.pieces) // 2
        boxes = [np.vstack([shot.camera.project(p.vertices) for p in side])
                 for side in (shot.pieces[:half], shot.pieces[half:])]
        (low, high), (low_2, high_2) = ((b.min(axis=0), b.max(axis=0)) for b in boxes)
        assert (high < low_2).any() or (high_2 < low).any(), kind
        for corner in (low, low_2, WIDTH - high, WIDTH - high_2):
            assert corner[0] > 0
        assert max(high[1], high_2[1]) < HEIGHT - 100


def test_a_mirrored_piece_stands_beside_the_drawn_one_and_exchanged_ones_beside_each_other() -> None:
    rehearsal, finding = found(mirrored(), "handed")
    shot = unlike(finding, rehearsal)
    assert shot is not None and [c.right for c in shot.captions] == [False, True]
    assert len(shot.spots) == len(shot.fine) == 1, "the mortise that tells them apart, in both"
    rehearsal, finding = found(exchanged(), "look-alike")
    shot = unlike(finding, rehearsal)
    assert shot is not None and [p.name for p in shot.pieces] == ["post_1a", "post_2a"]
    assert len(shot.spots) == 2 and not shot.fine, "neither is wrong, they are in each other's place"
    whole = bench().part["post_1a"].finished.volume
    assert all(p.solid.volume < 0.9 * whole for p in shot.pieces), "they differ in a depth: cut open"


@pytest.mark.parametrize("mm", [0.3, 0.6, 4.0])
def test_a_step_is_measured_between_the_faces_and_cut_along_the_seam(mm: float) -> None:
    rehearsal = stepped(mm)
    finding = rehearsal.findings[0]
    held = moment(rehearsal, finding)
    at = step_at(finding, held, place_of(finding, held))
    assert at is not None and abs(at.high) == pytest.approx(mm / 2, abs=1e-6), "half of it at the top, half below"
    assert abs(float(at.normal @ [1.0, 0.0, 0.0])) == pytest.approx(1.0), "the seam runs along x"
    assert float(np.linalg.norm(at.gauge.high - at.gauge.low)) == pytest.approx(mm / 2, abs=1e-6)
    shot = step(finding, held)
    pixels = mm / 2 / shot.camera.mm_per_pixel
    assert pixels > 20.0 or shot.camera.mm_per_pixel == pytest.approx(2 * LEAST_STEP / (HEIGHT - 350.0))


@pytest.mark.parametrize(("mm", "kind"), [(27.0, "thin-wall"), (32.0, "exposed-joint")])
def test_a_wall_is_cut_open_with_its_thickness_across_the_picture(mm: float, kind: str) -> None:
    rehearsal, finding = found(aside(mm), kind)
    held = moment(rehearsal, finding)
    laid = wall_at(finding, held, place_of(finding, held))
    assert laid is not None and finding.amount is not None
    span = laid.gauge.high - laid.gauge.low
    assert float(np.linalg.norm(span)) == pytest.approx(finding.amount.value, abs=1e-3)
    assert abs(float(span @ laid.normal)) < 1e-9
    shot = wall(finding, held)
    assert shot.camera.mm_per_pixel <= 2 * MOST_WALL / (HEIGHT - 350.0)
    assert any(p.name == "" for p in shot.pieces), "the hollow is darker than the cut face"


def test_a_stage_named_by_a_finding_is_the_moment_it_is_shown_at() -> None:
    rehearsal = by_hand(frame())
    finding = Finding("gap", "stop", ("post_1a", "post_2a"), "", "", (0.0, 0.0, 0.0), stage="first two")
    assert moment(rehearsal, finding).names == rehearsal.plan.stages[0].parts
    assert moment(rehearsal, replace(finding, stage="")).done == frozenset({"*"})


@drawing
def test_fibres_run_along_the_grain_as_seen(canvas: Canvas) -> None:
    """A stick along x seen square on: its fibres run level, and the boxes they take are wide and low."""
    from exports.pictures.inking import inked
    from exports.pictures.sheet import Sheet
    from exports.pictures.shots import Shot, centred

    camera = centred(facing((0, 1, 0)), np.zeros(3), 300.0)
    stick = Piece("stick", box((-400, -20, -60), (400, 20, 60)), identity(), (200, 150, 100), (40, 30, 20))
    end = Piece("end", box((500, -20, -60), (560, 20, 60)), np.array(
        [[0.0, -1, 0, 470], [1, 0, 0, -530], [0, 0, 1, 150], [0, 0, 0, 1]]), (200, 150, 100), (40, 30, 20))
    view = canvas.look([stick, end], camera)
    shot = Shot([stick, end], camera, [], None, "", grain=("stick", "end"))
    taken = fibres(Sheet(inked(view)), view, shot)
    assert len(taken) == 4, "three lines on the stick; on the other, seen on its end, a dot"
    assert all(right - left > 100 and bottom - top < 5 for left, top, right, bottom in taken[:3])


@drawing
@pytest.mark.parametrize("made", [
    lambda: found(rolled_over(), "backwards"), lambda: found(mirrored(), "handed"),
    lambda: found(exchanged(), "look-alike"), lambda: found(aside(27.0), "thin-wall"),
    lambda: found(aside(32.0), "exposed-joint"), lambda: found(part_loose(), "unmatched"),
    lambda: (stepped(0.6), stepped(0.6).findings[0])],
    ids=["backwards", "handed", "look-alike", "thin-wall", "exposed-joint", "loose", "proud"])
def test_every_kind_is_drawn_and_is_not_blank(canvas: Canvas, made: Callable[[], tuple[Rehearsal, Finding]]) -> None:
    rehearsal, finding = made()
    key = key_picture(rehearsal, canvas, paint(rehearsal.assembly), FRONT)
    image = np.asarray(draw_closeup(1, finding, rehearsal, canvas, key).convert("L"), dtype=float)
    assert image.shape == (HEIGHT, WIDTH)
    assert image[300:850, 60:1200].std() > 10.0


# -- marks ----------------------------------------------------------------------------------------


def test_marks_are_gathered_by_part_mark_and_face() -> None:
    found = rows(place(gateway_small()))
    assert [(row.mark, len(row.parts), row.place, row.towards) for row in found] == [
        ("A", 6, "back", ""), ("Ca", 2, "back", ""), ("Cb", 2, "back", "")]
    assert all(len({n for _, names in row.outlooks for n in names}) == len(row.parts) for row in found)
    assert "looks away from you on far_leg_left, toward you on near_leg_right" in found[1].says
    assert rows(place(trestle())) == []


@drawing
def test_marks_are_drawn_on_the_pieces(canvas: Canvas) -> None:
    rehearsal = by_hand(gateway_small())
    found = rows(rehearsal.assembly)
    image = draw_marks(rehearsal, found, canvas, paint(rehearsal.assembly))
    grey = np.asarray(image.convert("L"), dtype=int)
    assert grey.shape == (HEIGHT, WIDTH)
    for k in range(len(found)):
        band = grey[200 + 220 * k:400 + 220 * k, 50:850]
        assert (band > 248).sum() > 150 and (band < 60).sum() > 300, "a dark cross with a light rim"


# -- what only as-cut work brings -------------------------------------------------------------------


def test_a_short_foot_is_seen_level_over_the_ground() -> None:
    """The leg leans 22.5 degrees: cut 3 mm short along itself, its foot hangs 3 cos 22.5 degrees above the ground."""
    whole = gateway_small().part["far_leg_left"].blank.length
    rehearsal, finding = found(recut(gateway_small(), [PartAsCut("far_leg_left", length=whole - 3.0)]), "proud")
    shot = foot(finding, moment(rehearsal, finding))
    assert shot.said == pytest.approx(3.0 * math.cos(math.radians(22.5)), abs=1e-6)
    assert abs(float(shot.camera.forward[2])) < 1e-9 and shot.pieces[-1].name == "the ground"
    assert shot.pieces[-1].vertices[:, 2].max() == pytest.approx(0.0, abs=1e-6), "the others stand on the ground"


def test_a_foot_cut_at_another_angle_stands_on_its_low_edge() -> None:
    askew = PartAsCut("far_leg_left", end_angle=-math.radians(21.0))
    rehearsal, finding = found(recut(gateway_small(), [askew]), "proud")
    shot = foot(finding, moment(rehearsal, finding))
    leg = next(p for p in shot.pieces if p.name == "far_leg_left")
    earth = shot.pieces[-1].vertices[:, 2].max()
    assert leg.vertices[:, 2].min() == pytest.approx(earth, abs=1e-6)
    assert shot.said is not None and f"{shot.said:.1f} mm up" in finding.message


def test_play_beside_a_tenon_is_cut_across_its_cheeks() -> None:
    """A tenon 28 mm thick in the mortise of one a third of 88.9 mm with 0.1 mm of fit: half the difference per side."""
    thin = PartAsCut("long_rail_01", cuts=(CutAsCut("long_rail_01_start", thickness=28.0),))
    rehearsal, finding = found(recut(trestle(), [thin]), "gap")
    held = moment(rehearsal, finding)
    beside = play_at(finding, held)
    assert beside is not None
    span = beside.gauge.high - beside.gauge.low
    assert float(np.linalg.norm(span)) == pytest.approx((88.9 / 3 + 0.2 - 28.0) / 2, abs=1e-6)
    assert abs(float(span @ beside.normal)) < 1e-9
    assert abs(float(beside.normal @ held.assembly.axis(rehearsal.design.joint["long_rail_01_start"]))) < 1e-9
    assert not in_wood(held.solid("long_rail_01"), points(inverse(held.frame("long_rail_01")), beside.gauge.spot))
    assert not in_wood(held.solid("post_1"), points(inverse(held.frame("post_1")), beside.gauge.spot))


def test_a_tenon_that_stands_out_is_cut_through_both() -> None:
    """At a corner of its end the seam turns: the cut must still pass through the tenon and the post."""
    joint = next(j.name for j in bench().joints if j.a == "long_rail_01")
    long = PartAsCut("long_rail_01", cuts=(CutAsCut(joint, depth=93.0),))
    rehearsal, finding = found(recut(bench(), [long]), "proud")
    held = moment(rehearsal, finding)
    at = step_at(finding, held, place_of(finding, held))
    assert at is not None and finding.amount is not None
    assert abs(at.high) == pytest.approx(finding.amount.value, abs=1e-3)
    out = (at.gauge.high - at.gauge.low) / at.high
    under = at.gauge.low + out * (min(0.0, at.high) - 0.5)
    inside = {name for name in finding.parts[:2] for side in (1.5, -1.5) if in_wood(
        held.solid(name), points(inverse(held.frame(name)), under + side * at.gauge.across))}
    assert inside == set(finding.parts[:2])


@pytest.mark.parametrize("off", [{"along": 0.54}, {"across": 1.0}, {"along": 20.0}])
def test_halves_that_stand_beside_each_other_are_measured_at_an_edge(off: dict[str, float]) -> None:
    """However large the clearance beside it: from the tenon's edge to where it should be, seen from the side."""
    aside_cut = PartAsCut("post_1a", cuts=(CutAsCut("long_rail_01_start", **off),))
    rehearsal, finding = found(recut(frame(), [aside_cut]), "gap")
    held = moment(rehearsal, finding)
    normal = cutting_plane(finding, held)
    one = gauge(finding, held, place_of(finding, held), normal)
    assert one is not None and one.length == pytest.approx(next(iter(off.values())), abs=1e-6)
    assert abs(float((one.high - one.low) @ normal)) < 1e-6
    rail = held.solid("long_rail_01"), inverse(held.frame("long_rail_01"))
    over = (one.high - one.low) / one.length * 0.01
    edges = {in_wood(rail[0], points(rail[1], one.low + side * over)) for side in (1.0, -1.0)}
    assert edges == {True, False}, "it begins at the tenon's own edge"


def test_long_words_end_in_dots_within_their_line() -> None:
    lines = ["one two three", "four five six", "seven eight nine", "ten"]
    assert at_most(lines) == ["one two three", "four five six", "seven eight …"]
    assert at_most(lines[:3]) == lines[:3]
