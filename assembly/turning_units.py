"""Ways round for sub-assemblies: half turns about the axes of the box around them, named as they stand in the work."""

from __future__ import annotations

from collections.abc import Iterator
from math import pi

import numpy as np
from numpy.typing import NDArray

from assembly.symmetry import carries
from assembly.turning_home import NEAR, Seats
from assembly.turning_pieces import Piece, lies
from assembly.turning_ways import SQUARE, Way
from model.frames import Frame, Vector, Z, about, inverse, points, turn

Floats = NDArray[np.float64]

AXES_MOST = 24
"""Boxes of the same size tried, where a sub-assembly is as round as a ring."""
UPRIGHT = 0.9
"""An axis counts as upright, or as level, within about 25 degrees."""


def unit_ways(piece: Piece, seats: Seats) -> list[Way]:
    """Return the half turns (of the world at its glue-up) that bring a sub-assembly's seats near seats, its own
    symmetries left out; quarter turns too where two sides of the box look alike."""
    now = len(piece.now)
    near = [way for way in _turns(piece) if _carries(seats, way.turn, now)]
    if not near:
        return []
    return [way for way in near if not _symmetry(piece, way.turn)]


def _carries(seats: Seats, turned: Frame, now: int) -> bool:
    """Whether every seat of now that is cut into the wood lies within NEAR of a like one after a turn."""
    cut = seats.cut[:now]
    return bool(np.all(seats.off(turned)[:now][cut] <= NEAR))


def _symmetry(piece: Piece, turned: Frame) -> bool:
    """Whether a turn carries every part of a sub-assembly onto one of its parts."""
    laid = [lies(piece.session.at, n, piece.session.done) for n in piece.parts]
    middles = np.array([points(one.frame, one.solid.centroid) for one in laid])
    for one, middle in zip(laid, points(turned, middles), strict=True):
        there = [other for other, at in zip(laid, middles, strict=True) if float(np.abs(at - middle).max()) < 0.1]
        if not any(carries(inverse(other.frame) @ turned @ one.frame, one.solid, other.solid) for other in there):
            return False
    return True


def _turns(piece: Piece) -> Iterator[Way]:
    known: list[Floats] = []
    for middle, axes, size in _boxes(piece):
        for k in range(3):
            level = [n for n in range(3) if n != k]
            alike = abs(size[level[0]] - size[level[1]]) < SQUARE
            for angle in (pi, pi / 2, -pi / 2) if alike else (pi,):
                turned = about(middle, turn(axes[k], angle))
                if not any(np.allclose(turned, one, atol=1e-6) for one in known):
                    known.append(turned)
                    yield Way(turned, _called(axes[k], angle))


def _boxes(piece: Piece) -> list[tuple[Vector, Floats, Vector]]:
    """Return the smallest boxes around a sub-assembly that lie as one of its parts does: middle, axes (3, 3) in rows,
    size."""
    at, done = piece.session.at, piece.session.done
    corners = np.concatenate([at.vertices(n, done) for n in piece.parts])
    found: list[tuple[float, Vector, Floats, Vector]] = []
    for axes in _distinct([at.frames[n][:3, :3].T for n in piece.parts]):
        along = corners @ axes.T
        low, high = along.min(axis=0), along.max(axis=0)
        found.append((float(np.prod(high - low)), (low + high) / 2.0 @ axes, axes, high - low))
    least = min(volume for volume, *_ in found)
    return [(middle, axes, size) for volume, middle, axes, size in found if volume <= least * (1.0 + 1e-6)][:AXES_MOST]


def _distinct(axes: list[Floats]) -> list[Floats]:
    """Return sets of axes that are not each other's by swapping or reversing them."""
    out: list[Floats] = []
    for one in axes:
        if not any(np.all(np.abs(one @ other.T).max(axis=1) > 1.0 - 1e-9) for other in out):
            out.append(one)
    return out


def _called(axis: Vector, angle: float) -> str:
    much = "half round" if abs(angle) > 3.0 else "a quarter round"
    if abs(float(axis @ Z)) > UPRIGHT:
        return f"{much} as it stands"
    if abs(float(axis @ Z)) < 1.0 - UPRIGHT and abs(angle) > 3.0:
        if abs(axis[0]) > UPRIGHT:
            return "upside down, front to back"
        if abs(axis[1]) > UPRIGHT:
            return "upside down, left to right"
        return "upside down"
    return f"{much} about a leaning axis" if abs(float(axis @ Z)) > 0.1 else f"{much} about a level axis"


def box_off(piece: Piece, moved: Frame) -> float:
    """Return how far a motion of the world takes the sides of the box around a sub-assembly off their places, mm."""
    at, done = piece.session.at, piece.session.done
    corners = np.concatenate([at.vertices(n, done) for n in piece.parts])
    worst = 0.0
    for _, axes, _ in _boxes(piece):
        before, after = corners @ axes.T, points(moved, corners) @ axes.T
        off = np.abs(np.vstack([before.min(axis=0) - after.min(axis=0), before.max(axis=0) - after.max(axis=0)]))
        worst = max(worst, float(off.max()))
    return worst
