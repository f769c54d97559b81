"""The checks: every seeded mistake is found and said so that a person can act; sound designs stay silent."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from math import degrees, pi, tan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.checks import CHECKS, check
from assembly.checks.fit import fit
from assembly.checks.gap import gap
from assembly.checks.interference import interference
from assembly.checks.unmatched import unmatched
from assembly.findings import Finding, by_harm
from assembly.placing import Assembly, place
from assembly.presence import moments
from model.design import Design, Shop, StageSpec
from model.draft import Draft
from model.frames import Frame, frame_of, move, turn
from model.part import Feature, Part
from model.shapes.board import board
from model.shapes.mitred_board import mitred_board
from model.solids import box
from tests import zoo
from tests.strategies import POST, RAIL, WOOD, Stock, piece, reordered, rigid_frames, row_of_posts, upright

SHOP = Shop()


def found(design: Design) -> tuple[Finding, ...]:
    """What the checks of fit find: how the wood meets, not which way its grain runs or what it allows."""
    assembly = place(design)
    return by_harm(f for one in (interference, gap, fit, unmatched) for f in one(assembly, SHOP))


def said(design: Design, one: Callable[[Assembly, Shop], list[Finding]]) -> str:
    (finding,) = one(place(design), SHOP)
    return f"{finding.message} {finding.remedy}"


# -- sound and mistaken ---------------------------------------------------------------------------


@pytest.mark.parametrize("name", zoo.SOUND)
def test_sound_designs_are_silent(name: str) -> None:
    assert [f.message for f in check(place(zoo.SOUND[name]()), SHOP) if f.severity != "note"] == []
    assert found(zoo.SOUND[name]()) == ()


MISTAKES = {name: make for name, (make, kind) in zoo.MISTAKES.items() if kind in ("interference", "gap", "unmatched")}
"""Those of the zoo that the fit itself shows; the others are for the order."""


@pytest.mark.parametrize("name", MISTAKES)
def test_each_mistake_is_found(name: str) -> None:
    findings = found(MISTAKES[name]())
    assert zoo.MISTAKES[name][1] in {f.kind for f in findings}
    assert findings[0].severity == "stop"


def test_a_finding_says_what_where_how_much_and_what_to_do() -> None:
    for make in MISTAKES.values():
        design = make()
        for finding in found(design):
            assert finding.parts and all(n in design.part for n in finding.parts)
            assert finding.severity == "note" or all(n in finding.message for n in finding.parts)
            assert all(j in design.joint for j in finding.joints)
            assert finding.remedy.endswith(".") and finding.message.endswith(".")
            assert finding.kind == "unmatched" or (finding.where is not None and finding.amount is not None)


# -- interference ---------------------------------------------------------------------------------


@pytest.mark.parametrize("push", [0.05, 1.8, 12.0])
def test_a_tenon_too_long_says_both_figures_and_what_to_cut(push: float) -> None:
    """The trestle's tenons are two thirds of 88.9 mm, its mortises 2 mm deeper."""
    design = zoo.tenon_long(2.0 + push)
    (finding,) = found(design)
    tenon, mortise = 88.9 * 2 / 3 + 2.0 + push, 88.9 * 2 / 3 + 2.0
    assert (finding.kind, finding.severity) == ("gap", "stop")
    assert finding.amount is not None and finding.amount.value == pytest.approx(push, abs=1e-3)
    figures = [float(n) for n in re.findall(r"(\d+\.?\d*) mm", finding.message + finding.remedy)]
    assert figures == pytest.approx([push, tenon, mortise, mortise - 2, tenon + 2], abs=0.051)
    assert finding.parts == ("long_rail_01", "post_2")
    assert finding.joints == ("long_rail_01_end",)
    assert "stops" in finding.message and "short of post_2" in finding.message and "Cut the tenon to" in finding.remedy


def test_a_mortise_beside_its_tenon_says_by_how_much_to_widen_it() -> None:
    text = said(zoo.mortise_shifted(1.9), interference)
    assert "the wood beside its mortise in post_1" in text and "Widen the mortise by 1.8 mm" in text


def test_a_mortise_never_cut_is_said_to_be_missing() -> None:
    (finding,) = found(zoo.mortise_missing())
    assert (finding.kind, finding.joints) == ("unmatched", ("long_rail_01_end",))
    assert "post_2 has no mortise for its tenon" in finding.message
    assert "74.3 mm by 29.8 mm, 61.3 mm deep" in finding.remedy, "the tenon, its fit of 0.1 mm a side, 2 mm of room"


