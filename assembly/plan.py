"""The plan: moves, stages and the graph of steps, as data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import networkx as nx

from assembly.findings import Finding

Direction = tuple[float, float, float]


@dataclass(frozen=True)
class Move:
    """One motion: these parts slide onto those along a direction (world, unit) by `travel` mm, then they are home.

    `onto` is empty for the first piece laid down. `simultaneous` is True where the parts of
    a move come together at the same time rather than as one rigid group.
    `joints` are the joints the move closes.
    """

    parts: tuple[str, ...]
    onto: tuple[str, ...]
    direction: Direction
    travel: float
    simultaneous: bool = False
    joints: tuple[str, ...] = ()
    before: Direction | None = None
    """The way it comes in before that, where something stands in the straight way home."""


@dataclass(frozen=True)
class Stage:
    """One glue-up.

    `units` are the pieces that come to it, each a part or a group glued earlier; `moves` in
    the order they are made; `takes_away` the temporary parts that leave afterwards;
    `done` the stages behind it, so that parts can be asked for their solids;
    `needs` the numbers of the stages it waits for. Times in minutes, mass kg, sizes mm.
    """

    number: int
    name: str
    joints: tuple[str, ...]
    units: tuple[tuple[str, ...], ...]
    moves: tuple[Move, ...]
    needs: tuple[int, ...]
    done: frozenset[str]
    minutes: Mapping[str, float] = field(default_factory=dict)
    hands: int = 1
    mass_kg: float = 0.0
    size_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    takes_away: tuple[str, ...] = ()
    results: tuple[tuple[str, ...], ...] = ()
    """The sub-assemblies that leave the stage, each the parts now glued into one."""

    @property
    def parts(self) -> tuple[str, ...]:
        """Every part at the bench in this stage."""
        return tuple(name for unit in self.units for name in unit)


@dataclass(frozen=True, eq=False)
class Plan:
    """Stages in an order that can be carried out, the graph of steps, and what stands in the way.

    `steps` is a directed graph: nodes are step names with `kind` ("cut", "glue", "carry",
    "set up", "take away"), `stage` (number) and `parts`; an edge runs from a step to one that
    must wait for it.
    """

    stages: tuple[Stage, ...]
    steps: nx.DiGraph
    findings: tuple[Finding, ...] = ()
