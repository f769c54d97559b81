"""Cover: the fewest clamps that press every target, out of those that are owned.

Exact: what has to be taken is taken, what another does as well is dropped, and what is then
left to choose goes to CP-SAT. Where that is much, the cover is found greedily instead.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import networkx as nx

EXACT_MOST = 400
"""With more clamps than this left to choose from the cover is found greedily."""
EFFORT = 2.0
"""How long CP-SAT may work, in its own measure of time, so that it comes out the same on every machine."""
MISSED = 10_000_000
"""What a clamp that is not owned costs, beside the costs of clamps."""


@dataclass(frozen=True)
class Choice:
    """A clamp that could be set: the targets it presses, what it costs, the kinds of owned clamps that it could be.

    Kinds are numbers of an owned stock; none: no clamp owned will do.
    """

    presses: frozenset[int]
    cost: int
    kinds: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Cover:
    """The choices taken by number, and of each the kind of owned clamp that it is; None where none is left for it."""

    taken: tuple[int, ...]
    kinds: tuple[int | None, ...]

    @property
    def missing(self) -> tuple[int, ...]:
        """The choices taken for which no clamp is left."""
        return tuple(c for c, kind in zip(self.taken, self.kinds, strict=True) if kind is None)


def cover(choices: Sequence[Choice], owned: Sequence[int] | None) -> Cover:
    """Return a cover of every target that any choice presses: with the fewest clamps missing, then of the least cost.

    `owned`: how many there are of each kind; None: not said, and none is missed.
    """
    everything = frozenset().union(*(c.presses for c in choices)) if choices else frozenset[int]()
    taken = _least(choices, everything)
    if owned is None:
        return Cover(taken, tuple(0 for _ in taken))
    found = assigned(choices, taken, owned)
    if not found.missing or len(choices) > EXACT_MOST:
        return found
    exact = _solved(choices, everything, owned)
    return exact if exact is not None and len(exact.missing) < len(found.missing) else found


def assigned(choices: Sequence[Choice], taken: Sequence[int], owned: Sequence[int]) -> Cover:
    """Return the choices taken with as many as can be of the clamps that are owned."""
    web = nx.DiGraph()
    for c in taken:
        web.add_edge("from", ("choice", c), capacity=1)
        for kind in sorted(choices[c].kinds):
            web.add_edge(("choice", c), ("kind", kind), capacity=1)
            web.add_edge(("kind", kind), "to", capacity=owned[kind])
    if "to" not in web:
        return Cover(tuple(taken), tuple(None for _ in taken))
    _, flow = nx.maximum_flow(web, "from", "to")
    kinds = [next((k for k in sorted(choices[c].kinds) if flow[("choice", c)][("kind", k)]), None) for c in taken]
    return Cover(tuple(taken), tuple(kinds))


def _least(choices: Sequence[Choice], everything: Iterable[int]) -> tuple[int, ...]:
    """Return the choices of least cost that press everything."""
    left, open_, taken = set(everything), list(range(len(choices))), list[int]()
    while left:
        open_ = _undominated(choices, open_, left)
        pressing = {t: [c for c in open_ if t in choices[c].presses] for t in left}
        needed = sorted({cs[0] for cs in pressing.values() if len(cs) == 1})
        if needed:
            taken += needed
            left -= set().union(*(choices[c].presses for c in needed))
        elif len(open_) <= EXACT_MOST and (found := _solved([choices[c] for c in open_], left, None)) is not None:
            return tuple(sorted([*taken, *(open_[c] for c in found.taken)]))
        else:
            best = min(open_, key=lambda c: (choices[c].cost / len(choices[c].presses & left), c))
            taken.append(best)
            left -= choices[best].presses
    return tuple(sorted(taken))


def _undominated(choices: Sequence[Choice], open_: Sequence[int], left: set[int]) -> list[int]:
    """Return the choices of which no other one presses all the same, of what is left, for no more."""
    ranked = sorted(open_, key=lambda c: (choices[c].cost, -len(choices[c].presses & left), c))
    kept: list[int] = []
    by_target: dict[int, list[int]] = {}
    for c in ranked:
        here = choices[c].presses & left
        if here and not any(here <= choices[k].presses for k in by_target.get(min(here), ())):
            kept.append(c)
            for t in here:
                by_target.setdefault(t, []).append(c)
    return sorted(kept)


def _solved(choices: Sequence[Choice], everything: Iterable[int], owned: Sequence[int] | None) -> Cover | None:
    from ortools.sat.python import cp_model

    model: Any = cp_model.CpModel()
    take = [model.new_bool_var("") for _ in choices]
    uses = [{k: model.new_bool_var("") for k in sorted(c.kinds)} for c in choices]
    for t in sorted(everything):
        model.add_bool_or([take[c] for c, choice in enumerate(choices) if t in choice.presses])
    for c, kinds in enumerate(uses):
        model.add(sum(kinds.values()) <= take[c])
    for k, count in enumerate(owned or ()):
        model.add(sum(kinds[k] for kinds in uses if k in kinds) <= count)
    missed = 0 if owned is None else MISSED
    model.minimize(sum((choice.cost + missed) * take[c] - missed * sum(uses[c].values())
                       for c, choice in enumerate(choices)))
    solver: Any = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = EFFORT
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    taken = [c for c in range(len(choices)) if solver.value(take[c])]
    return Cover(tuple(taken), tuple(next((k for k, v in uses[c].items() if solver.value(v)), None) for c in taken))
