"""Where moving parts get to, as boxes: enough to tell what surely stays clear of what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from exports.walk.laid import Laid

Floats = NDArray[np.float64]

STILL = 1e-9
"""A direction that leans less than this (sine) to an axis does not move along it."""


@dataclass
class Swept:
    """Boxes around all places that each part of a stage takes, shop frame, mm: `low` and `high` (N, 3)."""

    low: Floats
    high: Floats

    @classmethod
    def of(cls, laid: Laid) -> Swept:
        """Return the boxes around the parts at home."""
        return cls(laid.low.copy(), laid.high.copy())

    def by(self, rows: Sequence[int], off: Floats) -> None:
        """Take in the way of some parts from an offset (3,) to where they are."""
        self.low[rows] = np.minimum(self.low[rows], self.low[rows] + off)
        self.high[rows] = np.maximum(self.high[rows], self.high[rows] + off)


def parting(low: Floats, high: Floats, other_low: Floats, other_high: Floats, out: Floats) -> float:
    """Return from which distance along `out` (3,) on no box (N, 3) meets any of the others (M, 3), mm; 0 for always."""
    if not len(low) or not len(other_low):
        return 0.0
    first, last = np.zeros((len(low), len(other_low))), np.full((len(low), len(other_low)), np.inf)
    for axis in range(3):
        enter = other_low[None, :, axis] - high[:, None, axis]
        leave = other_high[None, :, axis] - low[:, None, axis]
        if abs(out[axis]) < STILL:
            last[(enter >= 0) | (leave <= 0)] = 0.0
            continue
        one, other = enter / out[axis], leave / out[axis]
        first = np.maximum(first, np.minimum(one, other))
        last = np.minimum(last, np.maximum(one, other))
    meet = last > first
    return float(last[meet].max()) if meet.any() else 0.0
