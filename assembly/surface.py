"""Surfaces: which faces of a finished part are its outside, and what each of them was made by.

The walls of mortises, laps and housings are no outside: nothing is ever planed flush with
them. A face is known again on the part as cut by what made it, wherever it has moved.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import cos, radians

import numpy as np
from numpy.typing import NDArray

from assembly.facets import Facets, facets
from model.part import Feature, Part
from model.solids import Solid

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

BLANK, INSIDE = -1, -2
"""What made a face: the blank, or a cut that is no outside; from 0 on the part's features."""
COPLANAR = 2e-3
"""Faces this near to one plane, mm, are the same face of blank and part."""
PARALLEL = 1.0 - 1e-9
TURNED_MOST = cos(radians(20.0))
"""A face as cut has turned by less than this from where the drawing has it."""
TOUCHED = 1e-6
"""An area of a face, mm², below which it has no place of its own."""


@dataclass(frozen=True, eq=False)
class Surface:
    """The faces of a finished part, in its own frame; `source` (F,) says by number what made each of them."""

    part: Part
    flat: Facets
    source: Ints

    @property
    def outside(self) -> NDArray[np.bool_]:
        """Which faces (F,) are outside."""
        out: NDArray[np.bool_] = self.source != INSIDE
        return out

    def made_by(self, face: int) -> Feature | None:
        """Return the feature that made a face, None for the blank's own."""
        source = int(self.source[face])
        return None if source < 0 else self.part.features[source]

    def place(self, face: int) -> str:
        """Return the name of the place of the blank that a face lies on, "" where it lies on none."""
        if self.source[face] != BLANK:
            return ""
        normal, offset = self.flat.normals[face], float(self.flat.offsets[face])
        for name, frame in self.part.blank.places.items():
            if frame[:3, 2] @ normal > PARALLEL and abs(float(normal @ frame[:3, 3]) - offset) < COPLANAR:
                return name
        return ""

    def at_place(self, name: str) -> int | None:
        """Return the largest face that lies on a named place, None where nothing of it is left."""
        frame = self.part.blank.places.get(name)
        if frame is None:
            return None
        on = self.flat.normals @ frame[:3, 2] > PARALLEL
        on &= np.abs(self.flat.offsets - float(frame[:3, 2] @ frame[:3, 3])) < COPLANAR
        on &= self.source == BLANK
        return int(np.argmax(np.where(on, self.flat.areas, -1.0))) if on.any() else None


def surface(part: Part) -> Surface:
    """Return the faces of a finished part and what made each of them; worked out once a shape."""
    sources = _sources(part.finished, part.blank.solid, tuple((f.solid, _sign(f)) for f in part.features))
    return Surface(part, facets(part.finished), sources)


def _sign(feature: Feature) -> int:
    """Return which way a feature's faces look on the part, 0 where they are no outside of it."""
    if feature.operation == "cut":
        return 0 if feature.joint else -1
    return 1


@lru_cache(maxsize=4096)
def _sources(finished: Solid, blank: Solid, features: tuple[tuple[Solid, int], ...]) -> Ints:
    flat = facets(finished)
    source = np.full(len(flat), INSIDE, dtype=np.int64)
    for number, (solid, sign) in reversed(list(enumerate(features))):
        if sign:
            source[_on(flat, facets(solid), sign)] = number
    source[_on(flat, facets(blank), 1)] = BLANK
    source[flat.areas < TOUCHED] = INSIDE
    return source


def _on(flat: Facets, maker: Facets, sign: int) -> NDArray[np.bool_]:
    """Which faces of a part (F,) lie in a plane of what made it, facing the way it makes them face."""
    along = flat.normals @ (sign * maker.normals).T > PARALLEL
    near = np.abs(flat.offsets[:, None] - sign * maker.offsets[None, :]) < COPLANAR
    return np.asarray((along & near).any(axis=1), dtype=np.bool_)


def as_cut_face(drawn: Surface, face: int, cut: Surface, at: Floats) -> int | None:
    """Return the face of the part as cut that the drawing has as `face`, at a point (3,) of it; None if it is gone.

    It was made by the same thing, looks nearly the same way, and comes nearest to the point.
    """
    if drawn.part is cut.part:
        return face
    maker = drawn.made_by(face)
    if maker is None:
        same = cut.source == BLANK
    else:
        numbers = [k for k, f in enumerate(cut.part.features) if f.name == maker.name]
        same = np.isin(cut.source, numbers)
    same &= cut.flat.normals @ drawn.flat.normals[face] > TURNED_MOST
    if not same.any():
        return None
    return int(np.argmin(np.where(same, _away(cut.flat, at), np.inf)))


def _away(flat: Facets, at: Floats) -> Floats:
    """Return how far a point (3,) is from the box around each face (F,)."""
    beyond: Floats = np.linalg.norm(np.maximum(np.maximum(flat.low - at, at - flat.high), 0.0), axis=1)
    return beyond
