"""Ways out: the least changes that would let pieces that lock each other come together, each tried before it is told.

Tried for each joint of a lock, on solids changed accordingly and by the whole search (two bodies,
round a corner, all at once, over the whole way): its tenon left off; its tenon made a piece of its own,
mortised into both and brought in afterwards; its mortise opened to one side. The last two are
tried only for joints whose tenon, left off, frees the pieces. Where no one joint frees them and few hold them,
all their tenons are left out, and all their mortises are opened, to the same side or to opposite ones.
Not tried: other changes to several joints at once, other places for a joint, laps and housings made otherwise.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from assembly.blocking import Blocking, Unit, blocking
from assembly.placing import Assembly
from assembly.taking_apart import Group, take_apart
from assembly.tenon_wood import loose_tenon, opened_to, tenon_of
from model.design import Design
from model.frames import Frame, directions, inverse, move
from model.joint import Joint
from model.part import Part
from model.solids import Solid

Array = NDArray[np.float64]
Kind = Literal["leave out", "make loose", "open"]

LEFT_OUT_MOST = 24
"""Joints whose tenon is tried left off; fewer where many pieces lock each other."""
WORK = 1_000
"""Pieces taken apart anew, over all tries, before no more joints are tried."""
OPENED_MOST = 2
"""Of those that free the pieces so, for how many it is tried to make the tenon loose or to open the mortise."""
TOGETHER_MOST = 3
"""Joints that are tried changed all at once."""


@dataclass(frozen=True)
class WayOut:
    """One change that was tried and lets the pieces come together: what is done, to which joint and part, in words.

    Where several joints must be changed, `joint` is the first of them and `alone` is False.
    """

    kind: Kind
    joint: str
    part: str
    says: str
    alone: bool = True


@dataclass(frozen=True)
class Ways:
    """The ways out found, and whether every one that could be tried was."""

    found: tuple[WayOut, ...]
    every: bool


@dataclass(frozen=True, eq=False)
class _Changed:
    """The work with something changed: other solids (parts by name, in their own frames), parts more and fewer."""

    way: WayOut
    solids: Mapping[str, Solid] = field(default_factory=dict)
    more: tuple[tuple[Part, Frame], ...] = ()
    fewer: frozenset[str] = frozenset()
    undone: frozenset[str] = frozenset()
    """Joints that are no joints any more, with their halves."""
    joints: tuple[Joint, ...] = ()
    """Joints of the new parts."""


def ways_out(held: Blocking, core: Group, few: Group, joints: Sequence[str]) -> Ways:
    """Return what would free a few units that lock each other among a core, joint by joint, the least change first."""
    units = [held.units[u] for u in core]
    trial = _Trial(held, units, [held.units[u] for u in few])
    found: list[WayOut] = []
    most = max(2, min(LEFT_OUT_MOST, WORK // len(units)))
    for name in joints[:most]:
        found += trial.first([c for c in (_left_out(held, units, name),) if c is not None])
    for name in [way.joint for way in found[:OPENED_MOST]]:
        found += trial.first(_opened(held, units, name))
        found += trial.first(_made_loose(held, units, name))
    if not found and 1 < len(joints) <= TOGETHER_MOST:
        found += trial.first(_all_left_out(held, units, joints))
        found += trial.first(_opened(held, units, *joints))
    return Ways(tuple(found), len(joints) <= most)


@dataclass(frozen=True, eq=False)
class _Trial:
    """Units that lock each other: a core of them, and the few that make the lock."""

    held: Blocking
    core: Sequence[Unit]
    few: Sequence[Unit]

    def first(self, changes: Iterable[_Changed]) -> list[WayOut]:
        """Return the first of some changes that frees the few, alone and in the core; none where none does."""
        for changed in changes:
            if self._frees(self.few, changed) and (len(self.few) == len(self.core) or self._frees(self.core, changed)):
                return [changed.way]
        return []

    def _frees(self, units: Sequence[Unit], changed: _Changed) -> bool:
        """Return whether the few come apart from each other among some units, changed as said, by the whole search."""
        there = self._changed(units, changed)
        few = {n for unit in self.few for n in unit} | {p.name for p, _ in changed.more}
        still = [group for chain in take_apart(there) for group in chain.locked]
        return all(sum(bool(few & set(there.units[u])) for u in group) < 2 for group in still)

    def _changed(self, units: Sequence[Unit], changed: _Changed) -> Blocking:
        source, gone = self.held.source, changed.fewer
        design, frames = source.assembly.design, source.assembly.frames
        parts = [replace(p, features=(), blank=replace(p.blank, solid=changed.solids[p.name]))
                 if p.name in changed.solids else p for p in design.parts if p.name not in gone]
        kept = [j for j in design.joints if not {j.name, j.of} & changed.undone and not {j.a, j.b} & gone]
        after = replace(_based(source.assembly, changed), parts=(*parts, *(p for p, _ in changed.more)),
                        joints=(*kept, *changed.joints))
        at = {**{n: f for n, f in frames.items() if n not in gone}, **{p.name: f for p, f in changed.more}}
        left = [tuple(n for n in unit if n not in gone) for unit in units]
        deep = {pair: depth for pair, depth in source.deep.items() if not gone & set(pair)}
        return blocking(Assembly(after, at), [*(u for u in left if u), *((p.name,) for p, _ in changed.more)],
                        source.done, deep)


def _based(assembly: Assembly, changed: _Changed) -> Design:
    """Return the design with another base part where its own is left out, the drawing's axes staying what they are."""
    design, frames = assembly.design, assembly.frames
    if design.base not in changed.fewer:
        return design
    other = next(n for n in frames if n not in changed.fewer)
    return replace(design, base=other, base_frame=design.base_frame @ inverse(frames[design.base]) @ frames[other])


