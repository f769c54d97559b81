"""The work as it is clamped: pieces where they stand, seen along a line, and what a straight line meets in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import product

import manifold3d
import numpy as np
from numpy.typing import NDArray

from assembly.placing import Assembly
from model.frames import Frame, Vector, directions, inverse, points
from model.part import ALL
from model.solids import FAR, Solid

Floats = NDArray[np.float64]

ASIDE = (0.0137, 0.0091)
"""Lines run this far beside where they are drawn, mm, so that none runs along the edge of a facet."""
REMEMBERED = 100_000
"""Lines through a shape, and boxes beside it, that are remembered."""
CORNERS = np.array(list(product((0, 1), repeat=3)))
"""Which of two corners of a box its eight corners take each coordinate from (8, 3)."""


@dataclass(frozen=True)
class Crossing:
    """Where a line runs through the wood of a part: from `start` to `end` (mm along it), and the faces' outward normals
    there, in the part's own frame."""

    start: float
    end: float
    normal_in: tuple[float, float, float]
    normal_out: tuple[float, float, float]


@dataclass(frozen=True)
class Wood:
    """A crossing, and the part it is in by its number."""

    part: int
    crossing: Crossing


@dataclass(frozen=True, eq=False)
class Work:
    """N pieces held together in a stage: their names, solids in their own frames, and frames in the world.

    `ties`: the numbers of two pieces that share a joint, the smaller first; `tenons` those of each piece, in its frame.
    """

    names: tuple[str, ...]
    solids: tuple[Solid, ...]
    frames: tuple[Frame, ...]
    ties: frozenset[tuple[int, int]] = frozenset()
    tenons: tuple[tuple[Solid, ...], ...] = ()

    @cached_property
    def index(self) -> dict[str, int]:
        """The number of each part."""
        return {name: i for i, name in enumerate(self.names)}

    def tied(self, one: int, other: int) -> bool:
        """Whether two parts are one, or share a joint."""
        return one == other or (min(one, other), max(one, other)) in self.ties

    @cached_property
    def _hulls(self) -> Floats:
        """The corners of the box around each part in its own frame, as they stand in the world, mm (N, 8, 3)."""
        return np.array([points(f, s.bounds[CORNERS, range(3)])
                         for f, s in zip(self.frames, self.solids, strict=True)])

    def lowest(self, up: Floats) -> float:
        """Return the least of up (3,) · p over every corner of the work, mm."""
        return min(float((points(f, s.mesh[0]) @ up).min()) for f, s in zip(self.frames, self.solids, strict=True))

    def boxes(self, frame: Frame) -> tuple[Floats, Floats]:
        """Return the lowest and highest corner (N, 3) of a box round each part as a frame of the world sees it, mm.

        It is the box round the part's own box: never too small, for a leaning part somewhat too large.
        """
        at = (self._hulls - frame[:3, 3]) @ frame[:3, :3]
        return at.min(axis=1), at.max(axis=1)

    def along(self, frame: Frame, low: Floats, high: Floats, x: float = 0.0, y: float = 0.0) -> list[Wood]:
        """Return the wood on the line x, y of a frame along its z, from low to high; `low`, `high`: its boxes."""
        at_x, at_y = x + ASIDE[0], y + ASIDE[1]
        hit = (low[:, 0] < at_x) & (high[:, 0] > at_x) & (low[:, 1] < at_y) & (high[:, 1] > at_y)
        found = []
        for i in np.flatnonzero(hit).tolist():
            back = inverse(self.frames[i])
            origin = points(back, points(frame, np.array([at_x, at_y, 0.0])))
            way = directions(back, frame[:3, 2])
            found += [Wood(i, c) for c in crossings(self.solids[i], origin, way)]
        return sorted(found, key=lambda w: (w.crossing.start, w.crossing.end, w.part))

    def outward(self, wood: Wood, *, last: bool) -> Vector:
        """Return the outward normal (3,) in the world of the face where the wood ends, or where it begins."""
        normal = wood.crossing.normal_out if last else wood.crossing.normal_in
        return directions(self.frames[wood.part], np.array(normal))

    def free(self, frame: Frame, boxes: Floats, seen: tuple[Floats, Floats]) -> bool:
        """Whether no part reaches into boxes (B, 2, 3), by their corners in a frame; `seen`: the parts' boxes there."""
        shared = np.minimum(seen[1][None], boxes[:, None, 1]) - np.maximum(seen[0][None], boxes[:, None, 0])
        hit, near = np.nonzero(np.all(shared > 1e-6, axis=2))
        order = np.argsort(-np.prod(shared[hit, near], axis=1), kind="stable").tolist()
        return not any(self._reaches(int(near[k]), frame, boxes[hit[k]]) for k in order)

    def _reaches(self, part: int, frame: Frame, box: Floats) -> bool:
        there = inverse(self.frames[part]) @ frame
        own, corners = self.solids[part].bounds, points(there, box[CORNERS, range(3)])
        if np.any(corners.max(axis=0) <= own[0] + 1e-6) or np.any(corners.min(axis=0) >= own[1] - 1e-6):
            return False
        return _reaches(self.solids[part], (np.round(there, 6) + 0.0).tobytes(), (np.round(box, 3) + 0.0).tobytes())


