"""What a closed ring takes."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from model.families.options import Options
from model.units import Length, Size


class ClosedRingOptions(Options):
    """A ring of straight segments lying level, sawn to a curve or not, on posts or not; z up; lengths in mm."""

    segments: int = Field(default=9, ge=3, le=96, description="segments in the ring")
    radius: Size = Field(default=700.0, description="radius of the middle of the band")
    segment_stock: str = Field(default="segment", description="the stock of the segments, lying flat")
    segment_joint: Literal["half lap", "loose tenon", "glued face"] = Field(
        default="half lap", description="joint between segments; an odd ring of loose tenons cannot be closed")
    lap: Size | None = Field(
        default=None, description="length of a half lap along the band's middle; the band's width at most unless given")
    curved: bool = Field(default=True, description="true: sawn to a band after the glue-up; false: left straight")
    band: Size | None = Field(
        default=None, description="width of the sawn band; as wide as the segments allow unless given")
    allowance: Length = Field(
        default=4.0, ge=0.0, description="wood the saw may spoil, kept out of the band where band is not given")
    posts: int = Field(default=0, ge=0, le=96, description="posts under the ring, in the middles of segments")
    post_segments: Annotated[tuple[int, ...], Field(max_length=96)] | None = Field(
        default=None, description="the segments that stand on posts, counted from 1; spread evenly unless given")
    post_stock: str = Field(default="post", description="the stock of the posts")
    post_height: Size = Field(default=900.0, description="height of the ring's underside above the ground")
    post_joint: Literal["blind tenon", "through tenon"] = Field(
        default="blind tenon", description="joint of the posts, up into the ring")
