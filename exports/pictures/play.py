"""Play: where a tenon, or a piece in a lap or a housing, has more or less room beside it than the glue wants."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assembly.checks.fit import Play, plays_of
from assembly.findings import Finding
from exports.pictures.gauge import Gauge
from exports.pictures.moment import Moment
from exports.pictures.sections import FRONT
from model.frames import Vector, directions, points, unit
from model.joint import Joint

SAME = 0.002
"""A play is the one a finding tells of when it is that near to the amount, mm."""


@dataclass(frozen=True, eq=False)
class Beside:
    """What is measured beside a cheek, and the normal of the cut (towards the camera) that shows it from the side."""

    gauge: Gauge
    normal: Vector


def play_at(finding: Finding, held: Moment) -> Beside | None:
    """Return the play that a finding tells of, at one of the two cheeks; None where it tells of none."""
    joint = next((j for n in finding.joints if (j := held.assembly.design.joint.get(n)) is not None), None)
    if joint is None or finding.amount is None or not {joint.a, joint.b} <= set(held.names):
        return None
    play = next((p for p in plays_of(held.assembly, joint) if abs(p.side - finding.amount.value) <= SAME), None)
    return None if play is None else _beside(play, joint, held)


def _beside(play: Play, joint: Joint, held: Moment) -> Beside | None:
    frame = held.frame(joint.a)
    way, at, axis = directions(frame, play.along), points(frame, play.where), held.assembly.axis(joint)
    normal = unit(np.cross(axis, way))
    normal = normal if float(normal @ FRONT) >= 0 else -normal
    out = held.solid(joint.a).way_out(play.where, play.along)
    if out is None:
        return None
    low = at + way * out[0]
    return Beside(Gauge(low + way * play.side / 2, low, low + way * play.side, axis), normal)
