"""Inking: from what the camera sees to colours: light, growth rings, hatching, outlines, a soft ground."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageChops, ImageDraw, ImageFilter

from exports.pictures.camera import HEIGHT, WIDTH, Camera
from exports.pictures.palette import GROUND, PAPER, mixed
from exports.pictures.scene import FINE, Piece, View, merged
from model.frames import unit

SLIGHT, STOUT = 3.0, 11.0
"""Pieces that appear as broad as the first or less have the faintest edges, from the second on the full, pixels."""
WARM = np.array([0.85, 1.0, 1.18], dtype=np.float32)
"""Shade takes less from the red and more from the blue, as in a room with wood in it."""
STRIPE = 11
"""Width of a pair of hatching stripes, pixels of the picture."""
RING = 3.2
"""A growth ring as drawn, mm; wider where the picture is too small for it."""


def inked(view: View, ground: Image.Image | None = None) -> Image.Image:
    """Return the picture (RGB, WIDTH x HEIGHT) of what the camera sees, over a ground or plain paper."""
    small = np.asarray(Image.fromarray(_colours(view)).reduce(FINE), dtype=np.float32)
    seen = Image.fromarray((view.piece > 0).view(np.uint8) * np.uint8(255)).reduce(FINE)
    small = small * (_rings(view) * _hollows(view))[..., None]
    under = ImageChops.multiply(ground or plain(), ImageChops.invert(seen).convert("RGB"))
    return ImageChops.add(under, Image.fromarray(np.clip(small, 0, 255).astype(np.uint8)))


def coloured(view: View) -> NDArray[np.uint8]:
    """Return the colours of what is seen with its growth rings, FINE times finer than the picture, black elsewhere."""
    rings = _rings(view).repeat(FINE, axis=0).repeat(FINE, axis=1)
    return np.asarray(_colours(view) * rings[..., None], dtype=np.uint8)


@cache
def plain() -> Image.Image:
    """Return bare paper, a little brighter in the middle."""
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH].astype(np.float32)
    far = np.hypot((x - WIDTH / 2) / WIDTH, (y - HEIGHT / 2) / HEIGHT)[..., None]
    paper = np.array(PAPER, dtype=np.float32) * (1.0 - 0.05 * far * far)
    return Image.fromarray(paper.astype(np.uint8))


def _colours(view: View) -> NDArray[np.uint8]:
    """Return the unsmoothed colours (rows, columns, 3) at FINE times the picture's size, black where nothing is."""
    tone = np.array([p.tone for p in view.pieces], dtype=np.float32)
    light = _light(view.normals, view.camera)
    quiet = np.array([not p.heavy for p in view.pieces])[view.owner]
    shade = np.where(quiet, 1.0 - 0.45 * (1.0 - light), light)[:, None]
    lit = tone[view.owner] * shade ** WARM
    table = np.vstack([[(0, 0, 0)], np.clip(lit, 0, 255)]).astype(np.uint8)
    colours = np.take(table, view.face, axis=0)
    _hatch(colours, view)
    faint = 1.0 - np.clip((_breadths(view) - SLIGHT) / (STOUT - SLIGHT), 0.0, 1.0)
    edge = np.vstack([[(0, 0, 0)], [mixed(p.edge, p.tone, 0.75 * f)
                                    for p, f in zip(view.pieces, faint.tolist(), strict=True)]]).astype(np.uint8)
    for mask in ((view.face == 0) & (view.piece > 0), _outline(view)):
        at = np.flatnonzero(mask)
        colours.reshape(-1, 3)[at] = edge[view.piece.ravel()[at]]
    return colours


def _light(normals: NDArray[np.float64], camera: Camera) -> NDArray[np.float32]:
    """Return how bright faces are: a high lamp at the viewer's left shoulder, a weak one low on the right."""
    key = unit(-0.55 * camera.right + 0.75 * camera.up - 0.65 * camera.forward)
    fill = unit(0.9 * camera.right + 0.1 * camera.up - 0.45 * camera.forward)
    bright = 0.64 + 0.38 * np.maximum(0.0, normals @ key) + 0.14 * np.maximum(0.0, normals @ fill)
    return np.asarray(bright, dtype=np.float32)


