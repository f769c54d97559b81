"""Rings of mitred boards against the constants of regular polygons.

Sources: the octagon's r = (1 + sqrt 2) s / 2 and area 2 (1 + sqrt 2) s², read; tables of such
constants stand in machinists' handbooks (from memory, page unknown). All figures below are
derived: side = 2 R sin(pi/n) = 2 r tan(pi/n), area = n/2 R² sin(2 pi/n), R to the corners, r to
the middles of the sides. They are measured on placed solids, not on formulas of the project.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from assembly.placing import Assembly, place
from model.draft import Draft
from model.frames import X, turn
from model.shapes.curve import stock_length, stock_width
from model.shapes.mitred_board import mitred_board
from tests.zoo import milled

CONSTANTS = {
    8: (22.5, 0.765367, 0.828427, 0.923880, 2.828427, 4.828427),
    10: (18.0, 0.618034, 0.649839, 0.951057, 2.938926, 7.694209),
    12: (15.0, 0.517638, 0.535898, 0.965926, 3.000000, 11.196152),
    16: (11.25, 0.390181, 0.397825, 0.980785, 3.061467, 20.109358),
    18: (10.0, 0.347296, 0.352654, 0.984808, 3.078181, 25.520768),
    20: (9.0, 0.312869, 0.316769, 0.987688, 3.090170, 31.568758),
    24: (7.5, 0.261052, 0.263305, 0.991445, 3.105829, 45.574525),
}
"""n: mitre in degrees, side/R, side/r, r/R, area/R², area/side². Derived."""

SIDE, WIDTH, THICKNESS = 400.0, 90.0, 38.0


@cache
def ring(n: int, off: float = 0.0) -> Assembly:
    """Return n boards with 400 mm long outer edges, mitred 180/n degrees (and `off` rad more), glued end to end."""
    mitre = math.pi / n + off
    length = SIDE - WIDTH * math.tan(math.pi / n)
    blank = mitred_board(milled("ring", THICKNESS, WIDTH), length, mitre, mitre)
    draft = Draft(f"ring of {n}")
    for i in range(n):
        draft.add(f"segment_{i}", blank)
    for i in range(n):
        draft.join(f"seam_{i}", "glued face", f"segment_{i}", f"segment_{(i + 1) % n}", blank.place("end"),
                   blank.place("start") @ turn(X, math.pi), fit=0.0)
    return place(draft.finish())


def outer_corners(assembly: Assembly) -> np.ndarray:
    """Return the corners (n, 2) of the outside, seen along the ring's axis."""
    out = []
    for name in assembly.names:
        seen = assembly.vertices(name)
        local = assembly.solid(name).mesh[0]
        out.append(seen[(local[:, 1] > WIDTH / 2 - 1e-6) & (local[:, 0] < 0.0) & (local[:, 2] > 0.0)][0])
    return np.array(out)


@pytest.mark.parametrize("n", CONSTANTS)
def test_a_ring_of_mitred_boards_closes_as_a_regular_polygon(n: int) -> None:
    _, side_over_corner, side_over_middle, middle_over_corner, area_corner, area_side = CONSTANTS[n]
    assembly = ring(n)
    assert not assembly.open_loops and not assembly.loose
    corners = outer_corners(assembly)
    centre = corners.mean(axis=0)
    radii = np.linalg.norm(corners - centre, axis=1)
    sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    middles = np.linalg.norm((np.roll(corners, -1, axis=0) + corners) / 2 - centre, axis=1)
    assert sides == pytest.approx(SIDE, abs=1e-4)
    assert SIDE / radii == pytest.approx(side_over_corner, abs=1e-6)
    assert SIDE / middles == pytest.approx(side_over_middle, abs=1e-6)
    assert middles / radii == pytest.approx(middle_over_corner, abs=1e-6)
    spokes = corners - centre
    area = np.linalg.norm(np.cross(spokes, np.roll(spokes, -1, axis=0)), axis=1).sum() / 2
    assert area / radii[0] ** 2 == pytest.approx(area_corner, abs=2e-6)
    assert area / SIDE**2 == pytest.approx(area_side, abs=2e-6)


def test_the_octagons_published_relation() -> None:
    """r = (1 + sqrt 2) s / 2 and A = 2 (1 + sqrt 2) s², read. The wood is the difference of two octagons."""
    assembly = ring(8)
    middle = (1 + math.sqrt(2)) * SIDE / 2
    inner = 2 * (middle - WIDTH) / (1 + math.sqrt(2))
    area = 2 * (1 + math.sqrt(2)) * (SIDE**2 - inner**2)
    assert sum(assembly.solid(name).volume for name in assembly.names) == pytest.approx(area * THICKNESS, rel=1e-9)


@pytest.mark.parametrize(("n", "mitre"), [(n, row[0]) for n, row in CONSTANTS.items()])
def test_the_mitre_is_half_a_segments_share(n: int, mitre: float) -> None:
    """180/n degrees from square, measured between an end face and the board's length. Derived."""
    blank = ring(n).part("segment_0").blank
    out = blank.places["end"][:3, 2]
    assert math.degrees(math.acos(float(out @ X))) == pytest.approx(mitre, abs=1e-9)


@pytest.mark.parametrize(("n", "error", "total"), [(8, 0.25, 4.0), (18, 0.1, 3.6), (24, 0.5, 24.0)])
def test_a_small_error_at_every_cut_adds_up(n: int, error: float, total: float) -> None:
    """Every cut off by e degrees: the ring closes 2 n e degrees wrong. Derived."""
    (seam,) = ring(n, math.radians(error)).open_loops
    assert math.degrees(seam.angle) == pytest.approx(total, abs=1e-6)
    assert seam.gap > 0.05


@pytest.mark.parametrize(("n", "width", "chord"), [
    (8, 168.508, 765.367), (10, 144.049, 618.034), (12, 130.667, 517.638), (16, 117.293, 390.181),
    (18, 113.673, 347.296), (20, 111.080, 312.869), (24, 107.700, 261.052),
])
def test_the_board_a_curved_band_is_sawn_from(n: int, width: float, chord: float) -> None:
    """Radii 1000 and 900: width Ro - Ri cos(pi/n), outer chord 2 Ro sin(pi/n). Derived."""
    assert stock_width(1000.0, 900.0, 2 * math.pi / n) == pytest.approx(width, abs=5e-4)
    assert stock_length(1000.0, 2 * math.pi / n) == pytest.approx(chord, abs=5e-4)
