"""Ways round: how a piece could be offered up other than as drawn, and what a person calls each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import degrees, pi

import numpy as np
from numpy.typing import NDArray

from assembly.facets import facets
from model.frames import Frame, Vector, X, Y, Z, directions, move, points, turn
from model.part import Blank
from model.solids import Solid

Floats = NDArray[np.float64]

SAME = 0.02
"""What lies within this of itself after a turn, mm, is the same."""
LEANING = 1e-3
"""Faces that lean less than this to each other, rad, look the same way."""
SQUARE = 1.0
"""A section whose two sides differ by less, mm, looks square: a quarter turn is not seen."""
CRUMB = 0.05
"""Faces smaller than this, mm², tell nothing about a shape."""
ROWS = 32
"""Faces compared at once: most shapes that differ do so in one of their largest."""

HALF = {"end for end": turn(Z, pi), "end over end": turn(Y, pi), "rolled over": turn(X, pi)}
QUARTER = {"quarter turn": turn(X, pi / 2), "three quarter turn": turn(X, -pi / 2)}
BOTH = {"end for end and a quarter turn": turn(Z, pi) @ turn(X, pi / 2),
        "end for end and three quarters of a turn": turn(Z, pi) @ turn(X, -pi / 2)}


@dataclass(frozen=True, eq=False)
class Way:
    """One way round: `turn` (4, 4) carries the wood, in its own frame, to where it would lie; `name` says how."""

    turn: Frame
    name: str


@lru_cache(maxsize=4096)
def ways(blank: Blank) -> tuple[Way, ...]:
    """Return the ways a blank can be offered up in its own place, as drawn left out.

    The half turns about the middle of the box around it and, where its section looks square, the
    turns by quarters: what a person does with a stick of wood in hand. Not offered: turns
    by other angles, as a stick of six or eight sides would allow.
    """
    low, high = blank.solid.bounds
    middle, size = (low + high) / 2.0, high - low
    turns = HALF | (QUARTER | BOTH if abs(size[1] - size[2]) < SQUARE else {})
    return tuple(Way(about(middle, rotation), name) for name, rotation in turns.items())


def about(middle: Vector, rotation: Frame) -> Frame:
    """Return a turn about a point (3,)."""
    frame: Frame = move(*middle) @ rotation @ move(*-middle)
    return frame


def called(rotation: Frame) -> str:
    """Return what a turn of a piece about its own axes is called."""
    for name, known in (HALF | QUARTER | BOTH).items():
        if np.allclose(rotation[:3, :3], known[:3, :3], atol=LEANING):
            return name
    cosine = (float(np.trace(rotation[:3, :3])) - 1.0) / 2.0
    return f"turned by {degrees(float(np.arccos(np.clip(cosine, -1.0, 1.0)))):.0f} degrees"


@dataclass(frozen=True, eq=False)
class Look:
    """What tells one shape from another: its F faces by normals (F, 3), areas (F,) and middles (F, 3)."""

    normals: Floats
    areas: Floats
    middles: Floats

    def carried(self, frame: Frame) -> Look:
        """Return the look of the same shape carried by a frame."""
        return Look(directions(frame, self.normals), self.areas, points(frame, self.middles))


@lru_cache(maxsize=8192)
def look(solid: Solid) -> Look:
    """Return the look of a solid in its own frame; faces smaller than CRUMB left out."""
    flat = facets(solid)
    corners, triangles = solid.mesh
    at = corners[triangles]
    weight = np.linalg.norm(np.cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0]), axis=1)
    sums = np.zeros((len(flat), 3))
    np.add.at(sums, flat.facet_of, at.mean(axis=1) * weight[:, None])
    middles = sums / np.maximum(2.0 * flat.areas, 1e-300)[:, None]
    seen = flat.areas > CRUMB
    return Look(flat.normals[seen], flat.areas[seen], middles[seen])


def together(looks: Sequence[Look]) -> Look:
    """Return several looks, in one frame, as one."""
    return Look(*(np.concatenate([getattr(one, name) for one in looks]) for name in ("normals", "areas", "middles")))


def same(one: Look, other: Look) -> bool:
    """Whether two looks in one frame are of one shape, within SAME: every face of each lies on a like face of the
    other."""
    if len(one.areas) != len(other.areas):
        return False
    largest = np.argsort(-one.areas, kind="stable")
    used = np.zeros(len(largest), dtype=np.int64)
    for start in range(0, len(largest), ROWS):
        rows = largest[start:start + ROWS]
        found = _found(one, rows, other)
        if found is None:
            return False
        np.add.at(used, found, 1)
    return bool(used.max(initial=0) <= 1)


def _found(one: Look, rows: NDArray[np.int64], other: Look) -> NDArray[np.int64] | None:
    """Return for some faces of one look the faces of another that they lie on, None where one lies on none."""
    middles = np.abs(one.middles[rows, None] - other.middles[None]).max(axis=2)
    normals = np.abs(one.normals[rows, None] - other.normals[None]).max(axis=2)
    found = np.argmin(middles + 10.0 * normals, axis=1)
    at = np.arange(len(rows)), found
    mine, theirs = one.areas[rows], other.areas[found]
    like = np.abs(mine - theirs) <= 8.0 * SAME * np.sqrt(np.maximum(mine, theirs)) + CRUMB
    on = (middles[at] <= SAME) & (normals[at] <= LEANING) & like
    return found if bool(np.all(on)) else None


@lru_cache(maxsize=8192)
def _turned_the_same(solid: Solid, key: bytes) -> bool:
    frame = np.frombuffer(key, dtype=np.float64).reshape(4, 4)
    own = look(solid)
    return same(own.carried(frame), own)


def unchanged(solid: Solid, frame: Frame) -> bool:
    """Whether a frame carries a solid onto itself, within SAME."""
    return _turned_the_same(solid, np.ascontiguousarray(np.round(frame, 9) + 0.0).tobytes())
