"""Solve: the fewest glue sessions into which closings can be put, with a bound that says how good the answer is.

Closings are tasks. Some must not come after others, some must come in an earlier session (a
group that moves as one has set before); some must share a session. What goes into one
session must fit: an oracle says so, and says no to whatever holds a set it said no to. A first
plan is built session by session; CP-SAT then looks for fewer sessions with what is known to be
additive, learns from each session that the oracle refuses, and proves the bound.
Source: the simple assembly line balancing problem, with sessions for stations (Baybars,
Management Science 32 (1986), from memory); cuts after each refusal as in logic-based Benders
decomposition (Hooker & Ottosson, Mathematical Programming 96 (2003), from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import networkx as nx

Numbers = frozenset[int]

ROUNDS_MOST = 40
"""Times the solver is asked anew after the oracle has refused a session."""
EFFORT = 0.4
"""How hard CP-SAT tries each time, in its own deterministic seconds: the answer does not depend on the machine."""
GRAIN = 1000
"""Loads and limits are counted in thousandths."""
LEVELS_MOST = 60_000
"""Waits between sessions are made few only where they take no more constraints than this."""


@dataclass(frozen=True)
class Problem:
    """Closings 0 to `count` - 1 to be put into sessions.

    `order`: (a, b), a not after b. `strict`: (a, b), a in an earlier session than b. `together`: sets that
    share a session. `loads`: for each limit, the load of every task; what a session holds adds up to at most
    `limits`. `fits`: whether tasks can share a session; never true of a set when false of a subset.
    """

    count: int
    order: frozenset[tuple[int, int]]
    strict: frozenset[tuple[int, int]]
    together: tuple[Numbers, ...]
    loads: tuple[tuple[float, ...], ...]
    limits: tuple[float, ...]
    fits: Callable[[Numbers], bool]


@dataclass(frozen=True)
class Answer:
    """Sessions in their order, each the tasks in it, ascending; the proven least number of sessions.

    `misfits`: tasks that do not fit even alone; each has a session of its own, and the bound is for the rest held so.
    """

    sessions: tuple[tuple[int, ...], ...]
    bound: int
    misfits: Numbers = frozenset()

    @property
    def optimal(self) -> bool:
        """Whether no plan has fewer sessions."""
        return self.bound >= len(self.sessions)


class Clash(Exception):
    """Tasks that must share a session although one has to come in an earlier one than another: `tasks`."""

    def __init__(self, tasks: Numbers) -> None:
        super().__init__("tasks wait for themselves")
        self.tasks = tasks


@dataclass(frozen=True)
class _Blocks:
    """Tasks that share a session in any case, as one; edges between them; what each weighs."""

    problem: Problem
    blocks: tuple[Numbers, ...]
    order: nx.DiGraph
    """Edge a -> b: a not after b; `strict` where in an earlier session."""
    cache: dict[Numbers, bool] = field(default_factory=dict)

    def fits(self, some: Iterable[int]) -> bool:
        tasks = frozenset().union(*(self.blocks[b] for b in some))
        if tasks not in self.cache:
            self.cache[tasks] = all(sum(load[t] for t in tasks) <= limit + 1e-9 for load, limit
                                    in zip(self.problem.loads, self.problem.limits, strict=True)
                                    ) and self.problem.fits(tasks)
        return self.cache[tasks]

    def load(self, which: int, block: int) -> int:
        return round(GRAIN * sum(self.problem.loads[which][t] for t in self.blocks[block]))


def solve(problem: Problem) -> Answer:
    """Return sessions in an order that can be carried out, as few as could be found, with the proven least.

    Raises Clash where tasks that must share a session cannot.
    """
    if problem.count == 0:
        return Answer((), 0)
    blocks = _blocks(problem)
    misfits = frozenset(b for b in range(len(blocks.blocks)) if not blocks.fits([b]))
    first = _first_plan(blocks, misfits)
    bound = _easy_bound(blocks, misfits)
    if bound < len(first):
        first, bound = _improved(blocks, misfits, first, bound)
    elif len(first) > 1:
        first = _balanced(blocks, misfits, first)
    done = tuple(tuple(sorted(t for b in session for t in blocks.blocks[b])) for session in first)
    return Answer(done, bound, frozenset(t for b in misfits for t in blocks.blocks[b]))


def _blocks(problem: Problem) -> _Blocks:
    web = nx.DiGraph()
    web.add_nodes_from(range(problem.count))
    web.add_edges_from((*problem.order, *problem.strict))
    for group in problem.together:
        few = sorted(group)
        web.add_edges_from([*pairwise(few), *([(few[-1], few[0])] if len(few) > 1 else [])])
    parts = sorted((frozenset(c) for c in nx.strongly_connected_components(web)), key=min)
    of = {t: b for b, part in enumerate(parts) for t in part}
    clash = next((parts[of[a]] for a, b in sorted(problem.strict) if of[a] == of[b]), None)
    if clash is not None:
        raise Clash(clash)
    order = nx.DiGraph()
    order.add_nodes_from(range(len(parts)))
    order.add_edges_from((of[a], of[b], {"strict": False}) for a, b in problem.order if of[a] != of[b])
    order.add_edges_from((of[a], of[b], {"strict": True}) for a, b in problem.strict)
    return _Blocks(problem, tuple(parts), order)


def _earliest(blocks: _Blocks, misfits: Numbers) -> dict[int, int]:
    """Return the first session each block can be in, counting only what must lie in earlier ones."""
    least: dict[int, int] = {}
    for b in nx.lexicographical_topological_sort(blocks.order):
        least[b] = max((least[a] + (data["strict"] or a in misfits or b in misfits)
                        for a, _, data in blocks.order.in_edges(b, data=True)), default=0)
    return least


def _easy_bound(blocks: _Blocks, misfits: Numbers) -> int:
    """Return a number of sessions that no plan goes below: by what waits for what, and by what adds up."""
    depth = 1 + max(_earliest(blocks, misfits).values())
    rest = [b for b in range(len(blocks.blocks)) if b not in misfits]
    full = max((math.ceil(sum(blocks.load(k, b) for b in rest) / (GRAIN * limit) - 1e-6)
                for k, limit in enumerate(blocks.problem.limits) if 0 < limit < math.inf), default=0)
    return max(depth, full + len(misfits), 1)


def _first_plan(blocks: _Blocks, misfits: Numbers) -> list[list[int]]:
    """Return sessions filled one after the other with whatever may come next and still fits, in the order found."""
    waiting = {b: set(blocks.order.predecessors(b)) for b in blocks.order}
    sessions: list[list[int]] = []
    placed: set[int] = set()
    while len(placed) < len(waiting):
        here: list[int] = []
        for b in _ready(blocks, waiting, placed, here):
            if not here or (b not in misfits and here[0] not in misfits and blocks.fits([*here, b])):
                here.append(b)
        sessions.append(here)
        placed.update(here)
    return sessions


def _ready(blocks: _Blocks, waiting: dict[int, set[int]], placed: set[int], here: list[int]) -> Iterable[int]:
    """Yield blocks that may go into the session being filled, until none is left; `here` grows meanwhile."""
    refused: set[int] = set()
    while True:
        found = next((b for b in sorted(waiting) if b not in placed and b not in here and b not in refused
                      and waiting[b] <= placed | set(here)
                      and not any(blocks.order.edges[a, b]["strict"] for a in waiting[b] if a in here)), None)
        if found is None:
            return
        yield found
        if found not in here:
            refused.add(found)


def _improved(blocks: _Blocks, misfits: Numbers, first: list[list[int]], bound: int) -> tuple[list[list[int]], int]:
    """Return a plan of as few sessions as CP-SAT finds and the oracle takes, and the bound it proved."""
    best, refused = first, list[list[int]]()
    for _ in range(ROUNDS_MOST):
        model = _Model(blocks, misfits, len(best) - 1, refused)
        found = model.solved()
        if found is None:
            return best, len(best) if model.proven else max(bound, model.least)
        bad = [session for session in found if session and not (len(session) == 1 and session[0] in misfits)
               and not blocks.fits(session)]
        if not bad:
            best = [session for session in found if session]
            if len(best) <= bound:
                return best, bound
        refused += [_smallest(blocks, session) for session in bad]
    return best, bound


def _balanced(blocks: _Blocks, misfits: Numbers, first: list[list[int]]) -> list[list[int]]:
    """Return a plan of as many sessions with fewer waits between them and no session fuller than it need be."""
    refused: list[list[int]] = []
    for _ in range(ROUNDS_MOST // 4):
        found = _Model(blocks, misfits, len(first), refused, even=True, hint=first).solved()
        if found is None or any(not session for session in found):
            return first
        bad = [s for s in found if not (len(s) == 1 and s[0] in misfits) and not blocks.fits(s)]
        if not bad:
            return found
        refused += [_smallest(blocks, session) for session in bad]
    return first


def _smallest(blocks: _Blocks, session: Sequence[int]) -> list[int]:
    """Return a part of a session that does not fit either, and does when any one of it is left out."""
    few = list(session)
    for b in session:
        less = [x for x in few if x != b]
        if less and not blocks.fits(less):
            few = less
    return few


class _Model:
    """One question to CP-SAT: can the blocks go into so many sessions, none holding what was refused?"""

    def __init__(self, blocks: _Blocks, misfits: Numbers, sessions: int, refused: Sequence[Sequence[int]], *,
                 even: bool = False, hint: Sequence[Sequence[int]] = ()) -> None:
        from ortools.sat.python import cp_model

        self.blocks, self.sessions = blocks, sessions
        self.least, self.proven = 0, sessions < 1
        self.model: Any = cp_model.CpModel()
        count = len(blocks.blocks)
        self.inside = [[self.model.new_bool_var("") for _ in range(sessions)] for _ in range(count)]
        self.at = [self.model.new_int_var(0, max(0, sessions - 1), "") for _ in range(count)]
        if sessions < 1:
            return
        for b in range(count):
            self.model.add_exactly_one(self.inside[b])
            self.model.add(self.at[b] == sum(s * x for s, x in enumerate(self.inside[b])))
        for a, b, data in blocks.order.edges(data=True):
            self.model.add(self.at[a] + int(data["strict"]) <= self.at[b])
        self._hold_within(misfits, refused)
        if even:
            self._even_out(misfits)
        for s, session in enumerate(hint):
            for b in session:
                self.model.add_hint(self.at[b], s)

    def _hold_within(self, misfits: Numbers, refused: Sequence[Sequence[int]]) -> None:
        rest = [b for b in range(len(self.inside)) if b not in misfits]
        for s in range(self.sessions):
            for k, limit in enumerate(self.blocks.problem.limits):
                if math.isfinite(limit):
                    self.model.add(sum(self.blocks.load(k, b) * self.inside[b][s] for b in rest)
                                   <= math.floor(GRAIN * limit + 0.5))
            for few in refused:
                self.model.add(sum(self.inside[b][s] for b in few) <= len(few) - 1)
            for m in misfits:
                for b in range(len(self.inside)):
                    if b != m:
                        self.model.add_implication(self.inside[m][s], self.inside[b][s].Not())

    def _even_out(self, misfits: Numbers) -> None:
        """Ask first for few sessions that wait for each other, then for the fullest to be as little full as may be."""
        count, sessions = len(self.inside), self.sessions
        rest = [b for b in range(count) if b not in misfits]
        most = sum(self.blocks.load(0, b) for b in rest) if self.blocks.problem.loads else 0
        fullest = self.model.new_int_var(0, max(1, most), "")
        if self.blocks.problem.loads:
            for s in range(sessions):
                self.model.add(sum(self.blocks.load(0, b) * self.inside[b][s] for b in rest) <= fullest)
        for s in range(sessions):
            self.model.add_bool_or([self.inside[b][s] for b in range(count)])
        edges = list(self.blocks.order.edges)
        depth = self.model.new_int_var(0, sessions, "")
        if len(edges) * sessions * sessions <= LEVELS_MOST:
            level = [self.model.new_int_var(0, sessions, "") for _ in range(sessions)]
            for s in range(sessions):
                self.model.add(level[s] <= depth)
            for a, b in edges:
                for s in range(sessions):
                    for t in range(s + 1, sessions):
                        self.model.add(level[t] >= level[s] + 1).only_enforce_if(self.inside[a][s], self.inside[b][t])
        self.model.minimize(depth * (most + 1) + fullest)

    def solved(self) -> list[list[int]] | None:
        """Return the sessions, or None: `proven` then says whether there are none."""
        from ortools.sat.python import cp_model

        if self.sessions < 1:
            return None
        solver: Any = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        solver.parameters.max_deterministic_time = EFFORT
        status = solver.solve(self.model)
        self.proven = status == cp_model.INFEASIBLE
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        found: list[list[int]] = [[] for _ in range(self.sessions)]
        for b, at in enumerate(self.at):
            found[solver.value(at)].append(b)
        return found
