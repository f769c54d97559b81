"""Look-alikes: parts that a person would take for one another, and that cannot stand in for one another."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from assembly.alike import Group, groups
from assembly.alike_cuts import Difference, alignments, differences
from assembly.symmetry import misfit
from model.design import Design
from model.frames import Frame
from model.part import Part

LOOK_ALIKE = 5.0
"""Parts look alike when every corner is within this of one of the other, and every size of the blank too, mm."""
NEIGHBOURS = 12
"""How many kinds next to it in length each kind is compared with."""


@dataclass(frozen=True, eq=False)
class LookAlike:
    """Two groups that look alike, and in what they differ, the telling dimension first; `frame` lays the first of one
    on the first of the other."""

    one: Group
    other: Group
    frame: Frame
    telling: tuple[Difference, ...]


@lru_cache(maxsize=32)
def look_alikes(design: Design) -> tuple[LookAlike, ...]:
    """Return the pairs of groups that look alike, of the design as drawn, in its order.

    Of one species, with cuts alike in number and kind, every size of the blank and every corner of the finished part
    within LOOK_ALIKE. A mirror pair is none. Not told: parts that look alike only in the mirror, and,
    where more than NEIGHBOURS kinds crowd within a few millimetres, those that are not next to each other in length.
    """
    drawn = design if design.drawn is None else design.drawn
    found = groups(drawn)
    order = {g.mark: k for k, g in enumerate(found)}
    pairs = [sorted(pair, key=lambda g: order[g.mark]) for pair in _near(drawn, found)]
    made = [_look_alike(drawn, one, other) for one, other in sorted(pairs, key=lambda p: [order[g.mark] for g in p])]
    return tuple(one for one in made if one is not None)


def lying(one: Part, other: Part) -> Frame | None:
    """Return how one part is laid on the other with its corners nearest; None where no corner would be near."""
    best = min(((misfit(f, one.finished, other.finished), k, f) for k, f in enumerate(alignments(one, other))),
               key=lambda found: (round(found[0], 6), found[1]), default=None)
    return None if best is None or best[0] > LOOK_ALIKE else best[2]


def _near(design: Design, found: tuple[Group, ...]) -> Iterator[tuple[Group, Group]]:
    """Yield the pairs of groups whose blanks and cuts let them look alike."""
    bins: dict[tuple[object, ...], list[Group]] = {}
    for group in found:
        part = design.part[group.first]
        cuts = frozenset(Counter((f.operation, f.role) for f in part.features).items())
        bins.setdefault((part.blank.stock.species.name, part.temporary, cuts), []).append(group)
    for alike in bins.values():
        sizes = {g.mark: _size(design.part[g.first]) for g in alike}
        alike.sort(key=lambda g: sizes[g.mark].tolist())
        for k, one in enumerate(alike):
            for other in alike[k + 1:k + 1 + NEIGHBOURS]:
                if other.letter != one.letter and (np.abs(sizes[one.mark] - sizes[other.mark]) <= LOOK_ALIKE).all():
                    yield one, other


def _size(part: Part) -> np.ndarray:
    """Return the length of a blank and the two sides of its section, the wider first, mm (3,)."""
    blank = part.blank
    return np.array([blank.length, max(blank.width, blank.thickness), min(blank.width, blank.thickness)])


def _look_alike(design: Design, one: Group, other: Group) -> LookAlike | None:
    mine, theirs = design.part[one.first], design.part[other.first]
    frame = lying(mine, theirs)
    if frame is None:
        return None
    return LookAlike(one, other, frame, differences(mine, theirs, frame))
