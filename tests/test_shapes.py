"""Blanks of every shape: volumes, places, what the stock must have."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.errors import SolidError
from model.frames import Z, frame_of, inverse, points
from model.part import Blank, Part
from model.shapes import SHAPES
from model.shapes.board import board
from model.shapes.curve import curve_feature, stock_width
from model.shapes.curved_band import curved_band
from model.shapes.mesh import imported
from model.shapes.mitred_board import centreline, mitred_board
from model.shapes.tapered_leg import tapered_leg
from model.solids import SAGITTA, box, hull, loft
from tests.joined import facing, pair, sound
from tests.zoo import milled

STOCK = milled("stock", 40.0, 140.0)


def blanks() -> dict[str, Blank]:
    """Return one blank of every shape."""
    v, f = board(STOCK, 300.0).solid.mesh
    return {
        "board": board(STOCK, 600.0),
        "mitred board": mitred_board(STOCK, 600.0, 0.3, -0.2, start_tilt=0.1),
        "curved band": curved_band(STOCK, 500.0, 420.0, 0.7),
        "tapered leg": tapered_leg(STOCK, 600.0, 80.0, 30.0),
        "mesh": imported(STOCK, v, f),
    }


def test_the_registry_holds_every_shape() -> None:
    assert set(SHAPES) == set(blanks())
    assert all(shape.says and shape.required <= set(shape.sizes) for shape in SHAPES.values())


@pytest.mark.parametrize("name", blanks())
def test_places_lie_on_the_surface_and_look_out_of_the_wood(name: str) -> None:
    blank = blanks()[name]
    sides = {"outer", "inner"} if name == "curved band" else {"edge", "far_edge"}
    assert set(blank.places) == {"start", "end", "face", "back"} | sides
    for place in blank.places:
        straight = place in ("start", "end") or name in ("curved band", "mesh")
        frame = blank.place(place, 0.0 if straight else 300.0)
        assert frame[:3, :3].T @ frame[:3, :3] == pytest.approx(np.eye(3), abs=1e-12)
        assert np.linalg.det(frame) == pytest.approx(1.0)
        out = frame[:3, 2]
        assert blank.solid.chord(frame[:3, 3] - 0.01 * out, -out) > 10.0, place
        assert blank.solid.chord(frame[:3, 3] + 0.01 * out, -out) == 0.0, place


@pytest.mark.parametrize("name", blanks())
def test_a_shape_is_one_piece_with_its_grain_along_x(name: str) -> None:
    blank = blanks()[name]
    assert blank.solid.pieces == 1 and blank.shape == name
    assert blank.grain == pytest.approx([1.0, 0.0, 0.0])
    assert blank.solid.volume > 0


def test_volume_of_a_mitred_board() -> None:
    """Mitres through the centreline take on one side what they leave on the other: length times section."""
    blank = mitred_board(STOCK, 600.0, 0.3, 0.25, start_tilt=0.1, end_tilt=-0.2)
    assert blank.solid.volume == pytest.approx(600.0 * 140.0 * 40.0, rel=1e-12)


def test_the_angles_make_edge_and_face_longer() -> None:
    blank = mitred_board(STOCK, 600.0, math.radians(10), math.radians(20), end_tilt=math.radians(5))
    v = blank.solid.mesh[0]
    at_edge = v[(v[:, 1] > 69.0) & (v[:, 2] > 19.0), 0]
    assert at_edge.min() == pytest.approx(-70.0 * math.tan(math.radians(10)))
    assert at_edge.max() == pytest.approx(600 + 70 * math.tan(math.radians(20)) + 20 * math.tan(math.radians(5)))


def test_the_length_may_be_given_on_the_long_edge() -> None:
    made = SHAPES["mitred board"].blank(STOCK, {"long_edge": 600.0, "start_angle": 0.2, "end_angle": 0.2})
    v = made.solid.mesh[0]
    edge = v[v[:, 1] > 69.0, 0]
    assert edge.max() - edge.min() == pytest.approx(600.0)
    assert made.length == pytest.approx(centreline(600.0, 140.0, 0.2, 0.2)) == pytest.approx(600 - 140 * math.tan(0.2))


@pytest.mark.parametrize("sizes", [{}, {"length": 500.0, "long_edge": 500.0}])
def test_a_mitred_board_has_one_length(sizes: dict[str, float]) -> None:
    with pytest.raises(SolidError, match="either its length or its long_edge"):
        SHAPES["mitred board"].blank(STOCK, sizes)


@pytest.mark.parametrize(("length", "angle", "says"), [(40.0, -0.5, "ends cross"), (500.0, 1.5, "80 degrees")])
def test_mitres_that_cannot_be_sawn_are_refused(length: float, angle: float, says: str) -> None:
    with pytest.raises(SolidError, match=says):
        mitred_board(STOCK, length, angle, angle)


@pytest.mark.parametrize("bad", [
    {"length": 0.0}, {"length": -5.0}, {"length": math.nan}, {"length": 500.0, "width": 141.0},
    {"length": 500.0, "thickness": 45.0}, {"length": 500.0, "width": -3.0},
])
@pytest.mark.parametrize("name", ["board", "mitred board", "tapered leg"])
def test_sizes_the_stock_cannot_give_are_refused(name: str, bad: dict[str, float]) -> None:
    with pytest.raises(SolidError):
        SHAPES[name].blank(STOCK, bad)


def test_volume_and_places_of_a_tapered_leg() -> None:
    """A frustum with sides of its own: h/6 (A1 + 4 Am + A2), the prismoid's formula, exact here."""
    blank = tapered_leg(STOCK, 600.0, 80.0, 30.0)
    prismoid = 600.0 / 6 * (140 * 40 + 4 * 110 * 35 + 80 * 30)
    assert blank.solid.volume == pytest.approx(prismoid, rel=1e-12)
    slope = math.atan2(30.0, 600.0)
    assert blank.places["edge"][:3, 2] == pytest.approx([math.sin(slope), math.cos(slope), 0.0])
    assert blank.place("edge", math.hypot(600.0, 30.0))[:3, 3] == pytest.approx([600.0, 40.0, 0.0])


