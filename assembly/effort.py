"""Effort: how long a glue-up takes, and how many people it needs.

Rules of thumb from the table `model/data/effort.csv`, each with its status there; most are
common practice without a source. Not a licence to lift: the mass of wet or treated wood,
the grip and the reach all count, and local rules on lifting come first.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True)
class Effort:
    """Seconds, kilograms and millimetres of the rules of thumb; `spread_area` in seconds per 10 000 mm²."""

    spread_joint: float
    spread_area: float
    move_piece: float
    close_joint: float
    extra_person: float
    lift_one: float
    lift_two: float
    long_piece: float


@cache
def effort() -> Effort:
    """Return the rules of thumb of the table."""
    text = (files("model") / "data" / "effort.csv").read_text(encoding="utf-8")
    return Effort(**{row["figure"]: float(row["value"]) for row in csv.DictReader(text.splitlines())})


def people(mass_kg: float, length_mm: float, rules: Effort | None = None) -> int:
    """Return how many people move a piece of this mass and length.

    Beyond what two lift, each further person is taken to add what the second one does.
    """
    r = rules or effort()
    each_more = r.lift_two - r.lift_one
    by_mass = 1 + max(0, math.ceil((mass_kg - r.lift_one) / each_more - 1e-9))
    return max(by_mass, 2 if length_mm > r.long_piece else 1)


def minutes(areas_mm2: Sequence[float], moves: Sequence[int], hands: int, shop_people: int, open_minutes: float,
            rules: Effort | None = None) -> Mapping[str, float]:
    """Return the minutes of one glue-up: "spread", "close", "needed" (both together) and "open".

    `areas_mm2`: the area of each glued joint, one side. `moves`: how many joints each move
    closes. `hands`: people the heaviest move needs. Spreading is shared among the people in
    the shop; closing is not.
    """
    r = rules or effort()
    spread = sum(r.spread_joint + r.spread_area * area / 10_000.0 for area in areas_mm2) / max(1, shop_people)
    close = sum(r.move_piece + r.extra_person * (hands - 1) + r.close_joint * joints for joints in moves)
    return {"spread": round(spread / 60.0, 2), "close": round(close / 60.0, 2),
            "needed": round((spread + close) / 60.0, 2), "open": float(open_minutes)}
