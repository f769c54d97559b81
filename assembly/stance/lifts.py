"""Lifts: who lifts what in a stage, what takes a hoist, and what one person should not lift alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from assembly.checks.wording import listed, place
from assembly.findings import Amount, Finding
from assembly.glue_up import FOOT, POUND
from assembly.placing import Assembly
from assembly.plan import Stage
from assembly.stance.body import Body, Floats, body
from assembly.stance.hanging import hanging
from assembly.stance.lifting_equation import KNUCKLE, recommended_weight
from assembly.stance.people import by_hand, people_for
from model.shop import Shop

__all__ = ["lifts", "people_for"]

HANDLED = 1200.0
"""Pieces longer than this are no load for the lifting equation, mm (common practice, no source)."""
HELD_OFF = 250.0
"""The near side of a load is this far in front of the ankles when it is lifted from low down, mm (NIOSH 94-110, from
memory)."""
GRIP = 0.9
"""A bare piece of wood has no handles: poor grip."""
TURNED = 1e-3
"""Work lies otherwise in one stage than in another when their frames look up this far apart (sine)."""
CAUTION = "rule of thumb; local rules on lifting come first"


@dataclass(frozen=True, eq=False)
class Load:
    """Something lifted: its parts, kg, its longest and its least way across, mm, people it takes, the joints it closes.

    `brought` is False for what is laid down first: it may stay where it was glued, unless it has to be `turned`.
    """

    parts: tuple[str, ...]
    kg: float
    long: float
    deep: float
    people: int
    joints: tuple[str, ...]
    middle: Floats
    brought: bool
    turned: bool = False


def lifts(assembly: Assembly, shop: Shop, stage: Stage, before: Sequence[Stage] = ()) -> list[Finding]:
    """Return what is said about lifting in a stage: kinds "hands", "mass" and "stance".

    Lifted are the pieces and groups that move, and the sub-assemblies carried here from the stages `before`. One
    finding for the heaviest that takes a hoist, one for that which takes the most people where that is more than
    there are; a note for the heaviest piece that one person lifts though the lifting equation recommends less; and
    whatever hangs on a joint made in this same stage (see `hanging`). Work that is laid down first and need not be
    turned over may stay where it was glued: only a note. Masses are those of wood at 12 % moisture.
    Not checked: the grip, and the way there.
    """
    loads = _loads(assembly, shop, stage, before)
    found: list[Finding] = []
    hoisted = [one for one in loads if not by_hand(one.kg, one.people)]
    many = [one for one in loads if one.people > shop.people and by_hand(one.kg, one.people)]
    if hoisted:
        found.append(_by_hoist(assembly, stage, _heaviest(hoisted)))
    if many:
        found.append(_too_many(assembly, shop, stage, _heaviest(many)))
    return [*found, *_alone(assembly, stage, loads), *hanging(assembly, shop, stage, before)]


def _loads(assembly: Assembly, shop: Shop, stage: Stage, before: Sequence[Stage]) -> list[Load]:
    moved = {frozenset(m.parts): m for m in stage.moves if m.onto}
    there = body(assembly, {*stage.parts, *(n for parts in moved for n in parts)}, stage.done)
    loads = [_load(there, shop, m.parts, m.joints, True, False) for m in moved.values()]
    for unit in stage.units:
        if len(unit) > 1 and not any(set(unit) <= parts for parts in moved):
            made = [s for s in before if set(unit) <= set(s.parts)]
            turned = any(_ups_apart(s, stage) > TURNED for s in made[-1:])
            loads.append(_load(there, shop, unit, (), False, turned))
    return loads


def _ups_apart(one: Stage, other: Stage) -> float:
    return float(np.linalg.norm(one.rest.frame[2, :3] - other.rest.frame[2, :3]))


def _load(there: Body, shop: Shop, parts: tuple[str, ...], joints: tuple[str, ...], brought: bool,
          turned: bool) -> Load:
    rows = there.rows(parts)
    kg, (long, _, deep) = float(there.mass[rows].sum()), there.size(rows)
    middle = there.mass[rows] @ there.centre[rows] / kg
    return Load(parts, kg, long, deep, people_for(kg, long, shop), joints, middle, brought, turned)


def _heaviest(loads: Sequence[Load]) -> Load:
    return max(loads, key=lambda one: (one.brought, one.turned, one.people, round(one.kg, 6)))


def _by_hoist(assembly: Assembly, stage: Stage, load: Load) -> Finding:
    stays = not load.brought and not load.turned
    message = (f"stage {stage.name}: {listed(load.parts)} ({said(load, assembly.design.unit)}) is more than people "
               f"lift by hand ({CAUTION})")
    remedy = ("Glue it where it is to lie for this stage, or move it with a hoist." if stays else
              "Lift it with a hoist, or bring it together in smaller groups.")
    return Finding("mass", "note" if stays else "warn", load.parts, message, remedy, place(load.middle),
                   Amount(round(load.kg, 1), "kg"), load.joints)


def _too_many(assembly: Assembly, shop: Shop, stage: Stage, load: Load) -> Finding:
    message = (f"stage {stage.name}: {'moving' if load.brought else 'carrying'} {listed(load.parts)} "
               f"({said(load, assembly.design.unit)}) takes {load.people} people, there are {shop.people} ({CAUTION})")
    remedy = ("Have more people, lift it with a hoist, or bring it together in smaller groups." if load.brought else
              "Have more people for the carrying, or turn and walk it on one end at a time.")
    return Finding("hands", "warn" if load.brought else "note", load.parts, message, remedy, place(load.middle),
                   Amount(float(load.people), ""), load.joints)


def _alone(assembly: Assembly, stage: Stage, loads: Sequence[Load]) -> list[Finding]:
    """Return a note for the heaviest piece that is lifted alone though the lifting equation recommends less."""
    heavy = [one for one in loads if one.people == 1 and one.long <= HANDLED and one.kg > advised(one.deep, 0.0)]
    if not heavy:
        return []
    load, unit = max(heavy, key=lambda one: round(one.kg, 6)), assembly.design.unit
    low, high = (weight(advised(load.deep, height), unit) for height in (0.0, KNUCKLE))
    message = (f"stage {stage.name}: {listed(load.parts)} ({said(load, unit)}) taken by one person: the NIOSH "
               f"lifting equation recommends no more than {low} from the floor and {high} at bench height ({CAUTION})")
    return [Finding("mass", "note", load.parts, message, "Take it from trestles at bench height, or lift it in twos.",
                    place(load.middle), Amount(round(load.kg, 1), "kg"), load.joints)]


def advised(deep: float, height: float) -> float:
    """Return what one person should lift of a load so deep, from so high up to the knuckles, kg; mm.

    It is held with its flat side to the body.
    """
    return recommended_weight(HELD_OFF + deep / 2.0, height, abs(KNUCKLE - height), grip=GRIP)


def said(load: Load, unit: str) -> str:
    """Return how heavy and how long it is."""
    long = f"{load.long / FOOT:.1f} ft" if unit == "in" else f"{load.long / 1000:.1f} m"
    return f"{weight(load.kg, unit)}, {long}"


def weight(kg: float, unit: str) -> str:
    """Return a mass as it is read in the unit of the work."""
    return f"{kg / POUND:.0f} lb" if unit == "in" else f"{kg:.0f} kg"
