"""Replay: a plan played move by move by code that knows only solids and motions.

It shares nothing with the code that found the plan. Each mover is set where its move begins,
clear of everything, and brought home in small steps; at each step the solids are intersected.
Then the whole way is looked at in one piece, so that nothing passes between two steps: what a
solid sweeps on a straight way is itself at the start and a prism over each of its triangles
that look ahead. What is shared must stay thinner than TOUCH everywhere. Pieces that move at the
same time move in a straight line as seen from each other, and are looked at so.
Pairs alike are played once: they are remembered by their solids and how they move.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import manifold3d
import numpy as np
from numpy.typing import NDArray

from assembly.placing import Assembly, standing_in
from assembly.plan import Move, Plan, Stage
from model.progress import Progress, quiet
from model.solids import Solid

Array = NDArray[np.float64]

TOUCH = 0.02
"""Shared wood thinner than this (twice its volume over its surface) counts as touching, mm."""
CRUMB = 0.01
"""Shared pieces smaller than this are rounding, mm³."""
NUDGES = ((0.0, 0.0, 0.0), (0.0031, 0.0017, 0.0023), (-0.0019, -0.0029, -0.0013), (0.0011, -0.0027, 0.0037),
          (-0.0033, 0.0021, -0.0017), (0.0023, 0.0036, -0.0029), (-0.0013, -0.0019, 0.0031))
"""Where faces lie exactly on faces a boolean may leave crumbs; wood that is truly shared is so nudged or not, mm. More
than one is tried only while wood seems to be shared."""
REMEMBERED = 50_000
"""Ways of pairs that are remembered."""
STEP = 4.0
"""Distance between two steps of a motion, mm."""
FIRST_STEPS = (0.0, 0.03, 0.1, 0.3, 1.0, 2.0)
"""Distances from home looked at besides, mm: a hook or a slope shows at once."""


AHEAD = 1e-6
"""A triangle that leans less than this into the way (sine) sweeps nothing."""
PRISM = np.array([(2, 1, 0), (3, 4, 5), (0, 1, 4), (0, 4, 3), (1, 2, 5), (1, 5, 4), (2, 0, 3), (2, 3, 5)],
                 dtype=np.uint64)
"""The triangles of a prism over a triangle: its corners first, then where they get to."""

_PLAYED: dict[bytes, tuple[float, float]] = {}


@dataclass(frozen=True)
class Refusal:
    """The first thing in a plan that cannot be done: in which stage, which parts, how far from home (mm), why."""

    stage: str
    parts: tuple[str, ...]
    from_home: float
    thickness: float
    why: str


@dataclass(frozen=True, eq=False)
class _Body:
    """A solid where it stands: its frame carries its own coordinates into the world."""

    solid: Solid
    frame: Array

    def moved(self, by: Array) -> _Body:
        frame = self.frame.copy()
        frame[:3, 3] += by
        return _Body(self.solid, frame)

    @cached_property
    def manifold(self) -> manifold3d.Manifold:
        return self.solid.manifold.transform(np.ascontiguousarray(self.frame[:3]))

    @cached_property
    def box(self) -> Array:
        return np.array(self.manifold.bounding_box()).reshape(2, 3)


@dataclass
class _Bench:
    """The parts of one stage: their solids in the world, and which of them lie together so far."""

    stage: Stage
    solids: dict[str, _Body]
    lying: dict[str, int] = field(default_factory=dict)

    def together(self, names: Iterable[str]) -> list[str]:
        marks = {self.lying[n] for n in names if n in self.lying}
        return [n for n, mark in self.lying.items() if mark in marks]

    def lay(self, names: Sequence[str]) -> None:
        mark = len(self.lying) + 1 + max(self.lying.values(), default=0)
        self.lying.update(dict.fromkeys(names, mark))


def replay(assembly: Assembly, plan: Plan, progress: Progress = quiet) -> Refusal | None:
    """Return the first move of a plan that cannot be made, or None when all can.

    Played are the moves of each stage from its units, and the ways out of temporary parts.
    """
    for k, stage in enumerate(plan.stages):
        progress(f"playing {stage.name} through", k / len(plan.stages))
        here = standing_in(assembly, stage.name)
        solids = {n: _Body(assembly.solid(n, stage.done), here.frames[n]) for n in stage.parts}
        refused = _play(_Bench(stage, solids)) or _take_away(_Bench(stage, solids), plan)
        if refused is not None:
            return refused
    return None


def from_further(assembly: Assembly, stage: Stage, number: int, further: Sequence[float]) -> Refusal | None:
    """Play the moves made at the same time as that of this number, each from so many mm beyond its own travel.

    None where they do not run into each other on that way either. Not played: what came before them.
    """
    here = standing_in(assembly, stage.name)
    bench = _Bench(stage, {n: _Body(assembly.solid(n, stage.done), here.frames[n]) for n in stage.parts})
    first = 0
    for some in _closings(stage.moves):
        if first <= number < first + len(some):
            longer = [replace(m, travel=m.travel + more) for m, more in zip(some, further, strict=True)]
            return _draw_together(bench, longer)
        first += len(some)
        moving = [n for m in some for n in m.parts]
        bench.lay(list(dict.fromkeys([*moving, *bench.together(n for m in some for n in m.onto)])))
    return None


def _closings(moves: Sequence[Move]) -> list[list[Move]]:
    """Return the moves in order, those made at the same time together."""
    found: list[list[Move]] = []
    for m in moves:
        if found and m.simultaneous and found[-1][0].simultaneous:
            found[-1].append(m)
        else:
            found.append([m])
    return found


def _play(bench: _Bench) -> Refusal | None:
    for some in _closings(bench.stage.moves):
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
    turns = {n: bench.solids[n].moved(-home * m.travel) for n in m.parts}
    beside = _Bench(bench.stage, bench.solids | turns, bench.lying)
    refused = _slide(beside, m.parts, still, np.array(m.before))
    return refused or _slide(bench, m.parts, still, home, m.travel)


def _slide(bench: _Bench, moving: Sequence[str], still: Sequence[str], home: Array,
           most: float = np.inf) -> Refusal | None:
    """Play a straight way home, from clear of everything or from `most` mm away."""
    for one in moving:
        for other in still:
            low, high = _meeting(bench.solids[one].box, bench.solids[other].box, -home, most)
            if low < high:
                at, thick = _way(bench.solids[one], bench.solids[other], home, low, high)
                if thick > TOUCH:
                    return Refusal(bench.stage.name, (one, other), at, thick, "the piece runs into another on its way")
    return None


def _meeting(a: Array, b: Array, out: Array, most: float) -> tuple[float, float]:
    """Return between which distances from home two boxes meet while one of them moves out, mm; (0, 0) for never."""
    low, high = 0.0, most
    for axis in range(3):
        enter, leave = b[0, axis] - a[1, axis], b[1, axis] - a[0, axis]
        if abs(out[axis]) < 1e-9:
            if enter >= 0 or leave <= 0:
                return 0.0, 0.0
            continue
        near, far = sorted((enter / out[axis], leave / out[axis]))
        low, high = max(low, near), min(high, far)
    return low, high


def _way(one: _Body, other: _Body, home: Array, low: float, high: float) -> tuple[float, float]:
    """Return how far from home a body moving in shares most with another, and how thick that is, mm; remembered."""
    back = other.frame[:3, :3].T
    seen = np.concatenate([(back @ one.frame[:3, :3]).ravel(), back @ (one.frame[:3, 3] - other.frame[:3, 3]),
                           back @ home, [low, high]])
    key = one.solid.key + other.solid.key + (np.round(seen, 6) + 0.0).tobytes()
    if key not in _PLAYED:
        if len(_PLAYED) >= REMEMBERED:
            _PLAYED.clear()
        _PLAYED[key] = _played(one, other, home, low, high)
    return _PLAYED[key]


def _played(one: _Body, other: _Body, home: Array, low: float, high: float) -> tuple[float, float]:
    for at in _steps(low, high):
        thick = _shared(one.moved(-home * at).manifold, other.manifold)
        if thick > TOUCH:
            return at, thick
    swept = _swept(one.moved(-home * high), home * (high - low), other.box)
    return low, _shared(swept, other.manifold)


def _steps(low: float, high: float) -> list[float]:
    """Return the distances from home looked at, far to near, mm."""
    regular = np.linspace(low, high, int(np.ceil((high - low) / STEP)) + 1)
    early = [s for s in FIRST_STEPS if low <= s <= high]
    return sorted({*regular.tolist(), *early}, reverse=True)


def _swept(start: _Body, way: Array, near: Array) -> manifold3d.Manifold:
    """Return what a body sweeps on a straight way, its start included; prisms that stay clear of a box are left out."""
    vertices, triangles = start.solid.mesh
    at = (vertices @ start.frame[:3, :3].T + start.frame[:3, 3])[triangles]
    crossed = np.cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0])
    ahead = at[crossed @ way > AHEAD * np.linalg.norm(crossed, axis=1) * np.linalg.norm(way)]
    ends = np.concatenate([ahead, ahead + way], axis=1)
    meets = ((ends.min(axis=1) < near[1] + TOUCH) & (ends.max(axis=1) > near[0] - TOUCH)).all(axis=1)
    prisms = [manifold3d.Manifold(manifold3d.Mesh64(np.ascontiguousarray(six), PRISM)) for six in ends[meets]]
    return manifold3d.Manifold.batch_boolean([start.manifold, *prisms], manifold3d.OpType.Add)


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
    """Play moves made at the same time, all groups against each other and what lies there.

    Seen from one group another comes in a straight line, by as much as the two differ.
    """
    still = [n for n in bench.together(n for m in moves for n in m.onto) if all(n not in m.parts for m in moves)]
    away = {n: -np.array(m.direction) * m.travel for m in moves for n in m.parts} | dict.fromkeys(still, np.zeros(3))
    group = {n: i for i, m in enumerate(moves) for n in m.parts} | dict.fromkeys(still, -1)
    names = list(away)
    for i, one in enumerate(names):
        for other in names[i + 1:]:
            apart = away[one] - away[other]
            length = float(np.linalg.norm(apart))
            if group[one] == group[other] or length < 1e-9:
                continue
            out = apart / length
            low, high = _meeting(bench.solids[one].box, bench.solids[other].box, out, length)
            if low < high:
                at, thick = _way(bench.solids[one], bench.solids[other], -out, low, high)
                if thick > TOUCH:
                    return Refusal(bench.stage.name, (one, other), at, thick,
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
