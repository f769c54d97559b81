"""Laid: work as it lies in one place of the shop, and what has to be said about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from assembly.checks.wording import listed, place
from assembly.findings import Amount, Finding
from assembly.placing import Assembly
from assembly.plan import Stage
from assembly.stance.body import Body, Floats
from assembly.stance.choice import OFFCUT, Hold, Pose
from assembly.stance.footing import BLOCKS_MOST
from assembly.stance.lying import Growth, Lying
from assembly.stance.words import lies
from model.shop import Shop
from model.units import show

WRITTEN = 4
"""Names written out before the work is called by its first."""


@dataclass(frozen=True, eq=False)
class Laid:
    """Work in one place of the shop, as it lies there: `size` (3,) long, across and high, mm."""

    lying: Lying
    body: Body
    pose: Pose
    size: Floats

    @property
    def mass(self) -> float:
        """What it weighs in the end, kg."""
        return float(self.body.mass.sum())

    @property
    def way(self) -> str:
        """Which way up it lies."""
        return lies(self.pose.up, self.size)

    def words(self, unit: str) -> str:
        """Return how it lies, and on what packing."""
        packed = self.pose.packed
        if not packed.packed:
            return self.way
        return f"{self.way}, on {show(packed.packing, unit)} of packing under {some(packed.packed)}"


def some(names: Sequence[str]) -> str:
    """Return a few names, or the first of many."""
    return listed(names) if len(names) <= WRITTEN else f"the work on {names[0]}"


def findings(assembly: Assembly, shop: Shop, stage: Stage, one: Laid) -> list[Finding]:
    """Return what has to be said about how work lies: who holds it, how high it is blocked up, what is packed."""
    unit, found = assembly.design.unit, []
    if one.pose.holds:
        worst = max(one.pose.holds, key=lambda h: (h.people, round(h.footing.force, 3)))
        found.append(_held(stage, shop, one, worst))
    if one.pose.beneath is not None:
        found.append(_blocked_up(stage, one, unit))
    if one.pose.packed.packing > OFFCUT:
        found.append(_packed(stage, one, unit))
    return found


def _held(stage: Stage, shop: Shop, one: Laid, hold: Hold) -> Finding:
    growths = hold.lying.growths
    rows = one.body.rows(growths[hold.growth].parts)
    parts = tuple(n for n, there in zip(one.body.names, rows.tolist(), strict=True) if there)
    after = [h.growth for h in one.pose.holds if h.lying is hold.lying]
    last = max(k for k in after if set(range(hold.growth, k + 1)) <= set(after))
    until = f"{_next(growths[last + 1])} on" if last + 1 < len(growths) else "its clamps are on"
    tilt = np.degrees(hold.footing.tip.angle)
    one_piece = len(parts) == 1 or len(parts) > WRITTEN
    falls = "falls" if one_piece else "fall"
    how = f"{falls} when tilted by {tilt:.0f} degrees" if tilt >= 0.5 else f"would {falls[:4]} over"
    hands = "one person has to" if hold.people == 1 else f"{hold.people} people have to"
    message = (f"stage {stage.name}: lying {one.way}, {some(parts)} {how}: {hands} hold it at "
               f"{hold.footing.held_at} until {until}")
    share = one.body.mass * rows
    where = place(share @ one.body.centre / share.sum())
    if not one.pose.short:
        return Finding("stance", "note", parts, message, "Hold it, or clamp a batten to it that keeps it up.", where,
                       Amount(float(hold.people), ""), stage.joints)
    needed = shop.people + one.pose.short
    message += f"; with those who bring the next piece that takes {needed} people, there are {shop.people}"
    return Finding("hands", "stop", parts, message, f"Have {one.pose.short} more, or brace it with battens and clamps "
                   "before the next piece comes.", where, Amount(float(needed), ""), stage.joints)


def _next(growth: Growth) -> str:
    names = tuple(n for _, m in growth.moves for n in m.parts)
    return f"{some(names)} {'is' if len(names) == 1 or len(names) > WRITTEN else 'are'}"


def _blocked_up(stage: Stage, one: Laid, unit: str) -> Finding:
    beneath, blocks = one.pose.beneath, one.pose.blocks
    assert beneath is not None
    message = (f"stage {stage.name}: lying {one.way}, there is no room beneath for {listed(beneath.parts)} to come up "
               "to its place")
    if blocks <= BLOCKS_MOST:
        return Finding("stance", "note", beneath.parts, message, f"Block the work up by {show(blocks, unit)}.", None,
                       Amount(round(blocks, 1), "mm"), beneath.joints)
    remedy = (f"Lay the work over trestles {show(blocks, unit)} high, or put {listed(beneath.joints)} into another "
              "stage, in which it can lie the other way up.")
    return Finding("stance", "warn", beneath.parts, message, remedy, None, Amount(round(blocks, 1), "mm"),
                   beneath.joints)


def _packed(stage: Stage, one: Laid, unit: str) -> Finding:
    packed = one.pose.packed
    message = (f"stage {stage.name}: lying {one.way}, the work does not keep still before it is whole: nothing "
               f"is under {listed(packed.packed)}")
    return Finding("stance", "note", packed.packed, message,
                   f"Put packing up to {show(packed.packing, unit)} high under them.", None,
                   Amount(round(packed.packing, 1), "mm"), stage.joints)
