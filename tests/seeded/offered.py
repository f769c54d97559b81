"""Mistakes of what stands where: turned, exchanged or mirrored parts, cuts never made."""

from __future__ import annotations

from numpy.random import Generator

from model.as_cut import CutAsCut, PartAsCut, Turned
from model.design import Design
from tests.seeded.measured import cut, made
from tests.seeded.mistake import Mistake, Plant
from tests.seeded.reasons import cured_by_a_turn, mirror_cured, same_wood, shuffled, staying, tenoned


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
            if one is other or one.blank.stock is not other.blank.stock or not near:
                continue
            again = cut(design, PartAsCut(one.name, exchanged_with=other.name))
            if again is None or same_wood(one, other):
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
    for t in tenoned(design, rng):
        again = cut(design, PartAsCut(t.joint.b, cuts=(CutAsCut(t.joint.name, left_out=True),)))
        return made("mortise never cut", again, "unmatched", {t.joint.a, t.joint.b})
    return None


def tenon_left_out(design: Design, rng: Generator) -> Mistake | None:
    """A tenon never cut: the end sawn off at its shoulder."""
    for t in tenoned(design, rng):
        again = cut(design, PartAsCut(t.joint.a, cuts=(CutAsCut(t.joint.name, left_out=True),)))
        return made("tenon never cut", again, "unmatched", {t.joint.a, t.joint.b})
    return None
