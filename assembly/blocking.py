"""Blocking: who stops whom, one directed graph per direction.

Units are rigid groups of parts. Along a direction d a unit a is stopped by b when a face of
a presses against b there: the contact's normal, out of a, has a part along d. A set of units
can begin to move along d exactly when no edge leaves it. Contacts decide the first
instant; how far the set then gets is asked of the solids themselves (`motion`).
Source: Wilson & Latombe, "On the qualitative structure of a mechanical assembly", AAAI 1992,
and Artificial Intelligence 71 (1994): directional blocking graphs.
Not checked: turning; motions of more than two bodies at once (`together`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from assembly.contacts import Patch, contacts
from assembly.directions import cells, ways_out
from assembly.motion import Bodies
from assembly.placing import Assembly
from model.frames import Vector, inverse
from model.joint import Joint
from model.part import ALL

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
Unit = tuple[str, ...]

PRESSING = 1e-3
"""A contact whose normal leans this far (sine) into a motion stops it; leaning less, the solids decide."""
TOGETHER = 48
"""Bodies in the way that are asked together where all that stop one are wanted."""
LOOKED_AT = 8
"""Bodies in the way that are looked at together, nearest first."""


@dataclass(frozen=True)
class Tie:
    """A joint between two units: a slides home into b along `axis` (world, unit)."""

    joint: Joint
    a: int
    b: int
    axis: Vector


@dataclass(frozen=True, eq=False)
class Ways:
    """The directions tried for one unit (M, 3); which neighbours (K,) stop it along which (M, K)."""

    directions: Array
    neighbours: Indices
    stopped: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Source:
    """What a blocking was made from, so that the same question can be asked of the work with something changed."""

    assembly: Assembly
    done: frozenset[str]
    deep: Mapping[tuple[str, str], float]


@dataclass(frozen=True, eq=False)
class Blocking:
    """Units where they stand: what touches what, and who stops whom.

    `units`: U groups of part names. `first`, `second` (P,) the units of each contact between
    two units; `normals` (P, 3) from first into second, `centres` (P, 3) its middle, world, mm; `patch_joints` the
    joint of each.
    """

    bodies: Bodies
    units: tuple[Unit, ...]
    first: Indices
    second: Indices
    normals: Array
    patch_joints: tuple[str | None, ...]
    ties: tuple[Tie, ...]
    masses: Array
    axes: Array
    """The axes of the drawing, carried along with the assembly (3, 3)."""
    places: Array
    """Centres of mass in the base part's frame (U, 3): they rank alike pieces, whoever turns the whole."""
    base: Array
    """How the base part's frame is turned in the world (3, 3)."""
    centres: Array
    source: Source
    _ways: dict[int, Ways] = field(default_factory=dict)

    @cached_property
    def members(self) -> tuple[Indices, ...]:
        """Body indices of each unit."""
        at = {name: i for i, name in enumerate(self.bodies.names)}
        return tuple(np.array([at[n] for n in unit], dtype=np.int64) for unit in self.units)

    @cached_property
    def unit_of(self) -> Indices:
        """The unit of each body."""
        owner = np.zeros(len(self.bodies.names), dtype=np.int64)
        for u, members in enumerate(self.members):
            owner[members] = u
        return owner

    @cached_property
    def rank(self) -> Indices:
        """Each unit's place in line, light before heavy, alike ones from the far side to the near: (U,)."""
        order = np.lexsort((*-np.round(self.places, 2).T, np.round(self.masses, 6)))
        rank = np.empty(len(order), dtype=np.int64)
        rank[order] = np.arange(len(order))
        return rank

    @cached_property
    def touching(self) -> tuple[frozenset[int], ...]:
        """The units each unit touches or is joined to."""
        near: list[set[int]] = [set() for _ in self.units]
        pairs = [*zip(self.first.tolist(), self.second.tolist(), strict=True), *((t.a, t.b) for t in self.ties)]
        for a, b in pairs:
            near[a].add(b)
            near[b].add(a)
        return tuple(frozenset(s) for s in near)

    @cached_property
    def ties_of(self) -> tuple[tuple[Tie, ...], ...]:
        """The joints of each unit."""
        held: list[list[Tie]] = [[] for _ in self.units]
        for tie in self.ties:
            held[tie.a].append(tie)
            held[tie.b].append(tie)
        return tuple(tuple(h) for h in held)

    @cached_property
    def patches_of(self) -> tuple[Indices, ...]:
        """The contacts of each unit."""
        held: list[list[int]] = [[] for _ in self.units]
        for p, (a, b) in enumerate(zip(self.first.tolist(), self.second.tolist(), strict=True)):
            held[a].append(p)
            held[b].append(p)
        return tuple(np.array(h, dtype=np.int64) for h in held)

    def ways(self, unit: int) -> Ways:
        """Return the directions to try for a unit and which of its neighbours stop it along each."""
        if unit not in self._ways:
            self._ways[unit] = self._find_ways(unit)
        return self._ways[unit]

    def _find_ways(self, unit: int) -> Ways:
        patches = self.patches_of[unit]
        outward = np.where((self.first[patches] == unit)[:, None], 1.0, -1.0) * self.normals[patches]
        other = np.where(self.first[patches] == unit, self.second[patches], self.first[patches])
        axes = np.array([-t.axis if t.a == unit else t.axis for t in self.ties_of[unit]]).reshape(-1, 3)
        own = np.concatenate([self.bodies.frames[self.members[unit][0], :3, :3].T, self.axes])
        directions = ways_out(cells(axes), cells(outward), cells(own))
        neighbours, column = np.unique(other, return_inverse=True)
        stopped = np.zeros((len(directions), len(neighbours)), dtype=bool)
        rows, pressed = np.nonzero(directions @ outward.T > PRESSING)
        stopped[rows, column[pressed]] = True
        return Ways(directions, neighbours, stopped)

    def middle(self, group: Sequence[int]) -> Array:
        """Return the centre of mass of some units, mm, in the world's directions (3,)."""
        few = list(group)
        at: Array = self.masses[few] @ self.places[few] / self.masses[few].sum()
        return at @ self.base.T

    def all_ways(self, among: Iterable[int]) -> tuple[Array, list[Array]]:
        """Return the joint axes (J, 3) of some units and, for each unit, every direction tried for it."""
        axes = np.array([t.axis for u in among for t in self.ties_of[u]]).reshape(-1, 3)
        return axes, [self.ways(u).directions for u in among]

    def stopper(self, unit: int, direction: Array, present: NDArray[np.bool_]) -> int | None:
        """Return a unit among those present (U,) that stops another one somewhere along a direction, or None."""
        rest = np.flatnonzero(present[self.unit_of] & (self.unit_of != unit))
        for body in self.members[unit].tolist():
            near = self.bodies.ahead(body, rest, direction)
            for start in range(0, len(near), LOOKED_AT):
                some = near[start:start + LOOKED_AT]
                hit = np.flatnonzero(np.isfinite(self.bodies.gaps(body, some, direction)))
                if len(hit):
                    return int(self.unit_of[some[hit[0]]])
        return None

    def stoppers(self, group: Sequence[int], rest: Sequence[int], direction: Array) -> list[tuple[int, int]]:
        """Return all edges u -> v where v, of the rest, stops u, of the group, somewhere along a direction."""
        others = np.concatenate([self.members[v] for v in rest])
        edges: set[tuple[int, int]] = set()
        for u in group:
            for body in self.members[u].tolist():
                near = self.bodies.ahead(body, others, direction)
                for start in range(0, len(near), TOGETHER):
                    some = near[start:start + TOGETHER]
                    hit = some[np.isfinite(self.bodies.gaps(body, some, direction))]
                    edges.update((u, v) for v in np.unique(self.unit_of[hit]).tolist())
        return sorted(edges)

    def parts(self, group: Iterable[int]) -> tuple[str, ...]:
        """Return the part names of some units."""
        return tuple(name for u in group for name in self.units[u])


