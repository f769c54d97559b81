"""Interference: wood where other wood already is, and how deep.

Each two shapes are looked at once for every position towards each other (see `bites`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.bites import TOLERANCE, bites
from assembly.broad import near_pairs
from assembly.placing import Assembly
from assembly.shrink import DELTA
from assembly.standing import larger_first, meetings, standing
from model.frames import directions, points
from model.part import ALL

__all__ = ["TOLERANCE", "Overlap", "bites", "overlaps"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Overlap:
    """One place where two parts are in the same wood.

    `depth`: how much wood there is to take off, mm, across its thickest bit; `where` the
    centre (3,) of that bit and `along` the unit direction (3,) across it, in the world, from
    a towards b; `volume` mm³, exact for all places of a pair together. `told` is False where
    both parts have walls too thin to decide: `depth` is then the most it can be.
    """

    a: str
    b: str
    depth: float
    where: Floats
    volume: float
    told: bool
    along: Floats


def overlaps(assembly: Assembly, done: frozenset[str] = ALL, names: Sequence[str] | None = None) -> tuple[Overlap, ...]:
    """Return every place where two of the named parts (all then there when None) are in the same wood.

    Deepest first. `done` names the stages behind the parts. Promised: an overlap deeper than
    TOLERANCE in every direction is found, and faces that touch or stand clear are not.
    Not promised: the exact depth of a thick overlap that is hollow (see `thickness`).
    """
    return _overlaps(assembly, done, assembly.there(done) if names is None else tuple(names))


@lru_cache(maxsize=32)
def _overlaps(assembly: Assembly, done: frozenset[str], names: tuple[str, ...]) -> tuple[Overlap, ...]:
    stand = standing(assembly, done, names)
    pairs = larger_first(stand, near_pairs(stand.low, stand.high, -DELTA))
    found: list[Overlap] = []
    for (i, j), meeting in zip(pairs.tolist(), meetings(stand, pairs), strict=True):
        frame = stand.frames[i]
        one, other, sign = (names[i], names[j], 1.0) if i < j else (names[j], names[i], -1.0)
        found.extend(
            Overlap(one, other, bite.depth, points(frame, bite.where), bite.volume, bite.told,
                    sign * directions(frame, bite.along))
            for bite in bites(meeting)
        )
    return tuple(sorted(found, key=lambda o: (-round(o.depth, 6), o.a, o.b, -o.volume)))
