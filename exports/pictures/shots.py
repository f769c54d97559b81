"""Shots: from where and how laid open a finding is shown, one way of showing for each kind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from assembly.findings import Finding
from assembly.placing import Assembly
from exports.pictures.camera import HEIGHT, WIDTH, Box, Camera, corners, facing, framed
from exports.pictures.feet import earth, foot_at
from exports.pictures.flush import step_at
from exports.pictures.gauge import Gauge, gauge
from exports.pictures.moment import Moment
from exports.pictures.palette import (
    INK,
    PALE,
    PALE_EDGE,
    SKY,
    TEMPORARY,
    TEMPORARY_EDGE,
    VERMILLION,
    WHITE,
    WOOD_EDGE,
    Colour,
    mixed,
)
from exports.pictures.play import play_at
from exports.pictures.scene import Piece
from exports.pictures.sections import cut_open, cutting_plane, open_side, overlap, tilted
from exports.pictures.sheet import MARGIN
from exports.pictures.walls import wall_at
from model.frames import Frame, Vector, directions, identity, inverse, move, points, unit

MOST_RINGS = 24
ONE: Colour = (231, 196, 140)
OTHER: Colour = (164, 112, 74)
KEY: Box = (WIDTH - MARGIN - 330.0, HEIGHT - 42.0 - 248.0, WIDTH - MARGIN, HEIGHT - 42.0)
"""Where the small picture of the whole stands, pixels."""
TOP = 240.0
"""Above this, pixels, there are words."""
STEP_SEEN = 28.0
"""A step between two faces is drawn this many pixels high."""
LEAST_STEP, MOST_STEP = 10.0, 90.0
LEAST_PLAY, LEAST_FOOT = 24.0, 45.0
"""Half the height that its picture takes at least and at most, mm; at least beside a cheek, and under a foot."""
FACE = 0.5
"""Thickness of the wood that is drawn as a cut face, mm."""
CLOSER, LEAST_SHOWN = 60.0, 18.0
"""Round what is measured no more than so many times its size is shown, but at least so much, mm."""
HAIR = 0.3
"""So far behind a cut other pieces are drawn, mm."""
WALLS, AROUND = 3.0, 0.7
"""Round a thin wall so many of its own thickness are shown, and so much of what is cut beside it, at least."""
LEAST_WALL, MOST_WALL = 28.0, 90.0
"""Half the height that its picture takes at least and at most, mm."""


@dataclass(frozen=True, eq=False)
class Stroke:
    """A line over the picture: its points in the world, mm (N, 3), and whether its ends carry arrow heads."""

    at: tuple[Vector, ...]
    ends: tuple[bool, bool] = (False, True)
    colour: Colour = INK


@dataclass(frozen=True, eq=False)
class Caption:
    """Words below one of several views: where they stand, pixels, what they say, and whether that view is right."""

    at: tuple[float, float]
    says: str
    right: bool | None = None


@dataclass(frozen=True, eq=False)
class Shot:
    """What a close-up shows: the pieces, the camera, the spots to ring (world), what is measured, and a line below.

    `strokes` and `captions` are drawn over it; `grain` names the pieces on which the way of the fibres is drawn; `fine`
    are spots to ring that are as they should be; `said` is what the gauge measures, mm, where that is not the amount.
    """

    pieces: Sequence[Piece]
    camera: Camera
    spots: Sequence[Vector]
    gauge: Gauge | None
    foot: str
    strokes: tuple[Stroke, ...] = ()
    captions: tuple[Caption, ...] = ()
    grain: tuple[str, ...] = ()
    fine: tuple[Vector, ...] = ()
    said: float | None = None


def closeup(finding: Finding, held: Moment) -> Shot:
    """Return a finding from close by: from outside where its place is open to view, else cut open."""
    where = place_of(finding, held)
    radius = shown_round(finding, held.assembly)
    names = near(finding, held, where, radius)
    pieces = [dressed(n, finding, held) for n in names]
    way = None if finding.kind == "interference" else open_side(where, held, names)
    normal = cutting_plane(finding, held)
    measured = gauge(finding, held, where, normal)
    spot, said = (where, None) if measured is None else (measured.spot, measured.length)
    radius = _closer(radius, said)
    if way is not None and (measured is None or finding.kind == "gap"):
        return Shot(pieces, centred(facing(-way), spot, radius), [spot], measured, "Seen from outside.", said=said)
    through = spot + normal * float((where - spot) @ normal)
    opened = [*cut_open(pieces, through, normal), *_common(finding, held, through, normal)]
    return Shot(opened or pieces, centred(facing(tilted(normal)), through, radius), [through], measured,
                "Cut open through the spot.", said=said if finding.kind == "gap" else None)


def step(finding: Finding, held: Moment) -> Shot:
    """Return two faces that should be flush, cut across their seam so that the step shows."""
    where = place_of(finding, held)
    found = step_at(finding, held, where)
    if found is None:
        return foot(finding, held)
    high = abs(found.high)
    radius = min(max(high * (HEIGHT - 350.0) / 2 / STEP_SEEN, LEAST_STEP), MOST_STEP)
    pieces = _sectioned(finding, held, found.gauge.spot, found.normal, radius)
    return Shot(pieces, centred(facing(-found.normal), found.gauge.spot, radius), [found.gauge.spot], found.gauge,
                "Cut across the seam, seen along it.")


def foot(finding: Finding, held: Moment) -> Shot:
    """Return a foot that does not stand, seen level over the ground that the others stand on."""
    found = foot_at(finding, held)
    if found is None:
        return closeup(finding, held)
    spot, radius = found.gauge.spot, min(max(abs(found.high) * (HEIGHT - 350.0) / 2 / STEP_SEEN, LEAST_FOOT), MOST_STEP)
    pieces = [dressed(n, finding, held) for n in near(finding, held, spot, radius)]
    looking = Camera(*_level(found.towards, found.ground.down), spot)
    return Shot([*pieces, earth(found, radius)], centred(looking, spot, radius), [spot], found.gauge,
                "Seen level, over the ground that the other feet stand on.", said=abs(found.high))


def _level(towards: Vector, down: Vector) -> tuple[Vector, Vector, Vector]:
    """Return right, up and forward of a camera that looks level."""
    return np.cross(-towards, -down), -down, -towards


def play(finding: Finding, held: Moment) -> Shot:
    """Return room beside a cheek cut open through it; any other gap as it is seen best."""
    found = play_at(finding, held)
    if found is None:
        return closeup(finding, held)
    spot = found.gauge.spot
    wide = float(np.linalg.norm(found.gauge.high - found.gauge.low))
    radius = min(max(wide * (HEIGHT - 350.0) / 2 / STEP_SEEN, LEAST_PLAY), MOST_STEP)
    pieces = _sectioned(finding, held, spot, found.normal, radius)
    return Shot(pieces, centred(facing(slightly(found.normal)), spot, radius), [spot], found.gauge,
                "Cut open across the cheeks.")


def wall(finding: Finding, held: Moment) -> Shot:
    """Return a thin wall, or a pocket that comes out, cut open where there is least."""
    where = place_of(finding, held)
    found = wall_at(finding, held, where)
    if found is None:
        return closeup(finding, held)
    thick = float(np.linalg.norm(found.gauge.high - found.gauge.low))
    radius = min(max(WALLS * thick, AROUND * found.size, LEAST_WALL), MOST_WALL, max(CLOSER * thick, LEAST_SHOWN))
    spot = found.gauge.spot
    pieces = [p for piece in _sectioned(finding, held, spot, found.normal, radius)
              for p in (_faced(piece, spot, found.normal) if piece.name in finding.parts else [piece])]
    return Shot(pieces, centred(facing(slightly(found.normal)), (spot + found.middle) / 2, radius), [spot], found.gauge,
                "Cut open where there is least.")


def grain(finding: Finding, held: Moment) -> Shot:
    """Return a joint with the way of the fibres drawn on both pieces."""
    shot = closeup(finding, held)
    return replace(shot, grain=tuple(n for n in finding.parts[:2] if n in held.names),
                   foot=f"{shot.foot} Double arrows: the way of the fibres.")


def all_of_it(finding: Finding, held: Moment, looking: Camera) -> Shot:
    """Return all parts that a finding is about, with its joints ringed."""
    parts = [n for n in finding.parts if n in held.names]
    pieces = [dressed(n, finding, held) for n in parts]
    around = np.vstack([corners(*p.bounds) for p in pieces])
    camera = framed(looking, around, (170.0, 350.0, KEY[0] - 60.0, HEIGHT - 150.0))
    joints = [j for n in finding.joints if (j := held.assembly.design.joint.get(n)) is not None and j.b in parts]
    spots = [held.assembly.seat(j)[:3, 3] for j in joints[:MOST_RINGS]]
    return Shot(pieces, camera, spots or [place_of(finding, held)], None,
                "The joints that lock each other are ringed." if spots else "")


def among(finding: Finding, held: Moment, looking: Camera) -> Shot:
    """Return the parts that a finding is about in wood, among all others that are there, pale."""
    pieces = [dressed(n, finding, held) for n in held.names]
    if sum(p.heavy for p in pieces) > 2:
        pieces = [replace(p, tone=ONE) if p.heavy else p for p in pieces]
    around = np.vstack([corners(*p.bounds) for p in pieces])
    camera = framed(looking, around, (170.0, 350.0, KEY[0] - 60.0, HEIGHT - 150.0))
    joints = [j for n in finding.joints if (j := held.assembly.design.joint.get(n)) is not None and j.b in held.names]
    spots = [held.assembly.seat(j)[:3, 3] for j in joints[:MOST_RINGS]] if finding.kind == "clamps" else []
    said = "The joints meant are ringed." if spots else "In wood what is meant, pale what is there besides."
    return Shot(pieces, camera, spots, None, said)


def loose(finding: Finding, assembly: Assembly, looking: Camera) -> Shot:
    """Return parts that have no place in the work, laid out one above the other."""
    pieces: list[Piece] = []
    top = 0.0
    for index, name in enumerate(finding.parts):
        piece = _piece(name, assembly, identity(), index)
        low, high = piece.bounds
        pieces.append(replace(piece, frame=move(*-low) @ move(0.0, 0.0, top)))
        top += 1.6 * float(high[2] - low[2])
    around = np.vstack([corners(*p.bounds) for p in pieces])
    return Shot(pieces, framed(looking, around, (200.0, 330.0, KEY[0] - 60.0, HEIGHT - 170.0)), [], None,
                "Drawn by itself: it has no place in the work.")


def place_of(finding: Finding, held: Moment) -> Vector:
    """Return where a finding is shown: its place, else its first joint, else the middle of its first part."""
    if finding.where is not None:
        return np.asarray(finding.where, dtype=np.float64)
    joints, frames = held.assembly.design.joint, held.assembly.frames
    seats = [held.assembly.seat(joints[n])[:3, 3] for n in finding.joints if n in joints and joints[n].b in frames]
    first = next(n for n in finding.parts if n in frames)
    return np.asarray(seats[0] if seats else held.vertices(first).mean(axis=0))


def dressed(name: str, finding: Finding, held: Moment) -> Piece:
    """Return a part in its colours: the first two of a finding in wood (temporary ones hatched), all others pale."""
    if name not in finding.parts:
        return Piece(name, held.solid(name), held.frame(name), PALE, PALE_EDGE)
    return _piece(name, held.assembly, held.frame(name), finding.parts.index(name), held.done)


def _piece(name: str, assembly: Assembly, frame: Frame, index: int, done: frozenset[str] = frozenset({"*"})) -> Piece:
    solid = assembly.part(name).finished if "*" in done else assembly.solid(name, done)
    if assembly.part(name).temporary:
        return Piece(name, solid, frame, TEMPORARY, TEMPORARY_EDGE, SKY, heavy=True)
    return Piece(name, solid, frame, (ONE, OTHER)[index % 2], WOOD_EDGE, grain=0.13, heavy=True)


def _sectioned(finding: Finding, held: Moment, spot: Vector, normal: Vector, radius: float) -> list[Piece]:
    """Return what is near a spot, cut open; other pieces a hair behind, so that where they clash the finding's show."""
    pieces = [dressed(n, finding, held) for n in near(finding, held, spot, radius)]
    opened = cut_open(pieces, spot, normal) or pieces
    behind = move(*(-HAIR * normal))
    return [p if p.name in finding.parts else replace(p, frame=behind @ p.frame) for p in opened]


