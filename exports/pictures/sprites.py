"""Sprites: bodies seen each alone, to be laid over each other by depth wherever a film needs them.

In a parallel view a body that slides keeps its look: it only shifts on the paper and in depth. So each body is drawn
once, many of them side by side on one canvas, and every picture of a film is put together from these.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from exports.pictures.camera import Camera
from exports.pictures.inking import coloured
from exports.pictures.palette import BLUE, PAPER, Colour
from exports.pictures.scene import FINE, Canvas, Piece, View
from model.frames import Vector, move

Frame = tuple[int, int, int, int]
"""A rectangle of fine pixels: left, top, right, bottom."""
ROOM = 3
"""Free paper around each body on the canvas, pixels."""
RIM = 5
"""How broad the rim of a moving body is, fine pixels."""
NEARER = 1.5
"""Lines lie so much nearer than the faces they bound, in widths of a pixel, lest a face beside them covers them."""


@dataclass(frozen=True, eq=False)
class Sprite:
    """What is seen of one body where it is at home: fine pixels from `left`, `top` on.

    `colour` (rows, columns), each red, green, blue and a byte more; `depth` (rows, columns) mm behind the camera's
    centre plane, infinite where nothing is.
    """

    left: int
    top: int
    colour: NDArray[np.uint32]
    depth: NDArray[np.float32]

    @property
    def frame(self) -> Frame:
        """Where it is on the paper at home."""
        return self.left, self.top, self.left + self.depth.shape[1], self.top + self.depth.shape[0]

    @cached_property
    def rimmed(self) -> Sprite:
        """The same body marked as moving: a broad rim all round it."""
        from scipy.ndimage import minimum_filter

        wide = RIM + 1
        depth = np.pad(self.depth, wide, constant_values=np.inf)
        near = minimum_filter(depth, size=2 * RIM + 1)
        rim = np.isfinite(near) & ~np.isfinite(depth)
        colour = np.pad(self.colour, wide)
        colour[rim] = four_bytes(np.array(BLUE, dtype=np.uint8))
        return Sprite(self.left - wide, self.top - wide, colour, np.where(rim, near, depth))


def sprites(bodies: Sequence[Sequence[Piece]], canvas: Canvas, camera: Camera,
            size: tuple[int, int]) -> list[Sprite]:
    """Return the sprite of every body; `size` is that of the canvas, pixels."""
    boxes = [_box(body, camera) for body in bodies]
    found: dict[int, Sprite] = {}
    for sheet in packed([(b[2] - b[0], b[3] - b[1]) for b in boxes], size):
        shifts = {k: (x - boxes[k][0], y - boxes[k][1]) for k, (x, y) in sheet.items()}
        view = canvas.look([_shifted(p, s, camera) for k, s in shifts.items() for p in bodies[k]], camera)
        colours = coloured(view)
        lines = ((view.face == 0) & (view.piece > 0)) * np.float32(NEARER * camera.mm_per_pixel)
        depth = view.depth - lines
        owner = _owners(view, [len(bodies[k]) for k in shifts])
        for n, (k, shift) in enumerate(shifts.items(), 1):
            found[k] = _cut_out(boxes[k], shift, owner == n if len(shifts) > 1 else owner > 0, colours, depth)
    return [found[k] for k in range(len(bodies))]


def four_bytes(colours: NDArray[np.uint8]) -> NDArray[np.uint32]:
    """Return colours (..., 3) as one number each."""
    four = np.zeros((*colours.shape[:-1], 4), dtype=np.uint8)
    four[..., :3] = colours
    return four.view(np.uint32)[..., 0]


def _box(body: Sequence[Piece], camera: Camera) -> Frame:
    """Return the pixels a body takes, with free paper round it."""
    at = camera.project(np.vstack([p.vertices for p in body]))
    low, high = np.floor(at.min(axis=0)).astype(int) - ROOM, np.ceil(at.max(axis=0)).astype(int) + ROOM
    return int(low[0]), int(low[1]), int(high[0]), int(high[1])


def _shifted(piece: Piece, by: tuple[int, int], camera: Camera) -> Piece:
    way = (by[0] * camera.right - by[1] * camera.up) * camera.mm_per_pixel
    return replace(piece, frame=move(*way.tolist()) @ piece.frame) if any(by) else piece


def _owners(view: View, counts: Sequence[int]) -> NDArray[np.int32]:
    """Return for each pixel the body seen there, counted from 1."""
    return np.concatenate([[0], np.repeat(np.arange(1, len(counts) + 1), counts)]).astype(np.int32)[view.piece]


def _cut_out(box: Frame, shift: tuple[int, int], own: NDArray[np.bool_], colours: NDArray[np.uint8],
             depth: NDArray[np.float32]) -> Sprite:
    left, top = max(box[0] + shift[0], 0) * FINE, max(box[1] + shift[1], 0) * FINE
    here = slice(top, (box[3] + shift[1]) * FINE), slice(left, (box[2] + shift[0]) * FINE)
    return Sprite(left - shift[0] * FINE, top - shift[1] * FINE, four_bytes(colours[here]),
                  np.where(own[here], depth[here], np.float32(np.inf)))


def packed(sizes: Sequence[tuple[int, int]], room: tuple[int, int]) -> list[dict[int, tuple[int, int]]]:
    """Return sheets: for each the left top corner of the boxes (numbers in `sizes`) that stand on it side by side.

    Boxes stand in rows, the highest first. One larger than the room has a sheet of its own.
    """
    sheets: list[dict[int, tuple[int, int]]] = [{}]
    x = y = high = 0
    for k in sorted(range(len(sizes)), key=lambda k: (-sizes[k][1], k)):
        wide, tall = sizes[k]
        if x + wide > room[0]:
            x, y, high = 0, y + high, 0
        if y + tall > room[1] and sheets[-1]:
            sheets.append({})
            x = y = high = 0
        sheets[-1][k] = x, y
        x, high = x + wide, max(high, tall)
    return [s for s in sheets if s]


Laid = tuple[Sprite, Vector]
"""A sprite and how far its body is off its home, mm (3,)."""


def shifts(off: Vector, camera: Camera) -> tuple[int, int, float]:
    """Return by how many fine pixels a body off its home is shifted right and down, and how far back, mm."""
    x, y = camera.shown(off) * FINE
    return round(float(x)), round(float(y)), float(off @ camera.forward)


def placed(laid: Laid, camera: Camera) -> Frame:
    """Return where a sprite is on the paper, fine pixels."""
    x, y, _ = shifts(laid[1], camera)
    left, top, right, bottom = laid[0].frame
    return left + x, top + y, right + x, bottom + y


def laid_over(some: Sequence[Laid], camera: Camera, within: Frame, paper: Colour = PAPER) -> Image.Image:
    """Return the picture of a rectangle of fine pixels in which sprites hide each other by their depth."""
    left, top, right, bottom = within
    colour = np.full((bottom - top, right - left), four_bytes(np.array(paper, dtype=np.uint8)), dtype=np.uint32)
    depth = np.full(colour.shape, np.inf, dtype=np.float32)
    for sprite, off in some:
        a, b, c, d = placed((sprite, off), camera)
        x0, y0, x1, y1 = max(a, left), max(b, top), min(c, right), min(d, bottom)
        if x0 >= x1 or y0 >= y1:
            continue
        own = slice(y0 - b, y1 - b), slice(x0 - a, x1 - a)
        here = slice(y0 - top, y1 - top), slice(x0 - left, x1 - left)
        behind = sprite.depth[own] + np.float32(off @ camera.forward)
        nearer = behind < depth[here]
        np.copyto(depth[here], behind, where=nearer)
        np.copyto(colour[here], sprite.colour[own], where=nearer)
    return Image.frombuffer("RGBX", (right - left, bottom - top), colour.tobytes(), "raw", "RGBX", 0, 1).convert("RGB")
