"""A glue-up as it lies while its glue sets: all closed, on bench or floor, on its blocks, with its clamps on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from PIL import Image, ImageChops, ImageDraw

from assembly.placing import Assembly, standing_in
from assembly.plan import Clamp, Stage
from assembly.rehearsal import Rehearsal
from exports import words
from exports.names import shown
from exports.pictures.camera import HEIGHT, WIDTH, Camera, framed
from exports.pictures.captions import MOST_LABELS, Named, labelled
from exports.pictures.clamping import BLOCK, BLOCK_EDGE, PAD, STEEL, STEEL_EDGE, blocks, clamp_body
from exports.pictures.inking import grounded, inked, plain, shadow
from exports.pictures.measures import ground_bar
from exports.pictures.named import name_all
from exports.pictures.paint import Paint
from exports.pictures.palette import PALE, PALE_EDGE, SKY, TEMPORARY, TEMPORARY_EDGE, Colour, mixed
from exports.pictures.scene import Canvas, Piece
from exports.pictures.sheet import Sheet, below_heading
from exports.pictures.whole import LABELS, ROOM, standpoint
from model.frames import move
from model.shop import Bench

MOST_CLAMP_LABELS = 5
"""Sets of like clamps that get a label of their own."""
TOP: Colour = (226, 214, 194)
"""The bench's top, paler than any work on it."""
THICK = 70.0
"""How thick the bench's top is drawn, mm."""


def worth_drawing(stage: Stage) -> bool:
    """Whether it is known how the work of a stage lies or is clamped."""
    return bool(stage.parts and (stage.actions or stage.clamps))


def draw_lying(rehearsal: Rehearsal, stage: Stage, canvas: Canvas, paint: Paint) -> Image.Image:
    """Return the picture of a stage's work, closed, as it lies under its clamps."""
    unit = rehearsal.design.unit
    there = standing_in(rehearsal.assembly, stage.name).moved(move(z=stage.rest.blocks) @ stage.rest.frame)
    work = [replace(paint, assembly=there).glued(n, None, stage.done) for n in stage.parts]
    turned = [_turned(c, stage) for c in stage.clamps]
    camera = standpoint(_box(work))
    camera = framed(camera, _reach(work), ROOM)
    drawn = [clamp_body(c, there, stage.done, camera.mm_per_pixel, f"clamp {k}") for k, c in enumerate(turned)]
    beneath = blocks(work, stage.rest.blocks, camera.mm_per_pixel)
    pieces = [*work, *(p for bodies in drawn for p in bodies), *beneath]
    camera = framed(camera, _reach(pieces), ROOM)
    top = rehearsal.design.shop.bench if stage.rest.on == "bench" else None
    under = grounded(pieces, camera) if top is None else _bench(pieces, camera, top)
    view = canvas.look(pieces, camera)
    sheet = Sheet(inked(view, under))
    told = _told(stage, unit)
    if top is not None:
        sheet.bands(below_heading(told), HEIGHT - 84.0)
    bar = ground_bar(sheet, camera, unit)
    named = _clamp_names(stage.clamps, drawn, unit)
    name_all(sheet, view, [*named, *labelled(stage.parts, there, MOST_LABELS - len(named))], LABELS, [bar])
    of = len(rehearsal.plan.stages)
    sheet.heading(f"Stage {stage.number} of {of}: {shown(stage.name)}, while the glue sets", told)
    _key(sheet, stage, there)
    return sheet.finish()


def _turned(clamp: Clamp, stage: Stage) -> Clamp:
    """Return a clamp as it sits on the work that lies on bench or floor."""
    frame = move(z=stage.rest.blocks) @ stage.rest.frame
    foot, head = (frame[:3, :3] @ np.asarray(at) + frame[:3, 3] for at in (clamp.foot, clamp.head))
    side = frame[:3, :3] @ np.asarray(clamp.side)
    return replace(clamp, foot=tuple(foot.tolist()), head=tuple(head.tolist()), side=tuple(side.tolist()))


def _box(pieces: Sequence[Piece]) -> np.ndarray:
    return np.array([np.min([p.bounds[0] for p in pieces], axis=0), np.max([p.bounds[1] for p in pieces], axis=0)])


def _reach(pieces: Sequence[Piece]) -> np.ndarray:
    return np.vstack([p.vertices for p in pieces])


