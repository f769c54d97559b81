"""Attitudes: how a body is turned so that it fits between limits along, across and up, with the most room left.

Level ways first: an axis of its own points up, and it is only turned about that. Then tilted ones, over all turns,
by branch and bound: turns are quaternions in a cube, halved every way where one of them may still be better, for no
width changes faster than its two far corners turn. What is found is the best there is to within `CLOSE`, and where
nothing fits that is proven, unless `sure` is False. Moved straight: nothing is swung round a corner.
Source: rotations as a cube, after Hartley & Kahl 2009 (global optimisation over rotations; from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from assembly.room.hull import UP, Floats, Hull, across_and_along, square_to

CLOSE = 1.0
"""The room found is the most there is to within this, mm (or a fiftieth of what is missing)."""
CELLS_MOST = 150_000
"""Turns looked at before the search says that it is not sure."""
AT_ONCE = 20_000
"""Turns looked at together: more take too much memory."""
FIRST = 16
"""The cube of turns is first cut into so many slices each way."""
LEVEL = math.radians(0.5)
"""What is tilted by less than this, rad, is level."""
ALIKE = 1.2
"""A body that is no longer than this times its height lies on its side, however it lies."""
_CORNERS = np.array([[x, y, z] for x in (-1.0, 1.0) for y in (-1.0, 1.0) for z in (-1.0, 1.0)])


@dataclass(frozen=True, eq=False)
class Attitude:
    """How a body is turned. `turn` (3, 3): its rows are the ways, in the body's frame, that then run along, across, up.

    `size`: how long, wide and high it is so, mm. `room`: the least that is left between it and the limits, mm;
    below nothing it does not fit. `tilt`: how far from level, rad. `sure`: whether nothing leaves more room.
    """

    turn: Floats
    size: tuple[float, float, float]
    room: float
    lies: str
    tilt: float = 0.0
    sure: bool = True

    @property
    def said(self) -> str:
        """How it is turned, in words."""
        return self.lies if self.tilt < LEVEL else f"{self.lies}, tilted {math.degrees(self.tilt):.0f} degrees"


def best(hull: Hull, limits: tuple[float, float, float], enough: float, *, standing: float = math.inf) -> Attitude:
    """Return how a body fits best between limits along, across and up, mm (inf: none).

    It stays upright where that leaves `standing`; else lies level where that leaves `enough`; else it is tilted.
    """
    found = [level(hull, up, limits) for up in hull.axes]
    if hull.stands and found[0].room >= standing:
        return found[0]
    flat = max(found, key=lambda a: round(a.room, 3))
    if flat.room >= enough:
        return flat
    tilted = _tilted(hull, limits, flat, enough)
    return tilted if tilted.room > flat.room + CLOSE else replace(flat, sure=tilted.sure)


def level(hull: Hull, up: Floats, limits: tuple[float, float, float]) -> Attitude:
    """Return how a body fits best with one of its axes (3,) up, turned about that only."""
    ways = _turns(hull, up, limits)
    turns = np.stack([np.cross(ways, up), ways, np.broadcast_to(up, ways.shape)], axis=1)
    rooms = room_of(hull.widths(turns), limits)
    return attitude(hull, turns[int(np.argmax(np.round(rooms, 6)))], limits)


def attitude(hull: Hull, turn: Floats, limits: tuple[float, float, float], *, sure: bool = True) -> Attitude:
    """Return a turn of a body as an attitude."""
    widths = hull.widths(turn)
    nearest = max(hull.axes, key=lambda axis: round(abs(float(axis @ turn[2])), 9))
    tilt = math.acos(min(1.0, abs(float(nearest @ turn[2]))))
    return Attitude(turn, (float(widths[0]), float(widths[1]), float(widths[2])),
                    float(room_of(widths[None], limits)[0]), _lies(hull, nearest), tilt, sure)


def room_of(widths: Floats, limits: tuple[float, float, float]) -> Floats:
    """Return the least room that widths (K, 3) leave, mm (K,)."""
    room: Floats = (np.array(limits) - widths).min(axis=-1)
    return room


def _lies(hull: Hull, up: Floats) -> str:
    if hull.stands and abs(float(up @ UP)) > math.cos(LEVEL):
        return "upright"
    high, *others = hull.widths(np.stack([up, *across_and_along(hull, up)[:2]])).tolist()
    size = sorted((high, *others))
    if size[2] < ALIKE * size[0]:
        return "on its side"
    if high <= size[0] + CLOSE:
        return "flat"
    return "on its edge" if high <= size[1] + CLOSE else "on end"


def _turns(hull: Hull, up: Floats, limits: tuple[float, float, float]) -> Floats:
    """Return the ways (K, 3), square to `up`, that are worth running across: one of them leaves the most room.

    The least room is the most where a width is least, a side of the outline square to it, or where the two rooms
    are alike; between two sides that follow one another each width is a single wave, without a kink.
    """
    flush = square_to(hull.corners, up)
    ways = np.concatenate([flush, np.cross(up, flush)])
    if math.isinf(limits[0]):
        return ways
    x, y = ways[0], np.cross(up, ways[0])
    angles = np.unique(np.concatenate([np.arctan2(ways @ y, ways @ x) % np.pi, np.linspace(0.0, np.pi, 181)]))

    def way(angle: Floats) -> Floats:
        at: Floats = np.cos(angle)[:, None] * x + np.sin(angle)[:, None] * y
        return at

    def ahead(angle: Floats) -> Floats:
        at = way(angle)
        return (limits[0] - hull.widths(np.cross(at, up))) - (limits[1] - hull.widths(at))

    signs = np.sign(ahead(angles))
    changes = np.flatnonzero(signs[1:] * signs[:-1] < 0)
    low, high = angles[changes], angles[changes + 1]
    for _ in range(40):
        middle = (low + high) / 2.0
        same = np.sign(ahead(middle)) == signs[changes]
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    return np.concatenate([way(angles), way(low)])


def _tilted(hull: Hull, limits: tuple[float, float, float], start: Attitude, enough: float) -> Attitude:
    """Return the best attitude over all turns, looked for with a few corners; with all where those leave it open."""
    search = _Search(hull.few, np.array(limits), start.turn, start.room, enough)
    search.run()
    turn, room = _Search(hull.corners, np.array(limits), search.turn, -math.inf, enough).uphill(search.turn)
    if room < enough and search.room >= -CLOSE and len(hull.few) < len(hull.corners):
        search = _Search(hull.corners, np.array(limits), turn, room, enough)
        search.run()
        turn = search.turn
    return attitude(hull, turn, limits, sure=search.sure)


class _Search:
    """Branch and bound over turns: the best so far, and whether it is known to be the best.

    `corners` (N, 3); `limits` (3,). A turn is a unit quaternion (1, x, y, z); turning the body about by half a
    turn on one of its own axes changes no width, so |x|, |y|, |z| <= 1 holds all turns that differ.
    """

    def __init__(self, corners: Floats, limits: Floats, turn: Floats, room: float, enough: float) -> None:
        self.corners, self.limits, self.enough = corners - corners.mean(axis=0), limits, enough
        self.turn, self.room, self.sure = turn, room, True
        self.seen = 0

    @property
    def close(self) -> float:
        return max(CLOSE, abs(min(0.0, self.room)) / 50.0)

    def run(self) -> None:
        ticks = (np.arange(FIRST) + 0.5) * 2.0 / FIRST - 1.0
        cells = np.stack(np.meshgrid(ticks, ticks, ticks, indexing="ij"), axis=-1).reshape(-1, 3)
        half = 1.0 / FIRST
        while len(cells) and self.room < self.enough:
            rooms, most = self._bounds(cells, half)
            self.seen += len(cells)
            self._improve(cells, rooms)
            cells = cells[most > self.room + self.close]
            if self.seen + 8 * len(cells) > CELLS_MOST:
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
        while step > 1e-7:
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
