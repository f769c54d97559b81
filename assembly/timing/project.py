"""Project: tasks that wait for each other and share people, clamps and benches, in the shortest time.

A first plan is made by putting each task as early as it goes, in an order by the longest way
still to go; CP-SAT starts from it and looks for a shorter one with a proof. A plan always
comes; it is called optimal only when that is proven.
Source: the resource-constrained project scheduling problem, Pritsker, Watters & Wolfe,
Management Science 16 (1969); the first plan by the serial schedule scheme, Kelley (1963), both from memory.
"""

from __future__ import annotations

import math
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
    first = _first_plan(tasks, there, graph)
    return _improved(tasks, there, graph, first, effort)


def _ticks(task: Task) -> int:
    return math.ceil(task.duration * UNIT - 1e-6)


def _first_plan(tasks: Sequence[Task], there: Mapping[str, int], graph: nx.DiGraph) -> dict[Hashable, int]:
    """Return starts in ticks: each task as early as it goes, those with the longest way still to go first."""
    of = {t.name: t for t in tasks}
    to_go: dict[Hashable, int] = {}
    for name in reversed(list(nx.topological_sort(graph))):
        to_go[name] = _ticks(of[name]) + max((to_go[s] for s in graph.successors(name)), default=0)
    line = list(nx.lexicographical_topological_sort(graph, key=lambda n: (-to_go[n], str(n))))
    starts: dict[Hashable, int] = {}
    for name in line:
        task = of[name]
        at = max((starts[b] + _ticks(of[b]) for b in task.after), default=0)
        while (later := _hindered(task, at, starts, of, there)) is not None:
            at = later
        starts[name] = at
    return starts


def _hindered(task: Task, at: int, starts: Mapping[Hashable, int], of: Mapping[Hashable, Task],
              there: Mapping[str, int]) -> int | None:
    """Return the next time worth trying where a task finds too little of a resource at `at`, or None."""
    end = at + _ticks(task)
    beside = [(s, s + _ticks(of[n]), of[n]) for n, s in starts.items() if s < end and s + _ticks(of[n]) > at]
    for moment in sorted({at, *(s for s, _, _ in beside if s > at)}):
        for what, much in task.takes.items():
            used = sum(t.takes.get(what, 0) for s, e, t in beside if s <= moment < e)
            if used + much > there.get(what, math.inf):
                return min(e for s, e, t in beside if s <= moment < e and t.takes.get(what, 0))
    return None


def _improved(tasks: Sequence[Task], there: Mapping[str, int], graph: nx.DiGraph, first: Mapping[Hashable, int],
              effort: float) -> Timetable:
    from ortools.sat.python import cp_model

    of = {t.name: t for t in tasks}
    horizon = max(s + _ticks(of[n]) for n, s in first.items())
    model: Any = cp_model.CpModel()
    start = {t.name: model.new_int_var(0, horizon, "") for t in tasks}
    span = {t.name: model.new_fixed_size_interval_var(start[t.name], _ticks(t), "") for t in tasks}
    end = model.new_int_var(0, horizon, "")
    for task in tasks:
        model.add(start[task.name] + _ticks(task) <= end)
        model.add_hint(start[task.name], first[task.name])
    for before, after in graph.edges:
        model.add(start[before] + _ticks(of[before]) <= start[after])
    for what, much in there.items():
        users = [t for t in tasks if t.takes.get(what, 0)]
        if users:
            model.add_cumulative([span[t.name] for t in users], [t.takes[what] for t in users], much)
    model.minimize(end)
    solver: Any = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = effort
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Timetable({n: s / UNIT for n, s in first.items()}, horizon / UNIT, 0.0, False)
    starts = {n: solver.value(v) / UNIT for n, v in start.items()}
    return Timetable(starts, solver.objective_value / UNIT, solver.best_objective_bound / UNIT,
                     status == cp_model.OPTIMAL)
