"""Feet: what the work stands on in the drawing, and how it stands on the same feet as cut.

The ground is the plane that the work settles on, not a plane of the world: the support facet
of its hull that its centre of mass comes to rest over. Lengths mm, angles rad.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from math import cos, radians

import numpy as np
from numpy.typing import NDArray

from assembly.flushness import FLUSH, Seam, seams
from assembly.placing import Assembly, as_drawn
from assembly.surface import Surface, as_cut_face, surface
from model.frames import Vector, directions, inverse, points, unit
from model.solids import Solid, hull

Floats = NDArray[np.float64]

TILT = radians(0.05)
"""A foot whose face is out of parallel to the ground by less than this, rad, stands on its face."""
LEVEL = cos(radians(0.02))
"""A face within 0.02 degrees of level rests on its whole."""
LEANS_MOST = cos(radians(40.0))
"""An end that looks down within 40 degrees is a foot, however it is cut (common practice, no source)."""
NEAR = 10.0
"""An end that stays this near to the ground, mm, was meant to reach it (common practice, no source)."""
ENDWISE = 0.5
"""A face shows the ends of the fibres where its normal is within 60 degrees of them."""
TRIED = 24
"""Planes through three feet are tried for so many feet at most."""
RAISED = 1000.0
"""How far the corners of the feet are raised for a body to settle, mm."""


DOWN: Vector = np.array([0.0, 0.0, -1.0])
"""Down in the world."""


@dataclass(frozen=True, eq=False)
class Ground:
    """The plane the work stands on: `down` (3,) unit, out of the work; points on it have down·p = level, mm."""

    down: Vector
    level: float

    def above(self, at: Floats) -> Floats:
        """Return how far points (N, 3) or a point (3,) are above the ground."""
        high: Floats = self.level - at @ self.down
        return high

    def tilt(self, normal: Floats) -> float:
        """Return the angle between the ground and a face by its unit normal (3,), rad."""
        return float(2.0 * np.arcsin(min(1.0, float(np.linalg.norm(normal - self.down)) / 2.0)))


@dataclass(frozen=True, eq=False)
class Foot:
    """A part's face that stands on the ground: `corners` (K, 3), `middle` (3,) and `normal` (3,) in the world."""

    part: str
    face: int
    corners: Floats
    middle: Floats
    normal: Floats


@dataclass(frozen=True, eq=False)
class Stance:
    """How the work stands: `ground` is the plane that most of its feet are in, `firm` names those.

    `off`: for each foot that is not, how far the middle of its face is above the ground (below
    where negative), mm, and how far the face is from parallel to it, rad. `rests`: the plane
    that it really settles on under its own weight, None where that could not be told.
    """

    feet: tuple[Foot, ...]
    ground: Ground
    firm: tuple[str, ...]
    off: tuple[tuple[Foot, float, float], ...]
    rests: Ground | None = None


def stance(assembly: Assembly) -> Stance | None:
    """Return how the work stands on the feet that the drawing gives it; None where it has none.

    Feet are parts with a face on the drawing's ground, and free ends that look down within 40
    degrees and touch it, or come within NEAR of it beside others of their group that do. None
    of them is a temporary part, nor one whose face on the ground runs on in another part's: a
    ring that lies on the ground has no feet. Work that rests on anything else besides ends cut
    out of level is not drawn as it stands: None. So where joints do not close: there is no telling.
    """
    drawn = as_drawn(assembly)
    feet = None if assembly.open_loops or drawn.open_loops else _feet(drawn)
    if feet is None:
        return None
    ground, drawn_feet = feet
    if drawn is assembly:
        return _judged(assembly, drawn_feet, ground)
    now = tuple(foot for f in drawn_feet if (foot := _as_cut(assembly, drawn, f)) is not None)
    other = frozenset(n for n in assembly.names if n not in drawn.frames
                      or assembly.part(n).finished != drawn.part(n).finished)
    carried = assembly.frames[assembly.design.base] @ inverse(drawn.frames[drawn.design.base])
    down = directions(carried, ground.down)
    return _judged(assembly, now, _most_feet(now, down, other)) if now else None


