"""The sheet: words, leaders, arrows, marks and sizes laid over a drawn picture.

Everything is drawn FINE times larger and averaged down, so that lines and letters are smooth.
Coordinates are pixels of the finished picture.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from PIL import Image, ImageDraw

from exports.pictures.camera import HEIGHT, WIDTH, Box
from exports.pictures.labels import Placed
from exports.pictures.lettering import LABEL, LINE, PAD, SMALL, TITLE, font, legible, mark_width, width_of, wrapped
from exports.pictures.palette import BLUE, INK, ORANGE, PAPER, SOFT_INK, VERMILLION, WHITE, Colour
from exports.pictures.scene import FINE

Point = tuple[float, float]
MARGIN = 48
"""Free paper around words, pixels."""
MOST_WRAPPED = 2
"""A line under a title may run over into so many."""
DASH = 30
"""A ring on a far side is broken every so many degrees."""
RULE: Colour = (214, 207, 197)


def below_heading(lines: Sequence[str]) -> float:
    """Return where the words of a heading with these lines end (y), pixels."""
    number = sum(len(wrapped(told, LINE, WIDTH - 2 * MARGIN)[:MOST_WRAPPED]) for told in lines)
    return 36.0 + TITLE * 1.45 + number * LINE * 1.45 + 8.0


class Sheet:
    """One picture being finished; `high` pixels high."""

    def __init__(self, under: Image.Image, high: int = HEIGHT) -> None:
        self._image = under.resize((WIDTH * FINE, high * FINE), Image.Resampling.NEAREST)
        self._pen = ImageDraw.Draw(self._image)

    def finish(self) -> Image.Image:
        """Return the picture at its size."""
        return self._image.reduce(FINE)

    def text(self, at: Point, text: str, size: float = LINE, colour: Colour = INK, *, bold: bool = False,
             anchor: str = "la", halo: float = 0.0) -> None:
        """Write one line; `anchor` as Pillow has it ("la": left, ascender; "mm": middle)."""
        self._pen.text((at[0] * FINE, at[1] * FINE), legible(text), fill=colour, font=font(size, bold), anchor=anchor,
                       stroke_width=round(halo * FINE), stroke_fill=PAPER)

    def heading(self, title: str, lines: Sequence[str]) -> None:
        """Write the title and the lines under it at the top left."""
        most = WIDTH - 2 * MARGIN
        first = wrapped(title, TITLE, most, bold=True)[:1]
        y = 36.0
        for line in first:
            self.text((MARGIN, y), line, TITLE, bold=True)
            y += TITLE * 1.45
        for line in [part for told in lines for part in wrapped(told, LINE, most)[:MOST_WRAPPED]]:
            self.text((MARGIN, y), line, LINE, SOFT_INK)
            y += LINE * 1.45

    def bands(self, top: float, bottom: float) -> None:
        """Lay paper over the picture above and below two heights, for words to stand on."""
        for low, high in ((0.0, top), (bottom, float(HEIGHT))):
            self.polygon([(0, low), (WIDTH, low), (WIDTH, high), (0, high)], PAPER)
        for y in (top, bottom):
            self.line([(0, y), (WIDTH, y)], RULE, 1.0)

    def line(self, points: Sequence[Point], colour: Colour, width: float) -> None:
        """Draw a line through points with round ends."""
        at = [(x * FINE, y * FINE) for x, y in points]
        self._pen.line(at, fill=colour, width=round(width * FINE), joint="curve")
        r = width * FINE / 2
        for x, y in (at[0], at[-1]):
            self._pen.ellipse((x - r, y - r, x + r, y + r), fill=colour)

    def dashed(self, start: Point, end: Point, colour: Colour, width: float = 1.4, dash: float = 8.0,
               gap: float = 6.0) -> None:
        """Draw a dashed line."""
        length = math.dist(start, end)
        for i in range(int(length // (dash + gap)) + 1):
            a, b = i * (dash + gap), min(i * (dash + gap) + dash, length)
            if b > a:
                self.line([_between(start, end, a / length), _between(start, end, b / length)], colour, width)

    def polygon(self, points: Sequence[Point], fill: Colour, edge: Colour | None = None, width: float = 1.0) -> None:
        """Draw a filled polygon, with an outline where `edge` is given."""
        at = [(x * FINE, y * FINE) for x, y in points]
        xs, ys = sorted({x for x, _ in at}), sorted({y for _, y in at})
        if len(at) == 4 and len(xs) == 2 and len(ys) == 2:
            # The library lays a mask as large as the picture under a polygon's outline, but not under a rectangle's.
            self._pen.rectangle((xs[0], ys[0], xs[1], ys[1]), fill=fill, outline=edge, width=round(width * FINE))
            return
        self._pen.polygon(at, fill=fill, outline=edge, width=round(width * FINE))

    def arrow(self, start: Point, end: Point, colour: Colour = BLUE, width: float = 5.2) -> None:
        """Draw an arrow with a light rim, so that it reads on light and on dark."""
        self.polygon(arrow_outline(start, end, width, 3.0), WHITE)
        self.polygon(arrow_outline(start, end, width, 0.0), colour)

    def label(self, placed: Placed, lines: Sequence[str], *, edge: Colour = SOFT_INK, dashed: bool = False,
              mark: str = "") -> None:
        """Draw a label, headed by the mark of what it names, and its leader; that of a temporary piece is dashed."""
        left, top, right, bottom = placed.box
        self.line([placed.start, placed.anchor], PAPER, 4.5)
        self.line([placed.start, placed.anchor], INK, 1.4)
        self.dot(placed.anchor, 4.2, PAPER)
        self.dot(placed.anchor, 3.0, INK)
        at = (left * FINE, top * FINE, right * FINE, bottom * FINE)
        self._pen.rounded_rectangle(at, radius=5 * FINE, fill=WHITE, outline=None if dashed else edge,
                                    width=round(1.2 * FINE))
        head = mark_width(mark)
        if mark:
            at = (left * FINE, top * FINE, (left + head) * FINE, bottom * FINE)
            self._pen.rounded_rectangle(at, radius=5 * FINE, fill=edge, corners=(True, False, False, True))
            self.text((left + head / 2, (top + bottom) / 2), mark, LABEL, WHITE, bold=True, anchor="mm")
        if dashed:
            ring = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)]
            for one, two in pairwise(ring):
                self.dashed(one, two, edge, 1.6, 6.0, 4.0)
        for i, line in enumerate(lines):
            self.text((left + head + PAD + 2, top + PAD + i * LABEL * 1.3 + LABEL * 0.62), line, LABEL, anchor="lm")

    def dot(self, at: Point, radius: float, colour: Colour) -> None:
        """Draw a filled disc."""
        x, y = at
        self._pen.ellipse(((x - radius) * FINE, (y - radius) * FINE, (x + radius) * FINE, (y + radius) * FINE),
                          fill=colour)

    def ring(self, at: Point, radius: float, colour: Colour, width: float = 4.0, dashes: bool = False) -> None:
        """Draw a ring with a light rim on both sides."""
        starts, sweep = (range(0, 360, DASH), 0.6 * DASH) if dashes else ((0,), 360.0)
        for w, c in ((width + 4.0, WHITE), (width, colour)):
            r = radius + w / 2
            x, y = at
            box = ((x - r) * FINE, (y - r) * FINE, (x + r) * FINE, (y + r) * FINE)
            for start in starts:
                self._pen.arc(box, start, start + sweep, fill=c, width=round(w * FINE))

    def marker(self, at: Point, number: int, colour: Colour = VERMILLION, radius: float = 26.0,
               side: float = -math.pi / 4) -> None:
        """Mark a place where something is wrong: a ring, a "!" in a triangle and its number."""
        self.ring(at, radius, colour)
        self.sign(at, number, colour, radius, side)

    def sign(self, at: Point, number: int, colour: Colour = VERMILLION, radius: float = 26.0,
             side: float = -math.pi / 4) -> None:
        """Set a "!" in a triangle and a number beside a ring."""
        reach = radius + 20.0
        x, y = at[0] + reach * math.cos(side), at[1] + reach * math.sin(side)
        tip = [(x, y - 17.0), (x - 17.0, y + 13.0), (x + 17.0, y + 13.0)]
        rim = [(x, y - 22.0), (x - 22.0, y + 16.0), (x + 22.0, y + 16.0)]
        self.polygon(rim, WHITE)
        self.polygon(tip, colour)
        self.text((x, y + 3.5), "!", 20.0, INK if colour == ORANGE else WHITE, bold=True, anchor="mm")
        self.text((x + 24.0, y), str(number), 22.0, INK, bold=True, anchor="lm", halo=3.0)

    def paste(self, image: Image.Image, box: Box) -> None:
        """Set another picture into a box, with a thin frame."""
        left, top, right, bottom = (round(v * FINE) for v in box)
        self._image.paste(image.resize((right - left, bottom - top), Image.Resampling.LANCZOS), (left, top))
        self._pen.rectangle((left, top, right, bottom), outline=SOFT_INK, width=FINE)

    def keyed(self, at: Point, text: str, fill: Colour, edge: Colour, hatch: Colour | None = None) -> float:
        """Draw one entry of a key: a swatch and its words; returns where the next may start (x)."""
        x, y = at
        box = [(x, y), (x + 26, y), (x + 26, y + 18), (x, y + 18)]
        self.polygon(box, fill, edge, 1.6)
        if hatch is not None:
            for k in range(3):
                self.line([(x + 3 + 8 * k, y + 16), (x + 9 + 8 * k, y + 3)], hatch, 2.0)
        self.text((x + 34, y + 9), text, SMALL, SOFT_INK, anchor="lm")
        return x + 34 + width_of(text, SMALL) + 26


def _between(start: Point, end: Point, share: float) -> Point:
    return start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share


def arrow_outline(start: Point, end: Point, width: float, rim: float) -> list[Point]:
    """Return the outline of an arrow, grown by a rim all round."""
    length = math.dist(start, end)
    if length < 1e-6:
        return [start, start, start]
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    head, half, neck = min(4.2 * width, 0.6 * length), 1.75 * width, width / 2
    along = [(-rim, neck + rim), (length - head, neck + rim), (length - head - rim * 0.6, half + 1.6 * rim),
             (length + 1.9 * rim, 0.0)]
    profile = [*along, *((a, -b) for a, b in reversed(along[:-1]))]
    return [(start[0] + a * ux - b * uy, start[1] + a * uy + b * ux) for a, b in profile]

