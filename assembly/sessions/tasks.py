"""Tasks: the closings that an order consists of, and which of them must come before which.

A closing is one piece or group going home, or several that close all at once; it cannot be
split. The order found is one of many: a closing must come after another only where the two
touch, where the later one would stand in the earlier one's way, or where a group is made up
first. Any order that keeps to this closes the same joints by the same moves.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from assembly.blocking import Blocking, Unit
from assembly.locks import Lock, lock
from assembly.order import Order, closing_moves, move_of
from assembly.plan import Move
from assembly.taking_apart import Chain


@dataclass(frozen=True)
class Task:
    """One closing: its moves, the pieces or groups it brings, and the work (a chain) it brings them to."""

    moves: tuple[Move, ...]
    brings: tuple[Unit, ...]
    chain: int

    @property
    def joints(self) -> tuple[str, ...]:
        """The joints it closes."""
        return tuple(dict.fromkeys(n for m in self.moves for n in m.joints))


@dataclass(frozen=True)
class Core:
    """What a chain begins with: one piece or group, or several that lock each other, and what is to be said of those.

    `joints`: those between pieces that lock each other.
    """

    units: tuple[Unit, ...]
    locks: tuple[Lock, ...] = ()
    joints: tuple[str, ...] = ()


@dataclass(frozen=True)
class Tasks:
    """All closings, in an order that can be carried out.

    `order`: (a, b), a not after b; `strict`: a in an earlier session than b; `cores` by the number of the chain.
    """

    tasks: tuple[Task, ...]
    order: frozenset[tuple[int, int]]
    strict: frozenset[tuple[int, int]]
    cores: tuple[Core, ...]


@dataclass
class _Gathered:
    tasks: list[Task] = field(default_factory=list)
    order: set[tuple[int, int]] = field(default_factory=set)
    strict: set[tuple[int, int]] = field(default_factory=set)
    cores: list[Core] = field(default_factory=list)

    def add(self, held: Blocking, chain: Chain, made: Mapping[Unit, Sequence[int]]) -> range:
        """Add the closings of a chain, groups first; return the numbers of its own and of all made up for it."""
        start = len(self.tasks)
        inside = [self.add(held, step.inside, made) if step.inside is not None else range(0) for step in chain.steps]
        within = [t for inner in chain.within if inner is not None for t in self.add(held, inner, made)]
        number, own = len(self.cores), list[int]()
        self.cores.append(_core(held, chain))
        if chain.drawn is not None:
            brings = tuple(held.parts(group) for group in chain.drawn.groups[1:])
            own.append(self._task(held, Task(tuple(closing_moves(held, chain)), brings, number), made))
        for step, before in zip(reversed(chain.steps), reversed(inside), strict=True):
            task = self._task(held, Task((move_of(held, step),), (held.parts(step.leaving),), number), made)
            self.strict.update((b, task) for b in before)
            own.append(task)
        first = [*within, *(t for u in chain.core for t in made.get(held.units[u], ()))]
        self.strict.update((t, task) for t in first for task in own)
        self._tie(held, own)
        return range(start, len(self.tasks))

    def _task(self, held: Blocking, task: Task, made: Mapping[Unit, Sequence[int]]) -> int:
        number = len(self.tasks)
        self.tasks.append(task)
        here = {n for unit in task.brings for n in unit}
        self.strict.update((t, number) for unit in held.units if unit in made and here.issuperset(unit)
                           for t in made[unit])
        return number

    def _tie(self, held: Blocking, own: Sequence[int]) -> None:
        """Note which closings of a chain must come before which."""
        unit_of = {n: u for u, unit in enumerate(held.units) for n in unit}
        brought = {t: {unit_of[n] for unit in self.tasks[t].brings for n in unit} for t in own}
        core = {unit_of[n] for unit in self.cores[self.tasks[own[0]].chain].units for n in unit} if own else set()
        at: dict[int, int] = {}
        for k, task in enumerate(own):
            near = {v for u in brought[task] for v in held.touching[u]} - brought[task]
            loose = not (near & core or any(v in at for v in near))
            before = own[:k] if loose else sorted({at[v] for v in near if v in at})
            self.order.update((b, task) for b in before)
            at.update(dict.fromkeys(brought[task], task))
        for k, task in enumerate(own[:-1]):
            self.order.update((task, later) for later in self._in_the_way(held, task, own[k + 1:], at))

    def _in_the_way(self, held: Blocking, task: int, later: Sequence[int], at: Mapping[int, int]) -> set[int]:
        """Return the later closings whose pieces would stand in the way of an earlier one."""
        moves = self.tasks[task].moves
        if len(moves) > 1 or moves[0].before is not None:
            return set(later)
        rest = [u for u, k in at.items() if k in set(later)]
        own = [u for u, k in at.items() if k == task]
        return {at[v] for _, v in held.stoppers(own, rest, -np.array(moves[0].direction, dtype=np.float64))}


def _core(held: Blocking, chain: Chain) -> Core:
    if chain.drawn is not None:
        return Core((held.parts(chain.drawn.groups[0]),))
    if len(chain.core) == 1:
        return Core((held.parts(chain.core),))
    few = set(chain.core)
    joints = tuple(t.joint.name for t in held.ties if t.a in few and t.b in few)
    return Core(tuple(held.units[u] for u in chain.core), (lock(held, chain.core),), joints)


def tasks_of(found: Order, inside: Mapping[Unit, Order] | None = None) -> Tasks:
    """Return the closings of an order and what must come before what.

    `inside`: for units of several parts that the order took as one, the order in which they are made up, inner ones
    first.
    """
    gathered = _Gathered()
    made: dict[Unit, list[int]] = {}
    for unit, order in (inside or {}).items():
        made[unit] = [t for chain in order.chains for t in gathered.add(order.blocking, chain, made)]
    for chain in found.chains:
        gathered.add(found.blocking, chain, made)
    return Tasks(tuple(gathered.tasks), frozenset(gathered.order), frozenset(gathered.strict), tuple(gathered.cores))
