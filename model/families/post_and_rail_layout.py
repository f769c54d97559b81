"""Where the posts and rails of a frame lie, and how deep its tenons may go."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from model.errors import DraftError
from model.families.post_and_rail_options import PostAndRailOptions
from model.families.tenon_room import DEPTH_LEAST, Section, clash, depth_most, section
from model.stock import Stock

Way = Literal["along", "across"]
END_MARGIN = 30.0
"""Wood left between a mortise and the end of its post, mm (common practice, no source: 25 to 40)."""
ROWS = "abcdefghijklmnopqrstuvwxyz"


@dataclass(frozen=True)
class Rail:
    """A rail between two neighbouring posts, each (place along, row), at the height of its middle, mm."""

    name: str
    way: Way
    start: tuple[int, int]
    end: tuple[int, int]
    level: float


@dataclass(frozen=True)
class PostFrame:
    """The whole frame laid out: its options and its stocks."""

    o: PostAndRailOptions
    post: Stock
    rail: Stock

    @cached_property
    def at_x(self) -> NDArray[np.float64]:
        """Middles of the posts along the rows, mm."""
        half = (self.o.length - self.post.thickness) / 2.0
        return np.linspace(-half, half, self.o.posts_along)

    @cached_property
    def at_y(self) -> NDArray[np.float64]:
        """Middles of the rows, mm."""
        half = (self.o.width - self.post.width) / 2.0 if self.o.posts_across > 1 else 0.0
        return np.linspace(half, -half, self.o.posts_across)

    def through(self, way: Way) -> float:
        """Return the size of a post in the way a rail runs, mm."""
        return self.post.thickness if way == "along" else self.post.width

    def section(self, way: Way) -> Section:
        """Return the section of the tenons of the rails that run this way."""
        breadth = self.post.width if way == "along" else self.post.thickness
        return section(self.rail, breadth, self.o.tenon_thickness)

    @cached_property
    def levels(self) -> dict[Way, tuple[float, ...]]:
        """Heights of the middles of the rails, by the way they run."""
        o, w = self.o, self.rail.width
        low, high = max(w, o.height * 0.3), o.height - END_MARGIN - w / 2.0
        long = (low, high) if o.long_levels is None else o.long_levels
        step = w + 10.0
        cross = tuple(z - step if z - step > w / 2.0 else z + step for z in long)
        if o.cross_levels is not None:
            cross = o.cross_levels
        return {"along": long, "across": cross if o.posts_across > 1 else ()}

    @cached_property
    def rails(self) -> tuple[Rail, ...]:
        """Every rail, those across first, post by post."""
        along, across = range(self.o.posts_along), range(self.o.posts_across)
        cross = [((i, j), (i, j + 1)) for i in along for j in across[:-1]]
        long = [((i, j), (i + 1, j)) for j in across for i in along[:-1]]
        return (*self._numbered("across", "cross_rail", cross), *self._numbered("along", "long_rail", long))

    def _numbered(self, way: Way, word: str, bays: list[tuple[tuple[int, int], tuple[int, int]]]) -> Iterator[Rail]:
        spots = ((start, end, level) for start, end in bays for level in self.levels[way])
        for number, (start, end, level) in enumerate(spots, 1):
            yield Rail(f"{word}_{number:02d}", way, start, end, level)

    def name(self, post: tuple[int, int]) -> str:
        """Return a post's name: its place along the row, and its row's letter where there are several rows."""
        return f"post_{post[0] + 1}" + (ROWS[post[1]] if self.o.posts_across > 1 else "")

    def tenon(self, way: Way, level: float, post: tuple[int, int]) -> tuple[str, dict[str, Any]]:
        """Return the joint and the sizes of a rail's tenon into a post; DraftError where none has room."""
        o, mine = self.o, self.section(way)
        other: Way = "across" if way == "along" else "along"
        theirs = self.section(other)
        inner = 0 < post[0] < o.posts_along - 1, 0 < post[1] < o.posts_across - 1
        opposed = inner[0] if way == "along" else inner[1]
        crossed = any(clash(level, mine.width, z, theirs.width, o.fit) for z in self.levels[other])
        sizes = {"thickness": mine.thickness, "width": mine.width}
        kind = o.long_joint if way == "along" else o.cross_joint
        if kind == "through tenon" and not (opposed or crossed):
            return kind, sizes
        most = depth_most(self.through(way), o.fit, opposed=opposed, crossing=theirs.thickness if crossed else None)
        return "blind tenon", {**sizes, "depth": self._depth(way, most, level if crossed else None)}

    def _depth(self, way: Way, most: float, crossed_at: float | None) -> float:
        given = self.o.tenon_depth
        wanted = self.through(way) * 2.0 / 3.0 if given is None else given
        if given is not None and given > most + 1e-9:
            raise DraftError("tenon_depth", f"{given:.1f} mm", f"at most {max(most, 0.0):.1f} mm, or levels where "
                             "rails do not meet in a post, or a thicker post")
        if min(wanted, most) < DEPTH_LEAST:
            tight = ("post_stock", self.post.name) if crossed_at is None else ("cross_levels", f"{crossed_at:.1f} mm")
            raise DraftError(*tight, f"room for a tenon of {DEPTH_LEAST:g} mm ({most:.1f} mm are left): levels "
                             "further from the other rails, or a thicker post")
        return min(wanted, most)
