"""The vehicle: the finished work in it, level or tilted, or the largest pieces of it that go in, to be joined on site.

The load goes straight in, the way the vehicle is long. Each piece is looked at by itself: how many go in together,
and what they weigh, is not. A load is tied down and marked as the local law on traffic says.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from assembly.blocking import Unit
from assembly.findings import Amount, Finding
from assembly.glue_up import named
from assembly.room.attitude import TOUCH, Attitude, best
from assembly.room.doorway import TIGHT, too_big
from assembly.room.flow import Flow, sizes, told
from assembly.room.hull import Hull, of_solid
from assembly.standing import REMEMBERED
from model.shop import Shop, Vehicle

TIE = "Tie it down and pad what it leans on"


@dataclass(frozen=True, eq=False)
class Load:
    """A piece as it lies in the vehicle. `stage`: the position of the stage it comes from; None for a single part."""

    stage: int | None
    unit: Unit
    lies: Attitude
    over: float
    """How far it sticks out behind, mm."""

    @property
    def fits(self) -> bool:
        """Whether it goes in."""
        return self.lies.fits


def limits(vehicle: Vehicle, *, overhang: bool) -> tuple[float, float, float]:
    """Return how long, wide and high a load may be, mm, with what may stick out behind or without."""
    wide, high = (most if door is None else min(most, door) for most, door in
                  ((vehicle.width, vehicle.door_width), (vehicle.height, vehicle.door_height)))
    return vehicle.length + (vehicle.overhang if overhang else 0.0), wide, high


@lru_cache(maxsize=REMEMBERED)
def lain(body: Hull, vehicle: Vehicle) -> Attitude:
    """Return how a body lies best in a vehicle, sticking out behind only where it has to."""
    most = best(body, limits(vehicle, overhang=True), TIGHT, standing=TIGHT)
    if not most.fits or most.size[0] <= vehicle.length:
        return most
    inside = best(body, limits(vehicle, overhang=False), TIGHT, standing=TIGHT)
    return inside if inside.fits else most


def vehicle(flow: Flow, shop: Shop) -> tuple[frozenset[int], list[Finding]]:
    """Return the positions of the stages that have to be done on site, and what is to be said of the load."""
    if shop.vehicle is None:
        return frozenset(), []
    on_site: set[int] = set()
    found: list[Finding] = []
    for stage, unit in flow.finals():
        whole = _load(flow, stage, unit, shop.vehicle)
        if whole.fits:
            found.append(_goes_in(flow, whole, shop.vehicle))
            continue
        apart: set[int] = set()
        loads = list(_pieces(flow, stage, shop.vehicle, apart))
        found.append(_joined_on_site(flow, whole, loads, sorted(apart), shop.vehicle))
        found += [_stays(flow, load, shop.vehicle) for load in loads if not load.fits]
        on_site |= apart
    return frozenset(on_site), found


def _load(flow: Flow, stage: int | None, unit: Unit, into: Vehicle, done: frozenset[str] = frozenset()) -> Load:
    body = of_solid(flow.assembly.part(unit[0]).solid(done)) if stage is None else flow.body(stage, unit)
    lies = lain(body, into)
    return Load(stage, unit, lies, _beyond(lies.size[0] - into.length))


def _beyond(over: float) -> float:
    return over if over > TOUCH else 0.0


def _pieces(flow: Flow, stage: int, into: Vehicle, apart: set[int]) -> Iterator[Load]:
    """Yield the largest pieces that come to a stage and go in; `apart` takes the stages that wait for the site."""
    if stage in apart:
        return
    apart.add(stage)
    for unit in flow.stages[stage].units:
        maker = flow.maker(unit, stage)
        if maker is None:
            yield from (_load(flow, None, (name,), into, flow.stages[stage].done) for name in unit)
            continue
        load = _load(flow, maker, unit, into)
        if load.fits:
            yield load
        else:
            yield from _pieces(flow, maker, into, apart)


def _goes_in(flow: Flow, load: Load, into: Vehicle) -> Finding:
    assert load.stage is not None
    scale = flow.assembly.design.unit
    across, high = (most - size for most, size in zip(limits(into, overhang=True)[1:], load.lies.size[1:], strict=True))
    tight = load.lies.room < TIGHT - TOUCH
    spare = f"{told(across, scale)} to spare across, {told(high, scale)} in height"
    spare += (f", and sticks out {told(load.over, scale)} behind" if load.over else
              f", {told(into.length - load.lies.size[0], scale)} in length")
    remedy = f"{TIE}{'; measure the vehicle before' if tight else '; lift it in with enough people'}."
    if load.over:
        remedy = (f"{TIE}; mark and light what sticks out, leave the vehicle's own lights free, and keep to the local "
                  "law on traffic, which may allow less.")
    return Finding("size", "warn" if load.over or tight else "note", load.unit,
                   f"{flow.called(load.stage, load.unit)} goes into the vehicle {load.lies.said}: {spare}", remedy,
                   None, Amount(round(load.over or load.lies.room, 3), "mm"),
                   stage=flow.stages[load.stage].name)


def _joined_on_site(flow: Flow, whole: Load, loads: list[Load], apart: list[int], into: Vehicle) -> Finding:
    assert whole.stage is not None
    scale, most = flow.assembly.design.unit, limits(into, overhang=True)
    names = named([flow.stages[k].name for k in apart])
    groups = [flow.called(load.stage, load.unit) for load in loads if load.stage is not None]
    singles = sum(load.stage is None for load in loads)
    pieces = [*groups, *([f"{singles} single parts"] if singles else [])]
    may = "does" if whole.lies.sure else "may"
    return Finding(
        "size", "warn", whole.unit, f"{flow.called(whole.stage, whole.unit)} {may} not go into the vehicle: even "
        f"{whole.lies.said}, {sizes(whole.lies.size, scale)}, it is {too_big(whole.lies, most, scale)}; it goes as "
        f"{named(pieces)}, to be joined on site: stage{'s' if len(apart) > 1 else ''} {names}",
        f"Plan stage{'s' if len(apart) > 1 else ''} {names} for the site, on level ground, when it is warm, dry and "
        f"still enough for the glue; or find a vehicle that takes {sizes(whole.lies.size, scale)}.", None,
        Amount(round(-whole.lies.room, 3), "mm"), stage=flow.stages[apart[-1]].name)


def _stays(flow: Flow, load: Load, into: Vehicle) -> Finding:
    scale, most = flow.assembly.design.unit, limits(into, overhang=True)
    return Finding(
        "size", "stop", load.unit, f"{load.unit[0]} does not go into the vehicle: even {load.lies.said}, "
        f"{sizes(load.lies.size, scale)}, it is {too_big(load.lies, most, scale)}",
        f"Find a vehicle that takes {sizes(load.lies.size, scale)}, or let it stick out {told(load.over, scale)} where "
        "the local law on traffic allows that." if not math.isclose(load.over, 0.0) else
        f"Find a vehicle that takes {sizes(load.lies.size, scale)}.", None,
        Amount(round(-load.lies.room, 3), "mm"))
