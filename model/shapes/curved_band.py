"""A piece of a ring sawn out of a straight board: round outside and inside, its ends on the radii.

The part's x runs along the grain, which is the chord at the middle of the band; y points
outward there, z through the thickness. The places `outer`, `inner`, `face`, `back` have their
origin at the middle of the arc, and going along them goes along the arc.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from model.errors import SolidError
from model.frames import Frame, X, Y, Z, frame_of, move, turn
from model.part import Blank
from model.shapes.board import ripped
from model.shapes.curve import refuse_radii, sector, stock_length, stock_width
from model.solids import arc_steps
from model.stock import Stock

WIDEST = math.radians(180.0)
"""No band of one piece covers more than this: its grain would run across it at the ends, rad."""


@dataclass(frozen=True, eq=False)
class CurvedBand(Blank):
    """A blank whose long places are curved: `place` goes along the arc.

    `radii` holds the radius at each curved place, mm.
    """

    radii: Mapping[str, float] = field(default_factory=dict)

    def place(self, name: str, along: float = 0.0, across: float = 0.0) -> Frame:
        """Return the frame of a named place, `along` mm along the arc from its middle and `across` mm across it.

        On the straight ends both are straight, as on a board.
        """
        if name not in self.radii:
            return super().place(name, along, across)
        radius = self.radii[name]
        to_centre = {"outer": move(z=-radius), "inner": move(z=radius), "face": move(y=-radius),
                     "back": move(y=radius)}[name]
        back = to_centre.copy()
        back[:3, 3] = -to_centre[:3, 3]
        axis, sign = {"outer": (Y, 1.0), "inner": (Y, -1.0), "face": (Z, -1.0), "back": (Z, 1.0)}[name]
        frame: Frame = self.places[name] @ to_centre @ turn(axis, sign * along / radius) @ back @ move(y=across)
        return frame


def curved_band(stock: Stock, outer_radius: float, inner_radius: float, angle: float,
                thickness: float | None = None) -> CurvedBand:
    """Return a band between two radii (mm) over a total angle (rad), sawn out of a straight board.

    The board must be Ro - Ri cos(angle / 2) wide. Raises SolidError with the needed size when
    the stock is narrower or shorter, when the radii leave no wood, or past half a turn.
    """
    _, t = ripped(stock, None, thickness)
    refuse_radii(outer_radius, inner_radius)
    if not 0.0 < angle <= WIDEST:
        raise SolidError(f"a band of {math.degrees(angle):.1f} degrees cannot be sawn out of one board; accepted: more "
                         f"than 0, at most 180")
    width, length = stock_width(outer_radius, inner_radius, angle), stock_length(outer_radius, angle)
    _refuse_stock(stock, width, length)
    half, middle = angle / 2, (outer_radius + inner_radius) / 2
    solid = sector(outer_radius, inner_radius, -half, half, -t / 2, t / 2, 2 * arc_steps(outer_radius, half))
    centre = (middle * math.sin(half), -middle * math.cos(half), 0.0)
    return CurvedBand("curved band", solid.moved(move(*centre)), length, width, t, stock,
                      _places(centre, outer_radius, inner_radius, half, t),
                      radii={"outer": outer_radius, "inner": inner_radius, "face": middle, "back": middle})


def _places(centre: tuple[float, float, float], outer: float, inner: float, half: float, t: float) -> dict[str, Frame]:
    x, y, _ = centre
    middle = (outer + inner) / 2
    about = move(*centre)
    end_out = (math.cos(half), -math.sin(half), 0.0)
    end: Frame = about @ frame_of((middle * math.sin(half), middle * math.cos(half), 0), end_out,
                                  (math.sin(half), math.cos(half), 0.0))
    return {
        "start": frame_of((0, 0, 0), (-math.cos(half), -math.sin(half), 0.0), (-math.sin(half), math.cos(half), 0.0)),
        "end": end,
        "face": frame_of((x, y + middle, t / 2), Z, X),
        "back": frame_of((x, y + middle, -t / 2), -Z, X),
        "outer": frame_of((x, y + outer, 0), Y, X),
        "inner": frame_of((x, y + inner, 0), -Y, X),
    }


def _refuse_stock(stock: Stock, width: float, length: float) -> None:
    if stock.width < width - 1e-6:
        raise SolidError(f"the band needs a board {width:.1f} mm wide, {stock.name} has {stock.width:.1f} mm; take "
                         f"wider stock, a narrower band or more pieces to the ring")
    if stock.length is not None and stock.length < length - 1e-6:
        raise SolidError(f"the band needs a board {length:.1f} mm long, {stock.name} has {stock.length:.1f} mm")


@dataclass(frozen=True)
class _CurvedBand:
    name: str = "curved band"
    says: str = "a piece of a ring sawn out of a straight board; places along it count from the middle of the arc"
    sizes: Mapping[str, str] = field(default_factory=lambda: {
        "outer_radius": "of its outside",
        "inner_radius": "of its inside",
        "band_angle": "how much of the ring it covers, end to end",
        "thickness": "where it is planed thinner than its stock",
    })
    required: frozenset[str] = frozenset({"outer_radius", "inner_radius", "band_angle"})

    def blank(self, stock: Stock, sizes: Mapping[str, Any]) -> Blank:
        return curved_band(stock, sizes["outer_radius"], sizes["inner_radius"], sizes["band_angle"],
                           sizes.get("thickness"))


CURVED_BAND = _CurvedBand()
