"""The broad phase: which parts stand near enough to each other to be looked at closely."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

BATCH = 1_000_000
"""Candidate pairs looked at in one go: bounds the memory, whatever the number of boxes."""
CROWD = 200.0
"""With more candidates a box than this, on average, the sweep is cut into strips."""


def near_pairs(low: Floats, high: Floats, slack: float) -> Ints:
    """Return the pairs i < j of boxes (N, 3) that come within `slack` mm of each other, sorted, (P, 2).

    A negative slack asks for boxes that overlap by more than that in every direction.
    Swept along the axis on which the boxes lie most apart, in strips where they crowd;
    memory stays below BATCH pairs.
    """
    if len(low) < 2:
        return np.empty((0, 2), dtype=np.int64)
    axes = sorted(range(3), key=lambda k: int(_reach(low[:, k], high[:, k], slack)[1].sum()))
    crowd = int(_reach(low[:, axes[0]], high[:, axes[0]], slack)[1].sum()) / len(low)
    strips = _strips(low[:, axes[1]], high[:, axes[1]], slack) if crowd > CROWD else [np.arange(len(low))]
    pairs = np.unique(np.concatenate([rows[_swept(low[rows], high[rows], slack, axes[0])] for rows in strips]), axis=0)
    return pairs.astype(np.int64)


def _strips(low: Floats, high: Floats, slack: float) -> list[Ints]:
    """Cut the boxes into strips along an axis, a box in every strip it reaches into; rows in rising order."""
    wide = max(8.0 * float(np.mean(high - low)) + abs(slack), 1e-9)
    count = int(np.clip((high.max() - low.min()) / wide, 1, np.sqrt(len(low))))
    edges = np.linspace(low.min(), high.max(), count + 1)
    reach = max(slack, 0.0)
    return [np.flatnonzero((low <= edges[k + 1] + reach) & (high >= edges[k] - reach)) for k in range(count)]


def _swept(low: Floats, high: Floats, slack: float, axis: int) -> Ints:
    order, count = _reach(low[:, axis], high[:, axis], slack)
    if not count.sum():
        return np.empty((0, 2), dtype=np.int64)
    low, high = low[order], high[order]
    found = [_overlapping(low, high, slack, *span, count) for span in _spans(count)]
    return np.sort(order[np.concatenate(found)], axis=1)


def _reach(low: Floats, high: Floats, slack: float) -> tuple[Ints, Ints]:
    """Return the order of boxes along an axis and, in that order, how many later ones start within reach of each."""
    order = np.argsort(low, kind="stable")
    last = np.searchsorted(low[order], high[order] + slack, side="right")
    return order, np.maximum(last - np.arange(1, len(low) + 1), 0)


def _spans(count: Ints) -> list[tuple[int, int]]:
    """Cut the boxes into runs of about BATCH candidate pairs each."""
    total = np.cumsum(count)
    cuts = np.searchsorted(total, np.arange(BATCH, int(total[-1]) + BATCH, BATCH))
    ends = np.unique(np.minimum(np.append(cuts + 1, len(count)), len(count)))
    starts = np.concatenate([[0], ends[:-1]])
    return [(int(s), int(e)) for s, e in zip(starts, ends, strict=True)]


def _overlapping(low: Floats, high: Floats, slack: float, start: int, end: int, count: Ints) -> Ints:
    here = count[start:end]
    i = np.repeat(np.arange(start, end), here)
    j = i + 1 + np.arange(len(i)) - np.repeat(np.cumsum(here) - here, here)
    near = np.all((low[i] <= high[j] + slack) & (low[j] <= high[i] + slack), axis=1)
    return np.column_stack([i[near], j[near]])