def _hatch(colours: NDArray[np.uint8], view: View) -> None:
    """Stripe the pieces that carry a hatch, slanting across the picture."""
    if not any(p.hatch for p in view.pieces):
        return
    striped = np.array([False, *(p.hatch is not None for p in view.pieces)])
    rows, columns = np.nonzero(striped[view.piece])
    on = (rows + columns) % (STRIPE * FINE) < STRIPE * FINE * 0.3
    stripe = np.array([(0, 0, 0), *(p.hatch or (0, 0, 0) for p in view.pieces)], dtype=np.uint8)
    colours[rows[on], columns[on]] = stripe[view.piece[rows[on], columns[on]]]


def _outline(view: View) -> NDArray[np.bool_]:
    """Return the pixels on the nearer side of every change from one piece to another, or to nothing."""
    mask = np.zeros(view.piece.shape, dtype=bool)
    for axis in (0, 1):
        one = (slice(None, -1), slice(None)) if axis == 0 else (slice(None), slice(None, -1))
        two = (slice(1, None), slice(None)) if axis == 0 else (slice(None), slice(1, None))
        change = view.piece[one] != view.piece[two]
        nearer = view.depth[one] <= view.depth[two]
        mask[one] |= change & nearer
        mask[two] |= change & ~nearer
    stout = _breadths(view) >= STOUT
    heavy = np.array([False, *(p.heavy and s for p, s in zip(view.pieces, stout, strict=True))])[view.piece]
    lines = np.flatnonzero(mask)
    _grow(mask, lines, heavy, range(1 - 2 * FINE, 2 * FINE))
    _grow(mask, lines, ~heavy, (0, 1))
    return mask & (view.piece > 0)


def _grow(mask: NDArray[np.bool_], lines: NDArray[np.int64], within: NDArray[np.bool_], by: Sequence[int]) -> None:
    """Mark the pixels within a region that lie so far beside or above the pixels of lines (flat numbers) as well."""
    flat, allowed, wide = mask.reshape(-1), within.reshape(-1), mask.shape[1]
    for step in (*by, *(wide * k for k in by)):
        at = np.clip(lines + step, 0, mask.size - 1)
        flat[at[allowed[at]]] = True


def _breadths(view: View) -> NDArray[np.float64]:
    """Return about how broad each piece appears, pixels: the second of its three sizes."""
    sizes = np.array([np.sort(np.ptp(p.solid.bounds, axis=0))[1] for p in view.pieces])
    return np.asarray(sizes / view.camera.mm_per_pixel)


def _hollows(view: View) -> NDArray[np.float32]:
    """Return a factor that darkens what lies behind its surroundings.

    Source: Luft, Colditz & Deussen, "Image enhancement by unsharp masking the depth buffer" (2006).
    """
    from scipy.ndimage import gaussian_filter

    step = 2 * FINE
    depth = view.depth[::step, ::step]
    seen = np.isfinite(depth)
    if not seen.any():
        return np.ones((HEIGHT, WIDTH), dtype=np.float32)
    far = float(depth[seen].max())
    span = max(far - float(depth[seen].min()), 1.0)
    level = np.where(seen, depth, far)
    behind = np.clip((level - gaussian_filter(level, 9.0)) / span, 0.0, 0.2)
    factor = (255.0 * (1.0 - 1.3 * behind)).astype(np.uint8)
    large = Image.fromarray(factor).resize((WIDTH, HEIGHT), Image.Resampling.BILINEAR)
    return np.asarray(large, dtype=np.float32) / 255.0


