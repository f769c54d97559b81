"""Clamps and blocks as bodies that can be drawn: pads, jaws, a bar and its screw; a band; blocks beneath the work.

They are drawn as large as such things are, and slender; where the picture is small, a little
larger, so that they can be seen. Their make is nobody's: only where they press is meant.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.placing import Assembly
from assembly.plan import Clamp
from exports.pictures.palette import ORANGE, Colour, mixed
from exports.pictures.scene import Piece
from model.frames import Frame, Vector, frame_of, inverse, points, unit
from model.solids import Solid, box, prism

STEEL: Colour = (96, 104, 112)
STEEL_EDGE: Colour = (38, 42, 46)
SCREW: Colour = (84, 92, 100)
PAD: Colour = mixed(ORANGE, (255, 255, 255), 0.15)
BLOCK: Colour = (206, 200, 188)
BLOCK_EDGE: Colour = (92, 84, 72)
SMALLEST = 0.32
"""Millimetres of a clamp drawn for a millimetre of a pixel: what keeps a bar about five pixels broad."""
USUAL_REACH = 80.0
"""How far from its line a bar is drawn whose reach is not known, mm."""
WIDE = 50.0
"""How wide a pad is, mm; a block under it is wider by its own thickness on every side, as far as it spreads."""
MOST_BLOCKS = 6
ACROSS = 60.0
"""How wide a block is, mm."""
BOTTOM = 1.0
"""What lies no higher than this over the lowest point bears on the blocks, mm."""


def clamp_body(clamp: Clamp, assembly: Assembly, done: frozenset[str], mm_per_pixel: float, name: str,
               parted: bool = False) -> list[Piece]:
    """Return a clamp's bodies as pieces named after it; `assembly` stands where the clamp's coordinates hold.

    The screw is at the head, one body with the bar unless `parted`.
    """
    size = max(1.0, SMALLEST * mm_per_pixel)
    if clamp.kind == "band":
        return _band(clamp, assembly, done, size, name)
    return _bar(clamp, assembly, done, size, name, parted)


def _bar(clamp: Clamp, assembly: Assembly, done: frozenset[str], size: float, name: str, parted: bool) -> list[Piece]:
    foot, head = np.asarray(clamp.foot, dtype=np.float64), np.asarray(clamp.head, dtype=np.float64)
    length = float(np.linalg.norm(head - foot))
    if length < 1e-6:
        return []
    side = _side(clamp, assembly, done, (head - foot) / length)
    frame = frame_of(foot, (head - foot) / length, side)
    return [Piece(f"{name} {what}", body, frame, tone, edge, heavy=tone in (STEEL, SCREW))
            for what, body, tone, edge in _bodies(length, clamp.reach or USUAL_REACH, clamp.block, size, parted)]


@lru_cache(maxsize=1024)
def _bodies(length: float, reach: float, block: float, size: float,
            parted: bool) -> list[tuple[str, Solid, Colour, Colour]]:
    """Return the bodies of a bar clamp along z, foot at 0, the bar towards x; with what each is and its colours."""
    inner, outer = reach - 14.0 * size, reach + 14.0 * size
    pad, end = 7.0 * size, length + 150.0 * size

    def beyond(past: float) -> float:
        return length + past * size

    steel = [
        _bar_of((inner, outer), 7.0 * size, -25.0 * size, beyond(72.0)),
        _bar_of((-14.0 * size, outer), 10.0 * size, -25.0 * size, -pad),
        _bar_of((-14.0 * size, outer), 10.0 * size, beyond(38.0), beyond(56.0)),
        _bar_of((-7.0 * size, 7.0 * size), 7.0 * size, length + pad, end - 20.0 * size),
        _bar_of((-14.0 * size, 14.0 * size), 14.0 * size, beyond(88.0), end),
    ]
    wide = 24.0 * size
    pads = [_bar_of((-wide, wide), wide, low, low + pad) for low in (-pad, length)]
    under = [(0.0, block), (length - block, length)] if block > 0 else []
    half = WIDE / 2 + block
    bar = steel[:3] if parted else steel
    screw = [("screw", steel[3].joined(steel[4]), SCREW, STEEL_EDGE)] if parted else []
    return [("bar", bar[0].joined(*bar[1:]), STEEL, STEEL_EDGE), *screw,
            *((f"pad {k}", body, PAD, STEEL_EDGE) for k, body in enumerate(pads)),
            *((f"block {k}", _bar_of((-half, half), half, *ends), BLOCK, BLOCK_EDGE) for k, ends in enumerate(under))]


def _bar_of(across: tuple[float, float], half: float, low: float, high: float) -> Solid:
    """Return a straight piece of a clamp: from `low` to `high` along its line, so far across, `half` to both sides."""
    return box((across[0], -half, low), (across[1], half, high))


def _side(clamp: Clamp, assembly: Assembly, done: frozenset[str], along: Vector) -> Vector:
    """Return the unit way from a clamp's line to its bar, square to the line; outwards where it is not said."""
    said = np.asarray(clamp.side, dtype=np.float64)
    said = said - along * float(said @ along)
    if float(np.linalg.norm(said)) > 0.1:
        return unit(said)
    around = np.vstack([assembly.vertices(n, done) for n in clamp.pads if n in assembly.frames] or [np.zeros((1, 3))])
    out = np.asarray(clamp.foot) - around.mean(axis=0)
    ways = [out, np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0])]
    square = (way - along * float(way @ along) for way in ways)
    return unit(next(way for way in square if float(np.linalg.norm(way)) > 1e-3))


