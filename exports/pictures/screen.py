"""The screen of a film: words above, the work, a rule below; only what changes is put together anew."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from PIL import Image, ImageDraw

from exports.pictures.camera import Box, Camera
from exports.pictures.lettering import font, shortened, width_of
from exports.pictures.palette import BLUE, INK, PAPER, SOFT_INK, WHITE, mixed
from exports.pictures.scene import FINE
from exports.pictures.sheet import Point, arrow_outline
from exports.pictures.sprites import Frame, Laid, laid_over, placed

WIDE, HIGH = 800, 600
"""Size of a film, pixels."""
HEAD, FOOT = 92, 46
"""Paper above and below the work for words and for the rule, pixels."""
WORK: Box = (34.0, HEAD + 8.0, WIDE - 34.0, HIGH - FOOT - 10.0)
"""Where the work is, pixels."""
EDGE = 28
TITLE, LINE, NUMBER = 27.0, 20.0, 15.0
"""Letter sizes, pixels."""
SHORTEST, LONGEST, BESIDE = 40.0, 84.0, 15.0
"""How long an arrow is, and how far beside what it stands for, pixels."""
ARROW = 5.0
RULE = mixed(SOFT_INK, PAPER, 0.45)


@dataclass(frozen=True, eq=False)
class Arrow:
    """From where to where an arrow goes, pixels."""

    start: Point
    end: Point

    @property
    def frame(self) -> Frame:
        """The fine pixels it takes."""
        low = [min(a, b) - 14.0 for a, b in zip(self.start, self.end, strict=True)]
        high = [max(a, b) + 14.0 for a, b in zip(self.start, self.end, strict=True)]
        return (math.floor(low[0]) * FINE, math.floor(low[1]) * FINE, math.ceil(high[0]) * FINE,
                math.ceil(high[1]) * FINE)


class Screen:
    """One picture that is drawn over and over."""

    def __init__(self, camera: Camera) -> None:
        self._camera = camera
        self._image = Image.new("RGB", (WIDE, HIGH), PAPER)
        self._laid: dict[int, Laid] = {}
        self._arrows: Sequence[Arrow] = ()

    def show(self, laid: Mapping[int, Laid], arrows: Sequence[Arrow] = (), fresh: bool = False) -> None:
        """Show bodies (by number) where they are; with `fresh` everything is put together anew."""
        changed = [f for k in {*laid, *self._laid} if not _same(laid.get(k), self._laid.get(k))
                   for one in (laid.get(k), self._laid.get(k)) if one is not None
                   for f in [placed(one, self._camera)]]
        changed += [a.frame for a in (*arrows, *self._arrows)]
        everything = (0, HEAD * FINE, WIDE * FINE, (HIGH - FOOT) * FINE)
        self._laid, self._arrows = dict(laid), arrows
        for box in [everything] if fresh else apart(changed, everything):
            self._image.paste(self._fine(box).reduce(FINE), (box[0] // FINE, box[1] // FINE))

    def _fine(self, box: Frame) -> Image.Image:
        """Return a rectangle of fine pixels as it is now."""
        fine = laid_over(list(self._laid.values()), self._camera, box)
        pen = ImageDraw.Draw(fine)
        for arrow in self._arrows:
            for rim, colour in ((3.0, WHITE), (0.0, BLUE)):
                outline = arrow_outline(arrow.start, arrow.end, ARROW, rim)
                pen.polygon([(x * FINE - box[0], y * FINE - box[1]) for x, y in outline], fill=colour)
        return fine

    def picture(self, title: str, said: str, rule: Image.Image) -> Image.Image:
        """Return what is shown with words over it and the rule under it."""
        found = self._image.copy()
        found.paste(_head(title, said), (0, 0))
        found.paste(rule, (0, HIGH - FOOT))
        return found


def _same(one: Laid | None, other: Laid | None) -> bool:
    return (one is None) == (other is None) and (
        one is None or other is None or (one[0] is other[0] and np.array_equal(one[1], other[1])))


def apart(boxes: Sequence[Frame], within: Frame) -> list[Frame]:
    """Return rectangles that hold some others, cut to one of them, on whole pixels; none of them meets another."""
    found: list[Frame] = []
    for box in boxes:
        left, top = (max(box[k], within[k]) // FINE * FINE for k in (0, 1))
        right, bottom = (min(-(-box[k] // FINE) * FINE, within[k]) for k in (2, 3))
        if left < right and top < bottom:
            found = _joined(found, (left, top, right, bottom))
    return found


def _joined(found: Sequence[Frame], one: Frame) -> list[Frame]:
    while meeting := [f for f in found if f[0] < one[2] and one[0] < f[2] and f[1] < one[3] and one[1] < f[3]]:
        found = [f for f in found if f not in meeting]
        all_of_it = [*meeting, one]
        one = (min(f[0] for f in all_of_it), min(f[1] for f in all_of_it),
               max(f[2] for f in all_of_it), max(f[3] for f in all_of_it))
    return [*found, one]


@lru_cache(maxsize=64)
def _head(title: str, said: str) -> Image.Image:
    image = Image.new("RGB", (WIDE * FINE, HEAD * FINE), PAPER)
    pen = ImageDraw.Draw(image)
    most = WIDE - 2.0 * EDGE
    pen.text((EDGE * FINE, 16 * FINE), shortened(title, TITLE, most, bold=True), INK, font(TITLE, True), "la")
    pen.text((EDGE * FINE, 56 * FINE), shortened(said, LINE, most), SOFT_INK, font(LINE), "la")
    return image.reduce(FINE)


def ruler(marks: Sequence[tuple[float, str]], here: float) -> Image.Image:
    """Return the rule along the bottom: a long tick with a number where a stage begins (share of the whole, number),
    and a pointer where the film is."""
    image = _rule(tuple(marks)).copy()
    pen = ImageDraw.Draw(image)
    x, y = (EDGE + here * (WIDE - 2 * EDGE)) * FINE, 22 * FINE
    pen.rectangle((EDGE * FINE, y - FINE, x, y + FINE), fill=INK)
    pen.polygon([(x, y + FINE), (x - 7 * FINE, y - 11 * FINE), (x + 7 * FINE, y - 11 * FINE)], fill=INK)
    return image.reduce(FINE)


@lru_cache(maxsize=4)
def _rule(marks: tuple[tuple[float, str], ...]) -> Image.Image:
    image = Image.new("RGB", (WIDE * FINE, FOOT * FINE), PAPER)
    pen = ImageDraw.Draw(image)
    long, y = WIDE - 2 * EDGE, 22 * FINE
    pen.rectangle((EDGE * FINE, y - 1, (WIDE - EDGE) * FINE, y + 1), fill=RULE)
    free = -math.inf
    for share, number in marks:
        x = EDGE + share * long
        pen.rectangle((x * FINE - 1, y, x * FINE + 1, y + 9 * FINE), fill=SOFT_INK)
        half = width_of(number, NUMBER) / 2
        if number and x - half > free:
            pen.text((x * FINE, y + 10 * FINE), number, SOFT_INK, font(NUMBER), "ma")
            free = x + half + 6.0
    return image


def beside(frame: Frame, way: tuple[float, float], middle: Point) -> Arrow:
    """Return the arrow beside what takes a frame (fine pixels) halfway and goes some way (pixels), on the outer side
    of a middle (pixels) if there is room."""
    centre = (frame[0] + frame[2]) / 2 / FINE, (frame[1] + frame[3]) / 2 / FINE
    length = math.hypot(*way)
    ux, uy = (way[0] / length, way[1] / length) if length > 0.5 else (0.0, 1.0)
    across = (abs(uy) * (frame[2] - frame[0]) + abs(ux) * (frame[3] - frame[1])) / 2 / FINE + BESIDE
    half = min(max(length, SHORTEST), LONGEST) / 2
    sides = sorted(((-uy, ux), (uy, -ux)),
                   key=lambda s: -(s[0] * (centre[0] - middle[0]) + s[1] * (centre[1] - middle[1])))
    found = [_kept(Arrow((x - half * ux, y - half * uy), (x + half * ux, y + half * uy)))
             for x, y in ((centre[0] + across * sx, centre[1] + across * sy) for sx, sy in sides)]
    return min(found, key=lambda f: f[1])[0]


def _kept(arrow: Arrow) -> tuple[Arrow, float]:
    """Return an arrow brought into the picture, and how far it had to be moved, pixels."""
    ends = np.array([arrow.start, arrow.end])
    low, high = np.array([12.0, HEAD + 12.0]), np.array([WIDE - 12.0, HIGH - FOOT - 12.0])
    by = np.maximum(low - ends.min(axis=0), 0.0) - np.maximum(ends.max(axis=0) - high, 0.0)
    (x0, y0), (x1, y1) = (ends + by).tolist()
    return Arrow((x0, y0), (x1, y1)), float(np.hypot(*by))
