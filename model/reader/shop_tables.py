"""What may stand in a design file about the shop: its glue, people, clamps, machines, bench and ways out."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, StrictStr

from model.reader.schema import Fit, Line, Moisture, NotAWord, Refused, Several, Table
from model.shop import Bench, ClampStock, Shop
from model.units import LENGTH_ACCEPTED, Length, Size

KINDS_MOST = 100
"""More kinds of clamp, or more machines, than this are refused."""
CLAMPS_MOST = 10_000
LATER_CUTS = ("curve", "mortise", "tenon", "lap", "housing", "slot", "mitre", "shoulder")
"""What a cut may be called that is made after a glue-up: the roles of features."""


@cache
def _efforts() -> Mapping[str, tuple[float, str]]:
    text = (files("model") / "data" / "effort.csv").read_text(encoding="utf-8")
    return {row["figure"]: (float(row["value"]), row["unit"]) for row in csv.DictReader(text.splitlines())}


def actions() -> tuple[str, ...]:
    """Return the names of the actions whose seconds a shop may say: those of `effort.csv`."""
    return tuple(name for name, (_, unit) in _efforts().items() if unit.split()[0] == "s")


def figure(name: str) -> float:
    """Return what `effort.csv` gives for a figure."""
    return _efforts()[name][0]


def _action(name: str) -> str:
    if name not in actions():
        raise NotAWord("no such action", actions())
    return name


def _cut(role: str) -> str:
    if role not in LATER_CUTS:
        raise NotAWord("no such cut", LATER_CUTS)
    return role


def _not_below_nothing(mm: float) -> float:
    if mm < 0:
        raise Refused("less than nothing", f"0, or {LENGTH_ACCEPTED}")
    return mm


def _some_kinds(value: Any) -> Any:
    if isinstance(value, list) and len(value) > KINDS_MOST:
        raise Refused("too many kinds", f"at most {KINDS_MOST} of them")
    return value


def _number(least: float, most: float) -> Any:
    return Field(strict=True, gt=least, le=most, allow_inf_nan=False)


Minutes = Annotated[float, _number(0, 14 * 24 * 60)]
Seconds = Annotated[float, _number(0, 24 * 3600)]
Kilograms = Annotated[float, _number(0, 10_000)]
Distance = Annotated[Length, AfterValidator(_not_below_nothing)]
Action = Annotated[StrictStr, AfterValidator(_action)]
Cut = Annotated[StrictStr, AfterValidator(_cut)]
Cuts = Annotated[tuple[Cut, ...], *Several.__metadata__]


class ClampTable(Table):
    """Clamps of one kind."""

    kind: Literal["bar", "band"] = Field(description='"bar" or "band"')
    count: int = Field(strict=True, ge=0, le=CLAMPS_MOST, description="how many there are of them")
    opening: Size = Field(description="how far a bar opens, or how long a band is")
    reach: Size = Field(default=ClampStock.reach, description="how deep its throat is, to the middle of the pad")
    pad: Size = Field(default=ClampStock.pad, description="how wide its pad, or the block under it, is")


class MachineTable(Table):
    """A machine that makes cuts after a glue-up, and the largest piece it takes."""

    name: Line = Field(min_length=1, description="what the machine is called")
    length: Size | None = Field(default=None, description="the longest piece it takes")
    width: Size | None = Field(default=None, description="the widest piece it takes")
    height: Size | None = Field(default=None, description="the highest piece it takes")
    cuts: Cuts = Field(default=(), description="the cuts it makes, such as curve; all cuts unless given")


class BenchTable(Table):
    """The bench."""

    length: Size = Field(default=Bench.length, description="how long its top is")
    width: Size = Field(default=Bench.width, description="how wide its top is")
    height: Size = Field(default=Bench.height, description="how high it is")


class DoorwayTable(Table):
    """The doorway that the work leaves the shop by."""

    width: Size = Field(description="how wide it is in the clear")
    height: Size = Field(description="how high it is in the clear")


class VehicleTable(Table):
    """The room that a load has in the vehicle."""

    length: Size = Field(description="how long its load floor is")
    width: Size = Field(description="how wide it is between what stands in the way")
    height: Size = Field(description="how high a load may be")
    door_width: Size | None = Field(default=None, description="how wide its door is, where that is less")
    door_height: Size | None = Field(default=None, description="how high its door is, where that is less")
    overhang: Distance = Field(default=0.0, description="how far a load may stick out behind")


class ShopTable(Table):
    """What the shop has."""

    glue: Line = Field(default=Shop.glue, description="the name of the glue")
    open: float = Field(default=Shop.open_minutes, strict=True, gt=0, le=1440, allow_inf_nan=False,
                        description="minutes that spread glue stays open, as its maker says")
    people: int = Field(default=Shop.people, strict=True, ge=1, le=100,
                        description="how many hands there are to help, in people")
    fit_least: Fit | None = Field(default=None, description="the least clearance per side that the glue wants")
    fit_most: Fit | None = Field(default=None, description="the most clearance per side that the glue bridges")
    moisture_low: Moisture | None = Field(default=None, description="the driest the wood will be, percent")
    moisture_high: Moisture | None = Field(default=None, description="the wettest the wood will be, percent")
    temperature: float = Field(default=Shop.temperature, strict=True, ge=-30, le=60, allow_inf_nan=False,
                               description="how warm shop, wood and glue are, degrees Celsius")
    closed: Minutes | None = Field(default=None, description="minutes a closed joint may wait for its clamp")
    clamped: Minutes | None = Field(default=None, description="minutes that clamps stay on")
    cure: float | None = Field(default=None, strict=True, gt=0, le=2000, allow_inf_nan=False,
                               description="hours until a joint carries load")
    spread_rate: float = Field(default=Shop.spread_rate, strict=True, ge=20, le=1000, allow_inf_nan=False,
                               description="how much glue goes on a face, grams per square metre")
    lift_one: Kilograms | None = Field(default=None, description="what one person may lift, kg")
    lift_two: Kilograms | None = Field(default=None, description="what two people may lift together, kg")
    clamp: Annotated[tuple[ClampTable, ...], BeforeValidator(_some_kinds)] = Field(
        default=(), description="tables begun with [[shop.clamp]]")
    machine: Annotated[tuple[MachineTable, ...], BeforeValidator(_some_kinds)] = Field(
        default=(), description="tables begun with [[shop.machine]]")
    bench: BenchTable | None = Field(default=None, description="a table [shop.bench]")
    doorway: DoorwayTable | None = Field(default=None, description="a table [shop.doorway]")
    vehicle: VehicleTable | None = Field(default=None, description="a table [shop.vehicle]")
    seconds: dict[Action, Seconds] = Field(default_factory=dict, description="a table [shop.seconds]")
