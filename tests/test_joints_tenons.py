"""Tenons, blind, through and loose: their fit, their proportions, their lean."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.placing import place
from model.design import Design
from model.draft import Draft
from model.errors import JointError
from model.frames import move
from model.joint import Joint
from model.shapes.board import board
from model.shapes.mitred_board import mitred_board
from model.shapes.tapered_leg import tapered_leg
from tests.joined import THICKNESS, WIDTH, bite, boards, facing, home, pair, sound, usual
from tests.zoo import milled

thicknesses = st.floats(24.0, 60.0)
fits = st.floats(0.0, 0.3)


@pytest.mark.parametrize("kind", ["blind tenon", "through tenon"])
@pytest.mark.parametrize("run", ["square", "grain"])
@settings(max_examples=25, deadline=None)
@given(lean=st.floats(-0.8, 0.8), thickness=thicknesses, fit=fits, depth=st.floats(15.0, 60.0))
def test_a_tenon_on_a_leaning_shoulder(kind: str, run: str, lean: float, thickness: float, fit: float,
                                       depth: float) -> None:
    a = mitred_board(milled("a", thickness, 120.0), 500.0, 0.0, lean)
    b = board(milled("b", thickness, 160.0), 900.0)
    sizes = {"run": run, "width": 40.0} | ({"depth": depth} if kind == "blind tenon" or lean > 0 else {})
    try:
        design = pair(kind, a, b, a.place("end"), facing(b.place("edge", 450.0)), fit=fit, sizes=sizes)
    except JointError as error:
        reach, tan = sizes.get("depth", 160.0), abs(math.tan(lean))
        if run == "square":
            assert error.key == "width" and 120.0 / math.cos(lean) - 2 * reach * tan < 40.0 + 1e-3
        else:
            assert error.key == "depth" and reach < (20.0 + fit) * tan + 1.0 + 1e-3
        return
    sound(design)
    assert_clears(design)
    axis = design.joint["j"].seat_a[:3, 2]
    expected = a.grain if run == "grain" else a.places["end"][:3, 2]
    assert axis == pytest.approx(expected, abs=1e-6)


def assert_clears(design: Design) -> None:
    """Assert that the tenon has left the wood once it is drawn back by the joint's travel, and not much sooner."""
    joint = design.joint["j"]
    (tenon,) = (f.solid for f in design.part["a"].features if f.role == "tenon")
    shoulder = design.part["a"].blank.places["end"]
    tenon = tenon.split_at(shoulder[:3, 3], shoulder[:3, 2])
    way, b = joint.seat_a[:3, 2], design.part["b"].blank.solid.moved(joint.b_in_a)
    for short, clear in ((0.0, True), (1.0, False)):
        drawn = tenon.moved(move(*(-(joint.travel - short) * way)))
        assert (bite(drawn, b) < 1e-6) is clear


@settings(max_examples=20, deadline=None)
@given(lean=st.floats(-0.6, 0.6), narrow=st.floats(100.0, 160.0), run=st.sampled_from(["square", "grain"]))
def test_a_through_tenon_comes_flush_with_a_far_side_that_is_not_square_to_it(lean: float, narrow: float,
                                                                             run: str) -> None:
    a = mitred_board(milled("a", 40.0, 120.0), 500.0, 0.0, lean / 3 if run == "square" else lean)
    b = tapered_leg(milled("b", 40.0, 160.0), 900.0, end_width=narrow)
    design = pair("through tenon", a, b, a.place("end"), facing(b.place("edge", 450.0)),
                  sizes={"run": run, "width": 30.0} | ({"shift": 0.0}))
    sound(design)
    joint = design.joint["j"]
    far = b.places["far_edge"]
    shown = design.part["a"].finished.moved(joint.a_in_b).split_at(far[:3, 3], far[:3, 2])
    assert shown.volume < 1e-3
    end = design.part["a"].finished.moved(joint.a_in_b).mesh[0] @ far[:3, 2] - far[:3, 3] @ far[:3, 2]
    assert np.sum(np.abs(end) < 1e-6) >= 4, "the tenon's end lies in the far side"


