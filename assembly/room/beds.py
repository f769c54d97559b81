"""Beds: whether what is cut after a glue-up goes on the machine that cuts it, as large as it is by then.

A curve is sawn with its plane lying on the bed; other cuts on whichever side of the box around the work fits best.
The work lies level. Not checked: the reach of the machine's throat to the cut, and room around the machine.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from assembly.blocking import Unit
from assembly.findings import Amount, Finding
from assembly.glue_up import named
from assembly.placing import Assembly, standing_in
from assembly.plan import Stage
from assembly.room.attitude import TOUCH, Attitude, level
from assembly.room.flow import sizes, told
from assembly.room.hull import SAME_AXIS, Floats, Hull, box_around, hull
from model.design import Shop
from model.frames import directions
from model.part import Feature
from model.shop import Machine

FLAT_CUTS = ("curve",)
"""Cuts made with their own plane lying on the bed."""


@dataclass(frozen=True, eq=False)
class Later:
    """Cuts of one role in one sub-assembly after a stage; `up`: the way (3,) that looks up on the bed; None: any."""

    stage: Stage
    unit: Unit
    role: str
    parts: tuple[str, ...]
    up: Floats | None
    body: Hull
    pieces: int = 1
    """How many sub-assemblies alike it stands for."""

    @property
    def said(self) -> str:
        """What it is that is cut by then."""
        return f"{len(self.unit)} parts are one piece" if self.pieces == 1 else (
            f"{self.pieces} pieces alike are each glued of {len(self.unit)} parts")


def beds(assembly: Assembly, shop: Shop, stages: Sequence[Stage]) -> list[Finding]:
    """Return the later cuts that no machine takes, and, where none is named for them, how much it has to take."""
    found: dict[tuple[str, str, tuple[float, ...], int], Later] = {}
    for later in _later(assembly, stages):
        sizes_of = tuple(round(v, 1) for v in _least(later))
        key = (later.stage.name, later.role, sizes_of, len(later.unit))
        found[key] = later if key not in found else _both(found[key], later)
    return [f for later in found.values() for f in _held_against(assembly, shop, later)]


def _both(one: Later, other: Later) -> Later:
    """Return what is alike as one: the cuts in both, in a piece of the first's size."""
    return replace(one, parts=(*one.parts, *other.parts), pieces=one.pieces + other.pieces)


def _held_against(assembly: Assembly, shop: Shop, later: Later) -> list[Finding]:
    makers = [m for m in shop.machines if not m.cuts or later.role in m.cuts]
    if not makers:
        return [_needed(assembly, later)]
    machine, lies = max(((m, _lain(later, m)) for m in makers), key=lambda pair: pair[1].room)
    return [_too_big(assembly, later, machine, lies)] if not lies.fits else []


def _later(assembly: Assembly, stages: Sequence[Stage]) -> Iterator[Later]:
    for stage in stages:
        here = standing_in(assembly, stage.name)
        for unit in stage.results:
            cuts = [(name, f) for name in unit for f in assembly.part(name).features if f.after == stage.name]
            if cuts:
                body = hull(here, unit, stage.done)
                for role in dict.fromkeys(f.role for _, f in cuts):
                    yield from _of_role(here, stage, unit, role, [(n, f) for n, f in cuts if f.role == role], body)


def _of_role(here: Assembly, stage: Stage, unit: Unit, role: str, cuts: Sequence[tuple[str, Feature]],
             body: Hull) -> Iterator[Later]:
    if role not in FLAT_CUTS:
        yield Later(stage, unit, role, tuple(dict.fromkeys(n for n, _ in cuts)), None, body)
        return
    left = [(n, directions(here.frames[n], f.frame[:3, 2])) for n, f in cuts]
    while left:
        up = left[0][1]
        alike = [abs(float(up @ way)) > SAME_AXIS for _, way in left]
        names = dict.fromkeys(n for (n, _), same in zip(left, alike, strict=True) if same)
        yield Later(stage, unit, role, tuple(names), up, body)
        left = [one for one, same in zip(left, alike, strict=True) if not same]


def _lain(later: Later, machine: Machine) -> Attitude:
    limits = tuple(math.inf if v is None else v for v in (machine.length, machine.width, machine.height))
    ways = later.body.axes if later.up is None else later.up[None]
    return max((level(later.body, up, (limits[0], limits[1], limits[2]), 0.0) for up in ways), key=lambda a: a.room)


def _least(later: Later) -> tuple[float, float, float]:
    """Return the least bed, long, wide and high, mm."""
    def lain(up: Floats) -> tuple[float, float, float]:
        high, long, wide = later.body.widths(box_around(later.body, up)).tolist()
        return max(long, wide), min(long, wide), high

    if later.up is not None:
        return lain(later.up)
    return min((lain(up) for up in later.body.axes), key=lambda s: (round(s[2], 3), round(s[1], 3)))


def _needed(assembly: Assembly, later: Later) -> Finding:
    long, wide, high = _least(later)
    unit = assembly.design.unit
    return Finding(
        "size", "note", later.parts, f"the {later.role} of {named(later.parts)} is cut after stage {later.stage.name}, "
        f"when {later.said}: {sizes((long, wide), unit)} on the bed, {told(high, unit)} high",
        "See that a machine takes that, with the work held up over its whole length; or cut it by hand, or before "
        f"stage {later.stage.name}.", None, Amount(round(long, 3), "mm"), stage=later.stage.name)


def _too_big(assembly: Assembly, later: Later, machine: Machine, lies: Attitude) -> Finding:
    unit = assembly.design.unit
    limits = [m for m in (machine.length, machine.width, machine.height) if m is not None]
    over = [f"{told(size - most, unit)} too {word}" for size, most, word in
            zip(lies.size, (machine.length, machine.width, machine.height), ("long", "wide", "high"), strict=True)
            if most is not None and size > most + TOUCH]
    return Finding(
        "size", "stop", later.parts, f"the {later.role} of {named(later.parts)} is to be cut after stage "
        f"{later.stage.name}, when {later.said}: {sizes(lies.size, unit)}; {machine.name} takes "
        f"{sizes(limits, unit)}, so it is {' and '.join(over)}",
        f"Cut it before stage {later.stage.name}, while the pieces are single, or in smaller sub-assemblies; or by "
        f"hand, or on a machine that takes {sizes(lies.size, unit)}, with the work held up over its whole length.",
        None, Amount(round(-lies.room, 3), "mm"), stage=later.stage.name)
