"""Choice: of all the ways in which work can lie while it is glued, the one that asks least of people and blocks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from assembly.plan import Move
from assembly.stance.attitudes import SAME_FACE, UP, attitudes
from assembly.stance.body import ON_IT, Body, Floats
from assembly.stance.lying import Lying
from assembly.stance.people import people_for
from assembly.stance.steadiness import BLOCKS_MOST, Footing, footing
from model.shop import Shop

OFFERED = 50.0
"""A piece is offered up this far outside the place where it engages, mm (common practice, no source)."""
RISES = 1e-4
"""A move that rises by less than this (sine) slides along the face the work lies on."""


@dataclass(frozen=True, eq=False)
class Hold:
    """At the moment after some moves, `people` have to hold the work at a part until `until` (a move's number)."""

    growth: int
    people: int
    footing: Footing


@dataclass(frozen=True, eq=False)
class Pose:
    """One way to lie: `up` looks up, `plane` is how high along it the face is on which the work lies, mm.

    `blocks`: room needed beneath, mm, for the move `beneath`. `footings`: one for each moment. `holds`: where somebody
    has to hold it; `short` how many people are missing at most while one holds and others move.
    """

    up: Floats
    plane: float
    blocks: float
    beneath: Move | None
    footings: tuple[Footing, ...]
    holds: tuple[Hold, ...]
    short: int
    centre: float
    """How high the centre of mass is at last, mm."""

    @property
    def held(self) -> int:
        """How many people hold it at most."""
        return max((h.people for h in self.holds), default=0)

    @property
    def packing(self) -> float:
        """The highest packing, mm."""
        return max((f.packing for f in self.footings), default=0.0)

    @property
    def tips_at(self) -> float:
        """How far it may be tilted at its least steady moment, rad."""
        return min(f.tip.angle for f in self.footings)

    @property
    def as_it_stands(self) -> bool:
        """Whether it lies as it will stand."""
        return float(self.up @ UP) >= SAME_FACE


def chosen(shop: Shop, body: Body, lying: Lying) -> Pose:
    """Return the best way for work to lie.

    Least people missing, blocks within reach, fewest to hold it, then as it will stand where that needs neither
    blocks nor packing, then least blocks and packing, the steadiest of equals, the lowest centre of mass.
    """
    loads = [_movers(shop, body, g.moves) for g in lying.growths]
    poses = [_pose(shop, body, lying, loads, up) for up in attitudes(body)]
    return min(poses, key=_cost)


def _cost(pose: Pose) -> tuple[float, ...]:
    made_up = max(pose.blocks, pose.packing)
    way: list[float] = (np.round(-pose.up, 6) + 0.0).tolist()
    return (pose.short, float(pose.blocks > BLOCKS_MOST), pose.held, round(made_up / 5.0), float(not pose.as_it_stands),
            round(pose.centre), -round(pose.tips_at, 3), *way)


def _movers(shop: Shop, body: Body, moves: Sequence[tuple[int, Move]]) -> int:
    """Return how many people the moves made at one time take together."""
    total = 0
    for _, move in moves:
        rows = body.rows(move.parts)
        corners = body.corners[rows[body.owner]]
        total += people_for(float(body.mass[rows].sum()), float(np.ptp(corners, axis=0).max()), shop)
    return total


def _pose(shop: Shop, body: Body, lying: Lying, loads: Sequence[int], up: Floats) -> Pose:
    heights, _ = body.lows(up)
    plane = float(heights.min())
    footings = tuple(footing(body, body.rows(g.parts), up, plane) for g in lying.growths)
    holds = tuple(Hold(k, people_for(f.force, 0.0, shop), f) for k, f in enumerate(footings) if f.force > 0)
    holding = {h.growth: h.people for h in holds}
    busy = [loads[k + 1] + holding[k] for k in holding if k + 1 < len(loads)]
    blocks, beneath = _room_beneath(body, lying, up, heights - plane)
    centre = float(body.mass @ (body.centre @ up) / body.mass.sum()) - plane
    return Pose(up, plane, blocks, beneath, footings, holds, max(0, max(busy, default=0) - shop.people), centre)


def _room_beneath(body: Body, lying: Lying, up: Floats, heights: Floats) -> tuple[float, Move | None]:
    """Return how high the work has to be blocked up for every piece to come to its place, and for which move."""
    worst, beneath = 0.0, None
    for growth in lying.growths:
        for _, move in growth.moves:
            if move.onto:
                rows = body.rows(move.parts)[body.owner]
                need = _dips(move, body.corners[rows], up) - float(heights[rows].min())
                if need > worst + ON_IT:
                    worst, beneath = need, move
    return worst, beneath


def _dips(move: Move, corners: Floats, up: Floats) -> float:
    """Return how far below its place a piece is at the lowest of its way, mm."""
    rise = float(up @ np.asarray(move.direction))
    way_on = rise * (move.travel + (OFFERED if move.before is None else 0.0))
    dip = way_on if rise > RISES else 0.0
    if move.before is None:
        return dip
    before = np.asarray(move.before)
    climb = float(up @ before)
    reach = float(np.ptp(corners @ before)) + OFFERED
    return max(dip, way_on + climb * reach if climb > RISES else 0.0)
