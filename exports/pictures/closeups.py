"""Close-ups: one picture of each thing that is wrong, laid open where it lies inside the wood."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PIL import Image

from assembly.checks.wording import small
from assembly.findings import Finding
from assembly.rehearsal import Rehearsal
from exports.pictures.camera import HEIGHT, WIDTH, Box, Camera, corners, framed
from exports.pictures.captions import AT_LARGE, amount, called
from exports.pictures.gauge import draw_gauge
from exports.pictures.inking import inked
from exports.pictures.lettering import LINE, SMALL, TITLE, wrapped
from exports.pictures.measures import scale_bar
from exports.pictures.moment import moment
from exports.pictures.named import name_all
from exports.pictures.overlays import captions, fibres, strokes
from exports.pictures.paint import Paint
from exports.pictures.pairs import turned, unlike
from exports.pictures.palette import GREEN, SEVERITY, SOFT_INK, Colour
from exports.pictures.scene import Canvas, View
from exports.pictures.sheet import MARGIN, Sheet
from exports.pictures.shots import KEY, Shot, all_of_it, among, closeup, grain, loose, place_of, play, step, wall
from exports.pieces import staying
from model.frames import Vector

MOST_NAMED = 6
OVER_WORK = 420.0
"""From close by a label may stand on the work rather than have a leader longer than this, pixels."""
DASHED = "Rings with dashes: on the side away from you."
HIDDEN = 3.0
"""A spot lies on the far side when more wood than this lies before it, mm."""
PAIRS = {"backwards": turned, "handed": unlike, "look-alike": unlike}
"""Kinds of finding shown by two views side by side, where there are two to show."""
SHOTS = {"gap": play, "proud": step, "thin-wall": wall, "exposed-joint": wall, "grain": grain}
"""Kinds of finding with a way of their own to be laid open."""
AMONG = frozenset({"clamps", "hands", "mass", "size", "stance"})
"""Kinds of finding about what is lifted, held, pressed or carried: shown whole, among what is there besides."""
_WORDS = {"stop": "stops the glue-up", "warn": "look at this before gluing", "note": "worth knowing"}


@dataclass(frozen=True, eq=False)
class Key:
    """A small picture of the whole in which a ring shows where a close-up was taken."""

    image: Image.Image
    camera: Camera


def key_picture(rehearsal: Rehearsal, canvas: Canvas, paint: Paint, looking: Camera) -> Key:
    """Return the small picture of the whole, pale."""
    pieces = [paint.glued(n) for n in staying(rehearsal.assembly)]
    around = np.vstack([corners(*p.bounds) for p in pieces])
    camera = framed(looking, around, (80.0, 80.0, WIDTH - 80.0, HEIGHT - 80.0))
    return Key(inked(canvas.look(pieces, camera)), camera)


def draw_closeup(number: int, finding: Finding, rehearsal: Rehearsal, canvas: Canvas, key: Key,
                 left_out: int = 0) -> Image.Image:
    """Return the close-up of a finding."""
    unit = rehearsal.design.unit
    shot, placed = _shot(finding, rehearsal, key)
    view = canvas.look(shot.pieces, shot.camera)
    sheet = Sheet(inked(view))
    foot = [shot.foot, DASHED if any(_hidden(view, s, shot) for s in (*shot.spots, *shot.fine)) else ""]
    foot += [f"{left_out} more like these have no picture; the report lists them."] if left_out else []
    taken = _words(sheet, number, finding, unit, " ".join(f for f in foot if f))
    along = fibres(sheet, view, shot)
    strokes(sheet, shot)
    marks = [*along, *_mark(sheet, view, shot, number, finding, unit), *captions(sheet, shot), KEY]
    named = [called(n, rehearsal.assembly) for n in _to_name(finding, shot) if n in view.number]
    name_all(sheet, view, named, (MARGIN - 20.0, taken + 16.0, WIDTH - MARGIN, HEIGHT - 100.0), marks, OVER_WORK)
    scale_bar(sheet, shot.camera, shot.camera.right, unit, "true across the picture")
    _show_key(sheet, key, placed, finding)
    return sheet.finish()


def _shot(finding: Finding, rehearsal: Rehearsal, key: Key) -> tuple[Shot, Sequence[Vector]]:
    """Return how a finding is shown, and the spots (world) that are ringed in the small picture of the whole."""
    if not any(n in rehearsal.assembly.frames for n in finding.parts):
        return loose(finding, rehearsal.assembly, key.camera), ()
    pair = PAIRS[finding.kind](finding, rehearsal) if finding.kind in PAIRS else None
    held = moment(rehearsal, finding)
    if pair is not None:
        return pair, (place_of(finding, held),)
    if finding.kind in AMONG:
        shot = among(finding, held, key.camera)
    elif finding.kind in AT_LARGE and finding.where is not None:
        shot = all_of_it(finding, held, key.camera)
    else:
        shot = SHOTS.get(finding.kind, closeup)(finding, held)
    return shot, shot.spots


def _to_name(finding: Finding, shot: Shot) -> Sequence[str]:
    """Return the parts to label: those of the finding; in a pair of views, which say what they are, those around."""
    if shot.captions:
        return list(dict.fromkeys(p.name for p in shot.pieces if p.name not in finding.parts))[:MOST_NAMED]
    return finding.parts[:MOST_NAMED]


def _words(sheet: Sheet, number: int, finding: Finding, unit: str, foot: str) -> float:
    """Write what is wrong and what to do; return where the words end (y)."""
    told = at_most(wrapped(finding.message, LINE, WIDTH - 2.2 * MARGIN))
    remedy = at_most(wrapped(f"What to do: {finding.remedy}", LINE, WIDTH - 2.2 * MARGIN)) if finding.remedy else []
    end = 36.0 + TITLE * 1.45 + (len(told) + len(remedy)) * LINE * 1.45
    sheet.bands(end + 10.0, HEIGHT - 84.0)
    left, right = MARGIN - 20.0, MARGIN - 12.0
    sheet.polygon([(left, 40), (right, 40), (right, end - 10), (left, end - 10)], SEVERITY[finding.severity])
    much = amount(finding, unit)
    title = f"Finding {number}: {finding.kind}" + (f", {much}" if much else "")
    sheet.heading(f"{title} – {_WORDS[finding.severity]}", [*told, *remedy])
    sheet.text((MARGIN + 400.0, HEIGHT - 26.0), foot, SMALL, SOFT_INK, anchor="lm")
    return end + 10.0


def at_most(lines: list[str], most: int = 3) -> list[str]:
    """Return no more lines than `most`, the last with dots for the rest in place of its last word."""
    return lines if len(lines) <= most else [*lines[:most - 1], f"{lines[most - 1].rpartition(' ')[0]} …"]


def _mark(sheet: Sheet, view: View, shot: Shot, number: int, finding: Finding, unit: str) -> list[Box]:
    """Ring the spots, number the first, and draw what is measured; return the boxes this takes."""
    colour, radius = SEVERITY[finding.severity], 46.0 if len(shot.spots) == 1 and not shot.captions else 26.0
    boxes = [_ring(sheet, view, spot, radius, GREEN, shot) for spot in shot.fine]
    boxes += [_ring(sheet, view, spot, radius, colour, shot) for spot in shot.spots]
    if not shot.spots:
        return boxes
    x, y = (float(v) for v in shot.camera.project(shot.spots[0]))
    flag = (x + 0.5 * radius, y - radius - 58.0, x + radius + 84.0, y - 0.5 * radius)
    said = amount(finding, unit) if shot.said is None else small(shot.said, unit)
    measured = draw_gauge(sheet, shot.camera, shot.gauge, said, radius, colour, [flag, KEY]) if shot.gauge else []
    sheet.sign((x, y), number, colour, radius)
    return [*boxes, flag, *measured]


def _ring(sheet: Sheet, view: View, spot: Vector, radius: float, colour: Colour, shot: Shot) -> Box:
    """Ring a spot, with dashes where it lies on the far side of a piece."""
    x, y = (float(v) for v in shot.camera.project(spot))
    sheet.ring((x, y), radius, colour, dashes=_hidden(view, spot, shot))
    return x - radius - 8.0, y - radius - 8.0, x + radius + 8.0, y + radius + 8.0


def _hidden(view: View, spot: Vector, shot: Shot) -> bool:
    """Whether a spot of one of several views lies on the far side of a piece; single views show their spots."""
    return bool(shot.captions) and not view.sees(spot[None], HIDDEN)[0]


def _show_key(sheet: Sheet, key: Key, spots: Sequence[Vector], finding: Finding) -> None:
    left, top, right, bottom = KEY
    sheet.paste(key.image, KEY)
    for where in spots:
        at = key.camera.project(where)
        x = left + float(at[0]) / WIDTH * (right - left)
        y = top + float(at[1]) / HEIGHT * (bottom - top)
        sheet.ring((x, y), 10.0 if len(spots) == 1 else 5.0, SEVERITY[finding.severity], 3.0)
    sheet.text((left + 8, bottom + 18), "where in the whole", SMALL, SOFT_INK, anchor="lm")
