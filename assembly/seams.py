"""Seams: what stands for joints where parts are in place and no joint is declared.

Every two parts whose faces lie on each other share a seam over all that touches. Which of those
faces were meant for glue, and how the parts were meant to slide, is in no mesh file: a seam's way is
the one along which the two come apart with the most of their touching faces square to it, so that a
clamp along it presses them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from assembly.contacts import AREA_LEAST, GAP, Patch, lying
from assembly.directions import cells, ways_out
from assembly.placing import Assembly, place
from model.design import Design
from model.frames import frame_of, inverse, points, snapped
from model.joint import Joint

SEAM = "seam"
"""The kind of joint that a seam is."""
FIT = 0.1
"""The clearance a side that joints are taken to have been cut with, mm, as in a design file that does not say."""
LEAST = 25.0
"""Faces that touch over less than this, mm², are no seam: a spot of 5 by 5 mm (common practice, no source)."""
LEANS = 1e-3
"""A way that leans into a face by less than this (sine) slides along it."""

Array = NDArray[np.float64]


def seamed(design: Design) -> Design:
    """Return a design whose parts stand where a file has them with a seam for every two parts that touch.

    Any other design is returned as it is. Faces count that lie within GAP and FIT of each other.
    """
    if not design.standing or design.joints:
        return design
    assembly = place(design)
    between: dict[tuple[str, str], list[Patch]] = {}
    for patch in lying(assembly, GAP + FIT):
        between.setdefault((patch.a, patch.b), []).append(patch)
    return replace(design, joints=tuple(_seam(assembly, patches) for patches in between.values()
                                        if sum(p.area for p in patches) >= LEAST))


def is_seam(joint: Joint) -> bool:
    """Return whether a joint was found, not declared."""
    return joint.kind == SEAM


def _seam(assembly: Assembly, patches: Sequence[Patch]) -> Joint:
    """Return the seam of two parts; the seat lies in the middle of what its way presses, z from first into second."""
    a, b = patches[0].a, patches[0].b
    areas, normals = np.array([p.area for p in patches]), np.array([p.normal for p in patches])
    one, other = (points(assembly.frames[n], assembly.solid(n).centroid) for n in (a, b))
    way = _way(normals, areas, other - one)
    pressed = areas * np.maximum(normals @ way, 0.0) ** 2
    share = pressed if pressed.sum() > AREA_LEAST else areas
    middle = share @ np.array([p.centre for p in patches]) / share.sum()
    seat = frame_of(middle, way, np.eye(3)[int(np.argmin(np.abs(way)))])
    seats = [snapped(inverse(assembly.frames[name]) @ seat) for name in (a, b)]
    return Joint(f"{a}/{b}", SEAM, a, b, seats[0], seats[1], fit=FIT)


def _way(normals: Array, areas: Array, towards: Array) -> Array:
    """Return the way home of the first of two parts for touching faces with these normals, first into second.

    Of ways that press alike, the one that runs more `towards` the second part's middle.
    """
    tried = -ways_out(cells(np.empty((0, 3))), cells(normals), cells(np.empty((0, 3))))
    lean = tried @ normals.T
    free = tried[np.all(lean >= -LEANS, axis=1)]
    some = free if len(free) else normals
    pressed = np.maximum(some @ normals.T, 0.0) @ areas
    alike = np.flatnonzero(pressed >= pressed.max() - AREA_LEAST)
    way: Array = some[alike[int(np.argmax(np.round(some[alike] @ towards, 6)))]]
    return way
