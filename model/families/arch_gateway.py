"""Arch gateway: two arches out of one ring, each on two legs, joined by rails."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from pydantic import BaseModel

from model.design import StageSpec
from model.draft import Draft
from model.families.arch_gateway_layout import Gateway, gateway
from model.families.arch_gateway_options import ArchGatewayOptions
from model.families.arch_ring import SIDES, glue_ups, lay_ring, segment_name
from model.families.options import starter_text
from model.frames import Frame, X, Y, Z, frame_of, move, turn
from model.shapes.board import board
from model.stock import Stock


def leg_name(side: str, *, first: bool) -> str:
    """Return a leg's name: left and right as one stands before the near side."""
    return f"{side}_leg_{'left' if first == (side == 'far') else 'right'}"


def _lay_legs(g: Gateway, draft: Draft, side: str) -> list[str]:
    names = []
    for first in (True, False):
        leg = leg_name(side, first=first)
        draft.add(leg, g.leg_blank(first=first), g.stand(side) @ g.leg_place(first=first), group="leg")
        segment = segment_name(g, side, 0 if first else g.o.segments_per_arch - 1)
        into = g.ring.seat(-g.ring.mitre) if first else _turned_back(g.ring.seat(g.ring.mitre))
        tenon = g.segment_tenon
        sizes = {"thickness": tenon["thickness"], "width": tenon["width"], "depth": tenon["length"] / 2.0,
                 "shift": tenon["shift"]}
        draft.join(f"{leg}_top", "blind tenon", leg, segment, frame_of((0, 0, 0), -X, -Y if first else Y), into,
                   fit=g.o.fit, sizes=sizes)
        names.append(f"{leg}_top")
    return names


def _turned_back(seat: Frame) -> Frame:
    """Return a seat with its z the other way, its x as it was."""
    return frame_of(seat[:3, 3], -seat[:3, 2], seat[:3, 0])


@dataclass(frozen=True)
class _Spot:
    """Where a rail meets a side: the part, and the frame on its inner face, x clockwise along the arch, z out."""

    part: str
    frame: Frame


def _spots(g: Gateway, side: str) -> list[_Spot]:
    """Return where a side takes its rails, clockwise: up the first leg, over the arch, down the last leg."""
    high = g.side / 2.0
    first, last = leg_name(side, first=True), leg_name(side, first=False)
    about = turn(Z, math.pi)
    up = [_Spot(first, move(s, 0.0, high) @ about) for s in reversed(g.leg_spots)]
    middle = g.ring.spot(0.0, g.shape.radius) @ move(0.0, 0.0, high)
    most = g.o.segments_per_arch - 1
    carrying = g.arch_spots if side == "far" else tuple(most - i for i in reversed(g.arch_spots))
    over = [_Spot(segment_name(g, side, i), middle) for i in carrying]
    return up + over + [_Spot(last, move(s, 0.0, high)) for s in g.leg_spots]


def _lay_rails(g: Gateway, draft: Draft) -> list[str]:
    blank = board(g.rail, g.clear)
    ends = {"far": frame_of((g.clear, 0, 0), X, -Y), "near": frame_of((0, 0, 0), -X, Y)}
    sizes = {"thickness": g.rail_tenon.thickness, "width": g.rail_tenon.width, "depth": g.rail_depth}
    names = []
    for number, spots in enumerate(zip(_spots(g, "far"), reversed(_spots(g, "near")), strict=True), 1):
        rail = f"rail_{number:02d}"
        draft.add(rail, blank, group="rail")
        for side, spot in zip(SIDES, spots, strict=True):
            draft.join(f"{rail}_{side}", "blind tenon", rail, spot.part, ends[side], _turned_back(spot.frame),
                       fit=g.o.fit, sizes=sizes)
            names.append(f"{rail}_{side}")
    return names


@dataclass(frozen=True)
class _ArchGateway:
    name: str = "arch gateway"
    says: str = "two arches out of one ring of segments, each on two legs that lean as the ring asks, joined by rails"
    options: type[BaseModel] = ArchGatewayOptions

    @property
    def starter(self) -> str:
        return starter_text("arch_gateway")

    def draft(self, name: str, options: BaseModel, stock: Mapping[str, Stock]) -> Draft:
        if not isinstance(options, ArchGatewayOptions):
            raise TypeError("not the options of an arch gateway")
        g, draft = gateway(options, stock), Draft(name)
        rings = [(ring.stage, lay_ring(g, draft, ring)) for ring in glue_ups(g)]
        draft.stages = [StageSpec(stage, tuple(joints)) for stage, joints in rings]
        for side in SIDES:
            before = tuple(stage for stage, _ in rings if len(rings) == 1 or stage.startswith(side))
            draft.stages.append(StageSpec(f"{side} side", tuple(_lay_legs(g, draft, side)), before))
        draft.stages.append(StageSpec("gateway", tuple(_lay_rails(g, draft)), tuple(f"{s} side" for s in SIDES)))
        draft.base = leg_name("far", first=True)
        return draft


ARCH_GATEWAY = _ArchGateway()
