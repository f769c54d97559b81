"""Symmetries of solids against the orders of the point groups.

Source: the point groups in Schoenflies' notation, as every textbook of crystallography lists them (International
Tables for Crystallography, volume A, chapter on point groups; from memory, page unknown). The number of operations of
a group is its order; those that a person can carry out with a piece of wood are its proper ones. T has 12 (with
mirrors Td 24), O 24 (Oh 48), I 60 (Ih 120), D_n 2n (D_nh and D_nd 4n), C_n n (C_nv 2n), S_2 alone is a point of
inversion. A chiral solid is one whose group has no improper operation.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from assembly.symmetry import chiral, corners, maps, turns
from model.frames import Z, inverse, move, turn
from model.solids import Solid, box, hull, prism

GOLDEN = (1.0 + math.sqrt(5.0)) / 2.0
SIGNS = [(a, b) for a in (-1.0, 1.0) for b in (-1.0, 1.0)]
TETRAHEDRON = 40.0 * np.array([(1, 1, 1), (1, -1, -1), (-1, 1, -1), (-1, -1, 1)], dtype=np.float64)
ICOSAHEDRON = 40.0 * np.array([p for a, b in SIGNS for p in ((0, a, b * GOLDEN), (a, b * GOLDEN, 0),
                                                             (b * GOLDEN, 0, a))])
DODECAHEDRON = 40.0 * np.array([(a, b, c) for a, b in SIGNS for c in (-1, 1)]
                               + [p for a, b in SIGNS for p in ((0, a / GOLDEN, b * GOLDEN),
                                                                (a / GOLDEN, b * GOLDEN, 0),
                                                                (b * GOLDEN, 0, a / GOLDEN))])


def polygon(n: int, radius: float = 100.0, phase: float = 0.0) -> np.ndarray:
    angles = 2.0 * math.pi * np.arange(n) / n + phase
    return radius * np.column_stack([np.cos(angles), np.sin(angles)])


def right_prism(n: int) -> Solid:
    return prism(polygon(n), 0.0, 37.0)


def pyramid(n: int) -> Solid:
    return hull(np.vstack([np.column_stack([polygon(n), np.zeros(n)]), [(0.0, 0.0, 71.0)]]))


def twisted(n: int, angle: float) -> Solid:
    """Return an n-gon over an n-gon that is turned: an antiprism where the turn is half a corner, else of group D_n."""
    ends = [np.column_stack([polygon(n, phase=p), np.full(n, z)]) for p, z in ((0.0, 0.0), (angle, 90.0))]
    return hull(np.vstack(ends))


def ring(n: int) -> Solid:
    return right_prism(n).cut(prism(polygon(n, 70.0), -1.0, 40.0))


def screw() -> Solid:
    """Return a box with two bites, each in one end, that are each other's image in a point: group Ci."""
    bite = box((-1, -1, -1), (21, 13, 7))
    inverted = np.diag([-1.0, -1.0, -1.0, 1.0])
    centre = move(60, 25, 15)
    return box((0, 0, 0), (120, 50, 30)).cut(bite, bite.moved(centre @ inverted @ inverse(centre)))


def pinwheel(n: int) -> Solid:
    """Return a drum with n slanting slots in its wall, and n-fold turns about its axis only in its plan: group C_nh."""
    slot = box((60.0, 0.0, -1.0), (120.0, 12.0, 40.0))
    return ring(4 * n).cut(*(slot.moved(turn(Z, 2 * math.pi * k / n)) for k in range(n)))


GROUPS = {
    "cube, Oh": (box((0, 0, 0), (50, 50, 50)), 24, 24),
    "octahedron, Oh": (hull(60.0 * np.vstack([np.eye(3), -np.eye(3)])), 24, 24),
    "box, D2h": (box((0, 0, 0), (50, 60, 70)), 4, 4),
    "square prism, D4h": (box((0, 0, 0), (50, 50, 70)), 8, 8),
    "regular 16-gon prism, D16h": (right_prism(16), 32, 32),
    "regular 7-gon prism, D7h": (right_prism(7), 14, 14),
    "ring of 24 sides, D24h": (ring(24), 48, 48),
    "ring of 360 sides, D360h": (ring(360), 720, 720),
    "regular tetrahedron, Td": (hull(TETRAHEDRON), 12, 12),
    "regular icosahedron, Ih": (hull(ICOSAHEDRON), 60, 60),
    "regular dodecahedron, Ih": (hull(DODECAHEDRON), 60, 60),
    "square pyramid, C4v": (pyramid(4), 4, 4),
    "pyramid of 9 sides, C9v": (pyramid(9), 9, 9),
    "square antiprism, D4d": (twisted(4, math.pi / 4), 8, 8),
    "antiprism of 5 sides, D5d": (twisted(5, math.pi / 5), 10, 10),
    "twisted square prism, D4": (twisted(4, 0.3), 8, 0),
    "twisted prism of 6 sides, D6": (twisted(6, 0.2), 12, 0),
    "box with two bites through a point, Ci": (screw(), 1, 1),
    "drum with 5 slots, C5h": (pinwheel(5), 5, 5),
}
"""Each solid: how many proper operations its group has, and how many improper ones."""


@pytest.mark.parametrize("name", GROUPS)
def test_a_solid_has_as_many_symmetries_as_its_group(name: str) -> None:
    solid, proper, improper = GROUPS[name]
    assert len(turns(solid)) == proper
    assert len(maps(solid, solid, mirrored=True)) == improper
    assert all(np.linalg.det(f[:3, :3]) > 0 for f in turns(solid))
    assert all(np.linalg.det(f[:3, :3]) < 0 for f in maps(solid, solid, mirrored=True))


@pytest.mark.parametrize("name", GROUPS)
def test_only_chiral_solids_have_no_improper_map(name: str) -> None:
    solid, _, improper = GROUPS[name]
    assert chiral(solid) == (improper == 0)


@pytest.mark.parametrize(("solid", "count"), [
    (box((0, 0, 0), (50, 60, 70)), 8), (right_prism(16), 32), (hull(TETRAHEDRON), 4), (hull(DODECAHEDRON), 20),
    (hull(ICOSAHEDRON), 12), (ring(24), 96),
])
def test_a_solid_has_the_corners_that_everybody_counts(solid: Solid, count: int) -> None:
    """Euler's and everybody's counts: a box has 8 corners, a dodecahedron 20, an icosahedron 12."""
    assert len(corners(solid)) == count


@pytest.mark.parametrize("angle", [0.1, 0.3, 0.5])
def test_twisting_the_other_way_gives_the_other_hand(angle: float) -> None:
    one, other = twisted(4, angle), twisted(4, -angle)
    assert not maps(one, other)
    assert len(maps(one, other, mirrored=True)) == 8
