"""A part whose shape comes out of a mesh file, with the frame it has there.

Its places are the middles of the six sides of the box around it: start and end along x, edge
and far_edge along y, face and back along z.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.errors import SolidError
from model.frames import Frame, Vector, X, move, unit
from model.part import Blank
from model.shapes.board import board_places
from model.solids import FAR, polyhedron
from model.stock import Stock

FACES_MOST = 500_000
"""A mesh with more triangles than this is not taken in: it holds up every comparison of parts."""


def imported(stock: Stock, vertices: ArrayLike, faces: ArrayLike, grain: ArrayLike = X) -> Blank:
    """Return the blank a closed mesh bounds: vertices (N, 3) mm, triangles (M, 3) counter-clockwise from outside.

    Raises SolidError when the numbers are none, an index points at nothing, the mesh is open,
    inside out, empty, in several pieces or out of all size. Not checked: faces that cross
    each other.
    """
    v = np.asarray(vertices, dtype=np.float64)
    f = np.asarray(faces)
    _refuse(v, f)
    solid = polyhedron(v, f)
    if solid.pieces != 1:
        raise SolidError(f"the mesh holds {solid.pieces} separate pieces; a part is one piece")
    low, high = solid.bounds
    length, width, thickness = (float(s) for s in high - low)
    return Blank("mesh", solid, length, width, thickness, stock, _places(low, high), _grain(grain))


def _refuse(v: NDArray[np.float64], f: NDArray[Any]) -> None:
    if v.ndim != 2 or v.shape[1:] != (3,) or f.ndim != 2 or f.shape[1:] != (3,) or not len(f):
        raise SolidError(f"a mesh needs corners (N, 3) and triangles (M, 3), not {v.shape} and {f.shape}")
    if len(f) > FACES_MOST:
        raise SolidError(f"the mesh has {len(f)} triangles; accepted: at most {FACES_MOST}")
    if not np.all(np.isfinite(v)) or float(np.abs(v).max()) > FAR:
        raise SolidError("a corner of the mesh is no number or lies farther than 100 m from its origin")
    if f.dtype.kind not in "iu" or int(f.min()) < 0 or int(f.max()) >= len(v):
        raise SolidError(f"a triangle of the mesh names a corner that is not there; accepted: 0 to {len(v) - 1}")


def _grain(grain: ArrayLike) -> Vector:
    try:
        return unit(grain)
    except ValueError as error:
        raise SolidError(f"the grain of a mesh needs a direction: {error}") from error


def _places(low: NDArray[np.float64], high: NDArray[np.float64]) -> dict[str, Frame]:
    length, width, thickness = (float(s) for s in high - low)
    y, z = (low[1:] + high[1:]) / 2
    at: Frame = move(float(low[0]), float(y), float(z))
    middle = {name: move(0.0 if name in ("start", "end") else length / 2) for name in board_places(1, 1, 1)}
    return {name: at @ middle[name] @ place for name, place in board_places(length, width, thickness).items()}


@dataclass(frozen=True)
class _Mesh:
    """The reader hands over what it loaded: `vertices` (mm), `faces` and, where given, `grain`."""

    name: str = "mesh"
    says: str = "a shape out of a mesh file; places count from the middle of the sides of the box around it"
    sizes: Mapping[str, str] = field(default_factory=dict)
    required: frozenset[str] = frozenset()

    def blank(self, stock: Stock, sizes: Mapping[str, Any]) -> Blank:
        if "vertices" not in sizes or "faces" not in sizes:
            raise SolidError("a mesh needs a file to come out of")
        return imported(stock, sizes["vertices"], sizes["faces"], sizes.get("grain", X))


MESH = _Mesh()
