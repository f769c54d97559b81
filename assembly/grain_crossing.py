"""Crossing grain: glued faces whose two grains run across each other, and how far they move apart with the seasons.

Wood moves across its grain and hardly along it. Where long grain is glued to long grain that
crosses it at an angle t, the one wants to grow along the other's grain by its width there
times its change across the grain times sin² t, and is held.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import asin, sqrt

import numpy as np
from numpy.typing import NDArray

from assembly.borders import Faces
from assembly.contacts import OPPOSED
from assembly.glued import Glued, glued_pairs, is_glued, names
from assembly.grain import ALONG
from assembly.meeting import REMEMBERED, Meeting
from assembly.placing import Assembly
from model.frames import points
from model.timber import movement

Floats = NDArray[np.float64]

CROSSING_LEAST = 0.1
"""Grains that cross at less than about 18 degrees (sin² t) move together."""


@dataclass(frozen=True, eq=False)
class Crossing:
    """Long grain glued across long grain: part `moves` grows by `movement` mm along the grain of part `held_by`.

    `width`: how wide the glued face is along that grain, mm; `angle` between the two grains,
    rad; `radial`: the movement of a quarter-sawn piece, None where it is not known; `joints`:
    the glued joints the two share; `where` (3,) in the world.
    """

    moves: str
    held_by: str
    joints: tuple[str, ...]
    width: float
    angle: float
    movement: float
    radial: float | None
    where: Floats


@dataclass(frozen=True, eq=False)
class _Plane:
    """A flat place where two shapes are glued: sin² of the angle of their grains, how wide it is along each grain."""

    crossing: float
    along_a: float
    along_b: float
    middle: Floats


def crossings(assembly: Assembly, dry: float, wet: float, least: float) -> Iterator[Crossing]:
    """Yield where the grains of two parts glued to each other cross, the place of most movement for each two parts.

    From `dry` to `wet`, % moisture. Left out: faces less than `least` mm wide, temporary parts,
    dry joints, and species whose movement is not in the table. The worse is taken: a piece that
    moves tangentially, as a flat-sawn board's width does. All that one plane of the glued
    joints between two parts covers counts as one width: the wood between two tenons is held too.
    """
    for pair in glued_pairs(assembly):
        worst = _worst(assembly, pair, dry, wet, least)
        if worst is not None:
            yield worst


def _worst(assembly: Assembly, pair: Glued, dry: float, wet: float, least: float) -> Crossing | None:
    found: list[Crossing] = []
    for plane in _planes(pair.meeting, pair.grain, pair.limit, least, pair.dry):
        where = points(assembly.frames[pair.a.name], plane.middle)
        for moves, held_by, width in ((pair.a, pair.b, plane.along_b), (pair.b, pair.a, plane.along_a)):
            kind = moves.blank.stock.species
            most, radial = movement(kind, width, dry, wet), movement(kind, width, dry, wet, tangential=False)
            if most is not None and width >= least:
                found.append(Crossing(moves.name, held_by.name, names(pair.joints), width, asin(sqrt(plane.crossing)),
                                      most * plane.crossing, None if radial is None else radial * plane.crossing,
                                      where))
    return max(found, key=lambda c: c.movement, default=None)


@lru_cache(maxsize=REMEMBERED)
def _planes(meeting: Meeting, told: bytes, limit: float, least: float, dry: bytes) -> tuple[_Plane, ...]:
    """Return the planes where long grain lies across long grain, `least` mm wide or more, in the first one's frame."""
    one, other = Faces.of(meeting.a), Faces.of(meeting.b, meeting.frame)
    grain_a, grain_b = np.frombuffer(told).reshape(2, 3)
    i, j = np.nonzero(one.normals @ other.normals.T < OPPOSED)
    near = np.all((one.low[i] <= other.high[j] + limit) & (other.low[j] <= one.high[i] + limit), axis=1)
    lies = (np.abs(one.normals[i] @ grain_a) < ALONG) & (np.abs(one.normals[i] @ grain_b) < ALONG)
    found: dict[tuple[float, ...], list[tuple[int, int]]] = {}
    for face, back in zip(i[near & lies].tolist(), j[near & lies].tolist(), strict=True):
        key = (*(np.round(one.normals[face], 4) + 0.0).tolist(), round(float(one.offsets[face]), 2) + 0.0)
        found.setdefault(key, []).append((face, back))
    planes = (_plane(one, other, faces, grain_a, grain_b, limit, dry) for faces in found.values())
    return tuple(p for p in planes if p is not None and max(p.along_a, p.along_b) >= least)


def _plane(one: Faces, other: Faces, faces: Sequence[tuple[int, int]], grain_a: Floats, grain_b: Floats, limit: float,
           dry: bytes) -> _Plane | None:
    normal = one.normals[faces[0][0]]
    along_a, along_b = (_in_plane(g, normal) for g in (grain_a, grain_b))
    crossing = 1.0 - min(1.0, float(along_a @ along_b)) ** 2
    if crossing < CROSSING_LEAST:
        return None
    corners = [c for i, j in faces for c in _common(one, other, i, j, limit) if is_glued(c.mean(axis=0), dry)]
    if not corners:
        return None
    at = np.vstack(corners)
    wide_a, wide_b = np.ptp(at @ along_a), np.ptp(at @ along_b)
    return _Plane(crossing, float(wide_a), float(wide_b), (at.min(axis=0) + at.max(axis=0)) / 2.0)


def _in_plane(way: Floats, normal: Floats) -> Floats:
    flat: Floats = way - float(way @ normal) * normal
    return flat / float(np.linalg.norm(flat))


def _common(one: Faces, other: Faces, i: int, j: int, limit: float) -> Iterator[Floats]:
    """Yield the corners (K, 3) of the pieces that two faces have in common, in the first one's plane."""
    common = one.flat.section(i) ^ one.onto(other, j, i)
    if common.is_empty():
        return
    lifted = one.normals[i] * one.offsets[i]
    for piece in common.decompose():
        corners = np.vstack(piece.to_polygons()) @ one.flat.basis(i) + lifted
        gap = (other.offsets[j] - corners @ other.normals[j]) / float(one.normals[i] @ other.normals[j])
        if float(np.abs(gap).min()) <= limit:
            yield corners