@lru_cache(maxsize=16)
def _feet(assembly: Assembly) -> tuple[Ground, tuple[Foot, ...]] | None:
    names = [n for n in assembly.there() if not assembly.part(n).temporary]
    corners = {n: points(assembly.frames[n], _hull_of(assembly.part(n).finished)) for n in names}
    ground = settled(np.vstack(list(corners.values())), centre_of_mass(assembly), DOWN)
    if ground is None:
        return None
    touching = {n for n in names if float(ground.above(corners[n]).min()) <= FLUSH}
    groups = {assembly.part(n).group for n in touching}
    found = [foot for n in names if n in touching or assembly.part(n).group in groups
             if (foot := _foot(assembly, n, ground)) is not None]
    if not all(_stands(f, ground) for f in found):
        if not touching <= {f.part for f in found}:
            return None
        ground = _meant(found, ground)
    lying = _running_on(found, seams(assembly))
    feet = tuple(f for f in found if f.part not in lying)
    return (ground, feet) if feet else None


def _meant(feet: Sequence[Foot], ground: Ground) -> Ground:
    """Return the plane that most feet of a drawing stand in; the one it settles on where none has two of them."""
    found = [_most_feet(feet, way, frozenset()) for way in (DOWN, ground.down)]
    most, best = _best(feet, found, frozenset())
    return best if most >= 2 else ground


def _running_on(feet: Sequence[Foot], found: Sequence[Seam]) -> set[str]:
    faces = {(f.part, f.face) for f in feet}
    return {n for s in found if s.flush and {(s.a, s.face_a), (s.b, s.face_b)} <= faces for n in (s.a, s.b)}


def _foot(assembly: Assembly, name: str, ground: Ground) -> Foot | None:
    """Return the face of a part that stands on the ground, or nearly does, None where none does."""
    frame = assembly.frames[name]
    outer = surface(assembly.part(name))
    down = frame[:3, :3].T @ ground.down
    level = ground.level - float(ground.down @ frame[:3, 3])
    facing = outer.flat.normals @ down
    flat = outer.outside & (facing > LEVEL) & (np.abs(outer.flat.offsets - level) <= FLUSH)
    if flat.any():
        return _on(assembly, name, int(np.argmax(np.where(flat, outer.flat.areas, -1.0))))
    ends = outer.outside & (facing > LEANS_MOST)
    ends &= np.abs(outer.flat.normals @ assembly.part(name).blank.grain) > ENDWISE
    if not ends.any():
        return None
    face = int(np.argmax(np.where(ends, outer.flat.areas, -1.0)))
    high = level - float((outer.flat.corners(face) @ down).max())
    lowest = level - float((outer.part.finished.mesh[0] @ down).max())
    free = high <= min(NEAR, lowest + FLUSH) and not _joined(assembly, outer, face)
    return _on(assembly, name, face) if free else None


def _joined(assembly: Assembly, outer: Surface, face: int) -> bool:
    """Whether a joint is seated on a face of a part."""
    normal, offset = outer.flat.normals[face], float(outer.flat.offsets[face])
    low, high = outer.flat.low[face] - FLUSH, outer.flat.high[face] + FLUSH
    seats = [j.seat(outer.part.name) for j in assembly.design.joints if outer.part.name in (j.a, j.b)]
    return any(abs(float(normal @ s[:3, 3]) - offset) <= FLUSH and abs(float(normal @ s[:3, 2])) > LEANS_MOST
               and bool(np.all((s[:3, 3] >= low) & (s[:3, 3] <= high))) for s in seats)


def _on(assembly: Assembly, name: str, face: int) -> Foot:
    frame, flat = assembly.frames[name], surface(assembly.part(name)).flat
    corners = points(frame, flat.corners(face))
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2.0
    normal = frame[:3, :3] @ flat.normals[face]
    middle = middle - (float(middle @ normal) - float(corners[0] @ normal)) * normal
    return Foot(name, face, corners, middle, normal)


def _as_cut(assembly: Assembly, drawn: Assembly, foot: Foot) -> Foot | None:
    at = points(inverse(drawn.frames[foot.part]), foot.middle)
    if foot.part not in assembly.frames:
        return None
    face = as_cut_face(surface(drawn.part(foot.part)), foot.face, surface(assembly.part(foot.part)), at)
    return None if face is None else _on(assembly, foot.part, face)