def test_two_tenons_in_one_post_are_named_with_their_joints() -> None:
    (finding,) = interference(place(row_of_posts([500.0, 500.0], [300.0], depth=60.0)), SHOP)
    assert set(finding.parts) == {"rail_0_0", "rail_1_0"}
    assert set(finding.joints) == {"rail_0_0_end", "rail_1_0_start"}
    assert "the tenon of rail_0_0 and the tenon of rail_1_0" in finding.message.lower()


def test_a_board_too_thick_for_its_place_says_which_face_to_plane() -> None:
    design = row_of_posts([500.0], [300.0])
    shelf = Part("shelf", board(Stock("shelf", WOOD, 20.0, 30.0), 300.0))
    rail = design.part["rail_0_0"]
    seat = rail.blank.places["edge"] @ move(60.0, 0.0, -1.8)
    glued = Draft("shelved")
    glued.blanks = {"rail": rail.blank, "shelf": shelf.blank}
    glued.own, glued.groups = {"rail": [], "shelf": []}, {"rail": "rail", "shelf": "shelf"}
    glued.join("lies", "glued face", "shelf", "rail", shelf.blank.places["back"] @ move(100.0),
               seat @ turn((1, 0, 0), pi))
    text = said(glued.finish(), interference)
    assert "run 1.8 mm into each other" in text and "Take 1.8 mm off the back of shelf" in text


def test_inches_are_told_where_the_file_is_in_inches() -> None:
    assert "0.071 in into" in said(replace(zoo.mortise_shifted(1.9), unit="in"), interference)


def test_what_cannot_be_told_is_a_warning_and_no_pass() -> None:
    walled = box((0, 0, 0), (100, 60, 40)).cut(box((10, 10, 5), (40, 20, 50)), box((10, 20.03, 5), (40, 30, 50)))
    parts = (piece("one", walled), piece("other", walled))
    assembly = Assembly(Design("thin", parts, (), "one"), {"one": move(), "other": move(x=98.0)})
    (finding,) = interference(assembly, SHOP)
    assert finding.severity == "warn"
    assert "could not be told" in finding.message and "0.04 mm" in finding.message


# -- stages ---------------------------------------------------------------------------------------


def curved_pair(*, spoils: bool) -> Design:
    """Two boards glued edge to edge; a third lies in a curve sawn only after the glue-up, or comes only after it."""
    draft = Draft("curved")
    wide = Stock("wide", WOOD, 40.0, 120.0)
    draft.add("left", board(wide, 400.0), frame_of((0, 0, 0), (0, 0, 1), (1, 0, 0)))
    draft.add("right", board(wide, 400.0), frame_of((0, 120, 0), (0, 0, 1), (1, 0, 0)))
    draft.add("key", board(Stock("key", WOOD, 40.0, 30.0), 100.0), frame_of((150, 165, 0), (0, 0, 1), (1, 0, 0)))
    draft.join_at("seam", "glued face", "right", "left", frame_of((200, 60, 0), (0, -1, 0), (1, 0, 0)))
    draft.join_at("bed", "glued face", "key", "right", frame_of((200, 150, 0), (0, -1, 0), (1, 0, 0)))
    hollow = box((150, 30, -50), (250, 100, 50))
    draft.feature("right", Feature("hollow", "cut", hollow, "curve", after="body"))
    draft.stages = [StageSpec("body", ("seam", "bed") if spoils else ("seam",)), StageSpec("key", ("bed",), ("body",))]
    if spoils:
        draft.stages.pop()
    return draft.finish()


def test_wood_that_is_still_there_at_the_stage_is_found() -> None:
    assert found(curved_pair(spoils=False)) == ()
    (finding,) = interference(place(curved_pair(spoils=True)), SHOP)
    assert set(finding.parts) == {"key", "right"}
    assert finding.message.startswith("When body is glued, before later cuts, ")
    assert finding.amount is not None and finding.amount.value == pytest.approx(30.0, abs=0.05)


def test_the_moments_of_a_design_whose_parts_are_cut_later() -> None:
    design = curved_pair(spoils=False)
    finished, body = moments(place(design))
    assert (finished.stage, finished.joints) == ("", ("seam", "bed"))
    assert (body.stage, body.names, body.joints, body.unlike) == ("body", ("left", "right"), ("seam",), {"right"})
    assert design.behind("key") == {"body"}


