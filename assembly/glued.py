"""Glued pairs: two parts that share a glued joint, as the joint's own seats bring them together.

What is asked here does not depend on where a loop of joints stays open.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.contacts import GAP, joints_between
from assembly.meeting import Meeting, larger_stays
from assembly.placing import Assembly
from model.joint import Joint
from model.part import Part

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Glued:
    """Two parts that some of their `joints` glue together; `meeting` has part `a` first, in its own frame.

    `limit`: how far apart, mm, two faces may be and still be glued.
    """

    a: Part
    b: Part
    joints: tuple[Joint, ...]
    meeting: Meeting
    limit: float

    @cached_property
    def grain(self) -> bytes:
        """The two grains as told to what is remembered about the meeting: (2, 3) in a's frame, of a and of b."""
        there = self.meeting.frame[:3, :3] @ self.b.blank.grain
        return (np.round([self.a.blank.grain, there], 9) + 0.0).tobytes()

    @cached_property
    def dry(self) -> bytes:
        """Where the joints are in a's frame and which are glued, (K, 4), as told to what is remembered; b"" if all."""
        if all(j.glued for j in self.joints):
            return b""
        return np.array([[*_middle(j, self.a), float(j.glued)] for j in self.joints]).tobytes()


@lru_cache(maxsize=16)
def glued_pairs(assembly: Assembly) -> tuple[Glued, ...]:
    """Return every two placed parts that share a glued joint in the finished work; temporary parts are never glued."""
    return tuple(_pairs(assembly))


def _pairs(assembly: Assembly) -> Iterator[Glued]:
    for joints in joints_between(assembly.design).values():
        first = next((j for j in joints if j.glued), None)
        if first is None or not {first.a, first.b} <= assembly.frames.keys():
            continue
        a, b = assembly.part(first.a), assembly.part(first.b)
        if a.temporary or b.temporary:
            continue
        met = larger_stays(a.finished, b.finished, first.a_in_b, first.b_in_a)
        swapped = len(b.finished.mesh[1]) > len(a.finished.mesh[1])
        limit = GAP + max(j.fit for j in joints)
        yield Glued(b, a, joints, met, limit) if swapped else Glued(a, b, joints, met, limit)


def _middle(joint: Joint, part: Part) -> Floats:
    """Return the middle of what a joint cuts or grows on a part; its seat where that is nothing."""
    made = [f.solid.bounds for f in part.features if f.joint == joint.name]
    middle: Floats = np.mean(made, axis=(0, 1)) if made else joint.seat(part.name)[:3, 3]
    return middle


def is_glued(centre: Floats, dry: bytes) -> bool:
    """Whether the joint nearest to a point (3,) of the first part's frame is a glued one; `dry` as `Glued.dry`."""
    if not dry:
        return True
    table = np.frombuffer(dry).reshape(-1, 4)
    return bool(table[int(np.argmin(np.linalg.norm(table[:, :3] - centre, axis=1))), 3])


def names(joints: Sequence[Joint]) -> tuple[str, ...]:
    """Return the names of the glued ones among joints."""
    return tuple(j.name for j in joints if j.glued)
