"""Pieces: the parts of a design gathered by what they are, and the whole they make."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.placing import Assembly
from model.design import Design
from model.frames import Vector, points
from model.part import Part
from model.solids import Solid

GRAIN = 0.01
"""Corners this near count as one, mm: what no machine in a wood shop can tell apart."""
COARSE = 10.0
"""Volumes (mm³) and surfaces (mm²) this near count as one where the corners are."""
OFF_GRAIN = 0.00314159
"""Shifts the grid off the round numbers that corners lie on, mm, so that rounding errors do not part them."""


@dataclass(frozen=True)
class Alike:
    """Parts cut alike: the same finished shape out of the same stock, temporary all or none."""

    parts: tuple[Part, ...]

    @property
    def first(self) -> Part:
        """The first of them in the design's order."""
        return self.parts[0]

    @property
    def board_feet(self) -> float | None:
        """Board feet billed for all of them; None where their stock has no nominal size."""
        one = self.first.blank.stock.board_feet(self.first.cut_length)
        return None if one is None else one * len(self.parts)


def alike(design: Design) -> tuple[Alike, ...]:
    """Return the parts grouped by what is cut alike, in the design's order.

    Alike is what has the same shape lying the same way: a part that would have to be turned
    round, or is its mirror image, counts as another.
    """
    found: dict[tuple[object, str, bool], list[Part]] = {}
    for part in design.parts:
        found.setdefault((_shape(part.finished), part.blank.stock.name, part.temporary), []).append(part)
    return tuple(Alike(tuple(parts)) for parts in found.values())


@lru_cache(maxsize=4096)
def _shape(solid: Solid) -> tuple[bytes, int, int]:
    """Return what two solids share when they are one shape in one position, to GRAIN: corners, volume and surface.

    Two recipes may give one shape (a lap cut by a longer cutter), so the recipe's key will not do.
    """
    vertices, triangles = solid.mesh
    ticks = np.floor((vertices + OFF_GRAIN) / GRAIN).astype(np.int64)
    a, b, c = (vertices[triangles[:, i]] for i in range(3))
    surface = float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum()) / 2.0
    bulk, skin = (math.floor((value + OFF_GRAIN) / COARSE) for value in (solid.volume, surface))
    return np.unique(ticks, axis=0).tobytes(), bulk, skin


def as_cut(part: Part) -> tuple[float, float, float]:
    """Return a part's length over its tenons, width and thickness as it leaves the machines, mm."""
    return part.cut_length, part.blank.width, part.blank.thickness


def staying(assembly: Assembly) -> tuple[str, ...]:
    """Return the placed parts that stay in the finished work; all placed parts where none stays."""
    stay = tuple(n for n in assembly.names if not assembly.part(n).temporary)
    return stay or assembly.names


def bounds(assembly: Assembly) -> NDArray[np.float64]:
    """Return the box around the finished work in the world, mm (2, 3)."""
    corners = [assembly.vertices(name) for name in staying(assembly)]
    return np.array([np.min([c.min(axis=0) for c in corners], axis=0),
                     np.max([c.max(axis=0) for c in corners], axis=0)])


def mass(assembly: Assembly) -> float:
    """Return the mass of the finished work, kg."""
    return float(sum(assembly.part(name).mass for name in staying(assembly)))


def centre_of_mass(assembly: Assembly) -> Vector:
    """Return the centre of mass of the finished work in the world, mm (3,)."""
    parts = [(assembly.part(name), assembly.frames[name]) for name in staying(assembly)]
    middles = np.array([points(frame, part.finished.centroid) for part, frame in parts])
    centre: Vector = np.average(middles, axis=0, weights=[part.mass for part, _ in parts])
    return centre