@pytest.mark.parametrize(("n", "width"), [
    (8, 168.508), (10, 144.049), (12, 130.667), (16, 117.293), (18, 113.673), (20, 111.080), (24, 107.700),
])
def test_width_of_the_board_that_a_band_comes_out_of(n: int, width: float) -> None:
    """Ro 1000, Ri 900: W = Ro - Ri cos(pi/n). Derived by trigonometry; measured here on the sawn solid."""
    band = curved_band(milled("wide", 38.0, 200.0), 1000.0, 900.0, 2 * math.pi / n)
    low, high = band.solid.bounds
    assert high[1] - low[1] == pytest.approx(width, abs=SAGITTA)
    assert band.width == pytest.approx(width, abs=5e-4)
    curved_band(milled("just", 38.0, width + 1e-3), 1000.0, 900.0, 2 * math.pi / n)
    with pytest.raises(SolidError, match=f"{width:.1f} mm wide"):
        curved_band(milled("narrow", 38.0, width - 1.0), 1000.0, 900.0, 2 * math.pi / n)


@pytest.mark.parametrize(("n", "stock", "least_inner"), [
    (8, 139.7, 931.182), (12, 139.7, 890.648), (18, 139.7, 873.572), (18, 88.9, 925.155), (24, 184.15, 822.890),
])
def test_the_widest_band_out_of_a_board(n: int, stock: float, least_inner: float) -> None:
    """Ro 1000: Ri = (Ro - W) / cos(pi/n), derived: one millimetre less and the board is too narrow."""
    board_for = milled("stock", 38.0, stock)
    curved_band(board_for, 1000.0, least_inner + 1e-3, 2 * math.pi / n)
    with pytest.raises(SolidError, match="wide"):
        curved_band(board_for, 1000.0, least_inner - 1.0, 2 * math.pi / n)


