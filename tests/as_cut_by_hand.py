"""Designs as cut, made by hand: a part planed, ripped, shortened or joined off its place, its drawing beside it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from model.design import Design
from model.frames import move
from model.part import Part
from model.solids import box

FAR = 1e4


def as_cut(design: Design, changes: Mapping[str, Callable[[Part], Part]]) -> Design:
    """Return the design with parts changed, and the drawing it comes from."""
    parts = tuple(changes[p.name](p) if p.name in changes else p for p in design.parts)
    return replace(design, parts=parts, drawn=design)


def smaller(part: Part, *, face: float = 0.0, back: float = 0.0, edge: float = 0.0, far_edge: float = 0.0,
            end: float = 0.0, start: float = 0.0) -> Part:
    """Return a part with so many mm taken off its sides, its places moved with them; negative: it came out larger."""
    blank = part.blank
    low, high = np.full(3, -FAR), np.full(3, FAR)
    middle = blank.solid.bounds
    for axis, one, other in ((0, start, end), (1, far_edge, edge), (2, back, face)):
        if one > 0:
            low[axis] = middle[0][axis] + one
        if other > 0:
            high[axis] = middle[1][axis] - other
    solid = blank.solid.kept(box(low, high))
    grown = {"face": -face, "back": -back, "edge": -edge, "far_edge": -far_edge, "end": -end, "start": -start}
    for name, mm in grown.items():
        if mm > 0:
            way = blank.places[name][:3, 2]
            solid = solid.joined(blank.solid.moved(move(*(mm * way))))
    places = {n: move(*(grown[n] * f[:3, 2])) @ f if n in grown else f for n, f in blank.places.items()}
    return replace(part, blank=replace(blank, solid=solid, places=places, length=blank.length - start - end,
                                       width=blank.width - edge - far_edge, thickness=blank.thickness - face - back))


def shifted(design: Design, joint: str, *, x: float = 0.0, y: float = 0.0) -> Design:
    """Return the design as cut with a joint's cuts on part b moved along its seat, mm."""
    drawn = design if design.drawn is None else design.drawn
    seat = design.joint[joint].seat_b
    by = seat @ move(x, y) @ np.linalg.inv(seat)

    def moved(part: Part) -> Part:
        return replace(part, features=tuple(
            replace(f, solid=f.solid.moved(by), frame=by @ f.frame) if f.joint == joint else f for f in part.features))

    joints = tuple(replace(j, seat_b=by @ j.seat_b) if j.name == joint else j for j in design.joints)
    b = design.joint[joint].b
    parts = tuple(moved(p) if p.name == b else p for p in design.parts)
    return replace(design, parts=parts, joints=joints, drawn=drawn)
