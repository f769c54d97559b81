"""What a post-and-rail frame takes."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from model.families.options import Options
from model.units import Length, Size

TenonKind = Literal["blind tenon", "through tenon"]
Levels = Annotated[tuple[Size, ...], Field(max_length=40)]


class PostAndRailOptions(Options):
    """What a post-and-rail frame takes. x runs along it, y across, z up; lengths in mm."""

    posts_along: int = Field(default=2, ge=2, le=60, description="posts in each row")
    posts_across: int = Field(default=2, ge=1, le=26, description="rows of posts; 1 stands a single row")
    length: Size = Field(default=1400.0, description="overall length along the rows, outside the posts")
    width: Size = Field(default=500.0, description="overall width across the rows, outside the posts")
    height: Size = Field(default=700.0, description="length of the posts, standing on the ground")
    post_stock: str = Field(default="post", description="the stock of the posts, their width across the rows")
    rail_stock: str = Field(default="rail", description="the stock of the rails, standing on edge")
    long_levels: Levels | None = Field(
        default=None, description="heights of the middles of the rails along the rows; two levels unless given")
    cross_levels: Levels | None = Field(
        default=None, description="heights of the middles of the rails across; clear of the long rails unless given")
    long_joint: TenonKind = Field(
        default="blind tenon", description="joint of the long rails; still blind where rails meet in a post")
    cross_joint: TenonKind = Field(
        default="blind tenon", description="joint of the cross rails; still blind where rails meet in a post")
    tenon_thickness: Size | None = Field(
        default=None, description="thickness of every tenon; a third of the post unless given")
    tenon_depth: Size | None = Field(
        default=None, description="reach of blind tenons; two thirds of the post unless given, less where they meet")
    slats: int = Field(default=0, ge=0, le=400, description="slats in each bay between neighbouring posts")
    slats_run: Literal["along", "across", "up"] = Field(
        default="along", description="along: over the top cross rails; across: over the top long rails; "
                                     "up: on the face of the first row's long rails")
    slat_stock: str = Field(default="slat", description="the stock of the slats, lying flat on the rails")
    slat_joint: Literal["cross lap", "housing"] = Field(
        default="cross lap", description="how slats cross the rails: both notched, or the rail alone")
    slat_sink: Size | None = Field(
        default=None, description="how deep a slat lies in its rails; half its thickness unless given")
    slat_overhang: Length = Field(default=60.0, ge=0.0, description="how far slats run past the outermost rails")
    stages: bool = Field(
        default=True, description="true: frames across first, then the long rails, then the slats; "
                                  "false: leave the stages to the plan")
