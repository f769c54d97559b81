"""The unit of a mesh file: its own, or the one asked for where its format has none."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from model.reader.pieces.body import Refusal
from model.units import LONGEST, UNITS

FLAG = "--unit"
WORDS = "mm, cm, m, in or ft"
MICRON = 1e-3
"""Millimetres in a micron, which a 3MF may be in."""
LEAST_WHOLE = 5.0
"""Work whose longest side is shorter than this, mm, is in another unit."""


def in_mm(asked: str | None, own: str | None, kind: str, box: NDArray[np.float64]) -> float:
    """Return the millimetres in a file's unit. Raises Refusal where it is not known, contradicts, or makes no sense.

    `asked`: as a person gave it; `own`: as the file has it; `kind`: of file; `box` (2, 3) in the file's numbers.
    """
    size = (box[1] - box[0]).tolist()
    if asked is not None and asked not in UNITS:
        raise Refusal(FLAG, f"{asked!r} is no unit", WORDS)
    if own is None and asked is None:
        raise Refusal(FLAG, f"{kind} has no unit of its own. How large the whole would be in {_in_each(size)}",
                      f"{FLAG} {WORDS}")
    if own is not None and asked not in (None, own):
        raise Refusal(FLAG, f"{asked}: but this {kind} is in {own}", f"no {FLAG}, or {FLAG} {own}")
    unit = own or str(asked)
    scale = MICRON if unit == "micron" else UNITS[unit]
    longest = max((s for s in size if np.isfinite(s)), default=0.0) * scale
    if 0.0 < longest < LEAST_WHOLE or longest > LONGEST:
        told = f"in {unit} the whole would be {_sizes(size, scale)}. How large it would be in {_in_each(size)}"
        raise Refusal(FLAG, told,
                      f"work of {LEAST_WHOLE:g} mm to {LONGEST / 1000:.0f} m in all")
    return scale


def named_unit(unit: str | None) -> str:
    """Return the unit in which a person reads the report."""
    return "in" if unit in ("in", "ft") else "mm"


def _in_each(size: Sequence[float]) -> str:
    """Say how large the whole would be in each unit."""
    return "; ".join(f"{unit}: {_sizes(size, scale)}" for unit, scale in UNITS.items())


def _sizes(size: Sequence[float], scale: float) -> str:
    mm = [s * scale for s in size]
    unit, by = ("m", 1000.0) if max(mm, default=0.0) >= 1000.0 else ("mm", 1.0)
    return " × ".join(f"{one / by:.4g}" for one in mm) + f" {unit}"
