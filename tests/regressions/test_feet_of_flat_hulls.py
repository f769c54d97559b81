"""Gateways found by planted mistakes: their hull has many corners in one plane, and was folded over there."""

from __future__ import annotations

import numpy as np
import pytest

from assembly.feet import settled, stance
from assembly.placing import place
from model.frames import unit
from tests.zoo import made

LEGS = ("far_leg_left", "far_leg_right", "near_leg_left", "near_leg_right")


@pytest.mark.parametrize(("ring", "arch", "radius", "leg", "band", "rails", "depth"), [
    (8, 4, 735.0, 1438.0, 87.0, 2, 1456.0), (16, 5, 834.0, 826.0, 70.0, 1, 1218.0)])
def test_a_gateway_stands_on_its_four_legs(ring: int, arch: int, radius: float, leg: float, band: float, rails: int,
                                           depth: float) -> None:
    design = made("arch gateway", "gateway", segments_in_ring=ring, segments_per_arch=arch, radius=radius,
                  leg_length=leg, band=band, leg_rails=rails, depth=depth)
    found = stance(place(design))
    assert found is not None and found.off == ()
    assert tuple(sorted(found.firm)) == LEGS


def test_a_body_whose_weight_is_beyond_its_hull_comes_to_rest_nowhere() -> None:
    """It rolled on for ever."""
    corners = np.array([(x, y, z) for x in (0.0, 100.0) for y in (0.0, 100.0) for z in (0.0, 100.0)])
    down = np.array([0.0, 0.0, -1.0])
    assert settled(corners, np.array([50.0, 50.0, 50.0]), down) is not None
    for beyond in ((150.0, 50.0, 50.0), (50.0, 50.0, -50.0), (150.0, 150.0, -150.0)):
        settled(corners, np.array(beyond), unit(down + np.array([1e-3, 2e-3, 0.0])))
    assert settled(corners, np.array([50.0, 50.0, -50.0]), down) is None
