"""Pieces: what a part is cut to and billed for, and the whole that the parts make."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.placing import Assembly
from assembly.standing import standing
from model.frames import Vector, points
from model.part import Part


def board_feet(parts: Sequence[Part]) -> float | None:
    """Return the board feet billed for some parts; None where no stock of theirs has a nominal size."""
    feet = [f for part in parts if (f := part.blank.stock.board_feet(part.cut_length)) is not None]
    return sum(feet) if feet else None


def as_cut(part: Part) -> tuple[float, float, float]:
    """Return a part's length over its tenons, width and thickness as it leaves the machines, mm."""
    return part.cut_length, part.blank.width, part.blank.thickness


def staying(assembly: Assembly) -> tuple[str, ...]:
    """Return the placed parts that stay in the finished work; all placed parts where none stays."""
    stay = tuple(n for n in assembly.names if not assembly.part(n).temporary)
    return stay or assembly.names


@lru_cache(maxsize=16)
def bounds(assembly: Assembly) -> NDArray[np.float64]:
    """Return the box around the finished work in the world, mm (2, 3), not to be written to."""
    there = standing(assembly, names=staying(assembly))
    box = np.array([there.low.min(axis=0), there.high.max(axis=0)])
    box.setflags(write=False)
    return box


def mass(assembly: Assembly) -> float:
    """Return the mass of the finished work, kg."""
    return float(sum(assembly.part(name).mass for name in staying(assembly)))


def centre_of_mass(assembly: Assembly) -> Vector:
    """Return the centre of mass of the finished work in the world, mm (3,)."""
    parts = [(assembly.part(name), assembly.frames[name]) for name in staying(assembly)]
    middles = np.array([points(frame, part.finished.centroid) for part, frame in parts])
    centre: Vector = np.average(middles, axis=0, weights=[part.mass for part, _ in parts])
    return centre
