"""The album: all pictures of one rehearsal, drawn in one window and written one by one; at last the film."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from PIL import Image

from assembly.rehearsal import Rehearsal
from exports.names import safe, shown
from exports.pictures.camera import Camera
from exports.pictures.chosen import chosen, picture_name
from exports.pictures.closeups import draw_closeup, key_picture
from exports.pictures.course import draw_course
from exports.pictures.film import film
from exports.pictures.lying import draw_lying, worth_drawing
from exports.pictures.marks import draw_marks
from exports.pictures.minutes import draw_minutes
from exports.pictures.moving import gif
from exports.pictures.paint import Paint, paint
from exports.pictures.pencilling import rows
from exports.pictures.scene import Canvas
from exports.pictures.screen import HIGH, WIDE
from exports.pictures.stages import draw_stage, fixed_camera, scenes
from exports.pictures.whole import draw_apart, draw_whole, standpoint
from exports.pieces import bounds
from model.progress import Progress, quiet, share

FILM = "assembly.gif"
STILLS = 0.65
"""The share of the time that all pictures but the film take (rounded, main example)."""

Drawing = tuple[str, Callable[[], Image.Image]]
"""A file's name without its ending, and what draws it."""


def album(rehearsal: Rehearsal, folder: Path, progress: Progress) -> list[Path]:
    """Draw and write all pictures; each file appears whole or not at all."""
    if not rehearsal.assembly.names:
        return []
    folder.mkdir(parents=True, exist_ok=True)
    written: list[Path] = []
    with Canvas() as canvas:
        drawings = list(_drawings(rehearsal, canvas))
        stills = STILLS if rehearsal.plan.stages else 1.0
        for i, (name, draw) in enumerate(drawings):
            progress(f"drawing {name}", stills * i / len(drawings))
            written.append(_write(draw(), folder / f"{name}.png"))
    if data := film_of(rehearsal, share(progress, stills, 1.0)):
        written.append(_whole(folder / FILM, lambda beside: beside.write_bytes(data)))
    progress("pictures drawn", 1.0)
    return written


def film_of(rehearsal: Rehearsal, progress: Progress = quiet) -> bytes:
    """Return the assembly as a looping picture (GIF); nothing where no stage is planned."""
    with Canvas((WIDE, HIGH)) as canvas:
        pictures = film(rehearsal, canvas, paint(rehearsal.assembly), _facing(rehearsal), share(progress, 0.0, 0.8))
    if pictures:
        progress("writing the film", 0.8)
    return gif(pictures) if pictures else b""


def whole_of(rehearsal: Rehearsal) -> Image.Image:
    """Return the picture of the whole alone."""
    with Canvas() as canvas:
        return draw_whole(rehearsal, canvas, paint(rehearsal.assembly), _facing(rehearsal))


def _drawings(rehearsal: Rehearsal, canvas: Canvas) -> Iterator[Drawing]:
    look, facing = paint(rehearsal.assembly), _facing(rehearsal)
    findings, _ = chosen(rehearsal.findings, rehearsal.assembly)
    yield "whole", lambda: draw_whole(rehearsal, canvas, look, facing)
    if rehearsal.plan.stages:
        yield "apart", lambda: draw_apart(rehearsal, canvas, look, facing)
    found = scenes(rehearsal, facing)
    fixed = fixed_camera(found, facing) if found else facing
    for scene in found:
        stage, name = scene.stage, f"stage_{scene.stage.number}_{safe(scene.stage.name)}"
        yield name, lambda scene=scene: draw_stage(scene, canvas, look, fixed, findings)  # type: ignore[misc]
        if worth_drawing(stage):
            yield f"{name}_setting", lambda stage=stage: draw_lying(rehearsal, stage, canvas, look)  # type: ignore[misc]
    if rehearsal.plan.stages:
        title = shown(rehearsal.design.name)
        yield "course", lambda: draw_course(rehearsal.plan, title)
        yield "minutes", lambda: draw_minutes(rehearsal.plan, title)
    if marked := rows(rehearsal.assembly):
        yield "marks", lambda: draw_marks(rehearsal, marked, canvas, look)
    yield from _closeups(rehearsal, canvas, look, facing)


def _closeups(rehearsal: Rehearsal, canvas: Canvas, look: Paint, facing: Camera) -> Iterator[Drawing]:
    findings, left_out = chosen(rehearsal.findings, rehearsal.assembly)
    if not findings:
        return
    key = key_picture(rehearsal, canvas, look, facing)
    for number, finding in findings:
        last = left_out if number == findings[-1][0] else 0
        yield (picture_name(number, finding),
               lambda n=number, f=finding, left=last: draw_closeup(n, f, rehearsal, canvas, key, left))  # type: ignore[misc]


def _facing(rehearsal: Rehearsal) -> Camera:
    ways = {m.direction for s in rehearsal.plan.stages for m in s.moves if m.onto}
    return standpoint(bounds(rehearsal.assembly), sorted(ways))


def _write(image: Image.Image, path: Path) -> Path:
    return _whole(path, lambda beside: image.save(beside, format="PNG", compress_level=3))


def _whole(path: Path, write: Callable[[Path], object]) -> Path:
    beside = path.with_name(f".{path.name}.part")
    try:
        write(beside)
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)
    return path
