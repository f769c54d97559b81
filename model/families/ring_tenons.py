"""Loose tenons across the joints of a ring: clear of the curve, of each other and of what is mortised between them."""

from __future__ import annotations

import math

from model.errors import DraftError
from model.families.ring import Ring
from model.families.tenon_room import WALL
from model.joints.tenons import BOTTOM, WIDTH_MOST

COVER = 15.0
"""Wood kept between a tenon and the edge of the band by default, mm (common practice, no source: warn below 10)."""
COVER_LEAST = 5.0
"""With less than this, mm, a cut would soon show at the edge (common practice, no source)."""
SHARE = 0.6
"""A loose tenon is at most this share of the band wide (common practice, no source)."""
HALF_LEAST = 15.0
"""Half a loose tenon shorter than this, mm, holds nothing (common practice, no source)."""


def loose_tenon(ring: Ring, room: float, key: str) -> dict[str, float]:
    """Return the sizes of a loose tenon across a joint; DraftError where none can be.

    A third of the ring's thickness; each half at most four times that and two thirds of the band
    long (common practice, no source), and no longer than `room` mm less a wall.
    """
    thick = ring.thickness / 3.0
    half = min(2.0 / 3.0 * ring.band, 4.0 * thick, room - BOTTOM - WALL)
    _refuse_short(half, room, key)
    full = half + BOTTOM
    half_width = min(WIDTH_MOST * thick / 2.0, SHARE * ring.band / 2.0, ring.half_width(full, COVER))
    shift = ring.balanced_shift(half_width, full)
    half = min(half, _from_end_to_end(ring, ring.at_joint + shift - half_width) - BOTTOM)
    _refuse_short(half, room, key)
    if half_width < thick / 2.0:
        least = ring.band + thick - 2.0 * half_width
        raise DraftError("band", f"{ring.band:.1f} mm", f"at least {least:.1f} mm for a tenon with {COVER:g} mm of "
                         "wood on both sides, or thinner stock")
    return {"thickness": thick, "width": 2.0 * half_width, "length": 2.0 * half, "shift": shift}


def _from_end_to_end(ring: Ring, inside: float) -> float:
    """Return how deep two mortises from both ends of a segment may be, mm, whose inner corners lie at a radius.

    They lean towards each other inside; half a wall stays on each side of the segment's middle.
    """
    return (inside * math.sin(ring.mitre) - WALL / 2.0) / math.cos(ring.mitre)


def _refuse_short(half: float, room: float, key: str) -> None:
    if half < HALF_LEAST:
        raise DraftError(key, f"{max(room, 0.0):.1f} mm between joint and mortise",
                         f"at least {HALF_LEAST + BOTTOM + WALL:.0f} mm for half a loose tenon and a wall: fewer "
                         "segments, a larger radius or narrower rails")
