"""Plain glued face: nothing is cut, two faces meet.

The seat lies on the meeting faces, z square to them, out of part a and into part b. End grain
glued this way does not hold in service (Wood Handbook, FPL-GTR-190, chapter 10); the grain of
both sides is measured with the contacts.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from model.frames import Frame
from model.joint import Joint, Work
from model.joints.measures import refuse_fit
from model.part import Blank


@dataclass(frozen=True)
class _GluedFace:
    name: str = "glued face"
    says: str = "two faces glued together, nothing cut"
    sizes: Mapping[str, str] = field(default_factory=dict)
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def sink(self, sizes: Mapping[str, Any], a: Blank, b: Blank, seat_a: Frame, seat_b: Frame) -> tuple[float, float]:
        return 0.0, 0.0

    def work(self, joint: Joint, a: Blank, b: Blank) -> Work:
        refuse_fit(joint)
        return Work(travel=0.0)


GLUED_FACE = _GluedFace()
