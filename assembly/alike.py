"""Alike: parts gathered by true sameness, mirror pairs, and the marks that a person writes on them.

Parts are the same when one can take the other's place: the same shape by some proper motion, at
every step at which the machines change it, with the grain line on the grain line, out of the same
species and section, and both in the finished work or both temporary. Mirror pairs are the same by
an improper motion only. A design as cut keeps the marks of its drawing: they are on the wood by then.
Only shapes that differ are compared, so a thousand parts of thirteen shapes cost what thirteen cost.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from types import MappingProxyType
from typing import Literal

import numpy as np

from assembly.symmetry import TOLERANCE, carries, maps
from model.design import Design
from model.frames import Frame, directions
from model.part import ALL, Part
from model.solids import Solid

Hand = Literal["", "a", "b"]

LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ"
"""Letters of the marks: I, O and Q are left out, which pencil on wood turns into 1 and 0."""
GRAIN = 1e-3
"""Grain lines lie on each other within this, rad (0.06 degrees)."""

SKIN = 1.1
"""Volumes of one shape differ by no more than the tolerance over the whole surface, and a little for its edges."""


@dataclass(frozen=True)
class Group:
    """Parts that are truly the same, by name, in the design's order; `hand` tells the two of a mirror pair apart.

    `mark` is what a person writes on them: a letter, and the hand where there are two ("C", "Ca", "Cb").
    """

    mark: str
    parts: tuple[str, ...]
    hand: Hand = ""

    @property
    def letter(self) -> str:
        """The mark without its hand."""
        return self.mark.removesuffix(self.hand)

    @property
    def first(self) -> str:
        """The part that stands for all of them."""
        return self.parts[0]


@dataclass(frozen=True)
class Kind:
    """What sameness goes by, without names: `states` are the solids of the part step by step, the finished one last.

    `stock` is its species and section, mm; `grain` the direction of its fibres.
    """

    stock: tuple[str, float, float]
    temporary: bool
    states: tuple[Solid, ...]
    grain: tuple[float, float, float]

    @property
    def finished(self) -> Solid:
        """The part with every feature made."""
        return self.states[-1]


def groups(design: Design) -> tuple[Group, ...]:
    """Return the groups of parts that are truly the same, in the design's order."""
    return _sorted(_drawn(design)).groups


def marks(design: Design) -> Mapping[str, str]:
    """Return the mark of every part by its name."""
    return _sorted(_drawn(design)).marks


def onto_first(design: Design) -> Mapping[str, Frame]:
    """Return for every part a proper 4x4 that carries its own frame onto that of the first of its group."""
    return _sorted(_drawn(design)).onto_first


def handed_pairs(design: Design) -> tuple[tuple[Group, Group], ...]:
    """Return the mirror pairs of groups, hand a first, in the design's order."""
    twins: dict[str, list[Group]] = {}
    for group in groups(design):
        if group.hand:
            twins.setdefault(group.letter, []).append(group)
    return tuple((one, other) for one, other in twins.values())


def kind_of(design: Design, part: Part) -> Kind:
    """Return what a part's sameness goes by."""
    stock = part.blank.stock
    x, y, z = (round(float(v), 9) + 0.0 for v in part.blank.grain)
    return Kind((stock.species.name, round(stock.thickness, 3), round(stock.width, 3)), part.temporary,
                _states(design, part), (x, y, z))


def same(one: Kind, other: Kind, *, mirrored: bool = False, tolerance: float = TOLERANCE) -> Frame | None:
    """Return a map that makes two kinds one, proper or improper; None where there is none."""
    if (one.stock, one.temporary, len(one.states)) != (other.stock, other.temporary, len(other.states)):
        return None
    return next(_same(one, other, mirrored, tolerance), None)


def _same(one: Kind, other: Kind, mirrored: bool, tolerance: float) -> Iterator[Frame]:
    for frame in maps(one.finished, other.finished, mirrored=mirrored, tolerance=tolerance):
        if grain_held(frame, one.grain, other.grain) and all(
                carries(frame, a, b, tolerance) for a, b in zip(one.states[:-1], other.states[:-1], strict=True)):
            yield frame


