"""Certificate: the fewest joints and pieces found that hold each other, and where they press on one another.

What is rigid at the first instant is known from the contacts alone: units that have the same
velocity in every motion the contacts allow are held together by them, whatever forces they
are pulled with. Joints are left out one after another, each for good where the others still
hold; what remains holds, and nothing of it can be spared. The forces by which it holds itself are
the multipliers of the linear program (the duals); the contact with the largest is shown.
Where pieces could begin to move but do not get far, the faces that stop them are shown instead.
Source: Gordan's theorem of alternatives (1873); deletion filter: Chinneck & Dravnieks, ORSA Journal
on Computing 3 (1991), "Locating minimal infeasible constraint sets in linear programs" (both from memory).
Not promised: the fewest there are, where a set holds several locks.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from assembly.blocking import Blocking, Tie
from assembly.passing import Stop, met
from assembly.plan import Direction, Point
from assembly.taking_apart import Group, take_apart
from assembly.together import draw_together
from assembly.velocities import Contacts, contacts_among, held_together, opening

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

T = TypeVar("T")

CONTACT_WORK = 12_000
"""How many units are looked at by their contacts, over all tries without some, before a lock is reported as it is."""
MOTION_WORK = 1_500
"""The same where each try takes them apart by their solids."""


@dataclass(frozen=True)
class Witness:
    """Where a lock shows: two parts press on each other at a point (world, mm) along a direction, first into second."""

    point: Point
    direction: Direction
    parts: tuple[str, str]


@dataclass(frozen=True)
class Certificate:
    """What holds a set of units together.

    `units`: those that hold each other. `joints`: those that do it, by their declared names. `rigid`: whether
    they hold at the first instant, by their contacts alone. `least`: whether nothing of it can be spared, as far as was
    tried. `every`: whether all motions worth trying were tried.
    """

    units: Group
    joints: tuple[str, ...]
    witness: Witness | None
    rigid: bool
    least: bool
    every: bool = True


def certificate(blocking: Blocking, core: Group) -> Certificate:
    """Return what holds units that nothing takes apart."""
    everything = contacts_among(blocking, core)
    if max(len(s) for s in held_fast(everything)) > 1:
        return _rigid(blocking, core)
    return _stopped(blocking, core)


def family(tie: Tie) -> str:
    """Return the joint a tie belongs to: the declared one, for the halves of a loose tenon."""
    return tie.joint.of or tie.joint.name


def held_fast(contacts: Contacts) -> list[list[int]]:
    """Return the sets of units that no motion at the first instant moves against each other."""
    found = held_together(contacts.kept(~opening(contacts).opens))
    return [np.flatnonzero(found == kind).tolist() for kind in range(int(found.max(initial=-1)) + 1)]


# -- by contacts alone ----------------------------------------------------------------------------


def _rigid(blocking: Blocking, core: Group) -> Certificate:
    def locked(some: Sequence[int]) -> Group | None:
        sets = held_fast(contacts_among(blocking, some))
        few = [tuple(some[k] for k in s) for s in sets if len(s) > 1]
        alone = [s for s in sorted(few, key=len) if max(map(len, held_fast(contacts_among(blocking, s)))) == len(s)]
        return (alone or [tuple(some)])[0] if few else None

    few, least = smallest(_side_by_side(blocking, locked(core) or core), locked, CONTACT_WORK)
    few = tuple(sorted(few, key=blocking.rank.__getitem__))
    contacts = contacts_among(blocking, few)
    kept, spared = _fewest_joints(contacts, _sources(blocking, contacts))
    contacts = contacts.kept(kept)
    units = tuple(u for k, u in enumerate(few) if k in {*contacts.first.tolist(), *contacts.second.tolist()})
    names = tuple(dict.fromkeys(family(t) for t in blocking.ties if t.a in units and t.b in units
                                and family(t) in set(_sources(blocking, contacts))))
    return Certificate(units, names, _pressed(blocking, few, contacts), True, least and spared)


def _sources(blocking: Blocking, contacts: Contacts) -> list[str]:
    """Return for each contact the joint it belongs to, or a word for the two units that touch with no joint."""
    of = {t.joint.name: family(t) for t in blocking.ties}
    joints = [blocking.patch_joints[p] for p in contacts.patches.tolist()]
    return [of.get(j, j) if j is not None else f"{a} on {b}"
            for j, a, b in zip(joints, contacts.first.tolist(), contacts.second.tolist(), strict=True)]


def _fewest_joints(contacts: Contacts, sources: Sequence[str]) -> tuple[Indices, bool]:
    """Return the contacts left when all joints that can be spared are, one after another; whether all were tried."""
    every = np.array(sources)

    def locked(names: Sequence[str]) -> tuple[str, ...] | None:
        fewer = np.flatnonzero(np.isin(every, list(names)))
        return tuple(names) if len(fewer) and max(map(len, held_fast(contacts.kept(fewer)))) > 1 else None

    names, least = smallest(list(dict.fromkeys(sources)), locked, CONTACT_WORK)
    return np.flatnonzero(np.isin(every, names)), least


def _pressed(blocking: Blocking, few: Group, contacts: Contacts) -> Witness | None:
    """Return the contact that presses hardest when the units are pulled apart."""
    found = opening(contacts)
    force = np.where(found.opens, 0.0, np.round(found.pressures, 6))
    if not len(force):
        return None
    rank = blocking.rank[np.array(few)]
    order = np.lexsort((rank[contacts.second], rank[contacts.first], -force))
    p = int(order[0])
    patch = int(contacts.patches[p])
    at, way = blocking.centres[patch], contacts.normals[p]
    return Witness(_point(at), _way(way), (blocking.units[few[contacts.first[p]]][0],
                                          blocking.units[few[contacts.second[p]]][0]))


# -- by what stands in the way --------------------------------------------------------------------


def _stopped(blocking: Blocking, core: Group) -> Certificate:
    def locked(some: Sequence[int]) -> Group | None:
        still = [left for chain in take_apart(blocking, some) for left in chain.locked]
        return min(still, key=len) if still else None

    few, least = smallest(_side_by_side(blocking, core), locked, MOTION_WORK)
    few = tuple(sorted(few, key=blocking.rank.__getitem__))
    tried = draw_together(blocking, few)
    held = [t for t in blocking.ties if t.a in few and t.b in few]
    stop = tried.stop or _nearest(blocking, few)
    witness = None if stop is None else Witness(
        _point(stop.point), _way(stop.normal), (blocking.bodies.names[stop.one], blocking.bodies.names[stop.other]))
    names = tuple(dict.fromkeys(family(t) for t in held))
    return Certificate(few, names, witness, False, least, tried.every)


def _nearest(blocking: Blocking, few: Group) -> Stop | None:
    """Return what stops one of the units first along an axis of the drawing, for units that do not touch."""
    movers = blocking.members[few[0]]
    rest = np.concatenate([blocking.members[u] for u in few[1:]])
    for way in (*blocking.axes, *-blocking.axes):
        room = blocking.bodies.travel(movers.tolist(), rest, way)
        if room.stopped_by is not None:
            one, other = (blocking.bodies.names.index(n) for n in room.stopped_by)
            return Stop(room.mm, one, other, *met(blocking.bodies, one, other, way))
    return None


# -- fewer ----------------------------------------------------------------------------------------


def smallest(whole: Sequence[T], locked: Callable[[Sequence[T]], Sequence[T] | None],
             work: int) -> tuple[tuple[T, ...], bool]:
    """Return what is left of a lock when halves, then quarters, then single members of it are spared where they can be.

    `locked`: what is still locked among some members, or None. Returned besides is whether none of the rest can be
    spared; where trying takes long (`work`, members looked at), it is not known, and some that could be may be left.
    """
    few, size = list(whole), max(1, len(whole) // 2)
    while True:
        start = 0
        while start < len(few) and len(few) > 1:
            work -= len(few)
            if work < 0:
                return tuple(few), False
            still = locked([*few[:start], *few[start + size:]]) if size < len(few) else None
            if still is None:
                start += size
            else:
                start = sum(x in still for x in few[:start])
                few = [x for x in few if x in still]
        if size == 1:
            return tuple(few), True
        size = max(1, min(size, len(few)) // 2)


def _side_by_side(blocking: Blocking, few: Sequence[int]) -> list[int]:
    """Return units so that those that touch stand near each other in line."""
    web = nx.Graph()
    line = sorted(few, key=blocking.rank.__getitem__)
    web.add_nodes_from(line)
    web.add_edges_from((u, v) for u in line for v in sorted(blocking.touching[u], key=blocking.rank.__getitem__)
                       if v in web)
    done: dict[int, None] = {}
    for u in line:
        if u not in done:
            done.update(dict.fromkeys(n for n in nx.bfs_tree(web, u)))
    return list(done)


def _point(at: Array) -> Point:
    x, y, z = at.tolist()
    return x, y, z


def _way(direction: Array) -> Direction:
    x, y, z = (np.round(direction, 12) + 0.0).tolist()
    return x, y, z
