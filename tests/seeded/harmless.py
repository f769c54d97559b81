"""Sound work as cut: what was measured differs in nothing that matters, so the checks have nothing to say.

Values measured as drawn, pieces turned or exchanged that are the same wood, mortises with some more room below.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from numpy.random import Generator, default_rng

from model.as_cut import CutAsCut, PartAsCut
from model.design import Design
from model.measurable import worth_measuring
from model.part import Part
from model.recut import recut
from model.recut.wood import TURNS, in_place_of, mirrored_wood, turned_wood
from tests.seeded.reasons import shuffled, staying, tenoned

SAME = 1e-3
"""Two solids that share all but less wood than this, mm³, are one."""
BEHIND = 25.0
"""A mortise made a little deeper leaves at least so much wood behind it, mm."""

Harmless = Callable[[Design, Generator], Design | None]


def the_same(one: Part, other: Part) -> bool:
    """Whether two parts are the same wood where they lie, exactly."""
    a, b = one.finished.manifold, other.finished.manifold
    return bool((a - b).volume() < SAME and (b - a).volume() < SAME)


def measured_as_drawn(design: Design, rng: Generator) -> Design | None:
    """Everything was measured, and everything came out as drawn."""
    by_part: dict[str, dict[str, dict[str, float]]] = {}
    for m in worth_measuring(design):
        by_part.setdefault(m.part, {}).setdefault(m.joint, {})[m.what] = m.drawn
    return recut(design, [PartAsCut(part, **cuts.pop("", {}), cuts=tuple(CutAsCut(j, **v) for j, v in cuts.items()))
                          for part, cuts in by_part.items()])


def turned_onto_itself(design: Design, rng: Generator) -> Design | None:
    """A part turned in a way that makes no difference to it."""
    for part in shuffled(staying(design), rng):
        for way in TURNS:
            if the_same(turned_wood(part, way), part):
                return recut(design, [PartAsCut(part.name, turned=way)])
    return None


def mirrored_onto_itself(design: Design, rng: Generator) -> Design | None:
    """A part made as its own mirror image, which it is."""
    for part in shuffled(staying(design), rng):
        if the_same(mirrored_wood(part), part):
            return recut(design, [PartAsCut(part.name, mirrored=True)])
    return None


def exchanged_with_its_like(design: Design, rng: Generator) -> Design | None:
    """Two parts that are the same change places."""
    for one in shuffled(staying(design), rng):
        for other in shuffled(staying(design), rng):
            if one is not other and the_same(one, other) and the_same(in_place_of(one, other), one):
                return recut(design, [PartAsCut(one.name, exchanged_with=other.name)])
    return None


def mortise_with_more_room(design: Design, rng: Generator) -> Design | None:
    """A mortise half a millimetre to a millimetre deeper than drawn, with plenty of wood behind."""
    for t in tenoned(design, rng):
        blank = design.part[t.joint.b].blank
        if blank.shape != "board" or t.mortise.sizes["depth"] + BEHIND > min(blank.width, blank.thickness):
            continue
        deeper = CutAsCut(t.joint.name, depth=t.mortise.sizes["depth"] + float(rng.uniform(0.5, 1.0)))
        return recut(design, [PartAsCut(t.joint.b, cuts=(deeper,))])
    return None


HARMLESS: dict[str, Harmless] = {f.__name__.replace("_", " "): f for f in (
    measured_as_drawn, turned_onto_itself, mirrored_onto_itself, exchanged_with_its_like, mortise_with_more_room)}


def as_cut(designs: Iterator[tuple[str, Design]], seed: int) -> Iterator[tuple[str, Design]]:
    """Yield sound designs as cut, each way with every design that takes it."""
    rng = default_rng(seed)
    for name, design in designs:
        for word, change in HARMLESS.items():
            if (made := change(design, rng)) is not None:
                yield f"{name}, {word}", made