def grain_held(frame: Frame, one: tuple[float, float, float], other: tuple[float, float, float]) -> bool:
    """Whether a frame lays one grain line on another, either way along."""
    return float(np.linalg.norm(np.cross(directions(frame, np.array(one)), other))) <= GRAIN


def _drawn(design: Design) -> Design:
    return design if design.drawn is None else design.drawn


def _states(design: Design, part: Part) -> tuple[Solid, ...]:
    late = {f.after for f in part.features if f.after is not None}
    if not late:
        return (part.finished,)
    order = {s.name: k for k, s in enumerate(design.stages)}
    behind = sorted(late, key=lambda s: (order.get(s, len(order)), s))
    return (*(part.solid(frozenset(behind[:k])) for k in range(len(behind))), part.solid(ALL))


# -- sorting into groups ------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class _Sorted:
    groups: tuple[Group, ...]
    marks: Mapping[str, str]
    onto_first: Mapping[str, Frame]


@dataclass(eq=False)
class _Heap:
    """Parts of one kind while they are being sorted."""

    kind: Kind
    names: list[str] = field(default_factory=list)
    twin: int | None = None


@lru_cache(maxsize=32)
def _sorted(design: Design) -> _Sorted:
    heaps: list[_Heap] = []
    near = _Near(heaps)
    home: dict[Kind, tuple[int, Frame]] = {}
    onto: dict[str, Frame] = {}
    for part in design.parts:
        kind = kind_of(design, part)
        if kind not in home:
            home[kind] = _found(kind, heaps, near)
        number, frame = home[kind]
        heaps[number].names.append(part.name)
        onto[part.name] = frame
    return _marked(heaps, onto)


class _Near:
    """The heaps by what no motion changes, so that only shapes of about one volume are compared."""

    def __init__(self, heaps: list[_Heap]) -> None:
        self._heaps = heaps
        self._bins: dict[tuple[object, ...], list[int]] = {}

    def of(self, kind: Kind) -> list[int]:
        """Return the heaps that a kind could belong to, or be the twin of, those of the nearest volume first."""
        volume, slack = kind.finished.volume, SKIN * TOLERANCE * float(kind.finished.manifold.surface_area())
        apart = {k: abs(self._heaps[k].kind.finished.volume - volume) for k in self._bins.get(self._bin(kind), ())}
        return sorted((k for k, by in apart.items() if by <= slack), key=apart.__getitem__)

    def add(self, number: int) -> None:
        """Take up a heap."""
        self._bins.setdefault(self._bin(self._heaps[number].kind), []).append(number)

    @staticmethod
    def _bin(kind: Kind) -> tuple[object, ...]:
        return kind.stock, kind.temporary, len(kind.states)


def _found(kind: Kind, heaps: list[_Heap], near: _Near) -> tuple[int, Frame]:
    """Return the heap a kind belongs to and the map to its first, a new heap where there is none yet."""
    candidates = near.of(kind)
    for number in candidates:
        frame = same(kind, heaps[number].kind)
        if frame is not None:
            return number, frame
    made = _Heap(kind)
    for number in candidates:
        if heaps[number].twin is None and same(kind, heaps[number].kind, mirrored=True) is not None:
            made.twin, heaps[number].twin = number, len(heaps)
            break
    heaps.append(made)
    near.add(len(heaps) - 1)
    return len(heaps) - 1, np.eye(4)


def _marked(heaps: list[_Heap], onto: dict[str, Frame]) -> _Sorted:
    made: list[Group] = []
    letters = 0
    for number, heap in enumerate(heaps):
        if heap.twin is not None and heap.twin < number:
            made.append(Group(made[heap.twin].letter + "b", tuple(heap.names), "b"))
            continue
        hand: Hand = "" if heap.twin is None else "a"
        made.append(Group(letter(letters) + hand, tuple(heap.names), hand))
        letters += 1
    return _Sorted(tuple(made), MappingProxyType({n: g.mark for g in made for n in g.parts}), MappingProxyType(onto))


def letter(number: int) -> str:
    """Return the letter of the group with a number from 0: A to Z without I, O, Q, then AA, AB and so on."""
    high, low = divmod(number, len(LETTERS))
    return (letter(high - 1) if high else "") + LETTERS[low]
