"""Interference: two pieces want the same wood."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assembly.checks.wording import grown_at, place, side, small, spot
from assembly.contacts import joints_between
from assembly.findings import Amount, Finding
from assembly.interference import TOLERANCE, Overlap, overlaps
from assembly.placing import Assembly
from assembly.presence import Moment, moments
from assembly.shrink import DELTA
from model.design import Shop
from model.frames import inverse, points
from model.joint import Joint
from model.part import Feature
from model.solids import Solid

ROOM = 2.0
"""Room to leave at the bottom of a mortise when one is cut anew, mm (common practice, no source)."""


def interference(assembly: Assembly, shop: Shop) -> list[Finding]:
    """Find every two parts that are in each other by more than TOLERANCE, one finding a pair, at its deepest place.

    Looked at: the finished work, and every glue stage at which a part has later cuts to come
    or a temporary part is there. Promised: no finding for faces that touch or stand clear.
    Not promised: parts no joint ties to the base; whether the parts can reach their places;
    an overlap no deeper than an open loop of joints pushes the same two parts, which is told
    as a gap. Where walls are too thin to decide, a warning says that it could not be told.
    """
    findings: list[Finding] = []
    seen: set[frozenset[str]] = set()
    for moment in moments(assembly):
        pushed = _pushed(moment.assembly)
        places: dict[frozenset[str], list[Overlap]] = {}
        for overlap in overlaps(moment.assembly, moment.done, moment.names):
            pair = frozenset((overlap.a, overlap.b))
            fresh = pair not in seen and (not moment.stage or pair & moment.unlike)
            if fresh and overlap.depth > pushed.get(pair, 0.0):
                places.setdefault(pair, []).append(overlap)
        seen.update(places)
        findings.extend(_finding(_Clash(moment.assembly, moment, found[0], len(found))) for found in places.values())
    return findings


def _pushed(assembly: Assembly) -> dict[frozenset[str], float]:
    """Return for each two parts at an open loop how far, mm, it may push them into each other."""
    pushed: dict[frozenset[str], float] = {}
    for loop in assembly.open_loops:
        joint = assembly.design.joint[loop.joint]
        blank = assembly.part(joint.a).blank
        reach = loop.gap + loop.angle * (joint.travel + max(blank.width, blank.thickness))
        pair = frozenset((joint.a, joint.b))
        pushed[pair] = max(pushed.get(pair, 0.0), reach + TOLERANCE)
    return pushed


@dataclass(frozen=True, eq=False)
class _Clash:
    assembly: Assembly
    moment: Moment
    overlap: Overlap
    places: int

    def says(self, mm: float) -> str:
        return small(mm, self.assembly.design.unit)

    def grown(self, name: str) -> Feature | None:
        """The tenon of a part that the clash lies in."""
        local = points(inverse(self.assembly.frames[name]), self.overlap.where)
        return grown_at(self.assembly.part(name), local, self.moment.done)

    @property
    def when(self) -> str:
        """When it happens, where that is not the finished work; followed by a lower-case sentence."""
        return f"when {self.moment.stage} is glued, before later cuts, " if self.moment.stage else ""

    @property
    def others(self) -> str:
        more = self.places - 1
        return f" They meet in {more} more place{'s' if more > 1 else ''}." if more else ""


def _finding(clash: _Clash) -> Finding:
    if not clash.overlap.told:
        return _untold(clash)
    a, b = clash.overlap.a, clash.overlap.b
    for joint in joints_between(clash.assembly.design).get(frozenset((a, b)), ()):
        found = _bottoms(clash, joint) or _in_its_mortise(clash, joint)
        if found is not None:
            return found
    return _tenons(clash) or _plain(clash)


def _bottoms(clash: _Clash, joint: Joint) -> Finding | None:
    """A tenon that reaches the bottom of its mortise before its shoulder is home."""
    tenon, mortise = _reach(clash, joint, joint.a), _depth(clash, joint)
    if tenon is None or mortise is None or tenon - mortise <= TOLERANCE:
        return None
    seat = inverse(clash.assembly.seat(joint))
    if float(points(seat, clash.overlap.where)[2]) < mortise - TOLERANCE:
        return None
    short = tenon - mortise
    says = clash.says
    return _made(clash, (joint.a, joint.b), short,
                 f"{clash.when}{joint.a} would stop {says(short)} short of {joint.b}: its tenon is {says(tenon)}, "
                 f"the mortise {says(mortise)} deep.",
                 f"Cut the tenon to {says(max(0.0, mortise - ROOM))} or the mortise to {says(tenon + ROOM)}.",
                 (joint.name,))


def _in_its_mortise(clash: _Clash, joint: Joint) -> Finding | None:
    """A tenon that does not go into its mortise sideways, or finds none."""
    tenon = clash.grown(joint.a)
    if tenon is None or tenon.joint != joint.name:
        return None
    says, depth = clash.says, clash.overlap.depth
    if not _features(clash, joint, joint.b, "mortise"):
        w, t, reach = _size(tenon.solid, tenon)
        return _made(clash, (joint.a, joint.b), depth,
                     f"{clash.when}{joint.a} cannot go home: {joint.b} has no mortise for its tenon, which is in the "
                     f"wood by {says(depth)}, {spot(clash.assembly, joint.b, clash.overlap.where)}.",
                     f"Cut the mortise of {joint.name} into {joint.b}: {says(w)} by {says(t)}, "
                     f"{says(reach + ROOM)} deep, and its fit on each side.", (joint.name,))
    return _made(clash, (joint.a, joint.b), depth,
                 f"{clash.when}the tenon of {joint.a} is {says(depth)} into the wood beside its mortise in {joint.b}, "
                 f"{spot(clash.assembly, joint.b, clash.overlap.where)}.{clash.others}",
                 f"Widen the mortise by {says(depth)} on that side, or pare as much off the tenon.", (joint.name,))


def _tenons(clash: _Clash) -> Finding | None:
    """Two tenons that meet inside a third piece, or a tenon that runs into a passing one."""
    a, b = clash.overlap.a, clash.overlap.b
    grown = {name: feature for name in (a, b) if (feature := clash.grown(name)) is not None}
    if not grown:
        return None
    said = " and ".join(f"the tenon of {n}" if n in grown else n for n in (a, b))
    joints = tuple(f.joint for f in grown.values() if f.joint)
    depth = clash.says(clash.overlap.depth)
    first = next(iter(grown))
    return _made(clash, (a, b), clash.overlap.depth,
                 f"{clash.when}{said} run {depth} into each other, {spot(clash.assembly, first, clash.overlap.where)}."
                 f"{clash.others}",
                 f"Shorten or thin {'one of the tenons' if len(grown) > 1 else 'the tenon'} by {depth}, mitre their "
                 f"ends where they meet, or move one of the pieces aside.", joints)


def _plain(clash: _Clash) -> Finding:
    overlap, assembly = clash.overlap, clash.assembly
    lighter, way = (overlap.a, overlap.along) if _lighter(clash) else (overlap.b, -overlap.along)
    other = overlap.b if lighter == overlap.a else overlap.a
    depth = clash.says(overlap.depth)
    return _made(clash, (overlap.a, overlap.b), overlap.depth,
                 f"{clash.when}{overlap.a} and {overlap.b} run {depth} into each other, "
                 f"{spot(assembly, lighter, overlap.where)}.{clash.others}",
                 f"Take {depth} off {side(assembly, lighter, way)} there, or move {lighter} away from {other} by as "
                 f"much.", tuple(j.name for j in joints_between(assembly.design).get(frozenset((lighter, other)), ())))


def _lighter(clash: _Clash) -> bool:
    """Whether the first part is the smaller one, the one to shave."""
    solids = [clash.assembly.solid(n, clash.moment.done).volume for n in (clash.overlap.a, clash.overlap.b)]
    return solids[0] <= solids[1] * (1.0 + 1e-9)


def _untold(clash: _Clash) -> Finding:
    a, b = clash.overlap.a, clash.overlap.b
    return Finding(
        "interference", "warn", (a, b),
        _sentence(f"{clash.when}it could not be told whether {a} and {b} are in each other, "
                  f"{spot(clash.assembly, a, clash.overlap.where)}: both have walls thinner than {2 * DELTA:g} mm; "
                  f"they overlap by {clash.says(clash.overlap.depth)} at most."),
        f"Measure the two there, or give one of them walls of more than {2 * DELTA:g} mm.",
        place(clash.overlap.where), Amount(round(clash.overlap.depth, 3), "mm"))


def _made(clash: _Clash, parts: tuple[str, str], amount: float, message: str, remedy: str,
          joints: tuple[str, ...] = ()) -> Finding:
    return Finding("interference", "stop", parts, _sentence(message), remedy, place(clash.overlap.where),
                   Amount(round(amount, 3), "mm"), joints)


def _sentence(text: str) -> str:
    """Return the text with a capital where it opens with a word of ours, never where it opens with a part's name."""
    first = text.split(" ", 1)[0]
    return text[:1].upper() + text[1:] if first in ("when", "the", "it") else text