def _band(clamp: Clamp, assembly: Assembly, done: frozenset[str], size: float, name: str) -> list[Piece]:
    """Return a band as a flat ring drawn tight round what it holds."""
    at = [assembly.vertices(n, done) for n in clamp.around if n in assembly.frames]
    if not at:
        return []
    frame = _band_frame(clamp, at, [assembly.frames[n] for n in clamp.around if n in assembly.frames])
    outline = _outline(points(inverse(frame), np.vstack(at)))
    thick, high = 4.0 * size, 19.0 * size
    ring = prism(_wider(outline, thick), -high, high).cut(prism(_wider(outline, 0.3), -2 * high, 2 * high))
    return [Piece(f"{name} band", ring, frame, PAD, STEEL_EDGE, heavy=True)]


def _band_frame(clamp: Clamp, at: Sequence[NDArray[np.float64]], frames: Sequence[Frame]) -> Frame:
    """Return a frame in the middle of a band, z square to its plane.

    Of the planes that hold the stretch that is known, square to an edge of a piece or through the pieces as a ring,
    it is the one in which the way round comes nearest to the band's length.
    """
    everything = np.vstack(at)
    foot, head = np.asarray(clamp.foot, dtype=np.float64), np.asarray(clamp.head, dtype=np.float64)
    middles = np.array([v.mean(axis=0) for v in at])
    spread = np.linalg.svd(middles - middles.mean(axis=0))[2]
    ways = [spread[2], *(frame[:3, k] for frame in frames[:4] for k in range(3))]
    stretch = head - foot
    length = float(np.linalg.norm(stretch))
    holding = [w for w in ways if length < 1.0 or abs(float(w @ stretch)) < 0.02 * length] or [spread[2]]

    def off(way: Vector) -> float:
        outline = _outline(points(inverse(_on(foot, way)), everything))
        around = float(np.linalg.norm(np.roll(outline, -1, axis=0) - outline, axis=1).sum())
        return round(abs(around - clamp.opening), 3)

    return _on(foot, min(holding, key=off))


def _on(origin: Vector, z: Vector) -> Frame:
    aside = np.eye(3)[int(np.argmin(np.abs(z)))]
    return frame_of(origin, z, aside)


def _outline(local: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the convex outline (N, 2), counter-clockwise, of points (M, 3) seen along z."""
    from scipy.spatial import ConvexHull

    flat = local[:, :2]
    return np.asarray(flat[ConvexHull(flat).vertices])


def _wider(outline: NDArray[np.float64], by: float) -> NDArray[np.float64]:
    """Return a convex counter-clockwise outline (N, 2) with every corner moved out by some mm."""
    before, after = outline - np.roll(outline, 1, axis=0), np.roll(outline, -1, axis=0) - outline
    normals = [np.stack([e[:, 1], -e[:, 0]], axis=1) / np.linalg.norm(e, axis=1)[:, None] for e in (before, after)]
    out = normals[0] + normals[1]
    return np.asarray(outline + by * out / np.maximum(0.5, 0.5 * (out * out).sum(axis=1))[:, None])


def blocks(pieces: Sequence[Piece], high: float, mm_per_pixel: float) -> list[Piece]:
    """Return blocks so high, mm, standing on z = 0 under the lowest faces of pieces that lie on them."""
    if high <= 0:
        return []
    half = ACROSS / 2 * max(1.0, SMALLEST * mm_per_pixel)
    spots = _bearing(pieces)
    body: Solid = box((-half, -half, 0.0), (half, half, high))
    frames = [frame_of((x, y, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)) for x, y in spots]
    return [Piece(f"block {k}", body, frame, BLOCK, BLOCK_EDGE) for k, frame in enumerate(frames)]


def _bearing(pieces: Sequence[Piece]) -> list[tuple[float, float]]:
    """Return places under the lowest faces, a little inside them, as far apart as can be."""
    lowest = min(float(p.bounds[0, 2]) for p in pieces)
    found = []
    for piece in pieces:
        corners = piece.vertices[piece.vertices[:, 2] < lowest + BOTTOM][:, :2]
        if len(corners):
            middle = corners.mean(axis=0)
            found.append(corners + 0.12 * (middle - corners))
    at = np.vstack(found)
    chosen = [int(np.argmin(at.sum(axis=1)))]
    reach = float(np.linalg.norm(np.ptp(at, axis=0)))
    while len(chosen) < MOST_BLOCKS:
        apart = np.linalg.norm(at[:, None] - at[chosen][None], axis=2).min(axis=1)
        if float(apart.max()) < max(2.5 * ACROSS, 0.25 * reach):
            break
        chosen.append(int(np.argmax(apart)))
    return [(float(x), float(y)) for x, y in at[chosen]]
