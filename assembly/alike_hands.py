"""Hands: what makes a part the mirror image of another rather than the same."""

from __future__ import annotations

from functools import lru_cache

from assembly.alike_cuts import Difference, differences, laid_best
from model.design import Design


@lru_cache(maxsize=1024)
def handed_by(design: Design, one: str, other: str) -> tuple[Difference, ...]:
    """Return what makes two parts, by name, a mirror pair: the cuts that find no like one, laid as alike as can be.

    One is laid on the other by whichever proper motion leaves the fewest cuts over. What is on another side of
    the piece comes first. Where every cut finds its like, the blanks themselves are of two hands.
    """
    drawn = design if design.drawn is None else design.drawn
    mine, theirs = drawn.part[one], drawn.part[other]
    frame = laid_best(mine, theirs)
    if frame is None:
        return ()
    found = differences(mine, theirs, frame)
    return tuple(sorted(found, key=lambda d: d.what != "side"))
