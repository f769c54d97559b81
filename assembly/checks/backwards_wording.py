"""How a piece that could go in turned is told: the turn, what follows, when it shows, and the mark against it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from assembly.checks.wording import SAID, listed, small
from assembly.placing import Assembly
from assembly.turning import Turning
from assembly.turning_follows import Amiss
from assembly.turning_marks import Marking
from model.frames import directions

Floats = NDArray[np.float64]

EXPLAINED = {
    "end for end": "its ends change places, its face stays",
    "end over end": "its ends change places, and so do its face and back",
    "rolled over": "half a turn about its grain, its ends stay",
    "quarter turn": "about its grain, its ends stay",
    "three quarter turn": "about its grain, its ends stay",
}
TURNED = {"quarter turn": "a quarter turn round", "three quarter turn": "three quarters of a turn round"}
LOOKS = (("to the left", "to the right"), ("toward you", "away from you"), ("down", "up"))
OBLIQUE = 0.4
"""A direction is said with its second part too when that is more than this of it."""


def ways(names: Sequence[str], *, whole: bool = False) -> str:
    """Return how something is turned: "end for end (its ends change places, its face stays) or rolled over"."""
    said = [TURNED.get(n, n) for n in names]
    if len(names) == 1 and not whole and names[0] in EXPLAINED:
        return f"{said[0]} ({EXPLAINED[names[0]]})"
    return " or ".join([", ".join(said[:-1]), said[-1]] if len(said) > 1 else said)


def put_right(part: str, way: str) -> str:
    """Return what to do to turn a part: "Turn rail_2 end for end (its ends change places, its face stays)"."""
    if way == "rolled over":
        return f"Roll {part} over ({EXPLAINED[way]})"
    quarters = {"quarter turn": "by a quarter", "three quarter turn": "by three quarters"}
    if way in quarters:
        return f"Turn {part} {quarters[way]} about its grain, right-handed from its start to its end"
    return f"Turn {part} {ways([way])}"


def named_unit(parts: Sequence[str]) -> str:
    """Return what a piece is called: its part, or a part with the number of those glued to it."""
    more = len(parts) - 1
    if 0 < more < 4:
        return f"{parts[0]} with {listed(parts[1:])} glued to it"
    return parts[0] if not more else f"{parts[0]} with the {more} part{'s' if more > 1 else ''} glued to it"


def consequences(assembly: Assembly, turned: Sequence[Turning]) -> str:
    """Return what follows from some turns of one piece, as one sentence without its stop."""
    worst: dict[tuple[str, str, str], Amiss] = {}
    for amiss in (a for one in turned for a in one.follows):
        key = (amiss.what, amiss.joint or amiss.other, amiss.place)
        if key not in worst or (amiss.mm or 0.0) > (worst[key].mm or 0.0):
            worst[key] = amiss
    rank = {p.name: k for k, p in enumerate(assembly.design.parts)}
    found = sorted(worst.values(), key=lambda a: rank.get(a.other, -1))
    of = {what: [a for a in found if a.what == what] for what in ("away", "shifted", "shut", "in", "face", "cut")}
    said = [_away(assembly, of["away"]), _shifted(assembly, of["shifted"]), _shut(of["shut"]), _in(assembly, of["in"]),
            _faces(assembly, of["face"], len(turned[0].parts) > 1), _cut(of["cut"])]
    return "; ".join(s for s in said if s)


def _away(assembly: Assembly, found: Sequence[Amiss]) -> str:
    if not found:
        return ""
    others = list(dict.fromkeys(a.other for a in found))
    return f"{_cuts(assembly, found)} for {listed(others)} would face away from {'it' if len(others) == 1 else 'them'}"


def _shifted(assembly: Assembly, found: Sequence[Amiss]) -> str:
    if not found:
        return ""
    mm = [a.mm for a in found if a.mm is not None]
    most = f"{'up to ' if max(mm) - min(mm) > 0.01 else ''}{small(max(mm), assembly.design.unit)}"
    return f"{_cuts(assembly, found)} for {listed(list(dict.fromkeys(a.other for a in found)))} would stand {most} off"


def _cuts(assembly: Assembly, found: Sequence[Amiss]) -> str:
    """Return what is cut for some joints: "the mortises", "the laps"."""
    roles = {f.role for a in found for f in assembly.part(a.own).features
             if f.joint == a.joint and f.role not in ("shoulder", "mitre")}
    word = next(iter(roles)) if len(roles) == 1 else "cut"
    return f"the {word}{'s' if len(found) > 1 else ''}"


def _shut(found: Sequence[Amiss]) -> str:
    return f"{listed(list(dict.fromkeys(a.other for a in found)))} would not close on it" if found else ""


def _in(assembly: Assembly, found: Sequence[Amiss]) -> str:
    if not found:
        return ""
    most = max(a.mm or 0.0 for a in found)
    return f"it would be {small(most, assembly.design.unit)} in {listed(list(dict.fromkeys(a.other for a in found)))}"


def _faces(assembly: Assembly, found: Sequence[Amiss], whole: bool) -> str:
    unit = assembly.design.unit
    if whole and found:
        return f"its outside would be up to {small(max(a.mm or 0.0 for a in found), unit)} off"
    by_mm: dict[str, list[str]] = {}
    for amiss in sorted(found, key=lambda a: -(a.mm or 0.0)):
        by_mm.setdefault(small(amiss.mm or 0.0, unit), []).append(SAID.get(amiss.place, amiss.place))
    said = [f"its {listed(faces)} would be {mm} off" for mm, faces in by_mm.items()]
    return " and ".join(said)


def _cut(found: Sequence[Amiss]) -> str:
    roles = list(dict.fromkeys(a.place for a in found))
    return f"its {listed(roles)} would be in another place" if roles else ""


def time(one: Turning) -> str:
    """Return when a turn shows and whether it can be undone then, as a sentence."""
    held = [one.session.at.design.joint[n].of or n for n in one.held]
    joints = listed(list(dict.fromkeys(held)))
    if one.shows is None:
        after = f" once {joints} {'has' if len(set(held)) == 1 else 'have'} set it cannot be undone" if held else ""
        return f"Nothing ever stops it, it can only be seen{';' + after if after else ''}."
    if one.shows.number == one.session.number:
        return "That shows in the same glue-up, while the glue is open: it can be pulled out and turned."
    shows = f"That shows only when {one.shows.name} is glued"
    if not held:
        return f"{shows}; its joints are dry until then, so it can be pulled out and turned."
    return f"{shows}: the glue of {joints} has set by then, and it cannot be undone."


def seen(one: Turning) -> str:
    """Return the name of the glue-up at which a turn shows, "" where none stops it."""
    return "" if one.shows is None else one.shows.name


def marks(group: Sequence[Sequence[Turning]]) -> str:
    """Return the remedy: the mark on each piece of a group, and which way it points as the work stands."""
    found = [(alike[0], alike[0].mark) for alike in group]
    marked = [(one, mark) for one, mark in found if mark is not None]
    if len(marked) < len(found) or not marked:
        return "No face of it is free for a mark: keep it apart, and put it together dry first."
    mark = marked[0][1]
    what = "a cross" if mark.arrow is None else f"an arrow towards its {SAID.get(mark.towards, mark.towards)}"
    looks: dict[str, list[str]] = {}
    for one, this in marked:
        looks.setdefault(outlook(_way(one, this)), []).append(this.part)
    does = ("looks" if mark.arrow is None else "points")
    it = "the cross" if mark.arrow is None else "the arrow"
    if len(looks) == 1:
        points = f"as the work stands, {it if len(marked) == 1 else 'every' + it[3:]} {does} {next(iter(looks))}"
    else:
        points = f"as the work stands, {it} {does} " + ", ".join(f"{w} on {listed(on)}" for w, on in looks.items())
    return (f"Before glue-up mark the {SAID.get(mark.place, mark.place)} of {listed([m.part for _, m in marked])} "
            f"with {what}; {points}.")


def _way(one: Turning, mark: Marking) -> Floats:
    """Return which way a mark looks, or an arrow points, in the world."""
    frame = one.session.at.frames[mark.part]
    out = one.session.at.part(mark.part).blank.places[mark.place][:3, 2]
    return directions(frame, out if mark.arrow is None else mark.arrow)


def outlook(way: Floats) -> str:
    """Return a direction (3,) in words, by its largest part and by the second where that is large too."""
    order = sorted(range(3), key=lambda k: (-round(abs(float(way[k])), 6), k))
    said = [LOOKS[k][float(way[k]) > 0] for k in order]
    return f"{said[0]} and {said[1]}" if abs(float(way[order[1]])) > OBLIQUE else said[0]
