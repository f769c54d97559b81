"""Rest: how a stage's work lies while it is glued, and what has to be said about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from assembly.checks.wording import capital, listed, place
from assembly.findings import Amount, Finding
from assembly.placing import Assembly
from assembly.plan import Rest, Stage
from assembly.stance.body import ON_IT, Body, Floats, body
from assembly.stance.choice import Hold, Pose, chosen
from assembly.stance.lying import Lying, lyings
from assembly.stance.people import by_hand, people_for
from assembly.stance.steadiness import BLOCKS_MOST, plane_axes
from assembly.stance.words import lies
from model.frames import Frame, identity, move, turn
from model.shop import Shop
from model.units import show

REACHED = 1500.0
"""Work on the bench is reached up to this height above the floor, mm (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Laid:
    """Work in one place of the shop, as it lies there: `size` (3,) long, across and high, mm."""

    lying: Lying
    body: Body
    pose: Pose
    size: Floats

    @property
    def words(self) -> str:
        """How it lies."""
        return lies(self.pose.up, self.size)


def rested(assembly: Assembly, shop: Shop, stage: Stage) -> tuple[Stage, list[Finding]]:
    """Return the stage with how its work lies, and what that asks for.

    Each group made up on its own in the stage lies in its own place; `stage.rest` is that of the heaviest, with
    the most blocks and people that any of them needs, and the least tilt at which any falls. Findings of kind
    "stance": blocks and packing are notes, and so is holding while there are people enough for it; it is a warning
    where the blocks would be higher than BLOCKS_MOST. Too few people to
    hold and move at once stop the stage (kind "hands").
    Not checked: that the bench or the blocks bear the load, and thrusts of clamps.
    """
    if not stage.moves:
        return stage, []
    laid = [_laid(assembly, shop, stage, lying) for lying in lyings(stage)]
    main = max(laid, key=lambda one: (round(float(one.body.mass.sum()), 6), len(one.body.names)))
    on_bench = all(_fits(shop, stage, one) for one in laid)
    said = list(dict.fromkeys(one.words for one in (main, *laid)))
    rest = Rest(
        _frame(main.pose), "bench" if on_bench else "floor", _all_lie(main, laid) if len(said) > 1 else said[0],
        max(one.pose.blocks for one in laid), max(one.pose.held for one in laid),
        min(one.pose.tips_at for one in laid))
    return replace(stage, rest=rest), [f for one in laid for f in _findings(assembly, shop, stage, one)]


def _laid(assembly: Assembly, shop: Shop, stage: Stage, lying: Lying) -> Laid:
    solid = body(assembly, lying.parts, stage.done)
    pose = chosen(shop, solid, lying)
    return Laid(lying, solid, pose, _size(solid, pose.up))


def _size(solid: Body, up: Floats) -> Floats:
    """Return how long, across and high work is as it lies, turned about the vertical to be as narrow as may be."""
    from scipy.spatial import ConvexHull, QhullError

    flat = solid.corners @ plane_axes(up).T
    high = float(np.ptp(solid.corners @ up))
    try:
        edges = ConvexHull(flat)
    except QhullError:
        return np.array([*sorted(np.ptp(flat, axis=0), reverse=True), high])
    across, along = edges.equations[:, :2], edges.equations[:, [1, 0]] * [1.0, -1.0]
    outline = flat[edges.vertices]
    sizes = np.column_stack([np.ptp(outline @ across.T, axis=0), np.ptp(outline @ along.T, axis=0)])
    best = np.sort(sizes[int(np.argmin(np.round(sizes.prod(axis=1), 3)))])
    return np.array([best[1], best[0], high])


def _fits(shop: Shop, stage: Stage, one: Laid) -> bool:
    """Return whether work fits on the bench, can be put there by the people there are, and be reached."""
    top = max(shop.bench.length, shop.bench.width), min(shop.bench.length, shop.bench.width)
    if one.size[0] > top[0] or one.size[1] > top[1]:
        return False
    if shop.bench.height + one.pose.blocks + one.size[2] > REACHED:
        return False
    mass = float(one.body.mass.sum())
    people = people_for(mass, float(one.size[0]), shop)
    return people <= shop.people and by_hand(mass, people)


def _frame(pose: Pose) -> Frame:
    """Return the least turn that brings the pose's `up` to look up, with the face it lies on at z = 0."""
    up = pose.up
    axis = np.array([up[1], -up[0], 0.0])
    sine = float(np.linalg.norm(axis))
    turned = turn(axis, float(np.arctan2(sine, up[2]))) if sine > 1e-9 else (
        identity() if up[2] > 0 else turn((1.0, 0.0, 0.0), np.pi))
    return move(z=-pose.plane) @ turned


def _all_lie(main: Laid, laid: Sequence[Laid]) -> str:
    others = [one for one in laid if one is not main and one.words != main.words]
    return "; ".join([main.words, *(f"{_named(one.body.names)} {one.words}" for one in others)])


def _named(names: Sequence[str]) -> str:
    return f"the work on {names[0]}" if len(names) > 6 else listed(names)


def _findings(assembly: Assembly, shop: Shop, stage: Stage, one: Laid) -> list[Finding]:
    unit = assembly.design.unit
    found = [_held(stage, shop, one, hold) for hold in _worst(one.pose.holds)]
    if one.pose.beneath is not None:
        found.append(_blocked_up(stage, one, unit))
    if one.pose.packing > ON_IT:
        found.append(_packed(stage, one, unit))
    return found


def _worst(holds: Sequence[Hold]) -> list[Hold]:
    return [max(holds, key=lambda h: (h.people, h.footing.force))] if holds else []


def _held(stage: Stage, shop: Shop, one: Laid, hold: Hold) -> Finding:
    pose, growths = one.pose, one.lying.growths
    last = max(h.growth for h in pose.holds)
    until = listed(growths[last + 1].moves[0][1].parts) + " is on" if last + 1 < len(growths) else "its clamps are on"
    hands = "one person" if hold.people == 1 else f"{hold.people} people"
    parts = tuple(n for n in one.body.names if n in growths[hold.growth].parts)
    tilt = np.degrees(hold.footing.tip.angle)
    falls = f"falls when tilted by {tilt:.0f} degrees" if tilt >= 0.5 else "falls by itself"
    message = (f"stage {stage.name}: lying {one.words}, {_named(parts)} {falls}; {hands} must hold it at "
               f"{hold.footing.held_at} (about {max(1.0, hold.footing.force):.0f} kg) until {until}")
    where = place((one.body.mass * one.body.rows(parts)) @ one.body.centre / one.body.mass[one.body.rows(parts)].sum())
    if pose.short:
        needed = shop.people + pose.short
        message += f"; with those who bring the next piece that takes {needed} people, there are {shop.people}"
        return Finding("hands", "stop", parts, message, f"Have {pose.short} more, brace it with battens, or prop it.",
                       where, Amount(float(needed), ""), stage.joints)
    return Finding("stance", "note", parts, message, "Hold it, or clamp a batten across it to stand on.", where,
                   Amount(float(hold.people), ""), stage.joints)


def _blocked_up(stage: Stage, one: Laid, unit: str) -> Finding:
    pose, beneath = one.pose, one.pose.beneath
    assert beneath is not None
    high = show(pose.blocks, unit)
    too_high = pose.blocks > BLOCKS_MOST
    message = (f"stage {stage.name}: lying {one.words}, there is no room beneath for {listed(beneath.parts)} to "
               f"come up to its place")
    remedy = f"Block the work up by {high}."
    if too_high:
        remedy = f"Lay it over trestles {high} high, or glue these pieces in another stage where they come from above."
    return Finding("stance", "warn" if too_high else "note", beneath.parts, message, remedy, None,
                   Amount(round(pose.blocks, 1), "mm"), beneath.joints)


def _packed(stage: Stage, one: Laid, unit: str) -> Finding:
    worst = max(one.pose.footings, key=lambda f: f.packing)
    message = (f"stage {stage.name}: lying {one.words}, the work does not keep still by itself before it is whole: "
               f"{listed(worst.packed)} hang free")
    return Finding("stance", "note", worst.packed, capital(message),
                   f"Put packing {show(worst.packing, unit)} high under {listed(worst.packed)}.", None,
                   Amount(round(worst.packing, 1), "mm"), stage.joints)