# -- the three changes ----------------------------------------------------------------------------


def _left_out(held: Blocking, units: Sequence[Unit], name: str) -> _Changed | None:
    """Return the work without the tenon of a joint; None where it has none to leave off."""
    joint = held.source.assembly.design.joint[name]
    if loose := loose_tenon(held, units, name):
        return _Changed(WayOut("leave out", name, loose, f"Leave the loose tenon of {name} out"),
                        fewer=frozenset({loose}), undone=frozenset({name}))
    cut = tenon_of(held, joint)
    if cut is None:
        return None
    says = f"Leave the tenon of {name} off, so that {joint.a} meets {joint.b} with a plain face"
    return _Changed(WayOut("leave out", name, joint.a, says), {joint.a: cut[1]}, undone=frozenset({name}))


def _all_left_out(held: Blocking, units: Sequence[Unit], names: Sequence[str]) -> Iterator[_Changed]:
    """Yield the work without the tenons of several joints, each on a part of its own."""
    some = [c for c in (_left_out(held, units, n) for n in names) if c is not None]
    solids = {n: s for c in some for n, s in c.solids.items()}
    if len(some) == len(names) and len(solids) == sum(len(c.solids) for c in some):
        says = f"Leave the tenons of {' and '.join(names)} out, all of them"
        yield _Changed(WayOut("leave out", names[0], some[0].way.part, says, False), solids,
                       fewer=frozenset().union(*(c.fewer for c in some)), undone=frozenset(names))


def _made_loose(held: Blocking, units: Sequence[Unit], name: str) -> Iterator[_Changed]:
    """Yield the work with the tenon of a joint a piece of its own, as deep in both pieces."""
    joint = held.source.assembly.design.joint[name]
    cut = tenon_of(held, joint)
    if cut is None or loose_tenon(held, units, name) or joint.travel <= 0:
        return
    tenon, bare = cut
    whole = tenon.joined(tenon.moved(joint.seat_a @ move(z=-joint.travel) @ inverse(joint.seat_a)))
    part = held.source.assembly.part(joint.a)
    own = Part(f"{name} loose tenon", replace(part.blank, solid=whole))
    says = f"Make the tenon of {name} a loose one, mortised into {joint.a} and {joint.b}, and bring it in afterwards"
    yield _Changed(WayOut("make loose", name, joint.a, says),
                   {joint.a: bare.cut(whole)},
                   ((own, held.source.assembly.frames[joint.a]),),
                   undone=frozenset({name}), joints=(replace(joint, name=own.name, a=own.name),))


def _opened(held: Blocking, units: Sequence[Unit], *names: str) -> Iterator[_Changed]:
    """Yield the work with the mortises of some joints opened to one side, the side that takes the least wood first."""
    joints = [held.source.assembly.design.joint[n] for n in names]
    seat = held.source.assembly.seat(joints[0])
    tried = []
    sides = (seat[:3, 0], -seat[:3, 0], seat[:3, 1], -seat[:3, 1])
    for way, senses in product(sides, product((1.0, -1.0), repeat=len(names) - 1)):
        solids: dict[str, Solid] | None = {}
        for joint, sense in zip(joints, (1.0, *senses), strict=True):
            loose = loose_tenon(held, units, joint.name)
            solids = solids if solids is None else opened_to(held, joint, loose, sense * way, solids)
        if solids is not None:
            taken = sum(held.source.assembly.solid(n, held.source.done).volume - s.volume for n, s in solids.items())
            tried.append((round(taken, 3), way, senses, solids))
    for _, way, senses, solids in sorted(tried, key=lambda t: t[0]):
        says = _says_opened(held, joints, way, senses, joints[0].a in solids)
        yield _Changed(WayOut("open", names[0], joints[0].b, says, len(names) == 1), solids)


def _says_opened(held: Blocking, joints: Sequence[Joint], way: Array, senses: Sequence[float], both: bool) -> str:
    side = _side(held.source.assembly, joints[0], way)
    if len(joints) == 1:
        where = f" in both {joints[0].a} and {joints[0].b}," if both else ""
        return f"Open the mortise of {joints[0].name}{where} {side}, so that its tenon drops in from that side"
    alike = [j.name for j, sense in zip(joints, (1.0, *senses), strict=True) if sense > 0]
    opposite = [j.name for j in joints if j.name not in alike]
    across = f", and that of {' and '.join(opposite)} to the opposite side" if opposite else ""
    many = "mortise" if len(alike) == 1 else "mortises"
    return f"Open the {many} of {' and '.join(alike)} {side}{across}, so that the tenons drop in from the side"


def _side(assembly: Assembly, joint: Joint, way: Array) -> str:
    """Return the side of part b that a world direction points to, in words."""
    frame = assembly.frames[joint.b]
    best = max(assembly.part(joint.b).blank.places.items(), default=None,
               key=lambda p: round(float(directions(frame, p[1][:3, 2]) @ way), 6))
    return f"to the {best[0].replace('_', ' ')} of {joint.b}" if best is not None else f"to one side of {joint.b}"
