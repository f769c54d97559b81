"""Contacts: where faces of two parts lie on each other, over what area, and how the grain runs there.

Two faces touch where they look at each other (within OPPOSED), stand no further apart than
the gap allowed, and lie over each other. Parts that share a joint are allowed the joint's
fit as well, so that the cheeks of a tenon count as glue surface.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import cos, pi, radians

import manifold3d
import numpy as np
from numpy.typing import NDArray

from assembly.broad import near_pairs
from assembly.facets import Facets, facets
from assembly.placing import Assembly
from assembly.standing import REMEMBERED, Meeting, Standing, larger_first, meetings, standing
from assembly.windows import near
from model.design import Design
from model.frames import inverse
from model.joint import Joint
from model.part import ALL

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

GAP = 0.05
"""Faces this near count as touching, mm: what a clamp closes."""
OPPOSED = -cos(radians(0.1))
"""Faces count as facing each other within 0.1 degrees."""
AREA_LEAST = 0.05
"""Touches smaller than this, mm², are rounding along an edge."""
END_GRAIN = pi / 4
"""Grain that meets a face more steeply than this, rad, shows its ends (common practice, no source)."""
LEVEL = 1e-9
"""Faces whose gap changes by less than this a millimetre lie level to each other."""
BATCH = 4_000_000
"""Face pairs looked at in one go: bounds the memory, whatever the shapes."""


@dataclass(frozen=True, eq=False)
class Patch:
    """One flat place where parts `a` and `b` touch.

    `area` mm²; `centre` (3,) in the world; `normal` (3,) unit, from a into b; `gap` mm
    between the two faces at the centre (negative: they overlap by so little); `grain_a`,
    `grain_b` the angle between each part's grain and the face, rad (0 long grain, pi/2 end
    grain); `joint` the joint it belongs to, None where none is declared.
    """

    a: str
    b: str
    area: float
    centre: Floats
    normal: Floats
    gap: float
    grain_a: float
    grain_b: float
    joint: str | None


@dataclass(frozen=True)
class JointArea:
    """What a joint's faces offer the glue: `area` mm², and of it `end_grain` mm² with end grain on either side."""

    area: float
    end_grain: float

    @property
    def end_share(self) -> float:
        """The share of the area that has end grain on either side, 0 to 1; 0 where nothing touches."""
        return self.end_grain / self.area if self.area > 0 else 0.0


@dataclass(frozen=True, eq=False)
class Touches:
    """The T touches of one meeting, in the first part's own frame: areas, centres (T, 3), normals (T, 3), gaps."""

    areas: Floats
    centres: Floats
    normals: Floats
    gaps: Floats

    def __len__(self) -> int:
        return len(self.areas)


def contacts(assembly: Assembly, done: frozenset[str] = ALL, names: Sequence[str] | None = None) -> tuple[Patch, ...]:
    """Return every patch where two of the named parts (all then there when None) touch, pair by pair.

    Of each pair the part named first comes first. `done` names the stages behind the parts.
    Patches smaller than AREA_LEAST are left out. Not found: touches along a line or at a point.
    """
    return _contacts(assembly, done, assembly.there(done) if names is None else tuple(names))


def lying(assembly: Assembly, limit: float) -> tuple[Patch, ...]:
    """Return every patch where two parts of the finished work lie within `limit` mm of each other, joined or not."""
    stand = standing(assembly)
    pairs = larger_first(stand, near_pairs(stand.low, stand.high, limit))
    found = [touches(meeting, limit) for meeting in meetings(stand, pairs)]
    return _in_world(assembly, stand, pairs, [()] * len(pairs), found)


def joint_area(assembly: Assembly, joint: Joint, done: frozenset[str] = ALL) -> JointArea:
    """Return the area over which a joint's faces meet, and how much of it is end grain."""
    return _joint_areas(assembly, done).get(joint.name, JointArea(0.0, 0.0))


@lru_cache(maxsize=32)
def _joint_areas(assembly: Assembly, done: frozenset[str]) -> Mapping[str, JointArea]:
    areas: dict[str, JointArea] = {}
    for patch in contacts(assembly, done):
        if patch.joint is not None:
            was = areas.get(patch.joint, JointArea(0.0, 0.0))
            end = patch.area if max(patch.grain_a, patch.grain_b) > END_GRAIN else 0.0
            areas[patch.joint] = JointArea(was.area + patch.area, was.end_grain + end)
    return areas


@lru_cache(maxsize=16)
def joints_between(design: Design) -> Mapping[frozenset[str], tuple[Joint, ...]]:
    """Return the joints declared between each two parts that share any."""
    found: dict[frozenset[str], tuple[Joint, ...]] = {}
    for joint in design.joints:
        pair = frozenset((joint.a, joint.b))
        found[pair] = (*found.get(pair, ()), joint)
    return found


