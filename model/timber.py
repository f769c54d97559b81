"""Timber: how wood moves with moisture, and what is left of its strength at an angle to the grain.

Moisture in % of oven-dry mass; shrinkage as a fraction of the green size; angles rad. Equations
after the Wood Handbook (FPL-GTR-190, 2010): shrinkage to a moisture content in chapter 4,
dimensional change in chapter 13, strength at an angle to the grain in chapter 5.
"""

from __future__ import annotations

from math import cos, sin

from model.stock import Species

SATURATED = 30.0
"""Moisture at fibre saturation, %, where a species' own is not known (Wood Handbook, chapter 4)."""
LINEAR = (6.0, 14.0)
"""The change coefficients hold between these moistures, % (Wood Handbook, eq. 13-2; the number from memory)."""
TENSION_RATIO, TENSION_POWER = 0.05, 1.75
"""Strength across the grain over that along it, and the power in Hankinson's formula, for wood in tension and bending:
the middle of 0.04 to 0.07, and of 1.5 to 2 (Wood Handbook, chapter 5, from memory)."""


def change(size: float, coefficient: float, dry: float, wet: float) -> float:
    """Return how much a size (mm) measured dry grows from one moisture to another: D C (wet - dry), mm.

    Holds within LINEAR only. Source: Wood Handbook, eq. 13-2.
    """
    return size * coefficient * (wet - dry)


def shrunk(total: float, moisture: float, saturation: float = SATURATED) -> float:
    """Return the shrinkage from green to a moisture, as a fraction: S = S0 (1 - M / saturation); 0 above saturation.

    `total`: from green to oven-dry, a fraction. Source: Wood Handbook, eq. 4-7.
    """
    return total * max(0.0, 1.0 - moisture / saturation)


def resized(size: float, total: float, before: float, after: float, saturation: float = SATURATED) -> float:
    """Return what a size (mm) at one moisture measures at another, each a share of the green size, mm."""
    return size * (1.0 - shrunk(total, after, saturation)) / (1.0 - shrunk(total, before, saturation))


def movement(species: Species, width: float, dry: float, wet: float, *, tangential: bool = True) -> float | None:
    """Return how much a width across the grain (mm, measured dry) grows from dry to wet, mm.

    By the change coefficient within LINEAR; outside of it by the shrinkage from green, or by
    the coefficient again where the total is not known. Tangential is the growth of a flat-sawn
    board's width, radial of a quarter-sawn one's. None for a species with neither figure.
    """
    coefficient = species.tangential_change if tangential else species.radial_change
    total = species.tangential_shrinkage if tangential else species.radial_shrinkage
    saturation = species.fibre_saturation
    dry, wet = min(dry, saturation), min(wet, saturation)
    if coefficient is not None and (total is None or (dry >= LINEAR[0] and wet <= LINEAR[1])):
        return change(width, coefficient, dry, wet)
    return None if total is None else resized(width, total, dry, wet, saturation) - width


def hankinson(along: float, across: float, angle: float, power: float = 2.0) -> float:
    """Return the strength at an angle (rad) to the grain: P Q / (P sin^n + Q cos^n).

    `along` P and `across` Q in any unit; `power` n: 2 to 2.5 in compression, 1.5 to 2 in
    tension and bending. Source: Hankinson, 1921, as in the Wood Handbook, chapter 5.
    """
    left: float = along * across / (along * abs(sin(angle)) ** power + across * abs(cos(angle)) ** power)
    return left


def strength_left(angle: float) -> float:
    """Return the share of its strength in tension and bending that wood has at an angle (rad) to its grain."""
    return hankinson(1.0, TENSION_RATIO, angle, TENSION_POWER)
