"""Attitudes: how a body is turned so that it fits between limits along, across and up, with the most room left.

Level ways first: an axis of its own points up, and it is only turned about that. Then tilted ones, over all turns.
What is found is the best there is to within `CLOSE`, and where nothing fits that is proven, unless `sure` is False.
Moved straight: nothing is swung round a corner.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from assembly.room.hull import UP, Floats, Hull, Outline, box_around, outline
from assembly.room.turns import CLOSE, Search

TOUCH = 0.5
"""What is too big by no more than this, mm, is as large as the opening: no tape tells."""
LEVEL = math.radians(0.5)
"""What is tilted by less than this, rad, is level."""
WORTH = 0.25
"""Where nothing fits, work is told as it lies level unless tilting saves this share of what is missing."""
ALIKE = 1.2
"""A body that is no longer than this times its height lies on its side, however it lies."""


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
    def fits(self) -> bool:
        """Whether it goes."""
        return self.room >= -TOUCH

    @property
    def said(self) -> str:
        """How it is turned, in words."""
        return self.lies if self.tilt < LEVEL else f"{self.lies}, tilted {math.degrees(self.tilt):.0f} degrees"


def best(hull: Hull, limits: tuple[float, float, float], enough: float, *, standing: float = math.inf) -> Attitude:
    """Return how a body fits best between limits along, across and up, mm (inf: none).

    It stays upright where that leaves `standing`; else lies level where that leaves `enough`; else it is tilted. Where
    nothing fits it is told level unless tilted it lacks much less.
    """
    found = [level(hull, up, limits, enough) for up in hull.axes]
    if hull.stands and found[0].room >= standing:
        return found[0]
    flat = max(found, key=lambda a: round(a.room, 3))
    if flat.room >= enough:
        return flat
    tilted = _tilted(hull, limits, flat, enough)
    gain = CLOSE if tilted.fits else max(CLOSE, -flat.room * WORTH)
    return tilted if tilted.room > flat.room + gain else replace(flat, sure=tilted.sure)


def level(hull: Hull, up: Floats, limits: tuple[float, float, float], enough: float) -> Attitude:
    """Return how a body fits with one of its axes (3,) up: square where that leaves `enough`, else turned about it."""
    _, one, other = box_around(hull, up)
    square = [attitude(hull, np.stack([np.cross(way, up), way, up]), limits) for way in (one, other)]
    if (best_square := max(square, key=lambda a: round(a.room, 3))).room >= enough:
        return best_square
    seen = outline(hull.corners, up)
    angles = _angles(seen, limits)
    rooms = np.minimum(limits[0] - seen.widths(angles - np.pi / 2), limits[1] - seen.widths(angles))
    way = seen.ways(angles[[int(np.argmax(np.round(rooms, 6)))]])[0]
    turned = attitude(hull, np.stack([np.cross(way, up), way, up]), limits)
    if turned.room <= best_square.room + TOUCH:
        return best_square
    return turned if math.isinf(limits[0]) else replace(turned, lies=f"{turned.lies}, set cornerwise")


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
    high, *others = hull.widths(box_around(hull, up)).tolist()
    size = sorted((high, *others))
    if size[2] < ALIKE * size[0]:
        return "on its side"
    if high <= size[0] + CLOSE:
        return "flat"
    return "on its edge" if high <= size[1] + CLOSE else "on end"


def _angles(seen: Outline, limits: tuple[float, float, float]) -> Floats:
    """Return the angles (K,) of ways that are worth running across: one of them leaves the most room.

    The least room is the most where a width is least, a side of the outline square to it, or where the two rooms
    are alike; between two sides that follow one another each width is a single wave, without a kink.
    """
    if math.isinf(limits[0]):
        return seen.flush
    turned = (seen.flush + np.pi / 2) % np.pi
    angles = np.unique(np.concatenate([seen.flush, turned, np.linspace(0.0, np.pi, 61)]))

    def ahead(at: Floats) -> Floats:
        return np.sign(limits[0] - seen.widths(at - np.pi / 2) - limits[1] + seen.widths(at))

    signs = ahead(angles)
    changes = np.flatnonzero(signs[1:] * signs[:-1] < 0)
    low, high = angles[changes], angles[changes + 1]
    for _ in range(32):
        middle = (low + high) / 2.0
        same = ahead(middle) == signs[changes]
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    return np.concatenate([angles, low])


def _tilted(hull: Hull, limits: tuple[float, float, float], start: Attitude, enough: float) -> Attitude:
    """Return the best attitude over all turns, looked for with a few corners; with all where those leave it open."""
    search = Search(hull.few, np.array(limits), start.turn, start.room, enough)
    search.run()
    turn, room = Search(hull.corners, np.array(limits), search.turn, -math.inf, enough).uphill(search.turn)
    if room < enough and search.room >= -CLOSE and len(hull.few) < len(hull.corners):
        search = Search(hull.corners, np.array(limits), turn, room, enough)
        search.run()
        turn = search.turn
    return attitude(hull, turn, limits, sure=search.sure)
