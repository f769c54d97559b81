"""How a loop of joints that does not close is told: by how much, which part keeps it open, what to cut to match."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees, radians

import numpy as np

from assembly.checks.loops import suspects, the_rest
from assembly.checks.matching import Match, Off, explaining, matches
from assembly.checks.wording import capital, listed, small, when
from assembly.findings import Amount, Finding
from assembly.placing import Assembly, as_drawn
from assembly.presence import Moment
from assembly.walk import LOOP_ANGLE, LOOP_GAP, OpenLoop
from model.as_cut import CutAsCut, PartAsCut
from model.frames import directions
from model.joint import Joint
from model.recut.cuts import cut_of
from model.recut.faces import ANGLES, drawn_size

ASKEW = radians(45.0)
"""A loop open by more than this has a part in it the wrong way round, not joints a little off their angle."""
ASTRAY = 100.0
"""A loop open by more than this, mm, has a joint in it at the wrong place, not a part a little too long."""
ALONG_GRAIN = 0.999
"""What a part is off by runs along its grain within about 2.5 degrees."""
SIZED = {"length": "long", "width": "wide", "thickness": "thick"}


@dataclass(frozen=True, eq=False)
class _Loop:
    """An open loop at a moment: its joint, the others in order round, the measured parts that keep it open."""

    moment: Moment
    loop: OpenLoop
    others: tuple[str, ...]
    off: tuple[Off, ...]

    @property
    def cause(self) -> tuple[object, ...]:
        """What is alike in loops that stay open for one reason."""
        if not self.off:
            return (self.loop.joint,)
        return (*sorted(o.part for o in self.off), round(self.loop.gap, 2), round(degrees(self.loop.angle), 2))


def open_loops(loops: Sequence[tuple[Moment, OpenLoop]]) -> list[Finding]:
    """Return one finding for each open loop, and one for all loops that the same measured parts keep open alike."""
    found = []
    for moment, loop in loops:
        others = the_rest(moment, loop)
        found.append(_Loop(moment, loop, others, explaining(moment, loop, others)))
    shared = {moment: suspects(moment, [(one.loop.joint, *one.others) for one in found
                                        if one.moment is moment and not one.off]) for moment, _ in loops}
    causes: dict[tuple[object, ...], list[_Loop]] = {}
    for one in found:
        causes.setdefault(one.cause, []).append(one)
    return [_measured(alike) if alike[0].off else _finding(alike[0], shared[alike[0].moment])
            for alike in causes.values()]


def _finding(one: _Loop, shared: tuple[str, ...]) -> Finding:
    joint = one.moment.assembly.design.joint[one.loop.joint]
    also = f" No loop through {listed(shared)} closes, all others do." if shared else ""
    first = f"Measure {listed(shared)} first. " if shared else ""
    return Finding("gap", "stop", (joint.a, joint.b), _says(one) + also,
                   first + _share(one.moment.assembly, joint, one), one.loop.where, _amount(one.loop),
                   (joint.name, *one.others))


def _amount(loop: OpenLoop, off: Sequence[Off] = ()) -> Amount:
    if any(one.turned > LOOP_ANGLE for one in off):
        return Amount(round(degrees(loop.angle), 3), "deg")
    return Amount(round(loop.gap, 3), "mm") if loop.gap > LOOP_GAP else Amount(round(degrees(loop.angle), 3), "deg")


def _says(one: _Loop) -> str:
    moment, loop, assembly = one.moment, one.loop, one.moment.assembly
    joint = assembly.design.joint[loop.joint]
    way = _way(assembly, joint, small(loop.gap, assembly.design.unit)) if loop.gap > LOOP_GAP else f"{joint.a} is"
    angle = f"{' and' if loop.gap > LOOP_GAP else ''} {degrees(loop.angle):.3g}° out of line"
    return (f"{when(moment.stage)}{loop.joint} does not close: with {listed(one.others)} home, "
            f"{way}{angle if loop.angle > LOOP_ANGLE else ''}.")


def _offset(assembly: Assembly, joint: Joint) -> tuple[float, float]:
    """How far a stays short of home along the joint's axis (negative: past it) and how far it is aside, mm."""
    seat = assembly.seat(joint)
    away = seat[:3, 3] - assembly.seat_of_a(joint)[:3, 3]
    along = float(away @ seat[:3, 2])
    return along, float(np.linalg.norm(away - along * seat[:3, 2]))


