"""Mistakes of laps and housings: floors too deep or too shallow, openings too narrow."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from numpy.random import Generator

from model.as_cut import CutAsCut, PartAsCut
from model.design import Design
from model.joint import Joint
from model.part import Part
from model.recut.cuts import Cut, cut_of
from tests.seeded.measured import cut, error, made
from tests.seeded.mistake import Mistake
from tests.seeded.reasons import in_loops, shuffled

LAPS = ("half lap", "cross lap", "housing")


def floors(design: Design, rng: Generator) -> Iterator[tuple[Part, Joint, Cut]]:
    """Yield the laps and housings of pieces that stay, on joints that lie on a loop, in a random order."""
    for joint in shuffled([j for j in design.joints if j.kind in LAPS and j.name in in_loops(design)], rng):
        for name in shuffled([joint.a, joint.b], rng):
            found = cut_of(design.part[name], joint)
            if found is not None and found.kind == "floor" and "depth" in found.sizes:
                yield design.part[name], joint, found
                break


def _floor(design: Design, rng: Generator, sign: int, name: str) -> Mistake | None:
    for part, joint, floor in floors(design, rng):
        e = error(rng, 0.1, min(4.0, 0.3 * floor.sizes["depth"]))
        again = cut(design, PartAsCut(part.name, cuts=(CutAsCut(joint.name, depth=floor.sizes["depth"] + sign * e),)))
        found = made(name, again, ("gap", "proud"), set(), e)
        return found and replace(found, among=(frozenset({joint.a, joint.b}),))
    return None


def lap_shallow(design: Design, rng: Generator) -> Mistake | None:
    """A lap or a housing not deep enough: the piece in it stands that much too high, and its loop stays open by it."""
    return _floor(design, rng, -1, "lap too shallow")


def lap_deep(design: Design, rng: Generator) -> Mistake | None:
    """A lap or a housing too deep: the piece in it lies that much too low, and its loop stays open by it."""
    return _floor(design, rng, 1, "lap too deep")


def lap_narrow(design: Design, rng: Generator) -> Mistake | None:
    """A lap narrower than the piece that lies in it: that is in the wood by half the difference on either side."""
    for joint in shuffled([j for j in design.joints if j.kind in ("cross lap", "housing")], rng):
        for name in shuffled([joint.a, joint.b], rng):
            opening = cut_of(design.part[name], joint)
            if opening is None or opening.kind != "floor" or "width" not in opening.sizes:
                continue
            e, mate = error(rng, 0.05, 1.0), opening.sizes["width"] - 2 * joint.fit
            tight = CutAsCut(joint.name, width=mate - 2 * e)
            return made("lap too narrow", cut(design, PartAsCut(name, cuts=(tight,))), "interference",
                        {joint.a, joint.b}, e)
    return None
