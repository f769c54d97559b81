"""Clamps and blocks of a stage as bodies, in its shop frame, with the steps during which they are there."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from assembly.placing import Assembly
from assembly.plan import Clamp, Stage
from exports import words
from exports.pictures.clamping import BLOCK, PAD, STEEL, blocks, clamp_body
from exports.pictures.palette import WOOD_EDGE
from exports.pictures.scene import Piece
from exports.walk.book import Book, Json, rows
from model.frames import Frame

PIXELS = 900.0
"""A clamp is drawn as slender as it can be seen when the work fills so many pixels."""
LOOKS = {STEEL: "bar", PAD: "pad", BLOCK: "block"}
"""What a body of a clamp is, by the colour the pictures give it."""


def things(stage: Stage, there: Assembly, frame: Frame, book: Book, unit: str, when: Any) -> list[Json]:
    """Return clamps and blocks; `there` stands in the shop frame, `frame` carries the finished work's world into it.

    `when`: the steps of the stage by what they are (`first`, `clamps`, `off`).
    """
    work = [Piece(n, there.solid(n, stage.done), there.frames[n], BLOCK, WOOD_EDGE) for n in stage.parts]
    size = float(np.linalg.norm(np.ptp(np.vstack([p.vertices for p in work]), axis=0))) if work else 1000.0
    found = [_thing("block", piece, book, (when.first, when.off, 0.0), f"block, {words.tape(stage.rest.blocks, unit)}")
             for piece in blocks(work, stage.rest.blocks, size / PIXELS)]
    many = len(stage.clamps)
    for k, clamp in enumerate(stage.clamps):
        turned = _turned(clamp, frame)
        share = round((k + 0.5) / (many + 0.5), 4)
        for piece in clamp_body(turned, there, stage.done, size / PIXELS, f"clamp {k}"):
            look = "band" if clamp.kind == "band" else LOOKS.get(piece.tone, "bar")
            found.append(_thing(look, piece, book, (when.clamps, when.off, share), _said(clamp, unit)))
    return found


def _thing(look: str, piece: Piece, book: Book, when: tuple[int, int, float], said: str) -> Json:
    return {"kind": look, "shape": book.shape(piece.solid), "at": rows(piece.frame), "from": when[0], "to": when[1],
            "share": when[2], "says": said}


def _said(clamp: Clamp, unit: str) -> str:
    length = words.tape(clamp.opening, unit)
    return f"band, {length} long" if clamp.kind == "band" else f"bar clamp, {length} open"


def _turned(clamp: Clamp, frame: Frame) -> Clamp:
    """Return a clamp as it sits on the work that lies on bench or floor."""
    foot, head = (frame[:3, :3] @ np.asarray(at) + frame[:3, 3] for at in (clamp.foot, clamp.head))
    side = frame[:3, :3] @ np.asarray(clamp.side)
    if not math.isfinite(float(side.sum())):
        side = np.zeros(3)
    return replace(clamp, foot=tuple(foot.tolist()), head=tuple(head.tolist()), side=tuple(side.tolist()))
