"""Choice: of all the ways in which work can lie while it is glued, the one that asks least of people and blocks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from assembly.plan import Move
from assembly.stance.attitudes import SAME_FACE, UP, askew, attitudes
from assembly.stance.body import ON_IT, Body, Floats
from assembly.stance.footing import BLOCKS_MOST, Footing, Lie, Mask
from assembly.stance.lying import Lying
from assembly.stance.people import people_for
from model.shop import Shop

OFFERED = 50.0
"""A piece is offered up this far outside the place where it engages, mm (common practice, no source)."""
RISES = 1e-4
"""A move that rises by less than this (sine) slides along the face the work lies on."""
OFFCUT = 50.0
"""Packing up to this height is an offcut, and costs nothing, mm (common practice, no source)."""
PLAINLY = math.radians(20.0)
"""Work that can be tilted this far, rad, is plainly steady (common practice, no source)."""
SLIGHTLY = math.radians(5.0)
"""Ways to lie are told apart by steps of so much tilt, rad, until they are plainly steady."""
COARSE = 5
"""So many of the costs of a way to lie only grow from moment to moment."""
CLAMPING = 1
"""People who set clamps while others still hold the work."""
PHASE = 0.27
"""Centres of mass are told apart by the millimetre, between values that drawings do not have."""
STEP = 5.0
"""Blocks and packing are told apart by steps of this height, mm."""


@dataclass(frozen=True, eq=False)
class Hold:
    """After the growth so numbered of a lying, `people` have to hold the work."""

    lying: Lying
    growth: int
    people: int
    footing: Footing


@dataclass(frozen=True, eq=False)
class Pose:
    """One way to lie: `up` (3,) looks up, the face it lies on is `plane` along it, mm.

    `blocks`: room needed beneath, mm, for the move `beneath`. `footings`: every moment. `holds`: those at which
    somebody has to hold it; `short`: how many people are missing at most, where some hold and others move.
    `centre`: how high the centre of mass is in the end, mm. `askew`: whether most of the wood lies aslant.
    """

    up: Floats
    plane: float
    blocks: float
    beneath: Move | None
    footings: tuple[Footing, ...]
    holds: tuple[Hold, ...]
    short: int
    centre: float
    askew: bool

    @property
    def held(self) -> int:
        """How many people hold it at most."""
        return max((h.people for h in self.holds), default=0)

    @property
    def packed(self) -> Footing:
        """The footing with the highest packing."""
        return max(self.footings, key=lambda f: f.packing)

    @property
    def tips_at(self) -> float:
        """How far it may be tilted at its least steady moment, rad."""
        return min(f.tip.angle for f in self.footings)


def chosen(shop: Shop, body: Body, lyings: Sequence[Lying]) -> Pose:
    """Return the best way to lie for work and the groups that are carried to it, which lie alike, each in its place.

    Least people missing, blocks within reach, fewest to hold it, not aslant; then least blocks and packing beyond an
    offcut; then plainly steady before just steady, as it will stand before any other way, then the lowest centre of
    mass.
    The last of `lyings` is the work itself.
    """
    works = [_work(shop, body, lying) for lying in lyings]
    lies = [Lie(body, up) for up in attitudes(body)]
    rooms = [room_beneath(lie, lyings) for lie in lies]
    slants = [bool(k) and askew(body, lie.up) for k, lie in enumerate(lies)]
    best: Pose | None = None
    for k in sorted(range(len(lies)), key=lambda k: (slants[k], rooms[k][0])):
        pose = _pose(shop, lies[k], works, *rooms[k], slants[k], () if best is None else _cost(best)[:COARSE])
        best = pose if best is None or (pose is not None and _cost(pose) < _cost(best)) else best
    assert best is not None, "work can always lie as it will stand"
    return best


@dataclass(frozen=True, eq=False)
class _Work:
    """A lying: which parts (P,) of a body are there at each moment, and how many people move then."""

    lying: Lying
    there: tuple[Mask, ...]
    people: tuple[int, ...]


def _work(shop: Shop, body: Body, lying: Lying) -> _Work:
    return _Work(lying, tuple(body.rows(g.parts) for g in lying.growths),
                 tuple(_movers(shop, body, [m for _, m in g.moves]) for g in lying.growths))


def _made_up(blocks: float, packing: float) -> float:
    return math.ceil(round(blocks / STEP, 3)) + math.ceil(round(max(0.0, packing - OFFCUT) / STEP, 3))


def _coarse(short: int, blocks: float, held: int, slants: bool, packing: float) -> tuple[float, ...]:
    """Return what a way to lie costs at least, as far as its moments have been looked at."""
    return short, float(blocks > BLOCKS_MOST), held, float(slants), _made_up(blocks, packing)


def _cost(pose: Pose) -> tuple[float, ...]:
    aside: list[float] = (np.round(-pose.up, 6) + 0.0).tolist()
    stands = float(pose.up @ UP) >= SAME_FACE
    steady = math.floor(min(pose.tips_at, PLAINLY) / SLIGHTLY + 1e-6)
    return (*_coarse(pose.short, pose.blocks, pose.held, pose.askew, pose.packed.packing), -steady, float(not stands),
            math.floor(pose.centre + PHASE), -round(pose.tips_at, 3), *aside)


def _movers(shop: Shop, body: Body, moves: Sequence[Move]) -> int:
    """Return how many people moves take; those made at one time draw together what lies there already."""
    most = 0
    for move in moves:
        rows = body.rows(move.parts)
        most = max(most, people_for(float(body.mass[rows].sum()), body.size(rows)[0], shop))
    return most


def _pose(shop: Shop, lie: Lie, works: Sequence[_Work], blocks: float, beneath: Move | None, slants: bool,
          most: tuple[float, ...]) -> Pose | None:
    """Return one way to lie; None as soon as it costs more than `most` (empty: whatever it costs)."""
    footings: list[Footing] = []
    holds: list[Hold] = []
    short, held, packing = 0, 0, 0.0
    for work in works:
        plane = lie.plane(work.lying.parts)
        for k, there in enumerate(work.there):
            if most and _coarse(short, blocks, held, slants, packing) > most:
                return None
            found = lie.footing(there, plane)
            footings.append(found)
            packing = max(packing, found.packing)
            if found.force > 0:
                hands = people_for(found.force, 0.0, shop)
                others = work.people[k + 1] if k + 1 < len(work.people) else CLAMPING
                holds.append(Hold(work.lying, k, hands, found))
                short, held = max(short, hands + others - shop.people), max(held, hands)
    plane = lie.plane(works[-1].lying.parts)
    centre = float(lie.body.mass @ lie.centres[:, 2] / lie.body.mass.sum()) - plane
    return Pose(lie.up, plane, blocks, beneath, tuple(footings), tuple(holds), short, centre, slants)


def room_beneath(lie: Lie, lyings: Sequence[Lying]) -> tuple[float, Move | None]:
    """Return how high the work has to be blocked up for every piece to come to its place, and for which move."""
    worst, beneath = 0.0, None
    for lying in lyings:
        plane = lie.plane(lying.parts)
        for move in (m for growth in lying.growths for _, m in growth.moves if m.onto):
            rows = lie.body.rows(move.parts)
            need = _dips(move, lie.body.corners[rows[lie.body.owner]], lie.up) - float(lie.lows[rows].min() - plane)
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
    beyond = climb * (float(np.ptp(corners @ before)) + OFFERED) if climb > RISES else 0.0
    return max(dip, (way_on if abs(rise) > RISES else 0.0) + beyond)
