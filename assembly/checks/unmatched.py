"""Unmatched: a piece, a cut, or a contact that nothing goes with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from assembly.checks.faces import REACH, away, in_each_other, spaces
from assembly.checks.mates import Missing, bare, unmated
from assembly.checks.sizes import ROOM, cut_for, size
from assembly.checks.wording import listed, place, small, spot, when
from assembly.contacts import GAP, contacts
from assembly.findings import Amount, Finding
from assembly.placing import Assembly, as_drawn
from assembly.presence import Moment, moments
from model.design import Shop
from model.frames import points
from model.joint import Joint
from model.recut.cuts import cut_of

LYING = 300.0
"""Parts that no joint ties lie on each other from this area on, mm²: what a smear of glue would hold."""


def unmatched(assembly: Assembly, shop: Shop) -> list[Finding]:
    """Find parts no joint ties to the base, cuts without their mate, joints that do not meet, contacts nobody declared.

    A tenon, mortise, slot or lap is without its mate when the other part has nothing for it, or not what the
    drawing has, and when it is for a joint that is not declared and no other part is cut for that. A joint does
    not meet when its parts touch nowhere and no two of their faces look at each other within REACH. A contact
    is looked at from LYING on, in the finished work: a warning where the parts lie apart in the drawing, or are
    both cut for a joint that was never declared, a note where they touch in the drawing too. Not promised: a
    housing never cut that the drawing does not have either; that what touches is enough to hold.
    """
    return [*_loose(assembly), *(_lonely(assembly, one) for one in unmated(assembly)), *_for_nothing(assembly),
            *_not_met(assembly), *_undeclared(assembly)]


def _loose(assembly: Assembly) -> list[Finding]:
    ties: nx.Graph = nx.Graph()
    ties.add_nodes_from(assembly.loose)
    ties.add_edges_from((j.a, j.b) for j in assembly.design.joints if j.a in ties and j.b in ties)
    findings = []
    for group in nx.connected_components(ties):
        names = tuple(n for n in assembly.loose if n in group)
        one = len(names) == 1
        findings.append(Finding(
            "unmatched", "stop", names,
            f"No joint ties {listed(names)} to {assembly.design.base}, the part the work stands on; "
            f"{'it was' if one else 'they were'} left out of every other check.",
            f"Declare a joint between {names[0] if one else 'one of them'} and a part that stands, or take "
            f"{'it' if one else 'them'} out of the design."))
    return findings


# -- cuts without their mate ----------------------------------------------------------------------


def _lonely(assembly: Assembly, missing: Missing) -> Finding:
    joint = missing.joint
    message, remedy = _told(assembly, missing)
    parts = tuple(n for n in (missing.part, missing.other, joint.a, joint.b) if n)
    deep = _deep(assembly, missing)
    return Finding("unmatched", "stop", tuple(dict.fromkeys(parts)), message, remedy,
                   place(assembly.seat(joint)[:3, 3]), None if deep is None else Amount(round(deep, 3), "mm"),
                   (joint.name,))


def _told(assembly: Assembly, missing: Missing) -> tuple[str, str]:
    joint, part, role, other = missing.joint, missing.part, missing.role, missing.other
    if not part:
        return (f"The mortises of {joint.name} in {joint.a} and {joint.b} stay empty: there is no tenon between them.",
                f"Make the loose tenon of {joint.name}, or leave the mortises out.")
    where, by = spot(assembly, part, assembly.seat(joint)[:3, 3]), _by(assembly, missing)
    if role == "tenon":
        return (f"The {missing.has} of {joint.name} in {other} stays empty: {part} has no tenon for it, {where}.",
                f"Cut the tenon on {part}{by}, or glue one in.")
    if missing.has == "tenon":
        return (f"{other} cannot go home: {part} has no {role} for its tenon, {where}.",
                f"Cut the {role} of {joint.name} into {part}{by}.")
    return (f"{other} cannot go home: the {role} of {joint.name} was never cut in {part}, {where}.",
            f"Cut the {role} of {joint.name} into {part}{by}.")


def _by(assembly: Assembly, missing: Missing) -> str:
    """Say how large the missing cut must be: as drawn, else as what goes with it asks."""
    unit, sizes = assembly.design.unit, _drawn(assembly, missing)
    if {"width", "thickness", "depth"} <= set(sizes):
        wide, thick, deep = (small(sizes[what], unit) for what in ("width", "thickness", "depth"))
        return f": {wide} by {thick}, {deep} {'long' if missing.role == 'tenon' else 'deep'}"
    if sizes.get("depth"):
        return f", {small(sizes['depth'], unit)} deep"
    grown = cut_for(assembly, missing.joint, missing.other, ("tenon",))
    if missing.role != "mortise" or len(grown) != 1:
        return ""
    (long_way, short_way, reach), fit = size(grown[0].solid, grown[0]), 2 * missing.joint.fit
    return f": {small(long_way + fit, unit)} by {small(short_way + fit, unit)}, {small(reach + ROOM, unit)} deep"


def _drawn(assembly: Assembly, missing: Missing) -> Mapping[str, float]:
    drawn = as_drawn(assembly).design
    joint = drawn.joint.get(missing.joint.name)
    cut = None if joint is None or missing.part not in drawn.part else cut_of(drawn.part[missing.part], joint)
    return {} if cut is None else cut.sizes


def _deep(assembly: Assembly, missing: Missing) -> float | None:
    """Return how deep what is missing should be, mm: as drawn, else as far as the tenon reaches that goes there."""
    sizes = _drawn(assembly, missing)
    grown = cut_for(assembly, missing.joint, missing.other, ("tenon",))
    return sizes.get("depth", max((size(f.solid, f)[2] for f in grown), default=None))


def _for_nothing(assembly: Assembly) -> list[Finding]:
    """Find cuts of a joint that is not declared, where no other part is cut for it."""
    cut = _cut_for(assembly)
    return [_empty(assembly, name, joint)
            for name, joints in cut.items() if name in assembly.frames for joint in sorted(joints)
            if not any(joint in others for other, others in cut.items() if other != name)]


def _empty(assembly: Assembly, name: str, joint: str) -> Finding:
    cut = next(f for f in assembly.part(name).features if f.joint == joint)
    cut = next((f for f in assembly.part(name).features if f.joint == joint and f.role != "shoulder"), cut)
    where = points(assembly.frames[name], cut.frame[:3, 3])
    goes = "has nothing to go into" if cut.role == "tenon" else "stays empty"
    return Finding("unmatched", "warn", (name,),
                   f"The {cut.role} for {joint} on {name} {goes}, {spot(assembly, name, where)}: no such joint is "
                   f"declared, and no other part is cut for it.",
                   f"Put in the part that {joint} was to join to {name}, or leave the {cut.role} out.", place(where))


# -- joints that do not meet ----------------------------------------------------------------------


def _not_met(assembly: Assembly) -> list[Finding]:
    findings: list[Finding] = []
    told = set(bare(assembly))
    for moment in moments(assembly):
        touching = {frozenset((p.a, p.b)) for p in contacts(moment.assembly, moment.done, moment.names)}
        told |= {loop.joint for loop in moment.assembly.open_loops}
        for joint in (assembly.design.joint[n] for n in moment.joints if n not in told):
            if frozenset((joint.a, joint.b)) not in touching and (apart := _far(moment, joint)) > REACH:
                told.add(joint.name)
                findings.append(_far_off(moment, joint, apart))
    return findings


def _far(moment: Moment, joint: Joint) -> float:
    """Return how far apart two parts are that do not touch; 0 where faces of theirs look at each other within REACH."""
    return 0.0 if in_each_other(moment, joint) or spaces(moment, joint) else away(moment, joint)


def _far_off(moment: Moment, joint: Joint, apart: float) -> Finding:
    says = small(apart, moment.assembly.design.unit)
    return Finding("unmatched", "stop", (joint.a, joint.b),
                   f"{when(moment.stage)}{joint.name} joins nothing: {joint.a} and {joint.b} are {says} apart.",
                   f"Look at the places of {joint.name} on {joint.a} and on {joint.b}, or take the joint out.",
                   place(moment.assembly.seat(joint)[:3, 3]), Amount(round(apart, 3), "mm"), (joint.name,))


# -- contacts nobody declared ---------------------------------------------------------------------


@dataclass(frozen=True)
class _Lie:
    """Two parts that lie on each other: over what area, mm², and where the middle of it is in the world."""

    area: float
    where: NDArray[np.float64]


def _undeclared(assembly: Assembly) -> list[Finding]:
    lying = _lying(assembly)
    drawn = as_drawn(assembly)
    meant = lying if drawn is assembly else _lying(drawn)
    astray = {n for loop in assembly.open_loops for n in _ends(assembly, loop.joint)}
    cut = _cut_for(assembly)
    findings = []
    for pair, found in lying.items():
        forgotten = tuple(sorted(cut.get(pair[0], set()) & cut.get(pair[1], set())))
        if (found.area >= LYING or forgotten) and not astray & {*pair}:
            also = pair in meant and meant[pair].area >= LYING / 2
            findings.append(_lies(assembly, pair, found, also, forgotten))
    return findings


def _cut_for(assembly: Assembly) -> dict[str, set[str]]:
    """Return the joints that parts are cut for and that nobody declared, by part."""
    joints, found = assembly.design.joint, dict[str, set[str]]()
    for part in assembly.design.parts:
        for feature in part.features:
            if feature.joint is not None and feature.joint not in joints:
                found.setdefault(part.name, set()).add(feature.joint)
    return found


def _ends(assembly: Assembly, joint: str) -> tuple[str, str]:
    return assembly.design.joint[joint].a, assembly.design.joint[joint].b


def _lying(assembly: Assembly) -> dict[tuple[str, str], _Lie]:
    """Return the pairs of parts that no joint ties and that lie on each other in the finished work."""
    found: dict[tuple[str, str], _Lie] = {}
    for patch in contacts(assembly):
        if patch.joint is None and abs(patch.gap) <= GAP:
            was = found.get((patch.a, patch.b), _Lie(0.0, np.zeros(3)))
            area = was.area + patch.area
            found[patch.a, patch.b] = _Lie(area, (was.where * was.area + patch.centre * patch.area) / area)
    return found


def _lies(assembly: Assembly, pair: tuple[str, str], found: _Lie, also: bool, forgotten: tuple[str, ...]) -> Finding:
    one, other = pair
    at, why = spot(assembly, one, found.where), "" if also else "; in the drawing they do not touch there"
    remedy = f"Declare a joint if they are to be glued, or keep glue off: take a shaving off {one} there."
    if forgotten:
        why = f"; both are cut for {listed(forgotten)}, which was never declared"
        remedy = f"Declare {listed(forgotten)} between {one} and {other}."
    return Finding("unmatched", "note" if also and not forgotten else "warn", pair,
                   f"{one} and {other} lie on each other over {found.area / 100:.1f} cm², {at}, and no joint ties "
                   f"them{why}.", remedy, place(found.where), Amount(round(found.area, 1), "mm2"))
