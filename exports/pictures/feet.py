"""Feet: how far one is off the ground that the others stand on, and from which side that is seen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assembly.feet import Foot, Ground, stance
from assembly.findings import Finding
from exports.pictures.gauge import Gauge
from exports.pictures.moment import Moment
from exports.pictures.palette import GROUND, PALE_EDGE
from exports.pictures.scene import Piece
from exports.pictures.sections import FRONT
from model.frames import Vector, frame_of, unit
from model.solids import box

LEVEL = 1e-6


@dataclass(frozen=True, eq=False)
class Standing:
    """What is measured under a foot, how high it is (mm), the level way to look at it (towards the camera), and the
    ground beneath it."""

    gauge: Gauge
    high: float
    towards: Vector
    ground: Ground


def foot_at(finding: Finding, held: Moment) -> Standing | None:
    """Return how the foot that a finding tells of stands; None where it tells of none."""
    stands = stance(held.assembly)
    if stands is None or finding.amount is None:
        return None
    foot = next((f for f, _, _ in stands.off if f.part == finding.parts[0]), None)
    if foot is None:
        return None
    ground, at = stands.ground, foot.middle
    if finding.amount.unit != "mm":  # it stands on its low edge, its high one is up
        ground, at = Ground(ground.down, float((foot.corners @ ground.down).max())), _highest(foot, ground)
    towards, high = _side(foot, ground.down), float(ground.above(at))
    below = at + ground.down * high
    return Standing(Gauge((at + below) / 2, at, below, np.cross(towards, ground.down)), high, towards, ground)


def _side(foot: Foot, down: Vector) -> Vector:
    """Return the level way to look at a foot: along which it tilts, else at its broad side; to the front."""
    tilt = np.cross(foot.normal, down)
    if float(np.linalg.norm(tilt)) < LEVEL:
        flat = foot.corners - foot.middle
        flat = flat - np.outer(flat @ down, down)
        tilt = np.cross(flat[int(np.argmax(np.linalg.norm(flat, axis=1)))], down)
    way = unit(tilt - down * float(tilt @ down))
    return way if float(way @ FRONT) >= 0 else -way


def _highest(foot: Foot, ground: Ground) -> Vector:
    return np.asarray(foot.corners[int(np.argmax(ground.above(foot.corners)))])


def earth(standing: Standing, radius: float) -> Piece:
    """Return the ground below a foot as a slab, its upper face where the feet should stand."""
    spot = standing.gauge.spot
    on = spot + standing.ground.down * float(standing.ground.above(spot))
    frame = frame_of(on, -standing.ground.down, standing.towards)
    wide = 4.0 * radius
    return Piece("the ground", box((-wide, -wide, -wide), (wide, wide, 0.0)), frame, GROUND, PALE_EDGE)
