"""Interference: wood where other wood already is, and how deep.

Two parts that merely touch must never be told to collide, so one of the two is shrunk by
a hair first; what is still left in common is measured by its thickness and the hair is
added back. Both are shrunk in turn, so the answer does not depend on which comes first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import manifold3d
import numpy as np
from numpy.typing import NDArray

from assembly.broad import near_pairs
from assembly.facets import facets
from assembly.placing import Assembly
from assembly.shrink import DELTA, shrunk
from assembly.standing import REMEMBERED, Meeting, larger_first, meetings, standing
from assembly.thickness import CRUMB, thickness
from model.frames import directions, inverse, points
from model.part import ALL
from model.solids import Solid

Floats = NDArray[np.float64]

TOLERANCE = 0.025
"""Wood this deep in other wood, mm, is an overlap; less is a touch. A little above DELTA, to clear rounding."""
ALIKE = 5 * DELTA
"""What shrinking the one and the other found is one place when the depths differ by less, mm, and it is nearest."""
FRONTS_MOST = 48
"""How many of a shape's faces, largest first, are tried for holding another shape off before anything is cut."""


@dataclass(frozen=True, eq=False)
class Overlap:
    """One place where two parts are in the same wood.

    `depth`: how much wood there is to take off, mm, across its thickest bit; `where` the
    centre (3,) of that bit and `along` the unit direction (3,) across it, in the world, from
    a towards b; `volume` mm³, exact for all places of a pair together. `told` is False where
    both parts have walls too thin to decide: `depth` is then the most it can be.
    """

    a: str
    b: str
    depth: float
    where: Floats
    volume: float
    told: bool
    along: Floats


@dataclass(frozen=True, eq=False)
class _Bite:
    """An overlap in the first part's own frame."""

    depth: float
    where: Floats
    volume: float
    told: bool
    along: Floats


def overlaps(assembly: Assembly, done: frozenset[str] = ALL, names: Sequence[str] | None = None) -> tuple[Overlap, ...]:
    """Return every place where two of the named parts (all then there when None) are in the same wood.

    Deepest first. `done` names the stages behind the parts. Promised: an overlap deeper than
    TOLERANCE in every direction is found, and faces that touch or stand clear are not.
    Not promised: the exact depth of a thick overlap that is hollow (see `thickness`).
    """
    return _overlaps(assembly, done, assembly.there(done) if names is None else tuple(names))


@lru_cache(maxsize=32)
def _overlaps(assembly: Assembly, done: frozenset[str], names: tuple[str, ...]) -> tuple[Overlap, ...]:
    stand = standing(assembly, done, names)
    pairs = larger_first(stand, near_pairs(stand.low, stand.high, -DELTA))
    found: list[Overlap] = []
    for (i, j), meeting in zip(pairs.tolist(), meetings(stand, pairs), strict=True):
        frame = stand.frames[i]
        one, other, sign = (names[i], names[j], 1.0) if i < j else (names[j], names[i], -1.0)
        found.extend(
            Overlap(one, other, bite.depth, points(frame, bite.where), bite.volume, bite.told,
                    sign * directions(frame, bite.along))
            for bite in bites(meeting)
        )
    return tuple(sorted(found, key=lambda o: (-round(o.depth, 6), o.a, o.b, -o.volume)))


@lru_cache(maxsize=REMEMBERED)
def bites(meeting: Meeting) -> tuple[_Bite, ...]:
    """Return where two shapes are in the same wood, in the first one's own frame; most often nowhere."""
    if _parted(meeting):
        return ()
    a, b = meeting.a.manifold, _carried(meeting.b, meeting.frame)
    small_a, small_b = shrunk(meeting.a), shrunk(meeting.b)
    if small_a is None and small_b is None:
        return _untold(a ^ b, meeting)
    by_a = [] if small_a is None else _pieces(small_a.manifold ^ b)
    by_b = [] if small_b is None else _pieces(a ^ _carried(small_b, meeting.frame))
    deep = [_facing(bite, meeting) for bite in _agreed(by_a, by_b) if bite.depth > TOLERANCE]
    return tuple(_made_whole(deep, a ^ b)) if deep else ()


def _made_whole(found: list[_Bite], common: manifold3d.Manifold) -> list[_Bite]:
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


def _pieces(common: manifold3d.Manifold) -> list[_Bite]:
    if common.is_empty() or common.volume() < CRUMB:
        return []
    made = [_measured(piece) for piece in common.decompose() if piece.volume() > CRUMB]
    return sorted(made, key=lambda bite: -bite.depth)


def _measured(piece: manifold3d.Manifold) -> _Bite:
    found = thickness(piece)
    return _Bite(found.depth + DELTA, found.where, float(piece.volume()), True, found.along)


def _agreed(by_a: list[_Bite], by_b: list[_Bite]) -> list[_Bite]:
    """Pair what shrinking the one and shrinking the other found, like depths first, and take the middle of them."""
    left = list(by_b)
    agreed: list[_Bite] = []
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


def _facing(bite: _Bite, meeting: Meeting) -> _Bite:
    """Turn the direction so that it points from a towards b."""
    middle = points(meeting.frame, meeting.b.bounds.mean(axis=0)) - meeting.a.bounds.mean(axis=0)
    return bite if float(middle @ bite.along) >= 0 else replace(bite, along=-bite.along)


def _untold(common: manifold3d.Manifold, meeting: Meeting) -> tuple[_Bite, ...]:
    """Judge two shapes that cannot be shrunk: clear when nothing in common is as wide as the hair, else untold."""
    pieces = _pieces(common)
    deep = [replace(_facing(b, meeting), depth=b.depth - DELTA, told=False) for b in pieces]
    return tuple(b for b in deep if b.depth > DELTA)
