"""Passing: whether bodies that all move at once, each in a straight line, run into each other, when and where.

Two bodies with steady velocities move along a straight line towards each other, so each pair is
decided exactly, by the gaps between their faces (`motion`). Only pairs whose boxes meet at some
time are looked at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assembly.motion import Bodies
from assembly.shrink import DELTA
from assembly.sliding import covering, plane, shared_gaps

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

STILL = 1e-9
"""Bodies slower than this towards each other, for a fastest one of 1, keep their distance."""
ROWS_AT_ONCE = 256
"""Bodies compared with all others in one sweep: bounds the memory."""


@dataclass(frozen=True, eq=False)
class Stop:
    """Where a motion of many bodies ends: how far the fastest gets, mm; which two bodies meet.

    `normal` (3,): of the faces that meet, out of `one` into `other`. `point` (3,): where they meet, as the
    bodies stand at the start.
    """

    at: float
    one: int
    other: int
    normal: Array
    point: Array


def first_stop(bodies: Bodies, movers: Indices, velocities: Array) -> Stop | None:
    """Return what first stops bodies (indices (N,)) with velocities (N, 3), or None where they go on for ever."""
    least, pair = np.inf, (-1, -1)
    for one, other in _meeting(bodies, movers, velocities):
        towards = velocities[one] - velocities[other]
        speed = float(np.linalg.norm(towards))
        gap = float(bodies.gaps(int(movers[one]), movers[[other]], towards / speed)[0])
        if gap / speed < least:
            least, pair = gap / speed, (one, other)
    if not np.isfinite(least):
        return None
    towards = velocities[pair[0]] - velocities[pair[1]]
    speed = float(np.linalg.norm(towards))
    normal, point = met(bodies, int(movers[pair[0]]), int(movers[pair[1]]), towards / speed)
    return Stop(max(0.0, least - DELTA / speed), int(movers[pair[0]]), int(movers[pair[1]]), normal, point)


def _meeting(bodies: Bodies, movers: Indices, velocities: Array) -> list[tuple[int, int]]:
    """Return the pairs (places in `movers`) that come towards each other and whose boxes meet at some time."""
    up = np.array([0.0, 0.0, 1.0])
    low, high = (side[movers] for side in bodies.extent(up))
    rates = velocities @ plane(up).T
    found: list[tuple[int, int]] = []
    for start in range(0, len(movers), ROWS_AT_ONCE):
        rows = np.arange(start, min(start + ROWS_AT_ONCE, len(movers)))
        rate = rates[rows, None] - rates[None]
        early, late = low[None] - high[rows, None], high[None] - low[rows, None]
        still = np.abs(rate) < STILL
        steady = np.where(still, 1.0, rate)
        one, two = early / steady, late / steady
        begin = np.where(still, np.where((early < 0) & (late > 0), -np.inf, np.inf), np.minimum(one, two)).max(axis=2)
        end = np.where(still, np.inf, np.maximum(one, two)).min(axis=2)
        moving = np.abs(rate).max(axis=2) > SLOWEST
        i, j = np.nonzero(moving & (end > np.maximum(begin, 0.0)) & (rows[:, None] < np.arange(len(movers))[None]))
        found += zip(rows[i].tolist(), j.tolist(), strict=True)
    return found


SLOWEST = 1e-6
"""Bodies that come nearer more slowly than this, for a fastest one of 1, belong to one group."""


def met(bodies: Bodies, one: int, other: int, direction: Array) -> tuple[Array, Array]:
    """Return the normal, out of `one`, and a point of the faces that meet first when `one` slides to `other`."""
    front, back = bodies.fronts(one, direction), bodies.backs(other, direction)
    best: tuple[float, Array, Array] = (np.inf, direction, bodies.frames[other, :3, 3])
    basis = plane(direction)
    for f, b in covering(front, back):
        low, high = shared_gaps(front[f], back[b])
        gaps = np.where(high >= 0, np.maximum(low, 0.0), np.inf)
        k = int(np.argmin(gaps))
        if gaps[k] < best[0]:
            best = float(gaps[k]), _outward(front[f[k]], back[b[k]], direction), back[b[k]].mean(axis=0) @ basis
    return best[1], best[2]


def _outward(front: Array, back: Array, direction: Array) -> Array:
    """Return the normal of the flatter met of two triangles in u, v, s: the one that looks more along the direction."""
    faces = [np.cross(t[1] - t[0], t[2] - t[0]) for t in (back, front)]
    areas = [float(np.linalg.norm(face)) for face in faces]
    normals = [face / area @ plane(direction) for face, area in zip(faces, areas, strict=True) if area > 0]
    return max(normals, key=lambda n: round(float(n @ direction), 6), default=direction)


def go_on_alone(bodies: Bodies, groups: Sequence[Indices], moved: Array, ways: Array) -> bool:
    """Return whether groups of bodies, each moved by a vector (K, 3), can leave one after another, each along some way.

    `ways` (M, 3): the directions tried for each besides the one it was moved along.
    """
    there = bodies
    for members, by in zip(groups, moved, strict=True):
        there = there.shifted(members, by)
    left = list(range(len(groups)))
    while len(left) > 1:
        gone = next((g for g in left if _leaves(there, groups, g, left, _own_first(moved[g], ways))), None)
        if gone is None:
            return False
        left.remove(gone)
    return True


def _own_first(by: Array, ways: Array) -> Array:
    size = float(np.linalg.norm(by))
    return np.vstack([by / size, ways]) if size > 0 else ways


def _leaves(bodies: Bodies, groups: Sequence[Indices], one: int, left: Sequence[int], ways: Array) -> bool:
    rest = np.concatenate([groups[g] for g in left if g != one])
    return any(bodies.travel(groups[one].tolist(), rest, way).free for way in ways)
