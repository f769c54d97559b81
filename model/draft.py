"""The drafting table: blanks and declared joints go on it, a design comes off.

Families and the reader of design files both work here. Joints are declared between
blanks; when the draft is finished every joint cuts its features into both parts.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from model.design import Design, Shop, StageSpec
from model.errors import JointError
from model.frames import Frame, identity, inverse, snapped
from model.joint import Joint, Work
from model.joints import KINDS
from model.part import Blank, Feature, Part
from model.progress import Progress, quiet


@dataclass
class Draft:
    """A design in the making.

    `layout` holds, for families only, where the drawing puts each blank; joints may then be
    declared by one frame in the drawing (`join_at`). The drawing's layout is dropped when the
    draft is finished: the assembly places parts by their joints alone.
    """

    name: str
    blanks: dict[str, Blank] = field(default_factory=dict)
    layout: dict[str, Frame] = field(default_factory=dict)
    own: dict[str, list[Feature]] = field(default_factory=dict)
    leaves: dict[str, str] = field(default_factory=dict)
    groups: dict[str, str] = field(default_factory=dict)
    joints: list[Joint] = field(default_factory=list)
    stages: list[StageSpec] = field(default_factory=list)
    base: str = ""
    base_frame: Frame | None = None
    """Where the base part stands in the world (z up, ground at z = 0); its place in the drawing unless given."""

    def add(self, name: str, blank: Blank, frame: Frame | None = None, *, group: str = "",
            leaves_after: str | None = None) -> None:
        """Lay a blank on the table, at a frame of the drawing where one is given."""
        self.blanks[name] = blank
        self.own[name] = []
        self.groups[name] = group or name
        if frame is not None:
            self.layout[name] = frame
        if leaves_after is not None:
            self.leaves[name] = leaves_after

    def feature(self, part: str, feature: Feature) -> None:
        """Add a feature that belongs to no joint (a curve, a mitre, a taper)."""
        self.own[part].append(feature)

    def join(self, name: str, kind: str, a: str, b: str, seat_a: Frame, seat_b: Frame, *, fit: float = 0.1,
             glued: bool = True, sizes: Mapping[str, Any] | None = None) -> None:
        """Declare a joint by its seat in each part's own frame."""
        self.joints.append(Joint(name, kind, a, b, snapped(seat_a), snapped(seat_b), fit, glued, dict(sizes or {})))

    def join_at(self, name: str, kind: str, a: str, b: str, seat: Frame, *, fit: float = 0.1, glued: bool = True,
                sizes: Mapping[str, Any] | None = None) -> None:
        """Declare a joint by one seat in the drawing, between two blanks laid out there."""
        self.join(name, kind, a, b, inverse(self.layout[a]) @ seat, inverse(self.layout[b]) @ seat,
                  fit=fit, glued=glued, sizes=sizes)

    def finish(self, *, shop: Shop | None = None, unit: str = "mm",
               source: Path | None = None, says: str = "", progress: Progress = quiet) -> Design:
        """Cut every joint and return the design. Raises JointError, SolidError."""
        cut: dict[str, list[Feature]] = {name: list(own) for name, own in self.own.items()}
        extra: list[Part] = []
        joints: list[Joint] = []
        known: dict[tuple[object, ...], Work] = {}
        for done, joint in enumerate(self.joints):
            progress("cutting the joints", done / len(self.joints))
            work = self._work(joint, known)
            cut[joint.a].extend(work.a)
            cut[joint.b].extend(work.b)
            extra.extend(replace(part, leaves_after=self._leaves(joint)) for part in work.parts)
            joints.append(replace(joint, seat_a=snapped(joint.seat_a @ work.turn),
                                  seat_b=snapped(joint.seat_b @ work.turn), travel=work.travel))
            joints.extend(work.joints)
        parts = [
            Part(name, blank, tuple(in_order(cut[name])), self.leaves.get(name), self.groups[name])
            for name, blank in self.blanks.items()
        ]
        base = self.base or next(iter(self.blanks))
        frame = self.base_frame if self.base_frame is not None else self.layout.get(base, identity())
        stages = tuple(self._with_halves(stage, joints) for stage in self.stages)
        return Design(self.name, (*parts, *extra), tuple(joints), base, frame, stages,
                      shop or Shop(), unit, source, says)

    def _leaves(self, joint: Joint) -> str | None:
        """Return the stage after which what stands between two parts leaves: with the first of them, if either does."""
        return self.leaves.get(joint.a, self.leaves.get(joint.b))

    def _work(self, joint: Joint, known: dict[tuple[object, ...], Work]) -> Work:
        """Return what a joint asks for; joints alike between pieces alike are worked out once."""
        kind = KINDS.get(joint.kind)
        if kind is None:
            raise JointError(joint.name, "kind", joint.kind, "one of " + ", ".join(sorted(KINDS)))
        a, b = self.blanks[joint.a], self.blanks[joint.b]
        alike = (joint.kind, id(a), id(b), joint.seat_a.tobytes(), joint.seat_b.tobytes(), joint.fit, joint.glued,
                 *sorted(joint.sizes.items()))
        if alike in known:
            return known[alike].alike(joint.name)
        work = kind.work(joint, a, b)
        if not work.parts:
            known[alike] = work
        return work

    @staticmethod
    def _with_halves(stage: StageSpec, joints: list[Joint]) -> StageSpec:
        halves = tuple(j.name for j in joints if j.of in stage.joints and j.name not in stage.joints)
        return replace(stage, joints=stage.joints + halves)


def in_order(features: list[Feature]) -> list[Feature]:
    """Return features in the order they are made: wood trimmed, tenons grown, mortises sunk, later cuts last."""
    rank = {"keep": 0, "add": 1, "cut": 2}
    return sorted(features, key=lambda f: (f.after is not None, rank[f.operation] if f.role != "shoulder" else 0))
