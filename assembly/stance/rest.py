"""Rest: how a stage's work lies while it is glued."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from assembly.findings import Finding
from assembly.placing import Assembly
from assembly.plan import Rest, Stage
from assembly.stance.body import Body, Floats, body
from assembly.stance.choice import Pose, chosen
from assembly.stance.laid import Laid, findings, some
from assembly.stance.lying import Lying, lyings
from assembly.stance.people import by_hand, people_for
from assembly.stance.steadiness import edges, plane_axes
from model.frames import Frame, identity, move, turn
from model.shop import Shop

REACHED = 1500.0
"""Work on the bench is reached up to this height above the floor, mm (common practice, no source)."""


def rested(assembly: Assembly, shop: Shop, stage: Stage) -> tuple[Stage, list[Finding]]:
    """Return the stage with how its work lies, and what that asks for.

    Work made up on its own in the stage lies in a place of its own; `stage.rest` is that of the heaviest, with the
    most blocks and people that any of them needs, and the least tilt at which any falls. Findings of kind "stance":
    blocks and packing are notes, and so is holding while there are people enough for it; blocks higher than
    BLOCKS_MOST are a warning. Too few people to hold and move at once stop the stage (kind "hands").
    Not checked: whether bench, blocks and packing bear the load, and what clamps do to the balance.
    """
    if not stage.moves:
        return stage, []
    laid = [_laid(assembly, shop, stage, lying) for lying in lyings(stage)]
    main = max(laid, key=lambda one: (round(one.mass, 6), len(one.body.names), round(one.pose.centre)))
    bench = all(_fits(shop, one) for one in laid)
    rest = Rest(
        _frame(main.pose), "bench" if bench else "floor", _said(assembly, main, laid),
        max(one.pose.blocks for one in laid), max(one.pose.held for one in laid),
        min(one.pose.tips_at for one in laid))
    return replace(stage, rest=rest), [f for one in laid for f in findings(assembly, shop, stage, one)]


def _laid(assembly: Assembly, shop: Shop, stage: Stage, lying: Lying) -> Laid:
    there = body(assembly, lying.parts, stage.done)
    pose = chosen(shop, there, lying.all)
    return Laid(lying, there, pose, _size(there, pose.up))


def _size(there: Body, up: Floats) -> Floats:
    """Return how long, across and high work is as it lies, turned about the vertical to take the least room."""
    flat = there.corners @ plane_axes(up).T
    high = float(np.ptp(there.corners @ up))
    across = edges(flat)[:, :2]
    if not len(across):
        return np.array([*sorted(np.ptp(flat, axis=0).tolist(), reverse=True), high])
    along = across[:, ::-1] * [1.0, -1.0]
    sizes = np.column_stack([np.ptp(flat @ across.T, axis=0), np.ptp(flat @ along.T, axis=0)])
    short, long = np.sort(sizes[int(np.argmin(np.round(sizes.prod(axis=1), 1)))]).tolist()
    return np.array([long, short, high])


def _fits(shop: Shop, one: Laid) -> bool:
    """Return whether work fits on the bench, can be put there by the people there are, and be reached."""
    across, along = sorted((shop.bench.length, shop.bench.width))
    people = people_for(one.mass, float(one.size[0]), shop)
    return (one.size[0] <= along and one.size[1] <= across and people <= shop.people and by_hand(one.mass, people)
            and shop.bench.height + one.pose.blocks + one.size[2] <= REACHED)


def _frame(pose: Pose) -> Frame:
    """Return the least turn that brings the pose's `up` to look up, with the face it lies on at z = 0."""
    axis = np.array([pose.up[1], -pose.up[0], 0.0])
    sine = float(np.linalg.norm(axis))
    if sine > 1e-9:
        turned = turn(axis, float(np.arctan2(sine, pose.up[2])))
    else:
        turned = identity() if pose.up[2] > 0 else turn((1.0, 0.0, 0.0), np.pi)
    return move(z=-pose.plane) @ turned


def _said(assembly: Assembly, main: Laid, laid: Sequence[Laid]) -> str:
    unit = assembly.design.unit
    words = main.words(unit)
    others = [one for one in laid if one.words(unit) != words]
    return "; ".join([words, *(f"{some(one.body.names)} {one.words(unit)}" for one in others)])
