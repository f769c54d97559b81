"""Walls: the thinnest place of one, and how to cut the part open so that it shows."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from assembly.findings import Finding
from assembly.walls import left_around
from exports.pictures.gauge import Gauge
from exports.pictures.moment import Moment
from exports.pictures.sections import FRONT
from model.frames import Vector, directions, points, unit

INWARDS = 6.0
"""So far towards its middle a pocket is cut open, mm, where it is thinnest at its very end."""
SAME = 0.5
"""A wall is the one a finding tells of when its middle lies so near, mm."""


@dataclass(frozen=True, eq=False)
class Laid:
    """What is measured, the normal of the cut (towards the camera) that shows it from the side, and how large what is
    cut there appears (mm), and its middle (world)."""

    gauge: Gauge
    normal: Vector
    size: float
    middle: Vector


def wall_at(finding: Finding, held: Moment, where: Vector) -> Laid | None:
    """Return the wall, or the way a pocket comes out, that a finding tells of; None where there is none so near."""
    name = next((n for n in finding.parts if n in held.assembly.frames), None)
    if name is None:
        return None
    frame, left = held.frame(name), left_around(held.assembly.design, held.assembly.part(name))
    # What is measured runs along `way` on both sides of its middle; a pocket that comes out is measured inwards.
    spans = [(w.at, w.way, (-w.left / 2, w.left / 2), w.pocket) for w in left.walls]
    spans += [(b.at, b.way, (-b.by, 0.0), b.pocket) for b in left.breaks]
    nearest = min(spans, key=lambda s: float(np.linalg.norm(points(frame, s[0]) - where)), default=None)
    if nearest is None or float(np.linalg.norm(points(frame, nearest[0]) - where)) > SAME:
        return None
    at, way = points(frame, nearest[0]), directions(frame, nearest[1])
    pocket = left.pockets[nearest[3]]
    normal = _across(way, [directions(frame, pocket.frame[:3, i]) for i in range(3)])
    inwards = float((points(frame, pocket.solid.centroid) - at) @ normal)
    at = at + normal * math.copysign(min(INWARDS, abs(inwards)), inwards)
    low, high = (at + way * d for d in nearest[2])
    across = np.cross(normal, way)
    corners = points(frame, pocket.solid.mesh[0])
    return Laid(Gauge((low + high) / 2, low, high, across), normal,
                max(float(np.ptp(corners @ way)), float(np.ptp(corners @ across))),
                _level(corners.mean(axis=0), low, normal))


def _across(way: Vector, axes: list[Vector]) -> Vector:
    """Return the direction square to a way, along one of the axes of what is cut, that looks most to the front."""
    square = [unit(a - way * float(a @ way)) * sign for a in axes if abs(float(a @ way)) < 0.9 for sign in (1.0, -1.0)]
    return max(square, key=lambda n: round(float(n @ FRONT), 6))


def _level(at: Vector, onto: Vector, normal: Vector) -> Vector:
    """Return a point brought onto the plane through another."""
    return at - normal * float((at - onto) @ normal)
