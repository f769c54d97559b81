"""Mistakes of tenons and mortises other than in their thickness: their long way, loose ones, ends out of square."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from numpy.random import Generator

from assembly.findings import Kind
from model.as_cut import PartAsCut
from model.design import Design
from model.joint import Joint
from model.part import Part
from model.recut.cuts import cut_of, place_of
from tests.seeded.measured import Sized, cut, error, made, resized
from tests.seeded.mistake import Mistake
from tests.seeded.reasons import Tenoned, alone_along, placed, rails, shuffled, tenoned


def tenon_wide(design: Design, rng: Generator) -> Mistake | None:
    """A tenon wider than its mortise is long: it is in the wood by half the difference at either end."""
    def change(t: Tenoned) -> Sized:
        e = error(rng, 0.05, 1.5)
        return {"width": t.mortise.sizes["width"] + 2 * e}, e

    return resized(design, rng, "tenon too wide", "interference", "a", change,
                   takes=lambda t: alone_along(design.part[t.joint.b], t.joint, design, 5.0))


def mortise_narrow(design: Design, rng: Generator) -> Mistake | None:
    """A mortise shorter than its tenon is wide: the tenon is in the wood by half the difference at either end."""
    def change(t: Tenoned) -> Sized:
        e = error(rng, 0.05, 1.5)
        return {"width": t.tenon.sizes["width"] - 2 * e}, e

    return resized(design, rng, "mortise too narrow", "interference", "b", change)


def end_out_of_square(design: Design, rng: Generator) -> Mistake | None:
    """A rail's end out of square, tenon and all: its loop stays open by that angle.

    Where the rail's other end is left open instead, its seat is off by the chord that its length makes at that angle.
    """
    for rail, _, _ in rails(design, rng):
        e = round(float(rng.uniform(0.1, 2.0)), 3)
        lean = math.radians(e if rng.random() < 0.5 else -e)
        what = str(rng.choice(["start_angle", "end_angle"]))
        again = cut(design, PartAsCut(rail.name, **{what: lean}))
        found = made("rail end out of square", again, "gap", {rail.name}, e, "deg")
        chord = 2 * rail.blank.length * math.sin(math.radians(e) / 2)
        return found and replace(found, or_amounts=((chord, "mm"),))
    return None


@dataclass(frozen=True, eq=False)
class Loose:
    """A loose tenon on its own: the joint it belongs to, the piece, and how deep both its mortises are together, mm."""

    joint: Joint
    tenon: Part
    room: float


def loose(design: Design, rng: Generator) -> Iterator[Loose]:
    """Yield the loose tenons whose two mortises are blind, in a random order."""
    stand = placed(design).frames
    for joint in shuffled([j for j in design.joints if j.kind == "loose tenon"], rng):
        halves = [j for j in design.joints if j.of == joint.name]
        depths = [cut_of(design.part[n], joint) for n in (joint.a, joint.b)]
        if len(halves) == 2 and all(d is not None and "depth" in d.sizes for d in depths):
            tenon = design.part[halves[0].a]
            grain = stand[tenon.name][:3, :3] @ tenon.blank.grain
            if abs(grain @ (stand[joint.a] @ joint.seat_a)[:3, 2]) > 1 - 1e-9:
                yield Loose(joint, tenon, sum(d.sizes["depth"] for d in depths if d is not None))


def loose_tenon_long(design: Design, rng: Generator) -> Mistake | None:
    """A loose tenon longer than both its mortises are deep together: the pieces stay apart by the difference."""
    for it in loose(design, rng):
        e = error(rng, 0.1, 6.0)
        found = made("loose tenon too long", cut(design, PartAsCut(it.tenon.name, length=it.room + e)), "gap", set(), e)
        return found and replace(found, among=(frozenset({it.joint.a, it.joint.b}), frozenset({it.tenon.name})))
    return None


def loose_tenon_thick(design: Design, rng: Generator) -> Mistake | None:
    """A loose tenon planed too little: it lies in the middle of its mortises, and is in the wood on either side."""
    for it in loose(design, rng):
        mortise = cut_of(design.part[it.joint.a], it.joint)
        if mortise is None:
            continue
        e = error(rng, 0.05, 1.0)
        again = cut(design, PartAsCut(it.tenon.name, thickness=mortise.sizes["thickness"] + 2 * e))
        found = made("loose tenon too thick", again, "interference", {it.tenon.name}, e)
        return found and replace(found, among=(frozenset({it.joint.a}), frozenset({it.joint.b})))
    return None


def _planed(design: Design, rng: Generator, left: float, kind: Kind, name: str) -> Mistake | None:
    """Plane a part at its back until so much is left under a mortise in its face, less than nothing: it comes out."""
    for t in tenoned(design, rng):
        part = design.part[t.joint.b]
        sides = {place_of(part, j): j for j in design.joints if part.name in (j.a, j.b)}
        if part.blank.shape != "board" or place_of(part, t.joint) != "face" or "back" in sides:
            continue
        thickness = round(t.mortise.sizes["depth"] + left, 3)
        if thickness < part.blank.thickness - 0.1 and alone_along(part, t.joint, design, 15.0):
            return made(name, cut(design, PartAsCut(part.name, thickness=thickness)), kind, {part.name}, abs(left))
    return None


def planed_to_the_bottom(design: Design, rng: Generator) -> Mistake | None:
    """A part planed so thin that next to nothing closes a mortise at its bottom."""
    return _planed(design, rng, error(rng, 0.1, 0.9), "thin-wall", "planed to a thin bottom")


def planed_through(design: Design, rng: Generator) -> Mistake | None:
    """A part planed so thin that a mortise comes out at its back."""
    return _planed(design, rng, -error(rng, 0.1, 4.0), "exposed-joint", "planed through to a mortise")
