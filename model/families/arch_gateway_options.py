"""What an arch gateway takes."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from model.families.options import Options
from model.units import Length, Size


class ArchGatewayOptions(Options):
    """Two arches on legs with rails between them. x runs across the way through, y along it, z up; lengths in mm."""

    segments_in_ring: int = Field(default=20, ge=3, le=96, description="segments that would close a full ring")
    segments_per_arch: int = Field(
        default=9, ge=2, le=64, description="how many of them make one arch; they fix how far the legs lean")
    radius: Size | None = Field(
        default=None, description="radius of the middle of the band; 1000 mm unless the sizes below fix it")
    leg_length: Size | None = Field(
        default=None, description="length of a leg along its middle; 1500 mm unless the sizes below fix it")
    overall_width: Size | None = Field(
        default=None, description="width on the ground, outside the feet, instead of radius or leg_length")
    overall_height: Size | None = Field(
        default=None, description="height of the crown above the ground, instead of radius or leg_length")
    band: Size | None = Field(
        default=None, description="width of the sawn band and of the legs; as wide as the segments allow unless given")
    allowance: Length = Field(
        default=4.0, ge=0.0, description="wood the saw may spoil, kept out of the band where band is not given")
    depth: Size = Field(default=1200.0, description="length of the way through, outside the two sides")
    segment_stock: str = Field(default="segment", description="the stock of the segments, its thickness the sides'")
    leg_stock: str = Field(default="leg", description="the stock of the legs, ripped and planed to match the arch")
    rail_stock: str = Field(default="rail", description="the stock of the rails, lying on the curve")
    segment_joint: Literal["loose tenon", "glued face"] = Field(
        default="loose tenon", description="joint between segments, square to the mitre")
    arch_rail_every: int = Field(
        default=1, ge=0, le=64, description="a rail in the middle of every so many segments; 0 for none on the arch")
    leg_rails: int = Field(default=4, ge=0, le=180, description="rails between each pair of legs")
    leg_rail_spacing: Size | None = Field(
        default=None, description="from rail to rail on the legs, the first half of it below the arch; else even")
    rail_depth: Size | None = Field(
        default=None, description="reach of the rails' tenons; two thirds of a side's thickness unless given")
