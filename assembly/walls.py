"""Walls: the wood left around every pocket of a part, at each step, and where a pocket comes out through a face.

A pocket is a mortise, slot, housing or lap. Looked at is the body the pockets are cut into,
as it is before any glue and after each stage behind which more is cut off it. A wall stands
between a side or the bottom of a pocket and a face of the body that turns its back on it, or
between two pockets.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from assembly.broad import near_pairs
from assembly.walls_around import Around, Least, around, least, openings
from assembly.walls_nearest import nearest, sheet
from assembly.walls_pockets import Pocket, Pocketed, Way, pocketed, sunk
from model.design import Design
from model.part import Feature, Part
from model.solids import Solid

Floats = NDArray[np.float64]
WallKind = Literal["wall", "floor", "cover", "between", "core", "rib"]

APART = 25.0
"""Pockets farther apart than this, mm, have plain wood between them, and no wall."""
MET = 1e-3
"""Pockets with less than this in common, mm³, only touch."""


@dataclass(frozen=True, eq=False)
class Wall:
    """The least wood, `left` mm, between a pocket and the outside, or another pocket.

    `kind`: wall, beside the pocket; floor, under its bottom; cover, to a face made by a later
    cut; between, to another pocket; core, what a bridle leaves of the piece beside its slots
    or between them; rib, beside a lap or housing, or between two of them. `pocket` and `other`
    are numbers of pockets, `other` None unless there is one. `at` (3,) is the middle of the
    thinnest place and `way` (3,) the unit way through it, out of the pocket, in the part's
    frame. `step`: the step of the part from which on it is so thin. `before`: what a cover's
    cut found on that side, mm, None where that is plenty. `runs`: how far two pockets run into
    each other, mm.
    """

    kind: WallKind
    left: float
    pocket: int
    other: int | None
    at: Floats
    way: Floats
    step: int
    before: float | None = None
    runs: float = 0.0


@dataclass(frozen=True, eq=False)
class Break:
    """A pocket, by number, that comes out `by` mm through a face that is not its mouth, in the part's frame.

    `at` (3,) is where it comes out farthest, `way` (3,) where the face there looks, `step`
    the step of the part from which on it does.
    """

    by: float
    pocket: int
    at: Floats
    way: Floats
    step: int


@dataclass(frozen=True, eq=False)
class Left:
    """What is left around the pockets of a part: their features by number, the stage behind each step, "" first."""

    pockets: tuple[Feature, ...]
    stages: tuple[str, ...]
    walls: tuple[Wall, ...]
    breaks: tuple[Break, ...]


NOTHING = Left((), ("",), (), ())


def left_around(design: Design, part: Part) -> Left:
    """Return the walls around a part's pockets, the least of each kind for each pocket, and where pockets come out.

    Least distances are exact for the faceted solids. Not measured: wood between a pocket and
    a face that turns its back on none of its sides within 60 degrees (a flat chamfer beside a
    mouth); wood to a hole that is no joint's pocket unless it is the nearest face.
    """
    found = pocketed(design, part)
    if found is None:
        return NOTHING
    shapes, named = found
    walls, breaks = _left(shapes)
    return Left(named.features, named.stages, walls, breaks)


@lru_cache(maxsize=4096)
def _left(shapes: Pocketed) -> tuple[tuple[Wall, ...], tuple[Break, ...]]:
    walls: list[Wall] = []
    breaks: list[Break] = []
    for number in range(len(shapes.pockets)):
        for step, found in _steps(shapes, number):
            walls.extend(_walls(found, number, step, shapes.pockets[number]))
            if found.out is not None:
                breaks.append(Break(found.out.by, number, found.out.at, found.out.way, step))
    return (*walls, *_between(shapes)), tuple(breaks)


def _steps(shapes: Pocketed, number: int) -> Iterator[tuple[int, Around]]:
    """Give what is around a pocket at the first step at which it is there, and at each that cuts more off the body."""
    pocket, drawn = shapes.pockets[number], shapes.drawn[number]
    meant = openings(*drawn) if drawn is not None else openings(shapes.bodies[pocket.step], pocket)
    was: Solid | None = None
    for step in range(pocket.step, len(shapes.bodies)):
        body = shapes.bodies[step]
        if body is not was:
            yield step, around(body, was, pocket, meant)
        was = body


def _walls(found: Around, number: int, step: int, pocket: Pocket) -> Iterator[Wall]:
    """Give the walls of a pocket at a step; those to faces cut later are covers."""
    beside: WallKind = "core" if pocket.role == "slot" else "rib" if pocket.open else "wall"
    kinds: tuple[tuple[WallKind, Least | None], ...] = ((beside, found.side), ("floor", found.floor))
    for kind, now in kinds:
        if now is not None:
            of: WallKind = "cover" if step != pocket.step else kind
            yield Wall(of, now.left, number, None, now.at, now.way, step, now.before)


def _between(shapes: Pocketed) -> Iterator[Wall]:
    """Give the walls between pockets that come within APART of each other."""
    if len(shapes.pockets) < 2:
        return
    boxes = np.array([p.solid.bounds for p in shapes.pockets])
    for i, j in near_pairs(boxes[:, 0], boxes[:, 1], APART).tolist():
        one, other = shapes.pockets[i], shapes.pockets[j]
        step = max(one.step, other.step)
        found = _apart(*((sunk(shapes.bodies[step], p.solid), p.into) for p in (one, other)))
        if found is not None:
            kind: WallKind = "core" if one.mate == other.mate else "rib" if one.open and other.open else "between"
            yield Wall(kind, found[0].left, i, j, found[0].at, found[0].way, step, None, found[1])


@lru_cache(maxsize=8192)
def _apart(one: tuple[Solid, Way], other: tuple[Solid, Way]) -> tuple[Least, float] | None:
    """Return the wall between two pockets, each with its way in, and how far they run into each other, mm.

    None where they are far apart. They run into each other as far as the one that reaches the
    less far into the other would have to be shallower.
    """
    (a, _), (b, _) = one, other
    if a.empty or b.empty:
        return None
    low, high = np.maximum(a.bounds[0], b.bounds[0]), np.minimum(a.bounds[1], b.bounds[1])
    if float(np.linalg.norm(np.maximum(low - high, 0.0))) > APART:
        return None
    common = a.manifold ^ b.manifold
    if common.volume() > MET:
        corners = np.array(common.to_mesh64().vert_properties, dtype=np.float64)[:, :3]
        runs = min(float((s.mesh[0] @ way).max() - (corners @ way).min())
                   for s, way in ((s, np.array(into)) for s, into in (one, other)))
        return Least(0.0, (corners.min(axis=0) + corners.max(axis=0)) / 2.0, np.array(one[1])), runs
    sides = sheet(*a.mesh)
    near = nearest(sides, sheet(*b.mesh))
    return None if near is None or near.distance > APART else (least(near, sides.turned_over()), 0.0)
