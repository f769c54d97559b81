"""Where to look from: a side from which a spot is seen, or a cut through the work that lays it open."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from assembly.findings import Finding
from assembly.shrink import shrunk
from exports.pictures.camera import facing
from exports.pictures.moment import Moment
from exports.pictures.scene import Piece
from model.errors import SolidError
from model.frames import Frame, Vector, directions, inverse, points, unit
from model.solids import FAR, Solid

SLACK = 1.5
"""A spot counts as seen when only this much wood, mm, lies before it."""
SLIVER = 1e-9
"""Shared wood that is less than this share of a part is none."""
FRONT = np.array([0.25, -1.0, 0.3])
"""Of several ways to cut the work open, that whose face looks most this way (world) is taken."""
FAR_OFF = np.array([3.1e4, 1.7e4, 2.3e4])
"""A way out of any solid that runs along no face, mm."""
_THIN = 1e-3


def standpoints() -> list[Vector]:
    """Return directions from a spot towards a camera, the most natural first: from the front, a little above."""
    found = []
    for height in (22.0, 50.0, 5.0, -25.0):
        for turn in (30.0, -30.0, 65.0, -65.0, 0.0, 115.0, -115.0, 150.0, -150.0):
            a, e = math.radians(turn - 90.0), math.radians(height)
            found.append(np.array([math.cos(a) * math.cos(e), math.sin(a) * math.cos(e), math.sin(e)]))
    return found


def open_side(where: Vector, held: Moment, names: Sequence[str], slack: float = SLACK) -> Vector | None:
    """Return the first direction in which no part hides a spot, or None when it lies inside the work."""
    solids = [(held.solid(n), inverse(held.frame(n))) for n in names]
    around = [where + 6.0 * np.array(v) for v in ((0, 0, 0), (1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1))]
    best, most = None, 0
    for way in standpoints():
        if not _clear(where, way, solids, slack):
            continue
        seen = sum(_clear(at, way, solids, slack) for at in around)
        if seen > most:
            best, most = way, seen
    return best


def _clear(at: Vector, way: Vector, solids: Iterable[tuple[Solid, Frame]], slack: float) -> bool:
    for solid, back in solids:
        start, end = points(back, at + way * slack), points(back, at + way * FAR)
        if solid.manifold.ray_cast(tuple(start), tuple(end)):
            return False
    return True


def claimed(finding: Finding, held: Moment) -> list[NDArray[np.float64]]:
    """Return each separate lump of wood that the first two parts of a finding both claim: corners (N, 3), world."""
    placed = [n for n in finding.parts if n in held.assembly.frames]
    if len(placed) < 2 or (common := overlap(held, placed[0], placed[1])) is None:
        return []
    lumps = [np.asarray(m.to_mesh64().vert_properties)[:, :3] for m in common.manifold.decompose() if m.volume() > 0]
    return [points(held.frame(placed[0]), at) for at in lumps]


def in_wood(solid: Solid, at: Vector) -> bool:
    """Whether a point of a solid's own frame lies inside it."""
    return len(solid.manifold.ray_cast(tuple(at), tuple(at + FAR_OFF))) % 2 == 1


def overlap(held: Moment, a: str, b: str) -> Solid | None:
    """Return the wood two parts both take up, in the frame of the first; None when there is none worth drawing.

    The skin of faces that only touch is left out: the first is shrunk by the tolerance of the checks.
    """
    relative = inverse(held.frame(a)) @ held.frame(b)
    try:
        common = (shrunk(held.solid(a)) or held.solid(a)).kept(held.solid(b).moved(relative))
        return None if common.empty or common.volume < SLIVER * held.solid(a).volume else common
    except SolidError:
        return None


def cutting_plane(finding: Finding, held: Moment) -> Vector:
    """Return the normal, pointing to the camera, of a cut that shows how much is wrong from the side.

    It never looks along the way in which the two parts are too near or too far apart: that in which the halves of an
    open joint stand apart, the thinnest way through shared wood, else the joint's axis.
    """
    thin, axes = _thin_way(finding, held), held.axes(finding)
    level = [a * s for a in axes for s in (1.0, -1.0) if abs(float(a @ thin)) < 0.5]
    return max(level, key=lambda n: round(float(n @ FRONT), 6))


def _thin_way(finding: Finding, held: Moment) -> Vector:
    axes, joint = held.axes(finding), held.joint(finding)
    if finding.kind == "gap" and joint is not None:
        off = held.apart(joint)
        return max(axes, key=lambda a: (round(abs(float(off @ a)), 3), a is axes[2]))
    lumps = claimed(finding, held) if finding.kind == "interference" else []
    if not lumps:
        return axes[2]
    at = np.vstack(lumps)
    return min(axes, key=lambda a: float(np.ptp(at @ a)))


def tilted(normal: Vector) -> Vector:
    """Return the way to look at a cut: a little from the side and above, so that it is seen to be one."""
    if abs(float(normal[2])) > 0.8:
        return unit(np.array([-0.22, 0.62, -math.copysign(0.85, normal[2])]))
    square = facing(-normal)
    return unit(square.forward - 0.30 * square.right - 0.24 * square.up)


def cut_open(pieces: Sequence[Piece], where: Vector, normal: Vector) -> list[Piece]:
    """Return what is left of pieces behind the plane through a spot whose normal points to the camera."""
    left = []
    for piece in pieces:
        back = inverse(piece.frame)
        side = float((piece.vertices @ normal).min()), float((piece.vertices @ normal).max())
        level = float(where @ normal)
        if side[1] <= level + _THIN:
            left.append(piece)
        elif side[0] < level - _THIN:
            solid = piece.solid.split_at(points(back, where), directions(back, -normal))
            if not solid.empty:
                left.append(replace(piece, solid=solid))
    return left
