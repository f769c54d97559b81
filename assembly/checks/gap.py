"""Gap: faces that should meet and do not."""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees, radians

import numpy as np
from numpy.typing import NDArray

from assembly.checks.loops import suspects, the_rest
from assembly.checks.wording import listed, place, small
from assembly.contacts import GAP, Patch, contacts, touches
from assembly.findings import Amount, Finding
from assembly.interference import bites
from assembly.placing import Assembly
from assembly.presence import Moment, moments
from assembly.standing import Meeting, meetings, standing
from assembly.walk import LOOP_ANGLE, LOOP_GAP, OpenLoop
from model.design import Shop
from model.joint import Joint

REACH = 25.0
"""How far apart, mm, two faces are still taken for the ones that should meet."""
SQUARE = 0.45
"""A face meets along a joint's axis when its normal leans no more than about 63 degrees from it; a shoulder leans up
to 60."""
ASKEW = radians(45.0)
"""A loop open by more than this has a part in it the wrong way round, not joints a little off their angle."""
ASTRAY = 100.0
"""A loop open by more than this, mm, has a joint in it at the wrong place, not a part a little too long."""
AT_SEAT = 0.5
"""One of the two faces that should meet passes this near the middle of the joint's seat, mm."""


def gap(assembly: Assembly, shop: Shop) -> list[Finding]:
    """Find joints whose faces do not meet along the joint's axis, and loops of joints that do not close.

    A joint's faces meet where a patch square to its axis (or leaning, as its shoulder leans)
    is no more than GAP apart; a joint without shoulders, such as half a loose tenon, meets by
    its cheeks. Each joint is looked at in the finished work and at its own stage where that
    differs. Not promised: that the area is enough. Faces that overlap are interference's.
    """
    findings: list[Finding] = []
    told: set[str] = set()
    for moment in moments(assembly):
        loops = [loop for loop in moment.assembly.open_loops if loop.joint in moment.closed and loop.joint not in told]
        findings.extend(_open_loops(moment, loops))
        told.update(loop.joint for loop in loops)
        patches = _by_joint(moment)
        for joint in (assembly.design.joint[n] for n in moment.joints if n not in told):
            found = _apart(moment, joint, patches.get(joint.name, []))
            if found is not None:
                told.add(joint.name)
                findings.append(found)
    return findings


def _by_joint(moment: Moment) -> dict[str, list[Patch]]:
    patches: dict[str, list[Patch]] = {}
    for patch in contacts(moment.assembly, moment.done, moment.names):
        if patch.joint is not None:
            patches.setdefault(patch.joint, []).append(patch)
    return patches


def _meets(assembly: Assembly, joint: Joint, patches: list[Patch]) -> bool:
    if joint.of is not None:
        return bool(patches)
    axis = assembly.axis(joint)
    return any(abs(p.gap) <= GAP and abs(float(p.normal @ axis)) >= SQUARE for p in patches)


@dataclass(frozen=True)
class _Space:
    """Between the faces that should meet: mm apart (negative: in each other), and where in the world."""

    gap: float
    where: NDArray[np.float64]


def _apart(moment: Moment, joint: Joint, patches: list[Patch]) -> Finding | None:
    assembly = moment.assembly
    if _meets(assembly, joint, patches):
        return None
    spaces = _spaces(moment, joint)
    if spaces:
        space = min(spaces, key=lambda s: abs(s.gap))
        return _finding(moment, joint, space.gap, space.where) if space.gap > GAP else None
    if patches:
        return None
    if _in_each_other(moment, joint):
        return None
    one, other = (assembly.solid(n, moment.done).moved(assembly.frames[n]) for n in (joint.a, joint.b))
    furthest = float(np.linalg.norm(np.ptp(np.vstack([one.bounds, other.bounds]), axis=0)))
    away = float(one.manifold.min_gap(other.manifold, furthest))
    return _finding(moment, joint, away, assembly.seat(joint)[:3, 3])


def _meeting(moment: Moment, joint: Joint) -> Meeting:
    return meetings(standing(moment.assembly, moment.done, (joint.a, joint.b)), np.array([[0, 1]]))[0]


def _in_each_other(moment: Moment, joint: Joint) -> bool:
    """Whether the two parts are in the same wood, which is interference's to tell."""
    return bool(bites(_meeting(moment, joint)))


