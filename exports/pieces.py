"""Pieces: the parts of a design gathered by what they are, and the whole they make."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assembly.placing import Assembly
from exports.names import shown
from model.design import Design
from model.frames import Vector, points
from model.part import Part


@dataclass(frozen=True)
class Alike:
    """Parts cut alike: the same solid out of the same stock, temporary all or none."""

    parts: tuple[Part, ...]

    @property
    def first(self) -> Part:
        """The first of them in the design's order."""
        return self.parts[0]

    @property
    def board_feet(self) -> float | None:
        """Board feet billed for all of them; None where their stock has no nominal size."""
        one = self.first.blank.stock.board_feet(self.first.cut_length)
        return None if one is None else one * len(self.parts)


def alike(design: Design) -> tuple[Alike, ...]:
    """Return the parts grouped by what is cut alike, in the design's order."""
    found: dict[tuple[bytes, str, bool], list[Part]] = {}
    for part in design.parts:
        found.setdefault((part.finished.key, part.blank.stock.name, part.temporary), []).append(part)
    return tuple(Alike(tuple(parts)) for parts in found.values())


def as_cut(part: Part) -> tuple[float, float, float]:
    """Return a part's length over its tenons, width and thickness as it leaves the machines, mm."""
    return part.cut_length, part.blank.width, part.blank.thickness


def staying(assembly: Assembly) -> tuple[str, ...]:
    """Return the placed parts that stay in the finished work; all placed parts where none stays."""
    stay = tuple(n for n in assembly.names if not assembly.part(n).temporary)
    return stay or assembly.names


def bounds(assembly: Assembly) -> NDArray[np.float64]:
    """Return the box around the finished work in the world, mm (2, 3)."""
    corners = [assembly.vertices(name) for name in staying(assembly)]
    return np.array([np.min([c.min(axis=0) for c in corners], axis=0),
                     np.max([c.max(axis=0) for c in corners], axis=0)])


def mass(assembly: Assembly) -> float:
    """Return the mass of the finished work, kg."""
    return float(sum(assembly.part(name).mass for name in staying(assembly)))


def centre_of_mass(assembly: Assembly) -> Vector:
    """Return the centre of mass of the finished work in the world, mm (3,)."""
    parts = [(assembly.part(name), assembly.frames[name]) for name in staying(assembly)]
    middles = np.array([points(frame, part.finished.centroid) for part, frame in parts])
    centre: Vector = np.average(middles, axis=0, weights=[part.mass for part, _ in parts])
    return centre


def called(parts: Sequence[Part]) -> str:
    """Return what to call parts cut alike: "rail_1 to rail_24" for an unbroken run of numbers, else a list."""
    names = [part.name for part in parts]
    run = _run(names)
    if run is not None:
        return run
    return ", ".join(shown(name) for name in names[:4]) + (f" and {len(names) - 4} more" if len(names) > 4 else "")


def _run(names: Sequence[str]) -> str | None:
    split = [re.fullmatch(r"(.*?)(\d{1,9})", name) for name in names]
    if len(names) < 3 or not all(split):
        return None
    stems = {m[1] for m in split if m}
    numbers = [int(m[2]) for m in split if m]
    if len(stems) > 1 or numbers != list(range(numbers[0], numbers[0] + len(names))):
        return None
    return f"{shown(names[0])} to {shown(names[-1])}"
