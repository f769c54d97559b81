"""Steps: two faces that should be flush, how far one stands above the other, and a cut across their seam."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assembly.facets import facets
from assembly.findings import Finding
from exports.pictures.gauge import Gauge
from exports.pictures.moment import Moment
from exports.pictures.sections import FRONT, in_wood
from model.frames import Vector, directions, inverse, points, unit

BESIDE = 0.98
"""Two faces look the same way when the cosine between their normals is more than this (about 11 degrees)."""
REACH = 40.0
"""The faces of a seam come within this of its place, mm."""


UNDER, BY, TRIED = 0.3, 1.5, 24
"""Wood is felt for so far below the lower face and so far beside a seam, mm, in so many directions."""


@dataclass(frozen=True, eq=False)
class Step:
    """A step: what is measured, its height (mm), and the normal of the cut (towards the camera), which runs along the
    seam."""

    gauge: Gauge
    high: float
    normal: Vector


@dataclass(frozen=True, eq=False)
class _Face:
    normal: Vector
    level: float
    """How far the face lies along its normal from the place, mm."""
    across: Vector
    """A unit direction in the face."""


def step_at(finding: Finding, held: Moment, where: Vector) -> Step | None:
    """Return the step that a finding tells of between its first two parts; None where no two faces of theirs look the
    same way there."""
    placed = [n for n in finding.parts if n in held.assembly.frames][:2]
    if len(placed) < 2:
        return None
    ones, others = (_faces(held, n, where) for n in placed)
    told = finding.amount.value if finding.amount is not None and finding.amount.unit == "mm" else None
    pairs = [(a, b) for a in ones for b in others if float(a.normal @ b.normal) > BESIDE]
    if not pairs:
        return None
    one, other = min(pairs, key=lambda pair: _unlike(pair[0], pair[1], told))
    across = _over(held, placed, where, one, other)
    along = np.cross(one.normal, across)
    along = along if float(along @ FRONT) >= 0 else -along
    low, high = where + one.normal * one.level, where + one.normal * other.level
    return Step(Gauge((low + high) / 2, low, high, across), other.level - one.level, along)


def _over(held: Moment, placed: Sequence[str], where: Vector, one: _Face, other: _Face) -> Vector:
    """Return the way along the faces from the first part to the second, over their seam at a place."""
    low = where + one.normal * (min(one.level, other.level) - UNDER)
    ways = [one.across * math.cos(a) + np.cross(one.normal, one.across) * math.sin(a)
            for a in np.linspace(0.0, 2 * math.pi, TRIED, endpoint=False)]
    right = [w for w in ways if _in(held, placed[1], low + BY * w) and _in(held, placed[0], low - BY * w)]
    if right:
        middle = sum(right, np.zeros(3))
        return max(right, key=lambda w: round(float(w @ middle), 9))
    apart = _middle(held, placed[1]) - _middle(held, placed[0])
    flat = apart - one.normal * float(apart @ one.normal)
    return unit(flat) if float(np.linalg.norm(flat)) > 1e-9 else one.across


def _in(held: Moment, name: str, at: Vector) -> bool:
    return in_wood(held.solid(name), points(inverse(held.frame(name)), at))


def _unlike(one: _Face, other: _Face, told: float | None) -> float:
    """Return how unlike the seam told of two faces are: far from its place, or apart by another amount."""
    by = abs(other.level - one.level)
    off = by if told is None else abs(by - told)
    return off + 0.2 * min(abs(one.level), abs(other.level)) + 10.0 * (1.0 - float(one.normal @ other.normal))


def _faces(held: Moment, name: str, where: Vector) -> list[_Face]:
    """Return the faces of a part that come near a place."""
    frame, found = held.frame(name), facets(held.solid(name))
    local = points(inverse(frame), where)
    levels = found.offsets - found.normals @ local
    near = np.linalg.norm(local - np.clip(local, found.low, found.high), axis=1) < REACH
    return [_Face(directions(frame, found.normals[f]), float(levels[f]), directions(frame, found.bases[f, 0]))
            for f in np.flatnonzero(near & (np.abs(levels) < REACH))]


def _middle(held: Moment, name: str) -> Vector:
    at: NDArray[np.float64] = points(held.frame(name), held.solid(name).centroid)
    return at
