"""Structures to measure on: lattices and gateways of a wanted size, and pushes whose outcome is known by hand."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from assembly.placing import Assembly
from model.design import Design
from model.draft import Draft
from model.families import FAMILIES
from model.frames import Frame, X, Z, frame_of, move, turn
from model.joint import Joint
from model.part import Blank
from model.shapes.board import board
from model.stock import Stock, nominals, species

BAYS = (450.0, 600.0, 750.0)
"""Lengths of a lattice's rails between shoulders, mm, bay after bay."""
LEVEL = 150.0
"""Height from one rail of a lattice to the next, mm."""
DEPTH = 30.0
"""Depth of a lattice's tenons, mm: two from opposite sides stay clear of each other in an 89 mm post."""

Pair = frozenset[str]


def _stock(name: str) -> Stock:
    size = nominals()[name]
    return Stock(name, species()["Douglas-fir, coast"], size.thickness, size.width, size)


def lattice(parts: int, *, unlike: bool = False) -> Design:
    """Return posts in a row with rails tenoned between them on many levels: about `parts` parts, six shapes.

    `unlike`: each rail is ripped a thousandth of a millimetre narrower than the one before, so that no two are one
    shape and nothing that is worked out per shape is of use twice.
    """
    levels = max(2, round(math.sqrt(parts)) - 1)
    posts = round((parts + levels) / (levels + 1))
    draft = Draft(f"lattice of {parts}")
    post = board(_stock("4x4"), LEVEL * (levels + 1))
    rails = [board(_stock("2x4"), length) for length in BAYS]
    for i in range(posts):
        draft.add(f"post_{i}", post, group="post")
    for i in range(posts - 1):
        for level in range(levels):
            rail = rails[i % len(rails)]
            shaved = board(rail.stock, rail.length, rail.width - 1e-3 * (i * levels + level + 1)) if unlike else rail
            _rail(draft, i, level, shaved, post)
    draft.base, draft.base_frame = "post_0", frame_of((0, 0, 0), X, Z)
    return draft.finish()


def _rail(draft: Draft, bay: int, level: int, rail: Blank, post: Blank) -> None:
    name, height = f"rail_{bay}_{level}", LEVEL * (level + 1)
    draft.add(name, rail, group="rail")
    for end, side, other in (("start", "face", bay), ("end", "back", bay + 1)):
        draft.join(f"{name}_{end}", "blind tenon", name, f"post_{other}", rail.place(end),
                   post.place(side, along=height) @ turn(X, math.pi), sizes={"depth": DEPTH})


@dataclass(frozen=True)
class Push:
    """One part pushed out of place by hand, and the pairs that must interfere because of it."""

    part: str
    by: Frame
    harms: tuple[Pair, ...]


def pushes(assembly: Assembly, count: int, seed: int = 7) -> tuple[Push, ...]:
    """Return up to `count` pushes of parts held by two opposed tenons, no two of them in the same neighbour.

    In turn: along the axis, so that one shoulder is driven into its neighbour; sideways past
    the fit, so that both tenons are driven into a cheek; sideways within the fit, which harms nothing.
    """
    chosen = random.Random(seed)
    rails = list(_between_two(assembly).items())
    chosen.shuffle(rails)
    out: list[Push] = []
    taken: set[str] = set()
    for name, (one, other) in rails:
        if len(out) == count:
            break
        if not taken & {one.b, other.b}:
            taken |= {one.b, other.b}
            out.append(_push(assembly, name, one, other, len(out) % 3, chosen.choice((0.03, 0.05, 0.2, 1.0))))
    return tuple(out)


def _push(assembly: Assembly, name: str, one: Joint, other: Joint, kind: int, depth: float) -> Push:
    seat = assembly.seat(one)
    if kind == 0:
        return Push(name, move(*(depth * seat[:3, 2])), (frozenset({name, one.b}),))
    if kind == 1:
        return Push(name, move(*((one.fit + depth) * seat[:3, 1])),
                    (frozenset({name, one.b}), frozenset({name, other.b})))
    return Push(name, move(*(0.8 * one.fit * seat[:3, 1])), ())


def _between_two(assembly: Assembly) -> Mapping[str, tuple[Joint, Joint]]:
    by_part: dict[str, list[Joint]] = {}
    for joint in assembly.design.joints:
        by_part.setdefault(joint.a, []).append(joint)
        by_part.setdefault(joint.b, []).append(joint)
    return {
        name: (held[0], held[1]) for name, held in by_part.items()
        if len(held) == 2 and all(j.kind == "blind tenon" and j.a == name for j in held)
        and np.dot(assembly.axis(held[0]), assembly.axis(held[1])) < -1.0 + 1e-9
    }


def pushed(assembly: Assembly, done: tuple[Push, ...]) -> Assembly:
    """Return the assembly with its pushes made."""
    frames = dict(assembly.frames)
    for push in done:
        frames[push.part] = push.by @ frames[push.part]
    return Assembly(assembly.design, frames)


def gateway(parts: int) -> Design:
    """Return an arch gateway of about `parts` parts, up to 600: what its rails on 180 levels a leg make."""
    segments = min(47, max(9, parts // 12))
    fixed = 4 * segments + segments + 6
    rails = min(180, max(2, (parts - fixed) // 2))
    family = FAMILIES["arch gateway"]
    asked = {"segments_in_ring": 2 * segments + 2, "segments_per_arch": segments, "radius": 160.0 * segments + 300.0,
             "leg_length": 60.0 * rails + 400.0, "leg_rails": rails, "leg_rail_spacing": 60.0, "depth": 1500.0}
    stock = {"segment": _stock("2x6"), "leg": _stock("2x6"), "rail": _stock("2x2")}
    options = family.options.model_validate(asked, context={"unit": "mm"})
    return family.draft(f"gateway of {parts}", options, stock).finish()


STRUCTURES: Mapping[str, Callable[[int], Design]] = {"lattice": lattice, "gateway": gateway}
"""What is measured: for a wanted number of parts, a sound design of about that many."""
