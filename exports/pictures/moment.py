"""The moment a finding is about: the finished work, or a stage in which its parts stand otherwise."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assembly.causes import CAUSES, righted
from assembly.findings import Finding
from assembly.placing import Assembly, standing_in
from assembly.plan import Stage
from assembly.rehearsal import Rehearsal
from model.frames import Frame, Vector, points
from model.joint import Joint
from model.part import ALL
from model.solids import Solid

AFTER_CUTS = frozenset({"thin-wall", "exposed-joint"})
"""Kinds of finding that tell what is left when everything has been cut."""


@dataclass(frozen=True, eq=False)
class Moment:
    """Who is there at a moment, where, and with which stages behind."""

    assembly: Assembly
    done: frozenset[str]
    names: tuple[str, ...]
    stage: Stage | None = None
    """The glue-up it is, None for the finished work."""

    def solid(self, name: str) -> Solid:
        """Return a part's solid as it is cut by then, in its own frame."""
        return self.assembly.solid(name, self.done)

    def frame(self, name: str) -> Frame:
        """Return where a part stands."""
        return self.assembly.frames[name]

    def vertices(self, name: str) -> NDArray[np.float64]:
        """Return a part's corners in the world, mm (N, 3)."""
        return points(self.frame(name), self.solid(name).mesh[0])

    def away(self, at: NDArray[np.float64], name: str) -> float:
        """Return how far a point (3,) lies outside a part's box, mm."""
        corners = self.vertices(name)
        return float(np.linalg.norm(at - np.clip(at, corners.min(axis=0), corners.max(axis=0))))

    def joint(self, finding: Finding) -> Joint | None:
        """Return the first joint of a finding both of whose parts have a place, None where there is none."""
        joints, frames = self.assembly.design.joint, self.assembly.frames
        return next((joints[n] for n in finding.joints if n in joints and {joints[n].a, joints[n].b} <= set(frames)),
                    None)

    def apart(self, joint: Joint) -> Vector:
        """Return from part a's seat of a joint to part b's, world, mm."""
        return np.asarray(self.assembly.seat(joint)[:3, 3] - (self.frame(joint.a) @ joint.seat_a)[:3, 3])

    def axes(self, finding: Finding) -> list[Vector]:
        """Return three unit directions (world) square to each other; the last is the way the misfit is measured.

        They are those of the finding's joint where one is known, the last the way part a slides
        home; else those of its first part, the last along the grain.
        """
        for name in finding.joints:
            joint = self.assembly.design.joint.get(name)
            if joint is not None and joint.b in self.assembly.frames:
                seat = self.assembly.seat(joint)
                return [seat[:3, i] for i in range(3)]
        frame = self.frame(next(n for n in finding.parts if n in self.assembly.frames))
        return [frame[:3, i] for i in (1, 2, 0)]


def moment(rehearsal: Rehearsal, finding: Finding) -> Moment:
    """Return the moment a finding is about: that of its stage, else that whose parts lie nearest to its place.

    Of several alike it is the finished work; it always is where wood is left too thin by a later cut. What remains
    once a cause is put right is shown with it put right, as it is told.
    """
    home = rehearsal.assembly if finding.kind in CAUSES else righted(rehearsal.assembly, rehearsal.findings)
    placed = [n for n in finding.parts if n in home.frames]
    found = list(_moments(rehearsal, home, placed))
    own = [m for m in found if m.stage is not None and m.stage.name == finding.stage]
    if finding.kind in AFTER_CUTS or finding.where is None:
        return found[0] if finding.kind in AFTER_CUTS or not own else own[0]
    where = np.asarray(finding.where, dtype=np.float64)
    return min(own or found, key=lambda m: round(sum(m.away(where, n) for n in placed), 2))


def _moments(rehearsal: Rehearsal, home: Assembly, placed: list[str]) -> Iterator[Moment]:
    for stage in _stages(rehearsal, home, placed):
        if stage is None:
            stay = home.there(ALL)
            yield Moment(home, ALL, (*stay, *(n for n in placed if n not in stay)))
        else:
            yield in_stage(home, stage)


def in_stage(home: Assembly, stage: Stage) -> Moment:
    """Return the moment at which all of a stage is closed."""
    return Moment(standing_in(home, stage.name), stage.done, stage.parts, stage)


def _stages(rehearsal: Rehearsal, home: Assembly, placed: list[str]) -> list[Stage | None]:
    """Return the stages in which some parts come together, None for the finished work first where they stay."""
    stages: list[Stage | None] = [s for s in rehearsal.plan.stages if set(placed) <= set(s.parts)]
    return stages if stages and any(home.part(n).temporary for n in placed) else [None, *stages]
