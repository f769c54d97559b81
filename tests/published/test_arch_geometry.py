"""Arches on legs against plane trigonometry.

Both the plain numbers and the placed solids of the built design are measured.

Source: none published; every figure is derived. With Rc the radius of the band's middle, L a leg,
and b = 180 k/n degrees half the arc of k segments out of n, the legs square to the arch's radial
ends: lean 90 - b, rise Rc (1 - cos b), span 2 Rc sin b, feet 2 (Rc sin b + L cos b), crown
Rc (1 - cos b) + L sin b. That a leg stands square to the arch's end is common practice, no source.
The figures for Rc = 1000 mm, L = 1200 mm were also found by walking a chain of chords.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from assembly.placing import Assembly, place
from model.families.arch_gateway_options import ArchGatewayOptions
from model.families.arch_shape import arch_shape
from tests.zoo import made

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


@pytest.mark.parametrize(("n", "k"), [row for row in ROWS if row[0] != 2 * row[1]])
def test_the_overall_sizes_lead_back_to_radius_and_leg(n: int, k: int) -> None:
    """Width outside the feet on the ground, 2 (Rc sin b + L cos b) + band/sin b; height, crown + band/2. Derived."""
    _, _, _, feet, crown = ROWS[n, k]
    width, height = feet + 90.0 / math.sin(math.pi * k / n), crown + 45.0
    options = ArchGatewayOptions(segments_in_ring=n, segments_per_arch=k, overall_width=width, overall_height=height,
                                 band=90.0)
    shape = arch_shape(options, 140.0)
    assert (shape.radius, shape.leg) == pytest.approx((1000.0, 1200.0), abs=0.01)


BAND = 70.0
BUILT = [row for row in ROWS if row[0] >= 12]
"""What a nominal 2x6 leaves room to saw a band of 70 mm out of."""


@cache
def built(n: int, k: int) -> Assembly:
    """Return the gateway with Rc = 1000 mm and L = 1200 mm, every part placed by its joints alone."""
    return place(made("arch gateway", f"{k} of {n}", segments_in_ring=n, segments_per_arch=k, radius=1000.0,
                      leg_length=1200.0, leg_rails=2, band=BAND))


def near_side(assembly: Assembly, group: str) -> list[str]:
    """Return the parts of a group on the side at y < 0, from left to right."""
    names = [n for n in assembly.names if assembly.part(n).group == group and assembly.vertices(n)[:, 1].max() < 0]
    return sorted(names, key=lambda n: float(assembly.vertices(n)[:, 0].mean()))


@pytest.mark.parametrize(("n", "k"), BUILT)
def test_the_legs_as_built(n: int, k: int) -> None:
    lean, _, _, feet, _ = ROWS[n, k]
    assembly = built(n, k)
    left, right = near_side(assembly, "leg")
    middles = []
    for name, side in ((left, -1.0), (right, 1.0)):
        grain = assembly.frames[name][:3, 0]
        down = grain if grain[2] < 0 else -grain
        assert math.degrees(math.atan2(side * down[0], -down[2])) == pytest.approx(lean, abs=1e-5)
        corners = assembly.vertices(name)
        on_ground = corners[np.abs(corners[:, 2]) < 1e-3][:, 0]
        assert np.ptp(on_ground) == pytest.approx(BAND / math.sin(math.pi * k / n), abs=1e-3)
        middles.append((on_ground.min() + on_ground.max()) / 2)
    assert middles[1] - middles[0] == pytest.approx(feet, abs=1e-3)


@pytest.mark.parametrize(("n", "k"), BUILT)
def test_the_arch_as_built(n: int, k: int) -> None:
    """The crown's outside BAND/2 above its middle; every sawn corner between the band's two radii, within the
    hair (0.005 mm) that a curve's facets may stand off."""
    _, _, _, _, crown = ROWS[n, k]
    assembly = built(n, k)
    segments = near_side(assembly, "segment")
    assert len(segments) == k
    corners = np.vstack([assembly.vertices(name) for name in segments])
    assert corners[:, 2].max() == pytest.approx(crown + BAND / 2, abs=6e-3)
    radii = np.hypot(corners[:, 0], corners[:, 2] - (crown - 1000.0))
    assert radii.max() == pytest.approx(1000.0 + BAND / 2, abs=1e-3)
    assert radii.min() == pytest.approx(1000.0 - BAND / 2, abs=6e-3)


def test_the_last_straight_segment_leans_more_than_the_leg() -> None:
    """18 segments, 8 of them: the leg leans 10 degrees, the last segment's own grain 90 - 180 (k - 1)/n = 20."""
    assembly = built(18, 8)
    first = near_side(assembly, "segment")[0]
    grain = assembly.frames[first][:3, 0]
    assert math.degrees(math.acos(abs(float(grain[2])))) == pytest.approx(20.0, abs=1e-5)


@pytest.mark.parametrize(("n", "k"), BUILT)
def test_all_joints_of_the_gateway_close(n: int, k: int) -> None:
    assembly = built(n, k)
    assert not assembly.open_loops and not assembly.loose
