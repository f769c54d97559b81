"""Gap: faces that should meet and do not."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees

import numpy as np
from numpy.typing import NDArray

from assembly.checks.faces import REACH, away, in_each_other, leans, met, patches, spaces
from assembly.checks.fit import plays_of
from assembly.checks.mates import bare
from assembly.checks.open_loops import open_loops
from assembly.checks.short import stops_short
from assembly.checks.sizes import reach
from assembly.checks.wording import place, small, when
from assembly.contacts import GAP
from assembly.findings import Amount, Finding
from assembly.placing import Assembly, as_drawn
from assembly.presence import Moment, moments
from assembly.walk import OpenLoop
from model.design import Shop
from model.joint import Joint

FAIR = 0.5
"""A joint as cut must keep this share of the area over which its faces meet in the drawing."""


def gap(assembly: Assembly, shop: Shop) -> list[Finding]:
    """Find pieces that stop short of home, loops of joints that do not close, and joints whose faces do not meet.

    A piece stops short when something in its joint stops it more than 0.025 mm before its shoulder is home, as
    a tenon that is longer than its mortise is deep. A joint's faces meet where a patch square to its axis
    (or leaning, as its shoulder leans) is no more than GAP apart; a joint without shoulders, such as half a
    loose tenon, meets by its cheeks. As cut, a joint must keep a FAIR share of the area that meets in the
    drawing, and of the length of its tenon. Each joint is looked at in the finished work and at its own
    stage where that differs. Not promised: that what is drawn is enough; one of several shoulders sawn back in
    the drawing itself. Faces that overlap are interference's, joints that a cut was forgotten for unmatched.
    """
    joints, lonely = assembly.design.joint, bare(assembly)
    short = [joints[n] for n in assembly.standoffs if n not in lonely and _stands(assembly, joints[n])]
    apart: list[Finding] = []
    loops: list[tuple[Moment, OpenLoop]] = []
    told, standoffs = set[str](), assembly.standoffs
    for moment in moments(assembly):
        left = [loop for loop in moment.assembly.open_loops if loop.joint in moment.closed]
        loops.extend((moment, loop) for loop in left if loop.standoffs or loop.joint not in told)
        told.update(loop.joint for loop in left)
        for joint in (joints[n] for n in moment.joints
                      if n not in told and n not in lonely and n not in standoffs):
            found = _apart(moment, joint)
            if found is not None:
                told.add(joint.name)
                apart.append(found)
    own = [(moment, loop) for moment, loop in loops if not loop.standoffs]
    return [*(stops_short(assembly, joint, _of(loops, joint.name)) for joint in short), *open_loops(own), *apart]


def _stands(assembly: Assembly, joint: Joint) -> bool:
    return joint.a in assembly.frames and joint.b in assembly.frames


def _of(loops: Sequence[tuple[Moment, OpenLoop]], joint: str) -> list[tuple[Moment, OpenLoop]]:
    return [(moment, loop) for moment, loop in loops if joint in loop.standoffs]


def _apart(moment: Moment, joint: Joint) -> Finding | None:
    area = met(moment, joint)
    if area > 0.0:
        drawn = _drawn(moment, joint)
        return None if drawn is None else _little(moment, drawn, joint, area) or _stubby(moment, drawn, joint)
    if joint.of is not None and plays_of(moment.assembly, joint):
        return None
    if in_each_other(moment, joint):
        return None
    found = spaces(moment, joint)
    if found:
        return _finding(moment, joint, found[0].gap, found[0].where) if found[0].gap > GAP else None
    leaning = leans(moment, joint)
    if leaning is not None and leaning.gap > GAP:
        return _askew(moment, joint, leaning.angle, leaning.gap, leaning.where)
    if patches(moment).get(joint.name):
        return None
    apart = away(moment, joint)
    return _finding(moment, joint, apart, moment.assembly.seat(joint)[:3, 3]) if apart <= REACH else None


def _drawn(moment: Moment, joint: Joint) -> Assembly | None:
    """Return the work as drawn, where a joint with faces to meet came out otherwise than drawn; else None."""
    drawn = as_drawn(moment.assembly)
    meant = drawn.design.joint.get(joint.name)
    if drawn is moment.assembly or meant is None or joint.of is not None:
        return None
    same = all(drawn.design.part.get(n) is moment.assembly.part(n) for n in (joint.a, joint.b))
    return None if same and meant is joint else drawn


def _little(moment: Moment, drawn: Assembly, joint: Joint, area: float) -> Finding | None:
    """A joint that meets over much less than in the drawing."""
    meant = max((met(m, drawn.design.joint[joint.name]) for m in moments(drawn)
                 if m.stage == moment.stage and joint.name in m.closed), default=0.0)
    if area >= FAIR * meant:
        return None
    open_at = next((s for s in spaces(moment, joint) if s.gap > GAP), None)
    says = f"{when(moment.stage)}{joint.name} meets over {area / 100:.1f} of {meant / 100:.1f} cm² only"
    if open_at is None:
        return Finding("gap", "warn", (joint.a, joint.b), f"{says}: {joint.a} lies on {joint.b} with less of its face "
                       "than drawn.", f"Look at {joint.a} and {joint.b}: one of them is narrower or elsewhere than "
                       "drawn.", place(moment.assembly.seat(joint)[:3, 3]), Amount(round(meant - area, 1), "mm2"),
                       (joint.name,))
    apart = small(open_at.gap, moment.assembly.design.unit)
    return Finding("gap", "warn", (joint.a, joint.b),
                   f"{says}: elsewhere {joint.a} and {joint.b} stay {apart} apart.",
                   f"Take {apart} off the side that touches, or glue a piece of that thickness in on the other.",
                   place(open_at.where), Amount(round(open_at.gap, 3), "mm"), (joint.name,))


def _stubby(moment: Moment, drawn: Assembly, joint: Joint) -> Finding | None:
    """A tenon that reaches much less far into its mortise than in the drawing."""
    assembly = moment.assembly
    now, meant = reach(assembly, joint), reach(drawn, drawn.design.joint[joint.name])
    if now is None or meant is None or now >= FAIR * meant:
        return None
    long, drawn_long = (small(mm, assembly.design.unit) for mm in (now, meant))
    return Finding("gap", "warn", (joint.a, joint.b),
                   f"{_the(moment)} tenon of {joint.a} reaches {long} into {joint.b}, where {drawn_long} are "
                   f"drawn: less than half of its cheeks hold.",
                   f"Cut {joint.a} anew with a tenon of {drawn_long}, or sink a loose tenon across the joint.",
                   place(assembly.seat(joint)[:3, 3]), Amount(round(meant - now, 3), "mm"), (joint.name,))


def _the(moment: Moment) -> str:
    """Begin a sentence with the stage and an article."""
    return f"{when(moment.stage)}the" if moment.stage else "The"


def _finding(moment: Moment, joint: Joint, apart: float, where: NDArray[np.float64]) -> Finding:
    says = small(apart, moment.assembly.design.unit)
    the = _the(moment)
    if apart <= GAP:
        message = (f"{the} faces of {joint.name} do not meet: {joint.a} and {joint.b} touch along an edge at most, "
                   f"with no face on the other.")
        remedy = f"Bring a face of {joint.a} onto a face of {joint.b}, or cut a shoulder that lies on it."
    else:
        message = f"{the} faces of {joint.name} do not meet: {joint.a} and {joint.b} stay {says} apart."
        remedy = (f"Make {joint.a} {says} longer at that shoulder, move the joint by as much, or glue a piece of that "
                  f"thickness between.")
    return Finding("gap", "stop", (joint.a, joint.b), message, remedy, place(where), Amount(round(apart, 3), "mm"),
                   (joint.name,))


def _askew(moment: Moment, joint: Joint, angle: float, apart: float, where: NDArray[np.float64]) -> Finding:
    says, lean = small(apart, moment.assembly.design.unit), f"{degrees(angle):.3g}°"
    return Finding("gap", "stop", (joint.a, joint.b),
                   f"{_the(moment)} faces of {joint.name} meet on one edge only: that of {joint.a} leans {lean} to "
                   f"that of {joint.b} and stays {says} open at the other edge.",
                   f"Pare the shoulder of {joint.a} by {lean}, {says} at the edge that touches.",
                   place(where), Amount(round(degrees(angle), 3), "deg"), (joint.name,))
