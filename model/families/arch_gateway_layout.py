"""The numbers of an arch gateway: its ring, its legs, its rails, and what it refuses."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from model.errors import DraftError
from model.families.arch_gateway_options import ArchGatewayOptions
from model.families.arch_shape import ArchShape, arch_shape
from model.families.options import stock_for
from model.families.ring import SawnRing
from model.families.ring_tenons import COVER_LEAST, loose_tenon
from model.families.tenon_room import Section
from model.frames import Frame, X, Y, Z, frame_of, move, turn
from model.joints.tenons import BOTTOM, DEEP, SHOULDER_LEAST, WIDTH_MOST
from model.part import Blank
from model.shapes.mitred_board import mitred_board
from model.stock import Stock

FOOT = 20.0
"""Least height of the lowest rail above the ground, mm: end grain of rails stays out of the wet."""
CLEAR_LEAST = 100.0
"""Least length of the rails between the sides, mm."""
BACK = 3.0
"""Wood left behind a rail's mortise, mm."""


@dataclass(frozen=True)
class Gateway:
    """A gateway's options with the shape they fix and the stock it is made of."""

    o: ArchGatewayOptions
    shape: ArchShape
    segment: Stock
    leg: Stock
    rail: Stock

    @cached_property
    def ring(self) -> SawnRing:
        """The ring the arches come from."""
        half = self.shape.band / 2.0
        return SawnRing(count=self.o.segments_in_ring, stock=self.segment, thickness=self.segment.thickness,
                        outer=self.shape.radius + half, inner=self.shape.radius - half)

    @property
    def side(self) -> float:
        """Thickness of a side, mm."""
        return self.segment.thickness

    @property
    def clear(self) -> float:
        """Length of the rails between the sides, mm."""
        return self.o.depth - 2.0 * self.side

    def stand(self, side: str) -> Frame:
        """Return where the ring of a side stands: x across the way through, y up, z to the other side."""
        far = frame_of((0.0, (self.o.depth - self.side) / 2.0, self.shape.centre), -Y, X)
        frame: Frame = far if side == "far" else turn(Z, math.pi) @ far
        return frame

    def angle(self, number: int) -> float:
        """Return the angle of the middle of an arch's segment, counted from 0 clockwise, rad."""
        return -self.shape.half_arc + (2 * number + 1) * self.ring.mitre

    def leg_blank(self, *, first: bool) -> Blank:
        """Return the leg at the arch's first or last end, its foot mitred level with the ground."""
        lean = -self.shape.lean if first else self.shape.lean
        return mitred_board(self.leg, self.shape.leg, 0.0, lean, width=self.shape.band, thickness=self.side)

    def leg_place(self, *, first: bool) -> Frame:
        """Return a leg's frame in the ring's: x down the leg, z to the other side."""
        end = -self.shape.half_arc if first else self.shape.half_arc
        frame: Frame = turn(Z, -end) @ move(0.0, self.shape.radius) @ turn(Z, math.pi if first else 0.0)
        return frame

    @cached_property
    def leg_spots(self) -> tuple[float, ...]:
        """How far down the leg its rails lie, from the arch, mm."""
        step = self.o.leg_rail_spacing or self.shape.leg / max(1, self.o.leg_rails)
        return tuple(step * (i + 0.5) for i in range(self.o.leg_rails))

    @cached_property
    def arch_spots(self) -> tuple[int, ...]:
        """The segments, counted from 0, that carry a rail."""
        every, count = self.o.arch_rail_every, self.o.segments_per_arch
        return tuple(range((count - 1) % every // 2, count, every)) if every else ()

    @cached_property
    def rail_tenon(self) -> Section:
        """The section of the rails' tenons: across the band, along it."""
        thick = min(self.shape.band / 3.0, self.rail.thickness - 2.0 * SHOULDER_LEAST)
        wide = min(self.rail.width - 2.0 * max(SHOULDER_LEAST, thick / 4.0), WIDTH_MOST * thick)
        return Section(thick, min(wide, self.ring.widest(thick, self.o.fit)) if self.arch_spots else wide)

    @property
    def rail_depth(self) -> float:
        """How far the rails' tenons reach into the sides, mm."""
        return DEEP * self.side if self.o.rail_depth is None else self.o.rail_depth

    @cached_property
    def segment_tenon(self) -> dict[str, float]:
        """The sizes of the loose tenons between segments, clear of the curve and of the rails' mortises."""
        opening = 2.0 * self.o.fit
        wide, thick = (self.rail_tenon.width + opening, self.rail_tenon.thickness) if self.arch_spots else (0.0, 0.0)
        return loose_tenon(self.ring, self.ring.room_beside(wide, thick + opening), "rail_stock")


def gateway(o: ArchGatewayOptions, stock: Mapping[str, Stock]) -> Gateway:
    """Return the gateway that the options fix; DraftError where it cannot be made."""
    segment = stock_for("segment_stock", o.segment_stock, stock)
    leg = stock_for("leg_stock", o.leg_stock, stock)
    rail = stock_for("rail_stock", o.rail_stock, stock)
    if o.segments_per_arch >= o.segments_in_ring:
        raise DraftError("segments_per_arch", o.segments_per_arch, f"fewer than the ring has ({o.segments_in_ring})")
    made = Gateway(o, arch_shape(o, segment.width), segment, leg, rail)
    made.ring.refuse_narrow("segment_stock")
    made.ring.refuse_wide("segment_stock")
    _refuse_legs(made)
    _refuse_rails(made)
    return made


def _refuse_legs(g: Gateway) -> None:
    if g.leg.width < g.shape.band - 1e-6 or g.leg.thickness < g.side - 1e-6:
        raise DraftError("leg_stock", f"{g.leg.name}, {g.leg.thickness:.1f} x {g.leg.width:.1f} mm",
                         f"a stock at least {g.side:.1f} mm thick and {g.shape.band:.1f} mm wide, to match the arch")


def _refuse_rails(g: Gateway) -> None:
    o, rail = g.o, g.rail
    if g.clear < CLEAR_LEAST:
        raise DraftError("depth", f"{o.depth:.1f} mm", f"at least {CLEAR_LEAST + 2 * g.side:.1f} mm with these sides")
    if not g.arch_spots and not g.leg_spots:
        raise DraftError("leg_rails", o.leg_rails, "at least one rail, on the legs or on the arch")
    if rail.thickness > g.shape.band or g.rail_tenon.thickness <= 0:
        raise DraftError("rail_stock", f"{rail.name}, {rail.thickness:.1f} mm thick",
                         f"more than {2 * SHOULDER_LEAST:g} mm and at most the band's width, {g.shape.band:.1f} mm")
    most = g.side - BOTTOM - BACK
    if g.rail_depth > most:
        raise DraftError("rail_depth", f"{g.rail_depth:.1f} mm", f"at most {most:.1f} mm in sides of {g.side:.1f} mm")
    if g.arch_spots:
        _refuse_arch_rails(g)
    if g.leg_spots:
        _refuse_leg_rails(g)


def _refuse_arch_rails(g: Gateway) -> None:
    size, opening = g.rail_tenon, 2.0 * g.o.fit
    cover = g.ring.cover(size.width + opening, size.thickness + opening)
    shows = math.hypot(g.rail.width / 2.0, g.shape.radius + g.rail.thickness / 2.0) - g.ring.outer
    if size.width < size.thickness / 2.0 or cover < COVER_LEAST or shows > 1e-6:
        raise DraftError("rail_stock", f"{g.rail.name}, {g.rail.thickness:.1f} x {g.rail.width:.1f} mm",
                         f"narrower or thinner rails, or a wider band: on this curve the band of {g.shape.band:.1f} mm "
                         "does not cover them")


def _refuse_leg_rails(g: Gateway) -> None:
    spots, half = g.leg_spots, g.rail.width / 2.0
    foot = g.shape.leg - g.shape.band / 2.0 * abs(math.tan(g.shape.lean)) - FOOT
    crowded = len(spots) > 1 and spots[1] - spots[0] < g.rail.width + 1.0
    if crowded or spots[0] < half or spots[-1] + half > foot:
        raise DraftError("leg_rails", g.o.leg_rails, "fewer rails, or another spacing: from the arch to "
                         f"{FOOT:g} mm above the ground a leg has {max(foot, 0.0):.1f} mm, and a rail is "
                         f"{g.rail.width:.1f} mm wide")
