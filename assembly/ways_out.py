"""Ways out: the least changes that would let pieces that lock each other come together, each tried before it is told.

Tried for each joint of a lock, on solids changed accordingly and by the whole search (two bodies,
round a corner, all at once, over the whole way): its tenon left off; its tenon made a piece of its own,
mortised into both and brought in afterwards; its mortise opened to one side. The last two are
tried only for joints whose tenon, left off, frees the pieces. Where no one joint frees them and few hold them,
all their mortises are opened, to the same side or to opposite ones.
Not tried: other changes to several joints at once, other places for a joint, laps and housings made otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
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
from model.part import Blank, Part
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
"""Joints whose mortises are tried opened all at once."""


@dataclass(frozen=True)
class WayOut:
    """One change that was tried and lets the pieces come together: what is done, to which joint and part, in words.

    Where several joints must be changed, `joint` is the first of them.
    """

    kind: Kind
    joint: str
    part: str
    says: str


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
    joints: tuple[Joint, ...] = ()
    """Joints of the new parts."""


def ways_out(held: Blocking, few: Group, joints: Sequence[str]) -> Ways:
    """Return what would free some units that lock each other, joint by joint, the least change first."""
    units = [held.units[u] for u in few]
    found: list[WayOut] = []
    freeing: list[str] = []
    most = max(2, min(LEFT_OUT_MOST, WORK // len(units)))
    for name in joints[:most]:
        left_out = _left_out(held, units, name)
        if left_out is not None and _comes_apart(held, units, left_out):
            found.append(left_out.way)
            freeing.append(name)
    for name in freeing[:OPENED_MOST]:
        for kind in (_opened, _made_loose):
            way = next((c.way for c in kind(held, units, name) if _comes_apart(held, units, c)), None)
            found += [way] if way is not None else []
    if not found and 1 < len(joints) <= TOGETHER_MOST:
        some = _opened(held, units, *joints)
        found += [way for way in (next((c.way for c in some if _comes_apart(held, units, c)), None),) if way]
    return Ways(tuple(found), len(joints) <= most)


def _comes_apart(held: Blocking, units: Sequence[Unit], changed: _Changed) -> bool:
    """Return whether units come apart, changed as said, by the whole search."""
    design, at = held.source.assembly.design, changed.way.joint
    parts = tuple(replace(p, features=(), blank=_block(p.blank, changed.solids[p.name])) if p.name in changed.solids
                  else p for p in design.parts if p.name not in changed.fewer)
    kept = tuple(j for j in design.joints if changed.way.kind == "open" or at not in (j.name, j.of))
    frames = {**{n: f for n, f in held.source.assembly.frames.items() if n not in changed.fewer},
              **{p.name: f for p, f in changed.more}}
    after = replace(_based(held.source.assembly, changed), parts=(*parts, *(p for p, _ in changed.more)),
                    joints=(*kept, *changed.joints))
    left = [tuple(n for n in unit if n not in changed.fewer) for unit in units]
    deep = {pair: d for pair, d in held.source.deep.items() if not changed.fewer & set(pair)}
    there = blocking(Assembly(after, frames), [*(u for u in left if u), *((p.name,) for p, _ in changed.more)],
                     held.source.done, deep)
    return not any(chain.locked for chain in take_apart(there))


def _based(assembly: Assembly, changed: _Changed) -> Design:
    """Return the design with another base part where its own is left out, the drawing's axes staying what they are."""
    design, frames = assembly.design, assembly.frames
    if design.base not in changed.fewer:
        return design
    other = next(n for n in frames if n not in changed.fewer)
    return replace(design, base=other, base_frame=design.base_frame @ inverse(frames[design.base]) @ frames[other])


def _block(blank: Blank, solid: Solid) -> Blank:
    return replace(blank, solid=solid)


# -- the three changes ----------------------------------------------------------------------------


def _left_out(held: Blocking, units: Sequence[Unit], name: str) -> _Changed | None:
    """Return the work without the tenon of a joint; None where it has none to leave off."""
    joint = held.source.assembly.design.joint[name]
    if loose := loose_tenon(held, units, name):
        return _Changed(WayOut("leave out", name, loose, f"Leave the loose tenon of {name} out"),
                        fewer=frozenset({loose}))
    cut = tenon_of(held, joint)
    if cut is None:
        return None
    says = f"Leave the tenon of {name} off, so that {joint.a} meets {joint.b} with a plain face"
    return _Changed(WayOut("leave out", name, joint.a, says), {joint.a: cut[1]})


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
                   joints=(replace(joint, name=own.name, a=own.name),))


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
        yield _Changed(WayOut("open", names[0], joints[0].b, says), solids)


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
