"""A straight board with its ends cut at an angle, one way or two.

An angle counts from a square end and makes the `edge` side (+y) the longer one; a tilt makes
the `face` side (+z) the longer one. A ring segment of n has half of 360/n degrees at both ends
and its outside at `edge`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from model.errors import SolidError
from model.frames import Frame, Y, frame_of
from model.part import Blank
from model.shapes.board import board_places, ripped
from model.solids import hull
from model.stock import Stock

STEEPEST = math.radians(80.0)
"""No end is cut farther from square than this, rad."""


@dataclass(frozen=True)
class EndCut:
    """How one end is cut, from square: about z (longer at +y) and about y (longer at +z), rad."""

    angle: float = 0.0
    tilt: float = 0.0

    def gain(self, y: float, z: float) -> float:
        """Return how much longer than its centreline the board is at this end, at y, z, mm."""
        return y * math.tan(self.angle) + z * math.tan(self.tilt)

    def longest(self, width: float) -> float:
        """Return how far the long edge reaches past the centreline at mid thickness, mm."""
        return abs(self.gain(width / 2, 0.0))

    def frame(self, x: float, outward: float) -> Frame:
        """Return the frame on the cut at the centreline: z out of the wood, x across the width."""
        normal = (outward, -math.tan(self.angle), -math.tan(self.tilt))
        return frame_of((x, 0.0, 0.0), normal, Y)


def mitred_board(stock: Stock, length: float, start_angle: float = 0.0, end_angle: float = 0.0, *,
                 start_tilt: float = 0.0, end_tilt: float = 0.0, width: float | None = None,
                 thickness: float | None = None) -> Blank:
    """Return a board `length` mm long on its centreline with its ends cut at angles from square (rad).

    Raises SolidError for an end steeper than 80 degrees and for ends that cross.
    """
    w, t = ripped(stock, width, thickness)
    start, end = EndCut(start_angle, start_tilt), EndCut(end_angle, end_tilt)
    _refuse(length, w, t, start, end)
    corners = np.array([(x, y, z) for y in (-w / 2, w / 2) for z in (-t / 2, t / 2)
                        for x in (-start.gain(y, z), length + end.gain(y, z))])
    places = board_places(length, w, t) | {"start": start.frame(0.0, -1.0), "end": end.frame(length, 1.0)}
    return Blank("mitred board", hull(corners), length, w, t, stock, places)


def centreline(long_edge: float, width: float, start_angle: float = 0.0, end_angle: float = 0.0) -> float:
    """Return the length on the centreline of a board whose `edge` (+y) side is `long_edge` mm long."""
    return long_edge - EndCut(start_angle).gain(width / 2, 0.0) - EndCut(end_angle).gain(width / 2, 0.0)


def _refuse(length: float, w: float, t: float, start: EndCut, end: EndCut) -> None:
    for angle in (start.angle, start.tilt, end.angle, end.tilt):
        if not abs(angle) <= STEEPEST:
            raise SolidError(f"an end cut {math.degrees(angle):.1f} degrees from square cannot be sawn; "
                             f"accepted: -80 to 80 degrees")
    least = max(-start.gain(y, z) - end.gain(y, z) for y in (-w / 2, w / 2) for z in (-t / 2, t / 2))
    if not length > least:
        raise SolidError(f"its ends cross: {length:.2f} mm long on its centreline, more than {least:.2f} mm is needed")


@dataclass(frozen=True)
class _MitredBoard:
    name: str = "mitred board"
    says: str = "a straight board with its ends cut at an angle"
    sizes: Mapping[str, str] = field(default_factory=lambda: {
        "length": "along the centreline, from cut to cut; or give long_edge",
        "long_edge": "along the edge that the angles make longer (the side called edge), instead of length",
        "start_angle": "how far from square the start is cut; edge is the longer side when above 0",
        "end_angle": "how far from square the end is cut; edge is the longer side when above 0",
        "start_tilt_angle": "the same the other way; face is the longer side when above 0",
        "end_tilt_angle": "the same at the end",
        "width": "where it is ripped narrower than its stock",
        "thickness": "where it is planed thinner than its stock",
    })
    required: frozenset[str] = frozenset()

    def blank(self, stock: Stock, sizes: Mapping[str, Any]) -> Blank:
        start, end = sizes.get("start_angle", 0.0), sizes.get("end_angle", 0.0)
        if ("length" in sizes) == ("long_edge" in sizes):
            raise SolidError("a mitred board needs either its length or its long_edge")
        w, _ = ripped(stock, sizes.get("width"), sizes.get("thickness"))
        length = sizes["length"] if "length" in sizes else centreline(sizes["long_edge"], w, start, end)
        return mitred_board(stock, length, start, end, start_tilt=sizes.get("start_tilt_angle", 0.0),
                            end_tilt=sizes.get("end_tilt_angle", 0.0), width=sizes.get("width"),
                            thickness=sizes.get("thickness"))


MITRED_BOARD = _MitredBoard()