def ring(segments: int, *, error: float = 0.0, spacer: bool = False) -> Design:
    """A closed ring of mitred segments, every end off by an error (rad); one segment a spacer, if asked for."""
    half, width = pi / segments, 60.0
    blank = mitred_board(Stock("ring", WOOD, 30.0, width), 2 * 300.0 * tan(half), half + error, half + error)
    draft = Draft("ring", base="segment_1")
    for k in range(segments):
        draft.add(f"segment_{k}", blank, leaves_after="ring" if spacer and k == 0 else None)
    for k in range(segments):
        draft.join(f"mitre_{k}", "glued face", f"segment_{k}", f"segment_{(k + 1) % segments}", blank.places["end"],
                   blank.places["start"] @ turn((1, 0, 0), pi), glued=not spacer or k not in (0, segments - 1))
    draft.stages = [StageSpec("ring", tuple(f"mitre_{k}" for k in range(segments)))]
    return draft.finish()


def test_a_ring_that_is_true_closes() -> None:
    assert found(ring(9)) == ()


def test_a_ring_whose_mitres_are_off_says_by_how_much_and_what_each_must_change() -> None:
    (finding,) = gap(place(ring(9, error=0.002)), SHOP)
    assert f"{degrees(0.002 * 18):.3g}° out of line" in finding.message
    assert f"each of the 9 joints of the loop by {degrees(0.004):.3f} degrees" in finding.remedy
    assert len(finding.joints) == 9


def test_a_ring_held_by_a_spacer_is_looked_at_in_its_stage() -> None:
    """The spacer leaves, so the finished work does not close; the loop counts while the ring is glued."""
    assert found(ring(9, spacer=True)) == ()
    (finding,) = gap(place(ring(9, error=0.002, spacer=True)), SHOP)
    assert finding.message.startswith("When ring is glued, ")


# -- gaps -----------------------------------------------------------------------------------------


def shaved(mm: float, part: str = "long_rail_01", joint: str = "long_rail_01_end") -> Design:
    """The trestle, one shoulder sawn back by mm."""
    def shorter(p: Part) -> Part:
        seat = next(f.frame for f in p.features if f.joint == joint)
        waste = box((-200, -200, -mm), (200, 200, 0)).cut(
            box((-37.1, -14.9, -mm - 1), (37.1, 14.9, 1))).moved(seat)
        return replace(p, features=(*p.features, Feature("slip", "cut", waste, "shoulder", joint, frame=seat)))

    return zoo.changed(zoo.trestle(), part, shorter)


@pytest.mark.parametrize("mm", [0.1, 1.3, 8.0])
def test_a_shoulder_sawn_back_stays_apart(mm: float) -> None:
    (finding,) = found(shaved(mm))
    assert (finding.kind, finding.severity, finding.joints) == ("gap", "stop", ("long_rail_01_end",))
    assert finding.amount is not None and finding.amount.value == pytest.approx(mm, abs=1e-3)
    assert "stay" in finding.message and "long_rail_01" in finding.remedy


def test_a_shoulder_that_a_clamp_closes_is_silent() -> None:
    assert found(shaved(0.03)) == ()


def post_and_block(x: float) -> Design:
    """A post and a block declared to be glued to its face at x = 45, but drawn with its near face at `x`."""
    draft = Draft("block")
    draft.add("post", board(POST, 400.0), upright(0, 0))
    draft.add("block", board(RAIL, 200.0), frame_of((x + 20.0, 0, 100), (1, 0, 0), (0, 0, 1)))
    draft.join_at("lies", "glued face", "block", "post", frame_of((45, 0, 200), (-1, 0, 0), (0, 0, 1)))
    return draft.finish()


@pytest.mark.parametrize(("away", "kind"), [(0.2, "gap"), (5.0, "gap"), (24.9, "gap"), (25.2, "unmatched"),
                                            (80.0, "unmatched")])
def test_parts_that_touch_nowhere_are_told_once_with_their_distance(away: float, kind: str) -> None:
    """Near by they stay apart; farther than 25 mm the joint joins nothing."""
    (told,) = found(post_and_block(45.0 + away))
    assert (told.kind, told.severity, told.joints) == (kind, "stop", ("lies",))
    assert told.amount is not None and told.amount.value == pytest.approx(away, abs=1e-3)


def test_a_part_in_anothers_wood_is_interference_and_nothing_else() -> None:
    assert found(post_and_block(45.0)) == ()
    for deep in (0.3, 15.0, 38.0):
        (finding,) = found(post_and_block(45.0 - deep))
        assert (finding.kind, finding.joints) == ("interference", ("lies",))
        assert finding.amount is not None and finding.amount.value == pytest.approx(deep, abs=0.02)


