"""The shop: its glue, its people, its clamps, its machines and the ways in and out, as the design file says.

What is not said is None or empty, and nothing is then held against a plan for it: a plan
says what it needs, and only what the shop is known not to have stands in its way.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal


@dataclass(frozen=True)
class ClampStock:
    """Clamps of one kind that the shop owns.

    `kind`: "bar" presses between two faces in a line; "band" is drawn round. `opening`: how far a
    bar opens, or how long a band is, mm. `reach`: how deep a bar's throat is, from bar to the
    middle of its pad, mm. `pad`: how wide its pad or the block under it is, mm.
    """

    kind: Literal["bar", "band"]
    count: int
    opening: float
    reach: float = 80.0
    pad: float = 50.0


@dataclass(frozen=True)
class Machine:
    """A machine that makes later cuts, and the largest piece it takes, mm: along, across and high; None: any."""

    name: str
    length: float | None = None
    width: float | None = None
    height: float | None = None
    cuts: tuple[str, ...] = ()
    """The roles of the cuts it makes ("curve", "mortise" …); every later cut where none is named."""


@dataclass(frozen=True)
class Bench:
    """The bench: its top, and how high that is above the floor, mm."""

    length: float = 2000.0
    width: float = 900.0
    height: float = 850.0


@dataclass(frozen=True)
class Opening:
    """A doorway: its clear width and height, mm."""

    width: float
    height: float


@dataclass(frozen=True)
class Vehicle:
    """The room for a load, mm. `door_*`: its opening where that is smaller; `overhang`: how far a load sticks out."""

    length: float
    width: float
    height: float
    door_width: float | None = None
    door_height: float | None = None
    overhang: float = 0.0


@dataclass(frozen=True)
class Shop:
    """What the shop has: its glue's open time, its people, what they may lift, clamps, machines, ways out."""

    glue: str = "general-purpose aliphatic"
    open_minutes: float = 10.0
    people: int = 2
    fit_least: float | None = None
    """Least clearance per side that the glue wants, mm; by the kind of glue where None."""
    fit_most: float | None = None
    """Most clearance per side that the glue bridges, mm; by the kind of glue where None."""
    moisture: tuple[float, float] = (8.0, 16.0)
    """Driest and wettest the wood will be where it stands, % (outdoors under cover; common practice, no source)."""
    temperature: float = 20.0
    """How warm shop, wood and glue are, °C."""
    closed_minutes: float | None = None
    """How long a closed joint may wait for its clamp, min; by the kind of glue where None."""
    clamp_minutes: float | None = None
    """How long clamps stay on, min; by the kind of glue where None."""
    cure_hours: float | None = None
    """How long until a joint carries load, h; by the kind of glue where None."""
    spread_rate: float = 200.0
    """How much glue goes on a face, g/m² (middle of the range of common practice; the data sheet governs)."""
    clamps: tuple[ClampStock, ...] = ()
    """The clamps there are; empty: not said, and none is missed."""
    machines: tuple[Machine, ...] = ()
    bench: Bench = field(default_factory=Bench)
    doorway: Opening | None = None
    vehicle: Vehicle | None = None
    seconds: Mapping[str, float] = field(default_factory=dict)
    """Times of actions as measured in this shop, by their names in `effort.csv`."""
    lift_one: float | None = None
    """What one person may lift, kg; the table's figure where None."""
    lift_two: float | None = None
    """What two people may lift together, kg; the table's figure where None."""
