"""How temporary parts come out once the glue has set, and what is lifted off so that they can."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assembly.plan import Direction, Move
from exports.walk.laid import Laid
from exports.walk.motions import BESIDE, room_below, seen_clear
from exports.walk.reach import Swept, parting
from model.frames import Vector

UP: Direction = (0.0, 0.0, 1.0)
Box = tuple[NDArray[np.float64], NDArray[np.float64]]


@dataclass(frozen=True, eq=False)
class Going:
    """Parts that go off together along `way` (shop frame) by `far` mm, and how far off home each then lies.

    `stays`: they are set down there and not taken away. Where `far` is 0 no way out is known.
    """

    parts: tuple[str, ...]
    way: Direction
    far: float
    stays: bool
    off: Mapping[str, Vector]


def goings(laid: Laid, out: Sequence[Move]) -> list[list[Going]]:
    """Return who goes off after a stage, in order; those that can go at the same time together.

    `out`: the ways out as the plan has them (the finished work's world), played by the replay from home until all is
    clear, one after the other. Work that has to make way goes so far that what comes after it has room.
    """
    moves = [Move(m.parts, m.onto, laid.way(m.direction), m.travel) for m in out]
    told = {n for m in moves for n in m.parts}
    left = [n for n in laid.stage.takes_away if n not in told and n in laid.row]
    alone = set(left) >= set(laid.names) - told
    if left and alone:
        moves.append(Move(tuple(left), (), UP, 0.0))
    found = _gone(laid, moves)
    if left and not alone:
        found.append(Going(tuple(left), UP, 0.0, True, {n: np.zeros(3) for n in left}))
    return _together(laid, found)


def _gone(laid: Laid, moves: Sequence[Move]) -> list[Going]:
    leaving = set(laid.stage.takes_away)
    off: dict[str, Vector] = {}
    found = []
    for move, far in zip(moves, _far(laid, moves), strict=True):
        for name in move.parts:
            off[name] = off.get(name, np.zeros(3)) + np.asarray(move.direction) * far
        for stays in (True, False):
            parts = tuple(n for n in move.parts if (n not in leaving) == stays and n in laid.row)
            if parts:
                found.append(Going(parts, move.direction, far, stays, {n: off[n] for n in parts}))
    return found


def _far(laid: Laid, moves: Sequence[Move]) -> list[float]:
    """Return how far each goes, worked out from the last back: what stays has to leave room for those after it."""
    leaving, clear = set(laid.stage.takes_away), seen_clear(laid.size)
    later = Swept.of(laid)
    far: list[float] = []
    for move in reversed(moves):
        rows, way = laid.rows(move.parts), np.asarray(move.direction)
        length = move.travel + clear
        length = min(length, max(move.travel, room_below(laid, rows, np.zeros(3), way)))
        if set(move.parts) - leaving:
            own = set(rows)
            rest = [k for k in range(len(laid.names)) if k not in own]
            room = parting(later.low[rows], later.high[rows], later.low[rest], later.high[rest], way)
            length = max(length, room + BESIDE)
        later.by(rows, way * length)
        far.append(length)
    return far[::-1]


def _together(laid: Laid, found: Sequence[Going]) -> list[list[Going]]:
    """Gather those that follow one another and whose ways, as boxes, meet none of the others'."""
    gathered: list[list[Going]] = []
    boxes: list[Box] = []
    for one in found:
        box = _box(laid, one)
        if boxes and not one.stays and not gathered[-1][-1].stays and all(_clear(box, other) for other in boxes):
            gathered[-1].append(one)
            boxes.append(box)
        else:
            gathered.append([one])
            boxes = [box]
    return gathered


def _box(laid: Laid, one: Going) -> Box:
    """Return the box around the whole way of those that go."""
    rows, way = laid.rows(one.parts), np.asarray(one.way) * one.far
    ends = np.array([one.off[n] for n in one.parts])
    low = np.minimum(laid.low[rows] + ends, laid.low[rows] + ends - way)
    high = np.maximum(laid.high[rows] + ends, laid.high[rows] + ends - way)
    return low.min(axis=0), high.max(axis=0)


def _clear(one: Box, other: Box) -> bool:
    return bool((one[0] >= other[1]).any() or (other[0] >= one[1]).any())