def _rings(view: View) -> NDArray[np.float32]:
    """Return a factor that draws growth rings: faint stripes along the grain, arcs on the ends."""
    factor = np.ones((view.piece.shape[0] // FINE, view.piece.shape[1] // FINE), dtype=np.float32)
    strength = np.array([0.0, *(p.grain for p in view.pieces)], dtype=np.float32)
    piece, depth = view.piece[::FINE, ::FINE], view.depth[::FINE, ::FINE]
    rows, columns = np.nonzero(strength[piece] > 0)
    if not len(rows):
        return factor
    number = piece[rows, columns]
    at = view.camera.world(np.stack([columns + 0.25, rows + 0.25], axis=1), depth[rows, columns].astype(np.float64))
    back = np.linalg.inv(np.array([np.eye(4), *(p.frame for p in view.pieces)])).astype(np.float32)[number]
    local = np.einsum("nij,nj->ni", back[:, :3, :3], at.astype(np.float32)) + back[:, :3, 3]
    factor[rows, columns] = 1.0 - strength[number] * _latewood(local, number, view.camera.mm_per_pixel)
    return factor


def _latewood(local: NDArray[np.float32], number: NDArray[np.int32], mm_per_pixel: float) -> NDArray[np.float32]:
    """Return how dark the ring is (0 to 1) at points in a piece's own frame; each piece has its own pith."""
    wide = max(RING, 6.0 * mm_per_pixel)
    fall = min(0.45, max(0.08, 1.5 * mm_per_pixel / wide))
    along, across, through = local.T
    y0 = 35.0 * np.sin(number * 2.4)
    z0 = -(70.0 + 30.0 * np.sin(number * 1.7))
    drift = 0.35 * wide * np.sin(along / (45.0 * wide) * 6.28 + number) + along * 0.004 * np.sin(number * 5.1)
    ring = np.hypot(across - y0, (through - z0)) + drift
    turn = ring / wide
    turn -= np.floor(turn)
    return np.asarray(np.minimum((turn / (1.0 - fall)) ** 2.5, (1.0 - turn) / fall), dtype=np.float32)


def grounded(pieces: Sequence[Piece], camera: Camera) -> Image.Image:
    """Return paper with a quiet ground at z = 0 under the pieces, and their soft shadow on it."""
    lows = np.array([p.bounds[0] for p in pieces]).min(axis=0)
    highs = np.array([p.bounds[1] for p in pieces]).max(axis=0)
    paper = plain().copy()
    disc = _disc(lows, highs, camera).filter(ImageFilter.GaussianBlur(40))
    paper.paste(Image.new("RGB", paper.size, GROUND), mask=disc)
    dark = Image.new("RGB", paper.size, mixed(GROUND, (60, 50, 45), 0.55))
    paper.paste(dark, mask=ImageChops.multiply(shadow(pieces, camera), disc))
    return paper


def _disc(low: NDArray[np.float64], high: NDArray[np.float64], camera: Camera) -> Image.Image:
    middle = (low + high)[:2] / 2
    reach = (high - low)[:2] / 2 + 0.16 * float(np.max(high - low))
    angle = np.linspace(0.0, 2 * np.pi, 120, endpoint=False)
    round_off = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    rim = np.zeros((120, 3))
    rim[:, :2] = middle + reach * 1.12 * np.sign(round_off) * np.abs(round_off) ** 0.7
    image = Image.new("L", (WIDTH, HEIGHT), 0)
    ImageDraw.Draw(image).polygon([(float(x), float(y)) for x, y in camera.project(rim)], fill=255)
    return image


def shadow(pieces: Sequence[Piece], camera: Camera) -> Image.Image:
    """Return the soft shadow (L) that the pieces throw on the ground, the lamp standing nearly above."""
    flat = fallen(pieces, camera) / 2
    image = Image.new("L", (WIDTH // 2, HEIGHT // 2), 0)
    pen = ImageDraw.Draw(image)
    for triangle in flat.reshape(-1, 6).tolist():
        pen.polygon(triangle, fill=190)
    soft = image.filter(ImageFilter.GaussianBlur(5))
    return soft.resize((WIDTH, HEIGHT), Image.Resampling.BILINEAR)


def fallen(pieces: Sequence[Piece], camera: Camera) -> NDArray[np.float64]:
    """Return where the lit triangles of pieces throw their shadows on the ground at z = 0, pixels (N, 3, 2)."""
    mesh = merged(pieces)
    lamp = unit(np.array([0.0, 0.0, -1.0]) + 0.22 * camera.right + 0.18 * np.array([*camera.forward[:2], 0.0]))
    facing = mesh.normals @ lamp < -1e-3
    fall = np.maximum(mesh.vertices[:, 2:], 0.0) / -lamp[2]
    flat = camera.project(np.where([[True, True, False]], mesh.vertices + fall * lamp, 0.0))
    return np.asarray(flat[mesh.triangles[facing]])
