"""Laps, housings and bridles: what is taken out of one piece is filled by the other."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.design import Design
from model.draft import Draft
from model.frames import Z, frame_of, move, turn
from model.joints import KINDS
from model.shapes.board import board
from model.shapes.curve import curve_feature
from model.shapes.mitred_board import mitred_board
from tests.joined import THICKNESS, WIDTH, bite, boards, facing, home, pair, seats, sound, usual
from tests.zoo import milled

widths = st.floats(60.0, 200.0)
fits = st.floats(0.0, 0.3)


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


@pytest.mark.parametrize("fit", [0.0, 0.1, 0.4])
def test_a_lap_takes_half_of_each_and_the_fit_beside_it(fit: float) -> None:
    """By hand: each loses (140 + 2 fit) x 140 x 20 mm; square, so the gap at the sides of the lap is the fit."""
    design = usual("cross lap", fit=fit)
    for part, length in (("a", 500), ("b", 900)):
        left = length * 140 * 40 - (140 + 2 * fit) * 140 * 20
        assert design.part[part].finished.volume == pytest.approx(left, rel=1e-8)


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
    shoulder = a.places["end"]
    below = design.part["a"].finished.cut(a.solid).split_at(shoulder[:3, 3], -shoulder[:3, 2])
    assert below.volume < 1e-3, "what grows out of a leaves nothing beside it under its shoulder"


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
    design = pair("housing", a, b, a.place("end"), facing(b.place("face", 450.0), math.pi / 2) @ move(z=depth), fit=fit)
    sound(design)
    joint = design.joint["j"]
    way, bare = joint.seat_a[:3, 2], b.solid.moved(joint.b_in_a)
    assert bite(a.solid.moved(move(*(-joint.travel * way))), bare) < 1e-6
    assert bite(a.solid.moved(move(*((0.5 - joint.travel) * way))), bare) > 1e-3


def test_a_piece_let_in_by_its_edge() -> None:
    a = board(milled("a", 20.0, 90.0), 300.0)
    b = board(milled("b", 36.0, 140.0), 900.0)
    design = pair("housing", a, b, a.place("edge", 150.0), facing(b.place("face", 450.0)) @ move(z=10.0))
    sound(design)
    assert 900 * 140 * 36 - design.part["b"].finished.volume == pytest.approx(300.2 * 20.2 * 10.0, rel=1e-6)