def names_between(design: Design, one: str, other: str) -> tuple[str, ...]:
    """Return the names of the joints declared between two parts."""
    return tuple(j.name for j in joints_between(design).get(frozenset((one, other)), ()))


@lru_cache(maxsize=32)
def _contacts(assembly: Assembly, done: frozenset[str], names: tuple[str, ...]) -> tuple[Patch, ...]:
    stand = standing(assembly, done, names)
    shared = joints_between(assembly.design)
    widest = max((j.fit for js in shared.values() for j in js), default=0.0)
    pairs = larger_first(stand, near_pairs(stand.low, stand.high, GAP + widest))
    joints = [shared.get(frozenset((names[i], names[j])), ()) for i, j in pairs.tolist()]
    found = [touches(meeting, GAP + max((j.fit for j in js), default=0.0))
             for meeting, js in zip(meetings(stand, pairs), joints, strict=True)]
    return _in_world(assembly, stand, pairs, joints, found)


def _in_world(assembly: Assembly, stand: Standing, pairs: Ints, joints: list[tuple[Joint, ...]],
              found: list[Touches]) -> tuple[Patch, ...]:
    of = np.repeat(np.arange(len(found)), [len(t) for t in found])
    if not len(of):
        return ()
    a, b = pairs[of].T
    turns = stand.frames[a, :3, :3]
    normals = np.einsum("tij,tj->ti", turns, np.concatenate([t.normals for t in found]))
    centres = np.einsum("tij,tj->ti", turns, np.concatenate([t.centres for t in found])) + stand.frames[a, :3, 3]
    grain = np.array([assembly.part(n).blank.grain for n in stand.names])
    along = np.einsum("nij,nj->ni", stand.frames[:, :3, :3], grain)
    flipped = a > b
    a, b = np.minimum(a, b), np.maximum(a, b)
    normals = np.where(flipped[:, None], -normals, normals)
    angles = [np.arcsin(np.clip(np.abs(np.einsum("ti,ti->t", along[side], normals)), 0.0, 1.0)).tolist()
              for side in (a, b)]
    names = [_nearest(assembly, joints[k], c) for k, c in zip(of.tolist(), centres, strict=True)]
    return tuple(
        Patch(stand.names[i], stand.names[j], area, centre, normal, gap, grain_a, grain_b, joint)
        for i, j, area, centre, normal, gap, grain_a, grain_b, joint in zip(
            a.tolist(), b.tolist(), np.concatenate([t.areas for t in found]).tolist(), centres, normals,
            np.concatenate([t.gaps for t in found]).tolist(), *angles, names, strict=True)
    )


def _nearest(assembly: Assembly, joints: tuple[Joint, ...], centre: Floats) -> str | None:
    if len(joints) < 2:
        return joints[0].name if joints else None
    away = [float(np.linalg.norm(assembly.seat(j)[:3, 3] - centre)) for j in joints]
    return joints[int(np.argmin(away))].name


@lru_cache(maxsize=REMEMBERED)
def touches(meeting: Meeting, limit: float) -> Touches:
    """Return where faces of two shapes lie on each other within `limit` mm, in the first one's own frame."""
    one = facets(near(meeting.a, meeting.b, meeting.frame, limit))
    other = facets(near(meeting.b, meeting.a, inverse(meeting.frame), limit))
    there = _Carried.of(other, meeting.frame)
    i, j = _facing(one, there, limit).T
    planes, lifts, levels = _towards(one, i, there, j)
    rows = [
        (face, *piece)
        for face, back, plane, lift, level in zip(i.tolist(), j.tolist(), planes, lifts, levels.tolist(), strict=True)
        for piece in _common(one.section(face), other.section(back).transform(plane), lift, level, limit)
    ]
    table = np.array(rows, dtype=np.float64).reshape(-1, 5)
    face = table[:, 0].astype(np.int64)
    normals = one.normals[face]
    centres = np.einsum("tk,tki->ti", table[:, 2:4], one.bases[face]) + normals * one.offsets[face, None]
    return Touches(table[:, 1], centres, normals, table[:, 4])


@dataclass(frozen=True, eq=False)
class _Carried:
    """Another shape's faces, carried into the first one's frame."""

    flat: Facets
    frame: Floats
    normals: Floats
    offsets: Floats
    low: Floats
    high: Floats

    @staticmethod
    def of(flat: Facets, frame: Floats) -> _Carried:
        turn, shift = frame[:3, :3], frame[:3, 3]
        normals = flat.normals @ turn.T
        middle = (flat.low + flat.high) / 2.0 @ turn.T + shift
        half = (flat.high - flat.low) / 2.0 @ np.abs(turn).T
        return _Carried(flat, frame, normals, flat.offsets + normals @ shift, middle - half, middle + half)


