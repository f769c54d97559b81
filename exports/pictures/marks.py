"""The picture of the marks to pencil on the pieces, so that each goes in one way only."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from PIL import Image

from assembly.alike import marks
from assembly.checks.backwards_wording import outlook
from assembly.checks.wording import SAID
from assembly.placing import Assembly, as_drawn
from assembly.rehearsal import Rehearsal
from assembly.turning import turnings
from assembly.turning_marks import Marking
from exports.names import shown
from exports.pictures.camera import HEIGHT, WIDTH, Camera, framed, looking
from exports.pictures.inking import inked
from exports.pictures.lettering import LABEL, LINE, mark_width, wrapped
from exports.pictures.measures import scale_bar
from exports.pictures.paint import Paint
from exports.pictures.palette import INK, SOFT_INK, WHITE
from exports.pictures.scene import Canvas, Piece
from exports.pictures.sections import in_wood
from exports.pictures.sheet import MARGIN, Sheet
from exports.words import commas, count
from model.frames import Frame, Vector, directions, identity, points, unit
from model.part import Part

MOST = 8
"""No more rows than this are drawn."""
TOP, BOTTOM, TALLEST = 190.0, HEIGHT - 110.0, 220.0
LEFT, MIDDLE = MARGIN + 10.0, 860.0
"""Pieces stand left of the middle, their words right of it, pixels."""
LYING = looking(math.radians(-90.0 - 12.0), math.radians(24.0))
CROSS, LEAST, LONGEST, STROKE = 0.28, 15.0, 26.0, 5.0
"""An arm of a cross in widths of the face, no shorter and no longer than so many pixels, and how thick."""
TRIED, WHOLE = 41, 0.8
"""Places along a piece that are tried for a mark; a cut over this share of its length, as a curve, leaves none out."""
NEEDED = 10.0
"""Wood that a mark has around it on its face, mm."""


@dataclass(frozen=True)
class Row:
    """One mark to make: on which parts (all of one part mark), on which face, an arrow towards which face or "" for a
    cross, and which ways the mark looks or points in the finished work, with the parts on which it does."""

    mark: str
    parts: tuple[str, ...]
    place: str
    towards: str
    outlooks: tuple[tuple[str, tuple[str, ...]], ...]

    @property
    def says(self) -> str:
        """What to pencil where, in a few words."""
        face = SAID.get(self.place, self.place)
        what = f"an arrow on the {face} towards the {SAID.get(self.towards, self.towards)}" if self.towards else (
            f"a cross on the {face}")
        ways = [way if len(self.outlooks) == 1 else f"{way} on {commas(names, most=2)}" for way, names in self.outlooks]
        return f"{what}; in the finished work it {'points' if self.towards else 'looks'} {', '.join(ways)}"


def rows(assembly: Assembly) -> list[Row]:
    """Return the marks to make, gathered by the part marks of the pieces that get them."""
    drawn = as_drawn(assembly)
    known = marks(drawn.design)
    found: dict[tuple[str, str, str], dict[str, list[str]]] = {}
    for one in turnings(drawn):
        if one.mark is not None:
            key = known[one.mark.part], one.mark.place, one.mark.towards
            at = drawn if one.mark.part in drawn.frames else one.session.at
            names = found.setdefault(key, {}).setdefault(outlook(_way(at, one.mark)), [])
            names += [one.mark.part] if one.mark.part not in names else []
    return [Row(mark, tuple(dict.fromkeys(n for names in ways.values() for n in names)), place, towards,
                tuple((way, tuple(names)) for way, names in ways.items()))
            for (mark, place, towards), ways in found.items()]


def _way(at: Assembly, mark: Marking) -> Vector:
    out = at.part(mark.part).blank.places[mark.place][:3, 2]
    return directions(at.frames[mark.part], out if mark.arrow is None else mark.arrow)


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
    at = _spot(part, face, arm)
    if row.towards:
        way = part.blank.places[row.towards][:3, 2]
        along = unit(way - face[:3, 2] * float(way @ face[:3, 2])) * 2.2 * arm
        tail, tip = (camera.project(points(frame, at + along * s)) for s in (-1.0, 1.0))
        sheet.arrow((float(tail[0]), float(tail[1])), (float(tip[0]), float(tip[1])), INK, STROKE)
        return
    for colour, thick in ((WHITE, STROKE + 5.0), (INK, STROKE)):
        for x, y in ((1.0, 1.0), (1.0, -1.0)):
            ends = [camera.project(points(frame, at + s * arm * (x * face[:3, 0] + y * face[:3, 1]))) for s in (-1, 1)]
            sheet.line([(float(p[0]), float(p[1])) for p in ends], colour, thick)


def _spot(part: Part, face: Frame, arm: float) -> Vector:
    """Return a place on a face, along the grain, with wood around it and far from its cuts: in the part's frame."""
    low, high = (float(v) for v in part.finished.bounds @ part.blank.grain)
    middle = face[:3, 3] - part.blank.grain * float(face[:3, 3] @ part.blank.grain)
    ways = sorted(np.linspace(low, high, TRIED)[1:-1].tolist(), key=lambda along: abs(along - (low + high) / 2))
    tried = [middle + part.blank.grain * along for along in ways]
    spans = [np.sort(f.solid.bounds @ part.blank.grain) for f in part.features]
    cuts = [span for span in spans if np.ptp(span) < WHOLE * part.blank.length]
    around = [(x, y) for x in (-1.0, 0.0, 1.0) for y in (-1.0, 0.0, 1.0)]
    reach = max(arm, NEEDED)

    def good(at: Vector) -> tuple[int, float]:
        corners = [at - 0.5 * face[:3, 2] + reach * (x * face[:3, 0] + y * face[:3, 1]) for x, y in around]
        along = float(at @ part.blank.grain)
        clear = min([max(span[0] - along, along - span[1]) for span in cuts], default=0.0)
        return sum(in_wood(part.finished, c) for c in corners), float(min(clear, 3.0 * reach))

    return face[:3, 3] if abs(float(face[:3, 2] @ part.blank.grain)) > 0.7 else max(tried, key=good)


def spot_of(part: Part, face: Frame) -> Vector:
    """Return where on a face a mark goes, in the part's own frame."""
    return _spot(part, face, NEEDED)


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