def _way(assembly: Assembly, joint: Joint, says: str) -> str:
    along, aside = _offset(assembly, joint)
    if abs(along) > 10 * aside:
        return f"{joint.a} {'stops short of' if along > 0 else 'runs past its place in'} {joint.b} by {says}"
    return f"{joint.a} and {joint.b} stand {says} off their common place"


def _share(assembly: Assembly, joint: Joint, one: _Loop) -> str:
    loop, count, unit = one.loop, len(one.others) + 1, assembly.design.unit
    along, aside = _offset(assembly, joint)
    if loop.angle > ASKEW or loop.gap > ASTRAY:
        return (f"Look at the places and the turn of {listed((joint.name, *one.others))}: one of them holds a part in "
                f"the wrong spot or the wrong way round.")
    if loop.angle > LOOP_ANGLE:
        return (f"Change the angle of each of the {count} joints of the loop by {degrees(loop.angle) / count:.3g} "
                f"degrees, or fit the last piece to the place that is left.")
    if abs(along) > 10 * aside:
        return (f"Make {joint.a} {small(abs(along), unit)} {'longer' if along > 0 else 'shorter'} between its joints, "
                f"or the other parts of the loop {'shorter' if along > 0 else 'longer'} by as much together.")
    return f"Move a joint of the loop by {small(loop.gap, unit)}, or change the parts between by as much together."


# -- what was measured ----------------------------------------------------------------------------


def _measured(alike: Sequence[_Loop]) -> Finding:
    """Tell the loops that the same measured parts keep open, at the first of them."""
    one, assembly = alike[0], alike[0].moment.assembly
    more = list(dict.fromkeys(other.loop.joint for other in alike[1:]))
    also = f" {listed(more)} {'stays' if len(more) == 1 else 'stay'} open likewise." if more else ""
    joint = assembly.design.joint[one.loop.joint]
    why = " ".join(_was(assembly, off) for off in one.off)
    return Finding(
        "gap", "stop", tuple(dict.fromkeys((*(off.part for off in one.off), joint.a, joint.b))),
        f"{_says(one)}{also} {why}", _right(one), one.loop.where, _amount(one.loop, one.off),
        tuple(dict.fromkeys(n for other in alike for n in (other.loop.joint, *other.others))))


def _was(assembly: Assembly, off: Off) -> str:
    """Say what was measured on a part, in sentences."""
    record = _record(assembly, off)
    sizes = _sizes(assembly, record)
    said = [f"{off.part} was measured {listed(sizes)}."] if sizes else []
    return " ".join(said + [_cut(assembly, record.part, cut) for cut in _cuts(record, off)])


def _record(assembly: Assembly, off: Off) -> PartAsCut:
    return next(m for m in assembly.design.measured if m.part == off.part)


def _cuts(record: PartAsCut, off: Off) -> list[CutAsCut]:
    """Return what was measured of the two cuts of a part that a loop runs through, where it moves the joint."""
    names = {off.enters.name, off.leaves.name, off.enters.of, off.leaves.of}
    return [cut for cut in record.cuts if cut.joint in names and (cut.along or cut.across or cut.depth is not None)]


def _sizes(assembly: Assembly, record: PartAsCut) -> list[str]:
    blank, unit = as_drawn(assembly).part(record.part).blank, assembly.design.unit
    said = []
    for what, word in SIZED.items():
        value = getattr(record, what)
        if value is not None:
            said.append(f"{small(value, unit)} {word} instead of {small(getattr(blank, what), unit)}")
    for what, end in ANGLES.items():
        value = getattr(record, what)
        if value is not None:
            drawn = drawn_size(blank, what) or 0.0
            said.append(f"{degrees(value):.4g}° at its {end} instead of {degrees(drawn):.4g}°")
    return said


def _named(assembly: Assembly, part: str, cut: CutAsCut) -> str:
    """Return a cut as a person calls it: "the mortise for rail_3 in post_1", "the tenon of rail_3 into post_1"."""
    joint = assembly.design.joint[cut.joint]
    other = joint.other(part)
    role = next((f.role for f in assembly.part(part).features if f.joint == joint.name and f.role != "shoulder"), "cut")
    return f"the tenon of {part} into {other}" if role == "tenon" else f"the {role} for {other} in {part}"


