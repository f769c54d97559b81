"""Fit: clearance between the cheeks of a joint, against what the glue wants."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.checks.mates import bare
from assembly.checks.wording import listed, place, small
from assembly.contacts import GAP, Touches, joints_between, touches
from assembly.findings import Amount, Finding
from assembly.meeting import REMEMBERED, Meeting
from assembly.placing import Assembly, as_drawn
from assembly.pushing import Home, pushed
from model.design import Shop
from model.frames import directions, identity, points
from model.glues import Fit, bridged_at_most, wanted_fit
from model.joint import Joint

Floats = NDArray[np.float64]

SLACK = 0.01
"""A clearance counts as within the glue's limits when it is outside by no more than this, mm: what a caliper tells."""
WIDEST = 15.0
"""Cheeks farther apart than this, mm, are no cheeks of one joint."""
WHOLE = 0.2
"""A cheek's nearest face counts from this share of the largest on."""
CHEEK = 0.1
"""A cheek lies along its joint's axis within about 6 degrees (sine)."""
BACK_TO_BACK = 0.9998
"""Two cheeks look opposite ways within about a degree (cosine)."""
LENGTHWAYS = 0.7
"""A direction runs along a piece rather than across it within about 45 degrees (cosine)."""
CLOSED = -0.0125
"""Less clearance than this per side, mm, is wood in wood, which is interference's to tell."""


def fit(assembly: Assembly, shop: Shop) -> list[Finding]:
    """Find glued joints whose cheeks have more clearance than the glue bridges, or less than it wants.

    Clearance per side is half of what two opposed cheeks of a joint have between them and the faces
    they lie in, however it is shared out: a tenon in its mortise, a piece in a lap or a housing, a
    bridle. Measured on the solids as cut, as they are when the joint is closed. The limits are those of the
    shop, else those of the kind of glue it names; a glue that is not known brings no findings. A tenon
    whose broad cheeks have more room than any glue in the table bridges is a stop, all else a warning. A joint
    with a cheek on one side only, as a half lap at an end, is told where it stands further off than drawn.
    Not promised: such a joint in the drawing itself; cheeks that are not flat or not opposed; dry joints.
    """
    wanted = wanted_fit(shop)
    if wanted is None:
        return []
    lonely, placed = bare(assembly), assembly.frames
    alike: dict[tuple[object, ...], list[tuple[Joint, Play]]] = {}
    for joint in assembly.design.joints:
        glued = joint.glued and joint.travel > 0.0 and joint.name not in lonely
        play = _worst(assembly, joint, wanted) if glued and joint.a in placed and joint.b in placed else None
        if play is not None:
            inside, *_ = inside_of(assembly, joint, play)
            alike.setdefault((inside, role_of(assembly, joint), round(play.side, 3)), []).append((joint, play))
    return [_finding(assembly, wanted, loose) for loose in alike.values()]


@dataclass(frozen=True, eq=False)
class Play:
    """The clearance per side, mm, between two opposed pairs of cheeks, along a unit direction (3,) of a's frame, at a
    point (3,).

    `alone`: there is but one pair, and all the clearance is there.
    """

    side: float
    along: Floats
    where: Floats
    alone: bool = False


def _worst(assembly: Assembly, joint: Joint, wanted: Fit) -> Play | None:
    """Return the play of a joint that is furthest outside what is wanted; None where all is within."""
    plays = plays_of(assembly, joint)
    pairs = [p for p in plays if not p.alone]
    off = [p for p in plays if p.alone and p.side > wanted.most + SLACK and _further_off(assembly, joint, p)]
    loose = max((*pairs, *off), key=lambda p: p.side, default=None)
    if loose is not None and loose.side > wanted.most + SLACK:
        return loose
    tight = min((p for p in pairs if p.side >= CLOSED), key=lambda p: p.side, default=None)
    return tight if tight is not None and tight.side < wanted.least - SLACK else None


def _further_off(assembly: Assembly, joint: Joint, play: Play) -> bool:
    """Whether the drawing has one cheek there too, and nearer."""
    drawn = as_drawn(assembly)
    meant = drawn.design.joint.get(joint.name)
    if drawn is assembly or meant is None:
        return False
    return any(p.alone and float(p.along @ play.along) > BACK_TO_BACK and p.side < play.side - SLACK
               for p in plays_of(drawn, meant))


def plays_of(assembly: Assembly, joint: Joint) -> tuple[Play, ...]:
    """Return the clearances between opposed cheeks of a joint, with it home, in part a's frame."""
    home = pushed(assembly.design).homes.get(joint.name)
    if home is None:
        return ()
    found = _plays(home, joint.fit)
    between = joints_between(assembly.design)[frozenset((joint.a, joint.b))]
    return found if len(between) < 2 else tuple(p for p in found if _nearest(between, joint, p))


def _nearest(joints: Sequence[Joint], joint: Joint, play: Play) -> bool:
    """Whether a play lies nearest to a joint's seat, among those between the same two parts."""
    seats = [j.seat(joint.a) for j in joints]
    away = [float(np.linalg.norm(seat[:3, 3] - play.where)) for seat in seats]
    return joints[int(np.argmin(away))].name == joint.name


@lru_cache(maxsize=REMEMBERED)
def _plays(home: Home, fit: float) -> tuple[Play, ...]:
    """Return all play of a joint: what lies within its drawn fit where that tells of two ways, else what is further."""
    met = home.met
    near = _opposed(home, met, GAP + fit)
    two_ways = [p for p in near if not p.alone]
    if len(two_ways) == 2 and abs(float(two_ways[0].along @ two_ways[1].along)) < CHEEK:
        return near
    return _opposed(home, met, WIDEST)


