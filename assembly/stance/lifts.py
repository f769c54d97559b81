"""Lifts: who lifts what in a stage, what takes a hoist, and what hangs on a joint whose glue is still wet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assembly.checks.wording import listed, place
from assembly.findings import Amount, Finding
from assembly.glue_up import FOOT, POUND, corners, mass
from assembly.placing import Assembly
from assembly.plan import Stage
from assembly.stance.body import Floats
from assembly.stance.hanging import hanging
from assembly.stance.lifting_equation import recommended_weight
from assembly.stance.people import by_hand, people_for
from model.part import bounding_size
from model.shop import Shop

__all__ = ["lifts", "people_for"]

FROM_FLOOR, UP_TO = 0.0, 750.0
"""A piece is taken from the floor to knuckle height, mm."""
CAUTION = "rule of thumb; local rules on lifting come first"


@dataclass(frozen=True, eq=False)
class Load:
    """Something lifted: its parts, kg, its longest way, the next longest and the shortest, mm, and people it takes."""

    parts: tuple[str, ...]
    kg: float
    size: tuple[float, float, float]
    people: int
    joints: tuple[str, ...]
    middle: Floats


def lifts(assembly: Assembly, shop: Shop, stage: Stage, before: Sequence[Stage] = ()) -> list[Finding]:
    """Return what is said about lifting in a stage: kinds "hands", "mass" and "stance".

    Lifted are the pieces and groups that move, and the sub-assemblies carried here from the stages `before`. One
    finding for the heaviest that takes a hoist, else for the heaviest that takes more people than there are; a note
    for the heaviest that one person lifts though the lifting equation recommends less; and whatever hangs on a joint
    made in this same stage. Rules of thumb; masses are those of wood at 12 % moisture. Not checked: grip, and the way
    to the place.
    """
    loads = _loads(assembly, shop, stage, before)
    found: list[Finding] = []
    hoisted = [one for one in loads if not by_hand(one.kg, one.people)]
    many = [one for one in loads if one.people > shop.people and by_hand(one.kg, one.people)]
    if hoisted:
        found.append(_by_hoist(assembly, stage, _heaviest(hoisted)))
    if many:
        found.append(_too_many(assembly, shop, stage, _heaviest(many)))
    found += _alone(assembly, stage, loads)
    return [*found, *hanging(assembly, stage)]


def _loads(assembly: Assembly, shop: Shop, stage: Stage, before: Sequence[Stage]) -> list[Load]:
    seen: set[frozenset[str]] = set()
    loads: list[Load] = []
    made = {name for s in before for name in s.parts}
    carried = [(unit, ()) for unit in stage.units if len(unit) > 1 and set(unit) <= made]
    for parts, joints in [*((m.parts, m.joints) for m in stage.moves if m.onto), *carried]:
        if frozenset(parts) in seen:
            continue
        seen.add(frozenset(parts))
        cloud = corners(assembly, parts, stage.done)
        kg, size = mass(assembly, parts, stage.done), bounding_size(cloud)
        longest, middle, least = sorted(size, reverse=True)
        loads.append(Load(tuple(parts), kg, (longest, middle, least), people_for(kg, longest, shop), tuple(joints),
                          (cloud.min(axis=0) + cloud.max(axis=0)) / 2))
    return loads


def _heaviest(loads: Sequence[Load]) -> Load:
    return max(loads, key=lambda one: (one.people, one.kg))


def _by_hoist(assembly: Assembly, stage: Stage, load: Load) -> Finding:
    message = (f"stage {stage.name}: {listed(load.parts)} ({said(load, assembly.design.unit)}) is more than people can "
               f"lift by hand ({CAUTION})")
    return Finding("mass", "warn", load.parts, message,
                   "Lift it with a hoist, or bring it together in smaller groups where it is to stand.",
                   place(load.middle), Amount(round(load.kg, 1), "kg"), load.joints)


def _too_many(assembly: Assembly, shop: Shop, stage: Stage, load: Load) -> Finding:
    message = (f"stage {stage.name}: moving {listed(load.parts)} ({said(load, assembly.design.unit)}) takes "
               f"{load.people} people, there are {shop.people} ({CAUTION})")
    return Finding("hands", "warn", load.parts, message,
                   "Have more people, lift it with a hoist, or bring it together in smaller groups",
                   place(load.middle), Amount(float(load.people), ""), load.joints)


def _alone(assembly: Assembly, stage: Stage, loads: Sequence[Load]) -> list[Finding]:
    """Return a note for the heaviest piece that is lifted alone though the lifting equation recommends less."""
    bench = 850.0
    heavy = [one for one in loads if one.people == 1 and one.kg > _advised(one, FROM_FLOOR)]
    if not heavy:
        return []
    load, unit = max(heavy, key=lambda one: one.kg), assembly.design.unit
    low, high = (weight(_advised(load, height), unit) for height in (FROM_FLOOR, bench))
    message = (f"stage {stage.name}: {listed(load.parts)} ({said(load, unit)}) is lifted by one person; the NIOSH "
               f"lifting equation recommends no more than {low} from the floor and {high} from a bench ({CAUTION})")
    return [Finding("mass", "note", load.parts, message, "Take it from trestles at bench height, or lift it in twos",
                    place(load.middle), Amount(round(load.kg, 1), "kg"), load.joints)]


def _advised(load: Load, height: float) -> float:
    """Return what one person should lift of a piece this deep, kg: held by its long sides against the body."""
    reach = 200.0 + load.size[1] / 2.0
    return recommended_weight(reach, height, abs(UP_TO - height), grip=0.9)


def said(load: Load, unit: str) -> str:
    """Return how heavy and how long it is."""
    long = f"{load.size[0] / FOOT:.1f} ft" if unit == "in" else f"{load.size[0] / 1000:.1f} m"
    return f"{weight(load.kg, unit)}, {long}"


def weight(kg: float, unit: str) -> str:
    """Return a mass as it is read in the unit of the work."""
    return f"{kg / POUND:.0f} lb" if unit == "in" else f"{kg:.0f} kg"


