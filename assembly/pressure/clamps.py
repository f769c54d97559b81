"""Clamps: the fewest found that press every glued joint of a stage, held against those the shop owns."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import networkx as nx

from assembly.findings import Amount, Finding
from assembly.glue_up import named
from assembly.placing import Assembly
from assembly.plan import Clamp, Stage
from assembly.pressure.joints import LEVEL, Pressed, glued_whole, pad_and_reaches, pressed
from assembly.pressure.lines import PLAIN
from assembly.pressure.work import step
from model.design import Shop
from model.glues import recognised
from model.units import show

LEAST_BLOCKS = 1.0
"""Room missing by less than this is no reason to block the work up, mm."""


@dataclass(frozen=True)
class Demand:
    """The clamps a joint takes: the kind, how many, how far they open (how long a band is), mm, what they press."""

    kind: Literal["bar", "band"]
    count: int
    opening: float
    joints: frozenset[str]


def demand(assembly: Assembly, shop: Shop, joint: str) -> Demand | None:
    """Return the clamps a joint takes in the finished work, before its stage is known; None where none presses it."""
    return _demands(assembly, *pad_and_reaches(shop)).get(joint)


@lru_cache(maxsize=16)
def _demands(assembly: Assembly, pad: float, reaches: tuple[float, ...]) -> dict[str, Demand]:
    names = assembly.there()
    joints = tuple(j.name for j in assembly.design.joints if j.a in assembly.frames and j.b in assembly.frames)
    x, y, z, d = LEVEL.tolist()
    found = pressed(assembly, names, joints, step(assembly, frozenset({"*"})), pad, reaches, (x, y, z, d))
    told: dict[str, Demand] = {}
    for one in found:
        if one.line is not None:
            told[one.joint] = Demand("bar", one.count, one.line.opening, frozenset(one.joints))
        elif one.band:
            told[one.joint] = Demand("band", 1, one.band, frozenset(one.joints))
    return told


def clamped(assembly: Assembly, shop: Shop, stage: Stage) -> tuple[Stage, list[Finding]]:
    """Return the stage with its clamps, blocked up where there is no room beneath, and what is missing.

    Not checked: the force of a clamp, its weight, and how the work gives under it.
    """
    unit = assembly.design.unit
    found = [one for group in _groups(assembly, stage) for one in _pressed(assembly, shop, stage, group)]
    chosen = _cover(found)
    blocks = max((one.line.blocks for one in chosen if one.line is not None), default=0.0)
    rest = stage.rest
    if blocks > LEAST_BLOCKS:
        rest = replace(rest, blocks=round(rest.blocks + blocks, 1))
    clamps = tuple(c for one in chosen for c in _clamps(assembly, stage, one))
    made = replace(stage, clamps=clamps, rest=rest)
    return made, [*_unpressed(shop, stage, found), *_beneath(stage, blocks, unit), *_leaning(stage, chosen),
                  *_missing(shop, made, unit)]


def _groups(assembly: Assembly, stage: Stage) -> list[tuple[str, ...]]:
    """Return the parts of the stage in the sets that are held together by its end."""
    web = nx.Graph()
    for unit in stage.units:
        nx.add_path(web, unit)
    for name in stage.joints:
        joint = assembly.design.joint[name]
        web.add_edge(joint.a, joint.b)
    return [tuple(n for n in assembly.names if n in group) for group in nx.connected_components(web)]


def _pressed(assembly: Assembly, shop: Shop, stage: Stage, group: tuple[str, ...]) -> Sequence[Pressed]:
    own = tuple(n for n in stage.joints if {assembly.design.joint[n].a, assembly.design.joint[n].b} <= set(group))
    frame = stage.rest.frame
    up = (*frame[2, :3].tolist(), float(frame[2, 3]) + stage.rest.blocks)
    return pressed(assembly, group, own, step(assembly, stage.done), *pad_and_reaches(shop), up)


def _cover(found: Sequence[Pressed]) -> list[Pressed]:
    """Return lines and bands that together press every joint that any presses, those that press most first."""
    left = {one.joint for one in found if one.line is not None or one.band}
    chosen: list[Pressed] = []
    ranked = sorted((one for one in found if one.joint in left),
                    key=lambda one: (-len(one.joints) / one.count, one.line.blocks if one.line else 0.0))
    for one in ranked:
        if set(one.joints) & left:
            chosen.append(one)
            left -= set(one.joints)
    return chosen


def _clamps(assembly: Assembly, stage: Stage, one: Pressed) -> list[Clamp]:
    names = tuple(n for n in one.joints)
    if one.line is None:
        first = assembly.seat(glued_whole(assembly, stage.joints)[one.joint][0])
        x, y, z = first[:3, 3].tolist()
        return [Clamp("band", names, (x, y, z), (x, y, z), one.band, around=one.around)]
    line = one.line
    pads = tuple(dict.fromkeys(_part(assembly, stage, w.part, one) for w in (line.woods[0], line.woods[-1])))
    ends = (line.head, line.foot) if line.turned else (line.foot, line.head)
    return [Clamp("bar", names, line.at(ends[0], *aside), line.at(ends[1], *aside), line.opening, line.reach, line.side,
                  pads) for aside in _beside_each_other(one.count, one.spread)]


def _beside_each_other(count: int, spread: tuple[float, float]) -> list[tuple[float, float]]:
    """Return where so many clamps stand about their line, mm: in rows over the joint, as square as may be."""
    rows = max(1, min(count, round(math.sqrt(count * spread[1] / max(spread[0], 1e-6)))))
    found = []
    for row in range(rows):
        here = count // rows + (row < count % rows)
        y = spread[1] * ((2 * row + 1) / rows - 1.0)
        found += [(spread[0] * ((2 * k + 1) / here - 1.0), y) for k in range(here)]
    return [(0.0, 0.0)] if count == 1 else found


def _part(assembly: Assembly, stage: Stage, number: int, one: Pressed) -> str:
    group = next(g for g in _groups(assembly, stage) if any(
        n in g for j in glued_whole(assembly, stage.joints)[one.joint] for n in (j.a, j.b)))
    return group[number]


def _unpressed(shop: Shop, stage: Stage, found: Sequence[Pressed]) -> list[Finding]:
    """Return the joints that nothing presses: a warning where the shop says what it has, else good to know."""
    bare = [one.joint for one in found if one.line is None and not one.band]
    if not bare:
        return []
    glue = recognised(shop.glue)
    light = glue is not None and "epoxy" in glue.name
    severity: Literal["warn", "note"] = "warn" if shop.clamps and not light else "note"
    helped = ("epoxy wants contact only: hold them together with tape, wedges or weights" if light else
              "glue on ears to clamp to, cut cauls to the angle, or press them with wedges against a stop")
    return [Finding("clamps", severity, (), f"stage {stage.name}: no bar finds two sound faces and room on a "
                    f"line through {named(bare)}, and no band goes round", helped[0].upper() + helped[1:], None,
                    Amount(float(len(bare)), ""), tuple(bare), stage=stage.name)]


def _beneath(stage: Stage, blocks: float, unit: str) -> list[Finding]:
    if blocks <= LEAST_BLOCKS:
        return []
    return [Finding("clamps", "note", (), f"stage {stage.name}: bars and screws need room beneath the work, which lies "
                    f"{show(blocks, unit)} too low", f"Block it up by {show(blocks, unit)}; the plan counts on that", None,
                    Amount(round(blocks, 1), "mm"), stage=stage.name)]


def _leaning(stage: Stage, chosen: Sequence[Pressed]) -> list[Finding]:
    leaning = [one for one in chosen if one.line is not None and one.line.lean > PLAIN]
    if not leaning:
        return []
    most = max(math.degrees(one.line.lean) for one in leaning if one.line is not None)
    return [Finding("clamps", "note", (), f"stage {stage.name}: the faces under the pads for "
                    f"{named([one.joint for one in leaning])} lean by up to {most:.0f} degrees, so that a pad slips",
                    "Cut a caul to the angle for each pad", None, Amount(round(most, 1), "deg"),
                    tuple(one.joint for one in leaning), stage=stage.name)]


def _missing(shop: Shop, stage: Stage, unit: str) -> list[Finding]:
    """Return what the shop has too few of, or too small ones: the longest needed against the longest there are."""
    found = []
    for kind, word in (("bar", "bar clamp"), ("band", "band")):
        needed = sorted((c.opening for c in stage.clamps if c.kind == kind), reverse=True)
        owned = sorted((s.opening for s in shop.clamps for _ in range(s.count) if s.kind == kind), reverse=True)
        if not shop.clamps or not needed:
            continue
        short = [mm for k, mm in enumerate(needed) if k >= len(owned) or owned[k] < mm - 1e-6]
        if short:
            opens = "opening" if kind == "bar" else "of"
            found.append(Finding(
                "clamps", "stop", (), f"stage {stage.name}: {_count(len(needed), word)} needed, the longest {opens} "
                f"{show(needed[0], unit)}; there are {len(owned)}, {len(short)} too few or too short",
                f"Get {_count(len(short), word)} {opens} {show(max(short), unit)} more, or close some of the joints in "
                "another stage", None, Amount(float(len(short)), ""), stage.joints, stage=stage.name))
    return found


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'s' * (number != 1)}"
