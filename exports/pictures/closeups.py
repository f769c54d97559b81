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
from exports.pictures.captions import Named, amount, plain, shortened
from exports.pictures.inking import inked
from exports.pictures.measures import scale_bar
from exports.pictures.moment import Moment, moment
from exports.pictures.named import name_all
from exports.pictures.paint import Paint
from exports.pictures.palette import INK, PALE, PALE_EDGE, SEVERITY, SOFT_INK, VERMILLION, WHITE, WOOD_EDGE, Colour
from exports.pictures.scene import Canvas, Piece
from exports.pictures.sections import cut_open, cutting_plane, open_side, overlap, tilted
from exports.pictures.sheet import LINE, MARGIN, TITLE, Sheet, wrapped
from exports.pieces import staying
from model.frames import Vector, move

MOST = 24
"""No more close-ups than this are drawn in one run."""
EVERYWHERE = frozenset({"open-time", "hands", "clamps", "size", "mass", "stance"})
"""Kinds of finding that are about a whole stage or the whole work: nothing to see from close by."""
ONE: Colour = (231, 196, 140)
OTHER: Colour = (164, 112, 74)
KEY: Box = (WIDTH - MARGIN - 330.0, HEIGHT - 40.0 - 248.0, WIDTH - MARGIN, HEIGHT - 40.0)
"""Where the small picture of the whole stands, pixels."""
_WORDS = {"stop": "stops the glue-up", "warn": "look at this before gluing", "note": "worth knowing"}


@dataclass(frozen=True, eq=False)
class Key:
    """A small picture of the whole in which a ring shows where a close-up was taken."""

    image: Image.Image
    camera: Camera


def chosen(findings: Sequence[Finding], assembly: Assembly) -> tuple[list[tuple[int, Finding]], int]:
    """Return the findings to draw with their numbers in the report (from 1), and how many are left out.

    Only what stops or warns, has a place, and is about that place. Of many alike (the same kind on the same groups
    of parts) one is drawn before any is drawn twice.
    """
    fit = [(i, f) for i, f in enumerate(findings, 1) if f.severity in ("stop", "warn") and f.where is not None
           and f.kind not in EVERYWHERE and any(n in assembly.frames for n in f.parts)]
    seen: dict[tuple[object, ...], int] = {}
    turn: dict[int, int] = {}
    for number, finding in fit:
        alike = (finding.kind, *((assembly.part(n).group or n) if n in assembly.frames else n for n in finding.parts))
        turn[number] = seen[alike] = seen.get(alike, -1) + 1
    ranked = sorted(fit, key=lambda nf: (turn[nf[0]], nf[0]))[:MOST]
    return sorted(ranked, key=lambda nf: nf[0]), len(fit) - len(ranked)


def key_picture(rehearsal: Rehearsal, canvas: Canvas, paint: Paint, looking: Camera) -> Key:
    """Return the small picture of the whole, pale."""
    pieces = [paint.glued(n) for n in staying(rehearsal.assembly)]
    around = np.vstack([corners(*p.bounds) for p in pieces])
    camera = framed(looking, around, (80.0, 80.0, WIDTH - 80.0, HEIGHT - 80.0))
    return Key(inked(canvas.look(pieces, camera)), camera)


def draw_closeup(number: int, finding: Finding, rehearsal: Rehearsal, canvas: Canvas, key: Key,
                 left_out: int = 0) -> Image.Image:
    """Return the close-up of a finding."""
    held, where = moment(rehearsal, finding), np.asarray(finding.where, dtype=np.float64)
    radius = _radius(finding, held.assembly)
    near = _near(finding, held, where, radius)
    pieces = [_dressed(n, finding, held) for n in near]
    way = None if finding.kind == "interference" else open_side(where, held, near)
    cut = way is None
    if way is None:
        normal = cutting_plane(finding, held)
        opened = [*cut_open(pieces, where, normal), *_common(finding, held, where, normal)]
        pieces = opened or pieces
        looking = facing(tilted(normal))
    else:
        looking = facing(-way)
    camera = _framed(looking, where, radius)
    view = canvas.look(pieces, camera)
    sheet = Sheet(inked(view))
    taken = _words(sheet, number, finding, rehearsal.design.unit, cut, left_out)
    mark = _mark(sheet, camera, where, number, finding, rehearsal.design.unit)
    named = [Named((shortened(plain(n)),), (n,)) for n in finding.parts[:6] if n in near]
    name_all(sheet, view, named, (MARGIN - 20.0, taken + 16.0, WIDTH - MARGIN, HEIGHT - 100.0), [mark, KEY], free=True)
    scale_bar(sheet, camera, camera.right, rehearsal.design.unit, "true across the picture")
    _show_key(sheet, key, where, finding)
    return sheet.finish()


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


def _words(sheet: Sheet, number: int, finding: Finding, unit: str, cut: bool, left_out: int) -> float:
    """Write what is wrong and what to do; return where the words end (y)."""
    told = wrapped(finding.message, LINE, WIDTH - 2 * MARGIN)[:3]
    remedy = wrapped(f"What to do: {finding.remedy}", LINE, WIDTH - 2 * MARGIN)[:2] if finding.remedy else []
    end = 36.0 + TITLE * 1.45 + (len(told) + len(remedy)) * LINE * 1.45
    sheet.bands(end + 10.0, HEIGHT - 84.0)
    left, right = MARGIN - 20.0, MARGIN - 12.0
    sheet.polygon([(left, 40), (right, 40), (right, end - 10), (left, end - 10)], SEVERITY[finding.severity])
    title = f"Finding {number}: {finding.kind}" + (f", {amount(finding, unit)}" if finding.amount else "")
    sheet.heading(f"{title} – {_WORDS[finding.severity]}", [*told, *remedy])
    foot = "Cut open through the spot." if cut else "Seen from outside."
    foot += f" {left_out} more like these have no picture; the report lists them." if left_out else ""
    sheet.text((MARGIN + 330.0, HEIGHT - 26.0), foot, 16.0, SOFT_INK, anchor="lm")
    return end + 10.0


def _mark(sheet: Sheet, camera: Camera, where: Vector, number: int, finding: Finding, unit: str) -> Box:
    at = camera.project(where)
    x, y = float(at[0]), float(at[1])
    sheet.marker((x, y), number, SEVERITY[finding.severity], 46.0)
    sheet.text((x, y + 76.0), amount(finding, unit), 24.0, INK, bold=True, anchor="mm", halo=4.0)
    return x - 70.0, y - 90.0, x + 110.0, y + 100.0


def _show_key(sheet: Sheet, key: Key, where: Vector, finding: Finding) -> None:
    left, top, right, bottom = KEY
    sheet.paste(key.image, KEY)
    at = key.camera.project(where)
    x = left + float(at[0]) / WIDTH * (right - left)
    y = top + float(at[1]) / HEIGHT * (bottom - top)
    sheet.ring((x, y), 10.0, SEVERITY[finding.severity], 3.0)
    sheet.text((left + 8, bottom + 16), "where in the whole", 16.0, SOFT_INK, anchor="lm")
