"""Carrying: a rigid motion of work as keys so close together that it stays rigid between them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

import numpy as np

from model.frames import Frame, about, inverse, move

BOW = 0.5
"""Between two keys every corner of the work goes straight; so far may it be off its true arc, mm."""


def carried(start: Mapping[str, Frame], end: Mapping[str, Frame]) -> Iterator[tuple[float, Mapping[str, Frame]]]:
    """Yield shares of the way (above 0, at last 1) and the frames of the parts there; `end` may name more parts.

    All parts share one rigid motion: the middle of their origins goes straight, and about it the work turns evenly.
    """
    from scipy.spatial.transform import Rotation

    names = list(start)
    motion = end[names[0]] @ inverse(start[names[0]])
    turn = Rotation.from_matrix(motion[:3, :3]).as_rotvec()
    spots = np.array([start[n][:3, 3] for n in names])
    middle = spots.mean(axis=0)
    shift = motion[:3, :3] @ middle + motion[:3, 3] - middle
    reach = float(np.linalg.norm(spots - middle, axis=1).max())
    number = steps(float(np.linalg.norm(turn)), reach)
    for k in range(1, number):
        share = k / number
        spin = np.eye(4)
        spin[:3, :3] = Rotation.from_rotvec(turn * share).as_matrix()
        along = move(*(shift * share).tolist()) @ about(middle, spin)
        yield share, {n: along @ start[n] for n in names}
    yield 1.0, {n: end[n] for n in names}


def steps(angle: float, reach: float) -> int:
    """Return into how many even turns an angle (rad) is cut so that what turns `reach` mm out stays within BOW."""
    if angle < 1e-9 or reach <= BOW:
        return max(1, math.ceil(angle / math.radians(60.0)))
    return max(1, math.ceil(angle / (2.0 * math.acos(1.0 - BOW / reach))), math.ceil(angle / math.radians(60.0)))
