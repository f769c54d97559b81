"""Crossing grain: glued faces whose two grains run across each other, and how far they move apart with the seasons.

Wood moves across its grain and hardly along it. Where long grain is glued to long grain that
crosses it at an angle t, the one wants to grow along the other's grain by its width there
times its change across the grain times sin² t, and is held.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import asin, cos, sqrt

import numpy as np
from numpy.typing import NDArray

from assembly.borders import Faces
from assembly.contacts import END_GRAIN, GAP, OPPOSED, joints_between
from assembly.placing import Assembly
from assembly.standing import REMEMBERED, Meeting, larger_first, meetings, standing
from model.frames import points
from model.joint import Joint
from model.part import Part
from model.timber import movement

Floats = NDArray[np.float64]

ALONG = cos(END_GRAIN + 1e-4)
"""The grain lies along a face when it leans no more than this from it: the sine of the angle."""
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
    shared = {pair: js for pair, js in joints_between(assembly.design).items() if any(j.glued for j in js)}
    names = [n for n in assembly.there() if not assembly.part(n).temporary]
    stand = standing(assembly, names=names)
    rows = [(stand.index[a], stand.index[b]) for a, b in map(sorted, shared) if a in stand.index and b in stand.index]
    if not rows:
        return
    pairs = larger_first(stand, np.array(rows, dtype=np.int64))
    for meeting, (i, j) in zip(meetings(stand, pairs), pairs.tolist(), strict=True):
        a, b = stand.names[i], stand.names[j]
        worst = _worst(assembly, meeting, a, b, shared[frozenset((a, b))], dry, wet, least)
        if worst is not None:
            yield worst


def _worst(assembly: Assembly, meeting: Meeting, a: str, b: str, joints: Sequence[Joint], dry: float, wet: float,
           least: float) -> Crossing | None:
    part_a, part_b = assembly.part(a), assembly.part(b)
    kinds = part_a.blank.stock.species, part_b.blank.stock.species
    grain_b = meeting.frame[:3, :3] @ part_b.blank.grain
    limit = GAP + max(j.fit for j in joints)
    found: list[Crossing] = []
    glued = tuple(j.name for j in joints if j.glued)
    for plane in _planes(meeting, part_a.blank.grain.tobytes(), np.round(grain_b, 9).tobytes(), limit, least,
                         _middles(joints, part_a)):
        angle = asin(sqrt(plane.crossing))
        where = points(assembly.frames[a], plane.middle)
        for moves, held_by, kind, width in ((a, b, kinds[0], plane.along_b), (b, a, kinds[1], plane.along_a)):
            most = movement(kind, width, dry, wet)
            if most is not None and width >= least:
                radial = movement(kind, width, dry, wet, tangential=False)
                found.append(Crossing(moves, held_by, glued, width, angle, most * plane.crossing,
                                      None if radial is None else radial * plane.crossing, where))
    return max(found, key=lambda c: c.movement, default=None)


def _middles(joints: Sequence[Joint], part: Part) -> bytes:
    """Return where the joints of two parts are in the first one's frame, and which are glued; nothing where all are."""
    if all(j.glued for j in joints):
        return b""
    return np.array([[*_middle(j, part), float(j.glued)] for j in joints]).tobytes()


def _middle(joint: Joint, part: Part) -> Floats:
    """Return the middle of what a joint cuts or grows on a part; its seat where that is nothing."""
    made = [f.solid.bounds for f in part.features if f.joint == joint.name]
    seat = joint.seat_a if joint.a == part.name else joint.seat_b
    middle: Floats = np.mean(made, axis=(0, 1)) if made else seat[:3, 3]
    return middle


@lru_cache(maxsize=REMEMBERED)
def _planes(meeting: Meeting, told_a: bytes, told_b: bytes, limit: float, least: float,
            middles: bytes) -> tuple[_Plane, ...]:
    """Return the planes where long grain lies across long grain, `least` mm wide or more, in the first one's frame."""
    one, other = Faces.of(meeting.a), Faces.of(meeting.b, meeting.frame)
    grain_a, grain_b = np.frombuffer(told_a), np.frombuffer(told_b)
    i, j = np.nonzero(one.normals @ other.normals.T < OPPOSED)
    near = np.all((one.low[i] <= other.high[j] + limit) & (other.low[j] <= one.high[i] + limit), axis=1)
    lies = (np.abs(one.normals[i] @ grain_a) < ALONG) & (np.abs(one.normals[i] @ grain_b) < ALONG)
    found: dict[tuple[float, ...], list[tuple[int, int]]] = {}
    for face, back in zip(i[near & lies].tolist(), j[near & lies].tolist(), strict=True):
        key = (*(np.round(one.normals[face], 4) + 0.0).tolist(), round(float(one.offsets[face]), 2) + 0.0)
        found.setdefault(key, []).append((face, back))
    planes = (_plane(one, other, faces, grain_a, grain_b, limit, middles) for faces in found.values())
    return tuple(p for p in planes if p is not None and max(p.along_a, p.along_b) >= least)


def _plane(one: Faces, other: Faces, faces: Sequence[tuple[int, int]], grain_a: Floats, grain_b: Floats, limit: float,
           middles: bytes) -> _Plane | None:
    normal = one.normals[faces[0][0]]
    along_a, along_b = (_in_plane(g, normal) for g in (grain_a, grain_b))
    crossing = 1.0 - min(1.0, float(along_a @ along_b)) ** 2
    if crossing < CROSSING_LEAST:
        return None
    corners = [c for i, j in faces for c in _common(one, other, i, j, limit) if _glued(c, middles)]
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


def _glued(corners: Floats, middles: bytes) -> bool:
    """Whether the joint nearest to a piece is a glued one."""
    if not middles:
        return True
    table = np.frombuffer(middles).reshape(-1, 4)
    nearest = int(np.argmin(np.linalg.norm(table[:, :3] - corners.mean(axis=0), axis=1)))
    return bool(table[nearest, 3])
