"""The doorway: what leaves the shop goes through it, upright, level or tilted, or it is glued up outside.

A body goes straight through the opening and is not swung round in it; the wall is thin, and there is room on both
sides. What does not pass makes its stage, and all that need it, work for outside; what comes to those from the shop
has to pass in its turn.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache

from assembly.blocking import Unit
from assembly.findings import Amount, Finding
from assembly.glue_up import named
from assembly.room.attitude import TOUCH, Attitude, best
from assembly.room.flow import Flow, sizes, told
from assembly.room.hull import Hull, of_solid
from assembly.standing import REMEMBERED
from model.shop import Opening, Shop

TIGHT = 20.0
"""Less room than this in all, mm, is a squeeze: no hand goes between (common practice, no source)."""
EASY = 100.0
"""With so much room, mm, work is carried upright, whatever else would leave more (common practice, no source)."""


def doorway(flow: Flow, shop: Shop, on_site: Iterable[int] = ()) -> tuple[frozenset[int], list[Finding]]:
    """Return the positions of the stages that are glued up outside, and what is to be said of the way out.

    `on_site`: the stages that are carried out elsewhere for another reason.
    """
    out = set(on_site)
    if shop.doorway is None:
        return frozenset(out | _needing(flow, out)), []
    way = _Way(flow, shop.doorway)
    out |= _needing(flow, out)
    while more := _shut_in(flow, way, out):
        out |= more | _needing(flow, more)
    return frozenset(out), way.said(frozenset(out), shop)


def _shut_in(flow: Flow, way: _Way, out: set[int]) -> set[int]:
    """Return the stages that make in the shop what has to leave it and does not pass."""
    return {k for k, stage in enumerate(flow.stages) if k not in out
            for unit in stage.results if _leaves(flow, k, unit, out) and not way.passes(k, unit)}


def _leaves(flow: Flow, stage: int, unit: Unit, out: set[int]) -> bool:
    user = flow.user(unit, stage)
    return user is None or user in out


def _needing(flow: Flow, stages: Iterable[int]) -> set[int]:
    """Return the stages that work on what some stages make, near and far."""
    found: set[int] = set()
    waiting = list(stages)
    while waiting:
        k = waiting.pop()
        for unit in flow.stages[k].results:
            user = flow.user(unit, k)
            if user is not None and user not in found:
                found.add(user)
                waiting.append(user)
    return found


@lru_cache(maxsize=REMEMBERED)
def through(body: Hull, opening: Opening) -> Attitude:
    """Return how a body goes through an opening."""
    return best(body, (math.inf, opening.width, opening.height), TIGHT, standing=EASY)


@dataclass(frozen=True, eq=False)
class _Way:
    flow: Flow
    opening: Opening
    seen: dict[tuple[int, Unit], Attitude] = field(default_factory=dict)

    def attitude(self, stage: int, unit: Unit) -> Attitude:
        key = (stage, unit)
        if key not in self.seen:
            self.seen[key] = through(self.flow.body(stage, unit), self.opening)
        return self.seen[key]

    def passes(self, stage: int, unit: Unit) -> bool:
        return self.attitude(stage, unit).fits

    def said(self, out: frozenset[int], shop: Shop) -> list[Finding]:
        flow = self.flow
        found = [self._kept_in(k, unit, out) for k in sorted(out) for unit in flow.stages[k].results
                 if (k, unit) in self.seen and not self.passes(k, unit) and self._first(k, out)]
        for k, stage in enumerate(flow.stages):
            if k in out:
                found += [f for unit in stage.units if flow.maker(unit, k) is None for f in self._part(k, unit)]
                found += _cut_outside(flow, k, shop)
            else:
                leaving = [u for u in stage.results if _leaves(flow, k, u, set(out))]
                found += [f for unit in leaving for f in self._carried(k, unit)]
        return found

    def _first(self, stage: int, out: frozenset[int]) -> bool:
        """Whether nothing that comes to a stage was itself glued up outside."""
        return not any(self.flow.maker(unit, stage) in out for unit in self.flow.stages[stage].units)

    def _kept_in(self, stage: int, unit: Unit, out: frozenset[int]) -> Finding:
        flow, opening = self.flow, self.opening
        scale, lies = flow.assembly.design.unit, self.attitude(stage, unit)
        name = flow.stages[stage].name
        later = [flow.stages[k].name for k in sorted(_needing(flow, [stage])) if k in out]
        so = f"so stage {name} is glued up outside" if not later else (
            f"so stage {name}, and after it {named(later)}, are glued up outside")
        may = "does" if lies.sure else "may"
        return Finding(
            "size", "warn", unit, f"{flow.called(stage, unit)} {may} not go through the doorway of "
            f"{sizes((opening.width, opening.height), scale)}: even {lies.said}, {sizes(lies.size[1:], scale)} as it "
            f"goes through, it is {too_big(lies, (math.inf, opening.width, opening.height), scale)}; {so}",
            f"Carry out the {len(flow.stages[stage].units)} pieces of stage {name} and glue them up outside, on level "
            "ground, when it is warm, dry and still enough for the glue; or find a way out of "
            f"{sizes(lies.size[1:], scale)}.", None, Amount(round(-lies.room, 3), "mm"), stage=name)

    def _carried(self, stage: int, unit: Unit) -> list[Finding]:
        lies = self.attitude(stage, unit)
        done = self.flow.user(unit, stage) is None
        if lies.room >= TIGHT - TOUCH and lies.said == "upright" and not done:
            return []
        return [self._passing(stage, self.flow.called(stage, unit), unit, lies)]

    def _part(self, stage: int, unit: Unit) -> list[Finding]:
        """Return what is to be said of the parts that are carried out one by one to a stage outside."""
        found = []
        for name in unit:
            part = self.flow.assembly.part(name)
            lies = through(of_solid(part.solid(self.flow.stages[stage].done)), self.opening)
            if not lies.fits:
                found.append(self._part_shut_in(stage, name, lies))
            elif lies.room < TIGHT - TOUCH or lies.tilt > 0.0:
                found.append(self._passing(stage, name, (name,), lies))
        return found

    def _passing(self, stage: int, called: str, unit: Unit, lies: Attitude) -> Finding:
        scale = self.flow.assembly.design.unit
        across, high = self.opening.width - lies.size[1], self.opening.height - lies.size[2]
        tight = lies.room < TIGHT - TOUCH
        remedy = ("Take the door off its hinges and measure before stage " + self.flow.stages[stage].name +
                  " closes; pad the frame." if tight else "Carry it so, with people at both ends.")
        return Finding(
            "size", "warn" if tight else "note", unit, f"{called} goes out through the doorway {lies.said}: "
            f"{told(across, scale)} to spare across, {told(high, scale)} in height" + ", a squeeze" * tight, remedy,
            None, Amount(round(lies.room, 3), "mm"), stage=self.flow.stages[stage].name)

    def _part_shut_in(self, stage: int, name: str, lies: Attitude) -> Finding:
        scale, opening = self.flow.assembly.design.unit, self.opening
        where = self.flow.stages[stage].name
        return Finding(
            "size", "stop", (name,), f"{name} is needed outside, in stage {where}, and does not go through the doorway "
            f"of {sizes((opening.width, opening.height), scale)}: even {lies.said} it is "
            f"{too_big(lies, (math.inf, opening.width, opening.height), scale)}",
            f"Cut it outside, or find a way out of {sizes(lies.size[1:], scale)}.", None,
            Amount(round(-lies.room, 3), "mm"), stage=where)


def too_big(lies: Attitude, limits: tuple[float, float, float], scale: str) -> str:
    """Return in words by how much a body is too big as it lies."""
    over = [f"{told(size - most, scale)} too {word}"
            for size, most, word in zip(lies.size, limits, ("long", "wide", "high"), strict=True)
            if size > most + TOUCH]
    return " and ".join(over)


def _cut_outside(flow: Flow, stage: int, shop: Shop) -> list[Finding]:
    """Return the cuts that wait for a stage outside, while the machine for them stands in the shop."""
    one = flow.stages[stage]
    cuts = [(n, f.role) for unit in one.results for n in unit for f in flow.assembly.part(n).features
            if f.after == one.name]
    found = []
    for role in dict.fromkeys(r for _, r in cuts):
        names = tuple(dict.fromkeys(n for n, r in cuts if r == role))
        machine = next((m.name for m in shop.machines if not m.cuts or role in m.cuts), "")
        found.append(Finding(
            "size", "warn" if machine else "note", names, f"the {role} of {named(names)} is cut after stage "
            f"{one.name}, which is glued up outside{f', while {machine} stands in the shop' if machine else ''}",
            f"Cut it before stage {one.name}, or outside with a tool that can be carried there.", stage=one.name))
    return found
