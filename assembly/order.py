"""Order: the moves by which pieces come together, found by taking them apart and reading backwards."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assembly.blocking import Blocking, Tie, Unit, blocking
from assembly.locks import Lock, lock
from assembly.placing import Assembly
from assembly.plan import Direction, Move
from assembly.taking_apart import Chain, Group, Parting, take_apart
from model.part import ALL

Array = NDArray[np.float64]

ALONG = 0.2
"""A joint whose axis leans less than this (cosine) along a move is not slid by it."""
BESIDE = 0.1
"""A contact whose normal leans less than this (sine) along a move is slid along."""
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
    that stays clear of everything that is there already. Units that lock each other are
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
    for step in reversed(chain.steps):
        if step.inside is not None:
            moves.extend(moves_of(held, step.inside))
        moves.append(move_of(held, step))
    return moves


def move_of(held: Blocking, step: Parting) -> Move:
    """Return one step of taking apart as the move that undoes it."""
    leaving, staying = set(step.leaving), set(step.staying)
    met = sorted({v for u in leaving for v in held.touching[u]} & staying) or sorted(staying)
    ties = [t for u in step.leaving for t in held.ties_of[u] if (t.b if t.a == u else t.a) in staying]
    x, y, z = (-step.direction + 0.0).tolist()
    return Move(held.parts(step.leaving), held.parts(met), (x, y, z),
                engagement(held, step.leaving, met, ties, step.direction), False,
                tuple(dict.fromkeys(t.joint.name for t in ties)))


def engagement(held: Blocking, leaving: Group, met: Sequence[int], ties: Sequence[Tie], out: Array) -> float:
    """Return how far the leaving units slide before they are clear of those they touch, mm.

    Along a joint that is the joint's own travel; for contacts without a joint it is how far
    the two reach past one another along the motion.
    """
    most = 0.0
    for tie in ties:
        lean = abs(float(tie.axis @ out))
        if lean > ALONG:
            most = max(most, tie.joint.travel / lean)
    joined = {frozenset((t.a, t.b)) for t in ties}
    for u, v in _slid(held, leaving, met, out):
        if frozenset((u, v)) not in joined:
            most = max(most, _overlap(held, u, v, out))
    return most


def _slid(held: Blocking, leaving: Group, met: Sequence[int], out: Array) -> list[tuple[int, int]]:
    """Return the pairs (leaving, staying) of units with a face that slides along the motion."""
    move, stay = set(leaving), set(met)
    found = set()
    for p in sorted({int(p) for u in leaving for p in held.patches_of[u]}):
        a, b = int(held.first[p]), int(held.second[p])
        u, v = (a, b) if a in move else (b, a)
        if u in move and v in stay and abs(float(held.normals[p] @ out)) < BESIDE:
            found.add((u, v))
    return sorted(found)


def _overlap(held: Blocking, u: int, v: int, out: Array) -> float:
    low, high = held.bodies.extent(out)
    start = float(low[held.members[u], 2].min())
    end = float(high[held.members[v], 2].max())
    return max(0.0, end - start) if math.isfinite(end - start) else 0.0
