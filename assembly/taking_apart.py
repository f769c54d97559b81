"""Taking apart: pieces and groups leave one after another until single units are left.

What can leave the whole can leave any part of the whole, since fewer bodies stand in its
way; so nothing is lost by letting anything leave as soon as it can, and the verdict does
not depend on the order tried. Single units go first, light before heavy, those that keep
the rest in one piece before those that part it; then the smallest group that can leave.
Where nothing leaves by a motion of two bodies, all that is left is asked to come apart at once
(`together`); each group that results is taken further apart by itself.
Source: Wilson & Latombe, Artificial Intelligence 71 (1994), two-handed partitioning.
Not checked: turning.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from assembly.blocking import Blocking
from assembly.directions import by_share, tried_for_groups
from assembly.engagement import engagement, ties_between
from assembly.leaving import Leaving
from assembly.together import Closing, draw_together

Array = NDArray[np.float64]
Group = tuple[int, ...]

ROOM_LEAST = 5.0
"""A piece that slides less than this before it is stopped is only loose in its joints, mm."""
CLEAR = 1.0
"""How far past its joints a piece must get before it turns another way, mm."""


@dataclass(frozen=True, eq=False)
class Parting:
    """One step: `leaving` slides off `staying` along `direction` (unit); `inside` takes a group further apart.

    `then` is the way on where something stands in the straight way, and `turns_at` how far out it turns, mm.
    """

    leaving: Group
    staying: Group
    direction: Array
    inside: Chain | None = None
    then: Array | None = None
    turns_at: float = 0.0


@dataclass(frozen=True, eq=False)
class Chain:
    """How a set of units comes apart: steps in the order made, and what is left at last.

    `core` is a single unit, or the units that lock each other where nothing could leave. Where what was left came
    apart all at once, `drawn` says how, `core` is its group at rest, and `within` (as many as there are groups) how
    each of its groups comes further apart, None for a single unit.
    """

    units: Group
    steps: tuple[Parting, ...]
    core: Group
    drawn: Closing | None = None
    within: tuple[Chain | None, ...] = ()

    @property
    def made_before(self) -> tuple[Chain, ...]:
        """The groups that are made up before they move: of each step, and of a closing all at once."""
        return tuple(c for c in (*(s.inside for s in self.steps), *self.within) if c is not None)

    @property
    def locked(self) -> tuple[Group, ...]:
        """Every set of units, here or in a group that left, that no motion takes apart."""
        own = (self.core,) if len(self.core) > 1 and self.drawn is None else ()
        return own + tuple(lock for chain in self.made_before for lock in chain.locked)


def take_apart(blocking: Blocking, among: Sequence[int] | None = None) -> tuple[Chain, ...]:
    """Return how the units come apart: one chain for each set of units that hang together.

    Sets that do not touch are handled apart, unless one is caught in another.
    """
    everything = range(len(blocking.units)) if among is None else among
    rank = blocking.rank.tolist()
    pieces = sorted(_caught(blocking, touching_sets(blocking, everything)), key=lambda c: (-len(c), rank[c[0]]))
    return tuple(_Table(blocking, piece).chain() for piece in pieces)


def touching_sets(blocking: Blocking, among: Sequence[int]) -> list[Group]:
    """Return the sets of units that hang together by touching, the largest first."""
    web = nx.Graph()
    web.add_nodes_from(among)
    web.add_edges_from((u, v) for u in among for v in blocking.touching[u] if v in web)
    rank = blocking.rank.tolist()
    sets = [tuple(sorted(c, key=rank.__getitem__)) for c in nx.connected_components(web)]
    return sorted(sets, key=lambda c: (-len(c), rank[c[0]]))


def _caught(blocking: Blocking, pieces: list[Group]) -> list[Group]:
    """Return sets of units that do not touch, those merged of which one cannot leave the others as it stands."""
    rank = blocking.rank.tolist()
    free: list[Group] = []
    left = sorted(pieces, key=lambda c: (len(c), rank[c[0]]))
    if len(left) < 2:
        return left
    boxes = [_box(blocking, piece) for piece in left]
    while left:
        piece, (low, high) = left.pop(0), boxes.pop(0)
        meets = [bool(np.all((low < b[1]) & (b[0] < high))) for b in boxes]
        near = [other for other, meet in zip(left, meets, strict=True) if meet]
        if near and not _leaves(blocking, piece, [u for other in near for u in other]):
            merged = tuple(sorted((*piece, *(u for other in near for u in other)), key=rank.__getitem__))
            left = [*(other for other, meet in zip(left, meets, strict=True) if not meet), merged]
            boxes = [*(b for b, meet in zip(boxes, meets, strict=True) if not meet), _box(blocking, merged)]
        else:
            free.append(piece)
    return free


def _box(blocking: Blocking, group: Group) -> tuple[Array, Array]:
    low, high = blocking.bodies.extent(blocking.axes[2])
    members = np.concatenate([blocking.members[u] for u in group])
    return low[members].min(axis=0), high[members].max(axis=0)


def _leaves(blocking: Blocking, group: Group, rest: list[int]) -> bool:
    axes, ways = blocking.all_ways(group)
    return any(not blocking.stoppers(group, rest, d) for tier in tried_for_groups(axes, ways) for d in tier)


@dataclass
class _Table:
    """The units still together, and who waits for whom to leave."""

    blocking: Blocking
    units: Group
    present: NDArray[np.bool_] = field(init=False)
    count: int = field(init=False)
    queue: list[tuple[int, int]] = field(init=False)
    queued: set[int] = field(init=False)
    apart: set[int] = field(default_factory=set)
    """Units that can leave but would part the rest in two."""
    watched: dict[tuple[int, int], int] = field(default_factory=dict)
    waiting: dict[int, set[int]] = field(default_factory=dict)
    whole: bool = True
    """Whether what is left is known to hang together."""
    leaving: Leaving | None = None
    """What was found about groups of what is left, the last time it was asked."""

    def __post_init__(self) -> None:
        self.present = np.zeros(len(self.blocking.units), dtype=bool)
        self.present[list(self.units)] = True
        self.count = len(self.units)
        self.queue, self.queued = [], set()
        for unit in self.units:
            self._call(unit)

    def chain(self) -> Chain:
        """Return how the units come apart."""
        steps: list[Parting] = []
        while self.count > 1:
            step = self._island() or self._single() or self._group() or self._round_a_corner()
            if step is None:
                drawn = draw_together(self.blocking, self._left()).closing
                if drawn is None:
                    break
                if len(drawn.groups) > 2:
                    within = tuple(self._inside(group) for group in drawn.groups)
                    return Chain(self.units, tuple(steps), drawn.groups[0], drawn, within)
                step = self._pair(drawn)
            steps.append(step)
            self._leave(step.leaving)
        return Chain(self.units, tuple(steps), self._left())

    def _pair(self, drawn: Closing) -> Parting:
        """Return a motion of two groups, found among those of many, as a step like any other."""
        self.whole = False
        return self._lighter(self._left(), drawn.groups[1], drawn.velocities[1])

    def _left(self) -> Group:
        units = np.array(self.units, dtype=np.int64)
        return tuple(units[self.present[units]].tolist())

    def _call(self, unit: int) -> None:
        if unit not in self.queued:
            self.queued.add(unit)
            heapq.heappush(self.queue, (int(self.blocking.rank[unit]), unit))

    def _leave(self, group: Group) -> None:
        self.present[list(group)] = False
        self.leaving = None
        self.count -= len(group)
        for gone in group:
            for unit in self.blocking.touching[gone] | self.waiting.pop(gone, set()):
                if self.present[unit]:
                    self.apart.discard(unit)
                    self._call(unit)

    def _island(self) -> Parting | None:
        """Return the smallest set that touches nothing else left and can leave: it is made up on its own."""
        if self.whole:
            return None
        self.whole = True
        left = self._left()
        sets = touching_sets(self.blocking, left)
        for group in sets[1:] if len(sets) > 1 else ():
            rest = [u for u in left if u not in set(group)]
            away = self.blocking.middle(group) - self.blocking.middle(rest)
            axes, ways = self.blocking.all_ways(group)
            tried = np.concatenate(tried_for_groups(axes, ways))
            for direction in tried[np.argsort(-np.round(tried @ away, 6), kind="stable")]:
                if not self.blocking.stoppers(group, rest, direction):
                    return Parting(group, tuple(rest), direction, self._inside(group))
        return None

    def _single(self) -> Parting | None:
        """Return the lightest unit that can leave and keeps the rest together, else one that does not."""
        while self.queue:
            _, unit = heapq.heappop(self.queue)
            self.queued.discard(unit)
            direction = self._way_out(unit) if self.present[unit] else None
            if direction is None:
                continue
            if not self._parts_the_rest(unit):
                return self._parting(unit, direction)
            self.apart.add(unit)
        for unit in sorted(self.apart, key=self.blocking.rank.__getitem__):
            self.apart.discard(unit)
            direction = self._way_out(unit)
            if direction is not None:
                self.whole = False
                return self._parting(unit, direction)
        return None

    def _parting(self, unit: int, direction: Array) -> Parting:
        left = np.array(self.units, dtype=np.int64)
        staying = left[self.present[left] & (left != unit)]
        return Parting((unit,), tuple(staying.tolist()), direction)

    def _way_out(self, unit: int) -> Array | None:
        ways = self.blocking.ways(unit)
        held = (ways.stopped & self.present[ways.neighbours]).any(axis=1)
        for way in np.flatnonzero(~held).tolist():
            watch = self.watched.get((unit, way))
            if watch is not None and self.present[watch]:
                continue
            stopper = self.blocking.stopper(unit, ways.directions[way], self.present)
            if stopper is None:
                direction: Array = ways.directions[way]
                return direction
            self.watched[unit, way] = stopper
            self.waiting.setdefault(stopper, set()).add(unit)
        return None

    def _parts_the_rest(self, unit: int) -> bool:
        touching = self.blocking.touching
        sought = {u for u in touching[unit] if self.present[u]}
        if len(sought) < 2:
            return False
        start = sought.pop()
        seen, front = {unit, start}, [start]
        while front and sought:
            near = [v for u in front for v in touching[u] if self.present[v] and v not in seen]
            seen.update(near)
            sought.difference_update(near)
            front = list(dict.fromkeys(near))
        return bool(sought)

    def _group(self) -> Parting | None:
        """Return the smallest group that can leave along the axis most joints share; its lighter side moves."""
        left = self._left()
        axes, ways = self.blocking.all_ways(left)
        along_joints, others = tried_for_groups(axes, ways)
        self.leaving = Leaving(self.blocking, left)
        for tier in (*by_share(along_joints, axes), others):
            found = [(group, d) for d in tier if (group := self.leaving.for_good(d)) is not None]
            if found:
                self.whole = False
                group, direction = min(found, key=lambda f: (len(f[0]), sum(self.blocking.masses[list(f[0])])))
                return self._lighter(left, group, direction)
        return None

    def _lighter(self, left: Group, group: Group, direction: Array) -> Parting:
        others = tuple(u for u in left if u not in set(group))
        mass = self.blocking.masses
        if mass[list(group)].sum() > mass[list(others)].sum() * (1 + 1e-9):
            group, others, direction = others, group, -direction
        return Parting(group, others, direction, self._inside(group))

    def _inside(self, group: Group) -> Chain | None:
        return _Table(self.blocking, group).chain() if len(group) > 1 else None

    def _round_a_corner(self) -> Parting | None:
        """Return a unit, else a group, that gets clear of its joints and from there out another way."""
        left = self._left()
        for unit in left:
            ways = self.blocking.ways(unit)
            held = (ways.stopped & self.present[ways.neighbours]).any(axis=1)
            if (step := self._corner((unit,), left, ways.directions[~held], ways.directions)) is not None:
                return step
        axes, ways_of = self.blocking.all_ways(left)
        first, others = tried_for_groups(axes, ways_of)
        onward = np.concatenate([first, others])
        leaving = self.leaving or Leaving(self.blocking, left)
        for direction in first:
            for group in leaving.at_first(direction):
                step = self._corner(group, left, direction[None], onward) if len(group) < len(left) else None
                if step is not None:
                    return step
        return None

    def _corner(self, group: Group, left: Group, outward: Array, onward: Array) -> Parting | None:
        rest = tuple(u for u in left if u not in set(group))
        for direction in outward:
            found = way_on(self.blocking, group, rest, direction, onward)
            if found is not None:
                return Parting(group, rest, direction, self._inside(group), *found)
        return None


def way_on(blocking: Blocking, group: Group, rest: Group, direction: Array,
           onward: Array) -> tuple[Array, float] | None:
    """Return a way that leads a group off for ever once it has slid out so far along `direction`, and how far, mm."""
    movers = np.concatenate([blocking.members[u] for u in group])
    others = np.concatenate([blocking.members[u] for u in rest])
    room = blocking.bodies.travel(movers.tolist(), others, direction)
    if not room.told or not ROOM_LEAST < room.mm < math.inf:
        return None
    clear = engagement(blocking, group, rest, direction) + CLEAR
    if clear > room.mm and ties_between(blocking, group, rest):
        return None
    for far in (clear, (clear + room.mm) / 2, room.mm - CLEAR / 2):
        if far <= room.mm:
            beyond = blocking.bodies.shifted(movers, direction * far)
            for way in onward:
                if beyond.travel(movers.tolist(), others, way).free:
                    return way, far
    return None
