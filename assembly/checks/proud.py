"""Proud: faces meant to be flush that are not, and feet that do not stand."""

from __future__ import annotations

from math import radians

from assembly.checks.proud_drawing import nearly_flush, not_as_declared
from assembly.checks.proud_feet import on_feet
from assembly.checks.proud_steps import (
    ROUNDING,
    STANDS_OUT,
    Cut,
    cut_anew,
    is_short_tenon,
    short_tenon,
    smaller,
    take_off,
)
from assembly.findings import Finding
from assembly.flushness import Seam, Step, seams, steps
from assembly.placing import Assembly, as_drawn
from model.design import Shop

OUT_OF_PLANE = radians(0.05)
"""Faces at such an angle, rad, to each other are out of one plane."""

_Key = tuple[str, str, int, int]


def proud(assembly: Assembly, shop: Shop) -> list[Finding]:
    """Find faces that were to be flush and stand out from each other, and feet that do not stand on the ground.

    Meant to be flush: what the design declares, and any two outer faces of parts that share a
    joint or touch which run on in each other in one plane in the drawing (0.05 mm, 0.02
    degrees). Told as cut, exactly where it is most along the seam: steps of 0.1 mm, angles of
    0.05 degrees; one finding for each part that is to be worked, never more than one for two
    parts. In the drawing: faces declared flush that are not, ends and feet that do not stand
    (warnings), faces of joined parts up to 1.5 mm out of one plane (a note). Feet: see
    `stance`; told from 0.1 mm off the plane in which most of them stand, and 0.05 degrees out
    of parallel to it. Nothing here stops a glue-up.
    Not promised: curved faces, and faces that meet along less than 3 mm; a step where two parts
    are flush only by way of a third; feet and faces where joints do not close (gap tells
    those); feet that are a long face drawn out of level; whether the ground is flat.
    """
    drawn = as_drawn(assembly)
    found = [s for s in steps(assembly) if s.amount >= STANDS_OUT - ROUNDING or s.angle >= OUT_OF_PLANE - ROUNDING]
    found = _one_way(assembly, found)
    low = _lie_low(assembly, found)
    anew = _by_part([(s.low, s) for s in found if s.low in low])
    rest = [(s, is_short_tenon(assembly, s)) for s in found if s.low not in low]
    short = _by_part([(s.low, s) for s, tenon in rest if tenon])
    off = _by_part([(s.proud, s) for s, tenon in rest if not tenon])
    return [*(cut_anew(assembly, cut) for cut in anew), *(short_tenon(assembly, cut) for cut in short),
            *take_off(assembly, off), *not_as_declared(drawn), *nearly_flush(drawn), *on_feet(assembly)]


def _one_way(assembly: Assembly, found: list[Step]) -> list[Step]:
    """Keep of the steps between two parts those one way: the way of the largest, then of what slides into the other.

    A part that sits off its place stands proud on one side and lies low on the other.
    """
    slides = {(j.a, j.b) for j in assembly.design.joints}
    most: dict[tuple[str, str], tuple[float, bool]] = {}
    for s in found:
        this = round(s.amount, 4), (s.proud, s.low) in slides
        most[s.proud, s.low] = max(this, most.get((s.proud, s.low), this))
    none = (-1.0, False)
    return [s for s in found if most[s.proud, s.low] >= most.get((s.low, s.proud), none)
            and not (most[s.proud, s.low] == most.get((s.low, s.proud), none) and s.proud > s.low)]


def _by_part(steps_by: list[tuple[str, Step]]) -> list[Cut]:
    by_part: dict[str, list[Step]] = {}
    for name, step in steps_by:
        by_part.setdefault(name, []).append(step)
    return [Cut(name, tuple(of)) for name, of in by_part.items()]


def _lie_low(assembly: Assembly, found: list[Step]) -> set[str]:
    """Return the parts that came out too small and lie low among others which are still flush with each other.

    To bring one of those down to such a part would only move the step on to the next.
    """
    off = {_key(s.seam) for s in found}
    level: dict[tuple[str, int], set[str]] = {}
    for seam in seams(as_drawn(assembly)):
        if seam.flush and _key(seam) not in off:
            level.setdefault((seam.a, seam.face_a), set()).add(seam.b)
            level.setdefault((seam.b, seam.face_b), set()).add(seam.a)
    return {s.low for s in found if s.amount >= STANDS_OUT - ROUNDING and smaller(assembly, s)
            and level.get((s.proud, _face(s)), set()) - {s.low}}


def _key(seam: Seam) -> _Key:
    return seam.a, seam.b, seam.face_a, seam.face_b


def _face(step: Step) -> int:
    """Return the proud part's face in the drawing."""
    return step.seam.face_a if step.proud == step.seam.a else step.seam.face_b
