"""Options: every clamp that could be set on some work held together, and what each of them presses."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache

import numpy as np

from assembly.placing import Assembly
from assembly.pressure.bands import Band, bands
from assembly.pressure.beside import Room
from assembly.pressure.joints import SLACK, Target, block_and_rows, covered, glued_whole, targets
from assembly.pressure.lines import Asked, Line, lines_for
from assembly.pressure.work import Floats, Work, work_of

PARALLEL = math.cos(math.radians(8.0))
"""Joints whose axis leans no more than this to a line are pressed by it (common practice, no source)."""
NEAR = 0.9
"""A line presses a joint that it passes within this share of half the joint's size of its middle."""
SAME = 0.5
"""A line this near to a joint's middle, mm, is the joint's own."""
REACHES = (80.0, 150.0, 300.0)
"""Throats of bars tried where the shop says nothing, mm (common practice, no source)."""


@dataclass(frozen=True)
class Bar:
    """A bar on a line, in the room it has; `presses`: targets by number. Without a room none was asked for."""

    line: Line
    room: Room | None
    presses: frozenset[int]


@dataclass(frozen=True, eq=False)
class Options:
    """Some work held together, what is to be pressed in it, and the bars and bands that could do it."""

    work: Work
    targets: tuple[Target, ...]
    bars: tuple[Bar, ...]
    bands: tuple[Band, ...]

    @property
    def all(self) -> tuple[Bar | Band, ...]:
        """Bars and bands."""
        return (*self.bars, *self.bands)

    @cached_property
    def bare(self) -> tuple[str, ...]:
        """The joints that nothing presses."""
        pressed = frozenset(t for one in self.all for t in one.presses)
        return tuple(dict.fromkeys(t.joint for k, t in enumerate(self.targets) if k not in pressed))


@dataclass
class _Search:
    work: Work
    asked: Asked
    owned: tuple[float, ...]
    targets: list[Target] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)

    def add(self, target: Target, face: Sequence[Floats]) -> None:
        """Find how a joint is pressed: by a line that is there already, by one or several of its own."""
        own = next((d for line in self.lines if (d := self._on(line, target)) is not None), None)
        whole = [] if own is not None else self._lines(target)
        if own is None and not whole:
            self.targets.append(target)
            return
        pad, depth = self.asked.pad, own if own is not None else max(line.depth for line in whole)
        thick, rows = block_and_rows(target.half, pad, depth)
        strips = list(target.strips(face, covered(pad, depth + thick), rows))
        if len(strips) == 1 and thick == 0.0:
            self.targets.append(target)
            self.lines += whole
            return
        found = [(s, lines) for s in strips if (lines := self._lines(s, thick))]
        self.targets += [s for s, _ in found] or [target]
        self.lines += [line for _, lines in found for line in lines]

    def _lines(self, target: Target, block: float = 0.0) -> list[Line]:
        """Return the lines of a target: for bars of each reach that is owned, of others where none of these can."""
        if not self.asked.reaches or self.asked.first:
            return lines_for(self.work, target, self.asked, block)
        rest = tuple(r for r in self.asked.reaches if r not in self.owned)
        found = lines_for(self.work, target, replace(self.asked, reaches=self.owned), block) if self.owned else []
        return found or lines_for(self.work, target, replace(self.asked, reaches=rest, first=True), block)

    @staticmethod
    def _on(line: Line, target: Target) -> float | None:
        """Return how deep a target lies on a line that is its own, mm; None where the line is another's."""
        way, off = line.frame[:3, 2], target.frame[:3, 3] - line.frame[:3, 3]
        along = float(off @ way)
        if (line.asks or line.block or abs(float(way @ target.frame[:3, 2])) < 1.0 - 1e-9
                or not line.foot < along < line.head or float(np.linalg.norm(off - along * way)) > SAME):
            return None
        parts = {w.part for w in line.woods}
        return min(along - line.foot, line.head - along) if {target.a, target.b} <= parts else None


@lru_cache(maxsize=256)
def options(assembly: Assembly, parts: tuple[str, ...], joints: tuple[str, ...], done: frozenset[str], pad: float,
            owned: tuple[float, ...] | None, up: tuple[float, float, float, float] | None) -> Options:
    """Return the clamps that could press the glued joints among those named, in parts held together.

    `owned`: the throats of the bars there are; None where the shop does not say. `up`: as in `Asked`; None where it is
    not known how the work lies: no room is then asked for.
    """
    work = work_of(assembly, parts, done)
    reaches = () if up is None else tuple(sorted({*REACHES, *(owned or ())}))
    asked = Asked(pad, reaches, np.array(up or (0.0, 0.0, 0.0, 0.0)), owned is None)
    search = _Search(work, asked, reaches if owned is None else owned)
    for target, face in targets(assembly, work, list(glued_whole(assembly, joints).values())):
        search.add(target, face)
    table = _Table(search.targets)
    bars = [Bar(line, room, presses) for line in search.lines for presses in (table.pressed(line, pad),)
            for room in (_rooms(line, owned) or (None,))]
    pressed = {t for b in bars if b.line.asks != "caul" for t in b.presses}
    left = [k for k in range(len(search.targets)) if k not in pressed]
    return Options(work, tuple(search.targets), tuple(bars), tuple(bands(work, search.targets, left) if left else ()))


def _rooms(line: Line, owned: tuple[float, ...] | None) -> tuple[Room, ...]:
    """Return the rooms that are worth a bar: each that is owned, the best one where the shop does not say."""
    if owned is not None or not line.rooms:
        return line.rooms
    return (min(line.rooms, key=lambda r: (r.blocks, r.reach)),)


class _Table:
    """Targets side by side."""

    def __init__(self, some: Sequence[Target]) -> None:
        self.targets = some
        frames = np.array([t.frame for t in some]).reshape(-1, 4, 4)
        self.at, self.turns = frames[:, :3, 3], frames[:, :3, :3]
        self.half = np.array([t.half for t in some]).reshape(-1, 2)

    def pressed(self, line: Line, pad: float) -> frozenset[int]:
        """Return the targets that a line presses: between its pads, across its axis, near enough to their middle."""
        way, start = line.frame[:3, 2], line.frame[:3, 3]
        axes = self.turns[:, :, 2]
        cosine = axes @ way
        along = np.einsum("ti,ti->t", self.at - start, axes) / np.where(np.abs(cosine) < 0.5, 1.0, cosine)
        aside = np.einsum("tik,ti->tk", self.turns[:, :, :2], start + along[:, None] * way - self.at)
        depth = np.minimum(along - line.foot, line.head - along) + line.block
        near = (np.abs(cosine) > PARALLEL) & (depth > line.block)
        near &= np.all(np.abs(aside) <= NEAR * self.half + 1.0, axis=1)
        near &= np.all(self.half <= pad / 2.0 + depth[:, None] + SLACK / 2.0, axis=1)
        return frozenset(k for k in np.flatnonzero(near).tolist() if self._between(line, k, float(along[k])))

    def _between(self, line: Line, k: int, along: float) -> bool:
        """Whether a target's two pieces lie on a line one on each side of it."""
        sides = [{w.part for w in line.woods if w.crossing.start < along - 1.0},
                 {w.part for w in line.woods if w.crossing.end > along + 1.0}]
        a, b = self.targets[k].a, self.targets[k].b
        return (a in sides[0] and b in sides[1]) or (b in sides[0] and a in sides[1])
