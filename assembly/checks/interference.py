"""Interference: two pieces want the same wood."""

from __future__ import annotations

from dataclasses import dataclass

from assembly.checks.fit import CLOSED, inside_of, plays_of, role_of
from assembly.checks.mates import bare
from assembly.checks.sizes import POCKETS, cut_for, sections
from assembly.checks.wording import capital, grown_at, place, side, small, spot
from assembly.contacts import joints_between, names_between
from assembly.findings import Amount, Finding
from assembly.interference import TOLERANCE, Overlap, overlaps
from assembly.placing import Assembly
from assembly.presence import Moment, moments
from assembly.shrink import DELTA
from model.design import Shop
from model.frames import inverse, points
from model.joint import Joint
from model.part import Feature


def interference(assembly: Assembly, shop: Shop) -> list[Finding]:
    """Find every two parts that are in each other by more than TOLERANCE, one finding a pair, at its deepest place.

    Looked at: the finished work, and every glue stage at which a part has later cuts to come
    or a temporary part is there. Promised: no finding for faces that touch or stand clear.
    Not promised: parts no joint ties to the base; whether the parts can reach their places;
    an overlap no deeper than an open loop of joints pushes the same two parts, which is told
    as a gap; two parts one of which lacks its cut, which is told as unmatched. Where walls are
    too thin to decide, a warning says that it could not be told.
    """
    findings: list[Finding] = []
    seen: set[frozenset[str]] = set()
    lonely = {frozenset((j.a, j.b)) for j in (assembly.design.joint[n] for n in bare(assembly))}
    for moment in moments(assembly):
        pushed = _pushed(moment.assembly)
        places: dict[frozenset[str], list[Overlap]] = {}
        for overlap in overlaps(moment.assembly, moment.done, moment.names):
            pair = frozenset((overlap.a, overlap.b))
            fresh = pair not in lonely | seen and (not moment.stage or pair & moment.unlike)
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
        found = _in_its_mortise(clash, joint) or _too_wide(clash, joint)
        if found is not None:
            return found
    return _tenons(clash) or _plain(clash)


def _in_its_mortise(clash: _Clash, joint: Joint) -> Finding | None:
    """A tenon that does not go into its mortise: too large for it, or beside it."""
    tenon = clash.grown(joint.a)
    if tenon is None or tenon.joint != joint.name or not cut_for(clash.assembly, joint, joint.b, POCKETS):
        return None
    large = _too_large(clash, joint)
    if large is not None:
        return large
    depth = clash.says(clash.overlap.depth)
    return _made(clash, (joint.a, joint.b), clash.overlap.depth,
                 f"{clash.when}the tenon of {joint.a} is {depth} into the wood beside its mortise in {joint.b}, "
                 f"{spot(clash.assembly, joint.b, clash.overlap.where)}.{clash.others}",
                 f"Widen the mortise by {depth} on that side, or pare as much off the tenon.", (joint.name,))


def _too_large(clash: _Clash, joint: Joint) -> Finding | None:
    """A tenon that is larger than its mortise, the one way or the other."""
    found = sections(clash.assembly, joint)
    if found is None:
        return None
    tenon, mortise = found
    axis = max((0, 1), key=lambda k: tenon.size(k) - mortise.size(k))
    wide, room, says = tenon.size(axis), mortise.size(axis), clash.says
    if wide - room <= TOLERANCE:
        return None
    word, fit = ("wide", "thick")[axis], 2 * joint.fit
    return _made(clash, (joint.a, joint.b), clash.overlap.depth,
                 f"{clash.when}the tenon of {joint.a} is too large for its mortise in {joint.b}, "
                 f"{spot(clash.assembly, joint.b, clash.overlap.where)}: it is {says(wide)} {word}, the mortise "
                 f"{says(room)}. It is {says(clash.overlap.depth)} into the wood.{clash.others}",
                 f"Plane the tenon to {says(room - fit)}, or open the mortise to {says(wide + fit)}.", (joint.name,))


def _too_wide(clash: _Clash, joint: Joint) -> Finding | None:
    """A piece that is wider than the lap or the housing it lies in."""
    play = min((p for p in plays_of(clash.assembly, joint) if not p.alone), key=lambda p: p.side, default=None)
    if play is None or play.side >= CLOSED or not cut_for(clash.assembly, joint, joint.b, ("lap", "housing")):
        return None
    inside, around = inside_of(clash.assembly, joint, play)
    says, role = clash.says, role_of(clash.assembly, joint)
    return _made(clash, (inside, around), clash.overlap.depth,
                 f"{clash.when}{inside} is too wide for its {role} in {around} by {says(-2 * play.side)}, "
                 f"{spot(clash.assembly, around, clash.overlap.where)}: it is {says(clash.overlap.depth)} into the "
                 f"wood.{clash.others}",
                 f"Open the {role} in {around} by {says(2 * (joint.fit - play.side))}, or plane as much off {inside}.",
                 (joint.name,))


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
                 f"much.", names_between(assembly.design, lighter, other))


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
    return capital(text) if first in ("when", "the", "it") else text
