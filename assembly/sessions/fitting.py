"""Fitting: whether some closings can share one session, with the hands, the clamps and the time there are.

Times are those of `timing`; clamps those that each joint takes (`pressure`), one that presses
several joints in line counted once. Only what the shop says it has is held against a session.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from assembly.glue_up import corners, mass
from assembly.placing import Assembly
from assembly.plan import Move
from assembly.pressure import Demand, demand
from assembly.sessions.tasks import Task
from assembly.stance import people_for
from assembly.timing import Windows, windows
from model.design import Shop
from model.part import bounding_size


@dataclass(frozen=True, eq=False)
class Fitting:
    """Closings, and the shop they have to be made in."""

    assembly: Assembly
    shop: Shop
    tasks: tuple[Task, ...]
    _known: dict[frozenset[int], bool] = field(default_factory=dict)

    def __call__(self, some: frozenset[int]) -> bool:
        """Return whether these closings can share a session."""
        if some not in self._known:
            self._known[some] = self.time(some).fits and not self.missing(some)
        return self._known[some]

    def moves(self, some: Iterable[int]) -> list[Move]:
        """Return the moves of some closings, in order."""
        return [m for t in sorted(some) for m in self.tasks[t].moves]

    def time(self, some: Iterable[int], shop: Shop | None = None) -> Windows:
        """Return the time that closings take in one session, in this shop or another."""
        moves = self.moves(some)
        there = shop or self.shop
        hands = [self._people[m] for m in moves]
        return windows(self.assembly, there, moves, hands, sum(self.clamps(some).values()))

    def clamps(self, some: Iterable[int]) -> dict[str, int]:
        """Return how many clamps of each kind some closings take."""
        wanted = {d for t in some for name in self.tasks[t].joints if (d := self._demand(name)) is not None}
        kinds = dict.fromkeys(d.kind for d in wanted)
        return {kind: sum(d.count for d in wanted if d.kind == kind) for kind in kinds}

    def missing(self, some: Iterable[int]) -> dict[str, int]:
        """Return how many clamps of each kind are too few for some closings; nothing where no clamps are said."""
        if not self.shop.clamps:
            return {}
        owned = {kind: sum(c.count for c in self.shop.clamps if c.kind == kind) for kind in ("bar", "band")}
        return {kind: count - owned.get(kind, 0) for kind, count in self.clamps(some).items()
                if count > owned.get(kind, 0)}

    def _demand(self, name: str) -> Demand | None:
        joint = self.assembly.design.joint[name]
        return demand(self.assembly, self.shop, joint.of or name) if joint.glued else None

    def _longest(self, move: Move) -> float:
        return max(bounding_size(corners(self.assembly, move.parts)))

    @cached_property
    def _people(self) -> dict[Move, int]:
        return {m: people_for(mass(self.assembly, m.parts), self._longest(m), self.shop)
                for task in self.tasks for m in task.moves if m.onto}

    def alone_too_long(self) -> list[int]:
        """Return the closings that do not fit a session even alone."""
        return [t for t in range(len(self.tasks)) if not self(frozenset([t]))]


def additive(fitting: Fitting, tasks: Sequence[int]) -> tuple[tuple[tuple[float, ...], ...], tuple[float, ...]]:
    """Return loads and limits that every session which fits keeps to.

    All closings but the first that is glued have to be made while that one waits closed.
    """
    times = [fitting.time([t]) for t in tasks]
    closing = tuple(time.close if time.open_used > 0 else 0.0 for time in times)
    return (closing,), (times[0].closed + max(closing),)