def _cut(assembly: Assembly, part: str, cut: CutAsCut) -> str:
    unit = assembly.design.unit
    off = [f"{small(abs(mm), unit)} off its place {way}"
           for mm, way in ((cut.along, "along"), (cut.across, "across")) if mm]
    deep = [f"{small(cut.depth, unit)} deep"] if cut.depth is not None else []
    named = _named(assembly, part, cut)
    return f"{capital(named)} was measured {listed([*off, *deep])}."


def _right(one: _Loop) -> str:
    """Say how to put the measured parts right and, where one alone is off, what else could be cut to match."""
    assembly = one.moment.assembly
    right = "; ".join(_anew(assembly, off) for off in one.off)
    match = matches(one.moment, one.off[0]) if len(one.off) == 1 and one.loop.angle <= LOOP_ANGLE else ()
    return f"{right}{f', or to match it make {_to_match(assembly, match)}' if _can_be(match) else ''}."


def _can_be(match: Sequence[Match]) -> bool:
    return bool(match) and all(m.wanted > 0.0 for m in match)


def _to_match(assembly: Assembly, match: Sequence[Match]) -> str:
    sizes: dict[tuple[str, str], list[str]] = {}
    for one in match:
        sizes.setdefault((small(one.wanted, assembly.design.unit), _ends(assembly, one.part)), []).append(one.part)
    return " and ".join(f"{listed(names)} {says} between {'its' if len(names) == 1 else 'their'} {ends}"
                        for (says, ends), names in sizes.items())


def _ends(assembly: Assembly, part: str) -> str:
    """Return what a length between a part's joints is measured from: its shoulders where it goes into others."""
    goes_in = all(j.a == part for j in assembly.design.joints if part in (j.a, j.b))
    return "shoulders" if goes_in else "joints"


def _anew(assembly: Assembly, off: Off) -> str:
    """Say how to put a measured part right, without the stop."""
    record, unit = _record(assembly, off), assembly.design.unit
    if off.turned > LOOP_ANGLE:
        return _true(assembly, off, record)
    amount = float(np.linalg.norm(off.by))
    cuts = _cuts(record, off)
    if cuts:
        return "; ".join(_cut_anew(assembly, off.part, cut, amount) for cut in cuts)
    grain = directions(assembly.frames[off.part], assembly.part(off.part).blank.grain)
    if abs(float(grain @ off.by)) >= ALONG_GRAIN * amount:
        word = "Shorten {} to {} between its {}" if off.now > off.drawn else "Cut {} anew, {} between its {}"
        return word.format(off.part, small(off.drawn, unit), _ends(assembly, off.part))
    blank = as_drawn(assembly).part(off.part).blank
    sizes = [(word, getattr(blank, what), value) for what, word in SIZED.items()
             if what != "length" and (value := getattr(record, what)) is not None]
    over = bool(sizes) and all(now > drawn for _, drawn, now in sizes)
    said = "".join(f", {small(drawn, unit)} {word}" for word, drawn, _ in sizes)
    return f"Plane {off.part} down again{said}" if over else f"Make {off.part} anew{said}"


def _true(assembly: Assembly, off: Off, record: PartAsCut) -> str:
    """Say to what angle to cut the ends of a part that are off."""
    blank = as_drawn(assembly).part(off.part).blank
    ends = [f"the {end} of {off.part} to {degrees(drawn_size(blank, what) or 0.0):.4g}°"
            for what, end in ANGLES.items() if getattr(record, what) is not None]
    what = listed(ends) if ends else f"{off.part} true"
    return f"Cut {what}: it is {degrees(off.turned):.3g}° off between its joints"


def _cut_anew(assembly: Assembly, part: str, cut: CutAsCut, amount: float) -> str:
    """Say how to put one cut right that is off its place or its depth."""
    named, mm = _named(assembly, part, cut), small(amount, assembly.design.unit)
    joint = as_drawn(assembly).design.joint[cut.joint]
    meant = cut_of(as_drawn(assembly).part(part), joint)
    drawn = None if meant is None else meant.sizes.get("depth")
    if cut.depth is not None and drawn is not None and not (cut.along or cut.across):
        return f"Cut {named} {mm} deeper" if cut.depth < drawn else f"Glue a shaving of {mm} into {named}"
    if named.startswith("the tenon"):
        return f"Make {part} anew, with its tenon {mm} over"
    return f"Plug {named} and cut it anew, {mm} over"
