"""Glue-up: one stage as it goes together, with its size, its mass and what locks in it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from assembly.blocking import Unit
from assembly.findings import Amount, Finding
from assembly.locks import Lock
from assembly.placing import Assembly
from assembly.plan import Move, Stage
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


def glue_up(assembly: Assembly, bench: Bench, moves: Sequence[Move]) -> Stage:
    """Return a stage as it goes together, before anybody has looked at its clamps, its time or how it lies."""
    results = results_of(assembly, bench)
    heaviest = max(results, key=lambda r: mass(assembly, r, bench.done))
    return Stage(bench.number, bench.name, bench.joints, bench.units, tuple(moves), bench.needs, bench.done,
                 mass_kg=mass(assembly, heaviest, bench.done),
                 size_mm=bounding_size(corners(assembly, heaviest, bench.done)), takes_away=bench.leaving,
                 results=results)


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


def blocked(stage: str, lock: Lock) -> Finding:
    """Return the finding for units that no motion brings together, of one group or of several at once."""
    count = len(lock.joints)
    between = f"{count} joints lock each other ({named(lock.joints)})" if count > 1 else \
        f"joint {lock.joints[0]} locks them" if count else "their faces hook into each other"
    shows = "" if lock.witness is None else (f" It shows where {lock.witness.parts[0]} presses on "
                                             f"{lock.witness.parts[1]}.")
    doubt = f" {lock.doubt}" if lock.doubt else ""
    message = (f"stage {stage}: no straight motion brings {named(lock.parts)} together, neither one piece or group "
               f"after another nor several at the same time: {between}.{shows} If they close at all, one of them has "
               f"to turn or bend.{doubt}")
    where = lock.where if lock.witness is None else lock.witness.point
    return Finding("blocked", "stop", lock.parts, message, _way_round(lock), where,
                   Amount(float(count or len(lock.parts)), ""), lock.joints)


def _way_round(lock: Lock) -> str:
    if lock.glued_too_early:
        return (f"Close {named(lock.joints)} before these pieces are held by other joints, in one stage with them: "
                "tried, they all come together when nothing among them is glued before.")
    if lock.ways_out:
        left_out = [w.joint for w in lock.ways_out if w.kind == "leave out"]
        first = next((w for w in lock.ways_out if w.kind == "leave out"), lock.ways_out[0])
        more = f" (or that of {named(left_out[1:])} instead)" if len(left_out) > 1 else ""
        others = "".join(f". Or: {w.says}" for w in lock.ways_out if w.kind != "leave out" and w is not first)
        return f"{first.says}{more}{others}. Tried, each by itself: the pieces then come together."
    if lock.joints:
        return ("No single tenon left off frees them (tried). Let two of the joints slide the same way, or glue up "
                "fewer of these pieces in one stage.")
    return "Cut away one of the hooks, or split the piece that closes round the others."
