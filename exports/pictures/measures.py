"""Scale bars and overall sizes."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from exports.pictures.camera import HEIGHT, Box, Camera
from exports.pictures.lettering import SMALL, width_of
from exports.pictures.palette import INK, SOFT_INK, WHITE, Colour
from exports.pictures.sheet import MARGIN, Point, Sheet
from exports.words import tape
from model.frames import Vector
from model.units import show

BAR = 190.0
"""A scale bar is about this long, pixels."""
SIZE = 24.0
"""Letters of sizes, pixels."""
SHORTEST = 40.0
"""A size that would be drawn shorter than this is left out, pixels."""
_ROUND = {"mm": (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000),
          "in": (3.175, 6.35, 12.7, 25.4, 50.8, 152.4, 304.8, 609.6, 1524.0, 3048.0, 6096.0,
                 15240.0, 30480.0)}


def bar_length(pixels_per_mm: float, unit: str) -> float:
    """Return the round length, mm, whose bar comes nearest to BAR pixels."""
    return float(min(_ROUND["in" if unit == "in" else "mm"], key=lambda mm: abs(math.log(mm * pixels_per_mm / BAR))))


def ground_bar(sheet: Sheet, camera: Camera, unit: str) -> Box:
    """Draw a scale bar lying along the width of the whole, or along its depth where that is seen more level."""
    ways = {"width": np.array([1.0, 0.0, 0.0]), "depth": np.array([0.0, 1.0, 0.0])}
    level = {n: abs(float(camera.shown(w)[0])) for n, w in ways.items()}
    name = "depth" if level["depth"] > 1.25 * level["width"] else "width"
    return scale_bar(sheet, camera, ways[name], unit, f"true along the {name}")


def scale_bar(sheet: Sheet, camera: Camera, along: Vector, unit: str, says: str) -> Box:
    """Draw a scale bar at the bottom left, along a direction of the world, and what it holds good for.

    Returns the box it takes.
    """
    shown = camera.shown(along)
    mm = bar_length(float(np.hypot(*shown)), unit)
    step = shown * mm / 4
    if step[0] < 0:
        step = -step
    start = np.array([MARGIN, HEIGHT - 52.0 - max(0.0, 4 * step[1])])
    thick = np.array([0.0, 9.0])
    for k in range(4):
        a, b = start + k * step, start + (k + 1) * step
        sheet.polygon(_points([a, b, b + thick, a + thick]), INK if k % 2 == 0 else WHITE, INK, 1.2)
    end = start + 4 * step
    sheet.text((float(end[0]) + 14, float(end[1]) + 4), length(mm, unit), SMALL + 2, INK, bold=True, anchor="lm")
    sheet.text((MARGIN, HEIGHT - 26.0), says, SMALL, SOFT_INK, anchor="lm")
    top = min(float(start[1]), float(end[1])) - 10.0
    return MARGIN - 10.0, top, float(end[0]) + 110.0, float(HEIGHT)


def length(mm: float, unit: str) -> str:
    """Return a round length in the largest unit in which it is short to say."""
    if unit == "in" and mm >= 304.0:
        return f"{mm / 304.8:g} ft"
    return f"{mm / 1000:g} m" if unit != "in" and mm >= 1000.0 else show(mm, unit)


Size = tuple[Vector, Vector, Vector]
"""A size to draw: from where to where in the world, and the way towards what it measures, mm."""


def overall(camera: Camera, box: NDArray[np.float64]) -> list[Size]:
    """Return width, depth and height of a box of the world (2, 3), along its edges nearest to the camera."""
    low, high = box
    gap = 0.07 * float(np.max(high - low))
    near = [low[i] if camera.forward[i] > 0 else high[i] for i in range(2)]
    far = [high[i] if camera.forward[i] > 0 else low[i] for i in range(2)]
    out = [math.copysign(gap, near[i] - far[i]) for i in range(2)]
    z = low[2]
    corner = [np.array([near[0], far[1], z]), np.array([far[0], near[1], z])]
    edge = max(corner, key=lambda c: float(c @ camera.right))
    away = camera.right * gap * 0.8
    top = np.array([0.0, 0.0, high[2] - z])
    front, side = np.array([0.0, -out[1], 0.0]), np.array([-out[0], 0.0, 0.0])
    return [
        (np.array([low[0], near[1], z]) - front, np.array([high[0], near[1], z]) - front, front),
        (np.array([near[0], low[1], z]) - side, np.array([near[0], high[1], z]) - side, side),
        (edge + away, edge + away + top, -away),
    ]


def dimension(sheet: Sheet, camera: Camera, size: Size, unit: str, colour: Colour = SOFT_INK) -> None:
    """Draw one size, with lines towards what it measures; one seen end on is left out."""
    a, b, h = size
    p, q = camera.project(a), camera.project(b)
    if float(np.hypot(*(q - p))) < SHORTEST:
        return
    for end_at in (a, b):
        sheet.line(_points([camera.project(end_at - 0.12 * h), camera.project(end_at + 0.75 * h)]), colour, 1.0)
    sheet.line(_points([p, q]), colour, 1.6)
    for at in (p, q):
        sheet.line(_points([at + np.array([-6, 6]), at + np.array([6, -6])]), colour, 2.4)
    text, middle = _lettered(camera, size, unit)
    sheet.text((float(middle[0]), float(middle[1])), text, SIZE, INK, bold=True, anchor="mm")


def lettered(camera: Camera, size: Size, unit: str) -> Box | None:
    """Return the box, pixels, that the words of a size take; None where it is not drawn."""
    p, q = camera.project(size[0]), camera.project(size[1])
    if float(np.hypot(*(q - p))) < SHORTEST:
        return None
    text, middle = _lettered(camera, size, unit)
    x, y, half = float(middle[0]), float(middle[1]), width_of(text, SIZE, bold=True) / 2
    return x - half, y - SIZE / 2, x + half, y + SIZE / 2


def _lettered(camera: Camera, size: Size, unit: str) -> tuple[str, NDArray[np.float64]]:
    """Return the words of a size and their middle (pixels), beside the line on the side away from the work."""
    a, b, h = size
    p, q = camera.project(a), camera.project(b)
    text, along = tape(float(np.linalg.norm(b - a)), unit), (q - p) / float(np.hypot(*(q - p)))
    out = np.array([-along[1], along[0]])
    if float(out @ (camera.project(a - h) - camera.project(a))) < 0:
        out = -out
    half = np.array([width_of(text, SIZE, bold=True) / 2, SIZE / 2])
    return text, (p + q) / 2 + out * (float(np.abs(out) @ half) + 9.0)


def _points(at: list[NDArray[np.float64]]) -> list[Point]:
    return [(float(x), float(y)) for x, y in at]


