"""Clamps: the fewest that press every glued joint of a stage, out of those the shop owns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import networkx as nx

from assembly.findings import Finding
from assembly.placing import Assembly
from assembly.plan import Clamp, Stage
from assembly.pressure.bands import Band
from assembly.pressure.cover import Choice, Cover, cover
from assembly.pressure.joints import PAD
from assembly.pressure.options import Bar, Options, options
from assembly.pressure.told import Set, told
from assembly.pressure.work import step, work_of
from model.part import ALL
from model.shop import ClampStock, Shop

CLAMP, ASKS, BLOCKED_UP, OPEN = 10_000, 1_000, 2_000, 3_000
"""What a clamp costs, and what it costs more that asks for a block or a caul, for blocks beneath, for a stretcher: few
clamps first, then little trouble."""


@dataclass(frozen=True)
class Demand:
    """The clamps a joint takes: the kind, how many, how far they open (how long a band is), mm, what they press."""

    kind: Literal["bar", "band"]
    count: int
    opening: float
    joints: frozenset[str]


@dataclass(frozen=True, eq=False)
class _Chosen:
    """Clamps chosen for groups of parts: what could be set, the cover, and the kinds of owned clamps it was made of."""

    groups: tuple[Options, ...]
    made: tuple[tuple[int, Bar | Band], ...]
    found: Cover
    cost: int

    def sets(self) -> list[Set]:
        """Return the clamps taken, each with the joints it presses and whether the shop has one left for it."""
        return [Set(self.made[c][1], tuple(dict.fromkeys(self.groups[self.made[c][0]].targets[t].joint
                                                         for t in sorted(self.made[c][1].presses))),
                    self.groups[self.made[c][0]].work.names, kind is not None)
                for c, kind in zip(self.found.taken, self.found.kinds, strict=True)]


def clamped(assembly: Assembly, shop: Shop, stage: Stage) -> tuple[Stage, list[Finding]]:
    """Return the stage with its clamps, blocked up where there is no room beneath, and what is missing.

    Findings of kind "clamps": `stop` where the shop is known to have too few, or none that opens or reaches so far;
    `warn` where nothing presses a joint; notes on blocks, cauls and stretchers. Not checked: the force of a clamp, its
    weight, and how the work gives under it.
    """
    groups = _groups(assembly, stage)
    chosen = min((_chosen(assembly, shop, stage, groups, pad) for pad in _pads(shop)),
                 key=lambda c: (sum(len(g.bare) for g in c.groups), len(c.found.missing), c.cost))
    sets = chosen.sets()
    blocks = max((s.blocks for s in sets), default=0.0)
    made = replace(stage, clamps=tuple(_clamp(s) for s in sets))
    if blocks:
        made = replace(made, rest=replace(stage.rest, blocks=round(stage.rest.blocks + blocks, 1)))
    return made, told(shop, made, sets, tuple(n for g in chosen.groups for n in g.bare), blocks,
                      assembly.design.unit)


def demand(assembly: Assembly, shop: Shop, joint: str, done: frozenset[str] = ALL) -> Demand | None:
    """Return the clamps a joint takes, before its stage is known; None where it takes none, or nothing presses it.

    Looked for in all the work there is with the stages in `done` behind it; room for bars is not asked for.
    """
    return _demands(assembly, max(_pads(shop)), step(assembly, done)).get(joint)


@lru_cache(maxsize=16)
def _demands(assembly: Assembly, pad: float, done: frozenset[str]) -> dict[str, Demand]:
    found: dict[str, Demand] = {}
    joints = [j for j in assembly.design.joints if j.a in assembly.frames and j.b in assembly.frames]
    web = nx.Graph()
    web.add_edges_from((j.a, j.b) for j in joints)
    groups = [tuple(n for n in assembly.there(done) if n in group) for group in nx.connected_components(web)]
    some = tuple(options(assembly, parts, tuple(j.name for j in joints if {j.a, j.b} <= set(parts)), done, pad, None,
                         None) for parts in groups)
    taken = [(s, s.joints) for s in _covered(some, (), None).sets()]
    for joint in dict.fromkeys(j for _, pressed in taken for j in pressed):
        own = [(s, pressed) for s, pressed in taken if joint in pressed]
        found[joint] = Demand(own[0][0].kind, len(own), round(max(s.opening for s, _ in own), 1),
                              frozenset(j for _, pressed in own for j in pressed))
    return found


def _pads(shop: Shop) -> tuple[float, ...]:
    """Return the widths of pads there are, and that of pads to be had; each is tried with clamps no narrower."""
    return tuple(sorted({PAD, *(c.pad for c in shop.clamps if c.kind == "bar")}))


def _groups(assembly: Assembly, stage: Stage) -> list[tuple[str, ...]]:
    """Return the parts of the stage in the sets that are held together by its end."""
    web = nx.Graph()
    for unit in stage.units:
        nx.add_path(web, unit)
    for name in stage.joints:
        joint = assembly.design.joint[name]
        web.add_edge(joint.a, joint.b)
    return [tuple(n for n in assembly.names if n in group) for group in nx.connected_components(web)]


def _chosen(assembly: Assembly, shop: Shop, stage: Stage, groups: Sequence[tuple[str, ...]], pad: float) -> _Chosen:
    stock = [c for c in shop.clamps if c.kind == "band" or c.pad >= pad]
    owned = tuple(sorted({c.reach for c in stock if c.kind == "bar"})) if shop.clamps else None
    done = step(assembly, stage.done)
    some = []
    for parts in groups:
        own = tuple(n for n in stage.joints if {assembly.design.joint[n].a, assembly.design.joint[n].b} <= set(parts))
        up = _up(assembly, stage, parts, alone=len(groups) == 1)
        some.append(options(assembly, parts, own, done, pad, owned, up))
    return _covered(some, stock, [c.count for c in stock] if shop.clamps else None)


def _up(assembly: Assembly, stage: Stage, parts: tuple[str, ...], *, alone: bool) -> tuple[float, float, float, float]:
    """Return how high a point lies over bench or floor. Work made up beside other work lies on a place of its own."""
    a, b, c, d = stage.rest.frame[2].tolist()
    if not alone:
        d = -work_of(assembly, parts, stage.done).lowest(stage.rest.frame[2, :3])
    return round(a, 9), round(b, 9), round(c, 9), round(d + stage.rest.blocks, 6)


def _covered(groups: Sequence[Options], stock: Sequence[ClampStock], owned: Sequence[int] | None) -> _Chosen:
    made, choices, start = list[tuple[int, Bar | Band]](), list[Choice](), 0
    for g, group in enumerate(groups):
        for one in group.all:
            made.append((g, one))
            kinds = frozenset(k for k, clamp in enumerate(stock) if _does(clamp, one))
            choices.append(Choice(frozenset(start + t for t in one.presses), _cost(one), kinds))
        start += len(group.targets)
    found = cover(choices, owned)
    return _Chosen(tuple(groups), tuple(made), found, sum(choices[c].cost for c in found.taken))


def _does(clamp: ClampStock, one: Bar | Band) -> bool:
    """Whether a clamp that is owned can be set so."""
    if isinstance(one, Band):
        return clamp.kind == "band" and clamp.opening >= one.length - 1e-6
    reach = None if one.room is None else one.room.reach
    return clamp.kind == "bar" and clamp.opening >= one.line.opening - 1e-6 and reach in (None, clamp.reach)


def _cost(one: Bar | Band) -> int:
    if isinstance(one, Band):
        return CLAMP + OPEN * bool(one.stretcher) + round(one.length / 100.0)
    blocks = one.room is not None and one.room.blocks > 0
    return CLAMP + ASKS * bool(one.line.asks or one.line.block) + BLOCKED_UP * blocks + round(one.line.opening / 100.0)


def _clamp(one: Set) -> Clamp:
    """Return a clamp as it is set, in the world."""
    made = one.made
    if isinstance(made, Band):
        return Clamp("band", one.joints, made.foot, made.head, made.length, around=made.around)
    line = made.line
    pads = tuple(dict.fromkeys(one.names[w.part] for w in (line.woods[0], line.woods[-1])))
    reach, side = (made.room.reach, made.room.side) if made.room is not None else (0.0, (0.0, 0.0, 0.0))
    foot, head = line.at(line.foot - line.block), line.at(line.head + line.block)
    if made.room is not None and made.room.turned:
        foot, head = head, foot
    return Clamp("bar", one.joints, foot, head, line.opening, reach, side, pads, block=line.block)
