"""Parts as they stand at one moment, side by side, and what is remembered about pairs of them.

A pair is looked at once for every two shapes in one position towards each other; the
answer is remembered by content, so that a thousand parts of thirteen shapes cost what
their few kinds of meeting cost.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.meeting import REMEMBERED, Meeting
from assembly.placing import Assembly
from model.part import ALL
from model.solids import Solid

__all__ = ["REMEMBERED", "Meeting", "Standing", "larger_first", "meetings", "standing"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Standing:
    """N parts with some stages behind them: names, solids in their own frames, frames (N, 4, 4), boxes (N, 3), mm."""

    names: tuple[str, ...]
    solids: tuple[Solid, ...]
    frames: Floats
    low: Floats
    high: Floats

    @cached_property
    def index(self) -> dict[str, int]:
        """The row of each part."""
        return {name: k for k, name in enumerate(self.names)}

    def relative(self, pairs: Ints) -> Floats:
        """Return for each pair (P, 2) the frame (P, 4, 4) that carries the second part into the first part's own."""
        one, other = self.frames[pairs[:, 0]], self.frames[pairs[:, 1]]
        turned = np.swapaxes(one[:, :3, :3], 1, 2)
        out = np.zeros((len(pairs), 4, 4))
        out[:, :3, :3] = turned @ other[:, :3, :3]
        out[:, :3, 3] = np.einsum("pij,pj->pi", turned, other[:, :3, 3] - one[:, :3, 3])
        out[:, 3, 3] = 1.0
        return out


def standing(assembly: Assembly, done: frozenset[str] = ALL, names: Sequence[str] | None = None) -> Standing:
    """Return the named parts (every placed part when None) as they stand with the stages in `done` behind them."""
    return _standing(assembly, done, assembly.there(done) if names is None else tuple(names))


@lru_cache(maxsize=32)
def _standing(assembly: Assembly, done: frozenset[str], names: tuple[str, ...]) -> Standing:
    parts = [assembly.part(n) for n in names]
    solids = tuple(p.finished if done is ALL else p.solid(done) for p in parts)
    frames = np.array([assembly.frames[n] for n in names], dtype=np.float64).reshape(-1, 4, 4)
    return Standing(names, solids, frames, *boxes(solids, frames))


def boxes(solids: Sequence[Solid], frames: Floats) -> tuple[Floats, Floats]:
    """Return the lowest and the highest corners (N, 3), mm, of solids where frames (N, 4, 4) carry them."""
    low, high = np.empty((len(solids), 3)), np.empty((len(solids), 3))
    alike: dict[Solid, list[int]] = {}
    for row, solid in enumerate(solids):
        alike.setdefault(solid, []).append(row)
    for solid, rows in alike.items():
        corners = solid.mesh[0]
        for chunk in np.array_split(rows, max(1, len(rows) * len(corners) // 1_000_000)):
            at = np.einsum("kij,vj->kvi", frames[chunk, :3, :3], corners) + frames[chunk, None, :3, 3]
            low[chunk], high[chunk] = at.min(axis=1), at.max(axis=1)
    return low, high


def larger_first(stand: Standing, pairs: Ints) -> Ints:
    """Return the pairs (P, 2) with the shape of more triangles first: it stays put, the other is carried to it."""
    size = np.array([len(s.mesh[1]) for s in stand.solids])
    swap = size[pairs[:, 1]] > size[pairs[:, 0]]
    return np.where(swap[:, None], pairs[:, ::-1], pairs)


def meetings(stand: Standing, pairs: Ints) -> list[Meeting]:
    """Return the meeting of each pair (P, 2) of parts."""
    frames = stand.relative(pairs)
    rounded = np.round(frames[:, :3], 6) + 0.0
    return [
        Meeting(a, b, frame, a.key + b.key + near.tobytes())
        for a, b, frame, near in zip((stand.solids[i] for i in pairs[:, 0].tolist()),
                                     (stand.solids[j] for j in pairs[:, 1].tolist()), frames, rounded, strict=True)
    ]
