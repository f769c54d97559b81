"""Lines: where a clamp can press a joint, straight along its axis between two sound faces of the work.

From the joint the line runs both ways through whatever wood lies on it without a gap, so that
one clamp presses every joint between its pads. A pad must not sit on the end of the tenon it is
to draw in, nor on a face that leans so much that it slips. Beside the line the bar needs room,
and beyond its end the screw does: of the work, and of bench or floor.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assembly.pressure.work import Floats, Wood, Work
from model.frames import Frame, directions, move

GAP = 5.0
"""Wood this far apart on a line still passes pressure on: the bottom of a mortise, mm."""
PLAIN, CAUL = math.radians(5.0), math.radians(30.0)
"""A pad holds on a face that leans no more than this; with a caul cut to the angle, than this (common practice, no
source)."""
BAR, SCREW, BEHIND = 40.0, 150.0, 25.0
"""How thick a bar is both ways, how long its screw reaches past the head, its jaw past the foot, mm (by measure)."""
CLEAR = 1.0 + BAR / 2 * math.tan(CAUL)
"""Nearer to a pad than this the face under it may rise beside it, mm."""
SIDES = 8
"""Ways round the line in which the bar is tried."""


@dataclass(frozen=True)
class Line:
    """One line that presses: along z of `frame` from `foot` to `head` mm; the wood on it; how its end faces lean, rad.

    `side`: the way from the line to the bar (unit, world), `reach` how far that is; `blocks`: how much higher the work
    must lie for that, mm.
    """

    frame: Frame
    foot: float
    head: float
    woods: tuple[Wood, ...]
    lean: float
    side: tuple[float, float, float]
    reach: float
    blocks: float
    turned: bool
    """Whether the screw is at the foot and the jaw at the head, where that takes less room beneath."""

    @property
    def opening(self) -> float:
        """How far apart the pads are, mm."""
        return self.head - self.foot

    def at(self, along: float, aside: float = 0.0, across: float = 0.0) -> tuple[float, float, float]:
        """Return a point of the line, or beside it along its frame's x and y, in the world."""
        x, y, z = (self.frame[:3, 3] + self.frame[:3, :3] @ np.array([aside, across, along])).tolist()
        return x, y, z


@dataclass(frozen=True)
class Place:
    """What a line is sought for: the seat (world), the numbers of part a and part b, the pad and the throats, mm.

    `up`: (a, b, c, d), a point's height above bench or floor is a x + b y + c z + d.
    """

    seat: Frame
    a: int
    b: int
    pad: float
    reaches: tuple[float, ...]
    up: NDArray[np.float64]


def line_for(work: Work, place: Place, spread: tuple[float, float]) -> Line | None:
    """Return the best line that presses a joint: with plain pads before cauls, without blocks before with them.

    `spread`: half the size of the joint along the seat's x and y, mm; pads are tried within and just beside it.
    """
    best: tuple[tuple[float, ...], Line] | None = None
    low, high = work.boxes(place.seat)
    for x, y in _offsets(spread, place.pad):
        run = _run(work, place, x, y, low, high)
        if run is None:
            continue
        lean = max(_lean(work, run[0], place.seat, last=False), _lean(work, run[-1], place.seat, last=True))
        if lean > CAUL:
            continue
        frame = place.seat @ move(x, y)
        foot, head = run[0].crossing.start, run[-1].crossing.end
        room = _room(work, place, (x, y), (foot, head), low, high)
        if room is None:
            continue
        rank = (float(lean > PLAIN), room.reach, round(room.blocks, 3), abs(x) + abs(y))
        if best is None or rank < best[0]:
            best = rank, Line(frame, foot, head, tuple(run), lean, room.side, room.reach, room.blocks, room.turned)
        if rank[:3] == (0.0, place.reaches[0], 0.0):
            break
    return None if best is None else best[1]


def _offsets(spread: tuple[float, float], pad: float) -> Iterator[tuple[float, float]]:
    """Yield where to try, the middle first, then within the joint, then beside it."""
    yield 0.0, 0.0
    for share in (0.5, 0.9):
        for sx, sy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            yield sx * share * spread[0], sy * share * spread[1]
    for sx, sy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        yield sx * (spread[0] + pad / 2), sy * (spread[1] + pad / 2)


