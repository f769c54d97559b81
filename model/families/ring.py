"""The ring that arches and closed rings are made of: n straight segments, sawn to a band after the glue-up or not.

All of it is trigonometry. Angles count from the top (or from the first segment) clockwise,
the ring seen with the faces of its segments towards the eye.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from dataclasses import dataclass
from functools import cached_property

from model.errors import DraftError
from model.frames import Frame, Z, frame_of, inverse, move, turn
from model.part import Blank, Feature
from model.shapes.curve import curve_feature, stock_width
from model.shapes.mitred_board import mitred_board
from model.stock import Stock

COVER_WANTED = 10.0
"""Wood kept between a mortise in a segment's face and the sawn curve by default, mm (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Ring(ABC):
    """A ring of `count` segments out of `stock`, `thickness` mm thick.

    `lap`: how far, as an angle (rad), each segment runs past its joints into its neighbours.
    """

    count: int
    stock: Stock
    thickness: float
    lap: float = 0.0

    @property
    @abstractmethod
    def line(self) -> float:
        """Distance of a straight board's centreline from the middle of the ring, mm."""

    @property
    @abstractmethod
    def middle(self) -> float:
        """Radius of the middle of the band in the middle of a segment, mm."""

    @property
    @abstractmethod
    def at_joint(self) -> float:
        """Radius of the middle of the band at a joint, mm."""

    @property
    @abstractmethod
    def band(self) -> float:
        """Width of the band, mm."""

    @abstractmethod
    def cover(self, width: float, radial: float) -> float:
        """Return the least wood beside a mortise in the middle of a segment's face, mm.

        The mortise is `width` mm along the segment and `radial` mm across it.
        """

    @abstractmethod
    def half_width(self, reach: float, cover: float) -> float:
        """Return half the width of a tenon square to a joint, `reach` mm long, with this much wood beside it, mm."""

    @abstractmethod
    def balanced_shift(self, half_width: float, reach: float) -> float:
        """Return how far a tenon square to a joint moves outward to have the same wood on both sides, mm."""

    @property
    def mitre(self) -> float:
        """Half a segment's share of the ring: the mitre at each end, from square, rad."""
        return math.pi / self.count

    @property
    def reach(self) -> float:
        """How far a segment reaches to either side of its middle, rad."""
        return self.mitre + self.lap

    @cached_property
    def segment(self) -> Blank:
        """The blank of every segment, before any curve."""
        length = 2.0 * self.line * math.tan(self.reach)
        return mitred_board(self.stock, length, self.reach, self.reach, thickness=self.thickness)

    @cached_property
    def centre(self) -> Frame:
        """The middle of the ring in a segment's own frame: z its axis, y towards the middle of the segment."""
        return move(self.segment.length / 2.0, -self.line)

    def place(self, angle: float) -> Frame:
        """Return a segment's frame in the ring's, with its middle at an angle."""
        frame: Frame = turn(Z, -angle) @ inverse(self.centre)
        return frame

    def spot(self, angle: float, radius: float) -> Frame:
        """Return a frame on a segment's middle plane, x clockwise along the ring, y outward, in its own frame."""
        frame: Frame = self.centre @ turn(Z, -angle) @ move(0.0, radius)
        return frame

    def seat(self, angle: float) -> Frame:
        """Return the seat of a joint square to the radius at an angle from a segment's middle, in its own frame.

        z runs clockwise along the ring, x outward, the origin in the middle of the band.
        """
        here = self.spot(angle, self.at_joint)
        return frame_of(here[:3, 3], here[:3, 0], here[:3, 1])

    def room_beside(self, width: float, radial: float) -> float:
        """Return how far the nearest corner of a mortise in the middle of a segment is from the joint's plane, mm."""
        return (self.middle - radial / 2.0) * math.sin(self.mitre) - width / 2.0 * math.cos(self.mitre)

    def refuse_wide(self, key: str) -> None:
        """Raise DraftError where the stock is so wide that the mitres at its two ends cross."""
        if self.line - self.stock.width / 2.0 < 1.0:
            raise DraftError(key, f"{self.stock.name}, {self.stock.width:.1f} mm wide",
                             f"a stock less than {2.0 * self.line:.1f} mm wide, whose mitres do not cross, or a larger "
                             "radius")


@dataclass(frozen=True, kw_only=True)
class SawnRing(Ring):
    """A ring sawn to a band from `inner` to `outer` radius, mm, after its glue-up."""

    outer: float
    inner: float

    @property
    def needs(self) -> float:
        """Width of the straight stock that just holds the band, mm."""
        return stock_width(self.outer, self.inner, 2.0 * self.reach)

    @property
    def line(self) -> float:
        return self.outer + (self.stock.width - self.needs) / 2.0 - self.stock.width / 2.0

    @property
    def middle(self) -> float:
        return (self.outer + self.inner) / 2.0

    @property
    def at_joint(self) -> float:
        return self.middle

    @property
    def band(self) -> float:
        return self.outer - self.inner

    def cover(self, width: float, radial: float) -> float:
        outside = self.outer - math.hypot(width / 2.0, self.middle + radial / 2.0)
        return min(outside, self.middle - radial / 2.0 - self.inner)

    def half_width(self, reach: float, cover: float) -> float:
        return self.band / 2.0 - cover - reach * reach / (4.0 * self.middle)

    def balanced_shift(self, half_width: float, reach: float) -> float:
        """Solve Ro - hypot(m + s + c, l) = m + s - c - Ri for s, the band about m: s = -l²/4(m + c)."""
        return -reach * reach / (4.0 * (self.middle + half_width))

    def widest(self, radial: float, fit: float) -> float:
        """Return how wide a tenon in the middle of a segment may be along it, mm, for COVER_WANTED outside it."""
        bound = (self.outer - COVER_WANTED - fit) ** 2 - (self.middle + radial / 2.0) ** 2
        return max(0.0, 2.0 * math.sqrt(max(0.0, bound)) - 2.0 * fit)

    def curve(self, after: str) -> Feature:
        """Return the sawn curve of a segment, cut after a stage."""
        return curve_feature(self.segment, self.centre, self.outer, self.inner, 2.0 * self.mitre, after=after)

    def refuse_narrow(self, key: str) -> None:
        """Raise DraftError where the stock is too narrow for the band."""
        if self.stock.width < self.needs - 1e-6:
            raise DraftError(key, f"{self.stock.name}, {self.stock.width:.1f} mm wide",
                             f"a stock at least {self.needs:.1f} mm wide for this band, or a narrower band, or more "
                             "segments")


@dataclass(frozen=True, kw_only=True)
class StraightRing(Ring):
    """A ring left straight, the centrelines of its boards `radius` mm from its middle."""

    radius: float

    @property
    def line(self) -> float:
        return self.radius

    @property
    def middle(self) -> float:
        return self.radius

    @property
    def at_joint(self) -> float:
        return self.radius / math.cos(self.mitre)

    @property
    def band(self) -> float:
        return self.stock.width

    def cover(self, width: float, radial: float) -> float:
        return (self.stock.width - radial) / 2.0

    def half_width(self, reach: float, cover: float) -> float:
        """The edges slope against the tenon: wood W/2 - (l/2) sin a - c cos a on both sides, once it is shifted."""
        return (self.stock.width / 2.0 - cover - reach / 2.0 * math.sin(self.mitre)) / math.cos(self.mitre)

    def balanced_shift(self, half_width: float, reach: float) -> float:
        return -reach / 2.0 * math.tan(self.mitre)
