"""Directions, places and names in words: x to the right, y away from you, z up, as the finished work stands."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from exports.names import runs, shown, stretches
from model.units import show

Box = NDArray[np.float64]
"""Lowest and highest corner, mm (2, 3)."""

CONVENTION = ("Directions are those of the finished work: right is +x, away from you is +y, up is +z. Arrows are seen "
              "from its front: ⊙ comes toward you, ⊗ goes away from you.")

POUND = 0.45359237
"""Kilograms in a pound (International Yard and Pound Agreement, 1959)."""

_WAYS = (("to the left", "to the right"), ("toward you", "away from you"), ("down", "up"))
_ROUND = "→↗↑↖←↙↓↘"
"""Arrows as seen from the front, by eighths of a turn from the right on."""
_UNHEARD = math.radians(2.0)
"""A lean smaller than this is not spoken of."""


def way(direction: Sequence[float]) -> str:
    """Return a direction (3,) in words: "up", "up and 9° to the left", "up and 20° off, to the left and toward you"."""
    length = math.hypot(*direction)
    if not length > 0:
        return "nowhere"
    v = [along / length for along in direction]
    order = sorted(range(3), key=lambda axis: (-round(abs(v[axis]), 6), axis))
    main, *rest = [_WAYS[axis][v[axis] > 0] for axis in order if abs(v[axis]) > math.sin(_UNHEARD)]
    if not rest:
        return main
    off = f"{math.degrees(math.acos(min(1.0, abs(v[order[0]])))):.0f}°"
    return f"{main} and {off} {rest[0]}" if len(rest) == 1 else f"{main} and {off} off, {_in_a_row(rest)}"


def arrow(direction: Sequence[float]) -> str:
    """Return the arrow for a direction (3,) seen from the front; ⊙ and ⊗ where it mostly comes toward you or leaves."""
    x, y, z = direction
    across = math.hypot(x, z)
    if not max(across, abs(y)) > 0:
        return "·"
    if abs(y) > across:
        return "⊗" if y > 0 else "⊙"
    return _ROUND[round(math.atan2(z, x) / (math.pi / 4)) % 8]


def spot(where: ArrayLike, bounds: Box, unit: str) -> str:
    """Return a point (3,), mm world, as measured by tape from the ends of the whole (its box, (2, 3))."""
    x, y, z = (np.asarray(where, dtype=np.float64) - bounds[0]).tolist()
    return f"{tape(x, unit)} from the left, {tape(y, unit)} from the front, {tape(z, unit)} from the bottom"


def tape(mm: float, unit: str) -> str:
    """Return a length as a tape tells it: whole millimetres, or inches to a sixteenth."""
    return show(mm, unit) if unit == "in" else f"{mm:.0f} mm".replace("-0 ", "0 ")


def overall(lengths: Sequence[float], unit: str) -> str:
    """Return the sizes of something large, in mm, as a tape tells them: "1200 × 89 × 38 mm"."""
    return _times([tape(mm, unit) for mm in lengths], unit)


def size(lengths: Sequence[float], unit: str) -> str:
    """Return sizes in mm as a piece is cut to them: "1200 × 88.9 × 38.1 mm"."""
    return _times([show(mm, unit) for mm in lengths], unit)


def _times(lengths: Sequence[str], unit: str) -> str:
    return " × ".join(length.removesuffix(f" {unit}") for length in lengths) + f" {unit}"


def area(mm2: float, unit: str) -> str:
    """Return an area in cm², or in square inches."""
    return f"{mm2 / 645.16:.1f} in²" if unit == "in" else f"{mm2 / 100:.1f} cm²"


def volume(mm3: float, unit: str) -> str:
    """Return a volume in cm³, or in cubic inches."""
    return f"{mm3 / 16387.064:.1f} in³" if unit == "in" else f"{mm3 / 1000:.1f} cm³"


def weight(kg: float, unit: str) -> str:
    """Return a mass in kg, with pounds beside it for those who measure in inches."""
    return f"{kg:.1f} kg" if unit != "in" else f"{kg:.1f} kg ({kg / POUND:.0f} lb)"


def several(names: Sequence[str], most: int = 3) -> str:
    """Return names as "a, b and c" or "rail_1 to rail_9 and post"; past `most` of these the rest is counted."""
    return _in_a_row(_at_most(names, most)) or "nothing"


def commas(names: Sequence[str], most: int = 3) -> str:
    """Return the same with commas alone, as a table has it: "rail_1 to rail_9, post"."""
    return ", ".join(_at_most(names, most))


def _at_most(names: Sequence[str], most: int) -> list[str]:
    told = [entry for run in runs(names) for entry in _entries(run)]
    if len(told) > most:
        left = sum(number for _, number in told[most - 1:])
        told = [*told[: most - 1], (f"{left} more", left)]
    return [said for said, _ in told]


def in_order(names: Sequence[str]) -> tuple[str, bool]:
    """Return every name in the order given, "a_4 to a_1, then a_5 to a_9", and whether that says it is an order."""
    told = [said for run in stretches(names) for said, _ in _entries(run)]
    few = 1 < len(told) <= 3
    return (", then " if few else ", ").join(told), few


def _entries(run: Sequence[str]) -> list[tuple[str, int]]:
    """Return what to say of a run of names, and of how many names each saying is."""
    if len(run) > 2:
        return [(f"{shown(run[0])} to {shown(run[-1])}", len(run))]
    return [(shown(name), 1) for name in run]


def _in_a_row(told: Sequence[str]) -> str:
    return " and ".join(part for part in (", ".join(told[:-1]), *told[-1:]) if part)


def sentence(said: str, names: Collection[str] = ()) -> str:
    """Return words as a sentence: a capital, unless they begin with one of the names, and a full stop."""
    first = said.split(" ", 1)[0]
    begun = said if first in names or first.rstrip(",:") in names else said[:1].upper() + said[1:]
    return begun if not said or said.endswith((".", "?", "!")) else f"{begun}."


def people(number: int) -> str:
    """Return "one person", "2 people"."""
    return "one person" if number == 1 else f"{number} people"


def count(number: int, one: str, many: str | None = None) -> str:
    """Return "1 piece", "2 pieces"."""
    return f"{number} {one if number == 1 else many or one + 's'}"
