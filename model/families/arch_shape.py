"""The shape of an arch on two legs, worked out from whichever two of its sizes are given.

With m the radius of the middle of the band, L the leg along its middle, b the band, B the
half arc (180 k/n degrees): feet 2(m sin B + L cos B) from middle to middle, b/sin B more from
outside to outside; crown m(1 - cos B) + L sin B + b/2 above the ground. The leg stands square
to the arch's radial end, so it leans 90 degrees - B outward (trigonometry; the rule itself is
common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from model.errors import DraftError
from model.families.arch_gateway_options import ArchGatewayOptions

ROUNDING = 1e-6
"""Sizes this near a limit, mm, are on it: they come out of equations."""
RADIUS, LEG = 1000.0, 1500.0
"""Radius of the middle of the band and length of a leg where nothing fixes them, mm."""


@dataclass(frozen=True)
class ArchShape:
    """Half arc (rad), radius of the middle of the band, leg along its middle and band (mm)."""

    half_arc: float
    radius: float
    leg: float
    band: float

    @property
    def lean(self) -> float:
        """How far a leg leans outward from upright, rad; below zero it leans inward."""
        return math.pi / 2.0 - self.half_arc

    @property
    def rise(self) -> float:
        """Height of the middle of the crown above the middle of the arch's ends, mm."""
        return self.radius * (1.0 - math.cos(self.half_arc))

    @property
    def span(self) -> float:
        """Distance between the middles of the arch's ends, mm."""
        return 2.0 * self.radius * math.sin(self.half_arc)

    @property
    def feet(self) -> float:
        """Distance between the middles of the feet on the ground, mm."""
        return self.span + 2.0 * self.leg * math.cos(self.half_arc)

    @property
    def width(self) -> float:
        """Width on the ground outside the feet, mm."""
        return self.feet + self.band / math.sin(self.half_arc)

    @property
    def crown(self) -> float:
        """Height of the middle of the band at the crown above the ground, mm."""
        return self.rise + self.leg * math.sin(self.half_arc)

    @property
    def centre(self) -> float:
        """Height of the middle of the ring above the ground, mm; it may lie below it."""
        return self.crown - self.radius


def arch_shape(o: ArchGatewayOptions, stock_width: float) -> ArchShape:
    """Return the shape that the options fix; DraftError where they fix none, or too much."""
    half_arc, mitre = math.pi * o.segments_per_arch / o.segments_in_ring, math.pi / o.segments_in_ring
    sine, cosine = math.sin(half_arc), math.cos(half_arc)
    rows = {
        "radius": (1.0, 0.0, 0.0),
        "leg_length": (0.0, 1.0, 0.0),
        "overall_width": (2.0 * sine, 2.0 * cosine, 1.0 / sine),
        "overall_height": (1.0 - cosine, sine, 0.5),
    }
    given = _two_sizes(o)
    band = (o.band, (0.0, 0.0, 1.0)) if o.band is not None else (
        stock_width - o.allowance, (1.0 - math.cos(mitre), 0.0, (1.0 + math.cos(mitre)) / 2.0))
    matrix = np.array([*(rows[key] for key in given), band[1]])
    if abs(float(np.linalg.det(matrix))) < 1e-6:
        raise DraftError("leg_length", "not fixed", "another pair of sizes: with half a ring the width does not "
                         "depend on the legs")
    radius, leg, width = np.linalg.solve(matrix, np.array([*given.values(), band[0]])).tolist()
    shape = ArchShape(half_arc, radius, leg, width)
    _refuse(o, shape, given)
    return shape


def _two_sizes(o: ArchGatewayOptions) -> dict[str, float]:
    sizes = {"radius": o.radius, "leg_length": o.leg_length, "overall_width": o.overall_width,
             "overall_height": o.overall_height}
    given = {key: value for key, value in sizes.items() if value is not None}
    if len(given) > 2:
        raise DraftError(" and ".join(given), ", ".join(f"{v:.1f} mm" for v in given.values()),
                         "two of radius, leg_length, overall_width and overall_height")
    for key, value in (("leg_length", LEG), ("radius", RADIUS)):
        if len(given) < 2 and key not in given:
            given[key] = value
    return given


def _refuse(o: ArchGatewayOptions, shape: ArchShape, given: dict[str, float]) -> None:
    said = " and ".join(f"{key} {value:.1f} mm" for key, value in given.items())
    if not math.radians(30.0) <= shape.half_arc <= math.radians(130.0):
        least = math.ceil(o.segments_in_ring / 6.0 - 1e-9)
        most = math.floor(o.segments_in_ring * 130.0 / 180.0 + 1e-9)
        raise DraftError("segments_per_arch", o.segments_per_arch, f"{max(2, least)} to {most} out of a ring of "
                         f"{o.segments_in_ring}")
    if shape.band < 20.0:
        raise DraftError("band", f"{shape.band:.1f} mm", "at least 20 mm of band: wider segments, more of them, or a "
                         "smaller radius")
    if shape.radius < shape.band - ROUNDING or shape.leg < 2.0 * shape.band - ROUNDING:
        raise DraftError(" and ".join(given), said, "sizes that give a radius of at least the band and legs of at "
                         f"least twice the band; these give {shape.radius:.1f} and {shape.leg:.1f} mm with a band of "
                         f"{shape.band:.1f} mm")
    if shape.feet - shape.band / math.sin(shape.half_arc) < shape.band:
        raise DraftError("segments_per_arch", o.segments_per_arch, "legs that leave a way between the feet: fewer "
                         "segments or shorter legs")
