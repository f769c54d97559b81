"""How deep tenons may reach into a post when others come into it at the same height.

Walls between mortises: at least 6 to 10 mm (common practice, no source). Depth of a blind
tenon: two thirds of the mortised piece, its thickness a third of it (common practice).
"""

from __future__ import annotations

from dataclasses import dataclass

from model.joints.tenons import BOTTOM, SHOULDER_LEAST, WIDTH_MOST
from model.stock import Stock

WALL = 8.0
"""Wood left between two mortises, mm (common practice, no source: 6 to 10)."""
DEPTH_LEAST = 12.0
"""A tenon that reaches less than this, mm, holds nothing (common practice, no source)."""


@dataclass(frozen=True)
class Section:
    """A tenon's section, mm: short way, long way."""

    thickness: float
    width: float


def section(rail: Stock, breadth: float, thickness: float | None) -> Section:
    """Return the section of a tenon on a rail, into a post `breadth` mm wide across the mortise."""
    t = min(breadth / 3.0, rail.thickness - 2 * SHOULDER_LEAST) if thickness is None else thickness
    return Section(t, min(rail.width - 2 * max(SHOULDER_LEAST, t / 4.0), WIDTH_MOST * t))


def clash(one: float, one_width: float, other: float, other_width: float, fit: float) -> bool:
    """Say whether mortises at two heights leave less than a wall between them."""
    return abs(one - other) < (one_width + other_width) / 2.0 + 2 * fit + WALL


def depth_most(room: float, fit: float, *, opposed: bool, crossing: float | None) -> float:
    """Return how far a blind tenon may reach, mm, into a post `room` mm through.

    `opposed`: another comes in from the far side at this height; `crossing`: the thickness of
    a tenon that comes in from the side at this height, None where there is none.
    """
    most = room - BOTTOM - 1.0
    if opposed:
        most = min(most, (room - WALL) / 2.0 - BOTTOM)
    if crossing is not None:
        most = min(most, room / 2.0 - crossing / 2.0 - fit - WALL - BOTTOM)
    return most
