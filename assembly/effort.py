"""Effort: how long a glue-up takes, and how many people it needs.

Rules of thumb from the table `model/data/effort.csv`, each with its status there; most are
common practice without a source. Not a licence to lift: the mass of wet or treated wood,
the grip and the reach all count, and local rules on lifting come first.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files

from model.shop import Shop


@dataclass(frozen=True)
class Effort:
    """Seconds, kilograms and millimetres of the rules of thumb; `spread_area` in seconds per 10 000 mm²."""

    spread_joint: float
    spread_area: float
    move_piece: float
    close_joint: float
    set_clamp: float
    extra_person: float
    lift_one: float
    lift_two: float
    long_piece: float


@cache
def effort() -> Effort:
    """Return the rules of thumb of the table."""
    text = (files("model") / "data" / "effort.csv").read_text(encoding="utf-8")
    return Effort(**{row["figure"]: float(row["value"]) for row in csv.DictReader(text.splitlines())})


def rules(shop: Shop) -> Effort:
    """Return the rules of thumb as they hold in a shop: what it has measured comes first."""
    return replace(effort(), **{name: seconds for name, seconds in shop.seconds.items() if name in vars(effort())})


def people(mass_kg: float, length_mm: float, rules: Effort | None = None) -> int:
    """Return how many people move a piece of this mass and length.

    Beyond what two lift, each further person is taken to add what the second one does.
    """
    r = rules or effort()
    each_more = r.lift_two - r.lift_one
    by_mass = 1 + max(0, math.ceil((mass_kg - r.lift_one) / each_more - 1e-9))
    return max(by_mass, 2 if length_mm > r.long_piece else 1)
