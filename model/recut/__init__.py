"""Cutting anew: a design with its parts as they were measured, not as they were drawn.

Solids are rebuilt, and seats move with what they are laid out from; parts and joints that were
not measured stay the same objects. Lengths mm, angles rad.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from model.as_cut import CutAsCut, PartAsCut
from model.design import Design
from model.errors import MeasureError
from model.frames import Frame, inverse, move, snapped
from model.joint import Joint
from model.part import Blank, Part
from model.recut.cuts import Cut, Made, cut_of, place_of
from model.recut.faces import resized
from model.recut.known import known_again
from model.recut.wood import TURNS, in_place_of, mirrored_wood, turned_wood

__all__ = ["recut"]

Seats = dict[tuple[str, str], Frame]
"""Seats that moved, by part and joint."""


def recut(design: Design, measured: Sequence[PartAsCut]) -> Design:
    """Return the design as cut; the design itself where nothing was measured.

    A design that is as cut already is measured anew, from its drawing. Raises MeasureError for
    what no part can have, SolidError where the cuts leave nothing, or several pieces, of a part.
    Not checked: whether the parts still fit.
    """
    if not measured:
        return design
    drawn = design.drawn or design
    records = _by_part(drawn, measured)
    swapped, joints = _pairs(drawn, records), _joints_of(drawn, records)
    wood, seats = dict(drawn.part), Seats()
    carried = {name for name, record in records.items() if record.turned or record.mirrored} | swapped.keys()
    for name, record in records.items():
        wood[name], moved = _cut(drawn, record, joints[name])
        if name not in carried:
            seats |= {(name, joint): seat for joint, seat in moved.items()}
    offered = {name: in_place_of(drawn.part[name], wood[other]) for name, other in swapped.items()}
    for name, record in records.items():
        offered[name] = _offered(offered.get(name, wood[name]), record)
    offered = {name: part.checked() for name, part in offered.items()}
    offered |= {name: known_again(offered[name], drawn.part[name]) for name in carried}
    parts = tuple(offered.get(p.name, p) for p in drawn.parts)
    return replace(drawn, parts=parts, joints=tuple(_seated(j, seats) for j in drawn.joints),
                   measured=tuple(measured), drawn=drawn)


def _by_part(drawn: Design, measured: Sequence[PartAsCut]) -> dict[str, PartAsCut]:
    records: dict[str, PartAsCut] = {}
    for record in measured:
        if record.part not in drawn.part:
            raise MeasureError(record.part, "part", record.part, "the name of a part")
        if record.part in records:
            raise MeasureError(record.part, "part", record.part, "one record for each part")
        if record.turned not in (None, *TURNS):
            raise MeasureError(record.part, "turned", record.turned, ", ".join(TURNS))
        records[record.part] = record
    return records


def _pairs(drawn: Design, records: Mapping[str, PartAsCut]) -> dict[str, str]:
    """Return for each part that stands in another's place whose wood it has there."""
    pairs: dict[str, str] = {}
    for name, record in records.items():
        other = record.exchanged_with
        if other is None or pairs.get(name) == other:
            continue
        if other == name or other not in drawn.part:
            raise MeasureError(name, "exchanged_with", other, "another part of the design")
        if name in pairs or other in pairs:
            raise MeasureError(name, "exchanged_with", other, "a part that has not changed places with a third")
        pairs |= {name: other, other: name}
    return pairs


def _offered(part: Part, record: PartAsCut) -> Part:
    """Return a part as it is offered up: turned, or made as its own mirror image."""
    if record.mirrored:
        part = mirrored_wood(part)
    return part if record.turned is None else turned_wood(part, record.turned)


def _joints_of(drawn: Design, records: Mapping[str, PartAsCut]) -> Mapping[str, list[Joint]]:
    """Return the joints of each part that was measured, halves among them, in the design's order."""
    found: dict[str, list[Joint]] = {name: [] for name in records}
    for joint in drawn.joints:
        for name in (joint.a, joint.b):
            if name in found:
                found[name].append(joint)
    return found


def _cut(drawn: Design, record: PartAsCut, joints: Sequence[Joint]) -> tuple[Part, dict[str, Frame]]:
    """Return a part as measured, and its seats that moved, by joint."""
    part = drawn.part[record.part]
    blank, cuts = resized(part, record), _cuts(part, record, joints)
    features, seats = list(part.features), dict[str, Frame]()
    for joint in joints:
        whole = drawn.joint[joint.of or joint.name]
        carry = _carry(part, blank, joint)
        made = _made(part, whole, cuts.get(whole.name))
        seat = joint.seat(part.name)
        if np.abs((moved := snapped(carry @ made.shift @ seat)) - seat).max() > 1e-9:
            seats[joint.name] = moved
        if joint.of is None:
            features = [g for f in features for g in (made.feature(f, carry) if f.joint == joint.name else (f,))]
    return replace(part, blank=blank, features=tuple(features)), seats


def _cuts(part: Part, record: PartAsCut, joints: Sequence[Joint]) -> Mapping[str, CutAsCut]:
    here = dict.fromkeys(j.of or j.name for j in joints)
    found: dict[str, CutAsCut] = {}
    for cut in record.cuts:
        if cut.joint not in here:
            raise MeasureError(part.name, "joint", cut.joint, f"one of {', '.join(here)}" if here else "no joint",
                               cut.joint)
        if cut.joint in found:
            raise MeasureError(part.name, "joint", cut.joint, "one record for each joint", cut.joint)
        found[cut.joint] = cut
    return found


def _made(part: Part, joint: Joint, record: CutAsCut | None) -> Made:
    if record is None:
        return Made()
    cut: Cut | None = cut_of(part, joint)
    if cut is None:
        raise MeasureError(part.name, "joint", joint.name, f"a joint that cuts something out of {part.name}, or grows "
                           "a tenon on it", joint.name)
    return cut.made(record)


def _carry(part: Part, blank: Blank, joint: Joint) -> Frame:
    """Return how what a joint lays out on a part is carried by the faces that came out elsewhere.

    A loose tenon is laid out from its own middle.
    """
    if joint.of is not None and joint.a == part.name:
        return move(*(blank.solid.bounds - part.blank.solid.bounds).mean(axis=0))
    name = place_of(part, joint)
    carried: Frame = blank.places[name] @ inverse(part.blank.places[name])
    return carried


def _seated(joint: Joint, seats: Seats) -> Joint:
    a, b = seats.get((joint.a, joint.name)), seats.get((joint.b, joint.name))
    if a is None and b is None:
        return joint
    return replace(joint, seat_a=joint.seat_a if a is None else a, seat_b=joint.seat_b if b is None else b)
