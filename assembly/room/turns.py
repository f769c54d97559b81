"""Turns: the turn of a body that leaves the most room between three limits, looked for over all turns.

By branch and bound: turns are quaternions in a cube, which is halved every way where one of them may still be better;
for no width changes faster than its two far corners turn.
Source: turns as a cube of bounded cells, after Hartley & Kahl 2009 (global optimisation over rotations; from memory).
"""

from __future__ import annotations

import math

import numpy as np

from assembly.room.hull import Floats

CLOSE = 1.0
"""The room found is the most there is to within this, mm (or a fiftieth of what is missing)."""
FINE = 0.001
"""Steps uphill end where they move no corner by more than this, mm."""
CELLS_MOST = 400_000
"""Turns looked at before the search says that it is not sure; fewer of a body of many corners."""
WORK_MOST = 15_000_000
"""Corners turned, in all, before it says so."""
AT_ONCE = 20_000
"""Turns looked at together: more take too much memory."""
FIRST = 16
"""The cube of turns is first cut into so many slices each way."""
_CORNERS = np.array([[x, y, z] for x in (-1.0, 1.0) for y in (-1.0, 1.0) for z in (-1.0, 1.0)])


class Search:
    """Branch and bound over turns: the best so far, and whether it is known to be the best.

    `corners` (N, 3); `limits` (3,). A turn is a unit quaternion (1, x, y, z); turning the body about by half a
    turn on one of its own axes changes no width, so |x|, |y|, |z| <= 1 holds all turns that differ.
    """

    def __init__(self, corners: Floats, limits: Floats, turn: Floats, room: float, enough: float) -> None:
        self.corners, self.limits, self.enough = corners - corners.mean(axis=0), limits, enough
        self.turn, self.room, self.sure = turn, room, True
        self.far = 2.0 * float(np.linalg.norm(self.corners, axis=1).max())
        self.seen = 0

    @property
    def close(self) -> float:
        """How near to the most room is near enough, mm."""
        return max(CLOSE, abs(min(0.0, self.room)) / 50.0)

    def run(self) -> None:
        """Look until nothing can leave more room, `enough` is found, or too many turns were looked at."""
        ticks = (np.arange(FIRST) + 0.5) * 2.0 / FIRST - 1.0
        cells = np.stack(np.meshgrid(ticks, ticks, ticks, indexing="ij"), axis=-1).reshape(-1, 3)
        half = 1.0 / FIRST
        while len(cells) and self.room < self.enough:
            rooms, most = self._bounds(cells, half)
            self.seen += len(cells)
            self._improve(cells, rooms)
            cells = cells[most > self.room + self.close]
            if self.seen + 8 * len(cells) > min(CELLS_MOST, WORK_MOST // len(self.corners)):
                self.sure = not len(cells)
                return
            half /= 2.0
            cells = (cells[:, None] + half * _CORNERS).reshape(-1, 3)

    def _bounds(self, cells: Floats, half: float) -> tuple[Floats, Floats]:
        """Return the room (K,) at the middle of each cell, and the most there can be anywhere in it."""
        found = [self._bound(cells[k:k + AT_ONCE], half) for k in range(0, len(cells), AT_ONCE)]
        return np.concatenate([f[0] for f in found]), np.concatenate([f[1] for f in found])

    def _bound(self, cells: Floats, half: float) -> tuple[Floats, Floats]:
        middle = _quaternions(cells)
        around = _quaternions(cells[:, None] + half * _CORNERS)
        reach = 2.0 * np.arccos(np.clip(np.abs(np.einsum("ki,kji->kj", middle, around)).min(axis=1), 0.0, 1.0))
        along = _turned(middle) @ self.corners.T
        far = self.corners[along.argmax(axis=-1)] - self.corners[along.argmin(axis=-1)]
        widths = along.max(axis=-1) - along.min(axis=-1)
        beside = np.sqrt(np.maximum((far**2).sum(axis=-1) - widths**2, 0.0))
        least = widths * np.cos(reach)[:, None] - beside * np.sin(reach)[:, None]
        return (self.limits - widths).min(axis=1), (self.limits - least).min(axis=1)

    def _improve(self, cells: Floats, rooms: Floats) -> None:
        """Walk uphill from the best few cells of this round."""
        walks = 4 if self.seen == len(cells) else 1
        for k in np.argsort(-np.round(rooms, 6), kind="stable")[:walks]:
            turn, room = self.uphill(_turned(_quaternions(cells[k][None]))[0])
            if room > self.room:
                self.turn, self.room = turn, room

    def uphill(self, turn: Floats) -> tuple[Floats, float]:
        """Return a turn from which no small turn leaves more room, and the room it leaves, mm."""
        step, room = 0.1, float(self._rooms(turn[None])[0])
        while step * self.far > (FINE if room > -50.0 * CLOSE else CLOSE):
            tried = _nudges(step) @ turn
            rooms = self._rooms(tried)
            k = int(np.argmax(rooms))
            if rooms[k] > room + 1e-9:
                turn, room = tried[k], float(rooms[k])
            else:
                step /= 2.0
        return turn, room

    def _rooms(self, turns: Floats) -> Floats:
        along = turns @ self.corners.T
        rooms: Floats = (self.limits - (along.max(axis=-1) - along.min(axis=-1))).min(axis=1)
        return rooms


def _quaternions(cells: Floats) -> Floats:
    whole = np.concatenate([np.ones((*cells.shape[:-1], 1)), cells], axis=-1)
    unit: Floats = whole / np.linalg.norm(whole, axis=-1, keepdims=True)
    return unit


def _turned(q: Floats) -> Floats:
    """Return unit quaternions (K, 4) as matrices (K, 3, 3)."""
    w, x, y, z = q.T
    return np.stack([
        1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y),
        2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x),
        2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)], axis=-1).reshape(-1, 3, 3)


def _nudges(step: float) -> Floats:
    """Return small turns (K, 3, 3) about axes spread over the sphere."""
    return _turned(_quaternions(math.tan(step / 2.0) * _AXES))


def _axes() -> Floats:
    k = np.arange(64) + 0.5
    high, angle = 1.0 - k / 32, np.pi * (1.0 + 5.0**0.5) * k
    flat = np.sqrt(1.0 - high**2)
    spiral = np.stack([flat * np.cos(angle), flat * np.sin(angle), high], axis=1)
    return np.concatenate([spiral, np.eye(3), -np.eye(3)])


_AXES = _axes()
