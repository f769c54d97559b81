"""Marks: the least that has to be drawn on a piece so that it goes in one way only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from assembly.contacts import GAP, touches
from assembly.turning_follows import free
from assembly.turning_pieces import Piece, lies, meeting
from model.frames import Frame, Vector, directions, inverse, points
from model.part import ALL

ROOM = 400.0
"""The least free area of a face that takes a pencil mark, mm²: 20 by 20 (common practice, no source)."""
STILL = 1.0 - 1e-6


@dataclass(frozen=True, eq=False)
class Marking:
    """A mark on the named face `place` of `part`: plain, or an arrow (unit, in the part's own frame) along it.

    `excludes` names the ways round that it rules out; `free` is how much of the face is to be seen as
    the piece goes in, mm². `towards` names the face at whose end of the piece the arrow points.
    """

    part: str
    place: str
    arrow: Vector | None
    towards: str
    excludes: tuple[str, ...]
    free: float


def marking(piece: Piece, turns: Sequence[Frame], names: Sequence[str]) -> Marking | None:
    """Return the least marking of a piece that excludes all of some turns of the world, None where no face is free.

    A plain mark does where every turn takes the face to another side, else it takes an arrow. Of
    the faces with ROOM the one with the most to see; plain before arrows. Left out: what a part that it
    meets then or before covers, and what a later cut takes away.
    """
    faces = [(area, -k, name, place) for k, name in enumerate(piece.parts) for place, area in _free(piece, name)]
    faces.sort(key=lambda f: (-round(f[0]), -f[1]))
    roomy = [f for f in faces if f[0] >= ROOM] or faces[:1]
    for area, _, name, place in roomy:
        if not any(_stays(piece, name, place, turn) for turn in turns):
            return Marking(name, place, None, "", tuple(names), area)
    for area, _, name, place in roomy[:1]:
        towards, arrow = _along(piece, name, place)
        return Marking(name, place, arrow, towards, tuple(names), area)
    return None


def _stays(piece: Piece, name: str, place: str, turn: Frame) -> bool:
    """Whether a face of a part looks the same way after a turn of the world."""
    out = (piece.session.at.frames[name] @ piece.session.at.part(name).blank.places[place])[:3, 2]
    return float(directions(turn, out) @ out) > STILL


def _along(piece: Piece, name: str, place: str) -> tuple[str, Vector]:
    """Return the face an arrow on a face points towards, and the arrow: along the grain where it can, else across."""
    places = piece.session.at.part(name).blank.places
    towards = "edge" if place in ("start", "end") else "end"
    out, way = places[place][:3, 2], places[towards][:3, 2]
    flat = way - out * float(way @ out)
    return towards, flat / np.linalg.norm(flat)


def _free(piece: Piece, name: str) -> list[tuple[str, float]]:
    """Return how much of each named face of a part is to be seen as its piece goes in, mm²."""
    session, part = piece.session, piece.session.at.part(name)
    covered = dict.fromkeys(part.blank.places, 0.0)
    own = lies(session.at, name, session.done)
    for other in _beside(piece, name):
        met, frame = meeting(own, lies(session.at, other, session.done))
        found = touches(met, GAP)
        back = inverse(own.frame) @ frame
        for area, centre, normal in zip(found.areas, points(back, found.centres), directions(back, found.normals),
                                        strict=True):
            for place, at in part.blank.places.items():
                if abs(float(normal @ at[:3, 2])) > STILL and abs(float((centre - at[:3, 3]) @ at[:3, 2])) < 0.1:
                    covered[place] += float(area)
    return [(place, min(free(part, place, session.done) - covered[place], free(part, place, ALL)))
            for place in part.blank.places]


def _beside(piece: Piece, name: str) -> list[str]:
    """Return the parts a part is joined to when its piece goes in."""
    inside, joints = set(piece.parts), piece.session.at.design.joints
    tied = [t.other for t in piece.now if t.own == name]
    if len(piece.parts) > 1:
        tied += [j.other(name) for j in joints if name in (j.a, j.b) and {j.a, j.b} <= inside]
    return list(dict.fromkeys(tied))
