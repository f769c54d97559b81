"""The film: the whole assembly as one looping picture, stage by stage, seen by the camera of the stage pictures."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from PIL import Image, ImageDraw

from assembly.plan import Stage
from assembly.rehearsal import Rehearsal
from exports.motions import Closing, Way, cut_roles, cuts
from exports.names import runs, shown
from exports.pictures.camera import Camera, corners, framed
from exports.pictures.captions import earlier, happens, several
from exports.pictures.captions import plain as plain_name
from exports.pictures.inking import fallen
from exports.pictures.paint import Paint
from exports.pictures.palette import GROUND, PAPER, mixed
from exports.pictures.reel import LEAVING, PAUSE, REST, SAWN, TICK, Act, acts
from exports.pictures.scene import FINE, Canvas, Piece
from exports.pictures.screen import FOOT, HEAD, HIGH, WIDE, WORK, Arrow, Screen, beside, ruler
from exports.pictures.sprites import Sprite, four_bytes, placed, sprites
from exports.pieces import staying
from exports.words import count
from model.frames import Vector
from model.progress import Progress, quiet

FADE = (0.3, 0.7)
"""How much of the next picture is seen in those between two stages."""
BACK = (0.2, 0.4, 0.6, 0.8)
"""The same from the end back to the beginning."""
STANDS = 3200
"""Milliseconds for which the finished work is seen."""
SAID = 1500
"""Words stand at least so long while pieces move, milliseconds."""
SHORTEST, LONGEST = 15_000, 40_000
"""A film lasts about so long, milliseconds: pauses are stretched or cut for it."""
LEAST_PAUSE = 0.25
"""To so much of itself a pause is cut at most."""
SHADE = mixed(GROUND, (60, 50, 45), 0.22)
FEW = 2
"""So many pieces are named one by one."""
DAZZLED = 3
"""Of more pieces on their way at one time only the last so many have an arrow."""


@dataclass(frozen=True, eq=False)
class Picture:
    """One picture of a film and how long it stands, milliseconds; `held`: a pause, which may be made longer."""

    image: Image.Image
    stands: int
    held: bool = False


def film(rehearsal: Rehearsal, canvas: Canvas, paint: Paint, facing: Camera,
         progress: Progress = quiet) -> list[Picture]:
    """Return the pictures of the film, WIDE x HIGH pixels; the canvas must be of that size. Empty without stages."""
    played = acts(rehearsal, facing)
    if not played:
        return []
    camera = _camera(played, rehearsal, facing)
    total = max(sum(_length(act) for act in played), 1)
    behind, marks = 0, []
    for act in played:
        marks.append((behind / total, str(act.stage.number)))
        behind += _length(act)
    found: list[Picture] = []
    behind = 0
    for act in played:
        progress(f"filming {shown(act.stage.name)}", behind / total)
        taken = list(_Take(act, canvas, paint, camera, tuple(marks), behind / total, total).pictures())
        found += _faded(found[-1:], taken[:1], FADE) + taken
        behind += _length(act)
    end = _end(rehearsal, canvas, paint, camera, marks)
    found += [*_faded(found[-1:], [end], FADE), end]
    found += _faded([end], found[:1], BACK)
    progress("filmed", 1.0)
    return _paced(found)


def _length(act: Act) -> int:
    """Return how many ticks an act takes on the rule."""
    return len(act.beats) + len(act.out) * LEAVING


def _camera(played: Sequence[Act], rehearsal: Rehearsal, facing: Camera) -> Camera:
    """Return the one camera that sees everything wherever it goes."""
    at = []
    for act in played:
        boxes = {n: act.assembly.vertices(n, act.stage.done) for body in act.bodies for n in body.parts}
        at += [corners(boxes[n].min(axis=0), boxes[n].max(axis=0)) + off for n, off in act.extremes()]
    home = rehearsal.assembly
    at += [home.vertices(n) for n in staying(home)]
    return framed(facing, np.vstack(at), WORK)


def _faded(one: Sequence[Picture], other: Sequence[Picture], shares: Sequence[float]) -> list[Picture]:
    """Return the pictures between two: the work passes over; words and rule are those of the second all along."""
    found = []
    for a, b in zip(one, other, strict=False):
        work = (0, HEAD, WIDE, HIGH - FOOT)
        for share in shares:
            image = b.image.copy()
            image.paste(Image.blend(a.image.crop(work), b.image.crop(work), share), work[:2])
            found.append(Picture(image, TICK))
    return found


def _paced(found: Sequence[Picture]) -> list[Picture]:
    """Return pictures with their pauses stretched or cut so that the film is neither hasty nor long."""
    total, pauses = sum(p.stands for p in found), sum(p.stands for p in found if p.held)
    wanted = min(max(total, SHORTEST), LONGEST)
    factor = max(LEAST_PAUSE, 1.0 + (wanted - total) / max(pauses, 1))
    return [replace(p, stands=round(p.stands * factor / 10.0) * 10) if p.held else p for p in found]


class _Take:
    """One act being filmed."""

    def __init__(self, act: Act, canvas: Canvas, paint: Paint, camera: Camera, marks: tuple[tuple[float, str], ...],
                 begun: float, total: int) -> None:
        self._act, self._camera, self._marks, self._begun, self._total = act, camera, marks, begun, total
        here = replace(paint, assembly=act.assembly)
        done = act.stage.done
        self._cut = cuts(act.stage, act.rehearsal)

        def piece(name: str, before: bool) -> Piece:
            return plain((here.glued if before else here.wood)(name, None, done))

        bodies = [[piece(n, body.before) for n in body.parts] for body in act.bodies]
        sawn = [k for k, body in enumerate(act.bodies) if set(body.parts) & set(self._cut)]
        later = [[replace(p, solid=self._cut[p.name][1]) if p.name in self._cut else p for p in bodies[k]]
                 for k in sawn]
        made = sprites([*bodies, *later], canvas, camera, (WIDE, HIGH))
        self._sprites, self._sawn = made[:len(bodies)], dict(zip(sawn, made[len(bodies):], strict=True))
        self._screen = Screen(camera)
        self._title = f"Stage {act.stage.number} of {len(act.rehearsal.plan.stages)}: {shown(act.stage.name)}"
        at = camera.project(np.vstack([act.assembly.vertices(n, done) for n in act.stage.parts]))
        self._middle = (float(at[:, 0].mean()), float(at[:, 1].mean()))
        self._tick = 0
        self._known: dict[tuple[int, tuple[int, ...]], Arrow] = {}

    def pictures(self) -> Iterator[Picture]:
        """Give the pictures of the act."""
        act = self._act
        off: list[Vector | None] = list(act.off(0.0))
        yield self._picture(off, self._sprites, opening(act.stage), PAUSE, held=True, fresh=True)
        words = _words(act)
        for at, said in zip(act.beats, words, strict=True):
            off = list(act.off(at))
            moving = act.moving(at)
            looks = [s.rimmed if k in moving else s for k, s in enumerate(self._sprites)]
            yield self._picture(off, looks, said, TICK, self._arrows(moving))
        yield self._picture(off, self._sprites, closing(act), REST, held=True)
        yield from self._leave(off)
        if self._cut:
            yield from self._saw(off)

    def _leave(self, off: list[Vector | None]) -> Iterator[Picture]:
        act = self._act
        away = set(act.stage.takes_away)
        for parts, by in act.out:
            moving = {k for k, body in enumerate(act.bodies) if set(body.parts) <= set(parts)}
            told = [n for n in parts if n in away]
            said = f"{named(told, act)} {'comes' if len(told) == 1 else 'come'} away" if told else "the halves part"
            said = f"{said[:1].upper()}{said[1:]}"
            start = list(off)
            for step in range(1, LEAVING + 1):
                share = (step / LEAVING) ** 2 * (3.0 - 2.0 * step / LEAVING)
                for k in moving:
                    before = start[k]
                    off[k] = None if before is None else before + by * share
                looks = [s.rimmed if k in moving else s for k, s in enumerate(self._sprites)]
                yield self._picture(off, looks, said, TICK)
            for k in moving:
                if set(act.bodies[k].parts) & away:
                    off[k] = None
            yield self._picture(off, self._sprites, said, REST, held=True)

    def _saw(self, off: list[Vector | None]) -> Iterator[Picture]:
        roles = cut_roles(self._act.stage, self._cut, self._act.rehearsal)
        said = " and ".join(f"{'saw' if r == 'curve' else 'cut'} the {r}" for r in roles[:3])
        said = f"{said[:1].upper()}{said[1:]}"
        looks = [self._sawn.get(k, s) for k, s in enumerate(self._sprites)]
        rims = [s.rimmed if k in self._sawn else s for k, s in enumerate(looks)]
        yield self._picture(off, [s.rimmed if k in self._sawn else s for k, s in enumerate(self._sprites)], said, SAWN,
                            held=True)
        yield self._picture(off, rims, said, SAWN, held=True)
        yield self._picture(off, looks, said, REST, held=True)

    def _picture(self, off: Sequence[Vector | None], looks: Sequence[Sprite], said: str, stands: int,
                 arrows: Sequence[Arrow] = (), *, held: bool = False, fresh: bool = False) -> Picture:
        self._screen.show({k: (look, o) for k, (look, o) in enumerate(zip(looks, off, strict=True)) if o is not None},
                          arrows, fresh)
        here = min(self._begun + self._tick / self._total, 1.0)
        self._tick += not held
        return Picture(self._screen.picture(self._title, said, ruler(self._marks, here)), stands, held)

    def _arrows(self, moving: Mapping[int, Way]) -> list[Arrow]:
        ways: dict[int, tuple[Way, list[int]]] = {}
        for k, way in moving.items():
            ways.setdefault(id(way), (way, []))[1].append(k)
        return [self._arrow(way, tuple(some)) for way, some in list(ways.values())[-DAZZLED:] if np.any(way.back)]

    def _arrow(self, way: Way, some: tuple[int, ...]) -> Arrow:
        """Return the arrow of one way, which stays where it is all along."""
        if (id(way), some) not in self._known:
            halfway = [(self._sprites[k], self._rest(k, way) + way.back / 2) for k in some]
            frames = np.array([placed(one, self._camera) for one in halfway])
            left, top = (int(v) for v in frames[:, :2].min(axis=0))
            right, bottom = (int(v) for v in frames[:, 2:].max(axis=0))
            x, y = self._camera.shown(-(way.back if way.corner is None else way.corner))
            self._known[id(way), some] = beside((left, top, right, bottom), (float(x), float(y)), self._middle)
        return self._known[id(way), some]

    def _rest(self, body: int, way: Way) -> Vector:
        """Return how far a body is off its home at the end of one of its ways, mm."""
        ways = [w for _, w in self._act.ways[body]]
        return np.asarray(sum((w.back for w in ways[ways.index(way) + 1:]), np.zeros(3)))


def plain(piece: Piece) -> Piece:
    """Return a piece without the rings of its wood: they would tremble as it moves, and cost room in the file."""
    return replace(piece, grain=0.0)


def opening(stage: Stage) -> str:
    """Return the words at the beginning of a stage: how the work lies, and what happens."""
    lies = stage.rest.lies.split(", on ")[0]
    return f"{happens(stage)}; glued up {lies}" if lies != "as it will stand" else happens(stage)


def closing(act: Act) -> str:
    """Return the words when all pieces of a stage are home."""
    number = len(act.stage.clamps)
    if not number:
        return "Let the glue set"
    bands = all(c.kind == "band" for c in act.stage.clamps)
    return f"Set {count(number, 'band' if bands else 'clamp')} and let the glue set"


def _words(act: Act) -> list[str]:
    """Return the words for every picture of moves: what comes home, changed no more often than can be read."""
    least = SAID / TICK * act.step
    groups: list[list[int]] = []
    begun, alone = -least, False
    for k, closing in enumerate(act.some):
        at, own = act.begins[k], any(len(way.parts) > 1 for way in closing.ways) or len(closing.ways) > 1
        if at - begun >= least or own or alone:
            groups.append([])
            begun = at
        alone = own
        groups[-1].append(k)
    told = [_comes_home([act.some[k] for k in group], act) for group in groups]
    starts = [act.begins[group[0]] for group in groups]
    return [told[bisect_right(starts, at) - 1] for at in act.beats]


def _comes_home(some: Sequence[Closing], act: Act) -> str:
    ways = [way for closing in some for way in closing.ways]
    names = [name for way in ways for name in way.parts]
    if len(ways) > 1 and len(some) == 1:
        return "Draw all home at the same time"
    if len(ways) == 1 and len(names) > 1:
        lines = earlier(names, act.stage, act.rehearsal.plan).lines
        told = f"{', '.join(lines)}, slides home" if lines[0] != f"{len(names)} pieces," else \
            f"the pieces with {named(names[:1], act)} slide home together"
        return f"{told[:1].upper()}{told[1:]}"
    said = f"{named(names, act)} {'slides' if len(names) == 1 else 'slide'} home"
    return f"{said[:1].upper()}{said[1:]}"


def named(names: Sequence[str], act: Act) -> str:
    """Return a few words for parts: "rail 1–5 and 3 loose tenons"."""
    groups: dict[str, list[str]] = {}
    for name in names:
        groups.setdefault(act.assembly.part(name).group or name, []).append(name)
    told = []
    for group, some in list(groups.items())[:3]:
        run = runs(some)
        told.append(several(run[0], group) if len(run) == 1 else
                    " and ".join(map(plain_name, some)) if len(some) <= FEW else count(len(some), plain_name(group)))
    return ", ".join(told) + (" and more" if len(groups) > 3 else "")


def _end(rehearsal: Rehearsal, canvas: Canvas, paint: Paint, camera: Camera,
         marks: Sequence[tuple[float, str]]) -> Picture:
    """Return the last picture: the finished work on its ground."""
    pieces = [plain(paint.wood(n)) for n in staying(rehearsal.assembly)]
    whole = sprites([pieces], canvas, camera, (WIDE, HIGH))[0]
    ground = Image.new("RGB", (WIDE * FINE, HIGH * FINE), PAPER)
    pen = ImageDraw.Draw(ground)
    for triangle in (fallen(pieces, camera) * FINE).reshape(-1, 6).tolist():
        pen.polygon(triangle, fill=SHADE)
    depth = np.full((HIGH * FINE, WIDE * FINE), np.float32(1e9))
    under = Sprite(0, 0, four_bytes(np.asarray(ground)), depth)
    screen = Screen(camera)
    screen.show({0: (under, np.zeros(3)), 1: (whole, np.zeros(3))}, fresh=True)
    said = f"{count(len(pieces), 'piece')}, {count(len(rehearsal.design.joints), 'joint')}"
    return Picture(screen.picture(shown(rehearsal.design.name), said, ruler(marks, 1.0)), STANDS, True)
