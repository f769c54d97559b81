"""Clamps and blocks of a stage as bodies, in its shop frame, with the steps during which they are there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from assembly.plan import Clamp, Point
from exports import words
from exports.pictures.clamping import BLOCK, BOTTOM, PAD, SCREW, SMALLEST, STEEL, blocks, clamp_body
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
    stage, many = laid.stage, len(laid.stage.clamps)
    fine = math.ceil(10.0 * SMALLEST * laid.size / PIXELS) / 10.0 / SMALLEST
    beneath = blocks(_lowest(laid), stage.rest.blocks, fine) if laid.names else []
    found = [(piece, "block", (when.first, when.end, 0.0), f"block, {words.tape(stage.rest.blocks, unit)} high")
             for piece in beneath]
    for k, clamp in enumerate(stage.clamps):
        turned, there = _turned(clamp, laid.frame), (when.clamps, when.off, round((k + 0.5) / (many + 0.5), 4))
        for piece in clamp_body(turned, laid.there, stage.done, fine, f"clamp {k}", parted=True):
            look = "band" if clamp.kind == "band" else LOOKS.get(piece.tone, "bar")
            found.append((piece, look, there, _said(clamp, look, unit)))
    at = rows(np.array([piece.frame for piece, *_ in found]).reshape(-1, 4, 4))
    return [{"kind": look, "shape": book.shape(piece.solid), "at": frame, "from": first, "to": end, "share": share,
             "says": said} for (piece, look, (first, end, share), said), frame in zip(found, at, strict=True)]


def _lowest(laid: Laid) -> list[Piece]:
    """Return the parts that lie on the blocks."""
    low = np.flatnonzero(laid.low[:, 2] < laid.low[:, 2].min() + BOTTOM).tolist()
    return [Piece(laid.names[k], laid.solids[k], laid.frames[k], BLOCK, WOOD_EDGE) for k in low]


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
