"""Strength at an angle to the grain against Hankinson's formula, 1921, as in the Wood Handbook, FPL-GTR-190, ch. 5.

Status, beside each check: "read" was seen in the handbook or a page quoting it, "from memory"
was not seen, "derived" follows by arithmetic from the formula.
"""

from __future__ import annotations

from math import atan2, radians

import pytest

from model.timber import TENSION_POWER, TENSION_RATIO, hankinson, strength_left

INTERIOR_SOUTH = 43.0, 5.1
"""Douglas-fir, interior south, 12 %: compression along and across the grain, MPa, read."""
COAST = 49.9, 5.5
"""Douglas-fir, coast: the same, MPa, from memory."""


@pytest.mark.parametrize(("degrees", "strength"), [(10.0, 35.13), (22.5, 20.59), (45.0, 9.12)])
def test_interior_south_in_compression(degrees: float, strength: float) -> None:
    """P and Q read; N derived, power 2."""
    assert hankinson(*INTERIOR_SOUTH, radians(degrees)) == pytest.approx(strength, abs=0.005)


@pytest.mark.parametrize(("degrees", "strength"), [
    (0.0, 49.9), (5.0, 47.017), (7.5, 43.867), (9.0, 41.668), (10.0, 40.131), (11.25, 38.172), (15.0, 32.386),
    (18.0, 28.178), (22.5, 22.867), (30.0, 16.533), (45.0, 9.908), (60.0, 7.073), (90.0, 5.5),
])
def test_coast_in_compression(degrees: float, strength: float) -> None:
    """P and Q from memory; N derived, power 2."""
    assert hankinson(*COAST, radians(degrees)) == pytest.approx(strength, abs=0.001)


def test_at_45_degrees_it_is_the_harmonic_mean() -> None:
    """N = 2 P Q / (P + Q) for a power of 2, derived."""
    p, q = INTERIOR_SOUTH
    assert hankinson(p, q, radians(45.0)) == pytest.approx(2.0 * p * q / (p + q), rel=1e-12)


@pytest.mark.parametrize(("ratio", "power", "shares"), [
    (0.05, 1.75, {5.0: 0.7856, 9.0: 0.5692, 10.0: 0.5242, 18.0: 0.2876, 22.5: 0.2177, 30.0: 0.1487, 45.0: 0.0873}),
    (0.07, 1.5, {5.0: 0.7343, 10.0: 0.4973, 22.5: 0.2342, 45.0: 0.11}),
    (0.04, 2.0, {5.0: 0.8458, 10.0: 0.5802, 22.5: 0.2215, 45.0: 0.0769}),
])
def test_tension_and_bending(ratio: float, power: float, shares: dict[float, float]) -> None:
    """Q/P of 0.04 to 0.07 and powers of 1.5 to 2 for tension and bending, from memory; the shares derived."""
    for degrees, share in shares.items():
        assert hankinson(1.0, ratio, radians(degrees), power) == pytest.approx(share, abs=5.1e-5)


@pytest.mark.parametrize(("slope", "bending"), [(25, 95), (20, 93), (15, 89), (10, 80), (5, 56)])
def test_slope_of_grain(slope: int, bending: int) -> None:
    """Q/P 0.07, power 1.75 give these shares of bending strength, %, derived; the handbook's Table 5-12 has 96, 93,
    89, 81 and 55 for the same slopes, from memory."""
    angle = atan2(1.0, slope)
    assert round(100.0 * hankinson(1.0, 0.07, angle, 1.75)) == bending


def test_what_is_left_of_a_curve_is_in_the_middle_of_the_range() -> None:
    assert (TENSION_RATIO, TENSION_POWER) == (0.05, 1.75)
    assert strength_left(radians(22.5)) == pytest.approx(0.2177, abs=5e-5)
