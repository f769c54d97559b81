"""One picture a glue stage, all seen by one fixed camera."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from PIL import Image

from assembly.findings import Finding
from assembly.placing import Assembly, standing_in
from assembly.plan import Move, Stage
from assembly.rehearsal import Rehearsal
from exports.names import shown
from exports.pictures.camera import HEIGHT, WIDTH, Box, Camera, corners, framed
from exports.pictures.captions import AT_LARGE, MOST_LABELS, Named, earlier, effort, happens, labelled, leaves
from exports.pictures.inking import inked
from exports.pictures.labels import Busy, busy
from exports.pictures.lettering import SMALL
from exports.pictures.measures import ground_bar
from exports.pictures.named import COARSE, name_all, taken_by_work
from exports.pictures.paint import Paint
from exports.pictures.palette import (
    BLUE,
    PALE,
    PALE_EDGE,
    SEVERITY,
    SKY,
    SOFT_INK,
    TEMPORARY,
    TEMPORARY_EDGE,
    WOOD_EDGE,
)
from exports.pictures.scene import Canvas, Piece, View
from exports.pictures.sheet import MARGIN, Point, Sheet
from exports.pictures.spread import CLEAR, Offsets, balanced, diagonal, pulled, sides
from exports.pictures.whole import LABELS, ROOM
from model.frames import Vector, inverse, points

MOST_EARLIER = 5
"""Of groups glued before no more than this get a label."""
MOST_ARROWS = 12
MOST_TRAILS = 90
"""More dashed trails than this would be a curtain before the work; arrows alone are drawn then."""
LEAST_SEEN = 9.0
"""A trail of which less is seen gets no arrow, pixels."""
SHORTEST_ARROW = 44.0
"""Pixels; where the way left is shorter the arrow starts further back."""
BESIDE, SIDESTEP = 24.0, 34.0
"""Where less of a trail is seen than the first, the arrow stands so far beside it, pixels."""
CROWDED = 0.4
"""Beside its gap an arrow may stand on work by no more than this share of its box, if there is a better place."""
MOST_MARKS = 9


@dataclass(frozen=True, eq=False)
class StageScene:
    """What a stage's picture shows: the pieces new to it, those glued before, and how far each is pulled back."""

    rehearsal: Rehearsal
    stage: Stage
    assembly: Assembly
    """Where the parts stand in this stage."""
    offsets: Offsets

    @cached_property
    def before(self) -> frozenset[str]:
        """The parts that earlier stages have glued or set up."""
        return frozenset(n for s in self.rehearsal.plan.stages if s.number < self.stage.number for n in s.parts)

    @property
    def fresh(self) -> tuple[str, ...]:
        """The parts that come to the bench for the first time."""
        return tuple(n for n in self.stage.parts if n not in self.before)

    def pieces(self, paint: Paint) -> list[Piece]:
        """Return the pieces in their colours: new ones in wood, earlier ones pale, as they are cut by then."""
        done = self.stage.done
        here = replace(paint, assembly=self.assembly)
        return [(here.glued if n in self.before else here.wood)(n, self.offsets, done) for n in self.stage.parts]

    def reach(self) -> np.ndarray:
        """Return corners (N, 3) of boxes around everything the picture shows."""
        found = []
        for name in self.stage.parts:
            at = self.assembly.vertices(name, self.stage.done) + self.offsets[name]
            found.append(corners(at.min(axis=0), at.max(axis=0)))
        return np.vstack(found)


def scenes(rehearsal: Rehearsal, facing: Camera) -> list[StageScene]:
    """Return the scene of every stage, pulled apart so that it is seen well from the side that a camera looks from."""
    home = rehearsal.assembly
    clear = CLEAR * diagonal(home, home.names)
    found = []
    for stage in rehearsal.plan.stages:
        if stage.parts:
            there = standing_in(home, stage.name)
            offsets = balanced(pulled(stage, there, clear, facing), stage.parts)
            found.append(StageScene(rehearsal, stage, there, offsets))
    return found


def fixed_camera(found: Sequence[StageScene], facing: Camera) -> Camera:
    """Return the one camera whose picture holds everything that appears in any stage."""
    return framed(facing, np.vstack([s.reach() for s in found]), ROOM)


