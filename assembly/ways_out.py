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

from assembly.blocking import Blocking, Source, Unit, blocking
from assembly.placing import Assembly
from assembly.taking_apart import Group, take_apart
from model.frames import Frame, directions, inverse, move
from model.joint import Joint
from model.part import Blank, Part
from model.solids import Solid, hull, polyhedron

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
SAME_SIDE = 0.7
"""Sides of two joints count as the same when they look the same way within 45 degrees (cosine)."""
LEVEL = 0.05
"""What stands out past a joint's meeting plane by more than this is its tenon, where no cut of its own names it, mm."""
PLAY = 1.0
"""A tenon reaches no farther past the meeting plane than its joint slides, and this, mm."""


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
        left_out = _left_out(held.source, units, name)
        if left_out is not None and _comes_apart(held.source, units, left_out):
            found.append(left_out.way)
            freeing.append(name)
    for name in freeing[:OPENED_MOST]:
        for kind in (_opened, _made_loose):
            way = next((c.way for c in kind(held.source, units, name) if _comes_apart(held.source, units, c)), None)
            found += [way] if way is not None else []
    if not found and 1 < len(joints) <= TOGETHER_MOST:
        some = _opened(held.source, units, *joints)
        found += [way for way in (next((c.way for c in some if _comes_apart(held.source, units, c)), None),) if way]
    return Ways(tuple(found), len(joints) <= most)


def _comes_apart(source: Source, units: Sequence[Unit], changed: _Changed) -> bool:
    """Return whether units come apart, changed as said, by the whole search."""
    design, at = source.assembly.design, changed.way.joint
    parts = tuple(replace(p, features=(), blank=_block(p.blank, changed.solids[p.name])) if p.name in changed.solids
                  else p for p in design.parts if p.name not in changed.fewer)
    kept = tuple(j for j in design.joints if changed.way.kind == "open" or at not in (j.name, j.of))
    after = replace(design, parts=(*parts, *(p for p, _ in changed.more)), joints=(*kept, *changed.joints))
    frames = {**{n: f for n, f in source.assembly.frames.items() if n not in changed.fewer},
              **{p.name: f for p, f in changed.more}}
    left = [tuple(n for n in unit if n not in changed.fewer) for unit in units]
    deep = {pair: d for pair, d in source.deep.items() if not changed.fewer & set(pair)}
    there = blocking(Assembly(after, frames), [*(u for u in left if u), *((p.name,) for p, _ in changed.more)],
                     source.done, deep)
    return not any(chain.locked for chain in take_apart(there))


def _block(blank: Blank, solid: Solid) -> Blank:
    return replace(blank, solid=solid)


# -- the three changes ----------------------------------------------------------------------------


def _left_out(source: Source, units: Sequence[Unit], name: str) -> _Changed | None:
    """Return the work without the tenon of a joint; None where it has none to leave off."""
    joint = source.assembly.design.joint[name]
    if loose := _loose_tenon(source, units, name):
        return _Changed(WayOut("leave out", name, loose, f"Leave the loose tenon of {name} out"),
                        fewer=frozenset({loose}))
    tenon = _tenon(source, joint)
    if tenon is None:
        return None
    says = f"Leave the tenon of {name} off, so that {joint.a} meets {joint.b} with a plain face"
    return _Changed(WayOut("leave out", name, joint.a, says),
                    {joint.a: source.assembly.solid(joint.a, source.done).cut(tenon)})


def _made_loose(source: Source, units: Sequence[Unit], name: str) -> Iterator[_Changed]:
    """Yield the work with the tenon of a joint a piece of its own, as deep in both pieces."""
    joint = source.assembly.design.joint[name]
    tenon = _tenon(source, joint)
    if tenon is None or _loose_tenon(source, units, name) or joint.travel <= 0:
        return
    whole = tenon.joined(tenon.moved(joint.seat_a @ move(z=-joint.travel) @ inverse(joint.seat_a)))
    part = source.assembly.part(joint.a)
    own = Part(f"{name} loose tenon", replace(part.blank, solid=whole))
    says = f"Make the tenon of {name} a loose one, mortised into {joint.a} and {joint.b}, and bring it in afterwards"
    yield _Changed(WayOut("make loose", name, joint.a, says),
                   {joint.a: source.assembly.solid(joint.a, source.done).cut(whole)},
                   ((own, source.assembly.frames[joint.a]),),
                   joints=(replace(joint, name=own.name, a=own.name),))


def _opened(source: Source, units: Sequence[Unit], *names: str) -> Iterator[_Changed]:
    """Yield the work with the mortises of some joints opened to one side, the side that takes the least wood first."""
    joints = [source.assembly.design.joint[n] for n in names]
    seat = source.assembly.seat(joints[0])
    tried = []
    sides = (seat[:3, 0], -seat[:3, 0], seat[:3, 1], -seat[:3, 1])
    for way, senses in product(sides, product((1.0, -1.0), repeat=len(names) - 1)):
        solids: dict[str, Solid] | None = {}
        for joint, sense in zip(joints, (1.0, *senses), strict=True):
            loose = _loose_tenon(source, units, joint.name)
            solids = solids if solids is None else _opened_to(source, joint, loose, sense * way, solids)
        if solids is not None:
            taken = sum(source.assembly.solid(n, source.done).volume - s.volume for n, s in solids.items())
            tried.append((round(taken, 3), way, senses, solids))
    for _, way, senses, solids in sorted(tried, key=lambda t: t[0]):
        says = _says_opened(source, joints, way, senses, joints[0].a in solids)
        yield _Changed(WayOut("open", names[0], joints[0].b, says), solids)


