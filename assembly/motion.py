"""Motion: how far solids slide along a straight line before others stop them.

The mover is shrunk by DELTA, so that what merely touches does not stop it. Seen along the
direction of motion, the mover's front faces and the others' back faces are outlines in the
plane square to it. Where a front face and a back face cover one another the gap between
them, measured along the motion, is linear, so its least value lies at a corner of what they
share: the test is finite and exact for the facets given, with no sampling.
Not checked: turning, bending, or a path with a corner in it.
Source of the idea: Wilson & Latombe, "Geometric reasoning about mechanical assembly",
Artificial Intelligence 71 (1994), infinite translations; the finite gap is worked out here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from assembly.shrink import DELTA, shrunk
from assembly.sliding import covering, facing, plane, shared_gaps
from model.frames import unit
from model.solids import Solid

Array = NDArray[np.float64]
Indices = NDArray[np.int64]


@dataclass(frozen=True)
class Travel:
    """How far a mover gets: mm (inf: free for ever), what stops it, and whether that could be told.

    `told` is False where a solid was too thin to shrink, so that touching and running into
    cannot be told apart; `mm` is then what the unshrunk solids give and is never a pass.
    """

    mm: float
    stopped_by: tuple[str, str] | None = None
    told: bool = True

    @property
    def free(self) -> bool:
        """Whether the mover is known to get away for ever."""
        return self.told and math.isinf(self.mm)


@dataclass(frozen=True, eq=False)
class Bodies:
    """Solids where they stand, with what was worked out about them per direction.

    `names`: N names. `frames`: (N, 4, 4), own frame to world, mm. `deep`: pairs of indices
    i < j that overlap as they stand, with the depth in mm; such a pair stops any motion that
    starts inside the overlap and would drive it deeper, instead of passing through.
    """

    names: tuple[str, ...]
    solids: tuple[Solid, ...]
    frames: NDArray[np.float64]
    deep: Mapping[tuple[int, int], float] = field(default_factory=dict)
    _extents: dict[bytes, tuple[Array, Array]] = field(default_factory=dict)
    _faces: dict[tuple[int, bytes, bool], Array] = field(default_factory=dict)
    _known: dict[bytes, float] = field(default_factory=dict)

    def shifted(self, moved: Indices, by: Array) -> Bodies:
        """Return the bodies with some of them (indices) moved by a vector, mm."""
        frames = self.frames.copy()
        frames[moved, :3, 3] += by
        return Bodies(self.names, self.solids, frames)

    def extent(self, direction: Array) -> tuple[Array, Array]:
        """Return low and high (N, 3) of each body's own box along u, v and the direction, mm."""
        key = direction.tobytes()
        if key not in self._extents:
            basis = plane(direction)
            bounds = np.array([s.bounds for s in self.solids]).reshape(-1, 2, 3)
            middle, half = bounds.mean(axis=1), (bounds[:, 1] - bounds[:, 0]) / 2
            turned = basis @ self.frames[:, :3, :3]
            centre = np.einsum("nij,nj->ni", turned, middle) + self.frames[:, :3, 3] @ basis.T
            reach = np.einsum("nij,nj->ni", np.abs(turned), half)
            self._extents[key] = (centre - reach, centre + reach)
        return self._extents[key]

    def fronts(self, body: int, direction: Array) -> Array:
        """Return the shrunk body's triangles that face along the direction, in u, v, s: (K, 3, 3)."""
        return self._facing(body, direction, True)

    def backs(self, body: int, direction: Array) -> Array:
        """Return the body's triangles that face against the direction, wound as the fronts are: (K, 3, 3)."""
        return self._facing(body, direction, False)

    def _facing(self, body: int, direction: Array, front: bool) -> Array:
        key = (body, direction.tobytes(), front)
        if key not in self._faces:
            solid = self.solids[body]
            solid = (shrunk(solid) or solid) if front else solid
            self._faces[key] = facing(solid, self.frames[body], direction, front)
        return self._faces[key]

    def told(self, body: int) -> bool:
        """Whether the body is thick enough to be shrunk, so that its motion can be judged."""
        return shrunk(self.solids[body]) is not None

    def gaps(self, mover: int, others: Indices, direction: Array) -> Array:
        """Return how far one body slides until each of the others (K,) would stop it, mm; inf: never."""
        keys = self._pair_keys(mover, others, direction)
        missing = [i for i, key in enumerate(keys) if key not in self._known]
        if missing:
            found = self._measure(mover, others[missing], direction)
            self._known.update((keys[i], float(gap)) for i, gap in zip(missing, found, strict=True))
        return np.array([self._known[key] for key in keys])

    def _pair_keys(self, mover: int, others: Indices, direction: Array) -> list[bytes]:
        frame, rest = self.frames[mover], self.frames[others]
        back = frame[:3, :3].T
        seen = np.concatenate([(back @ rest[:, :3, :3]).reshape(-1, 9), (rest[:, :3, 3] - frame[:3, 3]) @ back.T,
                               np.broadcast_to(back @ direction, (len(others), 3))], axis=1)
        rounded = np.round(seen * 1e6).astype(np.int64)
        own = self.solids[mover].key
        return [own + self.solids[j].key + row.tobytes() + self._deep_word(mover, int(j))
                for j, row in zip(others, rounded, strict=True)]

    def _deep_word(self, i: int, j: int) -> bytes:
        return b"deep" if (min(i, j), max(i, j)) in self.deep else b""

    def _measure(self, mover: int, others: Indices, direction: Array) -> Array:
        if self.told(mover):
            return self._least(self.fronts(mover, direction), mover, others, direction)
        gaps = np.full(len(others), np.inf)
        for i, other in enumerate(others.tolist()):
            gaps[i] = self._measure_thin(mover, other, direction)
        return gaps

    def _measure_thin(self, mover: int, other: int, direction: Array) -> float:
        """Return the gap to one body for a mover too thin to shrink: the other is shrunk and comes to meet it."""
        turned = self.told(other)
        one, two, way = (other, mover, -direction) if turned else (mover, other, direction)
        return float(self._least(self.fronts(one, way), one, np.array([two]), way)[0])

    def sure(self, one: int, other: int) -> bool:
        """Whether it can be told if one body stops the other: at least one of them must be thick enough to shrink."""
        return self.told(one) or self.told(other)

    def _least(self, front: Array, mover: int, others: Indices, direction: Array) -> Array:
        backs = [self.backs(int(j), direction) for j in others]
        owner = np.repeat(np.arange(len(others)), [len(b) for b in backs])
        least = np.full(len(others), np.inf)
        if not len(front) or not len(owner):
            return least
        depth = np.array([self.deep.get((min(mover, int(j)), max(mover, int(j))), 0.0) for j in others])
        below = np.where(depth > 0, -3.0 * (depth + DELTA), 0.0)
        back = np.concatenate(backs)
        for f, b in covering(front, back):
            low, high = shared_gaps(front[f], back[b])
            np.minimum.at(least, owner[b], np.where(high >= below[owner[b]], np.maximum(low, 0.0), np.inf))
        return least

    def ahead(self, mover: int, rest: Indices, direction: Array) -> Indices:
        """Return those of the rest whose box lies in the mover's way, nearest first."""
        low, high = self.extent(direction)
        in_way = ((low[rest, :2] < high[mover, :2]) & (high[rest, :2] > low[mover, :2])).all(axis=1)
        in_way &= high[rest, 2] > low[mover, 2]
        near: Indices = rest[in_way]
        nearest: Indices = near[np.argsort(low[near, 2], kind="stable")]
        return nearest

    def travel(self, movers: Sequence[int], rest: Sequence[int] | Indices, direction: ArrayLike) -> Travel:
        """Return how far a rigid group of bodies slides along a direction until the rest stops it.

        `direction` (3,) need not be unit length; ValueError when it has none.
        """
        way = unit(direction)
        others = np.asarray(rest, dtype=np.int64)
        best = Travel(math.inf)
        for mover in movers:
            near = self.ahead(mover, others, way)
            if len(near) == 0:
                continue
            gaps = self.gaps(mover, near, way)
            first = int(np.argmin(gaps))
            if gaps[first] < best.mm:
                other = int(near[first])
                best = Travel(float(gaps[first]), (self.names[mover], self.names[other]), self.sure(mover, other))
        if best.stopped_by is not None and best.told:
            return Travel(max(0.0, best.mm - DELTA), best.stopped_by)
        return best