def _clamp_names(clamps: Sequence[Clamp], drawn: Sequence[Sequence[Piece]], unit: str) -> list[Named]:
    """Return labels for clamps, one for those of one kind that open alike."""
    like: dict[tuple[str, str], list[str]] = {}
    for clamp, bodies in zip(clamps, drawn, strict=True):
        if bodies:
            like.setdefault((clamp.kind, words.tape(clamp.opening, unit)), []).append(bodies[0].name)
    named = []
    for (kind, opening), names in sorted(like.items(), key=lambda item: -len(item[1]))[:MOST_CLAMP_LABELS]:
        what = words.count(len(names), "band" if kind == "band" else "bar clamp")
        named.append(Named((what, f"{opening} {'long' if kind == 'band' else 'open'}"), tuple(names)))
    return named


def _told(stage: Stage, unit: str) -> list[str]:
    rest = stage.rest
    lies = [f"{rest.lies[:1].upper()}{rest.lies[1:]}", f"on the {rest.on}{', outside' * (stage.place == 'outside')}"]
    lies += [f"blocked up {words.tape(rest.blocks, unit)}"] if rest.blocks > 0 else []
    lies += [f"{words.people(rest.held)} {'holds' if rest.held == 1 else 'hold'} it"] if rest.held else []
    lines = ["; ".join(lies)]
    for kind, called in (("bar", "bar clamp"), ("band", "band")):
        number = sum(c.kind == kind for c in stage.clamps)
        lines += [words.count(number, called)] if number else []
    return [lines[0], *([" and ".join(lines[1:])] if lines[1:] else [])]


def _bench(pieces: Sequence[Piece], camera: Camera, bench: Bench) -> Image.Image:
    """Return paper with the bench's top at z = 0 under the pieces, and their soft shadow on it."""
    box = _box(pieces)
    wide, deep = (box[1] - box[0])[:2]
    sides = np.array([bench.length, bench.width] if wide >= deep else [bench.width, bench.length])
    half = np.maximum(sides, (box[1] - box[0])[:2]) / 2
    middle = (box[0] + box[1])[:2] / 2
    flat = [np.array([*(middle + half * s), 0.0]) for s in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    paper = plain().copy()
    pen = ImageDraw.Draw(paper)
    for k in range(4):
        a, b = flat[k], flat[(k + 1) % 4]
        outward = np.array([(b - a)[1], -(b - a)[0], 0.0])
        if float(outward @ camera.forward) < 0:
            below = [b - [0.0, 0.0, THICK], a - [0.0, 0.0, THICK]]
            pen.polygon(_pixels(camera, [a, b, *below]), fill=mixed(TOP, (70, 50, 30), 0.28))
    top = Image.new("L", paper.size, 0)
    ImageDraw.Draw(top).polygon(_pixels(camera, flat), fill=255)
    paper.paste(Image.new("RGB", paper.size, TOP), mask=top)
    dark = Image.new("RGB", paper.size, mixed(TOP, (60, 50, 45), 0.4))
    paper.paste(dark, mask=ImageChops.multiply(shadow(pieces, camera), top))
    return paper


def _pixels(camera: Camera, at: Sequence[np.ndarray]) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in camera.project(np.asarray(at))]


def _key(sheet: Sheet, stage: Stage, assembly: Assembly) -> None:
    x, y = WIDTH / 2 - 330.0, HEIGHT - 35.0
    x = sheet.keyed((x, y), "the work, closed", PALE, PALE_EDGE)
    if any(c.kind == "bar" for c in stage.clamps):
        x = sheet.keyed((x, y), "bar clamp", STEEL, STEEL_EDGE)
    if stage.clamps:
        x = sheet.keyed((x, y), "band" if all(c.kind == "band" for c in stage.clamps) else "pad", PAD, STEEL_EDGE)
    under = any(c.block > 0 for c in stage.clamps)
    if stage.rest.blocks > 0 or under:
        beneath = "block beneath" if not under else "block" if stage.rest.blocks > 0 else "block under a pad"
        x = sheet.keyed((x, y), beneath, BLOCK, BLOCK_EDGE)
    if any(assembly.part(n).temporary for n in stage.parts):
        sheet.keyed((x, y), "temporary", TEMPORARY, TEMPORARY_EDGE, SKY)
