"""How a difference between two parts is told: which size, which cut, on which side, by how much."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from assembly.alike import Group
from assembly.alike_cuts import Difference
from assembly.alike_hands import handed_by
from assembly.alike_units import SubAssembly
from assembly.checks.wording import SAID, Place, listed, place, small
from assembly.findings import Amount
from assembly.placing import Assembly
from model.design import Design
from model.frames import Vector, directions, points
from model.part import Feature, Part
from model.units import show

MORE = {"length": "longer", "width": "wider", "thickness": "thicker"}
WAYS = ("along the grain", "across the width", "through the thickness")
FACING = 0.8
"""A cut is on the side of a piece that it looks along within about 37 degrees."""
FINEST = 64
"""The finest fraction of an inch in which two sizes are set side by side."""


def told(design: Design, one: str, other: str, found: Difference) -> str:
    """Return one difference between two parts, by name, as a clause without its stop."""
    a, b = design.part[one], design.part[other]
    if found.what in MORE or found.what == "length over the tenons":
        return _size(design, a, b, found)
    if found.what == "end angle":
        return f"the ends of {one} and {other} are cut {found.amount:.2f} degrees otherwise"
    if found.what == "shape":
        return f"laid on each other their corners lie up to {small(found.amount, design.unit)} apart"
    return _cut(design, a, b, found)


def handing(design: Design, one: str, other: str) -> str:
    """Return what makes two parts a mirror pair, as a clause without its stop."""
    found = handed_by(design, one, other)
    if not found:
        return "their blanks themselves are of two hands"
    return told(design, one, other, found[0]) + _and_more(len(found) - 1)


def _and_more(count: int) -> str:
    return "" if count < 1 else f", and {count} more cut{'s differ' if count > 1 else ' differs'} likewise"


def misplaced(design: Design, part: str, found: Sequence[Difference]) -> str:
    """Return how a part as cut differs from what is drawn for it, as a clause without its stop."""
    if not found:
        return "its blank is of the other hand"
    first, drawn, unit = found[0], design.part[part], design.unit
    if first.cut is None or first.match is None:
        return f"it is up to {small(abs(first.amount), unit)} off"
    meant, made = _side(design, drawn, first.cut, None), _side(design, drawn, first.match, None)
    if meant and made and meant != made:
        says = f"{_named(design, drawn, first.cut)} is on the {made} instead of the {meant}"
    elif first.unit == "deg":
        says = f"{_named(design, drawn, first.cut)} leans {first.amount:.2f} degrees otherwise"
    else:
        says = f"{_named(design, drawn, first.cut)} is {small(abs(first.amount), unit)} off its place"
    return says + _and_more(len(found) - 1)


def amount(found: Sequence[Difference]) -> Amount | None:
    """Return how much the first of some differences is."""
    return Amount(round(abs(found[0].amount), 4), found[0].unit) if found else None


def spot_of(assembly: Assembly, name: str, feature: Feature | None = None) -> Place | None:
    """Return where in the world a cut of a part lies, or the part itself; None where the part has no place."""
    if name not in assembly.frames:
        return None
    part = assembly.part(name)
    at = part.finished.centroid if feature is None else feature.frame[:3, 3]
    return place(points(assembly.frames[name], at))


def marked(group: Group) -> str:
    """Return a group as its mark and its parts: "Ca (left_leg, right_leg)"."""
    return f"{group.mark} ({listed(group.parts)})"


def united(sub: SubAssembly) -> str:
    """Return a sub-assembly by its stage and its first part: "far side (far_leg_left and 18 more)"."""
    return f"{sub.stage} ({sub.parts[0]} and {len(sub.parts) - 1} more)"


# -- clauses ------------------------------------------------------------------------------------


def _size(design: Design, a: Part, b: Part, found: Difference) -> str:
    more, less = (b, a) if found.amount > 0 else (a, b)
    by = small(abs(found.amount), design.unit)
    if found.what == "length over the tenons":
        sizes = f"{_shown(more.cut_length, design)} against {_shown(less.cut_length, design)}"
        return f"{more.name} is {by} longer over its tenons than {less.name} ({sizes})"
    lying = {"length": 0, "width": 1, "thickness": 2}[found.what]
    theirs = (b.blank.length, b.blank.width, b.blank.thickness)[lying]
    pair = sorted((theirs, theirs - found.amount), reverse=True)
    said = " against ".join(_shown(s, design) for s in pair)
    return f"{more.name} is {by} {MORE[found.what]} than {less.name} ({said})"


def _shown(mm: float, design: Design) -> str:
    return show(mm, design.unit, finest=FINEST)


def _cut(design: Design, a: Part, b: Part, found: Difference) -> str:
    if found.cut is None or found.match is None:
        has, lacks, cut = (a, b, found.cut) if found.cut is not None else (b, a, found.match)
        return f"{lacks.name} has nothing like {_named(design, has, cut)} of {has.name}" if cut is not None else ""
    mine, theirs = (f"{_named(design, p, f)} in {p.name}" for p, f in ((a, found.cut), (b, found.match)))
    if found.what == "lean":
        return f"{mine} and {theirs} lean {found.amount:.2f} degrees otherwise"
    by, way = small(abs(found.amount), design.unit), _way(b, found.along)
    if found.what == "size":
        more, less = (theirs, mine) if found.amount > 0 else (mine, theirs)
        return f"{more} is {by} {_larger(found.match, found.along, way)} than {less}"
    sides = _side(design, a, found.cut, (b, found)), _side(design, b, found.match, None)
    if found.what == "side" and all(sides) and sides[0] != sides[1]:
        return f"laid alike, {mine} is on the {sides[0]} and {theirs} on the {sides[1]}"
    return f"laid alike, {mine} and {theirs} lie {by} apart {way}"


def _larger(cut: Feature, along: Vector | None, way: str) -> str:
    if along is not None and abs(float(along @ cut.frame[:3, 2])) > FACING:
        return "longer" if cut.operation == "add" else "deeper"
    return f"larger {way}"


def _named(design: Design, part: Part, cut: Feature) -> str:
    """Return a cut as a person calls it: "the mortise for rail_3", "the tenon into post_1", "the curve"."""
    joint = design.joint.get(cut.joint or "")
    if joint is None or part.name not in (joint.a, joint.b):
        return f"the {cut.role}"
    other = joint.other(part.name)
    return f"the {cut.role} {'into' if cut.role == 'tenon' else 'for'} {other}"


def _way(part: Part, along: Vector | None) -> str:
    """Return the name of a direction of a part's own frame, the axis it is nearest to."""
    if along is None:
        return ""
    grain = abs(float(part.blank.grain @ along)) >= FACING * float(np.linalg.norm(along))
    return WAYS[0] if grain else WAYS[int(np.argmax(np.abs(along)))]


def _side(design: Design, part: Part, cut: Feature, laid: tuple[Part, Difference] | None) -> str:
    """Return the side of a part that a cut of a joint is on, "" where it is on none.

    `laid`: the part it is laid on, whose sides are meant then, and the difference that says how.
    """
    joint = design.joint.get(cut.joint or "")
    if joint is None:
        return ""
    onto = cut.operation == "add" if part.name not in (joint.a, joint.b) else joint.a == part.name
    on, out = part, cut.frame[:3, 2] * (1.0 if onto else -1.0)
    if laid is not None:
        on, out = laid[0], directions(laid[1].laid, out)
    facing = {SAID[n]: float(f[:3, 2] @ out) for n, f in on.blank.places.items() if n in SAID}
    best = max(facing, key=lambda n: facing[n], default="")
    return best if best and facing[best] > FACING else ""
