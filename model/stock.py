"""Lumber and species: dressed sizes by nominal size, density and shrinkage by species.

Sources are in `model/data/`: dressed dry sizes after PS 20, species values after the
Wood Handbook (FPL-GTR-190, 2010); each row of the tables carries its own status.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

INCH = 25.4
BOARD_FOOT_IN3 = 144.0


@dataclass(frozen=True)
class Species:
    """A species: density at 12 % moisture (kg/m³), dimensional change coefficients (1/%), decay class.

    `radial_shrinkage`, `tangential_shrinkage`: from green to oven-dry, as a fraction of the
    green size; `fibre_saturation`: the moisture from which on it shrinks, %.
    """

    name: str
    density: float
    radial_change: float | None
    tangential_change: float | None
    shear_kpa: float | None
    decay: str
    radial_shrinkage: float | None = None
    tangential_shrinkage: float | None = None
    fibre_saturation: float = 30.0


@dataclass(frozen=True)
class Nominal:
    """A nominal size and its dressed dry size, mm, with the board feet in a foot of length."""

    name: str
    thickness: float
    width: float
    board_feet_per_foot: float


@dataclass(frozen=True)
class Stock:
    """One kind of board as it lies ready: its species, the size it was milled to (mm), what it came from."""

    name: str
    species: Species
    thickness: float
    width: float
    nominal: Nominal | None = None
    length: float | None = None

    def board_feet(self, length: float) -> float | None:
        """Return the board feet billed for a length in mm; None where the stock has no nominal size."""
        return None if self.nominal is None else self.nominal.board_feet_per_foot * length / (12.0 * INCH)


def _rows(name: str) -> list[dict[str, str]]:
    text = (files("model") / "data" / name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def _number(text: str) -> float | None:
    return float(text) if text.strip() else None


def _share(text: str) -> float | None:
    percent = _number(text)
    return None if percent is None else percent / 100.0


@cache
def species() -> dict[str, Species]:
    """Return every species of the table by name."""
    return {
        r["species"]: Species(r["species"], float(r["density_12pct_kg_m3"]), _number(r["C_R"]), _number(r["C_T"]),
                              _number(r["shear_par_12pct_kPa"]), r["heartwood_decay_class"],
                              _share(r["S_R_pct"]), _share(r["S_T_pct"]), float(r["FSP_used_pct"]))
        for r in _rows("species.csv")
    }


@cache
def nominals() -> dict[str, Nominal]:
    """Return every nominal size of the table ("2x6") with its dressed dry size."""
    return {
        r["nominal"]: Nominal(r["nominal"], float(r["dry_t_in"]) * INCH, float(r["dry_w_in"]) * INCH,
                              _board_feet_per_foot(r["nominal"]))
        for r in _rows("lumber_us.csv")
    }


def _board_feet_per_foot(nominal: str) -> float:
    thickness, width = nominal.split("x")
    over, _, under = thickness.partition("/")
    inches = float(over) / float(under or 1)
    return inches * float(width) * 12.0 / BOARD_FOOT_IN3
