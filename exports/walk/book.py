"""The book of one walk: solids by number, each written once, and parts and stages by theirs."""

from __future__ import annotations

import base64
from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from assembly.rehearsal import Rehearsal
from exports.pictures.creases import drawn
from model.solids import Solid

Json = dict[str, Any]
Number = int | float

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


def vector(at: ArrayLike, digits: int = 3) -> list[Number]:
    """Return a point or direction as rounded numbers; lengths to a thousandth of a millimetre."""
    return [_short(v) for v in np.round(np.asarray(at, dtype=np.float64), digits).tolist()]


def rows(frames: ArrayLike) -> list[Any]:
    """Return a frame (4, 4), or each of several (N, 4, 4), as three rows of four numbers: turns to 1e-9, mm to 1e-4."""
    given = np.asarray(frames, dtype=np.float64)
    turned, place = np.round(given[..., :3, :3], 9), np.round(given[..., :3, 3:], 4)
    told = (np.concatenate([turned, place], axis=-1) + 0.0).reshape(-1, 12).tolist()
    return told if given.ndim == 3 else told[0]


def _short(value: float) -> Number:
    """Return a number without its ".0", and without the sign of a nought."""
    return int(value) if value.is_integer() else value
