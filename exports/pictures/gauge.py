"""The gauge: between which two points a misfit is measured, and how that is drawn when it is small."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assembly.findings import Finding
from exports.pictures.camera import Box, Camera
from exports.pictures.lettering import width_of
from exports.pictures.moment import Moment
from exports.pictures.palette import INK, PAPER, Colour
from exports.pictures.sections import claimed
from exports.pictures.sheet import Sheet
from model.frames import Vector, inverse, points
from model.joint import Joint

NUDGE = 0.5
"""So far inside the wood, mm, a shoulder is felt for."""
OPEN = 0.03
"""A joint that is open by less, mm, is not measured."""
LETTERS = 27.0
"""Size of the amount's letters, pixels."""
_LINES, _TAIL, _LEAST, _MOST = 58.0, 44.0, 3.0, 330.0


@dataclass(frozen=True, eq=False)
class Gauge:
    """A misfit: the spot where it is seen, the two points (world, mm) between which it is measured, and the way
    along the cut that is square to that."""

    spot: Vector
    low: Vector
    high: Vector
    across: Vector

    @property
    def length(self) -> float:
        """How much is measured, mm."""
        return float(np.linalg.norm(self.high - self.low))


def gauge(finding: Finding, held: Moment, where: Vector, normal: Vector) -> Gauge | None:
    """Return where on a cut (normal towards the camera) a misfit shows and what it spans; None where that is not known.

    Wood that two parts both claim is measured through its thinnest way, at the piece of it
    nearest to the finding's place; a joint that stays open, or runs past home, between its two seats at a shoulder; one
    whose halves stand beside each other from the edge of the one to where it should be.
    """
    joint = held.joint(finding)
    if finding.kind == "gap" and joint is not None:
        apart = _aside(joint, held) or _between_seats(joint, held, normal)
        if apart is not None:
            return apart
    lumps = claimed(finding, held)
    return _through(min(lumps, key=lambda at: _away(where, at)), where, held.axes(finding), normal) if lumps else None


def _through(at: NDArray[np.float64], where: Vector, axes: Sequence[Vector], normal: Vector) -> Gauge:
    thin = min(axes, key=lambda a: float(np.ptp(at @ a)))
    middle = sum((a * float((at @ a).min() + (at @ a).max()) / 2 for a in axes), np.zeros(3))
    spot = where if _away(where, at) < 1.0 else middle
    low, high = (spot + thin * (level - float(spot @ thin)) for level in ((at @ thin).min(), (at @ thin).max()))
    return Gauge((low + high) / 2, low, high, np.cross(normal, thin))


def _away(where: Vector, at: NDArray[np.float64]) -> float:
    return float(np.linalg.norm(where - np.clip(where, at.min(axis=0), at.max(axis=0))))


def _aside(joint: Joint, held: Moment) -> Gauge | None:
    """Return how far part a's half of a joint stands beside part b's; None where it hardly does."""
    off = held.apart(joint)
    axis = held.assembly.axis(joint)
    beside = off - axis * float(off @ axis)
    if float(np.linalg.norm(beside)) < max(OPEN, abs(float(off @ axis))):
        return None
    seat, way = (held.frame(joint.a) @ joint.seat_a)[:3, 3], beside / float(np.linalg.norm(beside))
    low = seat + axis * NUDGE + way * (_out(joint.a, held, seat + axis * NUDGE, way) or 0.0)
    return Gauge(low + beside / 2, low, low + beside, axis)


def _between_seats(joint: Joint, held: Moment, normal: Vector) -> Gauge | None:
    near, far = held.frame(joint.a) @ joint.seat_a, held.frame(joint.b) @ joint.seat_b
    axis = far[:3, 2]
    open_by = float((far[:3, 3] - near[:3, 3]) @ axis)
    across = np.cross(normal, axis)
    length = float(np.linalg.norm(across))
    if abs(open_by) < OPEN or length < 0.1:
        return None
    shoulder = max((_shoulder(joint, held, near[:3, 3], axis, side * across / length) for side in (1.0, -1.0)),
                   key=lambda found: found[0])
    low = shoulder[1]
    return Gauge(low + axis * open_by / 2, low, low + axis * open_by, across / length)


