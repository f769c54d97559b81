"""Derived stages: where a design names none, they follow from how the whole comes apart.

The pieces that go on one by one make one stage; a group that moves as one is made up in a
stage of its own before.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from assembly.blocking import Blocking, Unit
from assembly.glue_up import Bench
from assembly.locks import Lock, lock
from assembly.order import DOWN, Order, closing_moves, move_of
from assembly.plan import Move
from assembly.taking_apart import Chain, Group


@dataclass(frozen=True)
class Derived:
    """One stage found from the order: what comes to the bench, how it moves, what locks."""

    bench: Bench
    moves: tuple[Move, ...]
    locks: tuple[Lock, ...]


def derived(found: Order) -> tuple[Derived, ...]:
    """Return the stages that follow from an order of single parts, in an order that can be carried out."""
    stages: list[Derived] = []
    for chain in found.chains:
        if len(chain.units) > 1:
            _stage(found.blocking, chain, stages)
    return tuple(stages)


def _stage(held: Blocking, chain: Chain, stages: list[Derived]) -> int:
    """Add the stages of a chain, groups first, and return the number of its own."""
    needs = tuple(_stage(held, before, stages) for before in chain.made_before)
    number = len(stages) + 1
    behind = frozenset(n for before in needs for n in (stages[before - 1].bench.done | {stages[before - 1].bench.name}))
    groups = list(_groups(chain))
    bench = Bench(number, f"glue-up {number}", _joints(held, groups), tuple(_unit(held, g) for g in groups), needs,
                  behind)
    laid = len(chain.core) == 1 or chain.drawn is not None
    moves = [Move(held.parts(chain.core), (), DOWN, 0.0)] if laid else []
    moves += closing_moves(held, chain)
    moves += [move_of(held, step) for step in reversed(chain.steps)]
    locks = () if laid else (lock(held, chain.core),)
    stages.append(Derived(bench, tuple(moves), locks))
    return number


def _groups(chain: Chain) -> Iterator[Group]:
    yield from ((u,) for u in chain.core) if chain.drawn is None else chain.drawn.groups
    yield from (step.leaving for step in reversed(chain.steps))


def _unit(held: Blocking, group: Group) -> Unit:
    return held.parts(group)


def _joints(held: Blocking, groups: list[Group]) -> tuple[str, ...]:
    at = {u: i for i, group in enumerate(groups) for u in group}
    return tuple(t.joint.name for t in held.ties if t.a in at and t.b in at and at[t.a] != at[t.b])
