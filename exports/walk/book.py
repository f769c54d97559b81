"""The book of one walk: solids by number, each written once, and parts by theirs."""

from __future__ import annotations

import base64
from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from assembly.rehearsal import Rehearsal
from exports.pictures.creases import drawn
from model.frames import Frame
from model.solids import Solid

Json = dict[str, Any]

SMALL = 65536
"""Solids with fewer corners than this number them in two bytes."""


class Book:
    """What the parts of the data share: shapes (each solid once, by content), and the numbers of the parts."""

    def __init__(self, rehearsal: Rehearsal) -> None:
        self.rehearsal = rehearsal
        self.shapes: list[Json] = []
        self._shapes: dict[bytes, int] = {}
        self._parts = {part.name: k for k, part in enumerate(rehearsal.design.parts)}

    def part(self, name: str) -> int:
        """Return the number of a part."""
        return self._parts[name]

    def known(self, names: Iterable[str]) -> list[int]:
        """Return the numbers of those names that are parts, each once, in their order."""
        return [self._parts[n] for n in dict.fromkeys(names) if n in self._parts]

    def shape(self, solid: Solid) -> int:
        """Return the number of a solid, taking it up when it is new."""
        if solid.key not in self._shapes:
            self._shapes[solid.key] = len(self.shapes)
            self.shapes.append(_written(solid))
        return self._shapes[solid.key]


def _written(solid: Solid) -> Json:
    seen = drawn(solid)
    kind = "<u2" if len(seen.vertices) < SMALL else "<u4"
    return {"corners": _base64(seen.vertices.astype("<f4")), "triangles": _base64(seen.triangles.astype(kind)),
            "edges": _base64(seen.edges.astype(kind)),
            "box": [vector(seen.vertices.min(axis=0)), vector(seen.vertices.max(axis=0))]}


def _base64(array: NDArray[Any]) -> str:
    return base64.b64encode(np.ascontiguousarray(array).tobytes()).decode("ascii")


def vector(at: ArrayLike, digits: int = 3) -> list[float]:
    """Return a point or direction as rounded numbers; lengths to a thousandth of a millimetre."""
    return [round(float(v), digits) + 0.0 for v in np.asarray(at, dtype=np.float64)]


def rows(frame: Frame) -> list[float]:
    """Return a frame as its three rows of four numbers: the turn to 1e-9, the place to 1e-4 mm."""
    return [round(float(v), 9 if k % 4 < 3 else 4) + 0.0 for k, v in enumerate(np.asarray(frame)[:3].ravel())]
