"""Session: how the work of one glue-up lies in time, and whether the glue waits for it.

Glue goes on in batches: the joints of some moves, all people spreading, then those moves one
after the other. Clamps are set after the last move, for they span the work. A joint lies open
from when its glue is spread until it closes, and waits closed from then until all clamps are
set. Among all ways to cut the moves into batches the one is taken that keeps both within what
the glue allows in the least time; where none does, the one that waits closed the least.
Since every way's times only get shorter with more people, and more ways are allowed with more
minutes, neither can make anything worse.
Rules of thumb (`effort`), not a promise: the glue's data sheet and a trial without glue come first.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from assembly.contacts import joint_area
from assembly.effort import Effort, rules
from assembly.placing import Assembly
from assembly.plan import Move
from model.design import Shop
from model.glue_times import GlueTimes, glue_times

BATCHES_MOST = 400
"""Moves looked at as one batch, at most: beyond that no glue stays open."""
HAIR = 1e-9


@dataclass(frozen=True)
class Windows:
    """What a session takes, min: the longest a joint lies open, the longest one waits closed, all of it; the limits.

    `close`: the minutes in which joints close, one move after the other, without the spreading. `batches`: how many
    moves each batch has, those that close all at once counted as one.
    """

    open_used: float
    closed_used: float
    needed: float
    close: float
    open: float
    closed: float
    batches: tuple[int, ...]

    @property
    def fits(self) -> bool:
        """Whether no joint waits longer than its glue allows."""
        return self.open_used <= self.open + HAIR and self.closed_used <= self.closed + HAIR


@dataclass(frozen=True)
class Load:
    """One move in numbers, min: to spread each of its joints by one person, and to bring and close it."""

    spread: tuple[float, ...]
    close: float


@dataclass(frozen=True)
class Batch:
    """Some moves as one batch: to the move before `end`; minutes of spreading and of closing, and the longest that a
    joint of it lies open."""

    end: int
    spread: float
    close: float
    open: float


@dataclass
class _Ways:
    """Every way to cut moves into batches, looked at from the last move back."""

    loads: Sequence[Load]
    people: int
    limit: float
    rest: list[float] = field(default_factory=list)
    """For each move, the least time from the beginning of a batch that starts with it to the end of the last move."""
    cut: list[Batch] = field(default_factory=list)

    def __post_init__(self) -> None:
        count = len(self.loads)
        self.rest, self.cut = [0.0] * (count + 1), [Batch(count, 0.0, 0.0, 0.0)] * count
        for first in range(count - 1, -1, -1):
            best = min(self.batches(first), key=lambda b: (b.spread + b.close + self.rest[b.end], -b.end))
            self.rest[first], self.cut[first] = best.spread + best.close + self.rest[best.end], best

    def batches(self, first: int) -> list[Batch]:
        """Return the batches that may begin with a move: no joint in them lies open too long, or it is one move.

        A joint lies open while the rest of its batch is spread, by all people or by the slowest one alone, and until
        its own move is made.
        """
        found: list[Batch] = []
        spread, close, longest, ahead, alone = 0.0, 0.0, 0.0, 0.0, 0.0
        for end in range(first, min(len(self.loads), first + BATCHES_MOST)):
            close += self.loads[end].close
            for t in self.loads[end].spread:
                ahead = max(ahead, close - spread / self.people)
                alone = max(alone, close + t)
                longest = max(longest, t)
                spread += t
            opened = max(spread / self.people + ahead, alone) if spread else 0.0
            if found and opened > self.limit + HAIR:
                break
            found.append(Batch(end + 1, max(spread / self.people, longest), close, opened))
        return found

    def path(self, first: Batch) -> list[Batch]:
        """Return the batches that follow a first one in the least time, itself before them."""
        batches = [first]
        while batches[-1].end < len(self.loads):
            batches.append(self.cut[batches[-1].end])
        return batches


def in_time(loads: Sequence[Load], people: int, clamping: float, glue: GlueTimes) -> Windows:
    """Return the times of moves made by so many free people, with `clamping` min to set all clamps at the end."""
    closing = sum(load.close for load in loads)
    if not any(load.spread for load in loads):
        return Windows(0.0, 0.0, closing + clamping, closing, glue.open, glue.closed, (len(loads),) if loads else ())
    start = next(k for k, load in enumerate(loads) if load.spread)
    before = sum(load.close for load in loads[:start])
    ways = _Ways(loads[start:], people, glue.open)
    begins = ways.batches(0)
    waits = {b: b.close - loads[start].close + ways.rest[b.end] + clamping for b in begins}
    total = {b: b.spread + b.close + ways.rest[b.end] for b in begins}
    fine = [b for b in begins if waits[b] <= glue.closed + HAIR and b.open <= glue.open + HAIR]
    first = min(fine, key=lambda b: (total[b], b.end)) if fine else min(begins, key=lambda b: (waits[b], b.end))
    path = ways.path(first)
    sizes = [b.end - a for a, b in zip((0, *(b.end for b in path)), path, strict=False)]
    return Windows(max(b.open for b in path), waits[first], before + total[first] + clamping, closing, glue.open,
                   glue.closed, (start + sizes[0], *sizes[1:]))


def windows(assembly: Assembly, shop: Shop, moves: Sequence[Move], hands: Sequence[int], clamps: int,
            held: int = 0) -> Windows:
    """Return the times of some moves made in one session.

    `hands`: the people each takes, whether they are there or not, so that one who comes costs no more time; `held`:
    the people who hold the work meanwhile.
    """
    own = rules(shop)
    free = max(1, shop.people - held)
    loads = loads_of(assembly, moves, tuple(hands), own)
    return in_time(loads, free, clamping(clamps, free, own), glue_times(shop))


def clamping(clamps: int, people: int, own: Effort) -> float:
    """Return the minutes in which people set so many clamps."""
    return own.set_clamp * math.ceil(clamps / people) / 60.0


def at_once(moves: Sequence[Move]) -> list[tuple[Move, ...]]:
    """Return moves as they are made: those that close all at once together."""
    found: list[tuple[Move, ...]] = []
    for move in moves:
        if move.simultaneous and found and found[-1][0].simultaneous:
            found[-1] = (*found[-1], move)
        else:
            found.append((move,))
    return found


def loads_of(assembly: Assembly, moves: Sequence[Move], hands: Sequence[int], own: Effort) -> list[Load]:
    """Return moves in numbers, those that close all at once as one; `hands` the people each takes."""
    loads: list[Load] = []
    needed = iter(hands)
    for some in at_once(moves):
        each = [_load(assembly, move, next(needed), own) for move in some]
        loads.append(Load(tuple(t for load in each for t in load.spread), sum(load.close for load in each)))
    return loads


@lru_cache(maxsize=16384)
def _load(assembly: Assembly, move: Move, hands: int, own: Effort) -> Load:
    bring = (own.move_piece + own.extra_person * (hands - 1)) if move.onto else 0.0
    spread = tuple((own.spread_joint + own.spread_area * area / 10_000.0) / 60.0
                   for area in glued_areas(assembly, move.joints).values())
    return Load(spread, (bring + own.close_joint * len(whole_joints(assembly, move.joints))) / 60.0)


def whole_joints(assembly: Assembly, joints: Sequence[str]) -> list[str]:
    """Return joints as a person counts them: the halves of a loose tenon are one with their joint."""
    return list(dict.fromkeys(assembly.design.joint[n].of or n for n in joints))


def glued_areas(assembly: Assembly, joints: Sequence[str]) -> dict[str, float]:
    """Return for each glued joint as a person counts them the area of one side of it, mm², as far as `joints` go.

    Where a loose tenon goes into one half first, what is glued then and what is glued later are each counted once.
    """
    areas: dict[str, float] = {}
    for joint in map(assembly.design.joint.__getitem__, joints):
        if joint.glued:
            whole = joint.of or joint.name
            areas[whole] = areas.get(whole, 0.0) + joint_area(assembly, joint).area
    return areas
