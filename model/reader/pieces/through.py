"""Meshes that run through themselves, found exactly: an edge of one triangle goes through another."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from model.reader.pieces.body import Corners, Triangles

DEEP = 0.02
"""An edge goes through a face when it stands out by more than this on both sides, mm."""
LEAF = 48
"""Triangles this few are all held against each other."""
LEAF_MOST = 10_000
"""More than this that no line splits are too many to be held against each other."""
SPLITS = 0.85
"""A line splits boxes when neither side has more than this share of them."""
BATCH = 200_000
"""Pairs looked at in one go: bounds the memory."""

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Untold(Exception):
    """Too many triangles lie over each other to hold each against each."""


def runs_through(corners: Corners, triangles: Triangles) -> tuple[float, float, float] | None:
    """Return a spot (mm) where an edge of a mesh (mm) goes through one of its faces by DEEP; None where none does.

    Not found: what goes through by less; faces folded flat onto each other. Raises Untold.
    """
    at = corners[triangles]
    low, high = at.min(axis=1), at.max(axis=1)
    for pairs in _batches(low, high):
        found = _crossed(at, triangles, pairs)
        if found is not None:
            return found
    return None


def _batches(low: Floats, high: Floats) -> Iterator[Ints]:
    """Give the pairs (P, 2) of boxes that meet, a pair perhaps more than once."""
    waiting: list[Ints] = []
    count = 0
    for few in _leaves(low, high):
        rows = max(1, BATCH // len(few))
        for start in range(0, len(few), rows):
            pairs = _meeting(low, high, few[start:start + rows], few[start:])
            waiting.append(pairs)
            count += len(pairs)
            if count > BATCH:
                yield np.unique(np.concatenate(waiting), axis=0)
                waiting, count = [], 0
    if waiting:
        yield np.unique(np.concatenate(waiting), axis=0)


def _meeting(low: Floats, high: Floats, some: Ints, others: Ints) -> Ints:
    near = np.all((low[some, None] <= high[None, others]) & (low[None, others] <= high[some, None]), axis=2)
    i, j = np.nonzero(near & (some[:, None] < others[None, :]))
    return np.column_stack([some[i], others[j]])


def _leaves(low: Floats, high: Floats) -> Iterator[Ints]:
    """Give sets of boxes that are few, or cannot be split: each two boxes that meet are together in one."""
    waiting = [np.arange(len(low))]
    while waiting:
        few = waiting.pop()
        halves = _split(low, high, few) if len(few) > LEAF else None
        if halves is None:
            if len(few) > LEAF_MOST:
                raise Untold
            yield few
        else:
            waiting += halves


def _split(low: Floats, high: Floats, few: Ints) -> list[Ints] | None:
    """Return boxes split in two, those on the line in both; None where that leaves most of them together."""
    middle = (low[few] + high[few]) / 2
    tried = []
    for axis in range(3):
        line = float(np.median(middle[:, axis]))
        tried.append([few[low[few, axis] <= line], few[high[few, axis] >= line]])
    best = min(tried, key=lambda halves: max(map(len, halves)))
    return best if max(map(len, best)) < SPLITS * len(few) else None


def _crossed(at: Floats, triangles: Ints, pairs: Ints) -> tuple[float, float, float] | None:
    """Return a spot where an edge of one triangle of a pair (P, 2) goes through the other."""
    shared = (triangles[pairs[:, 0]][:, :, None] == triangles[pairs[:, 1]][:, None, :]).sum(axis=(1, 2))
    pairs = pairs[shared < 2]
    for i, j in (pairs.T, pairs[:, ::-1].T):
        base, one, other = (at[j][:, k] for k in range(3))
        normal = np.cross(one - base, other - base)
        size = np.linalg.norm(normal, axis=1)
        normal = normal / np.maximum(size, 1e-300)[:, None]
        height = np.einsum("pki,pi->pk", at[i] - base[:, None], normal)
        for k in range(3):
            start, end = height[:, k], height[:, (k + 1) % 3]
            rows = np.flatnonzero((np.minimum(start, end) < -DEEP) & (np.maximum(start, end) > DEEP) & (size > 0))
            share = start[rows] / (start[rows] - end[rows])
            spot = at[i[rows], k] + share[:, None] * (at[i[rows], (k + 1) % 3] - at[i[rows], k])
            inside = _inside(spot, base[rows], one[rows], other[rows], normal[rows])
            if inside.any():
                x, y, z = spot[int(np.argmax(inside))].tolist()
                return x, y, z
    return None


def _inside(spot: Floats, a: Floats, b: Floats, c: Floats, normal: Floats) -> NDArray[np.bool_]:
    """Return whether spots (P, 3) in the planes of triangles lie inside them."""
    inside = np.ones(len(spot), dtype=bool)
    for start, end in ((a, b), (b, c), (c, a)):
        inside &= np.einsum("pi,pi->p", np.cross(end - start, spot - start), normal) > 0
    return inside