def _run(work: Work, place: Place, x: float, y: float, low: Floats, high: Floats) -> list[Wood] | None:
    """Return the wood on a line from one pad to the other, through both parts of the joint, or None."""
    woods = work.along(place.seat, low, high, x, y)
    ahead = [w for w in woods if w.part == place.b and w.crossing.end > 1.0]
    behind = [w for w in woods if w.part == place.a and w.crossing.start < -1.0]
    if not ahead or not behind:
        return None
    first = max(behind, key=lambda w: w.crossing.start)
    run, end = [w for w in woods if w is first], first.crossing.end
    for wood in woods:
        if wood is not first and wood.crossing.start >= first.crossing.start and wood.crossing.start <= end + GAP:
            run.append(wood)
            end = max(end, wood.crossing.end)
    start = first.crossing.start
    for wood in reversed(woods):
        if wood not in run and wood.crossing.end >= start - GAP and wood.crossing.start < start:
            run.insert(0, wood)
            start = min(start, wood.crossing.start)
    run.sort(key=lambda w: w.crossing.start)
    last = max(run, key=lambda w: w.crossing.end)
    if place.b not in {w.part for w in run} or run[0].part == place.b or last.part == place.a:
        return None
    run.remove(last)
    return [*run, last]


def _lean(work: Work, wood: Wood, seat: Frame, *, last: bool) -> float:
    normal = work.outward(wood, last=last)
    along = float(normal @ seat[:3, 2]) * (1.0 if last else -1.0)
    return math.acos(max(-1.0, min(1.0, along)))


@dataclass(frozen=True)
class _Room:
    """Where a bar has room: on which side, how far from the line, how much higher the work must lie, which end up."""

    side: tuple[float, float, float]
    reach: float
    blocks: float
    turned: bool


def _room(work: Work, place: Place, at: tuple[float, float], ends: tuple[float, float], low: Floats,
          high: Floats) -> _Room | None:
    """Return the room for the shortest throat that has any, with the least blocks; None where no side is free."""
    (x, y), (foot, head) = at, ends
    ways = [(foot - BEHIND, head + SCREW, False), (foot - SCREW, head + BEHIND, True)]
    lifts = [max(_short(place, x, y, a, BAR / 2), _short(place, x, y, b, BAR / 2)) for a, b, _ in ways]
    below, above, turned = ways[0] if lifts[0] <= lifts[1] else ways[1]
    free = [work.free(place.seat, (x - BAR / 2, y - BAR / 2, a), (x + BAR / 2, y + BAR / 2, b), low, high)
            for a, b in ((below, foot - CLEAR), (head + CLEAR, above))]
    if not all(free):
        return None
    for reach in place.reaches:
        best: tuple[float, int] | None = None
        for k in range(SIDES):
            angle = 2.0 * math.pi * k / SIDES
            cx, cy = x + reach * math.cos(angle), y + reach * math.sin(angle)
            blocks = round(max(min(lifts), _short(place, cx, cy, below, BAR / 2),
                               _short(place, cx, cy, above, BAR / 2)), 3)
            if (best is None or (blocks, k) < best) and work.free(
                    place.seat, (cx - BAR / 2, cy - BAR / 2, below), (cx + BAR / 2, cy + BAR / 2, above), low, high):
                best = blocks, k
        if best is not None:
            angle = 2.0 * math.pi * best[1] / SIDES
            sx, sy, sz = directions(place.seat, np.array([math.cos(angle), math.sin(angle), 0.0])).tolist()
            return _Room((sx, sy, sz), reach, best[0], turned)
    return None


def _short(place: Place, x: float, y: float, along: float, thick: float) -> float:
    """Return how far below bench or floor a spot beside the line would lie, mm; 0 where it lies above."""
    spot = place.seat[:3, :3] @ np.array([x, y, along]) + place.seat[:3, 3]
    return max(0.0, -(float(place.up[:3] @ spot + place.up[3]) - thick))
