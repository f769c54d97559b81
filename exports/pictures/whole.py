"""The whole as it will stand, and the whole drawn apart along its motions."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from assembly.rehearsal import Rehearsal
from exports.names import shown
from exports.pictures.camera import HEIGHT, WIDTH, Box, Camera, framed, looking
from exports.pictures.captions import labelled
from exports.pictures.inking import grounded, inked
from exports.pictures.measures import Size, dimension, ground_bar, lettered, overall
from exports.pictures.named import name_all
from exports.pictures.paint import Paint, reach
from exports.pictures.palette import SKY, TEMPORARY, TEMPORARY_EDGE
from exports.pictures.scene import Canvas
from exports.pictures.sheet import MARGIN, Sheet
from exports.pictures.spread import spread
from exports.pieces import bounds, mass, staying
from exports.words import count, weight
from exports.words import overall as across

ROOM: Box = (100.0, 190.0, WIDTH - 100.0, HEIGHT - 150.0)
"""Where the work is drawn, pixels."""
LABELS: Box = (MARGIN - 20.0, 170.0, WIDTH - MARGIN + 20.0, HEIGHT - 92.0)
"""Where labels may stand, pixels."""
HEIGHT_ABOVE, ABOVE_FLAT = math.radians(21.0), math.radians(42.0)
"""How high the camera stands over the work, and over work that is hardly taller than a table top."""
FLAT = 0.15
"""Work is flat when its height is less than this share of its smaller side."""


def standpoint(box: NDArray[np.float64], directions: Sequence[Sequence[float]] = ()) -> Camera:
    """Return the camera's way of looking at a box (2, 3) from the front, right being +x and away +y.

    A wide whole is seen nearly square on, a deep one more from the side, a flat one from higher up; of several angles
    the one is taken from which the motions (unit directions of the world) appear longest.
    """
    wide, deep, high = (float(v) for v in box[1] - box[0])
    above = ABOVE_FLAT if high < FLAT * min(wide, deep) else HEIGHT_ABOVE
    usual = math.radians(33.0 if deep < 1.3 * wide else 52.0)
    best, most = looking(usual - math.pi / 2, above), -1.0
    for turn in (usual, -usual, usual + math.radians(14.0), -usual - math.radians(14.0)):
        camera = looking(turn - math.pi / 2, above)
        seen = [float(np.hypot(*camera.shown(d))) for d in directions]
        score = (min(seen) + float(np.mean(seen)) if seen else 0.0) + (0.05 if turn == usual else 0.0)
        if score > most + 1e-9:
            best, most = camera, score
    return best


def draw_whole(rehearsal: Rehearsal, canvas: Canvas, paint: Paint, facing: Camera) -> Image.Image:
    """Return the picture of the finished work on its ground with its overall sizes."""
    assembly, unit = rehearsal.assembly, rehearsal.design.unit
    pieces = [paint.wood(n) for n in staying(assembly)]
    box = bounds(assembly)
    sizes = overall(facing, box)
    camera = _with_sizes(facing, np.vstack([reach(pieces), *(np.vstack(s[:2]) for s in sizes)]), sizes, unit)
    sheet = Sheet(inked(canvas.look(pieces, camera), grounded(pieces, camera)))
    lines = [f"{count(len(pieces), 'piece')}, {count(len(rehearsal.design.joints), 'joint')}, "
             f"{weight(mass(assembly), unit)}, {across((box[1] - box[0]).tolist(), unit)} (width, depth, height)"]
    if assembly.loose:
        lines.append(f"Not drawn, as no joint ties them to the rest: {count(len(assembly.loose), 'piece')}")
    sheet.heading(shown(rehearsal.design.name), lines)
    for one in sizes:
        dimension(sheet, camera, one, unit)
    ground_bar(sheet, camera, unit)
    return sheet.finish()


def _with_sizes(facing: Camera, at: NDArray[np.float64], sizes: Sequence[Size], unit: str) -> Camera:
    """Return the camera whose picture holds the work and the words of its sizes."""
    camera = framed(facing, at, ROOM)
    boxes = [box for s in sizes if (box := lettered(camera, s, unit)) is not None]
    left = max([0.0, *(MARGIN - box[0] for box in boxes)])
    right = max([0.0, *(box[2] - (WIDTH - MARGIN) for box in boxes)])
    return framed(facing, at, (ROOM[0] + left, ROOM[1], ROOM[2] - right, ROOM[3]))


def draw_apart(rehearsal: Rehearsal, canvas: Canvas, paint: Paint, facing: Camera) -> Image.Image:
    """Return the picture of every part, drawn apart along the motions that bring them home."""
    assembly = rehearsal.assembly
    offsets = spread(rehearsal, facing)
    pieces = [paint.wood(n, offsets) for n in assembly.names]
    camera = framed(facing, reach(pieces), ROOM)
    view = canvas.look(pieces, camera)
    sheet = Sheet(inked(view))
    bar = ground_bar(sheet, camera, rehearsal.design.unit)
    name_all(sheet, view, labelled(assembly.names, assembly), LABELS, [bar])
    sheet.heading(f"{shown(rehearsal.design.name)}, apart",
                  ["Every piece drawn back along the motion that brings it home"])
    if any(assembly.part(n).temporary for n in assembly.names):
        sheet.keyed((WIDTH - 330.0, HEIGHT - 54.0), "temporary, leaves again", TEMPORARY, TEMPORARY_EDGE, SKY)
    return sheet.finish()
