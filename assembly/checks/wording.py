"""How a finding says how much and where, so that a person with a rule and a chisel can go there."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from assembly.placing import Assembly
from model.frames import directions, inverse, points
from model.part import ALL, Feature, Part
from model.units import show

Place = tuple[float, float, float]

LISTED = 6
"""How many names a sentence lists before it counts the rest."""
FACING = 0.9
"""A face is named for a direction it looks along within about 25 degrees."""
SAID = {"start": "start", "end": "end", "face": "face", "back": "back", "edge": "edge", "far_edge": "far edge"}


def small(mm: float, unit: str = "mm") -> str:
    """Return a small length as it is measured at the bench: millimetres, or thousandths where the work is in inches.

    Fractions of an inch would round a shaving away; from an inch on they are what a tape shows.
    """
    if unit == "in":
        return f"{mm / 25.4:.3f} in" if abs(mm) < 25.4 else show(mm, unit, finest=64)
    digits = 2 if abs(mm) < 0.995 else 1
    text = f"{mm:.{digits}f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text) + " mm"


def place(at: ArrayLike) -> Place:
    """Return a point (3,) as a finding's place."""
    x, y, z = (float(v) for v in np.round(np.asarray(at, dtype=np.float64), 6) + 0.0)
    return x, y, z


def listed(names: Sequence[str]) -> str:
    """Return names as a person would list them, the first few by name."""
    if len(names) > LISTED:
        return f"{', '.join(names[:LISTED - 1])} and {len(names) - LISTED + 1} more"
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else list(names))


def spot(assembly: Assembly, name: str, where: ArrayLike) -> str:
    """Return where along a part a point of the world is: "412 mm from the start of rail_3", "at the end of rail_3"."""
    part = assembly.part(name)
    at = points(inverse(assembly.frames[name]), where)
    along = float(at @ part.blank.grain)
    near, end = min((along, "start"), (part.blank.length - along, "end"))
    return f"at the {end} of {name}" if near < 0.5 else f"{show(near, assembly.design.unit)} from the {end} of {name}"


def side(assembly: Assembly, name: str, way: NDArray[np.float64]) -> str:
    """Return the side of a part that looks along a direction of the world, as "the edge of rail_3"."""
    part = assembly.part(name)
    local = directions(inverse(assembly.frames[name]), way)
    facing = {SAID[n]: float(f[:3, 2] @ local) for n, f in part.blank.places.items() if n in SAID}
    best = max(facing, key=lambda n: facing[n], default="")
    return f"the {best} of {name}" if best and facing[best] > FACING else name


def when(stage: str) -> str:
    """Begin a sentence with a stage, with nothing where it is the finished work ("")."""
    return f"When {stage} is glued, " if stage else ""


def capital(text: str) -> str:
    """Return a sentence of our own with its first letter large; never one that opens with a part's name."""
    return text[:1].upper() + text[1:]


def grown_at(part: Part, local: ArrayLike, done: frozenset[str] = ALL) -> Feature | None:
    """Return the wood grown onto a part (a tenon) that holds a point of its own frame, or None."""
    for feature in part.features:
        if feature.operation == "add" and (feature.after is None or done is ALL or feature.after in done):
            low, high = feature.solid.bounds_in(feature.frame)
            at = points(inverse(feature.frame), local)
            if np.all(at >= low - 1e-3) and np.all(at <= high + 1e-3):
                return feature
    return None