@pytest.mark.parametrize(("n", "outer_chord", "inner_chord", "sagitta"), [
    (8, 765.367, 688.830, 76.120), (12, 517.638, 465.874, 34.074), (18, 347.296, 312.567, 15.192),
    (24, 261.052, 234.947, 8.555),
])
def test_chords_and_sagitta_of_a_band(n: int, outer_chord: float, inner_chord: float, sagitta: float) -> None:
    """Ro 1000, Ri 900: 2 R sin(pi/n) and Ro (1 - cos(pi/n)), derived; measured on the sawn solid."""
    band = curved_band(milled("wide", 38.0, 200.0), 1000.0, 900.0, 2 * math.pi / n)
    v = band.solid.mesh[0]
    half = math.pi / n
    middle = 950.0 * math.sin(half)
    radius = np.hypot(v[:, 0] - middle, v[:, 1] + 950.0 * math.cos(half))
    outer, inner = v[np.abs(radius - 1000.0) < 1e-6], v[np.abs(radius - 900.0) < 1e-6]
    assert len(outer) + len(inner) == len(v)
    assert np.ptp(outer[:, 0]) == pytest.approx(outer_chord, abs=1e-3)
    assert np.ptp(inner[:, 0]) == pytest.approx(inner_chord, abs=1e-3)
    assert np.ptp(outer[:, 1]) == pytest.approx(sagitta, abs=1e-3)


@settings(max_examples=25, deadline=None)
@given(outer=st.floats(150.0, 3000.0), band=st.floats(20.0, 100.0), angle=st.floats(0.05, 3.1))
def test_volume_of_a_band(outer: float, band: float, angle: float) -> None:
    """(Ro² - Ri²) / 2 times angle times thickness; facets lie inside the circle by at most the sagitta."""
    inner = outer - band
    wide = milled("wide", 40.0, stock_width(outer, inner, angle) + 1.0)
    blank = curved_band(wide, outer, inner, angle)
    exact = (outer**2 - inner**2) / 2 * angle * 40.0
    assert blank.solid.volume == pytest.approx(exact, abs=SAGITTA * outer * angle * 40.0)
    assert blank.place("end")[:3, 3] == pytest.approx([(outer + inner) * math.sin(angle / 2), 0.0, 0.0], abs=1e-9)


@pytest.mark.parametrize(("outer", "inner", "angle"), [
    (500.0, 500.0, 0.5), (500.0, 600.0, 0.5), (500.0, 0.0, 0.5), (500.0, -10.0, 0.5), (500.0, 420.0, 0.0),
    (500.0, 420.0, 3.2), (500.0, 420.0, -0.5), (math.nan, 420.0, 0.5),
])
def test_bands_that_are_none_are_refused(outer: float, inner: float, angle: float) -> None:
    with pytest.raises(SolidError):
        curved_band(milled("wide", 40.0, 900.0), outer, inner, angle)


@pytest.mark.parametrize("name", ["outer", "inner", "face", "back"])
@settings(max_examples=20, deadline=None)
@given(along=st.floats(-130.0, 130.0))
def test_going_along_a_band_goes_along_its_arc(name: str, along: float) -> None:
    band = curved_band(STOCK, 500.0, 420.0, 0.7)
    radius = {"outer": 500.0, "inner": 420.0}.get(name, 460.0)
    at, middle = band.place(name, along), band.place(name)
    centre = np.array([460.0 * math.sin(0.35), -460.0 * math.cos(0.35)])
    assert np.linalg.norm(at[:2, 3] - centre) == pytest.approx(radius)
    turned = math.acos(np.clip(at[:3, 0] @ middle[:3, 0], -1, 1))
    assert turned == pytest.approx(abs(along) / radius, abs=1e-6)
    assert (at[:3, 3] - middle[:3, 3]) @ middle[:3, 0] == pytest.approx(radius * math.sin(along / radius))


@settings(max_examples=10, deadline=None)
@given(along=st.floats(-100.0, 100.0), side=st.sampled_from(["outer", "inner"]))
def test_a_rail_tenoned_into_a_band_anywhere_along_its_arc(along: float, side: str) -> None:
    band = curved_band(STOCK, 500.0, 420.0, 0.7)
    rail = board(milled("rail", 30.0, 60.0), 400.0)
    design = pair("blind tenon", rail, band, rail.place("end"), facing(band.place(side, along), math.pi / 2),
                  sizes={"depth": 30.0, "thickness": 12.0, "width": 24.0})
    assert all(part.finished.pieces == 1 for part in design.parts)
    if side == "outer":
        sound(design)


