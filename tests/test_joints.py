"""What every kind of joint must hold, whatever its sizes, fit and angle."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.design import Design
from model.draft import Draft
from model.errors import JointError
from model.frames import Frame, Z, frame_of, move, turn
from model.joint import Joint
from model.joints import EVERY_KIND, KINDS
from model.part import Blank
from model.shapes.board import board
from model.shapes.curve import curve_feature
from model.shapes.mitred_board import mitred_board
from model.shapes.tapered_leg import tapered_leg
from tests.joined import bite, facing, home, pair, sound
from tests.zoo import milled

NAMES = ("blind tenon", "through tenon", "loose tenon", "half lap", "cross lap", "housing", "bridle", "glued face")
WIDTH, THICKNESS = 140.0, 40.0

widths = st.floats(60.0, 200.0)
thicknesses = st.floats(24.0, 60.0)
fits = st.floats(0.0, 0.3)


def boards(width: float = WIDTH, thickness: float = THICKNESS, other: float | None = None) -> tuple[Blank, Blank]:
    """Return two boards, 500 and 900 mm long."""
    return (board(milled("a", thickness, width), 500.0),
            board(milled("b", thickness, width if other is None else other), 900.0))


def seats(kind: str, a: Blank, b: Blank, about: float = 0.0) -> tuple[Frame, Frame]:
    """Return seats for two boards joined as the kind usually is, moved into the wood as it asks."""
    if kind in ("half lap", "cross lap"):
        seat_a, seat_b = a.place("face", 250.0), facing(b.place("face", 450.0), math.pi / 2 + about)
    elif kind == "glued face":
        seat_a, seat_b = a.place("face", 250.0), facing(b.place("back", 450.0), about)
    elif kind == "housing":
        seat_a, seat_b = a.place("end"), facing(b.place("face", 450.0), math.pi / 2 + about)
    else:
        seat_a, seat_b = a.place("end"), facing(b.place("edge", 450.0), about)
    in_a, in_b = KINDS[kind].sink({}, a, b, seat_a, seat_b)
    return seat_a @ move(z=-in_a), seat_b @ move(z=in_b)


def usual(kind: str, *, fit: float = 0.1, about: float = 0.0, **sizes: object) -> Design:
    """Return the usual pair of boards joined by a kind."""
    a, b = boards()
    return pair(kind, a, b, *seats(kind, a, b, about), fit=fit, sizes=sizes)


def test_the_registry_holds_every_kind() -> None:
    assert set(KINDS) == set(NAMES)
    assert set(EVERY_KIND) == {*NAMES, "tenon half"}
    assert all(kind.says and set(kind.words) <= set(kind.sizes) for kind in KINDS.values())


@pytest.mark.parametrize("kind", NAMES)
def test_the_usual_joint_is_sound_and_says_how_far_it_reaches(kind: str) -> None:
    design = usual(kind)
    sound(design)
    reach = {"blind tenon": 2 / 3 * WIDTH, "through tenon": WIDTH, "loose tenon": 4 * THICKNESS / 3,
             "half lap": THICKNESS, "cross lap": THICKNESS, "housing": THICKNESS / 3, "bridle": WIDTH,
             "glued face": 0.0}
    assert design.joint["j"].travel == pytest.approx(reach[kind], abs=0.02)


@pytest.mark.parametrize("kind", NAMES)
def test_drawn_back_by_its_travel_a_part_is_clear_and_a_little_less_is_not(kind: str) -> None:
    """The travel is the least way along minus z after which nothing of a is left beside anything of b."""
    design = usual(kind)
    joint = design.joint["j"]
    a, b = home(design, joint)
    way = joint.seat_a[:3, 2]
    lowest = (b.mesh[0] @ way).min()
    highest = (a.mesh[0] @ way).max()
    if kind == "loose tenon":
        a = a.joined(design.part["j_tenon"].finished.moved(design.joint["j_tenon_a"].a_in_b))
        highest = (a.mesh[0] @ way).max()
    assert highest - lowest == pytest.approx(joint.travel, abs=0.02)


@pytest.mark.parametrize("kind", NAMES)
def test_in_the_mirror_nothing_changes(kind: str) -> None:
    design = usual(kind, about=0.0 if kind == "bridle" else 0.3)
    seen = design.in_the_mirror()
    sound(seen)
    for part in design.parts:
        assert seen.part[part.name].finished.volume == pytest.approx(part.finished.volume, rel=1e-12)


@pytest.mark.parametrize("kind", NAMES)
@settings(max_examples=15, deadline=None)
@given(width=widths, thickness=thicknesses, other=widths, fit=fits, about=st.floats(-0.5, 0.5))
def test_any_sizes_and_any_turn_give_whole_parts_that_do_not_bite(kind: str, width: float, thickness: float,
                                                                  other: float, fit: float, about: float) -> None:
    a, b = boards(width, thickness, other)
    if kind not in ("half lap", "cross lap", "glued face", "housing"):
        about = 0.0
    sound(pair(kind, a, b, *seats(kind, a, b, about), fit=fit))


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
    axis = design.joint["j"].seat_a[:3, 2]
    expected = a.grain if run == "grain" else a.places["end"][:3, 2]
    assert axis == pytest.approx(expected, abs=1e-6)


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


@pytest.mark.parametrize(("kind", "sizes", "key"), [
    ("blind tenon", {"thickness": -5.0}, "thickness"),
    ("blind tenon", {"thickness": 41.0}, "thickness"),
    ("blind tenon", {"width": 0.0}, "width"),
    ("blind tenon", {"width": 141.0}, "width"),
    ("blind tenon", {"depth": 140.0}, "depth"),
    ("blind tenon", {"depth": math.nan}, "depth"),
    ("blind tenon", {"bottom": -1.0}, "bottom"),
    ("blind tenon", {"shift": 600.0}, "shift"),
    ("blind tenon", {"shift": 60.0, "width": 40.0}, "width"),
    ("blind tenon", {"offset": 25.0}, "offset"),
    ("blind tenon", {"offset": 15.0, "thickness": 12.0}, "thickness"),
    ("through tenon", {"depth": 141.0}, "depth"),
    ("through tenon", {"depth": 0.0}, "depth"),
    ("loose tenon", {"length": -1.0}, "length"),
    ("loose tenon", {"length": 290.0}, "depth"),
    ("loose tenon", {"thickness": 45.0}, "thickness"),
    ("loose tenon", {"width": 150.0}, "width"),
    ("loose tenon", {"bottom": -0.5}, "bottom"),
    ("half lap", {"depth": 40.0}, "depth"),
    ("half lap", {"depth": -2.0}, "depth"),
    ("cross lap", {"depth": 100.0}, "depth"),
    ("housing", {"depth": 40.0}, "depth"),
    ("housing", {"depth": -1.0}, "depth"),
    ("bridle", {"thickness": 39.0}, "thickness"),
    ("bridle", {"thickness": 0.0}, "thickness"),
    ("bridle", {"depth": 141.0}, "depth"),
    ("bridle", {"offset": 15.0}, "thickness"),
])
def test_sizes_that_cannot_be_cut_are_refused(kind: str, sizes: dict[str, float], key: str) -> None:
    a, b = boards()
    seat_a, seat_b = seats(kind, a, b)
    if "depth" in sizes and kind in ("half lap", "cross lap", "housing"):
        seat_a, seat_b = a.place("face", 250.0) if kind != "housing" else a.place("end"), facing(b.place("face", 450.0))
        in_a, in_b = KINDS[kind].sink(sizes, a, b, seat_a, seat_b)
        seat_a, seat_b = seat_a @ move(z=-in_a), seat_b @ move(z=in_b)
    with pytest.raises(JointError) as caught:
        pair(kind, a, b, seat_a, seat_b, sizes=sizes)
    assert (caught.value.joint, caught.value.key) == ("j", key)
    assert "mm" in str(caught.value.value) and caught.value.accepted


@pytest.mark.parametrize("kind", NAMES)
@pytest.mark.parametrize("fit", [-0.1, 50.0, math.nan, math.inf])
def test_a_fit_that_is_none_is_refused(kind: str, fit: float) -> None:
    with pytest.raises(JointError) as caught:
        usual(kind, fit=fit)
    assert caught.value.key == "fit"


@pytest.mark.parametrize("kind", [n for n in NAMES if n != "glued face"])
@pytest.mark.parametrize("side", ["a", "b"])
def test_a_joint_beside_the_wood_is_refused(kind: str, side: str) -> None:
    a, b = boards()
    seat_a, seat_b = seats(kind, a, b)
    off = move(2000.0) if side == "a" else move(0.0, 2000.0) @ move(2000.0)
    with pytest.raises(JointError):
        pair(kind, a, b, seat_a @ off if side == "a" else seat_a, seat_b @ off if side == "b" else seat_b)


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


def lapped_ring(n: int, past: float, fit: float, band: tuple[float, float] | None = None) -> Design:
    """Return a closed ring of n boards whose mitred ends run past every joint and are halved there."""
    share, width, middle = 2 * math.pi / n, 90.0, 455.0
    length = 2 * middle * math.tan(share / 2) + 2 * past
    blank = mitred_board(milled("segment", 38.0, width), length, share / 2, share / 2)
    centre = frame_of((length / 2, -middle, 0.0), Z, (1.0, 0.0, 0.0))
    draft = Draft("ring")
    for i in range(n):
        draft.add(f"segment_{i}", blank, turn(Z, i * share) @ move(-length / 2, middle))
        if band is not None:
            draft.feature(f"segment_{i}", curve_feature(blank, centre, *band, share, after="ring"))
    for i in range(n):
        angle = (i + 0.5) * share
        out = np.array([-math.sin(angle), math.cos(angle), 0.0])
        draft.join_at(f"lap_{i}", "half lap", f"segment_{i}", f"segment_{(i + 1) % n}",
                      frame_of(out * middle / math.cos(share / 2), Z, out), fit=fit)
    return draft.finish()


@settings(max_examples=10, deadline=None)
@given(n=st.integers(5, 24), past=st.floats(15.0, 30.0), fit=fits)
def test_segments_of_a_ring_halved_past_their_joints(n: int, past: float, fit: float) -> None:
    design = lapped_ring(n, past, fit)
    sound(design)
    assert len({part.finished.key for part in design.parts}) <= n
    a, b = home(design, design.joints[0])
    heights = a.joined(b).bounds[:, 2]
    assert heights == pytest.approx([-19.0, 19.0], abs=1e-9)


def test_a_lapped_ring_sawn_to_its_band_is_the_whole_ring_but_for_the_fit() -> None:
    """Volume of a ring: pi (Ro² - Ri²) t. With no fit the sawn segments fill it, facets and all."""
    design = lapped_ring(9, 40.0, 0.0, (490.0, 440.0))
    sound(design)
    ring = math.pi * (490.0**2 - 440.0**2) * 38.0
    assert sum(p.finished.volume for p in design.parts) == pytest.approx(ring, rel=5e-5)


@pytest.mark.parametrize("kind", ["half lap", "cross lap"])
@settings(max_examples=20, deadline=None)
@given(about=st.floats(-1.2, 1.2), width=widths, other=widths)
def test_laps_come_flush_and_nothing_is_lost(kind: str, about: float, width: float, other: float) -> None:
    a, b = boards(width, THICKNESS, other)
    design = pair(kind, a, b, *seats(kind, a, b, about), fit=0.0)
    sound(design)
    joint = design.joint["j"]
    one, two = home(design, joint)
    both = one.joined(two)
    seen = both.mesh[0] @ joint.seat_a[:3, 2] - joint.seat_a[:3, 3] @ joint.seat_a[:3, 2]
    assert (seen.min(), seen.max()) == pytest.approx((-THICKNESS / 2, THICKNESS / 2), abs=1e-6)
    blanks = a.solid.joined(b.solid.moved(joint.b_in_a))
    assert one.volume + two.volume == pytest.approx(blanks.volume, rel=1e-7)


def test_a_lap_of_unequal_depth_still_comes_flush() -> None:
    a, b = boards()
    bare_a, bare_b = a.place("face", 250.0), facing(b.place("face", 450.0), 1.0)
    sizes = {"depth": 12.0}
    in_a, in_b = KINDS["half lap"].sink(sizes, a, b, bare_a, bare_b)
    assert (in_a, in_b) == pytest.approx((12.0, THICKNESS - 12.0))
    design = pair("half lap", a, b, bare_a @ move(z=-in_a), bare_b @ move(z=in_b), sizes=sizes)
    sound(design)
    both = home(design, design.joint["j"])[0].joined(home(design, design.joint["j"])[1])
    assert both.bounds[:, 2] == pytest.approx([-THICKNESS / 2, THICKNESS / 2], abs=1e-9)


@settings(max_examples=20, deadline=None)
@given(at=st.floats(70.0, 830.0), fork=st.sampled_from([None, "a", "b"]), fit=fits, lean=st.floats(-0.5, 0.5))
def test_a_bridle_anywhere_along_a_piece_and_at_any_lean(at: float, fork: str | None, fit: float, lean: float) -> None:
    a = mitred_board(milled("a", 40.0, 90.0), 500.0, 0.0, lean)
    b = board(milled("b", 40.0, 110.0), 900.0)
    design = pair("bridle", a, b, a.place("end"), facing(b.place("edge", at)), fit=fit,
                  sizes={} if fork is None else {"fork": fork})
    sound(design)
    seen = home(design, design.joint["j"])
    assert bite(*seen) < 1e-6


def test_a_bridle_forks_the_piece_that_ends() -> None:
    """At a corner the second piece has the slot, in a T the first piece stands astride: common practice, no source."""
    a, b = boards()
    for at, tenons in ((WIDTH / 2, 1), (450.0, 2)):
        design = pair("bridle", a, b, a.place("end"), facing(b.place("edge", at)))
        assert sum(f.role == "tenon" for f in design.part["a"].features) == tenons


def test_a_corner_bridle_is_open_at_the_end_and_fills_its_slot() -> None:
    a, b = boards()
    design = pair("bridle", a, b, a.place("end"), facing(b.place("edge", WIDTH / 2)), fit=0.0)
    one, two = home(design, design.joint["j"])
    assert one.volume + two.volume == pytest.approx((500 + 900) * WIDTH * THICKNESS, rel=1e-5)
    assert design.part["b"].finished.bounds[0, 0] == pytest.approx(0.0, abs=1e-9)


def test_a_housing_takes_the_whole_section_and_stops_short_where_the_piece_is_narrower() -> None:
    a = board(milled("a", 20.0, 90.0), 300.0)
    b = board(milled("b", 36.0, 140.0), 900.0)
    seat_b = facing(b.place("face", 450.0), math.pi / 2)
    in_b = KINDS["housing"].sink({}, a, b, a.place("end"), seat_b)[1]
    assert in_b == pytest.approx(12.0)
    fit = 0.1
    design = pair("housing", a, b, a.place("end"), seat_b @ move(z=in_b), fit=fit)
    sound(design)
    taken = 900 * 140 * 36 - design.part["b"].finished.volume
    assert taken == pytest.approx((90 + 2 * fit) * (20 + 2 * fit) * 12.0, rel=1e-6)
    assert design.part["a"].finished.volume == pytest.approx(300 * 90 * 20)


@settings(max_examples=15, deadline=None)
@given(lean=st.floats(-0.6, 0.6), depth=st.floats(4.0, 20.0), fit=fits)
def test_a_leaning_piece_in_a_housing(lean: float, depth: float, fit: float) -> None:
    a = mitred_board(milled("a", 20.0, 90.0), 300.0, 0.0, 0.0, end_tilt=lean)
    b = board(milled("b", 36.0, 140.0), 900.0)
    sound(pair("housing", a, b, a.place("end"), facing(b.place("face", 450.0), math.pi / 2) @ move(z=depth), fit=fit))


def test_a_piece_let_in_by_its_edge() -> None:
    a = board(milled("a", 20.0, 90.0), 300.0)
    b = board(milled("b", 36.0, 140.0), 900.0)
    design = pair("housing", a, b, a.place("edge", 150.0), facing(b.place("face", 450.0)) @ move(z=10.0))
    sound(design)
    assert 900 * 140 * 36 - design.part["b"].finished.volume == pytest.approx(300.2 * 20.2 * 10.0, rel=1e-6)


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
        bare = design.part[joint.b].finished.moved(joint.b_in_a @ move(0.0))
        assert bite(tenon, bare) == 0.0
        lengthened = tenon.moved(np.diag([1.0, 1.0, 1.0, 1.0]) @ move(3.0 if side == "b" else -3.0))
        assert lengthened.manifold.min_gap(piece.manifold, 5.0) == pytest.approx(0.0, abs=1e-9)


def test_the_grain_of_a_loose_tenon_runs_across_the_joint() -> None:
    design = usual("loose tenon")
    half = design.joint["j_tenon_b"]
    along = (half.seat_b @ np.linalg.inv(half.seat_a))[:3, :3] @ design.part["j_tenon"].blank.grain
    assert along == pytest.approx(half.seat_b[:3, 2], abs=1e-8)


def test_a_joint_is_cut_alike_wherever_it_lies() -> None:
    """Equal joints give one and the same solid, so that what is worked out per shape is worked out once."""
    for kind in NAMES:
        one, two = usual(kind), usual(kind)
        assert all(one.part[p.name].finished is two.part[p.name].finished for p in one.parts), kind
