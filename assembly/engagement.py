"""Engagement: how far pieces slide in each other's joints before they are clear."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from assembly.blocking import Blocking, Tie

Array = NDArray[np.float64]

ALONG = 0.2
"""A joint whose axis leans less than this (cosine) along a move is not slid by it."""
BESIDE = 0.1
"""A contact whose normal leans less than this (sine) along a move is slid along."""


def ties_between(held: Blocking, leaving: Sequence[int], staying: Collection[int]) -> list[Tie]:
    """Return the joints between units that leave and units that stay."""
    return [t for u in leaving for t in held.ties_of[u] if (t.b if t.a == u else t.a) in staying]


def engagement(held: Blocking, leaving: Sequence[int], staying: Collection[int], out: Array) -> float:
    """Return how far the leaving units slide along `out` before they are clear of those they touch, mm.

    Along a joint that is the joint's own travel; for contacts without a joint it is how far
    the two reach past one another along the motion.
    """
    most = 0.0
    ties = ties_between(held, leaving, staying)
    for tie in ties:
        lean = abs(float(tie.axis @ out))
        if lean > ALONG:
            most = max(most, tie.joint.travel / lean)
    joined = {frozenset((t.a, t.b)) for t in ties}
    for u, v in _slid(held, leaving, staying, out):
        if frozenset((u, v)) not in joined:
            most = max(most, _overlap(held, u, v, out))
    return most


def _slid(held: Blocking, leaving: Sequence[int], staying: Collection[int], out: Array) -> list[tuple[int, int]]:
    """Return the pairs (leaving, staying) of units with a face that slides along the motion."""
    move, found = set(leaving), set()
    for p in sorted({int(p) for u in leaving for p in held.patches_of[u]}):
        a, b = int(held.first[p]), int(held.second[p])
        u, v = (a, b) if a in move else (b, a)
        if u in move and v in staying and abs(float(held.normals[p] @ out)) < BESIDE:
            found.add((u, v))
    return sorted(found)


def _overlap(held: Blocking, u: int, v: int, out: Array) -> float:
    low, high = held.bodies.extent(out)
    return max(0.0, float(high[held.members[v], 2].max()) - float(low[held.members[u], 2].min()))
