"""Kinds of instance: a sound structure of about so many parts, and the same with a lock whose pieces are known."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from assembly.placing import Assembly, place
from assembly.standing import standing as boxes_of
from model.frames import Frame, inverse
from model.joint import Joint
from model.part import Feature, Part
from model.solids import Solid, box
from tests.bench import structures
from tests.blocks import links, piece, polygon, split_links, standing, tapered_key, tied

Spoilt = tuple[Assembly, frozenset[str]]
SIZES = (10, 30, 100, 300, 1000)
SHAFT, HEAD, PLAY = 4.0, 8.0, 0.2
"""Half the thickness of a peg and of its heads, and the play in its hole, mm."""


@dataclass(frozen=True)
class Instance:
    """A structure where it stands; `cause`: the pieces that lock each other, none where it can be put together."""

    kind: str
    size: int
    assembly: Assembly
    cause: frozenset[str]

    @property
    def possible(self) -> bool:
        """Whether it can be put together."""
        return not self.cause


def pegged(assembly: Assembly, wanted: int = 0) -> Spoilt:
    """Return the structure with a headed peg through one of its joints, square to the joint and to its long way.

    The first joint from the one wanted on beside whose pieces the heads have room.
    """
    joints = assembly.design.joints
    for joint in (*joints[wanted:], *joints[:wanted]):
        for turned in (0, 1):
            made = _pegged(assembly, joint, turned)
            if made is not None:
                return made
    raise AssertionError("no joint has room for a peg")


def _pegged(assembly: Assembly, joint: Joint, axis: int) -> Spoilt | None:
    """Return the structure pegged through one joint along its seat's x (0) or y (1), or None for lack of room."""
    seat = assembly.seat(joint)
    depth = max(joint.travel / 2, SHAFT + 2.0)
    ends = [_along(assembly, name, seat, axis, depth) for name in (joint.a, joint.b)]
    if any(e is None for e in ends):
        return None
    low, high = min(e[0] for e in ends if e), max(e[1] for e in ends if e)

    def bar(half: float, start: float, end: float) -> Solid:
        lo, hi = np.array([-half, -half, depth - half]), np.array([half, half, depth + half])
        lo[axis], hi[axis] = start, end
        return box(lo, hi)

    hole = bar(SHAFT + PLAY, low - 5.0, high + 5.0)
    heads = [bar(HEAD, low - 12.0 - PLAY, low - PLAY), bar(HEAD, high + PLAY, high + 12.0 + PLAY)]
    peg = bar(SHAFT, low - 2.0, high + 2.0).joined(*heads)
    if any(_meets(assembly, head.moved(seat), {joint.a, joint.b}) for head in (*heads, hole)):
        return None
    return _with_peg(assembly, joint, seat, peg, hole), frozenset({"peg", joint.a, joint.b})


def _along(assembly: Assembly, name: str, seat: Frame, axis: int, depth: float) -> tuple[float, float] | None:
    """Return how far a part reaches along an axis of a seat where a peg goes through it, or None."""
    there = inverse(seat) @ assembly.frames[name]
    solid = assembly.solid(name).moved(there)
    lo, hi = np.array([-SHAFT, -SHAFT, depth - SHAFT]), np.array([SHAFT, SHAFT, depth + SHAFT])
    lo[axis], hi[axis] = -1e4, 1e4
    core = solid.kept(box(lo, hi))
    if core.empty or core.volume < 4.0 * SHAFT * SHAFT * 6.0:
        return None
    bounds = solid.kept(box(lo - HEAD * (np.arange(3) != axis), hi + HEAD * (np.arange(3) != axis))).bounds
    return float(bounds[0, axis]), float(bounds[1, axis])


def _meets(assembly: Assembly, solid: Solid, but: set[str]) -> bool:
    stand = boxes_of(assembly)
    low, high = solid.bounds
    near = np.all((stand.low < high) & (stand.high > low), axis=1)
    return any(stand.names[k] not in but and not solid.kept(stand.solids[k].moved(stand.frames[k])).empty
               for k in np.flatnonzero(near).tolist())


def _with_peg(assembly: Assembly, joint: Joint, seat: Frame, peg: Solid, hole: Solid) -> Assembly:
    def drilled(part: Part) -> Part:
        if part.name not in (joint.a, joint.b):
            return part
        cutter = hole.moved(inverse(assembly.frames[part.name]) @ seat)
        return replace(part, features=(*part.features, Feature("peg hole", "cut", cutter, "mortise", "pin")))

    design = assembly.design
    own = piece("peg", peg)
    pin = Joint("pin", "glued face", "peg", joint.b, np.eye(4), inverse(assembly.frames[joint.b]) @ seat, 0.0, False)
    parts = (*(drilled(p) for p in design.parts), own)
    return Assembly(replace(design, parts=parts, joints=(*design.joints, pin), stages=()),
                    {**assembly.frames, "peg": seat})


# -- kinds -----------------------------------------------------------------------------------------


def lattice(size: int) -> Assembly:
    """Posts in a row with rails between them on many levels."""
    return place(structures.lattice(size))


def gateway(size: int) -> Assembly:
    """Two arches of segments on legs with rails between them, as they stand at last; the family ends at six hundred."""
    design = structures.gateway(min(size, 580))
    gone = {p.name for p in design.parts if p.temporary}
    joints = tuple(j for j in design.joints if j.a not in gone and j.b not in gone)
    return place(replace(design, stages=(), parts=tuple(p for p in design.parts if not p.temporary), joints=joints))


