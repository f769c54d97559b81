"""Leaving: which groups of units nothing holds back along a direction.

Along a direction each unit waits for those that stop it. The units that wait for each other in
a circle are one set (a strongly connected component); a set that waits for no other can leave.
Source: Wilson & Latombe, Artificial Intelligence 71 (1994): directional blocking graphs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from assembly.blocking import PRESSING, Blocking

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
Group = tuple[int, ...]


@dataclass
class Leaving:
    """Some units that are together, and for each direction asked the sets that wait for no other.

    `groups` are in the order of `left`.
    """

    blocking: Blocking
    left: Group
    first: Indices = field(init=False)
    second: Indices = field(init=False)
    normals: Array = field(init=False)
    known: dict[bytes, list[Group]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        place = np.full(len(self.blocking.units), -1, dtype=np.int64)
        place[list(self.left)] = np.arange(len(self.left))
        first, second = place[self.blocking.first], place[self.blocking.second]
        inside = (first >= 0) & (second >= 0)
        self.first, self.second, self.normals = first[inside], second[inside], self.blocking.normals[inside]

    def at_first(self, direction: Array) -> list[Group]:
        """Return the smallest sets that can begin to leave along a direction: all units in one where none can."""
        key = direction.tobytes()
        if key not in self.known:
            self.known[key] = self._ends(*self._edges(direction))
        return self.known[key]

    def for_good(self, direction: Array) -> Group | None:
        """Return the smallest group that leaves the others for ever along a direction, or None."""
        rank, ends = self.blocking.rank, self.at_first(direction)
        waits, stops = self._edges(direction) if len(ends[0]) < len(self.left) else (self.first, self.second)
        while len(ends[0]) < len(self.left):
            for group in sorted(ends, key=lambda s: (len(s), min(rank[list(s)]))):
                few = set(group)
                edges = self.blocking.stoppers(group, [u for u in self.left if u not in few], direction)
                if not edges:
                    return group
                more = self._places(edges)
                waits, stops = np.append(waits, more[:, 0]), np.append(stops, more[:, 1])
            ends = self._ends(waits, stops)
        return None

    def _edges(self, direction: Array) -> tuple[Indices, Indices]:
        """Return who waits (N,) for whom (N,) at the first instant, by place in `left`."""
        lean = self.normals @ direction
        ahead, behind = lean > PRESSING, lean < -PRESSING
        return (np.concatenate([self.first[ahead], self.second[behind]]),
                np.concatenate([self.second[ahead], self.first[behind]]))

    def _places(self, edges: Sequence[tuple[int, int]]) -> Indices:
        at = {u: k for k, u in enumerate(self.left)}
        return np.array([(at[u], at[v]) for u, v in edges], dtype=np.int64)

    def _ends(self, waits: Indices, stops: Indices) -> list[Group]:
        """Return the strongly connected sets that no edge leaves."""
        from scipy.sparse import csr_array
        from scipy.sparse.csgraph import connected_components

        count = len(self.left)
        web = csr_array((np.ones(len(waits), dtype=np.int8), (waits, stops)), shape=(count, count))
        many, label = connected_components(web, directed=True, connection="strong")
        if many == 1:
            return [self.left]
        open_ended = np.zeros(many, dtype=bool)
        open_ended[label[waits[label[waits] != label[stops]]]] = True
        sets: dict[int, list[int]] = {int(k): [] for k in np.flatnonzero(~open_ended)}
        for unit, k in zip(self.left, label.tolist(), strict=True):
            if k in sets:
                sets[k].append(unit)
        return [tuple(s) for s in sets.values()]
