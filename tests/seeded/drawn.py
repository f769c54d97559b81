"""Mistakes of the drawing itself: joints forgotten, parts in each other's way, curves and feet cut too far."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.random import Generator

from model.design import Design
from model.frames import X, inverse, points, turn
from model.joint import Joint
from model.part import Feature, Part
from model.recut.cuts import cut_of
from model.shapes.board import board
from model.shapes.curve import sector
from model.solids import FAR, arc_steps, box
from tests.seeded.measured import error
from tests.seeded.mistake import Mistake
from tests.seeded.reasons import in_loops, placed, pocket_corners, rails, shuffled, staying
from tests.zoo import milled


def with_part(design: Design, part: Part) -> Design:
    """Return the design with one part in place of the one of its name."""
    return replace(design, parts=tuple(part if p.name == part.name else p for p in design.parts), drawn=design)


def joint_forgotten(design: Design, rng: Generator) -> Mistake | None:
    """A joint cut but never declared: the parts stand by their other joints, and touch unsaid."""
    good = [j for j in design.joints if j.kind == "blind tenon" and j.name in in_loops(design)]
    for joint in shuffled(good, rng):
        rest = tuple(j for j in design.joints if j is not joint)
        stages = tuple(replace(s, joints=tuple(n for n in s.joints if n != joint.name)) for s in design.stages)
        without = replace(design, joints=rest, stages=stages, drawn=design)
        return Mistake("joint never declared", without, ("unmatched",), frozenset({joint.a, joint.b}))
    return None


def tied_by_nothing(design: Design, rng: Generator) -> Mistake | None:
    """A part that no joint ties to the rest."""
    stray = Part("stray_piece", board(milled("offcut", 20.0, 60.0), float(rng.integers(100, 600))))
    return Mistake("tied by nothing", replace(design, parts=(*design.parts, stray)), ("unmatched",),
                   frozenset({"stray_piece"}))


def undeclared_clash(design: Design, rng: Generator) -> Mistake | None:
    """A stick glued along a rail runs into the post that the rail enters, by a known depth."""
    for rail, at_start, _ in rails(design, rng):
        post = design.part[at_start.b]
        if post.blank.shape != "board" or len(design.parts) > 80:
            continue
        depth, face = error(rng, 0.1, 10.0), str(rng.choice(["edge", "far_edge"]))
        stick = Part("stick", board(milled("stick", 12.0, 12.0), 60.0))
        seat_a = stick.blank.place("back")
        seat_b = rail.blank.place(face, along=-depth) @ turn(X, math.pi)
        glue = Joint("stick_glue", "glued face", "stick", rail.name, seat_a, seat_b)
        more = replace(design, parts=(*design.parts, stick), joints=(*design.joints, glue), stages=())
        if not _clear_but(more, "stick", {rail.name, post.name}) or not _over(more, post, rail, face, depth):
            continue
        return Mistake("undeclared clash", more, ("interference",), frozenset({"stick", post.name}), depth)
    return None


def _clear_but(design: Design, name: str, meant: set[str]) -> bool:
    """Whether a part stands clear of all but some, by boxes with a centimetre to spare."""
    stand = placed(design)
    low, high = (f(stand.vertices(name), axis=0) for f in (np.min, np.max))
    for part in design.parts:
        if part.name != name and part.name not in meant and not part.temporary:
            at = stand.vertices(part.name)
            if np.all(at.min(axis=0) < high + 10.0) and np.all(at.max(axis=0) > low - 10.0):
                return False
    return True


def _over(design: Design, post: Part, rail: Part, face: str, depth: float) -> bool:
    """Whether the post's blank, without any mortise near, has wood over all of the stick's end."""
    stand = placed(design).frames
    end = points(stand["stick"], np.array([(x, y, z) for x in (0.0, depth) for y in (-6.0, 6.0) for z in (-6.0, 6.0)]))
    at = points(inverse(stand[post.name]), end)
    low, high = post.blank.solid.bounds
    within = bool(np.all(at >= low - 1e-6) and np.all(at <= high + 1e-6))
    solid = box(at.min(axis=0), at.max(axis=0))
    return within and (solid.manifold - post.finished.manifold).volume() < 1.0


def _curved(design: Design, rng: Generator) -> tuple[Part, Feature, float] | None:
    """Return a segment sawn to a curve, its curve, and how far out its mortises reach from the ring's middle."""
    for part in shuffled([p for p in staying(design) if any(f.role == "curve" for f in p.features)], rng):
        curve = next(f for f in part.features if f.role == "curve")
        radii = []
        for joint in design.joints:
            if part.name in (joint.a, joint.b) and joint.of is None:
                cut = cut_of(part, joint)
                if cut is None or cut.kind != "pocket" or "depth" not in cut.sizes:
                    continue
                at = points(inverse(curve.frame), pocket_corners(cut, part))
                radii.append(float(np.hypot(at[:, 0], at[:, 1]).max()))
        if radii and all(f.role in ("curve", "mortise", "shoulder") for f in part.features):
            return part, curve, max(radii)
    return None


def _sawn(design: Design, rng: Generator, left: float) -> tuple[Design, Part, float] | None:
    found = _curved(design, rng)
    if found is None:
        return None
    part, curve, reach = found
    at = points(inverse(curve.frame), part.finished.mesh[0])
    inner, outer = float(np.hypot(at[:, 0], at[:, 1]).min()), reach + left
    if not inner + 20.0 < outer < float(np.hypot(at[:, 0], at[:, 1]).max()):
        return None
    half, high = float(np.abs(np.arctan2(at[:, 0], at[:, 1])).max()) * 1.5, 500.0
    ring = sector(outer, inner * 0.98, -half, half, -high, high, 4 * arc_steps(outer, half))
    tight = replace(curve, solid=ring.moved(curve.frame))
    again = replace(part, features=tuple(tight if f is curve else f for f in part.features))
    return with_part(design, again), again, left


def curve_leaves_little(design: Design, rng: Generator) -> Mistake | None:
    """A curve sawn so deep that little wood is left over a mortise."""
    left = round(float(rng.uniform(0.5, 9.5)), 2)
    made = _sawn(design, rng, left)
    return made and Mistake("curve leaves a thin cover", made[0], ("thin-wall",), frozenset({made[1].name}), left)


def curve_exposes(design: Design, rng: Generator) -> Mistake | None:
    """A curve sawn so deep that a mortise comes out."""
    out = round(float(rng.uniform(0.3, 4.0)), 2)
    made = _sawn(design, rng, -out)
    return made and Mistake("curve exposes a joint", made[0], ("exposed-joint",), frozenset({made[1].name}))


def foot_short(design: Design, rng: Generator) -> Mistake | None:
    """A foot drawn too short: with the others on the ground one foot stands off it by as much."""
    stand = placed(design).frames
    feet = [p for p in staying(design) if p.blank.shape == "board"
            and (stand[p.name] @ p.blank.places["start"])[2, 2] < -1 + 1e-9
            and abs((stand[p.name] @ p.blank.places["start"])[2, 3]) < 1e-6
            and not any(f.solid.bounds[0][0] < 12.0 for f in p.features)]
    for part in shuffled(feet, rng) if len(feet) == 4 else ():
        e = error(rng, 0.2, 6.0)
        saw = Feature("foot sawn off", "cut", box((-5.0, -FAR / 100, -FAR / 100), (e, FAR / 100, FAR / 100)), "foot")
        short = replace(part, features=(*part.features, saw))
        return Mistake("foot too short", replace(with_part(design, short), drawn=None), ("proud",),
                       frozenset({part.name}), e)
    return None


