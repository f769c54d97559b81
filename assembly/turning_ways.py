"""Ways round: how a piece could be offered up other than as drawn, and what a person calls each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import degrees

import numpy as np

from assembly.symmetry import carries, turns
from model.frames import Frame, X, about, apart
from model.part import Blank
from model.recut.wood import HALF, QUARTER, TURNS
from model.solids import Solid

ONE = 1e-3
"""Turns that differ by less, rad, are one."""
SQUARE = 1.0
"""A section whose two sides differ by less, mm, looks square: a quarter turn is not seen."""
WAYS_MOST = 48
"""A blank with more ways round than this is as good as round: only its turns by halves and quarters are tried."""

ANY: Mapping[str, Frame] = {
    **{str(name): rotation for name, rotation in TURNS.items()},
    "end for end and a quarter turn": HALF["end for end"] @ QUARTER["quarter turn"],
    "end for end and three quarters of a turn": HALF["end for end"] @ QUARTER["three quarter turn"],
}
"""Every turn by halves and quarters of a piece about its own axes."""


@dataclass(frozen=True, eq=False)
class Way:
    """One way round: `turn` (4, 4) carries the wood, in its own frame, to where it would lie; `name` says how."""

    turn: Frame
    name: str


@lru_cache(maxsize=4096)
def ways(blank: Blank) -> tuple[Way, ...]:
    """Return the ways a blank can be offered up in its own place, as drawn left out.

    The half turns about the middle of the box around it, where its section looks square the turns by
    quarters too, as a person does with a stick of wood in hand; and every turn that carries a blank
    that is no box onto itself, as those by sixths of a stick with six sides.
    """
    low, high = blank.solid.bounds
    square = abs(float(high[1] - low[1] - high[2] + low[2])) < SQUARE
    found = [way for way in any_way(blank) if square or way.name in HALF]
    own = () if _is_box(blank.solid) else turns(blank.solid)[1:]
    known = [way.turn for way in found]
    more = [t for t in own if not any(_one(t, k) for k in known)] if len(own) <= WAYS_MOST else []
    return (*found, *(Way(t, called(t)) for t in more))


def _is_box(solid: Solid) -> bool:
    whole = float(np.prod(solid.bounds[1] - solid.bounds[0]))
    return abs(solid.volume - whole) < 1e-9 * whole


def any_way(blank: Blank) -> tuple[Way, ...]:
    """Return all turns by halves and quarters about the middle of the box around a blank, whatever its section."""
    middle = blank.solid.bounds.mean(axis=0)
    return tuple(Way(about(middle, rotation), name) for name, rotation in ANY.items())


def _one(turned: Frame, other: Frame) -> bool:
    return apart(np.eye(4), turned)[1] > ONE and apart(turned, other)[1] < ONE


def called(rotation: Frame) -> str:
    """Return what a turn of a piece about its own axes is called."""
    for name, known in ANY.items():
        if apart(rotation, known)[1] < ONE:
            return name
    angle = degrees(apart(np.eye(4), rotation)[1])
    kept = rotation[:3, 0] @ X > 1.0 - ONE
    return f"{angle:.0f} degrees round{' about its grain' if kept else ''}"


@lru_cache(maxsize=16384)
def _held(solid: Solid, key: bytes) -> bool:
    return carries(np.frombuffer(key, dtype=np.float64).reshape(4, 4), solid, solid)


def unchanged(solid: Solid, frame: Frame) -> bool:
    """Whether a frame carries a solid onto itself, within 0.02 mm."""
    return _held(solid, np.ascontiguousarray(np.round(frame, 9) + 0.0).tobytes())
