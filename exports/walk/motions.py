"""How pieces come in, and how temporary ones go out again: proven ways, begun a little further out so that it is seen.

A move by itself is played by the replay from clear of everything, so its `clear` may be as long as is wanted. Moves
made at the same time are played over their own travel only: what they get beyond that is played here by the same code.
Work that is made up beside the rest and brought to it later lies so far off that the two have room.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from assembly.plan import Direction, Move
from assembly.replay import from_further
from exports.walk.laid import Laid
from exports.walk.reach import STILL, Swept, parting
from model.frames import Vector

CLEAR, CLEAR_LEAST = 0.08, 60.0
"""How far before its proven travel a piece is first seen: a share of the work's diagonal, and at least, mm."""
SHORTENED = 4
"""How often the way that pieces closing at once have beyond their travel is halved before they get none."""
BESIDE = 10.0
"""How far work that is made up beside the rest stays clear of it, mm."""
ENGAGED = 1.0
"""Pieces that close at once and travel no more than this are only pushed together, mm."""
DOWN: Direction = (0.0, 0.0, -1.0)


@dataclass(frozen=True)
class Coming:
    """One move as it is shown, in the shop frame: `travel` mm are engaged, `clear` mm come before; units mm."""

    parts: tuple[str, ...]
    onto: tuple[str, ...]
    way: Direction
    travel: float
    clear: float
    before: Direction | None = None

    @property
    def corner(self) -> Vector:
        """Where it turns into its last straight way, off its home."""
        return -np.asarray(self.way) * (self.travel if self.before is not None else self.travel + self.clear)

    @property
    def start(self) -> Vector:
        """Where it begins, off its home."""
        return self.corner if self.before is None else self.corner - np.asarray(self.before) * self.clear


def seen_clear(size: float) -> float:
    """Return how far out a piece is first seen beside work of a size (its diagonal), mm."""
    return round(max(CLEAR_LEAST, CLEAR * size), 1)


def comings(laid: Laid) -> list[Coming]:
    """Return how each move of a stage comes in, in their order."""
    found: list[Coming] = []
    lying: set[str] = set()
    for some in laid.closings:
        moves = [laid.moves[k] for k in some]
        if moves[0].simultaneous:
            found += [Coming(m.parts, m.onto, m.direction, float(m.travel), clear)
                      for m, clear in zip(moves, _at_once(laid, some[0], moves), strict=True)]
        else:
            found.append(_one(laid, moves[0], lying, found))
        lying.update(n for move in moves for n in move.parts)
    return found


def offsets(laid: Laid, coming: Sequence[Coming]) -> NDArray[np.float64]:
    """Return the farthest that parts ever lie off their homes (N, 3) once they have come: made up beside the rest."""
    far = np.zeros((len(laid.names), 3))
    come: set[str] = set()
    for one in coming:
        for name in one.parts:
            if name in come and name in laid.row:
                far[laid.row[name]] += one.start
        come.update(one.parts)
    return far


def _one(laid: Laid, move: Move, lying: set[str], found: Sequence[Coming]) -> Coming:
    clear = seen_clear(laid.size)
    if not move.onto:
        return Coming(move.parts, (), DOWN, 0.0, clear)
    one = Coming(move.parts, move.onto, move.direction, float(move.travel), clear, move.before)
    if lying & set(move.parts):
        clear = max(clear, _beside(laid, one, lying, found))
    return replace(one, clear=min(clear, _above_ground(laid, one)))


def _above_ground(laid: Laid, one: Coming) -> float:
    """Return how far further out something that comes from beneath may begin without being in bench or floor, mm."""
    rows = laid.rows(one.parts)
    engaged = np.asarray(one.way) * one.travel
    return room_below(laid, rows, -engaged, -np.asarray(one.way if one.before is None else one.before))


def room_below(laid: Laid, rows: Sequence[int], off: Vector, way: Vector) -> float:
    """Return how far parts that are off their homes go on along `way` before they reach the ground, mm."""
    if way[2] > -STILL or not len(rows):
        return math.inf
    low = float(laid.low[rows, 2].min() + off[2])
    return math.floor(10.0 * max(low, 0.0) / -float(way[2])) / 10.0


def _beside(laid: Laid, one: Coming, lying: set[str], found: Sequence[Coming]) -> float:
    """Return how much further out work has to lie so that neither it nor what comes to it meets the rest, mm."""
    swept = Swept.of(laid)
    for earlier in found:
        swept.by(laid.rows(earlier.parts), earlier.start)
    group = laid.rows(one.parts)
    rest = laid.rows([n for n in lying if n not in set(one.parts)])
    base = one.corner if one.before is not None else -np.asarray(one.way) * one.travel
    out = -np.asarray(one.way if one.before is None else one.before)
    return round(parting(swept.low[group] + base, swept.high[group] + base, swept.low[rest], swept.high[rest], out)
                 + BESIDE, 1)


def _at_once(laid: Laid, number: int, moves: Sequence[Move]) -> list[float]:
    """Return how far beyond its travel each of the pieces that close at the same time may begin, played; 0 for none.

    They go on along the straight ways on which they see each other come, each by the same share of its travel.
    """
    travels = [float(m.travel) for m in moves]
    longest = max(travels)
    shares = [t / longest for t in travels] if longest > ENGAGED else [1.0] * len(moves)
    clear = seen_clear(laid.size)
    for _ in range(SHORTENED):
        each = [round(clear * share, 3) for share in shares]
        if from_further(laid.world, laid.stage, number, each) is None:
            return each
        clear /= 2.0
    return [0.0] * len(moves)