def _features(clash: _Clash, joint: Joint, part: str, role: str) -> list[Feature]:
    names = (joint.name, joint.of)
    return [f for f in clash.assembly.part(part).features if f.role == role and f.joint in names and f.joint]


def _reach(clash: _Clash, joint: Joint, part: str) -> float | None:
    """How far the tenon reaches past its seat; a loose tenon's half is the piece itself."""
    solids = [f.solid for f in _features(clash, joint, part, "tenon")]
    if joint.of is not None and not solids:
        solids = [clash.assembly.solid(part)]
    return _furthest(solids, joint.seat_a)


def _depth(clash: _Clash, joint: Joint) -> float | None:
    return _furthest([f.solid for f in _features(clash, joint, joint.b, "mortise")], joint.seat_b)


def _furthest(solids: list[Solid], seat: np.ndarray) -> float | None:
    back = inverse(seat)
    return max((float(points(back, s.mesh[0])[:, 2].max()) for s in solids), default=None)


def _size(solid: Solid, feature: Feature) -> tuple[float, float, float]:
    """Long way, short way and reach of a tenon in its own frame, mm."""
    at = points(inverse(feature.frame), solid.mesh[0])
    low, high = at.min(axis=0), at.max(axis=0)
    return float(high[0] - low[0]), float(high[1] - low[1]), float(high[2])
