"""Pencil marks against turning: what to mark on which part, and where."""

from __future__ import annotations

from assembly.rehearsal import Rehearsal
from exports.pictures.marks import rows, spot_of
from exports.walk.book import Json, vector
from model.frames import unit


def pencils(rehearsal: Rehearsal) -> dict[str, list[Json]]:
    """Return the marks to pencil on each part, in its own frame."""
    found: dict[str, list[Json]] = {}
    design = rehearsal.design.drawn or rehearsal.design
    for row in rows(rehearsal.assembly):
        for name in row.parts:
            part = design.part[name]
            face = part.blank.places[row.place]
            arrow = None
            if row.towards:
                way = part.blank.places[row.towards][:3, 2]
                arrow = vector(unit(way - face[:3, 2] * float(way @ face[:3, 2])), 6)
            at = spot_of(part, face)
            found.setdefault(name, []).append({"at": vector(at), "out": vector(face[:3, 2], 6), "arrow": arrow,
                                               "says": f"{row.says[0].upper()}{row.says[1:]}."})
    return found
