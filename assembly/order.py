"""Order: the moves by which pieces come together, found by taking them apart and reading backwards."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assembly.blocking import Blocking, Unit, blocking
from assembly.engagement import engagement, ties_between
from assembly.locks import Lock, lock
from assembly.placing import Assembly
from assembly.plan import Direction, Move
from assembly.taking_apart import Chain, Parting, take_apart
from model.part import ALL

Array = NDArray[np.float64]

DOWN: Direction = (0.0, 0.0, -1.0)
"""How the first piece is laid down; nothing depends on it."""


@dataclass(frozen=True, eq=False)
class Order:
    """Moves in the order they are made, and what could not be brought together by any.

    `blocking` is what the order was found from; `chains` how it came apart.
    """

    moves: tuple[Move, ...]
    locks: tuple[Lock, ...]
    chains: tuple[Chain, ...]
    blocking: Blocking


def order(assembly: Assembly, units: Sequence[Unit], done: frozenset[str] = ALL,
          deep: Mapping[tuple[str, str], float] | None = None) -> Order:
    """Return how rigid groups of parts come together, with the stages in `done` behind them.

    Each move brings one unit, or a group brought together before it, along a straight line
    that stays clear of everything that is there already; moves marked simultaneous that follow
    one another are one closing, in which several come together at the same time. Units that lock each other are
    returned as locks and taken as one from there on. `deep`: see `blocking`.
    """
    held = blocking(assembly, units, done, deep)
    chains = take_apart(held)
    moves = tuple(m for chain in chains for m in moves_of(held, chain))
    locks = tuple(lock(held, core) for chain in chains for core in chain.locked)
    return Order(moves, locks, chains, held)


def moves_of(held: Blocking, chain: Chain) -> list[Move]:
    """Return the moves that bring a chain together, groups that move as one being made up beside it first."""
    moves = [Move(held.parts(chain.core), (), DOWN, 0.0)] if len(chain.core) == 1 else []
    if chain.drawn is not None:
        moves += [m for inner in chain.within if inner is not None for m in moves_of(held, inner)]
        moves += closing_moves(held, chain)
    for step in reversed(chain.steps):
        if step.inside is not None:
            moves.extend(moves_of(held, step.inside))
        moves.append(move_of(held, step))
    return moves


def closing_moves(held: Blocking, chain: Chain) -> list[Move]:
    """Return the moves made at the same time where what a chain begins with closes all at once; none otherwise.

    The group at rest lies there already. Each joint is closed by the move of the later of its two groups.
    """
    drawn = chain.drawn
    if drawn is None:
        return []
    still, moves = drawn.groups[0], []
    for k, group in enumerate(drawn.groups[1:], start=1):
        lying = {u for g in drawn.groups[:k] for u in g}
        met = sorted({v for u in group for v in held.touching[u]} & set(still)) or sorted(still)
        names = tuple(dict.fromkeys(t.joint.name for t in ties_between(held, group, lying)))
        speed = float(np.linalg.norm(drawn.velocities[k]))
        moves.append(Move(held.parts(group), held.parts(met), _homeward(drawn.velocities[k] / speed),
                          drawn.travel * speed, True, names))
    return moves


def move_of(held: Blocking, step: Parting) -> Move:
    """Return one step of taking apart as the move that undoes it."""
    leaving, staying = set(step.leaving), set(step.staying)
    met = sorted({v for u in leaving for v in held.touching[u]} & staying) or sorted(staying)
    names = tuple(dict.fromkeys(t.joint.name for t in ties_between(held, step.leaving, staying)))
    if step.then is None:
        travel, before = engagement(held, step.leaving, staying, step.direction), None
    else:
        travel, before = step.turns_at, _homeward(step.then)
    return Move(held.parts(step.leaving), held.parts(met), _homeward(step.direction), travel, False, names, before)


def _homeward(out: Array) -> Direction:
    x, y, z = (np.round(-out, 12) + 0.0).tolist()
    return x, y, z
