"""The parts of the walk: what each is, in numbers and in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from assembly.alike import handed_pairs, marks
from assembly.rehearsal import Rehearsal
from exports import words
from exports.names import shown, shown_names
from exports.parts_list import wood
from exports.pictures.palette import tones
from exports.pieces import as_cut
from exports.walk.book import Book, Json, rows, vector
from exports.walk.joints import joints_of
from model.design import Design
from model.frames import Vector
from model.part import Part

STILL: Vector = np.zeros(3)


@dataclass(frozen=True, eq=False)
class _Known:
    """What is looked up for every part."""

    rehearsal: Rehearsal
    book: Book
    apart: Mapping[str, Vector]
    pencils: Mapping[str, Sequence[Json]]

    @cached_property
    def drawn(self) -> Design:
        """The design as drawn: what is written on the wood and cut from the board goes by it."""
        return self.rehearsal.design.drawn or self.rehearsal.design

    @cached_property
    def called(self) -> Mapping[str, str]:
        """Names that can be shown, no two alike."""
        return shown_names(p.name for p in self.rehearsal.design.parts)

    @cached_property
    def mark(self) -> Mapping[str, str]:
        """Marks by part."""
        return marks(self.drawn)

    @cached_property
    def mirror(self) -> Mapping[str, str]:
        """The mark of the mirror image by mark."""
        return {one.mark: other.mark for pair in handed_pairs(self.drawn) for one, other in (pair, pair[::-1])}

    @cached_property
    def tone(self) -> Mapping[str, tuple[int, int, int]]:
        """A shade of its wood for each part, as in the pictures."""
        return tones(self.rehearsal.design.parts)

    @cached_property
    def joints(self) -> Mapping[str, list[Json]]:
        """The joints of each part."""
        return joints_of(self.rehearsal, self.book)

    @cached_property
    def comes(self) -> Mapping[str, int]:
        """The first stage of each part."""
        found: dict[str, int] = {}
        for k, stage in enumerate(self.rehearsal.plan.stages):
            for name in stage.parts:
                found.setdefault(name, k)
        return found


def parts(rehearsal: Rehearsal, book: Book, apart: Mapping[str, Vector],
          pencils: Mapping[str, Sequence[Json]]) -> list[Json]:
    """Return every part; `apart`: how far each is drawn from home when all is spread apart, `pencils`: its marks."""
    known = _Known(rehearsal, book, apart, pencils)
    return [_part(part, known) for part in rehearsal.design.parts]


def _part(part: Part, known: _Known) -> Json:
    name, unit = part.name, known.rehearsal.design.unit
    frames, told = known.rehearsal.assembly.frames, known.drawn.part.get(part.name, part)
    gone = part.temporary or name not in frames
    mark = known.mark.get(name, "")
    return {
        "name": known.called[name], "mark": mark, "kind": shown(part.group) if part.group else "",
        "temporary": part.temporary, "tone": "#" + bytes(known.tone[name]).hex(),
        "shape": known.book.shape(part.finished), "home": None if gone else rows(frames[name]),
        "grain": vector(part.blank.grain, 6), "apart": vector(known.apart.get(name, STILL), 1),
        "size": words.size(as_cut(told), unit), "stock": wood(part), "mass": words.weight(part.mass, unit),
        "joints": known.joints.get(name, []), "stage": known.comes.get(name), "mirror": known.mirror.get(mark, ""),
        "pencil": list(known.pencils.get(name, ()))}
