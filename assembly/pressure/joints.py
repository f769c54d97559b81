"""Joints that clamps press: which pieces each draws together, over what face, and how many clamps cover it.

Pressure spreads from the edges of a pad at 45 degrees, so a clamp covers its pad and twice the
depth of the glue line below it (common practice, no source). Where a face is wider than that a
stiff block under the pad adds its own thickness to the depth.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import manifold3d
import numpy as np
from numpy.typing import NDArray

from assembly.placing import Assembly
from assembly.pressure.work import Work
from model.frames import Frame, Z, inverse, move, turn
from model.joint import Joint
from model.solids import Solid

Floats = NDArray[np.float64]

PAD = 50.0
"""How wide the pad of a bar is where the shop says nothing, mm (common practice, no source)."""
BLOCK_MOST = 75.0
"""A block laid under a pad to spread its pressure is no thicker than this, mm: two thicknesses of 2x stock (common
practice, no source)."""
BESIDE = 0.5
"""How far before and behind the seat two pieces are cut to see what they have in common there, mm."""
SLACK = 10.0
"""What a face is wider than its clamps press, mm, that is no reason for one more (common practice, no source)."""
LEAST_SHARE = 0.05
"""A strip of a joint with less of its face than this, as a share of the strip, needs no clamp of its own."""


@dataclass(frozen=True)
class Target:
    """What one clamp has to press: a joint, or a strip of one too wide for a single clamp.

    `frame` (world): its middle on the glue line, z the way part a slides home; `a`, `b` the numbers of its pieces;
    `half`: half its size along x and y, mm.
    """

    joint: str
    frame: Frame
    a: int
    b: int
    half: tuple[float, float]

    def strips(self, face: Sequence[Floats], cover: float, rows: int) -> Iterator[Target]:
        """Yield it cut into strips along x so that each is covered, and into so many along y; empty ones left out."""
        columns = 1 if 2.0 * self.half[0] <= cover + SLACK else clamps_along(2.0 * self.half[0], cover)
        half = self.half[0] / columns, self.half[1] / rows
        region = manifold3d.CrossSection(list(face))
        for i in range(columns):
            for k in range(rows):
                x, y = (2 * i + 1) * half[0] - self.half[0], (2 * k + 1) * half[1] - self.half[1]
                strip = manifold3d.CrossSection.square((2 * half[0], 2 * half[1]), True).translate((x, y))
                if columns * rows == 1 or (region ^ strip).area() > LEAST_SHARE * strip.area():
                    yield Target(self.joint, self.frame @ move(x, y), self.a, self.b, half)


def clamps_along(length: float, cover: float) -> int:
    """Return how many clamps in a row cover a joint of a length when each covers so much, mm."""
    return max(1, math.ceil(length / cover - 1e-6))


def covered(pad: float, depth: float) -> float:
    """Return how much of a glue line at a depth below a pad is pressed, mm: the 45 degree rule."""
    return pad + 2.0 * max(0.0, depth)


def block_for(width: float, pad: float, depth: float) -> float | None:
    """Return how thick a block under the pad must be to press a face of a width; None where that is too thick, mm."""
    wanting = width - covered(pad, depth)
    thick = 0.0 if wanting <= SLACK else wanting / 2.0
    return thick if thick <= BLOCK_MOST else None


def block_and_rows(half: tuple[float, float], pad: float, depth: float) -> tuple[float, int]:
    """Return how thick a block is laid under each pad, mm, and in how many rows clamps stand across the face.

    One clamp with a block is taken before several; several stand in one row if a block spreads them across.
    """
    for size in half:
        block = block_for(2.0 * size, pad, depth)
        if block is not None:
            return block, 1
    return 0.0, clamps_along(2.0 * half[1], covered(pad, depth))


def glued_whole(assembly: Assembly, names: Sequence[str]) -> dict[str, Joint]:
    """Return the glued joints among those named; the two halves of a loose tenon are one with their joint.

    Halves without their joint are left out: a loose tenon glued into one piece is driven home and holds itself.
    """
    glued = [j for j in (assembly.design.joint[n] for n in names) if j.glued]
    return {j.name: j for j in glued if j.of is None}


def targets(assembly: Assembly, work: Work, joints: Sequence[Joint]) -> list[tuple[Target, tuple[Floats, ...]]]:
    """Return each joint whole, with the outline of its face in the target's x and y, mm."""
    return [_target(work, j, assembly.seat(j)) for j in joints if j.a in work.index and j.b in work.index]


def _target(work: Work, joint: Joint, seat: Frame) -> tuple[Target, tuple[Floats, ...]]:
    a, b = work.index[joint.a], work.index[joint.b]
    in_a, in_b = (np.round(inverse(work.frames[i]) @ seat, 6) + 0.0 for i in (a, b))
    turned, middle, half, face = _face(work.solids[a], work.solids[b], in_a.tobytes(), in_b.tobytes())
    return Target(joint.name, seat @ move(*middle) @ turn(Z, turned), a, b, half), face


@lru_cache(maxsize=20_000)
def _face(one: Solid, other: Solid, seat_one: bytes, seat_other: bytes
          ) -> tuple[float, tuple[float, float], tuple[float, float], tuple[Floats, ...]]:
    """Return how a face is turned about z, its middle, half its sizes so turned (the longer first), its outline."""
    back, front = (s.manifold.transform(np.ascontiguousarray(inverse(np.frombuffer(f).reshape(4, 4))[:3])).slice(z)
                   for s, f, z in ((one, seat_one, -BESIDE), (other, seat_other, BESIDE)))
    shared = back ^ front
    if shared.is_empty() or shared.area() < 1.0:
        return 0.0, (0.0, 0.0), (PAD / 2, PAD / 2), (np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]),)
    corners = np.vstack(shared.to_polygons())
    angle = _along(corners)
    low, high = _box(corners, angle)
    centre = (low + high) / 2
    size = (high - low) / 2
    if size[1] > size[0] + 1e-6:
        angle, size, centre = angle + math.pi / 2, size[::-1], np.array([centre[1], -centre[0]])
    c, s = math.cos(angle), math.sin(angle)
    middle = (float(c * centre[0] - s * centre[1]), float(s * centre[0] + c * centre[1]))
    back_turn = np.array([[c, -s], [s, c]])
    face = tuple((np.asarray(p) - middle) @ back_turn for p in shared.to_polygons())
    return angle, middle, (float(size[0]), float(size[1])), face


def _along(corners: Floats) -> float:
    """Return the turn about z in which the box around corners (N, 2) is least; none where that saves little."""
    hull = manifold3d.CrossSection.hull_points(corners).to_polygons()[0]
    edges = np.roll(hull, -1, axis=0) - hull
    angles = [0.0, *(np.arctan2(edges[:, 1], edges[:, 0]) % (math.pi / 2)).tolist()]
    areas = [float(np.prod(np.subtract(*_box(corners, a)[::-1]))) for a in angles]
    best = min(range(len(areas)), key=lambda k: (round(areas[k], 2), k))
    return angles[best] if areas[best] < 0.98 * areas[0] else 0.0


def _box(corners: Floats, angle: float) -> tuple[Floats, Floats]:
    c, s = math.cos(angle), math.sin(angle)
    at = corners @ np.array([[c, -s], [s, c]])
    return at.min(axis=0), at.max(axis=0)