def _shoulder(joint: Joint, held: Moment, seat: Vector, axis: Vector, way: Vector) -> tuple[float, Vector]:
    """Return how wide the shoulder of part a is on one side of its tenon, mm, and its middle (world)."""
    outer = _out(joint.a, held, seat - axis * NUDGE, way)
    cheek = _out(joint.a, held, seat + axis * NUDGE, way)
    if outer is None:
        return 0.0, seat
    start = min(cheek or 0.0, outer)
    return outer - start, seat + way * (start + outer) / 2


def _out(name: str, held: Moment, at: Vector, way: Vector) -> float | None:
    back = inverse(held.frame(name))
    found = held.solid(name).way_out(points(back, at), back[:3, :3] @ way)
    return None if found is None else found[0]


def draw_gauge(sheet: Sheet, camera: Camera, one: Gauge, text: str, radius: float, colour: Colour,
               avoid: Sequence[Box] = ()) -> list[Box]:
    """Draw two lines out of a ring (radius, pixels) from where a misfit is measured, and between them how much it is.

    Returns the boxes this takes, pixels; nothing is drawn where the misfit is seen end on or too large.
    """
    p, q = camera.project(one.low), camera.project(one.high)
    length, out = float(np.hypot(*(q - p))), camera.shown(one.across)
    if float(np.hypot(*out)) * camera.mm_per_pixel < 0.1:
        return []
    out = out / float(np.hypot(*out))
    if not _LEAST <= length <= _MOST:
        return []
    along = (q - p) / length
    options = [_Laid((p + q) / 2, along, side * out, length, radius, text)
               for side in (1.0, -1.0)]
    laid = min(options, key=lambda o: (_meets(o.box, avoid), o.across[0] < -0.01, o.across[1] < 0))
    laid.draw(sheet, text, colour)
    return [laid.box, laid.words]


def _meets(box: Box, others: Sequence[Box]) -> int:
    return sum(box[0] < o[2] and o[0] < box[2] and box[1] < o[3] and o[1] < box[3] for o in others)


class _Laid:
    """A gauge laid out on the sheet: `along` the misfit, `across` it away from the ring, unit, pixels."""

    def __init__(self, middle: Vector, along: Vector, across: Vector, length: float, radius: float,
                 text: str) -> None:
        self.along, self.across, self.length = along, across, length
        self.near, self.far = middle + across * (radius + 5.0), middle + across * (radius + _LINES)
        self.level = middle + across * (radius + _LINES - 16.0)
        half = np.array([width_of(text, LETTERS, bold=True) / 2 + 8.0, LETTERS * 0.75])
        aside = along if along[1] > 0.3 or (along[1] > -0.3 and along[0] > 0) else -along
        centre = self.level + aside * (length / 2 + _TAIL + float(np.abs(aside) @ half) + 2.0)
        self.words = (*(centre - half).tolist(), *(centre + half).tolist())
        reach = along * (length / 2 + _TAIL)
        at = np.array([self.near - reach, self.far - reach, self.near + reach, self.far + reach])
        self.box = (*at.min(axis=0).tolist(), *at.max(axis=0).tolist())

    def draw(self, sheet: Sheet, text: str, colour: Colour) -> None:
        """Draw it."""
        for sign in (-1.0, 1.0):
            off = self.along * sign * self.length / 2
            ends = [tuple((at + off).tolist()) for at in (self.near, self.far)]
            sheet.line(ends, PAPER, 5.0)
            sheet.line(ends, INK, 1.8)
            tip, tail = self.level + off, self.level + off + self.along * sign * _TAIL
            sheet.arrow((float(tail[0]), float(tail[1])), (float(tip[0]), float(tip[1])), colour, 4.4)
        left, top, right, bottom = self.words
        sheet.text(((left + right) / 2, (top + bottom) / 2), text, LETTERS, INK, bold=True, anchor="mm", halo=5.0)
