"""Sound designs: the zoo, the examples, and every family with parameters drawn at random, moved, mirrored, reordered.

They were chosen by how they are made, before any check had looked at them: whatever a family
drafts without refusing is sound.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from numpy.random import Generator, default_rng
from pydantic import ValidationError

from model.design import Design
from model.errors import DryfitError
from model.frames import move, snapped, turn
from model.reader import read
from tests import zoo

EXAMPLES = Path(__file__).parents[2] / "examples"
SOUND_EXAMPLES = ("orchard_gate", "quay_bench", "lantern_ring", "hive_stand", "net_rack")
TRIES = 50
"""So often are parameters drawn anew before a family is given up."""

Made = Callable[[], Design]


@cache
def example(name: str) -> Design:
    """Return an example by its name."""
    return read(EXAMPLES / f"{name}.toml")


def given() -> Iterator[tuple[str, Made]]:
    """Yield the designs that are written down: the zoo's and the examples."""
    for name, make in zoo.SOUND.items():
        yield f"zoo {name}", make
    for name in SOUND_EXAMPLES:
        yield f"example {name}", lambda name=name: example(name)


def drawn(count: int, seed: int) -> Iterator[tuple[str, Design]]:
    """Yield designs of the families with random parameters, each then moved, mirrored, reordered or left as it is."""
    rng = default_rng(seed)
    families = (_post_and_rail, _arch_gateway, _closed_ring)
    for k in range(count):
        design = _drafted(families[k % len(families)], rng)
        word, changed = CHANGES[k // len(families) % len(CHANGES)]
        yield f"{k} {design.name}, {word}", changed(design, rng)


def _drafted(options: Callable[[Generator], tuple[str, dict[str, Any]]], rng: Generator) -> Design:
    for _ in range(TRIES):
        family, asked = options(rng)
        try:
            return zoo.made(family, family, **asked)
        except (DryfitError, ValidationError):
            continue
    raise AssertionError(f"{options.__name__} was refused {TRIES} times")


def _post_and_rail(rng: Generator) -> tuple[str, dict[str, Any]]:
    across = int(rng.integers(1, 4))
    slats = int(rng.integers(0, 4)) if rng.random() < 0.4 and across > 1 else 0
    joints = ("blind tenon", "through tenon")
    return "post and rail", {
        "posts_along": int(rng.integers(2, 5)), "posts_across": across, "length": float(rng.integers(900, 3600)),
        "width": float(rng.integers(450, 1500)), "height": float(rng.integers(500, 1300)),
        "long_joint": str(rng.choice(joints)), "cross_joint": str(rng.choice(joints)), "slats": slats,
        "stages": bool(rng.random() < 0.7)}


def _arch_gateway(rng: Generator) -> tuple[str, dict[str, Any]]:
    ring = int(rng.choice([8, 10, 12, 14, 16, 18, 20]))
    return "arch gateway", {
        "segments_in_ring": ring, "segments_per_arch": int(rng.integers(max(2, ring // 3), ring // 2 + 1)),
        "radius": float(rng.integers(600, 1200)), "leg_length": float(rng.integers(700, 1600)),
        "band": float(rng.integers(60, 90)), "leg_rails": int(rng.integers(1, 4)),
        "depth": float(rng.integers(500, 1500))}


def _closed_ring(rng: Generator) -> tuple[str, dict[str, Any]]:
    joint = str(rng.choice(["half lap", "half lap", "loose tenon"]))
    segments = int(rng.integers(4, 9)) * 2 if joint == "loose tenon" else int(rng.integers(7, 14))
    return "closed ring", {
        "segments": segments, "radius": float(rng.integers(500, 900)), "segment_joint": joint,
        "curved": bool(rng.random() < 0.6), "posts": int(rng.choice([0, 0, 3, 4])), "post_stock": "rail"}


def moved(design: Design, rng: Generator) -> Design:
    """Return the design standing elsewhere on the same ground, turned about the upright."""
    frame = move(*rng.uniform(-5000, 5000, 2), 0.0) @ turn((0, 0, 1), float(rng.uniform(-math.pi, math.pi)))
    return replace(design, base_frame=snapped(frame @ design.base_frame))


def mirrored(design: Design, rng: Generator) -> Design:
    """Return the design in the mirror."""
    return design.in_the_mirror()


def reordered(design: Design, rng: Generator) -> Design:
    """Return the design with its parts and joints told in another order."""
    parts, joints = (tuple(things[k] for k in rng.permutation(len(things))) for things in (design.parts, design.joints))
    return replace(design, parts=parts, joints=joints)


def renamed(design: Design, rng: Generator) -> Design:
    """Return the design with its parts under other names, in no order."""
    other = {p.name: f"piece_{k}" for p, k in zip(design.parts, rng.permutation(len(design.parts)), strict=True)}
    return replace(design, base=other[design.base], parts=tuple(replace(p, name=other[p.name]) for p in design.parts),
                   joints=tuple(replace(j, a=other[j.a], b=other[j.b]) for j in design.joints),
                   flush=tuple(replace(f, a=other[f.a], b=other[f.b]) for f in design.flush))


CHANGES: tuple[tuple[str, Callable[[Design, Generator], Design]], ...] = (
    ("as drafted", lambda design, rng: design), ("moved", moved), ("mirrored", mirrored), ("reordered", reordered),
    ("renamed", renamed))


def varied(seed: int) -> Iterator[tuple[str, Design]]:
    """Yield the designs that are written down moved, mirrored, reordered and renamed."""
    rng = default_rng(seed)
    for name, make in given():
        for word, changed in CHANGES[1:]:
            yield f"{name}, {word}", changed(make(), rng)
