"""Lines: where a bar can press a joint, straight along its axis between two faces of the work.

From the joint the line runs both ways through whatever wood lies on it without a gap, so that
one bar presses every joint between its pads.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from assembly.pressure.beside import Room, rooms
from assembly.pressure.joints import Target
from assembly.pressure.pads import Asks, bearing
from assembly.pressure.work import Floats, Wood, Work
from model.frames import Frame, move

GAP = 5.0
"""Wood this far apart on a line still passes pressure on, mm."""
POCKET = 60.0
"""Within one joint it passes pressure on round a hollow as long as this: the bottom of a mortise, mm."""
SHIFTS = (0.5, 0.9)
"""Where beside its middle a joint is pressed if need be, as shares of half its size."""


@dataclass(frozen=True)
class Line:
    """One line that presses: along z of `frame` from `foot` to `head`, mm, and the wood on it.

    `lean`: how the worse of its end faces leans to it, rad; `asks`: what is laid under the pads; `block`: how thick,
    where a block spreads the pressure; `rooms`: where bars of the reaches asked for have room.
    """

    frame: Frame
    foot: float
    head: float
    woods: tuple[Wood, ...]
    lean: float
    asks: Asks
    block: float = 0.0
    rooms: tuple[Room, ...] = ()

    @property
    def opening(self) -> float:
        """How far apart the pads are, mm."""
        return self.head - self.foot + 2.0 * self.block

    @property
    def depth(self) -> float:
        """How deep the joint lies below the nearer pad, mm."""
        return min(-self.foot, self.head)

    def at(self, along: float) -> tuple[float, float, float]:
        """Return a point of the line in the world."""
        x, y, z = (self.frame[:3, 3] + along * self.frame[:3, 2]).tolist()
        return x, y, z


@dataclass(frozen=True, eq=False)
class Asked:
    """What lines are sought for: pads of a width, bars of some reaches (none: no room is asked for), mm.

    `up`: (a, b, c, d), a point's height above bench or floor is a x + b y + c z + d. `first`: one bar of any reach
    will do.
    """

    pad: float
    reaches: tuple[float, ...]
    up: NDArray[np.float64]
    first: bool


def lines_for(work: Work, target: Target, asked: Asked, block: float = 0.0) -> list[Line]:
    """Return lines that press a target: of every reach the best one, of any the best where the first will do.

    Bare pads go before blocks and cauls, the middle of the target before beside it.
    """
    found: list[Line] = []
    wanted = asked.reaches
    for line in _ranked(work, target, asked.pad):
        if not asked.reaches:
            return [replace(line, block=block)]
        there = rooms(work, line.frame, (line.foot - block, line.head + block), wanted, asked.up, first=asked.first)
        if there:
            found.append(replace(line, block=block, rooms=there))
            wanted = tuple(r for r in wanted if r not in {room.reach for room in there})
            if asked.first or not wanted:
                break
    return found


def _ranked(work: Work, target: Target, pad: float) -> Iterator[Line]:
    """Yield the lines of a target without their rooms, those first that need nothing."""
    seen = work.boxes(target.frame)
    later: list[tuple[tuple[float, float], Line]] = []
    for x, y in _shifts(target.half):
        run = _run(work, target, x, y, seen)
        line = None if run is None else _line(work, target.frame @ move(x, y), run, pad)
        if line is not None and not line.asks:
            yield line
        elif line is not None:
            later.append(((float(line.asks == "block"), round(line.lean, 3)), line))
    yield from (line for _, line in sorted(later, key=lambda one: one[0]))


def _line(work: Work, frame: Frame, run: Sequence[Wood], pad: float) -> Line | None:
    way, at = frame[:3, 2], frame[:3, 3]
    foot, head = run[0].crossing.start, run[-1].crossing.end
    one = bearing(work, run[0], at + foot * way, -way, pad, last=False)
    other = bearing(work, run[-1], at + head * way, way, pad, last=True) if one is not None else None
    if one is None or other is None:
        return None
    asks = max(one.asks, other.asks, key=("", "caul", "block").index)
    return Line(frame, foot, head, tuple(run), max(one.lean, other.lean), asks)


def _shifts(half: tuple[float, float]) -> Iterator[tuple[float, float]]:
    yield 0.0, 0.0
    for share in SHIFTS:
        for x, y in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            yield x * share * half[0], y * share * half[1]


def _run(work: Work, target: Target, x: float, y: float, seen: tuple[Floats, Floats]) -> list[Wood] | None:
    """Return the wood on a line from one pad to the other, through both parts of the target, in order, or None."""
    woods = work.along(target.frame, *seen, x, y)
    behind = [w for w in woods if w.part == target.a and w.crossing.start < -1.0]
    if not behind:
        return None
    first = max(behind, key=lambda w: w.crossing.start)
    back, ahead = [first], [w for w in woods if w.crossing.end > first.crossing.end]
    for wood in sorted((w for w in woods if w.crossing.start < first.crossing.start), key=lambda w: -w.crossing.end):
        if _passes(work, wood, min(back, key=lambda w: w.crossing.start)):
            back.append(wood)
    on = [first]
    for wood in ahead:
        if _passes(work, max(on, key=lambda w: w.crossing.end), wood):
            on.append(wood)
    foot, head = min(back, key=lambda w: w.crossing.start), max(on, key=lambda w: w.crossing.end)
    if target.b not in {w.part for w in on} or head.part == target.a or foot.part == target.b:
        return None
    between = [w for w in (*back, *on[1:]) if w is not foot and w is not head]
    return [foot, *sorted(between, key=lambda w: (w.crossing.start, w.part)), head]


def _passes(work: Work, one: Wood, other: Wood) -> bool:
    """Whether wood passes pressure on to the wood that comes after it on a line."""
    gap = other.crossing.start - one.crossing.end
    return gap <= GAP or (gap <= POCKET and work.tied(one.part, other.part))