def crossings(solid: Solid, origin: Floats, way: Floats) -> tuple[Crossing, ...]:
    """Return where a line through a point (3,) along a unit direction (3,) runs through a solid, in its own frame."""
    return _crossings(solid, (np.round(origin, 6) + 0.0).tobytes(), (np.round(way, 9) + 0.0).tobytes())


@lru_cache(maxsize=REMEMBERED)
def _crossings(solid: Solid, origin: bytes, way: bytes) -> tuple[Crossing, ...]:
    start, d = np.frombuffer(origin), np.frombuffer(way)
    hits = solid.manifold.ray_cast(tuple(start - d * FAR), tuple(start + d * FAR))
    found: list[Crossing] = []
    entered: tuple[float, tuple[float, float, float]] | None = None
    for hit in hits:
        at = float((np.asarray(hit.position) - start) @ d)
        normal = (float(hit.normal[0]), float(hit.normal[1]), float(hit.normal[2]))
        if float(np.dot(d, normal)) < 0:
            entered = entered or (at, normal)
        elif entered is not None:
            if at - entered[0] > 1e-6:
                found.append(Crossing(entered[0], at, entered[1], normal))
            entered = None
    return tuple(found)


@lru_cache(maxsize=REMEMBERED)
def _reaches(solid: Solid, frame: bytes, box: bytes) -> bool:
    """Whether more than a cubic millimetre of a solid lies in a box that a frame in the solid's own frame carries."""
    there = np.frombuffer(frame).reshape(4, 4)
    low, high = np.frombuffer(box).reshape(2, 3)
    cube = manifold3d.Manifold.cube((high - low).tolist()).translate(low.tolist())
    return bool((solid.manifold ^ cube.transform(np.ascontiguousarray(there[:3]))).volume() > 1.0)


def work_of(assembly: Assembly, names: Sequence[str], done: frozenset[str]) -> Work:
    """Return the named parts as they stand with the stages in `done` behind; remembered."""
    return _work_of(assembly, tuple(names), step(assembly, done))


@lru_cache(maxsize=64)
def _work_of(assembly: Assembly, names: tuple[str, ...], done: frozenset[str]) -> Work:
    parts = [assembly.part(n) for n in names]
    solids = tuple(p.finished if done is ALL else p.solid(done) for p in parts)
    at = {name: i for i, name in enumerate(names)}
    ties = {(min(at[j.a], at[j.b]), max(at[j.a], at[j.b])) for j in assembly.design.joints if j.a in at and j.b in at}
    return Work(names, solids, tuple(assembly.frames[n] for n in names), frozenset(ties),
                tuple(tuple(f.solid for f in p.features if f.operation == "add" and f.role == "tenon") for p in parts))


def step(assembly: Assembly, done: frozenset[str]) -> frozenset[str]:
    """Return the step to ask solids for: ALL where no cut is still to come, so that work done once is found again."""
    later = {f.after for p in assembly.design.parts for f in p.features if f.after is not None}
    return ALL if later <= done else done
