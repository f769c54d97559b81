"""A straight board with square ends."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from model.errors import SolidError
from model.frames import Frame, X, Y, Z, frame_of
from model.part import Blank
from model.solids import box
from model.stock import Stock


@lru_cache(maxsize=4096)
def board(stock: Stock, length: float, width: float | None = None, thickness: float | None = None) -> Blank:
    """Return a straight board `length` mm long, as wide and thick as its stock unless ripped down."""
    w, t = ripped(stock, width, thickness)
    if not length > 0:
        raise SolidError(f"a board needs a length, not {length:.2f} mm")
    solid = box((0.0, -w / 2, -t / 2), (length, w / 2, t / 2))
    return Blank("board", solid, length, w, t, stock, board_places(length, w, t))


def ripped(stock: Stock, width: float | None, thickness: float | None) -> tuple[float, float]:
    """Return the width and thickness a blank is sawn to, its stock's unless given, mm; SolidError when the stock has
    less."""
    w = stock.width if width is None else width
    t = stock.thickness if thickness is None else thickness
    for word, value, most in (("wide", w, stock.width), ("thick", t, stock.thickness)):
        if not 0 < value <= most + 1e-6:
            raise SolidError(f"{value:.2f} mm {word} cannot be had from {stock.name}; accepted: more than 0, "
                             f"at most {most:.2f} mm")
    return w, t


SIDES: Mapping[str, Frame] = {
    "start": frame_of((0, 0, 0), -X, Y),
    "end": frame_of((0, 0, 0), X, Y),
    "face": frame_of((0, 0, 0), Z, X),
    "back": frame_of((0, 0, 0), -Z, X),
    "edge": frame_of((0, 0, 0), Y, X),
    "far_edge": frame_of((0, 0, 0), -Y, X),
}
"""How the six sides of a board are turned: z out of the wood, x along the grain (across the width on ends)."""


def board_places(length: float, width: float, thickness: float) -> dict[str, Frame]:
    """Return the six sides of a board where they lie; on the long ones the origin is at the start."""
    at = {"start": (0, 0, 0), "end": (length, 0, 0), "face": (0, 0, thickness / 2), "back": (0, 0, -thickness / 2),
          "edge": (0, width / 2, 0), "far_edge": (0, -width / 2, 0)}
    places = {}
    for name, side in SIDES.items():
        places[name] = side.copy()
        places[name][:3, 3] = at[name]
    return places


@dataclass(frozen=True)
class _Board:
    name: str = "board"
    says: str = "a straight board with square ends"
    sizes: Mapping[str, str] = field(default_factory=lambda: {
        "length": "along the grain, from shoulder to shoulder where it carries tenons",
        "width": "where it is ripped narrower than its stock",
        "thickness": "where it is planed thinner than its stock",
    })
    required: frozenset[str] = frozenset({"length"})

    def blank(self, stock: Stock, sizes: Mapping[str, Any]) -> Blank:
        return board(stock, sizes["length"], sizes.get("width"), sizes.get("thickness"))


BOARD = _Board()
