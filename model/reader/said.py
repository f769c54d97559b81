"""What joints, shapes and families say of lengths, in mm, told in the unit of the file."""

from __future__ import annotations

import math
import re

from model.units import show

FINEST = 64
"""Fractions of an inch go down to this where they are exact enough."""
EXACT = 0.0127
"""A length this near to a fraction of an inch is told as that fraction, mm: half a thousandth."""

_NUMBER = r"-?\d+(?:\.\d+)?"
_LENGTHS = re.compile(rf'(?<![\w".-])({_NUMBER}(?:(?:,| x| to| and) {_NUMBER})*) mm\b')


class Said(str):
    """Words of ours about a value, not a value that stands in the file: shown without quotes."""


def in_unit(text: str, unit: str) -> str:
    """Return a sentence with its lengths, "12.70 mm" or "20.0 x 35.0 mm", in a file's unit.

    A length right behind a quotation mark is an example, and stays.
    """
    return _LENGTHS.sub(lambda found: re.sub(_NUMBER, lambda n: _told(float(n[0]), unit), found[1]) + f" {unit}", text)


def written(value: float, unit: str, *, angle: bool = False) -> str:
    """Return a length (mm) or an angle (radians) as it may stand in a file, to 0.01 mm, 0.001 in or 0.001 degrees."""
    if angle:
        return f"{round(math.degrees(value), 3) + 0.0:.3f}".rstrip("0").rstrip(".") + " deg"
    return in_unit(f"{value:.6f} mm", unit)


def _told(mm: float, unit: str) -> str:
    if unit != "in":
        return f"{round(mm, 2) + 0.0:.2f}".rstrip("0").rstrip(".")
    ticks = mm / 25.4 * FINEST
    if abs(ticks - round(ticks)) * 25.4 / FINEST <= EXACT:
        return show(mm, unit, finest=FINEST).removesuffix(" in")
    return f"{mm / 25.4:.3f}"
