"""Arches on legs against plane trigonometry.

Source: none published; every figure is derived. With Rc the radius of the band's middle, L a leg,
and b = 180 k/n degrees half the arc of k segments out of n, the legs square to the arch's radial
ends: lean 90 - b, rise Rc (1 - cos b), span 2 Rc sin b, feet 2 (Rc sin b + L cos b), crown
Rc (1 - cos b) + L sin b. That a leg stands square to the arch's end is common practice, no source.
The figures for Rc = 1000 mm, L = 1200 mm were also found by walking a chain of chords.
"""

from __future__ import annotations

import math

import pytest

from model.families.arch_gateway_options import ArchGatewayOptions
from model.families.arch_shape import arch_shape

ROWS = {
    (8, 4): (0.0, 1000.0, 2000.0, 2000.0, 2200.0),
    (8, 3): (22.5, 617.317, 1847.759, 2766.199, 1725.972),
    (10, 4): (18.0, 690.983, 1902.113, 2643.754, 1832.251),
    (12, 5): (15.0, 741.181, 1931.852, 2553.017, 1900.292),
    (12, 6): (0.0, 1000.0, 2000.0, 2000.0, 2200.0),
    (16, 7): (11.25, 804.910, 1961.571, 2429.787, 1981.852),
    (16, 8): (0.0, 1000.0, 2000.0, 2000.0, 2200.0),
    (18, 8): (10.0, 826.352, 1969.616, 2386.371, 2008.121),
    (18, 9): (0.0, 1000.0, 2000.0, 2000.0, 2200.0),
    (18, 10): (-10.0, 1173.648, 1969.616, 1552.860, 2355.417),
    (20, 9): (9.0, 843.566, 1975.377, 2350.819, 2028.792),
    (20, 8): (18.0, 690.983, 1902.113, 2643.754, 1832.251),
    (24, 10): (15.0, 741.181, 1931.852, 2553.017, 1900.292),
    (24, 11): (7.5, 869.474, 1982.890, 2296.153, 2059.208),
    (24, 12): (0.0, 1000.0, 2000.0, 2000.0, 2200.0),
}
"""(n, k): lean outward in degrees; rise, span between the arch's ends, spread of the feet, crown above the feet, mm."""


@pytest.mark.parametrize(("n", "k"), ROWS)
def test_the_shape_of_an_arch_on_legs(n: int, k: int) -> None:
    lean, rise, span, feet, crown = ROWS[n, k]
    options = ArchGatewayOptions(segments_in_ring=n, segments_per_arch=k, radius=1000.0, leg_length=1200.0, band=90.0)
    shape = arch_shape(options, 140.0)
    assert math.degrees(shape.lean) == pytest.approx(lean, abs=1e-9)
    assert (shape.rise, shape.span, shape.feet, shape.crown) == pytest.approx((rise, span, feet, crown), abs=5e-4)


def test_the_last_straight_segment_leans_more_than_the_leg() -> None:
    """18 segments, 8 of them: the leg leans 10 degrees, the last segment's own axis 90 - 180 (k - 1)/n = 20."""
    options = ArchGatewayOptions(segments_in_ring=18, segments_per_arch=8, radius=1000.0, leg_length=1200.0, band=90.0)
    shape = arch_shape(options, 140.0)
    assert math.degrees(shape.lean) == pytest.approx(10.0)
    assert math.degrees(shape.lean) + 180.0 / 18 == pytest.approx(20.0)


@pytest.mark.parametrize(("n", "k"), [row for row in ROWS if row[0] != 2 * row[1]])
def test_the_overall_sizes_lead_back_to_radius_and_leg(n: int, k: int) -> None:
    """Width outside the feet on the ground, 2 (Rc sin b + L cos b) + band/sin b; height, crown + band/2. Derived."""
    _, _, _, feet, crown = ROWS[n, k]
    width, height = feet + 90.0 / math.sin(math.pi * k / n), crown + 45.0
    options = ArchGatewayOptions(segments_in_ring=n, segments_per_arch=k, overall_width=width, overall_height=height,
                                 band=90.0)
    shape = arch_shape(options, 140.0)
    assert (shape.radius, shape.leg) == pytest.approx((1000.0, 1200.0), abs=0.01)
