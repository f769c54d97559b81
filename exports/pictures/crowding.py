"""Crowding: how much pieces hide each other on the sheet, and how much of each joint is seen open."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from manifold3d import CrossSection
from numpy.typing import NDArray

from assembly.broad import near_pairs
from assembly.placing import Assembly
from exports.pictures.camera import HEIGHT, WIDTH, Camera
from model.frames import Vector

OPEN = 84.0
"""A joint is well seen when its two halves stand this many pixels clear of each other."""
FILLED = (0.86 * WIDTH, 0.70 * HEIGHT)
"""About the room that a picture leaves for the work, pixels."""
BENT = 45.0
"""Pieces this many pixels, on average, out of the order in which they will stand are hard to recognise."""
_HIDDEN, _SHUT, _SMALL = 3.0, 1.0, 1.0
"""What weighs how much: pieces behind each other, joints not open, a picture grown smaller."""


@dataclass(frozen=True, eq=False)
class Outlines:
    """The outlines of pieces at home as a camera sees them, convex, mm on the sheet.

    `unit` says which pieces are held together already: those may hide each other. A pixel is
    at least `scale` mm wide.
    """

    names: tuple[str, ...]
    camera: Camera
    shape: tuple[CrossSection, ...]
    unit: NDArray[np.int64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    area: float
    scale: float
    middle: NDArray[np.float64]
    """The middle of each unit at home, world, mm (U, 3)."""


@dataclass(frozen=True, eq=False)
class Gap:
    """A joint to be seen open: the two parts, the unit direction (world) in which the first goes home, how far, mm."""

    mover: str
    rest: str
    way: Vector
    travel: float


def outlines(assembly: Assembly, units: Sequence[Sequence[str]], camera: Camera) -> Outlines:
    """Return the outlines of all pieces of some units; the whole fills the picture at least."""
    whole = np.vstack([assembly.vertices(n) @ np.stack([camera.right, camera.up], axis=1) for n in assembly.names])
    names = tuple(n for unit in units for n in unit)
    middle = np.array([np.mean([assembly.vertices(n).mean(axis=0) for n in unit], axis=0) for unit in units])
    flat = [assembly.vertices(n) @ np.stack([camera.right, camera.up], axis=1) for n in names]
    shape = tuple(CrossSection.hull_points(at) for at in flat)
    return Outlines(names, camera, shape, np.repeat(np.arange(len(units)), [len(u) for u in units]),
                    np.array([at.min(axis=0) for at in flat]), np.array([at.max(axis=0) for at in flat]),
                    sum(s.area() for s in shape), _scale(whole, whole), middle)


def crowding(seen: Outlines, gaps: Sequence[Gap], offsets: Mapping[str, Vector]) -> float:
    """Return how hard to read the pieces are when drawn off their homes, mm in the world; less is better."""
    by = np.array([[offsets[n] @ seen.camera.right, offsets[n] @ seen.camera.up] for n in seen.names])
    low, high = seen.low + by, seen.high + by
    scale = max(_scale(low, high), seen.scale)
    shut = [max(0.0, 1.0 - _clear(g, offsets, seen.camera) / scale / OPEN) ** 2 for g in gaps]
    worst = max(shut, default=0.0) + sum(shut) / max(len(shut), 1)
    return (_HIDDEN * _hidden(seen, by, low, high) + _SHUT * worst + _SMALL * math.log(scale / seen.scale)
            + _bent(seen, offsets) / scale / BENT)


def _scale(low: NDArray[np.float64], high: NDArray[np.float64]) -> float:
    """Return how many mm a pixel would be."""
    wide, tall = high.max(axis=0) - low.min(axis=0)
    return max(float(wide) / FILLED[0], float(tall) / FILLED[1], 1e-6)


def _clear(gap: Gap, offsets: Mapping[str, Vector], camera: Camera) -> float:
    """Return how far the halves of a joint stand clear of each other, mm on the sheet; less than 0: still engaged."""
    apart = float((offsets[gap.rest] - offsets[gap.mover]) @ gap.way) - gap.travel
    return apart * float(np.hypot(gap.way @ camera.right, gap.way @ camera.up))


def _bent(seen: Outlines, offsets: Mapping[str, Vector]) -> float:
    """Return how far units stand, on average on the sheet, from where stretching the whole along x, y, z puts them, mm.

    A stack drawn apart is the stack stretched; a flat ring drawn out to a screw is not the ring.
    """
    first = np.searchsorted(seen.unit, np.arange(len(seen.middle)))
    drawn = np.array([offsets[seen.names[i]] for i in first])
    off = drawn - drawn.mean(axis=0)
    home = seen.middle - seen.middle.mean(axis=0)
    stretch = (off * home).sum(axis=0) / np.maximum((home * home).sum(axis=0), 1.0)
    rest = off - home * stretch
    return float(np.sqrt(np.mean((rest @ seen.camera.right) ** 2 + (rest @ seen.camera.up) ** 2)))


def _hidden(seen: Outlines, by: NDArray[np.float64], low: NDArray[np.float64], high: NDArray[np.float64]) -> float:
    """Return the area in which pieces of different units lie behind each other, as a share of all their area."""
    flat = np.zeros((len(by), 1))
    pairs = near_pairs(np.hstack([low, flat]), np.hstack([high, flat]), 0.0)
    pairs = pairs[seen.unit[pairs[:, 0]] != seen.unit[pairs[:, 1]]]
    area = 0.0
    for i, j in pairs.tolist():
        area += (seen.shape[i] ^ seen.shape[j].translate((by[j] - by[i]).tolist())).area()
    return area / max(seen.area, 1e-9)
