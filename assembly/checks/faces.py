"""The faces of a joint that should meet along its axis: whether they do, and how they stand where they do not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import cos, radians

import numpy as np
from numpy.typing import NDArray

from assembly.bites import bites
from assembly.contacts import GAP, Patch, contacts, touches
from assembly.facets import Facets, facets
from assembly.meeting import Meeting
from assembly.presence import Moment
from assembly.standing import meetings, standing
from model.frames import Frame, directions, inverse, points
from model.joint import Joint

Floats = NDArray[np.float64]

REACH = 25.0
"""How far apart, mm, two faces are still taken for the ones that should meet."""
SQUARE = 0.45
"""A face meets along a joint's axis when its normal leans no more than about 63 degrees from it; a shoulder leans up
to 60."""
AT_SEAT = 0.5
"""One of the two faces that should meet passes this near the middle of the joint's seat, mm."""
NEAR = 50.0
"""The box around a face of a joint comes at least this near its seat, mm."""
LEANING = radians(15.0)
"""Two faces that lean to each other by more than this were never meant to meet."""


@dataclass(frozen=True)
class Space:
    """Between two faces that should meet: mm apart (negative: in each other), over what area (mm²), where in the
    world."""

    gap: float
    area: float
    where: Floats


@dataclass(frozen=True)
class Lean:
    """Two faces that should meet and lean to each other: by what angle (rad), mm apart at the widest, where."""

    angle: float
    gap: float
    where: Floats


@lru_cache(maxsize=32)
def patches(moment: Moment) -> Mapping[str, tuple[Patch, ...]]:
    """Return where the parts of each joint touch at a moment, by joint."""
    found: dict[str, list[Patch]] = {}
    for patch in contacts(moment.assembly, moment.done, moment.names):
        if patch.joint is not None:
            found.setdefault(patch.joint, []).append(patch)
    return {joint: tuple(those) for joint, those in found.items()}


def met(moment: Moment, joint: Joint) -> float:
    """Return over what area, mm², a joint's faces meet along its axis; half a loose tenon meets by its cheeks."""
    found = patches(moment).get(joint.name, ())
    if joint.of is not None:
        return sum(p.area for p in found)
    axis = moment.assembly.axis(joint)
    return sum(p.area for p in found if abs(p.gap) <= GAP and abs(float(p.normal @ axis)) >= SQUARE)


def spaces(moment: Moment, joint: Joint) -> list[Space]:
    """Return the spaces between faces of the two parts that look at each other along the axis, at the seat.

    Those between faces that both lie at their own part's seat come first, larger ones before
    smaller: they are the ones that should meet.
    """
    found = touches(_meeting(moment, joint), REACH)
    own, frame = joint.seat_a, moment.assembly.frames[joint.a]
    other = inverse(frame) @ moment.assembly.seat(joint)
    square = np.abs(found.normals @ own[:3, 2]) >= SQUARE
    at_a = np.abs(np.einsum("ti,ti->t", found.centres - own[:3, 3], found.normals)) <= AT_SEAT
    over = found.centres + found.gaps[:, None] * found.normals
    at_b = np.abs(np.einsum("ti,ti->t", over - other[:3, 3], found.normals)) <= AT_SEAT
    chosen = np.flatnonzero(square & (at_a | at_b))
    order = sorted(chosen.tolist(), key=lambda k: (not (at_a[k] and at_b[k]), -found.areas[k]))
    return [Space(float(found.gaps[k]), float(found.areas[k]), points(frame, found.centres[k])) for k in order]


def leans(moment: Moment, joint: Joint) -> Lean | None:
    """Return how the faces at a joint's seat lean to each other where they do, the largest pair; None where none do."""
    pair = _meeting(moment, joint)
    one, other = facets(pair.a), facets(pair.b)
    axis, seat_b = joint.seat_a[:3, 2], pair.frame @ joint.seat_b
    there = directions(pair.frame, other.normals)
    offsets = other.offsets + there @ pair.frame[:3, 3]
    mine = [(i, _corners(one, i)) for i in np.flatnonzero(one.normals @ axis >= SQUARE).tolist()]
    theirs = [(j, points(pair.frame, _corners(other, j))) for j in np.flatnonzero(-there @ axis >= SQUARE).tolist()]
    pairs = [(one.areas[i], i, j, at) for i, at in mine if _at_seat(at, joint.seat_a) for j, over in theirs
             if _at_seat(over, seat_b) and float(one.normals[i] @ there[j]) < -cos(LEANING)]
    if not pairs:
        return None
    _, i, j, corners = max(pairs, key=lambda found: found[0])
    cosine = float(np.clip(-one.normals[i] @ there[j], -1.0, 1.0))
    angle = float(np.arctan2(np.linalg.norm(np.cross(one.normals[i], there[j])), cosine))
    high = corners @ there[j] - offsets[j]
    widest = int(np.argmax(high))
    return Lean(angle, float(high[widest]), points(moment.assembly.frames[joint.a], corners[widest]))


def _corners(flat: Facets, face: int) -> Floats:
    """Return the corners (N, 3) of a face."""
    outline = np.vstack(flat.section(face).to_polygons())
    corners: Floats = outline @ flat.bases[face] + flat.normals[face] * flat.offsets[face]
    return corners


def _at_seat(corners: Floats, seat: Frame) -> bool:
    """Whether a face comes to the meeting plane somewhere near a joint's seat."""
    at = points(inverse(seat), corners)
    reach = np.array([NEAR, NEAR, AT_SEAT])
    return bool(np.all(at.min(axis=0) <= reach) and np.all(at.max(axis=0) >= -reach))


def away(moment: Moment, joint: Joint) -> float:
    """Return how far the two parts of a joint are apart, mm."""
    assembly = moment.assembly
    one, other = (assembly.solid(n, moment.done).moved(assembly.frames[n]) for n in (joint.a, joint.b))
    furthest = float(np.linalg.norm(np.ptp(np.vstack([one.bounds, other.bounds]), axis=0)))
    return float(one.manifold.min_gap(other.manifold, furthest))


def in_each_other(moment: Moment, joint: Joint) -> bool:
    """Whether the two parts are in the same wood, which is interference's to tell."""
    return bool(bites(_meeting(moment, joint)))


def _meeting(moment: Moment, joint: Joint) -> Meeting:
    return meetings(standing(moment.assembly, moment.done, (joint.a, joint.b)), np.array([[0, 1]]))[0]