def _opposed(home: Home, met: Meeting, limit: float) -> tuple[Play, ...]:
    """Pair the cheeks within `limit` mm of each other that look opposite ways."""
    found = touches(met, limit)
    of_a = met.a is home.a and not (home.swapped and home.a is home.b)
    into = identity() if of_a else home.b_in_a
    normals = directions(into, found.normals) * (1.0 if of_a else -1.0)
    centres = points(into, found.centres)
    left = [k for k in np.argsort(-found.areas, kind="stable").tolist()
            if abs(float(normals[k] @ home.seat_a[:3, 2])) <= CHEEK]
    plays: list[Play] = []
    while left:
        first = left[0]
        facing = normals[left] @ normals[first]
        same = [k for k, cosine in zip(left, facing, strict=True) if cosine > BACK_TO_BACK]
        back = [k for k, cosine in zip(left, facing, strict=True) if cosine < -BACK_TO_BACK]
        here = _nearest_face(found, same)
        if back:
            there = _nearest_face(found, back)
            side = round(float(found.gaps[here] + found.gaps[there]) / 2.0, 6)
            plays.append(Play(side, normals[first], (centres[here] + centres[there]) / 2.0))
        else:
            plays.append(Play(round(float(found.gaps[here]), 6), normals[first], centres[here], alone=True))
        left = [k for k in left if k not in {*same, *back}]
    return tuple(plays)


def _nearest_face(found: Touches, faces: Sequence[int]) -> int:
    """Return which of some touches is nearest, small ones left out."""
    least = WHOLE * float(found.areas[list(faces)].max())
    return min((k for k in faces if found.areas[k] >= least), key=lambda k: float(found.gaps[k]))


def _finding(assembly: Assembly, wanted: Fit, alike: Sequence[tuple[Joint, Play]]) -> Finding:
    """Tell the joints in which one piece has the same play."""
    joint, play = alike[0]
    unit, side = assembly.design.unit, max(0.0, play.side)
    what, inside, around = _what(assembly, alike)
    right = small((1.0 if play.alone else 2.0) * abs(side - min(max(joint.fit, wanted.least), wanted.most)), unit)
    says = (f"{what} stays {small(side, unit)} open on one side" if play.alone else
            f"{what} has {small(side, unit)} of play per side{_way(assembly, joint, play)}")
    loose = side > wanted.most
    if loose:
        other = f", or use a glue that fills {small(side, unit)}" if side <= bridged_at_most() else ""
        says = f"{says}; {wanted.of} bridges {small(wanted.most, unit)} at most."
        remedy = f"Glue a shaving of {right} onto {inside} there{other}."
    else:
        says = (f"{says}; {wanted.of} wants {small(wanted.least, unit)} at least, or the glue is wiped off as it goes "
                f"in.")
        remedy = f"Take {right} off {inside} there in all, or open {listed(around)} by as much."
    stops = loose and _cheeks(assembly, joint, play) and side > max(wanted.most, bridged_at_most()) + SLACK
    return Finding("gap", "stop" if stops else "warn", (inside, *around), says, remedy,
                   place(points(assembly.frames[joint.a], play.where)), Amount(round(side, 3), "mm"),
                   tuple(j.name for j, _ in alike))


def role_of(assembly: Assembly, joint: Joint) -> str:
    """Return what is cut for a joint, in the trade's words."""
    names = (joint.name, joint.of)
    roles = {f.role for n in (joint.a, joint.b) for f in assembly.part(n).features
             if f.joint is not None and f.joint in names}
    return next((r for r in ("tenon", "mortise", "lap", "housing", "slot") if r in roles), "cut")


def inside_of(assembly: Assembly, joint: Joint, play: Play) -> tuple[str, str]:
    """Return the piece that has play and the one it lies in: in a lap, each lies in the other across its own width."""
    along_a = abs(float(assembly.part(joint.a).blank.grain @ play.along)) > LENGTHWAYS
    return (joint.b, joint.a) if role_of(assembly, joint) == "lap" and along_a else (joint.a, joint.b)


def _what(assembly: Assembly, alike: Sequence[tuple[Joint, Play]]) -> tuple[str, str, list[str]]:
    """Return the piece that has play as a sentence begins with it, its name, and what it lies in."""
    role = role_of(assembly, alike[0][0])
    pairs = [inside_of(assembly, joint, play) for joint, play in alike]
    inside, around = pairs[0][0], list(dict.fromkeys(other for _, other in pairs))
    if role == "tenon":
        return f"The tenon of {inside} in {listed(around)}", inside, around
    return f"{inside} in its {role}{'s' if len(around) > 1 else ''} in {listed(around)}", inside, around


def _way(assembly: Assembly, joint: Joint, play: Play) -> str:
    if role_of(assembly, joint) not in ("tenon", "mortise"):
        return ""
    return " across its thickness" if _cheeks(assembly, joint, play) else " across its width"


def _cheeks(assembly: Assembly, joint: Joint, play: Play) -> bool:
    """Whether a play is that of a tenon's broad cheeks, which hold it."""
    x, y = (abs(float(play.along @ joint.seat_a[:3, k])) for k in (0, 1))
    return role_of(assembly, joint) in ("tenon", "mortise") and y >= x
