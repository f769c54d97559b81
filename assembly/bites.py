"""Bites: where two shapes are in the same wood, and how deep.

Two shapes that merely touch must never be told to collide, so one of the two is shrunk by
a hair first; what is still left in common is measured by its thickness and the hair is
added back. Both are shrunk in turn, so the answer does not depend on which comes first.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import manifold3d
import numpy as np
from numpy.typing import NDArray

from assembly.facets import facets
from assembly.meeting import REMEMBERED, Meeting
from assembly.shrink import DELTA, shrunk
from assembly.thickness import CRUMB, thickness
from assembly.windows import near
from model.frames import inverse, points
from model.solids import Solid

Floats = NDArray[np.float64]

TOLERANCE = 0.025
"""Wood this deep in other wood, mm, is an overlap; less is a touch. A little above DELTA, to clear rounding."""
ALIKE = 5 * DELTA
"""What shrinking the one and the other found is one place when the depths differ by less, mm, and it is nearest."""
FRONTS_MOST = 48
"""How many of a shape's faces, largest first, are tried for holding another shape off before anything is cut."""


@dataclass(frozen=True, eq=False)
class Bite:
    """An overlap in the first part's own frame."""

    depth: float
    where: Floats
    volume: float
    told: bool
    along: Floats


@lru_cache(maxsize=REMEMBERED)
def bites(meeting: Meeting) -> tuple[Bite, ...]:
    """Return where two shapes are in the same wood, in the first one's own frame; most often nowhere."""
    if _parted(meeting):
        return ()
    back = inverse(meeting.frame)
    a = near(meeting.a, meeting.b, meeting.frame).manifold
    b = _carried(near(meeting.b, meeting.a, back), meeting.frame)
    small_a, small_b = shrunk(meeting.a), shrunk(meeting.b)
    if small_a is None and small_b is None:
        return _untold(a ^ b, meeting)
    by_a = [] if small_a is None else _pieces(near(small_a, meeting.b, meeting.frame).manifold ^ b)
    by_b = [] if small_b is None else _pieces(a ^ _carried(near(small_b, meeting.a, back), meeting.frame))
    deep = [_facing(bite, meeting) for bite in _agreed(by_a, by_b) if bite.depth > TOLERANCE]
    return tuple(_made_whole(deep, a ^ b)) if deep else ()


def _made_whole(found: list[Bite], common: manifold3d.Manifold) -> list[Bite]:
    """Give the pieces back the volume that shrinking took, in proportion."""
    more = float(common.volume()) / sum(bite.volume for bite in found)
    return [replace(bite, volume=bite.volume * more) for bite in found]


def _carried(solid: Solid, frame: Floats) -> manifold3d.Manifold:
    return solid.manifold.transform(np.ascontiguousarray(frame[:3]))


def _parted(meeting: Meeting) -> bool:
    """Whether a face of one holds the two apart, or nearly: then nothing in common is as wide as the hair."""
    return _held_off(meeting.a, meeting.b, meeting.frame) or _held_off(meeting.b, meeting.a, inverse(meeting.frame))


def _held_off(one: Solid, other: Solid, frame: Floats) -> bool:
    normals, reach = _fronts(one)
    near = _corners(other) @ (normals @ frame[:3, :3]).T
    return bool(np.any(near.min(axis=0) + normals @ frame[:3, 3] >= reach - DELTA))


@lru_cache(maxsize=8192)
def _fronts(solid: Solid) -> tuple[Floats, Floats]:
    """Return the ways (F, 3) the shape's larger faces look and how far (F,) the shape reaches along each."""
    flat = facets(solid)
    largest = np.argsort(-flat.areas, kind="stable")[:FRONTS_MOST]
    normals = np.unique(np.round(flat.normals[largest], 9), axis=0)
    return normals, (_corners(solid) @ normals.T).max(axis=0)


@lru_cache(maxsize=8192)
def _corners(solid: Solid) -> Floats:
    """Return the corners (N, 3) of the shape's hull."""
    return np.array(solid.manifold.hull().to_mesh64().vert_properties, dtype=np.float64)[:, :3]


def _pieces(common: manifold3d.Manifold) -> list[Bite]:
    if common.is_empty() or common.volume() < CRUMB:
        return []
    made = [_measured(piece) for piece in common.decompose() if piece.volume() > CRUMB]
    return sorted(made, key=lambda bite: -bite.depth)


def _measured(piece: manifold3d.Manifold) -> Bite:
    found = thickness(piece)
    return Bite(found.depth + DELTA, found.where, float(piece.volume()), True, found.along)


def _agreed(by_a: list[Bite], by_b: list[Bite]) -> list[Bite]:
    """Pair what shrinking the one and shrinking the other found, like depths first, and take the middle of them."""
    left = list(by_b)
    agreed: list[Bite] = []
    for bite in by_a:
        if not left:
            agreed.append(bite)
            continue
        k = min(range(len(left)), key=lambda n: (abs(left[n].depth - bite.depth) > ALIKE,
                                                 float(np.linalg.norm(left[n].where - bite.where))))
        twin = left.pop(k)
        agreed.append(replace(bite, depth=(bite.depth + twin.depth) / 2, volume=(bite.volume + twin.volume) / 2,
                              where=(bite.where + twin.where) / 2))
    return agreed + left


def _facing(bite: Bite, meeting: Meeting) -> Bite:
    """Turn the direction so that it points from a towards b."""
    middle = points(meeting.frame, meeting.b.bounds.mean(axis=0)) - meeting.a.bounds.mean(axis=0)
    return bite if float(middle @ bite.along) >= 0 else replace(bite, along=-bite.along)


def _untold(common: manifold3d.Manifold, meeting: Meeting) -> tuple[Bite, ...]:
    """Judge two shapes that cannot be shrunk: clear when nothing in common is as wide as the hair, else untold."""
    pieces = _pieces(common)
    deep = [replace(_facing(b, meeting), depth=b.depth - DELTA, told=False) for b in pieces]
    return tuple(b for b in deep if b.depth > DELTA)
