"""Glue-up: one stage made whole, with its times, hands, sizes and whatever stands in its way."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from assembly.blocking import Unit
from assembly.contacts import joint_area
from assembly.effort import minutes, people
from assembly.findings import Amount, Finding
from assembly.locks import Lock
from assembly.placing import Assembly
from assembly.plan import Move, Stage
from model.design import Shop
from model.part import ALL, bounding_size

Array = NDArray[np.float64]

POUND, FOOT = 0.45359237, 304.8
"""Kilograms in a pound, millimetres in a foot (International Yard and Pound Agreement, 1959)."""
NAMED_MOST = 6
"""Names written out in a sentence before the rest are counted."""


@dataclass(frozen=True)
class Bench:
    """What comes to the bench for one stage, before it is known how it goes together."""

    number: int
    name: str
    joints: tuple[str, ...]
    units: tuple[Unit, ...]
    needs: tuple[int, ...]
    done: frozenset[str]
    leaving: tuple[str, ...] = ()
    """Temporary parts taken away after the stage."""


def glue_up(assembly: Assembly, shop: Shop, bench: Bench, moves: Sequence[Move],
            locks: Sequence[Lock]) -> tuple[Stage, list[Finding]]:
    """Return a stage and what was noticed about it."""
    results = results_of(assembly, bench)
    heaviest = max(results, key=lambda r: mass(assembly, r, bench.done))
    hands, lifted = _hands(assembly, bench, moves)
    stage = Stage(
        bench.number, bench.name, bench.joints, bench.units, tuple(moves), bench.needs, bench.done,
        _minutes(assembly, shop, bench, moves, hands), hands, mass(assembly, heaviest, bench.done),
        bounding_size(corners(assembly, heaviest, bench.done)), bench.leaving, results,
    )
    found = [blocked(stage.name, lock) for lock in locks]
    return stage, [*found, *_too_slow(assembly, stage), *_too_heavy(assembly, shop, stage, lifted)]


def results_of(assembly: Assembly, bench: Bench) -> tuple[Unit, ...]:
    """Return what leaves the stage: the parts now glued into one; where nothing is glued, what was brought."""
    groups = joined(assembly, bench.units, bench.joints, bench.leaving)
    stay = [g for g in groups if not set(g) <= set(bench.leaving)]
    glued = tuple(g for g in stay if len(g) > 1)
    return glued or tuple(stay) or bench.units


def joined(assembly: Assembly, units: Iterable[Unit], joints: Iterable[str], leaving: Sequence[str]) -> list[Unit]:
    """Return units merged by the glued joints among those named, and by temporary parts that stay."""
    web = nx.Graph()
    for unit in units:
        web.add_nodes_from(unit)
        nx.add_path(web, unit)
    for name in joints:
        joint = assembly.design.joint[name]
        ends = (joint.a, joint.b)
        held = joint.glued or any(assembly.part(p).temporary for p in ends)
        if held and not any(p in leaving for p in ends) and joint.a in web and joint.b in web:
            web.add_edge(*ends)
    return [tuple(n for n in web if n in piece) for piece in map(set, nx.connected_components(web))]


def beside(assembly: Assembly, units: Sequence[Unit], joints: Iterable[str]) -> list[tuple[Unit, ...]]:
    """Return units in the sets that the joints named tie together, dry ones too."""
    of = {n: u for u, unit in enumerate(units) for n in unit}
    web = nx.Graph()
    web.add_nodes_from(range(len(units)))
    web.add_edges_from((of[j.a], of[j.b]) for j in (assembly.design.joint[n] for n in joints))
    return [tuple(units[u] for u in sorted(c)) for c in nx.connected_components(web)]


def mass(assembly: Assembly, parts: Iterable[str], done: frozenset[str] = ALL) -> float:
    """Return the mass of some parts with the stages in `done` behind them, kg."""
    return float(sum(assembly.solid(n, done).volume * 1e-9 * assembly.part(n).density for n in parts))


def corners(assembly: Assembly, parts: Iterable[str], done: frozenset[str] = ALL) -> Array:
    """Return the corners of some parts in the world, mm (N, 3)."""
    return np.concatenate([assembly.vertices(n, done) for n in parts])


def named(names: Sequence[str]) -> str:
    """Return names as a person lists them, the rest counted."""
    some = list(names[:NAMED_MOST])
    more = len(names) - len(some)
    if more:
        return ", ".join(some) + f" and {more} more"
    return some[0] if len(some) == 1 else ", ".join(some[:-1]) + " and " + some[-1]


def _minutes(assembly: Assembly, shop: Shop, bench: Bench, moves: Sequence[Move], hands: int) -> dict[str, float]:
    areas: dict[str, float] = {}
    for joint in (assembly.design.joint[n] for n in bench.joints):
        if joint.glued:
            whole = joint.of or joint.name
            areas[whole] = areas.get(whole, 0.0) + joint_area(assembly, joint).area
    closed = [len(_whole(assembly, m.joints)) for m in moves if m.onto]
    return dict(minutes(list(areas.values()), closed, hands, shop.people, shop.open_minutes))


def _whole(assembly: Assembly, joints: Iterable[str]) -> list[str]:
    """Return the joints as a person counts them: the halves of a loose tenon are one with their joint."""
    return list(dict.fromkeys(assembly.design.joint[n].of or n for n in joints))


def _hands(assembly: Assembly, bench: Bench, moves: Sequence[Move]) -> tuple[int, Move | None]:
    most, lifted = 1, None
    for move in moves:
        if move.onto:
            length = max(bounding_size(corners(assembly, move.parts, bench.done)))
            needed = people(mass(assembly, move.parts, bench.done), length)
            if needed > most:
                most, lifted = needed, move
    return most, lifted


def blocked(stage: str, lock: Lock) -> Finding:
    """Return the finding for units that no motion of one piece or group brings together."""
    count = len(lock.joints)
    between = f"{count} joints lock each other ({named(lock.joints)})" if count else "their faces hook into each other"
    doubt = "" if lock.sure else " Some of them are too thin for this to be told for certain."
    message = (f"stage {stage}: no piece and no group of pieces can slide home last among {named(lock.parts)}: "
               f"{between}. If they close at all, several of them have to move at once in different directions, "
               f"or turn.{doubt}")
    return Finding("blocked", "stop", lock.parts, message, _way_round(lock), lock.where,
                   Amount(float(count or len(lock.parts)), ""), lock.joints)


def _way_round(lock: Lock) -> str:
    if lock.freed_by:
        which = "this joint" if len(lock.freed_by) == 1 else "one of these joints"
        one = "it" if len(lock.freed_by) == 1 else "any one of them"
        return (f"Make {which} a plain glued face, or a lap that drops in from the side: {named(lock.freed_by)}. "
                f"Tried on the faces in contact: with {one} plain, a group of pieces can slide out.")
    if lock.glued_too_early:
        return (f"Close {named(lock.joints)} before these pieces are held by other joints, in one stage with them: "
                "tried, they all come together when nothing among them is glued before.")
    if lock.joints:
        return ("No single joint made plain frees them (tried on the faces in contact). Let two of the joints slide "
                "the same way, or glue up fewer of these pieces in one stage.")
    return "Cut away one of the hooks, or split the piece that closes round the others."


def _too_slow(assembly: Assembly, stage: Stage) -> list[Finding]:
    needed, spare = stage.minutes["needed"], stage.minutes["open"]
    glued = _whole(assembly, [n for n in stage.joints if assembly.design.joint[n].glued])
    if needed <= spare or not glued:
        return []
    batches = int(np.ceil(needed / spare))
    message = (f"stage {stage.name}: {len(glued)} joints take about {needed:.0f} min to spread and close, the glue "
               f"stays open for {spare:.0f} min (times by rule of thumb; the glue's data sheet governs)")
    remedy = (f"Split it into about {batches} glue-ups, take a glue that stays open for {needed:.0f} min, or have more "
              "people spread")
    return [Finding("open-time", "warn", stage.parts, message, remedy, None, Amount(needed, "min"), stage.joints)]


def _too_heavy(assembly: Assembly, shop: Shop, stage: Stage, lifted: Move | None) -> list[Finding]:
    if lifted is None or stage.hands <= shop.people:
        return []
    cloud = corners(assembly, lifted.parts, stage.done)
    kg, length = mass(assembly, lifted.parts, stage.done), max(bounding_size(cloud))
    x, y, z = ((cloud.min(axis=0) + cloud.max(axis=0)) / 2).tolist()
    message = (f"stage {stage.name}: moving {named(lifted.parts)} ({_load(kg, length, assembly.design.unit)}) takes "
               f"{stage.hands} people, there are {shop.people} (rule of thumb; local rules on lifting come first)")
    return [Finding("hands", "warn", lifted.parts, message,
                    "Have more people, lift it with a hoist, or bring it together in smaller groups",
                    (x, y, z), Amount(float(stage.hands), ""), lifted.joints)]


def _load(kg: float, length: float, unit: str) -> str:
    if unit == "in":
        return f"{kg / POUND:.0f} lb, {length / FOOT:.1f} ft"
    return f"{kg:.0f} kg, {length / 1000:.1f} m"
