"""Faces that came out elsewhere: a blank with some of its sides moved or leant, its corners solved anew.

A piece is worked from its start, its face and its edge (common practice, no source): what is
missing is missing at the end, at the back and at the far edge.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from model.as_cut import PartAsCut
from model.errors import MeasureError, SolidError
from model.frames import Frame, X, Y, Z, about, identity, move, snapped, turn
from model.part import LEAST_SIZE, Blank, Part
from model.shapes.mitred_board import STEEPEST
from model.solids import Solid, polyhedron
from model.units import LONGEST

ON = 1e-6
"""A triangle lies on a side when its corners are this near the side's plane, mm."""
SOLVED = 1e-6
"""Corners must lie this near all of their moved faces, mm."""

SIZES = {"length": "end", "width": "far_edge", "thickness": "back"}
"""The sizes of a blank, and the side that each of them moves."""
ANGLES = {"start_angle": "start", "end_angle": "end"}
"""The angles of a blank, and the end that each of them leans."""


def drawn_size(blank: Blank, what: str) -> float | None:
    """Return a size (mm) or an end's angle from square (rad) of a blank; None where it has no such thing to measure."""
    if blank.shape == "mesh":
        return None
    if what in ANGLES:
        place = blank.places.get(ANGLES[what])
        if place is None:
            return None
        out = float(place[:3, 2] @ blank.grain)
        return math.atan2(-place[1, 2], out if what == "end_angle" else -out) + 0.0
    if SIZES[what] not in blank.places or (what == "length" and "outer" in blank.places):
        return None
    size: float = getattr(blank, what)
    return size


def resized(part: Part, record: PartAsCut) -> Blank:
    """Return a part's blank with the sizes and angles that were measured; itself where none was.

    Raises MeasureError for a size or an angle that it cannot have, or that leaves no wood.
    """
    blank = part.blank
    given = {what: value for what in (*SIZES, *ANGLES) if (value := getattr(record, what)) is not None}
    for what, value in given.items():
        _refuse(part, what, value)
    carries = _carries(blank, given)
    if not carries:
        return blank
    solid = _solved(part, given, carries)
    sizes = {what: given.get(what, getattr(blank, what)) for what in SIZES}
    places = {name: snapped(carries.get(name, identity()) @ place) for name, place in blank.places.items()}
    return replace(blank, solid=solid, places=places, **sizes)


def _refuse(part: Part, what: str, value: float) -> None:
    if part.blank.shape == "mesh":
        raise MeasureError(part.name, what, _said(what, value), "a mesh measured as it is: its file says its sizes")
    if drawn_size(part.blank, what) is None:
        raise MeasureError(part.name, what, _said(what, value), f"a size that a {part.blank.shape} has")
    if what in ANGLES and not abs(value) <= STEEPEST:
        raise MeasureError(part.name, what, _said(what, value), "-80 to 80 degrees from square")
    if what in SIZES and not LEAST_SIZE <= value <= LONGEST:
        raise MeasureError(part.name, what, _said(what, value), f"{LEAST_SIZE:g} mm to {LONGEST / 1000:.0f} m")


def _said(what: str, value: float) -> str:
    return f"{math.degrees(value):.4g} degrees" if what in ANGLES else f"{value:.2f} mm"


def _carries(blank: Blank, given: Mapping[str, float]) -> dict[str, Frame]:
    """Return the motion of each side that came out elsewhere, in the part's own frame."""
    ways = {"length": blank.grain, "width": -Y, "thickness": -Z}
    carries: dict[str, Frame] = {}
    hand = 1.0 if blank.grain @ X > 0 else -1.0
    for what, value in given.items():
        off = value - (drawn_size(blank, what) or 0.0)
        if what in SIZES and off:
            carries[SIZES[what]] = move(*(off * ways[what]))
    for what, side in ANGLES.items():
        off = given.get(what, 0.0) - (drawn_size(blank, what) or 0.0) if what in given else 0.0
        if abs(off) > 1e-12:
            lean = about(blank.places[side][:3, 3], turn(Z, hand * (off if side == "start" else -off)))
            carries[side] = carries.get(side, identity()) @ lean
    return carries


def _solved(part: Part, given: Mapping[str, float], carries: Mapping[str, Frame]) -> Solid:
    try:
        made = _with_faces(part.blank.solid, tuple((_as_key(part.blank.places[side]), _as_key(carry))
                                                   for side, carry in carries.items()))
        left = made.volume > 0 and made.pieces == 1
    except SolidError:
        left = False
    if not left:
        what = next(iter(given))
        raise MeasureError(part.name, what, _said(what, given[what]), "a size that leaves wood between its sides")
    return made


def _as_key(frame: Frame) -> bytes:
    return (np.asarray(frame, dtype=np.float64) + 0.0).tobytes()


@lru_cache(maxsize=1024)
def _with_faces(solid: Solid, moved: tuple[tuple[bytes, bytes], ...]) -> Solid:
    """Return a solid with some of its sides moved; the work of pieces alike is done once."""
    side, carry = ([np.frombuffer(m[k]).reshape(4, 4) for m in moved] for k in (0, 1))
    return with_faces(solid, list(zip(side, carry, strict=True)))


def with_faces(solid: Solid, moved: list[tuple[Frame, Frame]]) -> Solid:
    """Return a solid with some flat sides moved: each given by a frame on it (z out of the wood) and a rigid motion.

    All other faces stay in their planes. Raises SolidError where the faces no longer meet in
    corners, or bound nothing.
    """
    vertices, triangles = solid.mesh
    normals, offsets = _planes(vertices, triangles)
    touched: set[int] = set()
    for side, carry in moved:
        normal, offset = side[:3, 2], float(side[:3, 2] @ side[:3, 3])
        on = (normals @ normal > 1 - ON) & np.all(np.abs(vertices[triangles] @ normal - offset) < ON * 100, axis=1)
        new = (carry @ side)[:3]
        normals[on], offsets[on] = new[:, 2], float(new[:, 2] @ new[:, 3])
        touched |= set(triangles[on].ravel().tolist())
    at = vertices.copy()
    for corner in touched:
        at[corner] = _corner(vertices[corner], normals, offsets, np.flatnonzero((triangles == corner).any(axis=1)))
    turned = np.einsum("ij,ij->i", _planes(at, triangles)[0], normals)
    if np.any(turned < 0.0):
        raise SolidError("sides that cross")
    return polyhedron(at, triangles)


def _planes(vertices: NDArray[np.float64], triangles: NDArray[np.int64]) -> tuple[NDArray[np.float64],
                                                                                NDArray[np.float64]]:
    a, b, c = (vertices[triangles[:, k]] for k in range(3))
    square = np.cross(b - a, c - a)
    normals = square / np.maximum(np.linalg.norm(square, axis=1, keepdims=True), 1e-300)
    return normals, np.einsum("ij,ij->i", normals, a)


def _corner(was: NDArray[np.float64], normals: NDArray[np.float64], offsets: NDArray[np.float64],
            faces: NDArray[np.int64]) -> NDArray[np.float64]:
    """Return the point nearest to where a corner was that lies on all of its faces."""
    n, d = normals[faces], offsets[faces]
    step, *_ = np.linalg.lstsq(n, d - n @ was, rcond=1e-9)
    at: NDArray[np.float64] = was + step
    if np.abs(n @ at - d).max() > SOLVED:
        raise SolidError("faces that no longer meet in a corner")
    return at