def cheek_gap(design: Design, role: str = "tenon") -> float:
    """Return the least gap between a's tenon, clear of its shoulder and its end, and the rest of the joint."""
    joint = design.joint["j"]
    (tenon,) = (f.solid for f in design.part["a"].features if f.role == role)
    origin, way = joint.seat_a[:3, 3], joint.seat_a[:3, 2]
    middle = tenon.split_at(origin + 3.0 * way, way).split_at(origin + (joint.travel - 3.0) * way, -way)
    return float(middle.manifold.min_gap(home(design, joint)[1].manifold, 5.0))


@pytest.mark.parametrize("fit", [0.05, 0.1, 0.15, 0.5])
@pytest.mark.parametrize("kind", ["blind tenon", "through tenon"])
def test_the_gap_at_the_cheeks_is_the_fit(kind: str, fit: float) -> None:
    assert cheek_gap(usual(kind, fit=fit)) == pytest.approx(fit, abs=1e-9)


def test_the_gap_below_a_blind_tenon_is_the_bottom() -> None:
    """1.5 to 3 mm, common practice, no source: 2 mm unless given."""
    for sizes, room in (({}, 2.0), ({"bottom": 3.0}, 3.0)):
        design = usual("blind tenon", fit=2.5, **sizes)
        joint = design.joint["j"]
        (tenon,) = (f.solid for f in design.part["a"].features if f.role == "tenon")
        tip = tenon.split_at(joint.seat_a[:3, 3] + 50.0 * joint.seat_a[:3, 2], joint.seat_a[:3, 2])
        assert tip.manifold.min_gap(home(design, joint)[1].manifold, 5.0) == pytest.approx(min(room, 2.5), abs=1e-9)


def test_proportions_of_a_tenon() -> None:
    """A third in thickness, five times that in width at most, two thirds deep: common practice, no source."""
    design = usual("blind tenon", fit=0.0)
    third = THICKNESS / 3
    assert design.part["a"].finished.volume == pytest.approx(500 * WIDTH * THICKNESS + third * (5 * third)
                                                            * (WIDTH * 2 / 3), rel=1e-9)
    taken = third * 5 * third * (WIDTH * 2 / 3 + 2.0)
    assert design.part["b"].finished.volume == pytest.approx(900 * WIDTH * THICKNESS - taken, rel=1e-9)


def test_a_through_tenon_without_fit_leaves_no_air() -> None:
    design = usual("through tenon", fit=0.0)
    a, b = home(design, design.joint["j"])
    whole = a.volume + b.volume
    assert whole == pytest.approx((500 + 900) * WIDTH * THICKNESS, rel=1e-9)
    assert a.joined(b).volume == pytest.approx(whole, rel=1e-9)


def test_a_tenon_over_the_whole_width_of_a_mitre_leaves_no_slivers() -> None:
    """The root follows the grain, so that nothing shows beside a shoulder that is not there."""
    a = mitred_board(milled("a", 40.0, 100.0), 500.0, 0.0, 0.4)
    b = board(milled("b", 40.0, 160.0), 900.0)
    whole = 100.0 / math.cos(0.4) - 2 * 30.0 * math.tan(0.4)
    design = pair("blind tenon", a, b, a.place("end"), facing(b.place("edge", 450.0)),
                  sizes={"depth": 30.0, "width": whole, "thickness": 40.0 / 3})
    sound(design)
    made = design.part["a"].finished
    outside = made.cut(a.solid)
    axis = a.places["end"]
    assert outside.split_at(axis[:3, 3], -axis[:3, 2]).volume < 1e-9


