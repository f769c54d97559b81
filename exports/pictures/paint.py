"""Who wears what: new pieces in their wood, earlier work pale, temporary pieces hatched."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from assembly.placing import Assembly
from exports.pictures.palette import (
    PALE,
    PALE_EDGE,
    SKY,
    TEMPORARY,
    TEMPORARY_EDGE,
    WOOD_EDGE,
    Colour,
    mixed,
    tones,
)
from exports.pictures.scene import Piece
from exports.pictures.spread import Offsets
from model.frames import move
from model.part import ALL


@dataclass(frozen=True, eq=False)
class Paint:
    """The colours of one rehearsal."""

    assembly: Assembly
    tone: dict[str, Colour]

    def wood(self, name: str, offsets: Offsets | None = None, done: frozenset[str] = ALL) -> Piece:
        """Return a part in its wood (hatched when it is temporary), drawn off its home."""
        if self.assembly.part(name).temporary:
            return self._piece(name, offsets, done, TEMPORARY, TEMPORARY_EDGE, SKY, 0.0)
        return self._piece(name, offsets, done, self.tone[name], WOOD_EDGE, None, 0.17)

    def glued(self, name: str, offsets: Offsets | None = None, done: frozenset[str] = ALL) -> Piece:
        """Return a part of earlier work, pale (hatched when it is temporary)."""
        if self.assembly.part(name).temporary:
            return self._piece(name, offsets, done, mixed(TEMPORARY, PALE, 0.5), PALE_EDGE, mixed(SKY, PALE, 0.4), 0.0)
        return self._piece(name, offsets, done, mixed(PALE, self.tone[name], 0.10), PALE_EDGE, None, 0.035)

    def _piece(self, name: str, offsets: Offsets | None, done: frozenset[str], tone: Colour, edge: Colour,
               hatch: Colour | None, grain: float) -> Piece:
        frame = self.assembly.frames[name]
        if offsets is not None and name in offsets:
            frame = move(*offsets[name]) @ frame
        return Piece(name, self.assembly.solid(name, done), frame, tone, edge, hatch, grain, grain > 0.1)


def paint(assembly: Assembly) -> Paint:
    """Return the colours of an assembly."""
    return Paint(assembly, tones(assembly.design.parts))


def reach(pieces: Sequence[Piece]) -> np.ndarray:
    """Return all corners (N, 3) of pieces in the world."""
    return np.vstack([p.vertices for p in pieces])
