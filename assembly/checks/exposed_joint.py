"""Exposed joint: a mortise, slot, housing or lap that comes out through a face that is not its mouth."""

from __future__ import annotations

from assembly.checks.thin_wall import LIMITS, called, later_cut, outside
from assembly.checks.wording import place, small, spot
from assembly.findings import Amount, Finding
from assembly.placing import Assembly
from assembly.walls import Break, Left, left_around
from model.design import Shop
from model.frames import directions, points

UNDER = 0.7
"""A face within about 45 degrees of square to the way of a pocket is under it, not beside it."""


def exposed_joint(assembly: Assembly, shop: Shop) -> list[Finding]:
    """Find pockets that come out of their part where they should not, by more than 0.02 mm.

    A mortise may come out by its mouth (a face that leans no more than about 63 degrees from
    square to its way) and, for a through tenon, opposite; a slot, housing or lap also where it
    does in the drawing, to within 60 degrees. Looked at as cut, before any glue and after each stage
    behind which the part is cut again; what a later cut lays open is told late. The amount
    is how far the pocket reaches out of the wood, exact for flat faces, within 0.005 mm for curves.
    One finding for each pocket and step, at the worst place. Not promised: a slot, housing or lap of
    wood turned since the drawing, or drawn so from the start, counts as meant to be open where it is.
    """
    findings: list[Finding] = []
    for name in assembly.names:
        left = left_around(assembly.design, assembly.part(name))
        findings.extend(_finding(assembly, name, left, found) for found in left.breaks)
    return findings


def _finding(assembly: Assembly, name: str, left: Left, found: Break) -> Finding:
    pocket, stage = left.pockets[found.pocket], left.stages[found.step]
    frame, unit = assembly.frames[name], assembly.design.unit
    where, by = points(frame, found.at), small(found.by, unit)
    cut = later_cut(assembly, name, stage)
    face = f"the {cut}" if stage and pocket.after != stage else outside(assembly, name, directions(frame, found.way))
    when = f"Once the {cut} of {name} is sawn after {stage}, " if face == f"the {cut}" else ""
    the = called(pocket) if when else "T" + called(pocket)[1:]
    under = abs(float(pocket.frame[:3, 2] @ found.way)) >= UNDER
    more = small(found.by + LIMITS["floor" if under else "cover" if when else "wall"].warn, unit)
    away = f"Make {called(pocket)}, and what goes into it, {more} shallower" if under else (
        f"Move {called(pocket)} {more} away from there, or make it that much narrower on that side")
    also = f", or saw the {cut} {more} farther off" if when else ""
    return Finding("exposed-joint", "stop", (name,),
                   f"{when}{the} comes {by} out through {face}, {spot(assembly, name, where)}.", f"{away}{also}.",
                   place(where), Amount(round(found.by, 3), "mm"), (pocket.joint,) if pocket.joint else (), stage,
                   bool(stage))
