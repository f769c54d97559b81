"""Replay: a plan played move by move by code that knows only solids and motions.

It shares nothing with the code that found the plan: each mover is set where its move
begins, clear of everything, and brought home in small steps; at each step the solids are
intersected. What the two share must stay thinner than TOUCH everywhere.
Not promised: an obstacle so thin that mover and obstacle together pass between two steps
(STEP mm along the motion); the finding code has no such gap.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import manifold3d
import numpy as np
from numpy.typing import NDArray

from assembly.placing import Assembly, standing_in
from assembly.plan import Move, Plan, Stage

Array = NDArray[np.float64]

TOUCH = 0.02
"""Shared wood thinner than this (twice its volume over its surface) counts as touching, mm."""
CRUMB = 0.01
"""Shared pieces smaller than this are rounding, mm³."""
NUDGES = ((0.0, 0.0, 0.0), (0.0031, 0.0017, 0.0023), (-0.0019, -0.0029, -0.0013))
"""Where faces lie exactly on faces a boolean may leave crumbs; wood that is truly shared is so nudged or not, mm."""
STEP = 4.0
"""Distance between two steps of a motion, mm."""
FIRST_STEPS = (0.0, 0.03, 0.1, 0.3, 1.0, 2.0)
"""Distances from home looked at besides, mm: a hook or a slope shows at once."""


@dataclass(frozen=True)
class Refusal:
    """The first thing in a plan that cannot be done: in which stage, which parts, how far from home (mm), why."""

    stage: str
    parts: tuple[str, ...]
    from_home: float
    thickness: float
    why: str


@dataclass
class _Bench:
    """The parts of one stage: their solids in the world, and which of them lie together so far."""

    stage: Stage
    solids: dict[str, manifold3d.Manifold]
    lying: dict[str, int] = field(default_factory=dict)

    def together(self, names: Iterable[str]) -> list[str]:
        marks = {self.lying[n] for n in names if n in self.lying}
        return [n for n, mark in self.lying.items() if mark in marks]

    def lay(self, names: Sequence[str]) -> None:
        mark = len(self.lying) + 1 + max(self.lying.values(), default=0)
        self.lying.update(dict.fromkeys(names, mark))


def replay(assembly: Assembly, plan: Plan) -> Refusal | None:
    """Return the first move of a plan that cannot be made, or None when all can.

    Played are the moves of each stage from its units, and the ways out of temporary parts.
    """
    for stage in plan.stages:
        here = standing_in(assembly, stage.name)
        solids = {n: _placed(here, n, stage.done) for n in stage.parts}
        refused = _play(_Bench(stage, solids)) or _take_away(_Bench(stage, solids), plan)
        if refused is not None:
            return refused
    return None


def _placed(assembly: Assembly, name: str, done: frozenset[str]) -> manifold3d.Manifold:
    return assembly.solid(name, done).manifold.transform(np.ascontiguousarray(assembly.frames[name][:3]))


def _play(bench: _Bench) -> Refusal | None:
    moves = list(bench.stage.moves)
    while moves:
        some = [moves.pop(0)]
        while some[0].simultaneous and moves and moves[0].simultaneous:
            some.append(moves.pop(0))
        refused = _unsound(bench, some) or (_draw_together(bench, some) if some[0].simultaneous
                                            else _bring(bench, some[0]))
        if refused is not None:
            return refused
    return _missing(bench)


def _unsound(bench: _Bench, moves: Sequence[Move]) -> Refusal | None:
    """Refuse moves that tear a unit, move what is not there, or go onto what does not lie there yet."""
    for m in moves:
        if torn := [u for u in bench.stage.units if 0 < len(set(u) & set(m.parts)) < len(u)]:
            return Refusal(bench.stage.name, torn[0], 0.0, 0.0, "a move takes only some parts of a unit")
        if absent := [n for n in m.onto if n not in bench.lying]:
            return Refusal(bench.stage.name, tuple(absent), 0.0, 0.0, "a move goes onto parts not there yet")
        if astray := [n for n in m.parts if n not in bench.solids]:
            return Refusal(bench.stage.name, tuple(astray), 0.0, 0.0, "a move takes parts that are not at the bench")
    return None


def _missing(bench: _Bench) -> Refusal | None:
    if left := [n for n in bench.solids if n not in bench.lying]:
        return Refusal(bench.stage.name, tuple(left), 0.0, 0.0, "no move brings these parts")
    closed = [n for m in bench.stage.moves for n in m.joints]
    if wrong := [n for n in bench.stage.joints if closed.count(n) != 1]:
        return Refusal(bench.stage.name, bench.stage.parts, 0.0, 0.0, f"joint {wrong[0]} is not closed by one move")
    return None


def _bring(bench: _Bench, m: Move) -> Refusal | None:
    still = [n for n in bench.together(m.onto) if n not in m.parts]
    home = np.array(m.direction)
    refused = _slide(bench, m.parts, still, home) if m.before is None else _turn(bench, m, still, home)
    bench.lay([*m.parts, *still])
    return refused


def _turn(bench: _Bench, m: Move, still: Sequence[str], home: Array) -> Refusal | None:
    """Play a move that comes in one way, turns, and goes home another; it turns `travel` mm from home."""
    turns = {n: bench.solids[n].translate(tuple(-home * m.travel)) for n in m.parts}
    beside = _Bench(bench.stage, bench.solids | turns, bench.lying)
    refused = _slide(beside, m.parts, still, np.array(m.before))
    return refused or _slide(bench, m.parts, still, home, m.travel)


def _slide(bench: _Bench, moving: Sequence[str], still: Sequence[str], home: Array,
           most: float = np.inf) -> Refusal | None:
    """Play a straight way home, from clear of everything or from `most` mm away."""
    for one in moving:
        for other in still:
            for at in _steps(bench.solids[one], bench.solids[other], -home, most):
                thick = _shared(bench.solids[one].translate(tuple(-home * at)), bench.solids[other])
                if thick > TOUCH:
                    return Refusal(bench.stage.name, (one, other), at, thick, "the piece runs into another on its way")
    return None


def _steps(one: manifold3d.Manifold, other: manifold3d.Manifold, out: Array, most: float) -> list[float]:
    """Return the distances from home at which two boxes meet while one of them moves out, far to near, mm."""
    a, b = np.array(one.bounding_box()).reshape(2, 3), np.array(other.bounding_box()).reshape(2, 3)
    low, high = 0.0, most
    for axis in range(3):
        enter, leave = b[0, axis] - a[1, axis], b[1, axis] - a[0, axis]
        if abs(out[axis]) < 1e-9:
            if enter >= 0 or leave <= 0:
                return []
            continue
        near, far = sorted((enter / out[axis], leave / out[axis]))
        low, high = max(low, near), min(high, far)
    if low >= high:
        return []
    regular = np.linspace(low, high, int(np.ceil((high - low) / STEP)) + 1)
    early = [s for s in FIRST_STEPS if low <= s <= high]
    return sorted({*regular.tolist(), *early}, reverse=True)


def _shared(one: manifold3d.Manifold, other: manifold3d.Manifold) -> float:
    """Return how thick the thickest piece is that two solids share, nudged or not, mm."""
    least = np.inf
    for nudge in NUDGES:
        least = min(least, _thickest(one.translate(nudge) ^ other))
        if least <= TOUCH:
            break
    return float(least)


def _thickest(common: manifold3d.Manifold) -> float:
    """Return twice the volume over the surface of the piece for which that is most, mm; 0 for nothing."""
    pieces = [(p.volume(), p.surface_area()) for p in common.decompose()]
    return max((2.0 * volume / surface for volume, surface in pieces if volume > CRUMB), default=0.0)


def _draw_together(bench: _Bench, moves: Sequence[Move]) -> Refusal | None:
    """Play moves made at the same time, all groups against each other and what lies there."""
    still = [n for n in bench.together(n for m in moves for n in m.onto) if all(n not in m.parts for m in moves)]
    away = {n: -np.array(m.direction) * m.travel for m in moves for n in m.parts} | dict.fromkeys(still, np.zeros(3))
    group = {n: i for i, m in enumerate(moves) for n in m.parts} | dict.fromkeys(still, -1)
    names = list(away)
    longest = max(m.travel for m in moves)
    for share in np.linspace(1.0, 0.0, int(np.ceil(longest / 1.0)) + 2).tolist():
        now = {n: bench.solids[n].translate(tuple(away[n] * share)) for n in names}
        for i, one in enumerate(names):
            for other in names[i + 1:]:
                if group[one] != group[other] and (thick := _shared(now[one], now[other])) > TOUCH:
                    return Refusal(bench.stage.name, (one, other), share * longest, thick,
                                   "pieces drawn together run into each other")
    bench.lay(names)
    return None


def _take_away(bench: _Bench, plan: Plan) -> Refusal | None:
    """Play the ways out of temporary parts, from the finished stage."""
    out: tuple[Move, ...] = next((data["moves"] for _, data in plan.steps.nodes(data=True)
                                  if data["kind"] == "take away" and data["stage"] == bench.stage.number), ())
    left = dict.fromkeys(bench.solids)
    for m in out:
        still = [n for n in left if n not in m.parts]
        refused = _slide(bench, m.parts, still, -np.array(m.direction))
        if refused is not None:
            return refused
        left = {n: None for n in left if n not in m.parts}
    if stuck := [n for n in bench.stage.takes_away if n in left and len(left) > 1 and not _last(left, bench)]:
        return Refusal(bench.stage.name, tuple(stuck), 0.0, 0.0, "no move takes these parts away")
    return None


def _last(left: dict[str, None], bench: _Bench) -> bool:
    """Whether nothing but one temporary part or one glued result lies there at the end."""
    return any(set(left) <= set(unit) for unit in (*bench.stage.units, *bench.stage.results))
