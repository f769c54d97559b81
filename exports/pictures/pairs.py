"""Pairs: a piece as it is and as it should be, or two pieces taken for one another, side by side from one side."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from assembly.alike_cuts import Difference
from assembly.findings import Finding
from assembly.placing import Assembly
from assembly.rehearsal import Rehearsal
from exports.pictures.camera import HEIGHT, WIDTH, Box, Camera, facing, framed
from exports.pictures.captions import plain
from exports.pictures.palette import PALE, PALE_EDGE, WOOD_EDGE
from exports.pictures.scene import Piece
from exports.pictures.sections import FRONT, cut_open, standpoints, tilted
from exports.pictures.sheet import MARGIN
from exports.pictures.shots import KEY, ONE, Caption, Shot, Stroke
from exports.pictures.ways_round import around, as_cut, pair_of, seat_on, wide
from model.frames import Frame, Vector, directions, identity, inverse, move, points, unit
from model.part import Part

HIGH, LOW, SHORT = 300.0, HEIGHT - 170.0, KEY[1] - 70.0
"""The views stand between these heights, pixels; above the small picture of the whole they end sooner."""
APART = 70.0
"""Room between two views, pixels."""
LEFT, RIGHT, NARROW = MARGIN + 20.0, WIDTH - MARGIN - 20.0, KEY[0] - 50.0
STUB = 1.2
"""Of the pieces around a turned one so much is shown, in widths of the piece."""
ARC = math.radians(8.0)
OBLIQUE = 0.4
"""Cuts are seen best when they look towards the camera with this cosine."""


def _beside(right: float, low: float) -> tuple[Box, Box]:
    middle = (LEFT + right) / 2
    return (LEFT, HIGH, middle - APART / 2, low), (middle + APART / 2, HIGH, right, low)


def _above(right: float, low: float) -> tuple[Box, Box]:
    half = (low - HIGH - APART) / 2
    return (LEFT, HIGH, right, HIGH + half), (LEFT, low - half, right, low)


PLACES = (_beside(RIGHT, SHORT), _above(RIGHT, SHORT), _beside(NARROW, LOW), _above(NARROW, LOW))
"""Where the two views may stand, pixels: the places in which both are largest are taken."""


Words = tuple[str, bool | None]
"""What is said below a view, and whether it shows the piece as it should be."""


@dataclass(frozen=True, eq=False)
class Side:
    """One of two views: its pieces, the spots to ring, the turn to draw, and what is said below it."""

    pieces: tuple[Piece, ...]
    spots: tuple[Vector, ...]
    says: str
    right: bool | None = None
    turn: tuple[Vector, ...] = ()


def turned(finding: Finding, rehearsal: Rehearsal) -> Shot | None:
    """Return a piece the wrong way round as it stands, and as it should, among what it is joined to, drawn back."""
    cause = as_cut(finding, rehearsal)
    if cause is None or cause.turn is None:
        return None
    one, right = cause.pieces[0], cause.right
    there = Piece(one.name, one.wrong_solid, one.wrong, ONE, WOOD_EDGE, grain=0.13, heavy=True)
    meant, beside = replace(there, solid=right.part(one.name).finished), _around(one.name, right)
    seats = [seat_on(right, right.design.joint[n], one.name) for n in cause.joints if n in right.design.joint]
    away = [directions(one.right @ inverse(one.wrong), out) for _, out in seats]
    grain = directions(one.wrong, right.part(one.name).blank.grain)
    camera = facing(-_open(([out for _, out in seats], away), grain, 0.3))
    spots = tuple(at for at, _ in seats)
    return _paired(camera, Side((there, *beside), spots, f"{plain(one.name)} as it stands", False,
                                _arc(cause.turn, there, camera, spots)),
                   Side((meant, *beside), spots, "as it should stand", True))


def unlike(finding: Finding, rehearsal: Rehearsal) -> Shot | None:
    """Return a piece beside the one it was taken for, or beside what is drawn, laid alike, where they differ ringed."""
    pair, name = pair_of(finding, rehearsal), finding.parts[0]
    if pair is None:
        return None
    words: tuple[Words, Words] = (f"made for {plain(name)}", None), (f"made for {plain(pair.other or name)}", None)
    if pair.other is None:
        words = (f"{plain(name)} as cut", False), (f"{plain(name)} as drawn", True)
    return _laid(pair.one, pair.second, pair.found, words)


def _laid(one: Part, other: Part, found: Difference | None, words: tuple[Words, Words]) -> Shot:
    """Return two parts laid alike, from where what tells them apart is seen; cut open where that is a depth."""
    cuts = [] if found is None else [
        (f, frame) for f, frame in ((found.cut, found.laid), (found.match, identity())) if f is not None]
    at = [points(frame, f.frame[:3, 3]) for f, frame in cuts]
    outs = [directions(frame, f.frame[:3, 2]) * (1.0 if f.operation == "add" else -1.0) for f, frame in cuts]
    pieces = [_alone(one, found.laid if found else identity()), _alone(other, identity())]
    if found is not None and cuts and _deep(found):
        normal = _across(outs[-1], other.blank.grain)
        pieces = [cut_open([p], spot, normal)[0] for p, spot in zip(pieces, (at[0], at[-1]), strict=True)]
        camera = facing(tilted(normal))
    else:
        camera = facing(-_open(([o] for o in outs), other.blank.grain))
    left, right = ((tuple(at[:1]), tuple(at[1:])) if found is None or found.cut is not None else ((), tuple(at)))
    return _paired(camera, Side((pieces[0],), left, *words[0]), Side((pieces[1],), right, *words[1]))


def _alone(part: Part, frame: Frame) -> Piece:
    return Piece(part.name, part.finished, frame, ONE, WOOD_EDGE, grain=0.13, heavy=True)


def _deep(found: Difference) -> bool:
    """Whether two parts differ in how deep a cut is, which shows only inside."""
    return (found.what == "size" and found.match is not None and found.along is not None
            and abs(float(found.along @ found.match.frame[:3, 2])) > 0.8)


def _across(out: Vector, grain: Vector) -> Vector:
    """Return the normal of a cut that holds the way out of a cut and the grain, towards the front."""
    normal = np.cross(out, grain)
    normal = unit(normal) if float(np.linalg.norm(normal)) > 0.1 else unit(np.cross(out, [0.0, 0.3, 1.0]))
    return normal if float(normal @ FRONT) >= 0 else -normal


def _around(name: str, at: Assembly) -> tuple[Piece, ...]:
    """Return stubs of the pieces joined to a part, drawn back along their joints so that its cuts show."""
    found: list[Piece] = []
    for other, beside in around(name, at).items():
        whole = Piece(other, at.part(other).finished, at.frames[other], PALE, PALE_EDGE)
        stub = cut_open([whole], beside.middle + beside.out * STUB * wide(at.part(name)), beside.out)
        found += [replace(piece, frame=move(*beside.back) @ piece.frame) for piece in stub[:1]]
    return tuple(found)


def _open(outs: Iterable[Sequence[Vector]], grain: Vector, lowest: float = 0.05) -> Vector:
    """Return the standpoint, from above, from which most is seen of cuts that look out as given, view by view, and of
    the long way of a piece."""
    views = [list(some) for some in outs]
    ways = [w for w in standpoints() if w[2] > lowest]
    best = max(enumerate(ways), key=lambda kw: _seen(kw[1], views) - _short(kw[1], grain) - 0.01 * kw[0])
    return best[1]


def _short(way: Vector, grain: Vector) -> float:
    """Return how much a piece is shortened to the eye, beyond what lets its ends be seen."""
    return 2.0 * max(0.0, abs(float(way @ grain)) - OBLIQUE) ** 2


def _seen(way: Vector, views: Sequence[Sequence[Vector]]) -> float:
    """Return how well cuts are seen from a standpoint: best somewhat from the side, where what goes in hides little."""
    def one(x: float) -> float:
        return max(0.0, x / OBLIQUE if x < OBLIQUE else 1.0 - 0.6 * (x - OBLIQUE) / (1.0 - OBLIQUE))

    return sum(float(np.mean([one(float(o @ way)) for o in some])) for some in views if some)


def _arc(turn: Frame, piece: Piece, camera: Camera, spots: Sequence[Vector]) -> tuple[Vector, ...]:
    """Return the points of an arc round the axis of a turn of a piece's own frame (world), on the side that is seen and
    away from what is ringed."""
    frame, rotation = piece.frame, turn[:3, :3]
    angle = math.acos(min(1.0, max(-1.0, (float(np.trace(rotation)) - 1.0) / 2.0)))
    if angle < ARC:
        return ()
    axis = directions(frame, _axis(rotation, angle))
    middle = _clear(points(frame, piece.solid.bounds.mean(axis=0)), axis, piece, spots)
    across = np.array([np.linalg.norm(v - axis * float(v @ axis)) for v in piece.vertices - middle])
    radius = 1.15 * float(across.max()) if abs(float(axis @ directions(frame, [1.0, 0, 0]))) > 0.9 else min(
        0.42 * float(across.max()), 3.0 * float(np.sort(np.ptp(piece.solid.bounds, axis=0))[1]))
    near = unit(-camera.forward + axis * float(camera.forward @ axis)) if abs(float(camera.forward @ axis)) < 0.999 \
        else camera.up
    side = np.cross(axis, near)
    swept = np.linspace(-angle / 2, angle / 2, 25)
    return tuple(middle + radius * (near * math.cos(a) + side * math.sin(a)) for a in swept)


def _clear(middle: Vector, axis: Vector, piece: Piece, spots: Sequence[Vector]) -> Vector:
    """Return the point of an axis within a piece that is farthest from what is ringed, the middle before others."""
    reach = 0.3 * float(np.ptp(piece.vertices @ axis))
    tried = [middle + axis * reach * share for share in (0.0, 0.5, -0.5, 1.0, -1.0)]
    return max(tried, key=lambda at: round(min([abs(float((s - at) @ axis)) for s in spots], default=0.0), 3))


def _axis(rotation: np.ndarray, angle: float) -> Vector:
    """Return the unit axis (3,) of a rotation (3, 3) by an angle."""
    skew = np.array([rotation[2, 1] - rotation[1, 2], rotation[0, 2] - rotation[2, 0], rotation[1, 0] - rotation[0, 1]])
    if math.sin(angle) > 1e-3:
        return unit(skew)
    return unit((rotation + np.eye(3))[:, int(np.argmax(np.diag(rotation)))])


def _paired(camera: Camera, left: Side, right: Side) -> Shot:
    """Return two views in one picture of one scale, beside each other or one above the other, whichever is larger."""
    reach = [np.vstack([*(p.vertices for p in s.pieces), *((s.turn,) if s.turn else ())]) for s in (left, right)]
    boxes = min(PLACES, key=lambda two: _scale(camera, reach, two))
    scale = _scale(camera, reach, boxes)
    sheet = replace(framed(camera, reach[0], boxes[0]), mm_per_pixel=scale)
    pieces: list[Piece] = []
    spots: list[Vector] = []
    fine: list[Vector] = []
    strokes: list[Stroke] = []
    captions: list[Caption] = []
    for side, at, box in zip((left, right), reach, boxes, strict=True):
        own = framed(camera, at, box)
        aside = np.array(own.middle) - np.array(sheet.project(own.centre))
        shift = move(*(camera.right * aside[0] * scale - camera.up * aside[1] * scale))
        pieces += [replace(p, frame=shift @ p.frame) for p in side.pieces]
        (fine if side.right else spots).extend(points(shift, p) for p in side.spots)
        strokes += [Stroke(tuple(points(shift, p) for p in side.turn))] if side.turn else []
        captions.append(Caption((own.middle[0], box[3] + 26.0), side.says, side.right))
    return Shot(pieces, sheet, spots, None, "", tuple(strokes), tuple(captions), fine=tuple(fine))


def _scale(camera: Camera, reach: Sequence[np.ndarray], boxes: Sequence[Box]) -> float:
    """Return how many mm a pixel has to be so that each view finds room in its box."""
    return max(framed(camera, at, box).mm_per_pixel for at, box in zip(reach, boxes, strict=True))
