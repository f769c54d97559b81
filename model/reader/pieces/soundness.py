"""Soundness: whether a body is one closed piece of wood, and what is wrong with it where it is not."""

from __future__ import annotations

import numpy as np

from model.errors import SolidError
from model.frames import Frame, X, points
from model.part import LEAST_SIZE, Blank
from model.reader.crossing import crossing
from model.reader.meshes import welded
from model.reader.pieces.body import Corners, Refusal, Triangles
from model.reader.pieces.limits import TRIANGLES_MOST
from model.reader.pieces.lying import own_frame
from model.reader.pieces.through import Untold, runs_through
from model.reader.schema import Refused
from model.shapes.mesh import imported
from model.solids import FAR
from model.stock import Species, Stock

CLOSED = "a closed mesh of one piece, its triangles counter-clockwise seen from outside"
DENSITY = 500.0
"""Taken for wood that nobody has named, kg/m³: between the softwoods and the hardwoods of the species table."""
UNKNOWN = Stock("unknown wood", Species("unknown wood", DENSITY, None, None, None, ""), 0.0, 0.0)


def sound(name: str, corners: Corners, triangles: Triangles) -> tuple[Blank, Frame]:
    """Return the blank of a mesh (mm) in a frame of its own, and that frame. Raises Refusal for a broken mesh."""
    if not len(triangles) or not len(corners):
        raise Refusal(name, "is empty: it has no triangles", CLOSED)
    if len(triangles) > TRIANGLES_MOST:
        raise Refusal(name, f"has {len(triangles):,} triangles", f"at most {TRIANGLES_MOST:,} a piece")
    try:
        corners, triangles = welded(corners, triangles)
    except Refused as refused:
        raise Refusal(name, str(refused), refused.accepted) from None
    _refuse_flat(name, corners, triangles)
    _refuse_wound(name, corners, triangles)
    frame = own_frame(corners, triangles)
    own = (corners - frame[:3, 3]) @ frame[:3, :3]
    try:
        blank = imported(UNKNOWN, own, triangles, X)
    except SolidError as error:
        raise Refusal(name, str(error), CLOSED) from None
    _refuse_through(name, own, triangles, blank, frame)
    return blank, frame


def _refuse_flat(name: str, corners: Corners, triangles: Triangles) -> None:
    if not len(triangles):
        raise Refusal(name, "is empty: all its triangles are flat", CLOSED)
    if float(np.abs(corners).max()) > FAR:
        raise Refusal(name, f"reaches farther than {FAR / 1000:.0f} m from the origin", "pieces nearer to the origin")
    least = float(np.ptp(corners, axis=0).min())
    if least < LEAST_SIZE:
        raise Refusal(name, f"is only {least:.3g} mm across", f"at least {LEAST_SIZE:g} mm; is it in another unit?")


def _refuse_wound(name: str, corners: Corners, triangles: Triangles) -> None:
    """Refuse a mesh of which some triangles, or all, face inward."""
    edges = triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    ways, times = np.unique(edges, axis=0, return_counts=True)
    back, returns = np.unique(edges[:, ::-1], axis=0, return_counts=True)
    if len(ways) != len(back) or not np.array_equal(ways, back) or not np.array_equal(times, returns):
        twice = ways[times > 1] if (times > 1).any() else ways[:1]
        x, y, z = corners[twice[0]].mean(axis=0).tolist()
        raise Refusal(name, "has triangles that face one way and others that face the other, the first near "
                            f"{x:.1f}, {y:.1f}, {z:.1f} mm", CLOSED)
    at = corners - corners.mean(axis=0)
    a, b, c = (at[triangles[:, k]] for k in range(3))
    volume = float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum()) / 6.0
    if volume < 0:
        raise Refusal(name, "is inside out: its triangles face inward", CLOSED)


def _refuse_through(name: str, own: Corners, triangles: Triangles, blank: Blank, frame: Frame) -> None:
    try:
        spot = runs_through(own, triangles)
    except Untold:
        spot = crossing(blank.solid)
    if spot is not None:
        x, y, z = points(frame, np.array(spot)).tolist()
        raise Refusal(name, f"runs through itself near {x:.1f}, {y:.1f}, {z:.1f} mm", CLOSED)
