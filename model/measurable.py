"""What is worth measuring on the parts of a design, part by part, with what the drawing has there."""

from __future__ import annotations

from dataclasses import dataclass

from model.design import Design
from model.recut.cuts import cut_of
from model.recut.faces import ANGLES, SIZES, drawn_size


@dataclass(frozen=True)
class Measurable:
    """One thing to measure: `what` of a part, or of the cut of a `joint` on it ("" for the part itself).

    `what` is a field of PartAsCut or of CutAsCut; `drawn` is what the drawing has, mm or rad.
    """

    part: str
    joint: str
    what: str
    drawn: float

    @property
    def angle(self) -> bool:
        """Whether it is an angle, rad."""
        return self.what in ANGLES


def worth_measuring(design: Design) -> tuple[Measurable, ...]:
    """Return all that can be measured on a design's parts, in the design's order: sizes, ends, then cut by cut.

    Measured as drawn, nothing changes. Meshes are their own measurement; a glued face has no cut.
    """
    drawn = design.drawn or design
    on: dict[str, list[str]] = {p.name: [] for p in drawn.parts}
    for joint in drawn.joints:
        if joint.of is None:
            on[joint.a].append(joint.name)
            on[joint.b].append(joint.name)
    found: list[Measurable] = []
    for part in drawn.parts:
        sizes = ((what, drawn_size(part.blank, what)) for what in (*SIZES, *ANGLES))
        found += [Measurable(part.name, "", what, value) for what, value in sizes if value is not None]
        for name in on[part.name]:
            if (cut := cut_of(part, drawn.joint[name])) is not None:
                found += [Measurable(part.name, name, what, value)
                          for what, value in {"along": 0.0, "across": 0.0, **cut.sizes}.items()]
    return tuple(found)