def test_a_tenon_that_runs_out_beside_its_piece_is_refused() -> None:
    a, b = boards()
    seat_b = facing(b.place("edge", 20.0))
    with pytest.raises(JointError) as caught:
        pair("blind tenon", a, b, a.place("end"), seat_b)
    assert caught.value.key == "shift"


def test_grain_that_runs_past_the_face_is_refused() -> None:
    a, b = boards()
    with pytest.raises(JointError) as caught:
        pair("blind tenon", a, b, a.place("edge", 250.0), facing(b.place("edge", 450.0)), sizes={"run": "grain"})
    assert caught.value.key == "run"


def test_a_loose_tenon_is_a_part_with_two_halves() -> None:
    design = usual("loose tenon", thickness=12.0, width=50.0, length=80.0, bottom=2.0, shift=4.0, offset=-3.0)
    tenon = design.part["j_tenon"]
    assert (tenon.group, tenon.blank.stock.species) == ("loose tenon", design.part["a"].blank.stock.species)
    assert tenon.finished.volume == pytest.approx(80.0 * 50.0 * 12.0)
    halves = [design.joint[f"j_tenon_{side}"] for side in "ab"]
    assert [h.of for h in halves] == ["j", "j"]
    assert [(h.a, h.b, h.travel) for h in halves] == [("j_tenon", "a", 40.0), ("j_tenon", "b", 40.0)]
    for part, side in (("a", 0), ("b", 1)):
        taken = design.part[part].blank.solid.volume - design.part[part].finished.volume
        assert taken == pytest.approx(50.2 * 12.2 * 42.0, rel=1e-9), side
    assert frames_agree(design)


def frames_agree(design: Design) -> bool:
    """Whether the tenon stands in the same spot by either of its halves."""
    a, b, whole = (design.joint[name] for name in ("j_tenon_a", "j_tenon_b", "j"))
    return bool(np.allclose(a.a_in_b, whole.b_in_a @ b.a_in_b, atol=1e-7))


def test_the_gap_around_a_loose_tenon_is_the_fit_and_its_ends_have_room() -> None:
    design = usual("loose tenon", fit=0.2, bottom=3.0)
    for side in "ab":
        joint: Joint = design.joint[f"j_tenon_{side}"]
        tenon, piece = home(design, joint)
        assert tenon.manifold.min_gap(piece.manifold, 5.0) == pytest.approx(0.2, abs=1e-9)
        lengthened = tenon.moved(move(3.0 if side == "b" else -3.0))
        assert lengthened.manifold.min_gap(piece.manifold, 5.0) == pytest.approx(0.0, abs=1e-9)


def test_the_grain_of_a_loose_tenon_runs_across_the_joint() -> None:
    design = usual("loose tenon")
    half = design.joint["j_tenon_b"]
    along = (half.seat_b @ np.linalg.inv(half.seat_a))[:3, :3] @ design.part["j_tenon"].blank.grain
    assert along == pytest.approx(half.seat_b[:3, 2], abs=1e-8)


@pytest.mark.parametrize("n", [6, 8, 12, 18, 24])
def test_a_ring_of_mitred_boards_on_loose_tenons(n: int) -> None:
    """Defaults leave room where the mortises of a mitre drift to the inside; every tenon is alike."""
    mitre = math.pi / n
    blank = mitred_board(milled("segment", 38.0, 90.0), 2 * 600.0 * math.tan(mitre), mitre, mitre)
    draft = Draft("ring")
    for i in range(n):
        draft.add(f"segment_{i}", blank)
    for i in range(n):
        draft.join(f"seam_{i}", "loose tenon", f"segment_{i}", f"segment_{(i + 1) % n}", blank.place("end"),
                   facing(blank.place("start")))
    design = draft.finish()
    sound(design)
    assembly = place(design)
    assert not assembly.open_loops and not assembly.loose and len(assembly.names) == 2 * n
    assert len({part.finished.key for part in design.parts}) == 2
