"""The work as it is clamped: pieces where they stand, seen along a line, and what a straight line meets in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

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
"""Lines through a shape that are remembered."""


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
    """N pieces held together in a stage: their names, solids in their own frames, and frames in the world."""

    names: tuple[str, ...]
    solids: tuple[Solid, ...]
    frames: tuple[Frame, ...]

    @cached_property
    def index(self) -> dict[str, int]:
        """The number of each part."""
        return {name: i for i, name in enumerate(self.names)}

    @cached_property
    def _cloud(self) -> tuple[Floats, NDArray[np.int64]]:
        clouds = [points(f, s.mesh[0]) for f, s in zip(self.frames, self.solids, strict=True)]
        starts = np.cumsum([0, *(len(c) for c in clouds[:-1])])
        return np.concatenate(clouds), starts

    @property
    def corners(self) -> Floats:
        """Every corner in the world, mm (V, 3)."""
        return self._cloud[0]

    def boxes(self, frame: Frame) -> tuple[Floats, Floats]:
        """Return the lowest and highest corner (N, 3) of each part as a frame of the world sees it, mm."""
        cloud, starts = self._cloud
        at = points(inverse(frame), cloud)
        return np.minimum.reduceat(at, starts), np.maximum.reduceat(at, starts)

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

    def free(self, frame: Frame, box_low: Sequence[float], box_high: Sequence[float], low: Floats,
             high: Floats) -> bool:
        """Return whether no part reaches into a box (corners in a frame whose boxes are `low`, `high`)."""
        lo, hi = np.array(box_low), np.array(box_high)
        shared = np.minimum(high, hi) - np.maximum(low, lo)
        near = np.flatnonzero(np.all(shared > 1e-6, axis=1))
        likeliest = near[np.argsort(-np.prod(shared[near], axis=1), kind="stable")]
        return not any(self._reaches(i, frame, lo, hi) for i in likeliest.tolist())

    def _reaches(self, part: int, frame: Frame, low: Floats, high: Floats) -> bool:
        there = inverse(self.frames[part]) @ frame
        return _reaches(self.solids[part], (np.round(there, 6) + 0.0).tobytes(),
                        (np.round([low, high], 3) + 0.0).tobytes())


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
    """Whether a solid reaches into a box of a frame by more than a cubic millimetre.

    The box as manifold3d makes it, carried to the solid; both stay small, so this is quick.
    """
    there = np.frombuffer(frame).reshape(4, 4)
    low, high = np.frombuffer(box).reshape(2, 3)
    cube = manifold3d.Manifold.cube((high - low).tolist()).translate(low.tolist())
    seen = solid.manifold.transform(np.ascontiguousarray(inverse(there)[:3]))
    return bool((seen ^ cube).volume() >= 1.0)


def work_of(assembly: Assembly, names: Sequence[str], done: frozenset[str]) -> Work:
    """Return the named parts as they stand with the stages in `done` behind; remembered."""
    return _work_of(assembly, tuple(names), step(assembly, done))


@lru_cache(maxsize=64)
def _work_of(assembly: Assembly, names: tuple[str, ...], done: frozenset[str]) -> Work:
    parts = [assembly.part(n) for n in names]
    solids = tuple(p.finished if done is ALL else p.solid(done) for p in parts)
    return Work(names, solids, tuple(assembly.frames[n] for n in names))


def step(assembly: Assembly, done: frozenset[str]) -> frozenset[str]:
    """Return the step to ask solids for: ALL where no cut is still to come, so that work done once is found again."""
    later = {f.after for p in assembly.design.parts for f in p.features if f.after is not None}
    return ALL if later <= done else done