def _spaces(moment: Moment, joint: Joint) -> list[_Space]:
    """Return the spaces between faces of the two parts that look at each other along the axis, at the seat."""
    found = touches(_meeting(moment, joint), REACH)
    seat = joint.seat_a
    square = np.abs(found.normals @ seat[:3, 2]) >= SQUARE
    off = np.einsum("ti,ti->t", found.centres - seat[:3, 3], found.normals)
    at_seat = np.minimum(np.abs(off), np.abs(off + found.gaps)) <= AT_SEAT
    frame = moment.assembly.frames[joint.a]
    return [_Space(float(g), frame[:3, :3] @ c + frame[:3, 3])
            for g, c in zip(found.gaps[square & at_seat], found.centres[square & at_seat], strict=True)]


def _finding(moment: Moment, joint: Joint, away: float, where: NDArray[np.float64]) -> Finding:
    says = small(away, moment.assembly.design.unit)
    when = f"When {moment.stage} is glued, the" if moment.stage else "The"
    if away <= GAP:
        message = (f"{when} faces of {joint.name} do not meet: {joint.a} and {joint.b} touch along an edge at most, "
                   f"with no face on the other.")
        remedy = f"Bring a face of {joint.a} onto a face of {joint.b}, or cut a shoulder that lies on it."
    else:
        message = f"{when} faces of {joint.name} do not meet: {joint.a} and {joint.b} stay {says} apart."
        remedy = (f"Make {joint.a} {says} longer at that shoulder, move the joint by as much, or glue a piece of that "
                  f"thickness between.")
    return Finding("gap", "stop", (joint.a, joint.b), message, remedy, place(where), Amount(round(away, 3), "mm"),
                   (joint.name,))


def _open_loops(moment: Moment, loops: list[OpenLoop]) -> list[Finding]:
    rest = [the_rest(moment, loop) for loop in loops]
    shared = suspects(moment, [(loop.joint, *others) for loop, others in zip(loops, rest, strict=True)])
    return [_open(moment, loop, others, shared) for loop, others in zip(loops, rest, strict=True)]


def _open(moment: Moment, loop: OpenLoop, others: tuple[str, ...], shared: tuple[str, ...]) -> Finding:
    assembly = moment.assembly
    joint = assembly.design.joint[loop.joint]
    when = f"When {moment.stage} is glued, " if moment.stage else ""
    also = f" No loop through {listed(shared)} closes, all others do." if shared else ""
    first = f"Measure {listed(shared)} first. " if shared else ""
    says = small(loop.gap, assembly.design.unit)
    angle = f" and {degrees(loop.angle):.3g}° out of line" if loop.angle > LOOP_ANGLE else ""
    amount = Amount(round(loop.gap, 3), "mm") if loop.gap > LOOP_GAP else Amount(round(degrees(loop.angle), 3), "deg")
    return Finding(
        "gap", "stop", (joint.a, joint.b),
        f"{when}{joint.name} does not close: with {listed(others)} home, {_way(assembly, joint, says)}{angle}.{also}",
        first + _share(assembly, joint, loop, others), loop.where, amount, (joint.name, *others))


def _offset(assembly: Assembly, joint: Joint) -> tuple[float, float]:
    """How far a stays short of home along the joint's axis (negative: past it) and how far it is aside, mm."""
    seat = assembly.seat(joint)
    away = seat[:3, 3] - (assembly.frames[joint.a] @ joint.seat_a)[:3, 3]
    along = float(away @ seat[:3, 2])
    return along, float(np.linalg.norm(away - along * seat[:3, 2]))


def _way(assembly: Assembly, joint: Joint, says: str) -> str:
    along, aside = _offset(assembly, joint)
    if abs(along) > 10 * aside:
        return f"{joint.a} {'stops short of' if along > 0 else 'runs past its place in'} {joint.b} by {says}"
    return f"{joint.a} and {joint.b} stand {says} off their common place"


def _share(assembly: Assembly, joint: Joint, loop: OpenLoop, others: tuple[str, ...]) -> str:
    count, unit = len(others) + 1, assembly.design.unit
    along, aside = _offset(assembly, joint)
    if loop.angle > ASKEW or loop.gap > ASTRAY:
        return (f"Look at the places and the turn of {listed((joint.name, *others))}: one of them holds a part in the "
                f"wrong spot or the wrong way round.")
    if loop.angle > LOOP_ANGLE:
        return (f"Change the angle of each of the {count} joints of the loop by {degrees(loop.angle) / count:.3g} "
                f"degrees, or fit the last piece to the place that is left.")
    if abs(along) > 10 * aside:
        return (f"Make {joint.a} {small(abs(along), unit)} {'longer' if along > 0 else 'shorter'} between its joints, "
                f"or the other parts of the loop {'shorter' if along > 0 else 'longer'} by as much together.")
    return f"Move a joint of the loop by {small(loop.gap, unit)}, or change the parts between by as much together."
