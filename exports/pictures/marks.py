"""The picture of the marks to pencil on the pieces, so that each goes in one way only."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from PIL import Image

from assembly.rehearsal import Rehearsal
from exports.names import shown
from exports.pictures.camera import HEIGHT, WIDTH, Camera, framed, looking
from exports.pictures.inking import inked
from exports.pictures.lettering import LABEL, LINE, mark_width, wrapped
from exports.pictures.measures import scale_bar
from exports.pictures.paint import Paint
from exports.pictures.palette import INK, SOFT_INK, WHITE
from exports.pictures.pencilling import Row, spot_on
from exports.pictures.scene import Canvas, Piece
from exports.pictures.sheet import MARGIN, Sheet
from exports.words import commas, count
from model.frames import Frame, identity, points, unit
from model.part import Part

MOST = 8
"""No more rows than this are drawn."""
TOP, BOTTOM, TALLEST = 190.0, HEIGHT - 110.0, 220.0
LEFT, MIDDLE = MARGIN + 10.0, 860.0
"""Pieces stand left of the middle, their words right of it, pixels."""
LYING = looking(math.radians(-90.0 - 12.0), math.radians(24.0))
CROSS, LEAST, LONGEST, STROKE = 0.28, 15.0, 26.0, 5.0
"""An arm of a cross in widths of the face, no shorter and no longer than so many pixels, and how thick."""


def draw_marks(rehearsal: Rehearsal, found: Sequence[Row], canvas: Canvas, paint: Paint) -> Image.Image:
    """Return the picture of the marks, one piece of each kind lying with its marked face to the front."""
    told = list(found[:MOST])
    high = min(TALLEST, (BOTTOM - TOP) / len(told))
    parts = [(rehearsal.design.drawn or rehearsal.design).part[row.parts[0]] for row in told]
    lying = [Piece(p.name, p.finished, _lying(p, row.place), paint.tone[p.name], INK, grain=0.17, heavy=True)
             for p, row in zip(parts, told, strict=True)]
    boxes = [(LEFT, TOP + high * (k + 0.12), MIDDLE - 30.0, TOP + high * (k + 0.88)) for k in range(len(told))]
    scale = max(framed(LYING, p.vertices, box).mm_per_pixel for p, box in zip(lying, boxes, strict=True))
    camera = replace(framed(LYING, lying[0].vertices, boxes[0]), mm_per_pixel=scale)
    pieces = [_set(piece, camera, (LEFT, (box[1] + box[3]) / 2)) for piece, box in zip(lying, boxes, strict=True)]
    sheet = Sheet(inked(canvas.look([replace(p, name=f"{k}") for k, p in enumerate(pieces)], camera)))
    more = f"; {count(len(found) - MOST, 'more')} in the report" if len(found) > MOST else ""
    sheet.heading(f"{shown(rehearsal.design.name)}, marks against turning",
                  [f"Pencil these before any glue: they tell the one right way round{more}."])
    for row, part, piece, box in zip(told, parts, pieces, boxes, strict=True):
        _pencil(sheet, camera, part, piece.frame, row)
        _words(sheet, row, (box[1] + box[3]) / 2)
    scale_bar(sheet, camera, np.array([1.0, 0.0, 0.0]), rehearsal.design.unit, "true along the pieces")
    return sheet.finish()


def _lying(part: Part, place: str) -> Frame:
    """Return the frame that lays a part along x with a named face to the front, an end to the left."""
    out, grain = part.blank.places[place][:3, 2], part.blank.grain
    at_end = abs(float(out @ grain)) > 0.7
    along = grain * (-math.copysign(1.0, float(out @ grain)) if at_end else 1.0)
    front = part.blank.places["face"][:3, 2] if at_end and "face" in part.blank.places else out
    front = unit(front - along * float(front @ along)) if not at_end or front is not out else unit(
        np.cross(along, [0.3, 0.5, 0.8]))
    frame = identity()
    frame[:3, :3] = np.stack([along, -front, np.cross(along, -front)])
    return frame


def _set(piece: Piece, camera: Camera, at: tuple[float, float]) -> Piece:
    """Return a piece moved across the picture so that it begins at a pixel, half its height above and below."""
    seen = camera.project(piece.vertices)
    aside = np.array([at[0] - seen[:, 0].min(), at[1] - (seen[:, 1].min() + seen[:, 1].max()) / 2])
    frame = np.array(piece.frame)
    frame[:3, 3] += (camera.right * aside[0] - camera.up * aside[1]) * camera.mm_per_pixel
    return replace(piece, frame=frame)


def _pencil(sheet: Sheet, camera: Camera, part: Part, frame: Frame, row: Row) -> None:
    """Draw a mark on a face of a part that stands in the picture."""
    face = part.blank.places[row.place]
    wide = min(part.blank.width, part.blank.thickness) if row.place in ("start", "end") else (
        part.blank.width if row.place in ("face", "back") else part.blank.thickness)
    arm = min(max(CROSS * wide, LEAST * camera.mm_per_pixel), LONGEST * camera.mm_per_pixel)
    at = spot_on(part, face, arm)
    way = row.arrow(part)
    if way is not None:
        along = way * 2.2 * arm
        tail, tip = (camera.project(points(frame, at + along * s)) for s in (-1.0, 1.0))
        sheet.arrow((float(tail[0]), float(tail[1])), (float(tip[0]), float(tip[1])), INK, STROKE)
        return
    for colour, thick in ((WHITE, STROKE + 5.0), (INK, STROKE)):
        for x, y in ((1.0, 1.0), (1.0, -1.0)):
            ends = [camera.project(points(frame, at + s * arm * (x * face[:3, 0] + y * face[:3, 1]))) for s in (-1, 1)]
            sheet.line([(float(p[0]), float(p[1])) for p in ends], colour, thick)


def _words(sheet: Sheet, row: Row, middle: float) -> None:
    names = f"{len(row.parts)} × " if len(row.parts) > 1 else ""
    title = wrapped(f"{names}{commas(row.parts, most=3)}", LINE, WIDTH - MARGIN - MIDDLE - 70.0, bold=True)[:2]
    said = wrapped(row.says[0].upper() + row.says[1:], LABEL, WIDTH - MARGIN - MIDDLE)[:4]
    lines = [(text, LINE, True) for text in title] + [(text, LABEL, False) for text in said]
    y = middle - len(lines) * LINE * 0.68
    head = mark_width(row.mark)
    box = [(MIDDLE, y - 16.0), (MIDDLE + head, y - 16.0), (MIDDLE + head, y + 16.0), (MIDDLE, y + 16.0)]
    sheet.polygon(box, SOFT_INK)
    sheet.text((MIDDLE + head / 2, y), row.mark, LABEL, WHITE, bold=True, anchor="mm")
    for k, (text, size, bold) in enumerate(lines):
        aside = head + 12.0 if k < len(title) else 0.0
        sheet.text((MIDDLE + aside, y + k * LINE * 1.36), text, size, INK if bold else SOFT_INK, bold=bold, anchor="lm")
