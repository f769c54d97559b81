"""The reel: what a film of the assembly shows, moment by moment, before anything is drawn.

A stage begins with its pieces apart, as in its picture. One after another is brought to where its proven way begins
and goes straight home from there, overlapping in time where there are many; then temporary parts leave.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from assembly.placing import Assembly, standing_in
from assembly.plan import Stage
from assembly.rehearsal import Rehearsal
from exports.motions import Closing, Way, closings, ways_out
from exports.pictures.camera import Camera
from exports.pictures.spread import CLEAR, best_pulled, diagonal, stand_off
from model.frames import Vector

TICK = 80
"""Milliseconds that a picture stands while something moves."""
MOST_MOVING = 150
"""About so many pictures show pieces on their way, however many there are."""
TOO_MANY = 1.4
"""Where groups wait for each other it may be so many times as many; beyond that pictures are left out."""
FLIGHT, HURRIED = 14, 6
"""Beats of one piece's way home, where there are few and where there are many; a beat is a picture, or less."""
BROUGHT = 0.45
"""A piece that stands elsewhere is brought to the begin of its way in this share of the time."""
NEAR = 0.5
"""A piece that stands no farther than this from the begin of its way, mm, is there already."""
LEAVING = 7
"""Pictures of a part that leaves."""
PAUSE, REST, SAWN = 1400, 700, 900
"""Milliseconds: before a stage begins, when all is home, when a cut has been made."""


@dataclass(frozen=True, eq=False)
class Body:
    """Parts that keep together all through a stage, whether they were glued before it, and where they stand ready:
    how far off the begin of their way, mm (3,).
    """

    parts: tuple[str, ...]
    before: bool
    ready: Vector


@dataclass(frozen=True, eq=False)
class Act:
    """One stage of the film. `some`: its closings in which something moves; `out`: what moves off afterwards;
    `flight`: beats of one closing; `gap`: beats from one closing's begin to the next's at least; `step`: beats from one
    picture to the next.
    """

    rehearsal: Rehearsal
    stage: Stage
    assembly: Assembly
    bodies: tuple[Body, ...]
    some: tuple[Closing, ...]
    out: tuple[tuple[tuple[str, ...], Vector], ...]
    flight: int
    gap: float
    step: float = 1.0

    @cached_property
    def ways(self) -> tuple[tuple[tuple[int, Way], ...], ...]:
        """For each body the ways it goes, with the number of the closing."""
        return tuple(tuple((k, way) for k, closing in enumerate(self.some) for way in closing.ways
                           if body.parts[0] in way.parts) for body in self.bodies)

    def off(self, at: float) -> tuple[Vector, ...]:
        """Return how far each body is off its home so many beats after the first sets off, mm."""
        return tuple(self._off(k, at) for k in range(len(self.bodies)))

    def _off(self, body: int, at: float) -> Vector:
        ready, found = self.bodies[body].ready, np.zeros(3)
        for n, (closing, way) in enumerate(self.ways[body]):
            along = self.along(closing, at)
            if along >= 1.0:
                continue
            if n == 0 and np.any(ready):
                found = found + ready * (1.0 - eased(along / BROUGHT))
                along = (along - BROUGHT) / (1.0 - BROUGHT)
            found = found + way.at(eased(along))
        return found

    @cached_property
    def begins(self) -> tuple[float, ...]:
        """The beat at which each closing begins: none before all its pieces have come to rest."""
        rest: dict[str, float] = {}
        found: list[float] = []
        for closing in self.some:
            free = max(rest.get(name, 0.0) for name in closing.parts)
            found.append(max(free, found[-1] + self.gap) if found else 0.0)
            rest.update(dict.fromkeys(closing.parts, found[-1] + self.flight))
        return tuple(found)

    def along(self, closing: int, at: float) -> float:
        """Return the share of its time that a closing has behind it (0 to 1)."""
        return min(max((at - self.begins[closing]) / self.flight, 0.0), 1.0)

    @cached_property
    def last(self) -> float:
        """The beat at which all are home."""
        return self.begins[-1] + self.flight if self.some else 0.0

    @property
    def beats(self) -> list[float]:
        """The beats at which moves are seen, the last when all are home."""
        number = math.ceil(self.last / self.step)
        return [min(k * self.step, self.last) for k in range(1, number + 1)]

    def moving(self, at: float) -> Mapping[int, Way]:
        """Return the bodies on their way, each with the way it is on."""
        return {k: way for k, ways in enumerate(self.ways) for closing, way in ways
                if 0.0 < self.along(closing, at) < 1.0}

    def extremes(self) -> Iterator[tuple[str, Vector]]:
        """Give every part with each place off its home at which it stops or turns."""
        for body, ways, begun in zip(self.bodies, self.ways, self.off(0.0), strict=True):
            places = [np.zeros(3), begun, begun - body.ready]
            left = begun - body.ready
            for _, way in ways:
                left = left - way.back
                places += [left, *([left + way.corner] if way.corner is not None else [])]
            yield from ((name, place) for name in body.parts for place in places)
        for parts, by in self.out:
            yield from ((name, by) for name in parts)


