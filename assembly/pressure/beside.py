"""Beside the work: room for a bar, for its jaw at one end and its screw at the other, and for both above the floor."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assembly.pressure.pads import CAUL
from assembly.pressure.work import Floats, Work
from model.frames import Frame, Z, turn

BAR, SCREW, BEHIND = 40.0, 150.0, 25.0
"""How thick a bar is both ways, how long its screw reaches past the head, its jaw past the foot, mm (by measure)."""
CLEAR = 1.0 + BAR / 2 * math.tan(CAUL)
"""Nearer to a pad than this the face under it may rise beside it, mm."""
SIDES = 8
"""Ways round the line in which the bar is tried."""
LEAST_BLOCKS = 1.0
"""Room missing beneath by less than this is none, mm."""

@dataclass(frozen=True)
class Room:
    """Where a bar of one reach (mm) has room: the way from the line to it (unit, world), and the blocks it takes, mm.

    `turned`: whether its screw is at the line's foot, its jaw at the head.
    """

    reach: float
    side: tuple[float, float, float]
    blocks: float
    turned: bool


def rooms(work: Work, frame: Frame, ends: tuple[float, float], reaches: Sequence[float], up: NDArray[np.float64], *,
          first: bool) -> tuple[Room, ...]:
    """Return for each reach that has room the side that takes the least blocks.

    The line runs along z of `frame` (world) from one end to the other, mm. `up`: (a, b, c, d), a point's height above
    bench or floor is a x + b y + c z + d. `first`: reaches after one that has room without blocks are not looked at.
    """
    seen = work.boxes(frame)
    ways = [(*_past(ends, turned), turned) for turned in (False, True)]
    ways = [w for w in ways if work.free(frame, _beyond(ends, *w[:2]), seen)]
    if not ways:
        return ()
    turns = [frame @ turn(Z, 2.0 * math.pi * k / SIDES) for k in range(SIDES)]
    boxes = [work.boxes(t) for t in turns]
    found = []
    for reach in reaches:
        room = _room(work, list(zip(turns, boxes, strict=True)), ends, ways, reach, up)
        found += [room] if room is not None else []
        if first and room is not None and room.blocks == 0.0:
            break
    return tuple(found)


def _room(work: Work, sides: Sequence[tuple[Frame, tuple[Floats, Floats]]], ends: tuple[float, float],
          ways: Sequence[tuple[float, float, bool]], reach: float, up: NDArray[np.float64]) -> Room | None:
    best: Room | None = None
    for below, above, turned in ways:
        taken = _taken(ends, below, above, reach)
        needed = np.concatenate([taken, _beyond(ends, below, above)])
        for frame, seen in sides:
            blocks = _sunk(frame, needed, up)
            blocks = 0.0 if blocks < LEAST_BLOCKS else round(blocks, 3)
            if (best is None or blocks < best.blocks) and work.free(frame, taken, seen):
                x, y, z = frame[:3, 0].tolist()
                best = Room(reach, (x, y, z), blocks, turned)
                if blocks == 0.0:
                    return best
    return best


def _past(ends: tuple[float, float], turned: bool) -> tuple[float, float]:
    """Return how far a bar reaches along its line, from below its foot to above its head, mm."""
    return (ends[0] - SCREW, ends[1] + BEHIND) if turned else (ends[0] - BEHIND, ends[1] + SCREW)


def _beyond(ends: tuple[float, float], below: float, above: float) -> Floats:
    """Return the boxes that jaw and screw take beyond the pads."""
    half = BAR / 2
    return np.array([[(-half, -half, below), (half, half, ends[0] - CLEAR)],
                     [(-half, -half, ends[1] + CLEAR), (half, half, above)]])


def _taken(ends: tuple[float, float], below: float, above: float, reach: float) -> Floats:
    """Return the boxes that a bar on the side of x takes: itself, and its two arms."""
    half = BAR / 2
    return np.array([[(reach - half, -half, below), (reach + half, half, above)],
                     [(half, -half, ends[0] - BEHIND), (max(reach, BAR), half, ends[0] - CLEAR)],
                     [(half, -half, ends[1] + CLEAR), (max(reach, BAR), half, ends[1] + BEHIND)]])


def _sunk(frame: Frame, boxes: Floats, up: NDArray[np.float64]) -> float:
    """Return how far the lowest corner of some boxes lies below bench or floor, mm; below 0 where it lies above."""
    way = up[:3] @ frame[:3, :3]
    lowest = np.minimum(boxes[:, 0] * way, boxes[:, 1] * way).sum(axis=1)
    return -float(lowest.min() + up[:3] @ frame[:3, 3] + up[3])
