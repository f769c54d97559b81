"""Ways round: a piece as it stands wrong and as it should stand: turned, of the other hand, or in another's place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from assembly.alike_cuts import Difference, differences
from assembly.causes import CAUSES, righted
from assembly.checks.backwards import could
from assembly.checks.look_alike import telling
from assembly.findings import Finding
from assembly.placing import Assembly, as_drawn
from assembly.rehearsal import Rehearsal
from assembly.turning import Turning
from assembly.turning_back import wrong_way_round
from model.frames import Frame, Vector, directions, identity
from model.joint import Joint
from model.part import Part
from model.solids import Solid

DRAWN_BACK = 1.1
"""The pieces around another are drawn back so far beyond their joint, in widths of the piece."""
LEAST_WIDE = 40.0


@dataclass(frozen=True, eq=False)
class Stands:
    """One piece as it stands wrong and as it should: its frames in the world and its solids in their own frame."""

    name: str
    wrong: Frame
    right: Frame
    wrong_solid: Solid
    right_solid: Solid


@dataclass(frozen=True, eq=False)
class Cause:
    """What is wrong as cut: the pieces it is wrong with, and `right`, the work with it put right, in which they stand.

    `turn` (4, 4) carries the first, in its own frame, to where it should lie; None where no turn does. `joints`: those
    it is wrong for.
    """

    pieces: tuple[Stands, ...]
    right: Assembly
    turn: Frame | None = None
    joints: tuple[str, ...] = ()


def as_cut(finding: Finding, rehearsal: Rehearsal) -> Cause | None:
    """Return how the pieces stand that a finding says are cut the wrong way round, of the other hand or in each other's
    place; None where it says nothing of the kind, or the first of them has no place."""
    if finding.severity != "stop" or finding.kind not in CAUSES:
        return None
    right = righted(rehearsal.assembly, rehearsal.findings)
    if not finding.parts or finding.parts[0] not in right.frames:
        return None
    if finding.kind == "backwards":
        one = next((b for b in wrong_way_round(rehearsal.assembly) if b.part == finding.parts[0]), None)
        if one is None:
            return None
        frame, solid = right.frames[one.part], rehearsal.design.part[one.part].finished
        return Cause((Stands(one.part, frame, frame @ one.turn, solid, solid),), right, one.turn, one.joints)
    swapped = [n for n in finding.parts if n in right.frames and
               rehearsal.design.part[n].finished != right.part(n).finished]
    pieces = tuple(Stands(n, right.frames[n], right.frames[n], rehearsal.design.part[n].finished,
                          right.part(n).finished) for n in swapped or finding.parts[:1])
    return Cause(pieces, right)


def could_be(finding: Finding, rehearsal: Rehearsal) -> Turning | None:
    """Return the turn that a finding says a piece could go in with; None where it tells of none."""
    if finding.kind != "backwards":
        return None
    return next((turning for note, turning in could(as_drawn(rehearsal.assembly)) if note == finding), None)


@dataclass(frozen=True, eq=False)
class Pair:
    """Two parts laid on each other, and in what they differ most; `other` is None where a part is set beside what is
    drawn for it. `laid` (4, 4) carries the first, in its own frame, onto the second."""

    one: Part
    second: Part
    other: str | None
    found: Difference | None

    @property
    def laid(self) -> Frame:
        """Carries the first part's own frame onto the second's."""
        return identity() if self.found is None else self.found.laid


def pair_of(finding: Finding, rehearsal: Rehearsal) -> Pair | None:
    """Return a part beside the one it is taken for, or beside what is drawn; None where it is not drawn."""
    drawn, name = rehearsal.design.drawn or rehearsal.design, next(iter(finding.parts), "")
    other = next((n for n in finding.parts[1:] if n in drawn.part), None)
    if name not in drawn.part:
        return None
    if other is None:
        found = differences(rehearsal.design.part[name], drawn.part[name], identity())
        return Pair(rehearsal.design.part[name], drawn.part[name], None, found[0] if found else None)
    found = telling(drawn, name, other)
    return Pair(drawn.part[name], drawn.part[other], other, found[0] if found else None)


@dataclass(frozen=True, eq=False)
class Beside:
    """A piece joined to another: where the joint lies on that (world), its way out of it there, and how far back it is
    drawn so that the cuts on both show."""

    joint: Joint
    middle: Vector
    out: Vector
    back: Vector


def wide(part: Part) -> float:
    """Return how wide a piece counts when others are drawn back from it, mm."""
    return max(min(part.blank.width, 2.0 * part.blank.thickness), LEAST_WIDE)


def seat_on(at: Assembly, joint: Joint, name: str) -> tuple[Vector, Vector]:
    """Return where a joint lies on a part, and the way out of the part there (world)."""
    seat = at.seat(joint)
    return seat[:3, 3], directions(seat, [0.0, 0.0, 1.0 if joint.a == name else -1.0])


def around(name: str, at: Assembly) -> Mapping[str, Beside]:
    """Return the pieces that stay and are joined to a part, each by its first joint."""
    found: dict[str, Beside] = {}
    by = DRAWN_BACK * wide(at.part(name))
    for joint in at.design.joints:
        other = {joint.a: joint.b, joint.b: joint.a}.get(name)
        if other is not None and other not in found and other in at.frames and not at.part(other).temporary:
            middle, out = seat_on(at, joint, name)
            found[other] = Beside(joint, middle, out, np.asarray(out * (joint.travel + by)))
    return found
