"""Lengths and angles as a person writes them, and as a person reads them.

Inside everything is millimetres and radians. In a file a length is text with its unit
("38 mm", "7 1/2 in", "8 ft 2 in", "1.2 m") or a bare number in the file's own unit; an
angle is text in degrees ("15 deg") or a bare number of degrees.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Annotated, Any

from pydantic import BeforeValidator, ValidationInfo

UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
LONGEST = 100_000.0
"""No length in a design may exceed this, mm."""
LENGTH_ACCEPTED = 'a length such as "38 mm", "7 1/2 in", "8 ft 2 in", or a bare number in the file\'s unit'
ANGLE_ACCEPTED = 'an angle in degrees such as 15 or "15 deg"'


class LengthError(ValueError):
    """A value that is no length; `accepted` says what would be."""

    accepted = LENGTH_ACCEPTED


class AngleError(ValueError):
    """A value that is no angle; `accepted` says what would be."""

    accepted = ANGLE_ACCEPTED


_NUMBER = r"(?:\d+\s+\d+/\d+|\d+/\d+|\d+(?:\.\d+)?|\.\d+)"
_TERM = re.compile(rf"({_NUMBER})\s*(mm|cm|m|in|ft|\"|')?(?![A-Za-z])\s*")


def to_mm(value: object, unit: str = "mm") -> float:
    """Return a length in mm; ValueError says what would be accepted. `unit` is that of bare numbers."""
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        raise LengthError("not a length")
    try:
        mm = _text_to_mm(value, unit) if isinstance(value, str) else float(value) * UNITS[unit]
    except OverflowError as error:
        raise LengthError("not a finite length") from error
    if not math.isfinite(mm):
        raise LengthError("not a finite length")
    if abs(mm) > LONGEST:
        raise LengthError(f"longer than {LONGEST / 1000:.0f} m")
    return round(mm, 9)


def _text_to_mm(text: str, unit: str) -> float:
    rest, sign = text.strip(), 1.0
    if rest[:1] in ("+", "-"):
        sign, rest = (-1.0 if rest[0] == "-" else 1.0), rest[1:].strip()
    total, terms = 0.0, 0
    while rest:
        match = _TERM.match(rest)
        if match is None or len(text) > 60:
            raise LengthError("not a length")
        name = {'"': "in", "'": "ft", None: unit if terms == 0 else None}.get(match[2], match[2])
        if name is None:
            raise LengthError("not a length")
        total += _number(match[1]) * UNITS[name]
        terms, rest = terms + 1, rest[match.end():]
    if not terms:
        raise LengthError("not a length")
    return sign * total


def _number(text: str) -> float:
    try:
        return float(sum(Fraction(p) for p in text.split()))
    except ZeroDivisionError as error:
        raise LengthError("a fraction over nothing") from error


def to_radians(value: object) -> float:
    """Return an angle in radians from degrees; ValueError when it is none."""
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        raise AngleError("not an angle")
    if isinstance(value, int) and abs(value) > 360:
        raise AngleError("not an angle between -360 and 360 degrees")
    text = str(value).strip().removesuffix("degrees").removesuffix("deg").removesuffix("°").strip()
    try:
        degrees = float(text)
    except ValueError as error:
        raise AngleError("not an angle") from error
    if not math.isfinite(degrees) or abs(degrees) > 360.0:
        raise AngleError("not an angle between -360 and 360 degrees")
    return math.radians(degrees)


def _length(value: Any, info: ValidationInfo) -> float:
    return to_mm(value, (info.context or {}).get("unit", "mm"))


def _positive(value: Any, info: ValidationInfo) -> float:
    mm = _length(value, info)
    if mm <= 0:
        raise LengthError("a length must be more than nothing")
    return mm


Length = Annotated[float, BeforeValidator(_length)]
"""A length in mm, of either sign, read in the file's unit (validation context key "unit")."""
Size = Annotated[float, BeforeValidator(_positive)]
"""A length in mm above zero."""
Angle = Annotated[float, BeforeValidator(to_radians)]
"""An angle in radians."""


def show(mm: float, unit: str = "mm", *, finest: int = 16) -> str:
    """Return a length as a person reads it: tenths of a millimetre, or inches to a sixteenth."""
    if unit != "in":
        return f"{mm:.1f} mm".replace(".0 mm", " mm")
    ticks = round(abs(mm) / 25.4 * finest)
    whole, part = divmod(ticks, finest)
    text = " ".join(str(w) for w in ((whole or ""), Fraction(part, finest) if part else "") if w != "") or "0"
    return f"{'-' if mm < 0 and ticks else ''}{text} in"