def draw_stage(scene: StageScene, canvas: Canvas, paint: Paint, camera: Camera,
               numbered: Sequence[tuple[int, Finding]]) -> Image.Image:
    """Return the picture of one stage; `numbered` are the findings that may be marked, with their numbers."""
    stage, rehearsal = scene.stage, scene.rehearsal
    view = canvas.look(scene.pieces(paint), camera)
    sheet = Sheet(inked(view))
    marked = _marked(scene, camera, numbered)
    marks = [(x - 34.0, y - 66.0, x + 86.0, y + 34.0) for _, _, (x, y) in marked]
    arrows = _show_moves(sheet, view, scene, marks)
    for number, finding, at in marked:
        sheet.marker(at, number, SEVERITY[finding.severity])
    bar = ground_bar(sheet, camera, rehearsal.design.unit)
    name_all(sheet, view, _names(scene), LABELS, [*marks, *arrows, bar])
    lines = [happens(stage), leaves(stage, scene.assembly)]
    of = len(rehearsal.plan.stages)
    sheet.heading(f"Stage {stage.number} of {of}: {shown(stage.name)}", [line for line in lines if line])
    sheet.text((WIDTH - MARGIN, HEIGHT - 52.0), effort(stage, rehearsal.design.unit), 21.0, bold=True, anchor="rm")
    _key(sheet, scene, paint, bool(marks))
    return sheet.finish()


def _names(scene: StageScene) -> list[Named]:
    old = [earlier(unit, scene.stage, scene.rehearsal.plan) for unit in scene.stage.units
           if len(unit) > 1 and scene.before & set(unit)]
    old_parts = {n for named in old for n in named.parts}
    if len(old) > MOST_EARLIER:
        rest = tuple(n for named in old[MOST_EARLIER - 1:] for n in named.parts)
        old = [*old[:MOST_EARLIER - 1], Named((f"{len(old) - MOST_EARLIER + 1} more groups", "glued before"), rest)]
    singles = [n for n in scene.stage.parts if n not in old_parts]
    return labelled(singles, scene.assembly, MOST_LABELS - len(old)) + old


def _show_moves(sheet: Sheet, view: View, scene: StageScene, marks: Sequence[Box]) -> list[Box]:
    """Draw for each joint that closes a dashed trail, and arrows where best seen; return the boxes of the arrows."""
    trails = [t for move in scene.stage.moves if move.onto or move.simultaneous for t in _trails(move, scene)]
    camera = view.camera
    for start, end in trails if len(trails) <= MOST_TRAILS else ():
        for a, b in _seen_runs(view, start, end):
            p, q = camera.project(a), camera.project(b)
            sheet.dashed((float(p[0]), float(p[1])), (float(q[0]), float(q[1])), BLUE)
    middle = camera.project(np.mean([p.vertices.mean(axis=0) for p in view.pieces], axis=0))
    work = busy(taken_by_work(view), float(COARSE))
    boxes: list[Box] = []
    for start, end in _chosen(trails, view):
        p, q = _legible(camera.project(start), camera.project(end), middle, work, marks)
        sheet.arrow((float(p[0]), float(p[1])), (float(q[0]), float(q[1])))
        boxes.append(_box(p, q))
    return boxes


def _box(p: Vector, q: Vector, room: float = 8.0) -> Box:
    """Return the box (pixels) around a line."""
    low, high = np.minimum(p, q) - room, np.maximum(p, q) + room
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _legible(start: Vector, end: Vector, middle: Vector, work: Busy, marks: Sequence[Box]) -> Trail:
    """Return an arrow (pixels) long enough to see; where its gap is narrow or marked, beside it on free paper."""
    way = end - start
    length = float(np.hypot(*way))
    back = way / length
    on_it = end - back * max(length, SHORTEST_ARROW), end
    if length >= BESIDE and not any(_meet(_box(*on_it), mark) for mark in marks):
        return on_it
    half = back * max(length, SHORTEST_ARROW) / 2
    across = np.array([-back[1], back[0]])
    across = across if float(across @ ((start + end) / 2 - middle)) >= 0 else -across
    centres = [(start + end) / 2 + far * side for far in (SIDESTEP, 2 * SIDESTEP) for side in (across, -across)]
    beside = [(c - half, c + half) for c in centres]
    met = [float(any(_meet(_box(*arrow), mark) for mark in marks)) for arrow in beside]
    over = work.share(np.array([_box(*arrow) for arrow in beside]))
    return min(zip(beside, met, over.tolist(), strict=True), key=lambda a: (a[1], a[2] > CROWDED))[0]


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


Trail = tuple[Vector, Vector]


