"""Project: tasks that wait for each other and share people, clamps and benches, in the shortest time.

A first plan is made by putting each task as early as it goes, in an order by the longest way
still to go; CP-SAT starts from it and looks for a shorter one with a proof. What it finds is
put as early as it goes in its own order, which delays nothing. A plan always comes; it is
called optimal only when that is proven. The bound is never below the longest way and the work
there is for each resource.
Source: the resource-constrained project scheduling problem, Pritsker, Watters & Wolfe,
Management Science 16 (1969); the first plan by the serial schedule scheme, Kelley (1963), both from memory.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import networkx as nx

EFFORT = 6.0
"""How hard CP-SAT tries, in its own deterministic seconds: the answer does not depend on the machine."""
UNIT = 100
"""Durations are counted in hundredths, rounded up."""


@dataclass(frozen=True)
class Task:
    """One task: how long it takes, what it takes of each resource meanwhile, what it comes after."""

    name: Hashable
    duration: float
    takes: Mapping[str, int] = field(default_factory=dict)
    after: tuple[Hashable, ...] = ()


@dataclass(frozen=True)
class Timetable:
    """When each task starts, how long the whole takes, the proven least, and whether that is reached."""

    starts: Mapping[Hashable, float]
    length: float
    bound: float
    optimal: bool


def shortest(tasks: Sequence[Task], there: Mapping[str, int], effort: float = EFFORT) -> Timetable:
    """Return a timetable as short as could be found; `there`: how much of each resource there is.

    ValueError where a task takes more of a resource than there is, or tasks wait for each other in a circle.
    """
    if not tasks:
        return Timetable({}, 0.0, 0.0, True)
    for task in tasks:
        for what, much in task.takes.items():
            if much > there.get(what, math.inf):
                raise ValueError(f"{task.name} takes {much} of {what}, there are {there[what]}")
    graph = nx.DiGraph()
    graph.add_nodes_from(t.name for t in tasks)
    graph.add_edges_from((before, t.name) for t in tasks for before in t.after)
    if not nx.is_directed_acyclic_graph(graph):
        raise ValueError("tasks wait for each other in a circle")
    first = _as_early_as_it_goes(tasks, there, graph, _to_go(tasks, graph))
    least = _least(tasks, there, graph)
    if _length(tasks, first) == least:
        return Timetable({n: s / UNIT for n, s in first.items()}, least / UNIT, least / UNIT, True)
    return _improved(tasks, there, graph, first, least, effort)


def _ticks(task: Task) -> int:
    return math.ceil(task.duration * UNIT - 1e-6)


def _length(tasks: Sequence[Task], starts: Mapping[Hashable, int]) -> int:
    return max(starts[t.name] + _ticks(t) for t in tasks)


def _to_go(tasks: Sequence[Task], graph: nx.DiGraph) -> dict[Hashable, int]:
    """Return for each task minus the longest way from its start to the end, ticks."""
    of = {t.name: t for t in tasks}
    to_go: dict[Hashable, int] = {}
    for name in reversed(list(nx.topological_sort(graph))):
        to_go[name] = min((to_go[s] for s in graph.successors(name)), default=0) - _ticks(of[name])
    return to_go


def _least(tasks: Sequence[Task], there: Mapping[str, int], graph: nx.DiGraph) -> int:
    """Return how short the whole can be at the very least, ticks: its longest way, and the work for each resource."""
    work = {what: sum(_ticks(t) * t.takes.get(what, 0) for t in tasks) for what in there}
    return max(-min(_to_go(tasks, graph).values()), *(math.ceil(work[what] / much) for what, much in there.items()
                                                      if much), 0)


def _as_early_as_it_goes(tasks: Sequence[Task], there: Mapping[str, int], graph: nx.DiGraph,
                         rank: Mapping[Hashable, int]) -> dict[Hashable, int]:
    """Return starts in ticks: each task as early as it goes, those of lower rank first."""
    of = {t.name: t for t in tasks}
    used = _Used(there)
    starts: dict[Hashable, int] = {}
    for name in nx.lexicographical_topological_sort(graph, key=lambda n: (rank[n], str(n))):
        task = of[name]
        ready = max((starts[b] + _ticks(of[b]) for b in task.after), default=0)
        starts[name] = used.put(task, ready)
    return starts


class _Used:
    """How much of each resource is taken when, ticks: `much[k]` holds from `since[k]` to the next."""

    def __init__(self, there: Mapping[str, int]) -> None:
        self.there = there
        self.since: list[int] = [0]
        self.much: list[dict[str, int]] = [{}]

    def put(self, task: Task, ready: int) -> int:
        """Put a task as early as it goes, not before it is ready, and return its start."""
        takes = {what: much for what, much in task.takes.items() if much and what in self.there}
        lasts = _ticks(task)
        if not takes or not lasts:
            return ready
        at, k = ready, bisect_right(self.since, ready) - 1
        while k < len(self.since) and self.since[k] < at + lasts:
            if any(self.much[k].get(what, 0) + much > self.there[what] for what, much in takes.items()):
                at = self.since[k + 1]
            k += 1
        for k in range(self._cut(at), self._cut(at + lasts)):
            self.much[k] = {**self.much[k], **{what: self.much[k].get(what, 0) + n for what, n in takes.items()}}
        return at

    def _cut(self, at: int) -> int:
        """Let a stretch begin at a moment, and return its number."""
        k = bisect_left(self.since, at)
        if k == len(self.since) or self.since[k] != at:
            self.since.insert(k, at)
            self.much.insert(k, self.much[k - 1])
        return k


def _improved(tasks: Sequence[Task], there: Mapping[str, int], graph: nx.DiGraph, first: Mapping[Hashable, int],
              least: int, effort: float) -> Timetable:
    from ortools.sat.python import cp_model

    of = {t.name: t for t in tasks}
    horizon = _length(tasks, first)
    model: Any = cp_model.CpModel()
    start = {t.name: model.new_int_var(0, horizon, "") for t in tasks}
    span = {t.name: model.new_fixed_size_interval_var(start[t.name], _ticks(t), "") for t in tasks}
    end = model.new_int_var(least, horizon, "")
    for task in tasks:
        model.add(start[task.name] + _ticks(task) <= end)
        model.add_hint(start[task.name], first[task.name])
    for before, after in graph.edges:
        model.add(start[before] + _ticks(of[before]) <= start[after])
    for what, much in there.items():
        users = [t for t in tasks if t.takes.get(what, 0) and _ticks(t)]
        if users:
            model.add_cumulative([span[t.name] for t in users], [t.takes[what] for t in users], much)
    model.minimize(end)
    solver: Any = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = effort
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Timetable({n: s / UNIT for n, s in first.items()}, horizon / UNIT, least / UNIT, False)
    found = {n: solver.value(v) for n, v in start.items()}
    early = _as_early_as_it_goes(tasks, there, graph, found)
    length = _length(tasks, early)
    bound = max(least, math.ceil(solver.best_objective_bound - 1e-6))
    return Timetable({n: s / UNIT for n, s in early.items()}, length / UNIT, bound / UNIT, length <= bound)