def test_faces_that_meet_along_an_edge_only_do_not_meet() -> None:
    draft = Draft("edge")
    draft.add("post", board(POST, 400.0), upright(0, 0))
    draft.add("block", board(RAIL, 200.0), frame_of((65.0, 90.0, 100), (1, 0, 0), (0, 0, 1)))
    draft.join_at("lies", "glued face", "block", "post", frame_of((45, 45, 200), (-1, 0, 0), (0, 0, 1)))
    (told,) = (f for f in found(draft.finish()) if f.kind == "gap")
    assert "touch along an edge at most" in told.message


@pytest.mark.parametrize("mm", [4.0, -4.0])
def test_a_part_of_the_wrong_length_in_a_closed_frame_is_named_as_the_cause(mm: float) -> None:
    (finding,) = gap(place(zoo.rail_short(mm)), SHOP)
    assert "long_rail_01" in finding.parts
    assert "No loop through long_rail_01 closes, all others do." in finding.message
    assert finding.amount is not None and finding.amount.value == pytest.approx(4.0, abs=1e-3)
    assert f"Make long_rail_01 4 mm {'longer' if mm > 0 else 'shorter'}" in finding.remedy


# -- unmatched ------------------------------------------------------------------------------------


def test_a_loose_part_is_named_and_the_rest_is_still_checked() -> None:
    (finding,) = found(zoo.part_loose())
    assert (finding.kind, finding.parts) == ("unmatched", ("stray",))


def test_a_loose_pair_is_one_finding() -> None:
    design = row_of_posts([500.0, 500.0], [300.0])
    cut_off = replace(design, joints=tuple(j for j in design.joints if j.name != "rail_1_0_start"))
    (finding,) = (f for f in found(cut_off) if f.kind == "unmatched")
    assert finding.parts == ("post_2", "rail_1_0")


def test_a_mortise_without_a_tenon_is_found() -> None:
    bare = zoo.changed(zoo.trestle(), "long_rail_01", lambda p: replace(
        p, features=tuple(f for f in p.features if f.joint != "long_rail_01_end" or f.role != "tenon")))
    (finding,) = found(bare)
    assert (finding.kind, finding.joints) == ("unmatched", ("long_rail_01_end",))
    assert "stays empty" in finding.message


def test_a_single_part_is_sound() -> None:
    draft = Draft("one")
    draft.add("post", board(POST, 400.0))
    assert found(draft.finish()) == ()


# -- laws -----------------------------------------------------------------------------------------


def verdicts(assembly: Assembly) -> set[tuple[object, ...]]:
    """Kind, severity, parts, joints and amount to a hundredth, whatever the order and the place."""
    return {(f.kind, f.severity, frozenset(f.parts), frozenset(f.joints), round(f.amount.value, 2) if f.amount else 0.0)
            for f in check(assembly, SHOP)}


@pytest.mark.parametrize("name", ["trestle", "frame_level", "mortise_shifted", "tenon_long", "rail_short"])
@settings(max_examples=5, deadline=None)
@given(frame=rigid_frames(), seed=st.randoms(use_true_random=False))
def test_findings_keep_when_the_whole_is_moved_mirrored_or_reordered(name: str, frame: Frame, seed) -> None:
    design = zoo.SOUND[name]() if name in zoo.SOUND else zoo.MISTAKES[name][0]()
    told = verdicts(place(design))
    order = list(range(len(design.parts)))
    seed.shuffle(order)
    assert verdicts(place(design).moved(frame)) == told
    assert verdicts(place(design.in_the_mirror())) == told
    assert verdicts(place(reordered(design, order))) == told


def test_every_check_says_what_it_promises_and_what_not() -> None:
    for one in CHECKS:
        assert one.__doc__ and "ot promised" in one.__doc__


@pytest.mark.parametrize(("turned", "moved"), [(pi / 2, 0.0), (0.0, 150.0)])
def test_a_joint_at_the_wrong_place_or_turned_is_told_to_be_looked_at(turned: float, moved: float) -> None:
    design = zoo.frame()
    joint = design.joints[0]
    wrong = replace(joint, seat_b=move(y=moved) @ joint.seat_b @ turn((0.0, 0.0, 1.0), turned))
    text = said(replace(design, joints=(wrong, *design.joints[1:])), gap)
    assert "Look at the places and the turn of" in text and joint.name in text
