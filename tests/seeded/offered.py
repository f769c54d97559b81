"""Mistakes of what stands where: turned, exchanged or mirrored parts, cuts never made."""

from __future__ import annotations

from dataclasses import replace

import networkx as nx
from numpy.random import Generator

from model.as_cut import CutAsCut, PartAsCut, Turned
from model.design import Design
from tests.seeded.measured import cut, made
from tests.seeded.mistake import Mistake, Plant
from tests.seeded.reasons import cured_by_a_turn, mirror_cured, rails, same_wood, shuffled, staying, tenoned


def turned(way: Turned) -> Plant:
    """Return a planter of parts turned in one way."""
    def plant(design: Design, rng: Generator) -> Mistake | None:
        for part in shuffled(staying(design), rng):
            again = cut(design, PartAsCut(part.name, turned=way))
            if again is not None and not same_wood(again.part[part.name], part):
                return made(f"turned {way}", again, "backwards", {part.name})
        return None

    plant.__doc__ = f"A part goes in turned {way}."
    return plant


def exchanged(design: Design, rng: Generator) -> Mistake | None:
    """Two parts of one size and stock change places, and their joints are not the same."""
    parts = staying(design)
    for one in shuffled(parts, rng):
        for other in shuffled(parts, rng):
            near = all(abs(getattr(one.blank, s) - getattr(other.blank, s)) < 5.0
                       for s in ("length", "width", "thickness"))
            if one is other or one.blank.stock is not other.blank.stock or not near or same_wood(one, other):
                continue
            again = cut(design, PartAsCut(one.name, exchanged_with=other.name))
            if again is None:
                continue
            if cured_by_a_turn(again.part[one.name], one):
                return made("exchange of look-alikes", again, "backwards", {one.name})
            kind = "handed" if mirror_cured(again.part[one.name], one) else "look-alike"
            return made("exchange of look-alikes", again, kind, {one.name, other.name})
    return None


def mirrored(design: Design, rng: Generator) -> Mistake | None:
    """A part made as its own mirror image."""
    for part in shuffled(staying(design), rng):
        again = cut(design, PartAsCut(part.name, mirrored=True))
        if again is None or same_wood(again.part[part.name], part):
            continue
        kind = "backwards" if cured_by_a_turn(again.part[part.name], part) else "handed"
        return made("made as its mirror image", again, kind, {part.name})
    return None


def mortise_left_out(design: Design, rng: Generator) -> Mistake | None:
    """A mortise never cut."""
    for t in tenoned(design, rng, through=True):
        again = cut(design, PartAsCut(t.joint.b, cuts=(CutAsCut(t.joint.name, left_out=True),)))
        return made("mortise never cut", again, "unmatched", {t.joint.a, t.joint.b})
    return None


def tenon_left_out(design: Design, rng: Generator) -> Mistake | None:
    """A tenon never cut: the end sawn off at its shoulder."""
    for t in tenoned(design, rng, through=True):
        again = cut(design, PartAsCut(t.joint.a, cuts=(CutAsCut(t.joint.name, left_out=True),)))
        return made("tenon never cut", again, "unmatched", {t.joint.a, t.joint.b})
    return None


def rail_forgotten(design: Design, rng: Generator) -> Mistake | None:
    """A rail never made at all: the posts stand by their other joints, with mortises that nothing goes into."""
    for rail, at_start, at_end in rails(design, rng):
        if at_start.kind != "blind tenon" or _needed(design, rail.name):
            continue
        gone = {at_start.name, at_end.name}
        stages = tuple(replace(s, joints=tuple(n for n in s.joints if n not in gone)) for s in design.stages)
        parts = tuple(p for p in design.parts if p is not rail)
        joints = tuple(j for j in design.joints if j.name not in gone)
        posts = (frozenset({at_start.b}), frozenset({at_end.b}))
        without = replace(design, parts=parts, joints=joints, stages=stages)
        return Mistake("rail never made", without, ("unmatched",), frozenset(), among=posts)
    return None


def _needed(design: Design, name: str) -> bool:
    """Whether the rest stands where it does only by a part, or something else is made for it."""
    web = nx.Graph((j.a, j.b) for j in design.joints if name not in (j.a, j.b))
    others = {p.name for p in design.parts} - {name}
    named = any(name in (f.part, f.other) for f in design.flush)
    return design.base == name or named or set(web) != others or not nx.is_connected(web)
