"""Free: along which directions each part can leave the whole as it stands, alone and in one straight line."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.blocking import blocking
from assembly.interference import overlaps
from assembly.placing import Assembly
from assembly.plan import Direction
from model.part import ALL


@lru_cache(maxsize=4)
def free_ways(assembly: Assembly) -> Mapping[str, tuple[Direction, ...]]:
    """Return for each part the directions tried along which nothing stops it, however far it goes.

    Tried: square to every face that touches it, along every line in which two of those cross, along its own edges and
    the world's axes. Where a part is free to leave, one of these is free; between two free ones others may be. Not
    looked at: ways round a corner, turning.
    """
    deep = {(o.a, o.b): o.depth for o in reversed(overlaps(assembly)) if o.told}
    held = blocking(assembly, [(name,) for name in assembly.names], ALL, deep)
    everywhere = np.ones(len(held.units), dtype=bool)
    found: dict[str, tuple[Direction, ...]] = {}
    for unit, (name,) in enumerate(held.units):
        ways = held.ways(unit)
        open_ways = ways.directions[~ways.stopped.any(axis=1)]
        found[name] = tuple(_rounded(way) for way in open_ways if held.stopper(unit, way, everywhere) is None)
    return found


def _rounded(way: NDArray[np.float64]) -> Direction:
    x, y, z = (np.round(way, 9) + 0.0).tolist()
    return x, y, z
