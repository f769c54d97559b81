"""Clamps and blocks of a stage as bodies, in its shop frame, with the steps during which they are there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from assembly.plan import Clamp, Point
from exports import words
from exports.pictures.clamping import BLOCK, PAD, SCREW, STEEL, blocks, clamp_body
from exports.pictures.palette import WOOD_EDGE
from exports.pictures.scene import Piece
from exports.walk.book import Book, Json, rows
from exports.walk.laid import Laid
from model.frames import Frame

PIXELS = 900.0
"""A clamp is drawn as slender as it can be seen when the work fills so many pixels."""
LOOKS = {STEEL: "bar", SCREW: "screw", PAD: "pad", BLOCK: "block"}
"""What a body of a clamp is, by the colour the pictures give it."""


@dataclass(frozen=True)
class When:
    """The steps (indices in the whole walk) at which things of a stage come and go."""

    first: int
    clamps: int
    off: int
    end: int


def things(laid: Laid, book: Book, unit: str, when: When) -> list[Json]:
    """Return the blocks beneath the work, and its clamps one after another."""
    stage, fine = laid.stage, laid.size / PIXELS
    high = stage.rest.blocks
    found = []
    if high > 0:
        work = [Piece(n, solid, frame, BLOCK, WOOD_EDGE)
                for n, solid, frame in zip(laid.names, laid.solids, laid.frames, strict=True)]
        said = f"block, {words.tape(high, unit)} high"
        found = [_thing("block", piece, book, (when.first, when.end, 0.0), said) for piece in blocks(work, high, fine)]
    for k, clamp in enumerate(stage.clamps):
        share = round((k + 0.5) / (len(stage.clamps) + 0.5), 4)
        turned = _turned(clamp, laid.frame)
        for piece in clamp_body(turned, laid.there, stage.done, fine, f"clamp {k}", parted=True):
            look = "band" if clamp.kind == "band" else LOOKS.get(piece.tone, "bar")
            found.append(_thing(look, piece, book, (when.clamps, when.off, share), _said(clamp, look, unit)))
    return found


def _thing(look: str, piece: Piece, book: Book, when: tuple[int, int, float], said: str) -> Json:
    return {"kind": look, "shape": book.shape(piece.solid), "at": rows(piece.frame), "from": when[0], "to": when[1],
            "share": when[2], "says": said}


def _said(clamp: Clamp, look: str, unit: str) -> str:
    length = words.tape(clamp.opening, unit)
    told = {"band": f"band, {length} long", "bar": f"bar clamp, {length} open",
            "block": f"stiff block, {words.tape(clamp.block, unit)}"}
    return told.get(look, "")


def _turned(clamp: Clamp, frame: Frame) -> Clamp:
    """Return a clamp as it sits on the work that lies on bench or floor."""
    return replace(clamp, foot=_point(frame, clamp.foot), head=_point(frame, clamp.head),
                   side=_way(frame, clamp.side))


def _point(frame: Frame, at: Sequence[float]) -> Point:
    x, y, z = (frame[:3, :3] @ np.asarray(at) + frame[:3, 3]).tolist()
    return x, y, z


def _way(frame: Frame, way: Sequence[float]) -> Point:
    x, y, z = (frame[:3, :3] @ np.asarray(way)).tolist()
    return (x, y, z) if math.isfinite(x + y + z) else (0.0, 0.0, 0.0)