def blocking(assembly: Assembly, units: Sequence[Unit], done: frozenset[str] = ALL,
             deep: Mapping[tuple[str, str], float] | None = None) -> Blocking:
    """Return who stops whom among rigid groups of parts, with the stages in `done` behind them.

    `deep`: pairs of parts known to overlap, with the depth in mm (from the interference check).
    """
    names = tuple(n for unit in units for n in unit)
    owner = {n: u for u, unit in enumerate(units) for n in unit}
    everything = len(names) == len(assembly.names)
    between = [p for p in contacts(assembly, done, None if everything else names)
               if p.a in owner and p.b in owner and owner[p.a] != owner[p.b]]
    placed = bodies(assembly, names, done, deep)
    ties = tuple(Tie(j, owner[j.a], owner[j.b], assembly.axis(j)) for j in assembly.design.joints
                 if j.a in owner and j.b in owner and owner[j.a] != owner[j.b])
    masses, centres = _masses(assembly, units, placed)
    base = assembly.frames[assembly.design.base]
    drawing = base @ inverse(assembly.design.base_frame)
    return Blocking(placed, tuple(tuple(u) for u in units), *_sides(between, owner), tuple(p.joint for p in between),
                    ties, masses, drawing[:3, :3].T.copy(), (centres - base[:3, 3]) @ base[:3, :3],
                    base[:3, :3].copy(), np.array([p.centre for p in between]).reshape(-1, 3),
                    Source(assembly, done, deep or {}))


def _sides(patches: Sequence[Patch], owner: Mapping[str, int]) -> tuple[Indices, Indices, Array]:
    first = np.array([owner[p.a] for p in patches], dtype=np.int64)
    second = np.array([owner[p.b] for p in patches], dtype=np.int64)
    return first, second, np.array([p.normal for p in patches], dtype=np.float64).reshape(-1, 3)


def _masses(assembly: Assembly, units: Sequence[Unit], placed: Bodies) -> tuple[Array, Array]:
    """Return the mass of each unit, kg, and its centre of mass in the world, mm."""
    kg = np.array([s.volume * 1e-9 * assembly.part(n).density
                   for n, s in zip(placed.names, placed.solids, strict=True)])
    middle = np.array([s.centroid for s in placed.solids]).reshape(-1, 3)
    at = np.einsum("nij,nj->ni", placed.frames[:, :3, :3], middle) + placed.frames[:, :3, 3]
    owner = np.repeat(np.arange(len(units)), [len(u) for u in units])
    masses: Array = np.bincount(owner, kg, len(units)).astype(np.float64)
    centres: Array = np.stack([np.bincount(owner, kg * at[:, k], len(units)) for k in range(3)], axis=1)
    return masses, centres / masses[:, None]


def bodies(assembly: Assembly, names: Sequence[str], done: frozenset[str] = ALL,
           deep: Mapping[tuple[str, str], float] | None = None) -> Bodies:
    """Return the named parts as bodies where they stand, with the stages in `done` behind them."""
    at = {name: i for i, name in enumerate(names)}
    depths = {(min(at[a], at[b]), max(at[a], at[b])): depth for (a, b), depth in (deep or {}).items()
              if a in at and b in at}
    frames = np.array([assembly.frames[n] for n in names]).reshape(-1, 4, 4)
    return Bodies(tuple(names), tuple(assembly.solid(n, done) for n in names), frames, depths)
