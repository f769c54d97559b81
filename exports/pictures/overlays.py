"""What is drawn over a close-up beside its marks: turns, the way of the fibres, and words below several views."""

from __future__ import annotations

import math

import numpy as np

from exports.pictures.camera import Box
from exports.pictures.lettering import LABEL, width_of
from exports.pictures.named import spot
from exports.pictures.palette import BLUE, GREEN, INK, PAPER, VERMILLION, WHITE
from exports.pictures.scene import View
from exports.pictures.sheet import Point, Sheet
from exports.pictures.shots import Caption, Shot

FIBRE, FIBRES_APART = 150.0, 20.0
"""A line along the fibres is this long, and its neighbours stand so far from it, pixels."""
SIGN = 15.0
"""Half the size of the cross or the tick before a view's words, pixels."""
TICK = (((-0.7, 0.05), (-0.2, 0.6), (0.75, -0.65)),)
CROSS = (((-0.6, -0.6), (0.6, 0.6)), ((-0.6, 0.6), (0.6, -0.6)))


def fibres(sheet: Sheet, view: View, shot: Shot) -> list[Box]:
    """Draw double arrows along the fibres of the pieces of a shot that ask for them; return the boxes they take."""
    boxes: list[Box] = []
    for piece in (p for p in shot.pieces if p.name in shot.grain):
        at = spot(view, [piece.name], boxes)
        way = view.camera.shown(piece.frame[:3, :3] @ np.array([1.0, 0.0, 0.0]))
        length = float(np.hypot(*way)) * view.camera.mm_per_pixel
        if at is None:
            continue
        if length < 0.15:
            sheet.ring(at, 9.0, BLUE, 3.0)
            sheet.dot(at, 4.0, BLUE)
            boxes.append((at[0] - 16.0, at[1] - 16.0, at[0] + 16.0, at[1] + 16.0))
            continue
        along = way / float(np.hypot(*way))
        aside = np.array([-along[1], along[0]]) * FIBRES_APART
        boxes += [_fibre(sheet, np.array(at) + aside * k, along * FIBRE * length) for k in (-1, 0, 1)]
    return boxes


def _fibre(sheet: Sheet, middle: np.ndarray, along: np.ndarray) -> Box:
    low, high = middle - along / 2, middle + along / 2
    for tip in (low, high):
        sheet.arrow(_point(middle), _point(tip), BLUE, 3.2)
    return (*np.minimum(low, high).tolist(), *np.maximum(low, high).tolist())


def strokes(sheet: Sheet, shot: Shot) -> None:
    """Draw the lines of a shot, those that are turns with an arrow head."""
    for one in shot.strokes:
        at = [_point(p) for p in shot.camera.project(np.array(one.at))]
        sheet.line(at, WHITE, 11.0)
        sheet.line(at, BLUE, 6.0)
        for tip, back, wanted in ((at[-1], at[-3], one.ends[1]), (at[0], at[2], one.ends[0])):
            if wanted and math.dist(tip, back) > 1e-6:
                _head(sheet, tip, back)


def _head(sheet: Sheet, tip: Point, back: Point) -> None:
    ux, uy = np.subtract(tip, back) / math.dist(tip, back)
    for size, colour in ((26.0, WHITE), (20.0, BLUE)):
        lead = 0.35 * size
        point = (tip[0] + ux * (size * 0.9), tip[1] + uy * (size * 0.9))
        base = (tip[0] - ux * lead, tip[1] - uy * lead)
        sheet.polygon([point, (base[0] - uy * size * 0.7, base[1] + ux * size * 0.7),
                       (base[0] + uy * size * 0.7, base[1] - ux * size * 0.7)], colour)


def captions(sheet: Sheet, shot: Shot) -> list[Box]:
    """Write the words below the views, a cross before what is wrong and a tick before what is right."""
    return [_caption(sheet, one) for one in shot.captions]


def _caption(sheet: Sheet, one: Caption) -> Box:
    wide = width_of(one.says, LABEL, bold=True)
    signed = 0.0 if one.right is None else 2 * SIGN + 12.0
    x, y = one.at[0] - (wide + signed) / 2, one.at[1]
    if one.right is not None:
        _sign(sheet, (x + SIGN, y), one.right)
    sheet.text((x + signed, y), one.says, LABEL, INK, bold=True, anchor="lm", halo=4.0)
    return x - 8.0, y - 22.0, x + signed + wide + 8.0, y + 22.0


def _sign(sheet: Sheet, at: Point, right: bool) -> None:
    lines = TICK if right else CROSS
    for colour, width in ((PAPER, 9.0), (GREEN if right else VERMILLION, 5.0)):
        for line in lines:
            sheet.line([(at[0] + x * SIGN, at[1] + y * SIGN) for x, y in line], colour, width)


def _point(at: np.ndarray) -> Point:
    return float(at[0]), float(at[1])