def _faced(piece: Piece, spot: Vector, normal: Vector) -> list[Piece]:
    """Return a piece that was cut open, its cut face in its own tone and the hollows behind it darker."""
    back, behind = inverse(piece.frame), spot - FACE * normal
    face = piece.solid.split_at(points(back, behind), directions(back, normal))
    body = piece.solid.split_at(points(back, behind), directions(back, -normal))
    made = [] if body.empty else [replace(piece, name="", solid=body, tone=mixed(piece.tone, WOOD_EDGE, 0.4))]
    return made if face.empty else [*made, replace(piece, solid=face)]


def slightly(normal: Vector) -> Vector:
    """Return the way to look at a cut nearly square on, so that small sizes appear true."""
    if abs(float(normal[2])) > 0.8:
        return unit(-normal + np.array([0.0, 0.22, 0.0]))
    square, aside = -normal, tilted(normal)
    return unit(square + 0.35 * (aside - square))


def shown_round(finding: Finding, assembly: Assembly) -> float:
    """Return how much of the work round the spot is shown, mm: enough of the parts, and the misfit big enough."""
    thick = max(sorted((b.length, b.width, b.thickness))[1]
                for b in (assembly.part(n).blank for n in finding.parts if n in assembly.frames))
    base = min(max(1.1 * thick, 60.0), 1200.0)
    if finding.amount is None or finding.amount.unit != "mm":
        return base
    wide = max(base, 1.6 * finding.amount.value)
    return min(wide, max(finding.amount.value * 60.0, 60.0))


def _closer(radius: float, measured: float | None) -> float:
    """Return how much is shown where what is measured is small, mm."""
    return radius if not measured else min(radius, max(measured * CLOSER, LEAST_SHOWN))


def near(finding: Finding, held: Moment, where: Vector, radius: float) -> list[str]:
    """Return the parts of a finding and those whose boxes come within three radii of its spot."""
    return [n for n in held.names if n in finding.parts or held.away(where, n) < 3.0 * radius]


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


def centred(looking: Camera, where: Vector, radius: float) -> Camera:
    """Return the camera with a spot in the middle of the room for the work, and so much round it, mm."""
    return Camera(looking.right, looking.up, looking.forward, where, 2.0 * radius / (HEIGHT - 350.0),
                  (WIDTH / 2, (TOP + HEIGHT - 110.0) / 2))