def _judged(assembly: Assembly, feet: tuple[Foot, ...], ground: Ground) -> Stance:
    off = tuple((f, float(ground.above(f.middle)), ground.tilt(f.normal)) for f in feet if not _stands(f, ground))
    odd = {f.part for f, _, _ in off}
    firm = tuple(f.part for f in feet if f.part not in odd)
    rests = None
    if off:
        corners = np.vstack([f.corners for f in feet])
        rests = settled(np.vstack([corners, corners - RAISED * ground.down]), centre_of_mass(assembly), ground.down)
    return Stance(feet, ground, firm, off, rests)


def _stands(foot: Foot, ground: Ground) -> bool:
    return abs(float(ground.above(foot.middle))) <= FLUSH and ground.tilt(foot.normal) <= TILT


def _most_feet(feet: Sequence[Foot], down: Vector, other: frozenset[str]) -> Ground:
    """Return the plane that most feet stand in: one square to `down` where that has two of them and at most one less.

    Among planes with as many, the one that leaves out parts which are not as drawn, then the one that fits them best,
    then the lowest.
    """
    level = [Ground(down, float(f.middle @ down)) for f in feet]
    fewer, ground = _best(feet, level, other)
    if fewer == len(feet):
        return ground
    most, leaning = _best(feet, list(_through_three(feet, down)), other)
    return ground if most <= fewer or (fewer >= 2 and fewer >= most - 1) else leaning


def _best(feet: Sequence[Foot], grounds: Sequence[Ground], other: frozenset[str]) -> tuple[int, Ground]:
    """Return how many feet stand in the best of some planes, and that plane."""
    if not grounds:
        return 0, Ground(np.zeros(3), 0.0)
    down, level = np.array([g.down for g in grounds]), np.array([g.level for g in grounds])
    middle, normal = np.array([f.middle for f in feet]), np.array([f.normal for f in feet])
    off = np.abs(level[:, None] - down @ middle.T)
    tilt = np.linalg.norm(down[:, None, :] - normal[None, :, :], axis=2)
    stand = (off <= FLUSH) & (tilt <= TILT)
    odd = (~stand) @ np.array([f.part in other for f in feet], dtype=np.int64)
    loose = np.round(np.where(stand, off / FLUSH + tilt / TILT, 0.0).sum(axis=1), 3)
    best = int(np.lexsort((np.round(level, 3), -loose, odd, stand.sum(axis=1)))[-1])
    return int(stand[best].sum()), grounds[best]


def _through_three(feet: Sequence[Foot], drawn: Vector) -> Iterator[Ground]:
    for one, two, three in combinations(feet[:TRIED], 3):
        across = np.cross(two.middle - one.middle, three.middle - one.middle)
        if float(np.linalg.norm(across)) > 1.0:
            down = unit(across if float(across @ drawn) > 0 else -across)
            if float(down @ drawn) > LEANS_MOST:
                yield Ground(down, float(down @ one.middle))


def settled(corners: Floats, centre: Floats, down: Floats) -> Ground | None:
    """Return the plane that a body settles on: its corners (N, 3), its centre of mass (3,), set down along `down`.

    It comes to rest over the facet of its hull under the centre of mass; where the centre is
    not above that facet it rolls on, each time lower. None where the corners bound no body, or where the
    centre lies beyond a facet it would come to, so that it topples.
    """
    from scipy.spatial import ConvexHull, QhullError

    try:
        planes = ConvexHull(corners).equations
    except QhullError:
        return None
    normals, far = planes[:, :3], -(planes[:, :3] @ centre + planes[:, 3])
    way, length = down, np.inf
    while True:
        facing = normals @ way
        along = np.where(facing > 1e-9, far / np.maximum(facing, 1e-9), np.inf)
        under = int(np.argmin(along))
        if along[under] < 0.0:
            return None
        if along[under] >= length - 1e-9:
            return Ground(way, float(way @ centre) + length)
        way, length = normals[under], float(far[under])


@lru_cache(maxsize=4096)
def _hull_of(solid: Solid) -> Floats:
    corners: Floats = hull(solid.mesh[0]).mesh[0]
    return corners


def centre_of_mass(assembly: Assembly) -> Floats:
    """Return the centre of mass (3,) of the finished work in the world."""
    names = [n for n in assembly.there() if not assembly.part(n).temporary]
    mass = np.array([assembly.part(n).mass for n in names])
    at = np.array([points(assembly.frames[n], assembly.part(n).finished.centroid) for n in names])
    middle: Floats = mass @ at / mass.sum()
    return middle