def _trails(move: Move, scene: StageScene) -> list[Trail]:
    """Return from where to where each joint of a move travels, in the world, mm."""
    found: list[Trail] = []
    told = np.asarray(move.direction, dtype=np.float64)
    for joint, mover, rest in sides(move, scene.assembly):
        if mover not in scene.offsets or rest not in scene.offsets:
            continue
        home = scene.assembly.seat(joint)[:3, 3]
        gap = scene.offsets[rest] - scene.offsets[mover]
        length = float(np.linalg.norm(gap)) if move.simultaneous else float(gap @ told)
        if length < 1.0:
            continue
        way = gap / length if move.simultaneous else told
        start = home + scene.offsets[mover]
        if move.before is not None:
            corner = start + np.asarray(move.before) * float(gap @ np.asarray(move.before))
            found.append((start, corner))
            start = corner
        ahead = min(joint.travel, 0.5 * length)
        first, last = (ahead, length) if mover == joint.a else (0.0, length - ahead)
        found.append((start + way * first, start + way * last))
    return found


def _seen_runs(view: View, start: Vector, end: Vector) -> list[Trail]:
    """Return the stretches of a line that nothing hides."""
    share = np.linspace(0.0, 1.0, 25)
    at = start + share[:, None] * (end - start)
    seen = view.sees(at, 2.0)
    runs: list[Trail] = []
    first: int | None = None
    for i, ok in enumerate([*seen.tolist(), False]):
        if ok and first is None:
            first = i
        elif not ok and first is not None:
            if i - 1 > first:
                runs.append((at[first], at[i - 1]))
            first = None
    return runs


def _chosen(trails: Sequence[Trail], view: View) -> list[Trail]:
    """Return the longest seen stretches that get an arrow, kept apart from each other."""
    runs = [(start, end) for t in trails for start, end in _seen_runs(view, *t)]
    long = sorted(runs, key=lambda r: -_length(r, view.camera))
    chosen: list[Trail] = []
    for run in long:
        middle = view.camera.project((run[0] + run[1]) / 2)
        apart = all(float(np.hypot(*(view.camera.project((c[0] + c[1]) / 2) - middle))) > 90.0 for c in chosen)
        if _length(run, view.camera) >= LEAST_SEEN and apart:
            chosen.append(run)
    return chosen[:MOST_ARROWS]


def _length(run: Trail, camera: Camera) -> float:
    return float(np.hypot(*(camera.project(run[1]) - camera.project(run[0]))))


def _marked(scene: StageScene, camera: Camera,
            numbered: Sequence[tuple[int, Finding]]) -> list[tuple[int, Finding, Point]]:
    """Return what is wrong with pieces at the bench: its number, the finding, the pixel to mark."""
    here = set(scene.stage.parts)
    told = [(n, f) for n, f in numbered if f.where is not None and f.parts and here >= set(f.parts)
            and (set(f.parts) - scene.before or set(f.joints) & set(scene.stage.joints))]
    at = [camera.project(_spot(scene, f)) for _, f in told[:MOST_MARKS]]
    return [(n, f, (float(p[0]), float(p[1]))) for (n, f), p in zip(told, at, strict=False)]


def _spot(scene: StageScene, finding: Finding) -> Vector:
    """Return where a finding lies in the picture: carried along with its first part."""
    joints = scene.assembly.design.joint
    if finding.kind in AT_LARGE and finding.joints and finding.joints[0] in joints:
        joint = joints[finding.joints[0]]
        return np.asarray(scene.assembly.seat(joint)[:3, 3] + scene.offsets[joint.b])
    name, told = finding.parts[0], np.asarray(finding.where, dtype=np.float64)
    home = scene.rehearsal.assembly.frames[name]
    carried = points(scene.assembly.frames[name] @ inverse(home), told)
    box = scene.assembly.vertices(name)
    low, high = box.min(axis=0), box.max(axis=0)
    nearest = min((told, carried), key=lambda p: float(np.linalg.norm(p - np.clip(p, low, high))))
    return np.asarray(nearest + scene.offsets[name])


def _key(sheet: Sheet, scene: StageScene, paint: Paint, marked: bool) -> None:
    """Draw the key along the bottom, only for what the picture shows."""
    parts = scene.stage.parts
    x, y = WIDTH / 2 - 330.0, HEIGHT - 35.0
    if any(n in scene.before for n in parts):
        x = sheet.keyed((x, y), "glued before", PALE, PALE_EDGE)
    fresh = [n for n in scene.fresh if not scene.assembly.part(n).temporary]
    if fresh:
        bulky = max(fresh, key=lambda n: scene.assembly.solid(n, scene.stage.done).volume)
        x = sheet.keyed((x, y), "new at the bench", paint.tone[bulky], WOOD_EDGE)
    if any(scene.assembly.part(n).temporary for n in parts):
        x = sheet.keyed((x, y), "temporary", TEMPORARY, TEMPORARY_EDGE, SKY)
    if marked:
        sheet.text((x, y + 9), "! numbered as in the report", SMALL, SOFT_INK, anchor="lm")
