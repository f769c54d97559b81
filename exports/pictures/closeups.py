"""Close-ups: one picture of each thing that is wrong, laid open where it lies inside the wood."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PIL import Image

from assembly.findings import Finding
from assembly.placing import Assembly
from assembly.rehearsal import Rehearsal
from exports.pictures.camera import HEIGHT, WIDTH, Box, Camera, corners, facing, framed
from exports.pictures.captions import AT_LARGE, amount, called
from exports.pictures.gauge import Gauge, draw_gauge, gauge
from exports.pictures.inking import inked
from exports.pictures.lettering import LINE, SMALL, TITLE, wrapped
from exports.pictures.measures import scale_bar
from exports.pictures.moment import Moment, moment
from exports.pictures.named import name_all
from exports.pictures.paint import Paint
from exports.pictures.palette import INK, PALE, PALE_EDGE, SEVERITY, SOFT_INK, VERMILLION, WHITE, WOOD_EDGE, Colour
from exports.pictures.scene import Canvas, Piece
from exports.pictures.sections import cut_open, cutting_plane, open_side, overlap, tilted
from exports.pictures.sheet import MARGIN, Sheet
from exports.pieces import staying
from model.frames import Vector, move

MOST_NAMED, MOST_RINGS = 6, 24
OVER_WORK = 420.0
"""From close by a label may stand on the work rather than have a leader longer than this, pixels."""
ONE: Colour = (231, 196, 140)
OTHER: Colour = (164, 112, 74)
KEY: Box = (WIDTH - MARGIN - 330.0, HEIGHT - 42.0 - 248.0, WIDTH - MARGIN, HEIGHT - 42.0)
"""Where the small picture of the whole stands, pixels."""
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
    held, unit = moment(rehearsal, finding), rehearsal.design.unit
    shot = _all_of_it(finding, held, key) if finding.kind in AT_LARGE else _shot(finding, held)
    view = canvas.look(shot.pieces, shot.camera)
    sheet = Sheet(inked(view))
    foot = (shot.foot, f"{left_out} more like these have no picture; the report lists them." if left_out else "")
    taken = _words(sheet, number, finding, unit, " ".join(foot).strip())
    marks = [*_mark(sheet, shot, number, finding, unit), KEY]
    named = [called(n, rehearsal.assembly) for n in finding.parts[:MOST_NAMED] if n in view.number]
    name_all(sheet, view, named, (MARGIN - 20.0, taken + 16.0, WIDTH - MARGIN, HEIGHT - 100.0), marks, OVER_WORK)
    scale_bar(sheet, shot.camera, shot.camera.right, unit, "true across the picture")
    _show_key(sheet, key, shot.spots, finding)
    return sheet.finish()


@dataclass(frozen=True, eq=False)
class Shot:
    """What a close-up shows: the pieces, the camera, the spots to ring (world), what is measured, and a line below."""

    pieces: list[Piece]
    camera: Camera
    spots: list[Vector]
    gauge: Gauge | None
    foot: str


def _shot(finding: Finding, held: Moment) -> Shot:
    """Return a finding from close by: from outside where its place is open to view, else cut open."""
    where = np.asarray(finding.where, dtype=np.float64)
    radius = _radius(finding, held.assembly)
    near = _near(finding, held, where, radius)
    pieces = [_dressed(n, finding, held) for n in near]
    way = None if finding.kind == "interference" else open_side(where, held, near)
    normal = cutting_plane(finding, held)
    measured = gauge(finding, held, where, normal)
    spot = where if measured is None else measured.spot
    if way is not None and (measured is None or finding.kind == "gap"):
        return Shot(pieces, _framed(facing(-way), spot, radius), [spot], measured, "Seen from outside.")
    through = spot + normal * float((where - spot) @ normal)
    opened = [*cut_open(pieces, through, normal), *_common(finding, held, through, normal)]
    return Shot(opened or pieces, _framed(facing(tilted(normal)), through, radius), [through], measured,
                "Cut open through the spot.")


def _all_of_it(finding: Finding, held: Moment, key: Key) -> Shot:
    """Return all parts that a finding is about, with its joints ringed."""
    parts = [n for n in finding.parts if n in held.names]
    pieces = [_dressed(n, finding, held) for n in parts]
    around = np.vstack([corners(*p.bounds) for p in pieces])
    camera = framed(key.camera, around, (170.0, 350.0, KEY[0] - 60.0, HEIGHT - 150.0))
    joints = [j for n in finding.joints if (j := held.assembly.design.joint.get(n)) is not None and j.b in parts]
    spots = [held.assembly.seat(j)[:3, 3] for j in joints[:MOST_RINGS]]
    return Shot(pieces, camera, spots or [np.asarray(finding.where, dtype=np.float64)], None,
                "The joints that lock each other are ringed." if spots else "")


def _radius(finding: Finding, assembly: Assembly) -> float:
    """Return how much of the work round the spot is shown, mm: enough of the parts, and the misfit big enough."""
    thick = max(sorted((b.length, b.width, b.thickness))[1]
                for b in (assembly.part(n).blank for n in finding.parts if n in assembly.frames))
    base = min(max(1.1 * thick, 60.0), 1200.0)
    if finding.amount is None or finding.amount.unit != "mm":
        return base
    wide = max(base, 1.6 * finding.amount.value)
    return min(wide, max(finding.amount.value * 60.0, 60.0))


def _near(finding: Finding, held: Moment, where: Vector, radius: float) -> list[str]:
    """Return the parts of a finding and those whose boxes come within three radii of its spot."""
    return [n for n in held.names if n in finding.parts or held.away(where, n) < 3.0 * radius]


def _dressed(name: str, finding: Finding, held: Moment) -> Piece:
    if name not in finding.parts:
        return Piece(name, held.solid(name), held.frame(name), PALE, PALE_EDGE)
    tone = (ONE, OTHER)[finding.parts.index(name) % 2]
    return Piece(name, held.solid(name), held.frame(name), tone, WOOD_EDGE, grain=0.13, heavy=True)


def _common(finding: Finding, held: Moment, where: Vector, normal: Vector) -> list[Piece]:
    """Return the wood two parts both claim, cut open too and drawn just before them."""
    placed = [n for n in finding.parts if n in held.assembly.frames]
    if len(placed) < 2:
        return []
    solid = overlap(held, placed[0], placed[1])
    if solid is None:
        return []
    piece = Piece("", solid, held.frame(placed[0]), VERMILLION, INK, hatch=WHITE, heavy=True)
    lift = 0.4 * normal
    return [Piece("", p.solid, move(*lift) @ p.frame, p.tone, p.edge, p.hatch, heavy=True)
            for p in cut_open([piece], where, normal)]


def _framed(looking: Camera, where: Vector, radius: float) -> Camera:
    around = corners(where - radius, where + radius)
    camera = framed(looking, around, (0.0, 240.0, WIDTH, HEIGHT - 110.0))
    return Camera(camera.right, camera.up, camera.forward, where, 2.0 * radius / (HEIGHT - 350.0),
                  (WIDTH / 2, (240.0 + HEIGHT - 110.0) / 2))


def _words(sheet: Sheet, number: int, finding: Finding, unit: str, foot: str) -> float:
    """Write what is wrong and what to do; return where the words end (y)."""
    told = _at_most(wrapped(finding.message, LINE, WIDTH - 2.2 * MARGIN))
    remedy = _at_most(wrapped(f"What to do: {finding.remedy}", LINE, WIDTH - 2.2 * MARGIN)) if finding.remedy else []
    end = 36.0 + TITLE * 1.45 + (len(told) + len(remedy)) * LINE * 1.45
    sheet.bands(end + 10.0, HEIGHT - 84.0)
    left, right = MARGIN - 20.0, MARGIN - 12.0
    sheet.polygon([(left, 40), (right, 40), (right, end - 10), (left, end - 10)], SEVERITY[finding.severity])
    much = amount(finding, unit)
    title = f"Finding {number}: {finding.kind}" + (f", {much}" if much else "")
    sheet.heading(f"{title} – {_WORDS[finding.severity]}", [*told, *remedy])
    sheet.text((MARGIN + 400.0, HEIGHT - 26.0), foot, SMALL, SOFT_INK, anchor="lm")
    return end + 10.0


def _at_most(lines: list[str], most: int = 3) -> list[str]:
    return lines if len(lines) <= most else [*lines[:most - 1], f"{lines[most - 1]} …"]


def _mark(sheet: Sheet, shot: Shot, number: int, finding: Finding, unit: str) -> list[Box]:
    """Ring the spots, number the first, and draw what is measured; return the boxes this takes."""
    colour, radius = SEVERITY[finding.severity], 46.0 if len(shot.spots) == 1 else 26.0
    at = [(float(p[0]), float(p[1])) for p in map(shot.camera.project, shot.spots)]
    for x, y in at[1:]:
        sheet.ring((x, y), radius, colour)
    x, y = at[0]
    flag = (x + 0.5 * radius, y - radius - 58.0, x + radius + 84.0, y - 0.5 * radius)
    measured = draw_gauge(sheet, shot.camera, shot.gauge, amount(finding, unit), radius, colour, [flag, KEY]) \
        if shot.gauge is not None else []
    sheet.marker((x, y), number, colour, radius)
    ringed = [(px - radius - 8.0, py - radius - 8.0, px + radius + 8.0, py + radius + 8.0) for px, py in at]
    return [*ringed, flag, *measured]


def _show_key(sheet: Sheet, key: Key, spots: Sequence[Vector], finding: Finding) -> None:
    left, top, right, bottom = KEY
    sheet.paste(key.image, KEY)
    for where in spots:
        at = key.camera.project(where)
        x = left + float(at[0]) / WIDTH * (right - left)
        y = top + float(at[1]) / HEIGHT * (bottom - top)
        sheet.ring((x, y), 10.0 if len(spots) == 1 else 5.0, SEVERITY[finding.severity], 3.0)
    sheet.text((left + 8, bottom + 18), "where in the whole", SMALL, SOFT_INK, anchor="lm")
