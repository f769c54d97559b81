"""The motions of a glue-up as ways in space: from where each piece comes, where it turns, when it is home.

Film and animation clips play the same ways. A way is straight, or straight with one corner; its last stretch is the
proven travel, engaged, and before that the piece comes clear through the air along the same line.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from assembly.plan import Move, Plan, Stage
from assembly.rehearsal import Rehearsal
from model.frames import Vector
from model.solids import Solid


@dataclass(frozen=True, eq=False)
class Way:
    """One group on its way home. `back`: where it begins, off its home, mm (3,); `corner`: where it turns, off its
    home, if it does. Directions are those of the world in which the stage stands.
    """

    parts: tuple[str, ...]
    move: Move
    back: Vector
    corner: Vector | None = None

    @cached_property
    def stops(self) -> tuple[tuple[float, Vector], ...]:
        """The corners of the way, each with the share of its length behind (0 to 1): begin, turn if any, home."""
        home = np.zeros(3)
        if self.corner is None:
            return (0.0, self.back), (1.0, home)
        first, last = (float(np.linalg.norm(v)) for v in (self.corner - self.back, self.corner))
        return (0.0, self.back), (first / (first + last) if first + last > 0 else 0.5, self.corner), (1.0, home)

    def at(self, share: float) -> Vector:
        """Return how far off its home the group is when it has covered a share of its way (0 to 1), mm (3,)."""
        shares, offs = zip(*self.stops, strict=True)
        return np.array([np.interp(share, shares, [off[k] for off in offs]) for k in range(3)])


@dataclass(frozen=True, eq=False)
class Closing:
    """What comes home at one time: one group, or several that close together, all with the same share behind them."""

    ways: tuple[Way, ...]

    @property
    def parts(self) -> tuple[str, ...]:
        """Every part that moves."""
        return tuple(n for way in self.ways for n in way.parts)

    @property
    def still(self) -> bool:
        """Whether nothing moves: pieces that are only laid down."""
        return not any(np.any(way.back) for way in self.ways)


def closings(stage: Stage, clear: float | Callable[[Move], float]) -> list[Closing]:
    """Return the closings of a stage in order; each group comes from `clear` mm before its proven travel.

    Groups that close all at the same time are moved no farther than what is proven of them; only where that is
    nothing they come from `clear` too, straight along their proven ways.
    """
    found: list[list[Move]] = []
    for move in stage.moves:
        if found and move.simultaneous and found[-1][-1].simultaneous:
            found[-1].append(move)
        else:
            found.append([move])
    far = clear if callable(clear) else lambda _: clear
    return [Closing(tuple(_way(move, far(move)) for move in some)) for some in found]


def _way(move: Move, clear: float) -> Way:
    told = np.asarray(move.direction, dtype=np.float64)
    if move.simultaneous:
        return Way(move.parts, move, -told * (move.travel or clear))
    if not move.onto:
        return Way(move.parts, move, np.zeros(3))
    if move.before is None:
        return Way(move.parts, move, -told * (move.travel + clear))
    corner = -told * move.travel
    return Way(move.parts, move, corner - np.asarray(move.before) * clear, corner)


def ways_out(stage: Stage, plan: Plan, clear: float) -> list[tuple[tuple[str, ...], Vector]]:
    """Return what moves off after a stage so that its temporary parts can leave: parts, and by how much, mm, in order.

    A temporary part whose way out is not told leaves upwards.
    """
    out: Sequence[Move] = next((data["moves"] for _, data in plan.steps.nodes(data=True)
                                if data.get("kind") == "take away" and data.get("stage") == stage.number
                                and data.get("moves")), ())
    found = [(tuple(n for n in m.parts if n in stage.parts),
              np.asarray(m.direction, dtype=np.float64) * (m.travel + clear)) for m in out]
    told = {n for parts, _ in found for n in parts}
    left = tuple(n for n in stage.takes_away if n in stage.parts and n not in told)
    return [(parts, by) for parts, by in found if parts] + ([(left, np.array([0.0, 0.0, clear]))] if left else [])


def cuts(stage: Stage, rehearsal: Rehearsal) -> Mapping[str, tuple[Solid, Solid]]:
    """Return the parts that are cut once the glue of a stage has set: their solids before and after."""
    found: dict[str, tuple[Solid, Solid]] = {}
    for name in stage.parts:
        part = rehearsal.design.part[name]
        if name not in stage.takes_away and any(f.after == stage.name for f in part.features):
            before, after = part.solid(stage.done), part.solid(stage.done | {stage.name})
            if before.key != after.key:
                found[name] = before, after
    return found


def cut_roles(stage: Stage, names: Iterable[str], rehearsal: Rehearsal) -> tuple[str, ...]:
    """Return what is cut of some parts after a stage: "curve", "mortise" …"""
    part = rehearsal.design.part
    return tuple(dict.fromkeys(f.role for n in names for f in part[n].features if f.after == stage.name))