def _facing(one: Facets, other: _Carried, limit: float) -> Ints:
    """Return the pairs of faces (P, 2) that look at each other and whose boxes come within `limit`."""
    mine = np.flatnonzero(_near_box(one.low, one.high, other.low.min(axis=0), other.high.max(axis=0), limit))
    theirs = np.flatnonzero(_near_box(other.low, other.high, one.low.min(axis=0), one.high.max(axis=0), limit))
    step = max(1, BATCH // max(1, len(theirs)))
    found = [np.empty((0, 2), dtype=np.int64)]
    for start in range(0, len(mine), step):
        rows = mine[start:start + step]
        i, j = np.nonzero(one.normals[rows] @ other.normals[theirs].T < OPPOSED)
        i, j = rows[i], theirs[j]
        near = _near_box(one.low[i], one.high[i], other.low[j], other.high[j], limit)
        found.append(np.column_stack([i[near], j[near]]))
    return np.concatenate(found)


def _near_box(low: Floats, high: Floats, other_low: Floats, other_high: Floats, limit: float) -> NDArray[np.bool_]:
    near: NDArray[np.bool_] = np.all((low <= other_high + limit) & (other_low <= high + limit), axis=-1)
    return near


def _towards(one: Facets, i: Ints, other: _Carried, j: Ints) -> tuple[Floats, Floats, Floats]:
    """Return for each pair of faces how the second's plane lies over the first's.

    The map (P, 2, 3) from the second face's basis to the first's, and the gap between the
    two at a point p of the first face's basis: lift (P, 2) · p + level (P,).
    """
    bases, turn, shift = one.bases[i], other.frame[:3, :3], other.frame[:3, 3]
    back = other.flat.bases[j] @ turn.T
    foot = (other.flat.normals[j] * other.flat.offsets[j, None]) @ turn.T + shift
    maps = np.concatenate([bases @ np.swapaxes(back, 1, 2), np.einsum("pki,pi->pk", bases, foot)[:, :, None]], axis=2)
    normals, theirs = one.normals[i], other.normals[j]
    facing = np.einsum("pi,pi->p", theirs, normals)
    lift = -np.einsum("pki,pi->pk", bases, theirs) / facing[:, None]
    level = (other.offsets[j] - facing * one.offsets[i]) / facing
    return maps, lift, level


def _common(mine: manifold3d.CrossSection, theirs: manifold3d.CrossSection, lift: Floats, level: float,
            limit: float) -> list[tuple[float, float, float, float]]:
    """Return the pieces two flat regions have in common: area, centre x, y, gap there."""
    leaning = abs(lift[0]) + abs(lift[1]) > LEVEL
    if not leaning and abs(level) > limit:
        return []
    common = mine ^ theirs
    if leaning and not common.is_empty():
        common = _within(common, lift, level, limit)
    if common.is_empty():
        return []
    pieces = (_middle(p.to_polygons()) for p in (common.decompose() if common.num_contour() > 1 else (common,)))
    return [(area, x, y, float(lift[0] * x + lift[1] * y) + level) for area, x, y in pieces if area >= AREA_LEAST]


def _within(common: manifold3d.CrossSection, lift: Floats, level: float, limit: float) -> manifold3d.CrossSection:
    """Keep of a flat region what lies where |lift·p + level| <= limit: the faces may lean to each other a little."""
    corners = np.vstack(common.to_polygons())
    if float(np.abs(corners @ lift + level).max()) <= limit:
        return common
    slope = float(np.linalg.norm(lift))
    way = lift / slope
    side = np.array([-way[1], way[0]])
    low, high = float((corners @ side).min()) - 1.0, float((corners @ side).max()) + 1.0
    along = corners @ way
    near = max((-limit - level) / slope, float(along.min()) - 1.0)
    far = min((limit - level) / slope, float(along.max()) + 1.0)
    if near >= far:
        return manifold3d.CrossSection()
    strip = [way * near + side * high, way * near + side * low, way * far + side * low, way * far + side * high]
    return common ^ manifold3d.CrossSection([np.array(strip)])


def _middle(outlines: Sequence[Floats]) -> tuple[float, float, float]:
    """Return the area and the centroid of a flat region from its outlines, holes running the other way."""
    base_x, base_y = outlines[0][0].tolist()
    twice = x = y = 0.0
    for outline in outlines:
        points = [(p - base_x, q - base_y) for p, q in outline.tolist()]
        for (p, q), (r, s) in zip(points, points[1:] + points[:1], strict=True):
            cross = p * s - r * q
            twice += cross
            x += cross * (p + r)
            y += cross * (q + s)
    if twice <= AREA_LEAST:
        return 0.0, base_x, base_y
    return twice / 2.0, base_x + x / (3.0 * twice), base_y + y / (3.0 * twice)
