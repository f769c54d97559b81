"""Pieces that stop short of home, told with what stops them, what to cut, and what stays open because of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assembly.checks.loops import the_rest
from assembly.checks.sizes import ROOM, can_deepen, depth, reach
from assembly.checks.wording import grown_at, listed, place, small, spot
from assembly.contacts import GAP, touches
from assembly.findings import Amount, Finding
from assembly.meeting import meeting
from assembly.placing import Assembly
from assembly.presence import Moment
from assembly.pushing import pushed
from assembly.walk import OpenLoop
from model.frames import inverse, points
from model.joint import Joint

Floats = NDArray[np.float64]

EXPLAINS = 0.02
"""A tenon longer than its mortise by what the piece stops short of, within this, mm, is what stops it."""

AT_SHOULDER = 0.5
"""A piece is stopped at its shoulder when it is this near the meeting plane, mm."""


def stops_short(assembly: Assembly, joint: Joint, loops: Sequence[tuple[Moment, OpenLoop]]) -> Finding:
    """Return the finding for a joint whose part a stops short, with the open loops that follow from it."""
    mm = assembly.standoffs[joint.name]
    told = _loose(assembly, joint, mm) or _bottoms(assembly, joint, mm) or _stopped(assembly, joint, mm)
    return Finding("gap", "stop", told.parts, told.message + _follows(joint, loops), told.remedy,
                   place(assembly.seat(joint)[:3, 3]), Amount(round(mm, 3), "mm"), (joint.name,))


@dataclass(frozen=True)
class _Told:
    parts: tuple[str, ...]
    message: str
    remedy: str


def _bottoms(assembly: Assembly, joint: Joint, mm: float) -> _Told | None:
    """A tenon that reaches the bottom of its mortise before its shoulder is home."""
    tenon, mortise = reach(assembly, joint), depth(assembly, joint)
    if tenon is None or mortise is None or abs(tenon - mortise - mm) > EXPLAINS:
        return None
    unit = assembly.design.unit
    deeper = f" or the mortise to {small(tenon + ROOM, unit)}" if can_deepen(assembly, joint, tenon + ROOM) else ""
    return _Told((joint.a, joint.b),
                 f"{joint.a} stops {small(mm, unit)} short of {joint.b}: its tenon is {small(tenon, unit)}, the "
                 f"mortise {small(mortise, unit)} deep.",
                 f"Cut the tenon to {small(max(0.0, mortise - ROOM), unit)}{deeper}.")


def _loose(assembly: Assembly, joint: Joint, mm: float) -> _Told | None:
    """A loose tenon longer than its two mortises are deep together."""
    design, shifts = assembly.design, pushed(assembly.design).shifts
    halves = [j for j in design.joints if j.of == joint.name]
    if len(halves) != 2 or not any(j.name in shifts for j in halves):
        return None
    length = sum(reach(assembly, j) or 0.0 for j in halves)
    one, other = (depth(assembly, j) or 0.0 for j in halves)
    unit = design.unit
    return _Told((joint.a, joint.b, halves[0].a),
                 f"{joint.a} stops {small(mm, unit)} short of {joint.b}: {halves[0].a} between them is "
                 f"{small(length, unit)} long, its mortises {small(one, unit)} and {small(other, unit)} deep.",
                 f"Cut {halves[0].a} to {small(max(0.0, one + other - 2 * ROOM), unit)}, or the two mortises "
                 f"{small(length - one - other + 2 * ROOM, unit)} deeper together.")


def _stopped(assembly: Assembly, joint: Joint, mm: float) -> _Told:
    unit, (where, own) = assembly.design.unit, _touch(assembly, joint)
    says = small(mm, unit)
    what = "the wood there" if where is None else _what(assembly, joint, own)
    at = "" if where is None else f", {spot(assembly, joint.b, where)}"
    return _Told((joint.a, joint.b),
                 f"{joint.a} stops {says} short of {joint.b}: {what} meets the wood of {joint.b}{at}.",
                 f"Take {says} off {joint.a} where they meet, or off {joint.b} there.")


def _what(assembly: Assembly, joint: Joint, own: Floats | None) -> str:
    if own is None or abs(float(points(inverse(joint.seat_a), own)[2])) <= AT_SHOULDER:
        return "its shoulder"
    grown = grown_at(assembly.part(joint.a), own)
    return f"its {grown.role}" if grown is not None else "its wood"


def _touch(assembly: Assembly, joint: Joint) -> tuple[Floats | None, Floats | None]:
    """Return where part a meets part b when it stops, as part b would have it in the world, and in a's own frame."""
    stop = pushed(assembly.design).stopped(joint)
    found = touches(meeting(assembly.solid(joint.a), assembly.solid(joint.b), stop.b_in_a), GAP)
    ahead = found.normals @ stop.seat_a[:3, 2]
    if not len(found) or ahead.max() <= 0.1:
        return None, None
    k = int(np.argmax(np.where(ahead > 0.1, found.areas, -1.0)))
    return points(assembly.frames[joint.b], points(stop.a_in_b, found.centres[k])), found.centres[k]


def _follows(joint: Joint, loops: Sequence[tuple[Moment, OpenLoop]]) -> str:
    """Say which joints stay open because of it."""
    open_too = list(dict.fromkeys(loop.joint for _, loop in loops if loop.joint != joint.name))
    own = next(((moment, loop) for moment, loop in loops if loop.joint == joint.name), None)
    if open_too:
        return f" Because of it {listed(open_too)} {'does' if len(open_too) == 1 else 'do'} not close, by as much."
    others = the_rest(*own) if own is not None else ()
    return f" With it home as far as it goes, one of {listed(others)} does not close, by as much." if others else ""
