"""The design: what the file says, as frozen objects, ready to be placed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path

from model.as_cut import PartAsCut
from model.frames import Frame, identity, mirrored
from model.joint import Joint
from model.part import Part
from model.shop import Shop

__all__ = ["Design", "Flush", "Pin", "Shop", "StageSpec"]


@dataclass(frozen=True)
class StageSpec:
    """A glue stage as given: its name, the joints closed in it, and what it must come after."""

    name: str
    joints: tuple[str, ...]
    after: tuple[str, ...] = ()


@dataclass(frozen=True)
class Pin:
    """What the maker has decided on beforehand, by joints: `together` in one stage, or all of `first` before `then`.

    `first` may close in the same stage as `then`, only not after it.
    """

    name: str
    together: tuple[str, ...] = ()
    first: tuple[str, ...] = ()
    then: tuple[str, ...] = ()


@dataclass(frozen=True)
class Flush:
    """Two faces that are meant to lie in one plane: a part and its place, twice."""

    a: str
    place_a: str
    b: str
    place_b: str


@dataclass(frozen=True, eq=False)
class Design:
    """A whole design: parts as drawn, joints, the base part and how it stands, stages if given."""

    name: str
    parts: tuple[Part, ...]
    joints: tuple[Joint, ...]
    base: str
    base_frame: Frame = field(default_factory=identity)
    """Where the base part stands in the world: z up, the ground at z = 0, mm."""
    stages: tuple[StageSpec, ...] = ()
    shop: Shop = field(default_factory=Shop)
    unit: str = "mm"
    """The unit a person reads: "mm" or "in"."""
    source: Path | None = None
    says: str = ""
    pins: tuple[Pin, ...] = ()
    """What the maker has decided on, where no stages are given."""
    flush: tuple[Flush, ...] = ()
    """The faces declared to be flush."""
    measured: tuple[PartAsCut, ...] = ()
    """What was measured on the parts as cut, where it differs from the drawing."""
    standing: Mapping[str, Frame] = field(default_factory=dict)
    """Parts that stand where a file has them (world, mm) rather than where joints hold them."""
    drawn: Design | None = None
    """The design as drawn, where this one is as cut; None where nothing was measured."""

    @cached_property
    def part(self) -> Mapping[str, Part]:
        """Parts by name."""
        return {p.name: p for p in self.parts}

    @cached_property
    def joint(self) -> Mapping[str, Joint]:
        """Joints by name."""
        return {j.name: j for j in self.joints}

    def behind(self, stage: str) -> frozenset[str]:
        """Return the given stages that a given stage comes after, near and far."""
        after = {s.name: s.after for s in self.stages}
        found: set[str] = set()
        waiting = list(after.get(stage, ()))
        while waiting:
            name = waiting.pop()
            if name in after and name not in found:
                found.add(name)
                waiting.extend(after[name])
        return frozenset(found - {stage})

    def in_the_mirror(self) -> Design:
        """Return the design as the mirror x -> -x shows it."""
        joints = tuple(replace(j, seat_a=mirrored(j.seat_a), seat_b=mirrored(j.seat_b)) for j in self.joints)
        return replace(self, parts=tuple(p.in_the_mirror() for p in self.parts), joints=joints,
                       base_frame=mirrored(self.base_frame),
                       standing={n: mirrored(f) for n, f in self.standing.items()},
                       drawn=None if self.drawn is None else self.drawn.in_the_mirror())
