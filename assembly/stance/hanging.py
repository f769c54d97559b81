"""Hanging: groups that move in the stage in which they were made, on joints that are still wet, or dry and loose."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import networkx as nx
import numpy as np

from assembly.checks.wording import listed, place
from assembly.findings import Finding
from assembly.placing import Assembly
from assembly.plan import Move, Stage
from assembly.stance.body import Floats
from model.joint import Joint
from model.shop import Shop

STEEP = math.cos(math.radians(30.0))
"""A joint whose axis is within 30 degrees of upright is pulled apart by what hangs on it (common practice, no
source)."""
SLIDES = 1e-3
"""A move that rises or sinks by less than this (sine) is made without lifting."""
MOSTLY = 0.9
"""A group with so much of its wood in one piece is moved as that piece (common practice, no source)."""
HANDS = 2
"""Pieces that one person supports while a group is lifted: one with each hand."""


def hanging(assembly: Assembly, shop: Shop, stage: Stage, before: Sequence[Stage] = ()) -> list[Finding]:
    """Return what is said about groups that move on joints closed earlier in the same stage, or dry ones of `before`.

    One note for the stage says to move all their pieces as one. What hangs on nothing but such joints, with upright
    axes as the work lies, would drop out when the group is lifted by the rest: it wants a hand under each piece, and
    is a warning where that takes more hands than there are. A group that slides along what it lies on is not lifted,
    and a piece with no more than loose tenons in it is no group.
    """
    up = stage.rest.frame[2, :3]
    groups: list[_Group] = []
    closed = {n for s in before for n in s.joints if not assembly.design.joint[n].glued}
    for move in stage.moves:
        if move.onto and len(move.parts) > 1:
            groups.append(_Group(assembly, stage, move, tuple(j for j in assembly.design.joints if j.name in closed),
                                 up))
        closed |= set(move.joints)
    dropping = [g for g in groups if g.lifted and g.drops]
    others = [g for g in groups if g not in dropping and g.loose and g.main_share < MOSTLY]
    found = [_dropping(shop, stage, g) for g in dropping]
    return [*found, _as_one(stage, others)] if others else found


@dataclass(frozen=True, eq=False)
class _Group:
    """A group that moves: `closed` are the joints made before in the stage; `up` (3,) looks up as the work lies."""

    assembly: Assembly
    stage: Stage
    move: Move
    closed: tuple[Joint, ...]
    up: Floats

    @cached_property
    def loose(self) -> tuple[Joint, ...]:
        """The joints that do not hold yet between pieces of the group."""
        unit_of = {n: k for k, unit in enumerate(self.stage.units) for n in unit if n in self.move.parts}
        return tuple(j for j in self.closed if j.a in unit_of and j.b in unit_of and unit_of[j.a] != unit_of[j.b])

    @cached_property
    def wholes(self) -> tuple[frozenset[str], ...]:
        """What stays in one piece however the group is lifted: units, and what hangs on loose joints from the side."""
        web: nx.Graph = nx.Graph()
        web.add_nodes_from(self.move.parts)
        for unit in self.stage.units:
            if set(unit) <= set(self.move.parts):
                nx.add_path(web, unit)
        web.add_edges_from((j.a, j.b) for j in self.loose if not self._upright(j))
        return tuple(frozenset(whole) for whole in nx.connected_components(web))

    def _upright(self, joint: Joint) -> bool:
        return abs(float(self.assembly.axis(joint) @ self.up)) >= STEEP

    @cached_property
    def drops(self) -> tuple[str, ...]:
        """The parts that would drop out when the group is lifted by its heaviest piece."""
        if len(self.wholes) < 2:
            return ()
        held = max(self.wholes, key=lambda whole: round(sum(self._volume(n) for n in whole)))
        lower = {name for j in self.loose if self._upright(j) for name, way in ((j.a, -1.0), (j.b, 1.0))
                 if name not in held and way * float(self.assembly.axis(j) @ self.up) < 0}
        return tuple(n for n in self.move.parts if n in lower)

    def _volume(self, name: str) -> float:
        return self.assembly.solid(name, self.stage.done).volume

    @property
    def main_share(self) -> float:
        """How much of the wood is in the heaviest piece, 0 to 1."""
        unit_of = {n: k for k, unit in enumerate(self.stage.units) for n in unit}
        shares: dict[int, float] = {}
        for name in self.move.parts:
            shares[unit_of[name]] = shares.get(unit_of[name], 0.0) + self._volume(name)
        return max(shares.values()) / sum(shares.values())

    @property
    def lifted(self) -> bool:
        """Whether it is lifted at all, and not slid along what it lies on."""
        return abs(float(np.asarray(self.move.before or self.move.direction) @ self.up)) > SLIDES


def _message(stage: Stage, group: _Group) -> str:
    joints = tuple(dict.fromkeys(j.of or j.name for j in group.loose))
    state = "whose glue is still wet" if any(j.glued for j in group.loose) else "which are dry"
    how = "are lifted" if group.lifted else "are slid home"
    return f"stage {stage.name}: {listed(group.move.parts)} {how} as one on {listed(joints)}, {state}"


def _as_one(stage: Stage, groups: Sequence[_Group]) -> Finding:
    largest = max(groups, key=lambda g: (len(g.loose), len(g.move.parts)))
    more = {1: "", 2: "; another group likewise"}.get(len(groups), f"; {len(groups) - 1} other groups likewise")
    return Finding("stance", "note", largest.move.parts, _message(stage, largest) + more,
                   "Move all pieces at once, with their own clamps on where there is room for them.", None, None,
                   tuple(j.name for g in groups for j in g.loose))


def _dropping(shop: Shop, stage: Stage, group: _Group) -> Finding:
    message = f"{_message(stage, group)}; {listed(group.drops)} would drop out"
    hands, names = math.ceil(len(group.wholes) / HANDS), tuple(j.name for j in group.loose)
    where = place(group.assembly.seat(group.loose[0])[:3, 3])
    if hands <= shop.people:
        return Finding("stance", "note", group.drops, message,
                       f"Lift it with a hand under each piece ({_people(hands)}), or with its own clamps on.", where,
                       None, names)
    return Finding("stance", "warn", group.drops, f"{message}, and a hand under each piece takes {_people(hands)}",
                   "Clamp it before it is lifted and leave the clamps on, or glue it up in a stage of its own before.",
                   where, None, names)


def _people(count: int) -> str:
    return "one person" if count == 1 else f"{count} people"


