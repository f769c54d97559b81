"""The ring that arches and closed rings are made of: n straight segments, sawn to a band after the glue-up.

All of it is trigonometry. Angles count from the top (or from the first segment) clockwise,
the ring seen with the faces of its segments towards the eye.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from model.errors import DraftError
from model.families.tenon_room import WALL
from model.frames import Frame, Z, frame_of, inverse, move, turn
from model.joints.tenons import BOTTOM, WIDTH_MOST
from model.part import Blank, Feature
from model.shapes.curve import curve_feature, stock_width
from model.shapes.mitred_board import mitred_board
from model.stock import Stock

COVER = 15.0
"""Wood kept between a tenon and the sawn curve by default, mm (common practice, no source: warn below 10)."""
COVER_WANTED = 10.0
"""Wood kept between a mortise in a segment's face and the sawn curve by default, mm (common practice, no source)."""
COVER_LEAST = 5.0
"""With less than this, mm, a cut would soon show in the sawn curve (common practice, no source)."""
TENON_SHARE = 0.6
"""A loose tenon is at most this share of the band wide (common practice, no source)."""
HALF_LEAST = 15.0
"""Half a loose tenon shorter than this, mm, holds nothing (common practice, no source)."""


@dataclass(frozen=True)
class Ring:
    """A ring of `count` segments out of `stock`, sawn to a band from `inner` to `outer` radius, mm.

    `lap`: how far, as an angle (rad), each segment runs past its joints into its neighbours.
    """

    count: int
    outer: float
    inner: float
    stock: Stock
    thickness: float
    lap: float = 0.0

    @property
    def mitre(self) -> float:
        """Half a segment's share of the ring: the mitre at each end, from square, rad."""
        return math.pi / self.count

    @property
    def middle(self) -> float:
        """Radius of the middle of the band, mm."""
        return (self.outer + self.inner) / 2.0

    @property
    def band(self) -> float:
        """Width of the band, mm."""
        return self.outer - self.inner

    @property
    def reach(self) -> float:
        """How far a segment reaches to either side of its middle, rad."""
        return self.mitre + self.lap

    @property
    def needs(self) -> float:
        """Width of the straight stock that just holds the band, mm."""
        return stock_width(self.outer, self.inner, 2.0 * self.reach)

    @property
    def line(self) -> float:
        """Distance of the straight board's centreline from the middle of the ring, mm; what is spare is split."""
        return self.outer + (self.stock.width - self.needs) / 2.0 - self.stock.width / 2.0

    @cached_property
    def segment(self) -> Blank:
        """The blank of every segment, before the curve."""
        length = 2.0 * self.line * math.tan(self.reach)
        return mitred_board(self.stock, length, self.reach, self.reach, thickness=self.thickness)

    @property
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
        here = self.spot(angle, self.middle)
        return frame_of(here[:3, 3], here[:3, 0], here[:3, 1])

    def curve(self, after: str) -> Feature:
        """Return the sawn curve of a segment, cut after a stage."""
        return curve_feature(self.segment, self.centre, self.outer, self.inner, 2.0 * self.mitre, after=after)

    def refuse_narrow(self, key: str, allowance: float = 0.0) -> None:
        """Raise DraftError where the stock is too narrow for the band and an allowance for sawing, mm."""
        if self.stock.width < self.needs + allowance - 1e-6:
            raise DraftError(key, f"{self.stock.name}, {self.stock.width:.1f} mm wide",
                             f"a stock at least {self.needs + allowance:.1f} mm wide for this band, or a narrower "
                             "band, or more segments")


def balanced_shift(middle: float, half_width: float, reach: float) -> float:
    """Return how far a straight tenon moves inward so that the curve leaves it the same wood on both sides, mm.

    The tenon starts square to a radius at the `middle` of the band, `reach` mm long. Solves
    Ro - hypot(m + s + c, l) = m + s - c - Ri for s, a band about m: s = -l²/4(m + c).
    """
    return -reach * reach / (4.0 * (middle + half_width))


def curve_cover(ring: Ring, width: float, radial: float, middle: float) -> float:
    """Return the least wood between a mortise in a segment's face and the sawn curve, mm.

    The mortise is `width` mm along the segment, `radial` mm across, centred on the segment's
    middle at radius `middle`.
    """
    outer = ring.outer - math.hypot(width / 2.0, middle + radial / 2.0)
    return min(outer, middle - radial / 2.0 - ring.inner)


def widest_tenon(ring: Ring, thickness: float, fit: float) -> float:
    """Return how wide a tenon in the middle of a segment may be along it, mm, for COVER_WANTED on the outer curve."""
    bound = (ring.outer - COVER_WANTED - fit) ** 2 - (ring.middle + thickness / 2.0) ** 2
    return max(0.0, 2.0 * math.sqrt(max(0.0, bound)) - 2.0 * fit)


def joint_room(ring: Ring, width: float, radial: float, middle: float) -> float:
    """Return how far the nearest corner of such a mortise lies from the plane of the segment's joint, mm."""
    low = middle - radial / 2.0
    return low * math.sin(ring.mitre) - width / 2.0 * math.cos(ring.mitre)


def loose_tenon(ring: Ring, room: float, key: str) -> dict[str, float]:
    """Return the sizes of a loose tenon across a joint: a third of the thickness, clear of the curve, each half at
    most `room` mm less a wall; DraftError where none can be."""
    thick = ring.thickness / 3.0
    half = min(2.0 / 3.0 * ring.band, 4.0 * thick, room - BOTTOM - WALL)
    if half < HALF_LEAST:
        raise DraftError(key, f"{max(room, 0.0):.1f} mm between joint and mortise",
                         f"at least {HALF_LEAST + BOTTOM + WALL:.0f} mm for half a loose tenon and a wall: fewer "
                         "segments, a larger radius or narrower rails")
    full = half + BOTTOM
    spare = ring.band / 2.0 - COVER - full * full / (4.0 * ring.middle)
    half_width = min(WIDTH_MOST * thick / 2.0, TENON_SHARE * ring.band / 2.0, spare)
    if half_width < thick / 2.0:
        least = ring.band + thick - 2 * half_width
        raise DraftError("band", f"{ring.band:.1f} mm", f"at least {least:.1f} mm for a tenon with {COVER:g} mm of "
                         "wood on both sides, or thinner stock")
    return {"thickness": thick, "width": 2.0 * half_width, "length": 2.0 * half,
            "shift": balanced_shift(ring.middle, half_width, full)}