def ring_even(size: int) -> Assembly:
    """A closed ring of an even number of mitred pieces, a tongue square to each mitre: two halves go together."""
    return loose(polygon(size + size % 2, radius=max(300.0, 30.0 * size)))


def ring_odd(size: int) -> Assembly:
    """The same of an odd number: it closes only all at once."""
    return loose(polygon(size + 1 - size % 2, radius=max(300.0, 30.0 * size)))


def loose(assembly: Assembly) -> Assembly:
    return replace(assembly, design=replace(assembly.design, stages=()))


def nested(size: int) -> Assembly:
    """Open boxes dropped into each other."""
    return standing(_shells(size))


def _shells(size: int, closed: int | None = None) -> Mapping[str, Solid]:
    found = {}
    for k in range(size):
        half = 20.0 + 10.0 * (size - k)
        outer = box((-half, -half, 10.0 * k), (half, half, 10.0 * size + 40.0))
        inner = box((-half + 10.0, -half + 10.0, 10.0 * (k + 1)), (half - 10.0, half - 10.0, 1e4 if k != closed else
                                                                   10.0 * size + 30.0))
        found[f"box_{k}"] = outer.cut(inner)
    return found


def nested_shut(size: int) -> Spoilt:
    """The same, the innermost but one closed all round, with the last in it."""
    shells = dict(_shells(size, closed=size - 2))
    k, half = size - 1, 30.0
    shells[f"box_{k}"] = box((-half + 5, -half + 5, 10.0 * k + 1), (half - 5, half - 5, 10.0 * size + 20.0))
    return standing(shells), frozenset({f"box_{size - 2}", f"box_{size - 1}"})


CELLS: tuple[Callable[[], Assembly], ...] = (tapered_key, split_links)
"""Small locks that come apart, if one knows how."""


def cells(size: int, last: Callable[[], Assembly] | None = None) -> Assembly:
    """Small locks in a row, each undone in a way of its own."""
    solids: dict[str, Solid] = {}
    k = 0
    while len(solids) < size - 2:
        _set_down(solids, CELLS[k % len(CELLS)](), k)
        k += 1
    _set_down(solids, (last or tapered_key)(), k)
    return standing(solids)


def _set_down(solids: dict[str, Solid], cell: Assembly, k: int) -> None:
    frame = np.eye(4)
    frame[:3, 3] = (400.0 * (k % 20), 400.0 * (k // 20), 0.0)
    solids.update({f"{name}_{k}": cell.solid(name).moved(frame) for name in cell.names})


def cells_linked(size: int) -> Spoilt:
    """The same, the last of them two links of a chain, each in one piece."""
    assembly = cells(size, links)
    return assembly, frozenset(n for n in assembly.names if n.startswith(("lying_", "upright_")) and
                               int(n.rsplit("_", 1)[1]) == max(int(m.rsplit("_", 1)[1]) for m in assembly.names))


def sill(size: int) -> Assembly:
    """Two posts on a sill in one piece with them, shelves lapped over them from the front, one above the other."""
    return standing(*_shelves(size, shut=None))


def _shelves(size: int, shut: int | None) -> tuple[Mapping[str, Solid], list[Joint]]:
    count = size - 1
    high = 60.0 * count + 40.0
    frame = box((0, 0, 0), (400, 60, high)).cut(box((60, -1, 40), (340, 61, high + 1)))
    shelves, slots, joints = {}, [], []
    for k in range(count):
        z = 50.0 + 60.0 * k
        front = 15.0 if k == shut else 0.0
        tenons = box((30, front, z), (370, 45, z + 20))
        shelves[f"shelf_{k}"] = tenons
        slots.append(tenons if k == shut else box((30, -1, z), (370, 45, z + 20)))
        joints.append(tied(f"shelf_{k}", f"shelf_{k}", "frame", (200, 45, z + 10), (0, 1, 0), 45.0))
    return {"frame": frame.cut(*slots), **shelves}, joints


def sill_shut(size: int) -> Spoilt:
    """The same, one shelf tenoned into both posts instead: nothing brings it there."""
    shut = (size - 1) // 2
    return standing(*_shelves(size, shut)), frozenset({"frame", f"shelf_{shut}"})


KINDS: Mapping[str, tuple[Callable[[int], Assembly], Callable[[int], Spoilt]]] = {
    "lattice": (lattice, lambda size: pegged(lattice(size), 1)),
    "gateway": (gateway, lambda size: pegged(gateway(size))),
    "even ring": (ring_even, lambda size: pegged(ring_even(size))),
    "odd ring": (ring_odd, lambda size: pegged(ring_odd(size))),
    "nested boxes": (nested, nested_shut),
    "small locks": (cells, cells_linked),
    "sill and shelves": (sill, sill_shut),
}
"""Each kind: sound, and spoilt by a lock whose pieces are known."""
LARGEST = {"gateway": 300, "odd ring": 100, "even ring": 300, "nested boxes": 100, "sill and shelves": 300}
"""Where a kind is not made as large as the others: beyond that it is of no use to anybody."""


def instances(sizes: Iterator[int] | tuple[int, ...] = SIZES) -> Iterator[Instance]:
    """Yield every kind in every size, sound and spoilt."""
    for size in sizes:
        for kind, (sound, spoilt) in KINDS.items():
            if size <= LARGEST.get(kind, math.inf):
                yield Instance(kind, size, sound(size), frozenset())
                yield Instance(kind, size, *spoilt(size))
