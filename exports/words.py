"""Directions, places and names in words: x to the right, y away from you, z up, as the finished work stands."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from exports.names import shown
from model.units import show

Box = NDArray[np.float64]
"""Lowest and highest corner, mm (2, 3)."""

CONVENTION = "Directions are those of the finished work: right is +x, away from you is +y, up is +z."

POUND = 0.45359237
"""Kilograms in a pound (International Yard and Pound Agreement, 1959)."""

_WAYS = (("to the left", "to the right"), ("toward you", "away from you"), ("down", "up"))
_STRAIGHT = (("left", "right"), ("toward you", "away"), ("down", "up"))
_UNHEARD = math.radians(2.0)
"""A lean smaller than this is not spoken of."""


def way(direction: Sequence[float]) -> str:
    """Return a direction (3,) in words: "up", or "to the right and up, 18° off straight right"."""
    length = math.hypot(*direction)
    if not length > 0:
        return "nowhere"
    v = [along / length for along in direction]
    order = sorted(range(3), key=lambda axis: (-round(abs(v[axis]), 6), axis))
    heard = [axis for axis in order if abs(v[axis]) > math.sin(_UNHEARD)]
    text = _in_a_row([_WAYS[axis][v[axis] > 0] for axis in heard])
    if len(heard) == 1:
        return text
    off = math.degrees(math.acos(min(1.0, abs(v[heard[0]]))))
    return f"{text}, {off:.0f}° off straight {_STRAIGHT[heard[0]][v[heard[0]] > 0]}"


def spot(where: ArrayLike, bounds: Box, unit: str) -> str:
    """Return a point (3,), mm world, as measured by tape from the ends of the whole (its box, (2, 3))."""
    x, y, z = (np.asarray(where, dtype=np.float64) - bounds[0]).tolist()
    return f"{show(x, unit)} from the left, {show(y, unit)} from the front, {show(z, unit)} from the bottom"


def size(lengths: Sequence[float], unit: str) -> str:
    """Return sizes in mm as "1200 × 89 × 38 mm"."""
    return " × ".join(show(mm, unit).removesuffix(f" {unit}") for mm in lengths) + f" {unit}"


def fine(mm: float, unit: str) -> str:
    """Return a small length, which in inches is also given in millimetres: a sixteenth hides most misfits."""
    return f"{mm:.2f} mm" if unit != "in" else f"{show(mm, unit, finest=64)} ({mm:.2f} mm)"


def weight(kg: float, unit: str) -> str:
    """Return a mass in kg, with pounds beside it for those who measure in inches."""
    return f"{kg:.1f} kg" if unit != "in" else f"{kg:.1f} kg ({kg / POUND:.0f} lb)"


def several(names: Sequence[str], most: int = 3) -> str:
    """Return names as "a, b and c", or "a, b and 7 more" when there are more than `most`."""
    told = [shown(name) for name in names]
    if len(told) > most:
        told = [*told[: most - 1], f"{len(names) - most + 1} more"]
    return _in_a_row(told) or "nothing"


def _in_a_row(told: Sequence[str]) -> str:
    return " and ".join(part for part in (", ".join(told[:-1]), *told[-1:]) if part)


def count(number: int, one: str, many: str | None = None) -> str:
    """Return "1 piece", "2 pieces"."""
    return f"{number} {one if number == 1 else many or one + 's'}"