def test_a_segment_sawn_to_its_curve_is_the_band() -> None:
    """The blank of a ring segment, sawn between two radii, has the volume of the band of the same angle."""
    share = 2 * math.pi / 18
    stock = milled("segment", 38.0, 139.7)
    middle = 1000.0 - 139.7 / 2
    length = 2 * middle * math.tan(share / 2)
    blank = mitred_board(stock, length, share / 2, share / 2)
    centre = frame_of((length / 2, -middle, 0.0), Z, (1.0, 0.0, 0.0))
    curve = curve_feature(blank, centre, 1000.0, 885.0, share, after="ring")
    part = Part("segment", blank, (curve,))
    assert (curve.operation, curve.role, curve.after) == ("keep", "curve", "ring")
    assert part.solid(frozenset()) is blank.solid
    exact = (1000.0**2 - 885.0**2) / 2 * share * 38.0
    assert part.finished.volume == pytest.approx(exact, rel=1e-5)
    assert part.solid(frozenset({"ring"})) is part.finished


def test_curves_of_neighbours_meet_corner_to_corner() -> None:
    """Facets lie on one grid, so that the corners on a joint's plane are the same from both sides."""
    share = 2 * math.pi / 9
    blank = mitred_board(milled("segment", 38.0, 140.0), 300.0, share / 2, share / 2)
    middle = 150.0 / math.tan(share / 2)
    curve = curve_feature(blank, frame_of((150.0, -middle, 0.0), Z, (1.0, 0.0, 0.0)), 460.0, 400.0, share)
    v = Part("s", blank, (curve,)).finished.mesh[0]
    ends = [points(inverse(blank.places[name]), v) for name in ("start", "end")]
    on = [np.sort(e[np.abs(e[:, 2]) < 1e-7][:, 0]) for e in ends]
    assert on[0] == pytest.approx(-on[1][::-1], abs=1e-7) or on[0] == pytest.approx(on[1], abs=1e-7)


def test_an_imported_mesh_is_the_solid_it_bounds() -> None:
    source = hull([(x, y, z) for x, top in ((0, 40), (300, 60)) for y in (0, 80) for z in (0, top)])
    v, f = source.mesh
    blank = imported(STOCK, v + 7.0, f, grain=(0.0, 3.0, 0.0))
    assert blank.solid.volume == pytest.approx(source.volume, rel=1e-12)
    assert (blank.length, blank.width, blank.thickness) == pytest.approx((300.0, 80.0, 60.0))
    assert blank.grain == pytest.approx([0.0, 1.0, 0.0])
    assert blank.place("start")[:3, 3] == pytest.approx([7.0, 47.0, 37.0])
    assert blank.place("far_edge")[:3, 3] == pytest.approx([157.0, 7.0, 37.0])


def bad_meshes() -> dict[str, tuple[np.ndarray, np.ndarray, str]]:
    """Return meshes that bound no part, each with a word of what is said about it."""
    v, f = box((0, 0, 0), (10, 20, 30)).mesh
    far = v.copy()
    far[0, 0] = np.nan
    two = np.vstack([v, v + 100.0])
    return {
        "open": (v, f[:-1], "closed"),
        "inside out": (v, f[:, ::-1], "inward"),
        "nothing": (v, f[:0], "triangles"),
        "flat": (v * [1, 1, 0], f, "enclose nothing|closed"),
        "not a number": (far, f, "no number"),
        "a corner too many": (v, f + 1, "not there"),
        "a corner below none": (v, f - 1, "not there"),
        "squares": (v, np.zeros((6, 4), dtype=np.int64), "triangles"),
        "two pieces": (two, np.vstack([f, f + len(v)]), "2 separate pieces"),
        "in the next town": (v + 1e9, f, "100 m"),
    }


@pytest.mark.parametrize("name", bad_meshes())
def test_meshes_that_bound_no_part_are_refused(name: str) -> None:
    v, f, says = bad_meshes()[name]
    with pytest.raises(SolidError, match=says):
        imported(STOCK, v, f)


def test_grain_without_a_direction_is_refused() -> None:
    v, f = board(STOCK, 300.0).solid.mesh
    with pytest.raises(SolidError, match="grain"):
        imported(STOCK, v, f, grain=(0.0, 0.0, 0.0))


def test_a_loft_through_two_squares_is_a_frustum() -> None:
    """h/3 (A1 + A2 + sqrt(A1 A2)), the frustum's formula (Euclid XII for the pyramid)."""
    square = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)], dtype=float)
    sections = [np.column_stack([10 * square, np.zeros(4)]), np.column_stack([4 * square, np.full(4, 9.0)])]
    solid = loft(sections)
    assert solid.volume == pytest.approx(9 / 3 * (400 + 64 + 160), rel=1e-12)
    assert solid is loft(sections)