def _says_opened(source: Source, joints: Sequence[Joint], way: Array, senses: Sequence[float], both: bool) -> str:
    side = _side(source.assembly, joints[0], way)
    if len(joints) == 1:
        where = f"both {joints[0].a} and {joints[0].b}" if both else joints[0].b
        return f"Open the mortise of {joints[0].name} in {where} {side}, so that its tenon drops in from that side"
    alike = [j.name for j, sense in zip(joints, (1.0, *senses), strict=True) if sense > 0]
    opposite = [j.name for j in joints if j.name not in alike]
    across = f", and that of {' and '.join(opposite)} to the opposite side" if opposite else ""
    many = "mortise" if len(alike) == 1 else "mortises"
    return f"Open the {many} of {' and '.join(alike)} {side}{across}, so that the tenons drop in from the side"


def _opened_to(source: Source, joint: Joint, loose: str | None, towards: Array,
               done: Mapping[str, Solid]) -> dict[str, Solid] | None:
    """Return the solids `done` and those of a joint's mortised parts, run out to a side; None where one falls apart."""
    frames, seat = source.assembly.frames, source.assembly.seat(joint)
    sides = [seat[:3, 0], -seat[:3, 0], seat[:3, 1], -seat[:3, 1]]
    side = max(sides, key=lambda s: round(float(s @ towards), 6))
    if float(side @ towards) < SAME_SIDE:
        return None
    made = dict(done)
    for part in (joint.a, joint.b) if loose else (joint.b,):
        solid = made.get(part) or source.assembly.solid(part, source.done)
        cuts = _mortise(source, joint, part, loose)
        way = directions(inverse(frames[part]), side) * float(np.linalg.norm(solid.bounds[1] - solid.bounds[0]))
        opened = solid.cut(*(hull(np.vstack([c.mesh[0], c.mesh[0] + way])) for c in cuts))
        if not cuts or opened.empty or opened.pieces != 1:
            return None
        made[part] = opened
    return made


def _mortise(source: Source, joint: Joint, part: str, loose: str | None) -> list[Solid]:
    """Return what is cut out of a part for a joint, in its own frame; the tenon's own shape where no cut names it."""
    cuts = [f.solid for f in source.assembly.part(part).features if f.joint == joint.name and f.role == "mortise"]
    tenon = source.assembly.solid(loose, source.done) if loose else _tenon(source, joint)
    if cuts or tenon is None:
        return cuts
    frames = source.assembly.frames
    return [tenon.moved(inverse(frames[part]) @ frames[loose or joint.a])]


# -- what there is --------------------------------------------------------------------------------


def _loose_tenon(source: Source, units: Sequence[Unit], name: str) -> str | None:
    """Return the loose tenon of a joint among the units, where it has one that comes as a piece of its own."""
    halves = {j.a for j in source.assembly.design.joints if j.of == name}
    return next((u[0] for u in units if len(u) == 1 and u[0] in halves), None)


def _tenon(source: Source, joint: Joint) -> Solid | None:
    """Return the tenon of a joint in its part's own frame: the wood added for it, or what stands out past its plane."""
    part = source.assembly.part(joint.a)
    added = [f.solid for f in part.features if f.joint == joint.name and f.operation == "add"]
    seat = joint.seat_a
    beyond = source.assembly.solid(joint.a, source.done).split_at(seat[:3, 3] + LEVEL * seat[:3, 2], seat[:3, 2])
    if added:
        own = beyond.kept(*added)
        return None if own.empty else _grown_back(own, seat)
    if part.features or beyond.empty or joint.travel <= 0:
        return None
    short = []
    for piece in beyond.manifold.decompose():
        mesh = piece.to_mesh64()
        made = polyhedron(np.asarray(mesh.vert_properties)[:, :3], mesh.tri_verts)
        if made.bounds_in(seat)[1, 2] <= joint.travel + PLAY:
            short.append(made)
    return _grown_back(short[0].joined(*short[1:]), seat) if short else None


def _grown_back(tenon: Solid, seat: Frame) -> Solid:
    """Return a tenon run back to its meeting plane, so that nothing of it is left when it is cut off."""
    return tenon.joined(tenon.moved(seat @ move(z=-LEVEL) @ inverse(seat)))


def _side(assembly: Assembly, joint: Joint, way: Array) -> str:
    """Return the side of part b that a world direction points to, in words."""
    frame = assembly.frames[joint.b]
    best = max(assembly.part(joint.b).blank.places.items(), default=None,
               key=lambda p: round(float(directions(frame, p[1][:3, 2]) @ way), 6))
    return f"to its {best[0].replace('_', ' ')}" if best is not None else "to one side"