def eased(share: float) -> float:
    """Return a share of time as a share of the way of what sets off and arrives gently."""
    s = min(max(share, 0.0), 1.0)
    return s * s * (3.0 - 2.0 * s)


def acts(rehearsal: Rehearsal, camera: Camera) -> list[Act]:
    """Return the acts of all stages in which there is something to see; a camera looks on from where it faces."""
    home = rehearsal.assembly
    clear = CLEAR * diagonal(home, home.names)
    ready = []
    for stage in (s for s in rehearsal.plan.stages if s.parts):
        there = standing_in(home, stage.name)
        apart, share = best_pulled(stage, there, clear, camera)
        some = closings(stage, lambda move, share=share: stand_off(move, clear, share))  # type: ignore[misc]
        ready.append((stage, there, apart, _moved(some, apart)))
    number = sum(len(some) for *_, some in ready)
    gap = min(FLIGHT + 1.0, MOST_MOVING / max(number, 1))
    flight = int(np.clip(round(3.0 * gap), HURRIED, FLIGHT))
    seen: set[str] = set()
    found = []
    for stage, there, apart, some in ready:
        out = tuple(ways_out(stage, rehearsal.plan, clear))
        bodies = _bodies(stage, seen, out, apart, some)
        found.append(Act(rehearsal, stage, there, bodies, tuple(some), out, flight, gap))
        seen |= set(stage.parts)
    step = max(1.0, sum(act.last for act in found) / (TOO_MANY * MOST_MOVING))
    return [replace(act, step=step) for act in found]


def _moved(some: Sequence[Closing], apart: Mapping[str, Vector]) -> list[Closing]:
    """Return the closings in which something is brought or moves."""
    begun = _begins(some)
    brought = {n for n, off in begun.items() if n in apart and float(np.linalg.norm(apart[n] - off)) > NEAR}
    return [c for c in some if not c.still or brought & set(c.parts)]


def _begins(some: Sequence[Closing]) -> dict[str, Vector]:
    """Return how far off their homes parts are when all their ways are before them, mm."""
    found: dict[str, Vector] = {}
    for way in (way for closing in some for way in closing.ways):
        for name in way.parts:
            found[name] = found.get(name, np.zeros(3)) + way.back
    return found


def _bodies(stage: Stage, seen: set[str], out: Sequence[tuple[tuple[str, ...], Vector]], apart: Mapping[str, Vector],
            some: Sequence[Closing]) -> tuple[Body, ...]:
    """Return the bodies of a stage: its units, parted where some of their parts leave."""
    group, begun = {name: k for k, (parts, _) in enumerate(out) for name in parts}, _begins(some)
    found = []
    for unit in stage.units:
        sets: dict[int | None, list[str]] = {}
        for name in unit:
            sets.setdefault(group.get(name), []).append(name)
        for names in sets.values():
            ready = apart[names[0]] - begun[names[0]] if names[0] in begun else np.zeros(3)
            near = float(np.linalg.norm(ready)) <= NEAR
            found.append(Body(tuple(names), names[0] in seen, np.zeros(3) if near else ready))
    return tuple(found)
