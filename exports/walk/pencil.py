"""Pencil marks against turning: what to mark on which part, and where on it."""

from __future__ import annotations

from collections.abc import Mapping

from assembly.rehearsal import Rehearsal
from assembly.turning_marks import Marking
from exports.pictures.pencilling import Row, rows, spot_on
from exports.walk.book import Json, vector
from exports.words import sentence
from model.part import Part


def pencils(rehearsal: Rehearsal) -> dict[str, list[Json]]:
    """Return the marks to pencil on each part, in its own frame: `Pencil` of walk.ts, by the parts' names."""
    design = rehearsal.design.drawn or rehearsal.design
    return {name: [_pencil(row, design.part[name]) for row in own] for name, own in marked(rehearsal).items()}


def marked(rehearsal: Rehearsal) -> Mapping[str, list[Row]]:
    """Return the marks of each part, in the order in which `pencils` has them."""
    found: dict[str, list[Row]] = {}
    for row in rows(rehearsal.assembly):
        for name in row.parts:
            found.setdefault(name, []).append(row)
    return found


def number_of(marking: Marking, known: Mapping[str, list[Row]]) -> int | None:
    """Return which of the marks of its part a marking is, counted from 0."""
    own = known.get(marking.part, ())
    return next((k for k, row in enumerate(own) if (row.place, row.towards) == (marking.place, marking.towards)), None)


def _pencil(row: Row, part: Part) -> Json:
    face, arrow = part.blank.places[row.place], row.arrow(part)
    return {"at": vector(spot_on(part, face)), "out": vector(face[:3, 2], 6),
            "arrow": None if arrow is None else vector(arrow, 6), "says": sentence(row.says)}
