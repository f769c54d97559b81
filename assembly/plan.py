"""The plan: moves, stages and the graph of steps, as data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

import networkx as nx

from assembly.findings import Finding
from model.frames import Frame, identity

Direction = tuple[float, float, float]
Point = tuple[float, float, float]


@dataclass(frozen=True)
class Move:
    """One motion: these parts slide onto those along a direction (world, unit) by `travel` mm, then they are home.

    `onto` is empty for the first piece laid down. `simultaneous` is True where the parts of
    a move come together at the same time rather than as one rigid group: moves so marked that
    follow one another are one closing, in which every group has covered the same share of its
    own travel at any time.
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
class Spread:
    """Glue for one joint as a person counts it: the faces it goes on, their area on one side (mm²), and how much, mL.

    `faces`: for each part the words for its face ("tenon", "mortise", "shoulder" …), the loose tenon's own among them.
    """

    joint: str
    area: float
    ml: float
    faces: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Clamp:
    """One clamp as it is set. World coordinates of the finished work, mm.

    `kind` "bar": pads press at `foot` and `head`, facing each other, `opening` apart; the bar lies beside the
    work at `side` (unit, square to the line), `reach` from the line. `kind` "band": drawn round the parts in
    `around`, `opening` is its length; `foot` and `head` are the ends of one stretch of it. `joints`: those it
    presses. `pads`: the parts under the two pads. `block`: how thick a stiff block lies between each pad and the wood,
    mm; foot and head are on its far side.
    """

    kind: Literal["bar", "band"]
    joints: tuple[str, ...]
    foot: Point
    head: Point
    opening: float
    reach: float = 0.0
    side: Direction = (0.0, 0.0, 0.0)
    pads: tuple[str, ...] = ()
    around: tuple[str, ...] = ()
    block: float = 0.0


@dataclass(frozen=True)
class Action:
    """One thing done in a stage, from `start` to `end` (min from the first glue), by so many `people`."""

    what: Literal["spread", "bring", "close", "hold", "clamp"]
    start: float
    end: float
    people: int
    joints: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    move: int | None = None
    """The move it belongs to, counted from 0."""


@dataclass(frozen=True)
class Rest:
    """How the work lies while it is glued.

    `frame` carries the finished work's world into the shop's: z up, 0 the face it lies on (bench, or floor).
    `on`: what it lies on. `lies`: in words ("as it will stand", "on its left side"). `blocks`: how high it is
    blocked up, mm. `held`: people who have to hold it, and are not free. `tips_at`: how far it may be tilted
    before it falls, rad, at its least stable moment.
    """

    frame: Frame = field(default_factory=identity, compare=False)
    on: Literal["bench", "floor"] = "floor"
    lies: str = "as it will stand"
    blocks: float = 0.0
    held: int = 0
    tips_at: float = 0.0


@dataclass(frozen=True)
class Stage:
    """One glue-up.

    `units` are the pieces that come to it, each a part or a group glued earlier; `moves` in
    the order they are made; `takes_away` the temporary parts that leave afterwards;
    `done` the stages behind it, so that parts can be asked for their solids;
    `needs` the numbers of the stages it waits for. Times in minutes, mass kg, sizes mm.

    `minutes`: "spread", "close", "clamp" (work of one person each), "needed" (from the first glue to the last
    clamp), "open" and "closed" (what the glue allows), "open used" (the longest that any joint lies spread before
    it closes), "closed used" (the longest that any closed joint waits for its clamp), "clamped" (until clamps come
    off and it may be moved), "load" (until it may be loaded).
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
    spreads: tuple[Spread, ...] = ()
    clamps: tuple[Clamp, ...] = ()
    actions: tuple[Action, ...] = ()
    rest: Rest = field(default_factory=Rest)
    place: Literal["shop", "outside"] = "shop"
    """Where it is glued up."""

    @cached_property
    def parts(self) -> tuple[str, ...]:
        """Every part at the bench in this stage."""
        return tuple(name for unit in self.units for name in unit)


@dataclass(frozen=True)
class Solved:
    """How good the plan is: glue sessions it takes, the least there can be, whether that was proven, and why.

    `bound`: no plan with the same moves takes fewer sessions. `gap`: (sessions - bound) / sessions.
    """

    sessions: int
    bound: int
    optimal: bool
    said: str = ""

    @property
    def gap(self) -> float:
        """How far the plan may be from the best, as a share of its own sessions."""
        return (self.sessions - self.bound) / self.sessions if self.sessions else 0.0


@dataclass(frozen=True, eq=False)
class Plan:
    """Stages in an order that can be carried out, the graph of steps, and what stands in the way.

    `steps` is a directed graph: nodes are step names with `kind` ("cut", "glue", "carry",
    "set up", "take away", "wait"), `stage` (number), `parts` and `minutes`; an edge runs from a step to one that
    must wait for it. `critical`: the steps of its longest path, from the first cut to standing; `hours` its length.
    `starts`: when each step may begin with the people and clamps there are, min from the first cut; `elapsed` the
    hours until the work stands.
    `replayed`: whether every move was played through by independent code and passed.
    """

    stages: tuple[Stage, ...]
    steps: nx.DiGraph
    findings: tuple[Finding, ...] = ()
    solved: Solved | None = None
    critical: tuple[str, ...] = ()
    hours: float = 0.0
    starts: Mapping[str, float] = field(default_factory=dict)
    elapsed: float = 0.0
    replayed: bool = False
