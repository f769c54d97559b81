"""Pads: how the wood takes the pad of a clamp: square and flat, with wood behind it, and not on the end of a tenon."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import manifold3d
import numpy as np

from assembly.facets import facets
from assembly.pressure.work import Floats, Wood, Work, crossings
from model.frames import Vector, directions, frame_of, inverse, points
from model.solids import Solid

PLAIN = math.radians(5.0)
"""A pad holds on a face that leans no more than this (common practice, no source)."""
CAUL = math.radians(30.0)
"""A pad holds on a face that leans no more than this with a caul cut to the angle (common practice, no source)."""
BEARS = 1.0 / 3.0
"""A pad holds when this share of it bears on wood (common practice, no source)."""
WALL = 8.0
"""Wood thinner than this under a pad gives way into the hollow behind it, mm (common practice, no source)."""
RISE, HIGH = 1.0, 20.0
"""Wood beside the face that rises by more than the first keeps the pad off it; the pad is as high as the second, mm."""
FLAT = 0.5
"""Wood this little below a pad is pressed all the same, mm."""
EDGES = 16
"""A round pad is taken with so many edges."""

Asks = Literal["", "caul", "block"]


@dataclass(frozen=True)
class Bearing:
    """How a face takes a pad: how it leans to the line, rad, and what has to be laid under the pad."""

    lean: float
    asks: Asks


def bearing(work: Work, wood: Wood, at: Floats, way: Vector, pad: float, *, last: bool) -> Bearing | None:
    """Return how wood takes a pad at a point (3,) where `way` (unit) leads out of it; None where not at all.

    `last`: whether it is the end of the wood, not its beginning.
    """
    normal = work.outward(wood, last=last)
    lean = math.acos(max(-1.0, min(1.0, float(normal @ way))))
    if lean > CAUL:
        return None
    if not _bears(work, wood, at, way, normal, pad):
        return Bearing(lean, "block")
    return Bearing(lean, "caul" if lean > PLAIN else "")


def _bears(work: Work, wood: Wood, at: Floats, way: Vector, normal: Vector, pad: float) -> bool:
    if wood.crossing.end - wood.crossing.start < WALL or _on_tenon(work, wood.part, at, way):
        return False
    back = inverse(work.frames[wood.part])
    spot, out = points(back, at), directions(back, normal)
    share = _share(work.solids[wood.part], (np.round(spot, 4) + 0.0).tobytes(), (np.round(out, 6) + 0.0).tobytes(), pad)
    if share < BEARS:
        return False
    aside = np.eye(3)[int(np.argmin(np.abs(out)))]
    frame = work.frames[wood.part] @ frame_of(spot, out, aside)
    half = pad / 2.0 * math.sqrt(0.5)
    return work.free(frame, np.array([[(-half, -half, RISE), (half, half, HIGH)]]), work.boxes(frame))


def _on_tenon(work: Work, part: int, at: Floats, way: Vector) -> bool:
    back = inverse(work.frames[part])
    spot, out = points(back, at), directions(back, way)
    return any(abs(c.end) < 0.1 for t in work.tenons[part] for c in crossings(t, spot, out)) if work.tenons else False


@lru_cache(maxsize=50_000)
def _share(solid: Solid, spot: bytes, normal: bytes, pad: float) -> float:
    """Return how much of a round pad bears on the face of a solid at a spot, as a share of the pad.

    A face that falls off from the pad's plane by no more than FLAT bears too: that of a gentle curve.
    """
    at, out = np.frombuffer(spot), np.frombuffer(normal)
    flat = facets(solid)
    u, v = _basis(out)
    near = np.flatnonzero((flat.normals @ out > 0.8) & np.all(flat.low < at + pad, axis=1)
                          & np.all(flat.high > at - pad, axis=1))
    pieces = []
    for f in near.tolist():
        triangles = solid.mesh[0][solid.mesh[1][flat.triangles(f)]] - at
        fall = triangles @ out
        level = np.abs(fall).max(axis=1) <= FLAT
        if level.all() or flat.normals[f] @ out > 1.0 - 1e-9:
            keep = np.abs(fall).min(axis=1) <= FLAT
            pieces += list(np.stack([triangles[keep] @ u, triangles[keep] @ v], axis=2))
    if not pieces:
        return 0.0
    turn = 2.0 * np.pi * (np.arange(EDGES) + 0.5) / EDGES
    disc = manifold3d.CrossSection([pad / 2.0 * np.column_stack([np.cos(turn), np.sin(turn)])])
    found = manifold3d.CrossSection(pieces, manifold3d.FillRule.NonZero) ^ disc
    return float(found.area() / disc.area())


def _basis(normal: Vector) -> tuple[Vector, Vector]:
    frame = frame_of(np.zeros(3), normal, np.eye(3)[int(np.argmin(np.abs(normal)))])
    return frame[:3, 0], frame[:3, 1]
