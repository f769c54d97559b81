"""Footing: on what work rests at each moment in one attitude, and what keeps it still: packing, or somebody."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from assembly.stance.body import ON_IT, Body, Floats
from assembly.stance.steadiness import Tip, edges, over_edges, plane_axes

BLOCKS_MOST = 600.0
"""Blocks, trestles and packing reach this high, mm (common practice, no source)."""
UNDERSIDE = math.cos(math.radians(20.0))
"""Packing goes under faces that look down within 20 degrees; what is steeper slides off (common practice, no
source)."""
BETWEEN = 1e-3
"""Heights are rounded between values that drawings do not have, mm."""
LEVELS_MOST = 12
"""Heights of packing tried at one moment, the lowest first."""

Mask = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Footing:
    """How work keeps still at one moment: on packing `packing` mm high under the parts `packed`.

    `force`: what it takes to hold it all the same, kg, at the part `held_at`; 0 where nobody has to. `tip` is
    without anybody holding it.
    """

    packing: float
    packed: tuple[str, ...]
    tip: Tip
    force: float = 0.0
    held_at: str = ""


class Lie:
    """A body in one attitude: `up` (3,) looks up; what has been worked out about its footing is kept."""

    def __init__(self, body: Body, up: Floats) -> None:
        self.body, self.up = body, up
        self.heights, self.lows = body.lows(up)
        self.axes = plane_axes(up)
        self.flat = body.corners @ self.axes.T
        self.bears = self.heights <= self.lows[body.owner] + ON_IT
        self.bears[body.faces[body.normals @ up < -UNDERSIDE].ravel()] = True
        self._edges: dict[bytes, Floats] = {}

    @cached_property
    def centres(self) -> Floats:
        """The centre of mass of each part in plan and its height (P, 3)."""
        return np.column_stack([self.body.centre @ self.axes.T, self.body.centre @ self.up])

    def plane(self, parts: Iterable[str]) -> float:
        """Return how high along `up` the face is on which these parts lie in the end, mm."""
        return float(self.lows[self.body.rows(parts)].min())

    def footing(self, there: Mask, plane: float) -> Footing:
        """Return how the parts in `there` (P,) keep still over a face: on the least packing, or held."""
        share = self.body.mass * there
        centre = share @ self.centres / share.sum()
        bearing = self.bears & there[self.body.owner]
        above = np.where(self.heights - plane > ON_IT, self.heights - plane, 0.0)
        levels = np.unique(np.round(above[bearing] + BETWEEN, 1))
        best: tuple[float, Tip] | None = None
        for level in levels[levels <= BLOCKS_MOST][:LEVELS_MOST].tolist():
            rows = bearing & (above <= level + ON_IT)
            found = self._tip(rows, centre)
            if found.steady:
                return Footing(level, self._packed(rows, above), found)
            if best is None or found.inside > best[1].inside + ON_IT:
                best = level, found
        if best is None:
            names = [self.body.names[k] for k in np.flatnonzero(there)]
            return Footing(0.0, (), Tip(0.0, 0.0, np.array([1.0, 0.0])), float(share.sum()), names[0])
        level, found = best
        packed = self._packed(bearing & (above <= level + ON_IT), above)
        return Footing(level, packed, found, *self._hold(there, centre, float(share.sum()), found))

    def _tip(self, rows: Mask, centre: Floats) -> Tip:
        at = self.flat[rows]
        key = rows.tobytes()
        if key not in self._edges:
            self._edges[key] = edges(at)
        return over_edges(self._edges[key], at, centre[:2], float(centre[2] - self.heights[rows].min()))

    def _packed(self, rows: Mask, above: Floats) -> tuple[str, ...]:
        return tuple(self.body.names[k] for k in np.unique(self.body.owner[rows & (above > ON_IT)]).tolist())

    def _hold(self, there: Mask, centre: Floats, mass: float, found: Tip) -> tuple[float, str]:
        """Return what it takes to hold work that falls, kg, by the lever to its far end, and the part there."""
        rows = np.flatnonzero(there[self.body.owner])
        reach = self.flat[rows] @ found.way
        arm = float(reach.max() - (centre[:2] @ found.way + found.inside))
        force = mass * min(1.0, max(0.0, -found.inside) / arm) if arm > 1.0 else mass
        held_at = self.body.names[int(self.body.owner[rows[int(np.argmax(np.round(reach, 3)))]])]
        return max(force, 0.01), held_at
