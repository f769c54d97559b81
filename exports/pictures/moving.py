"""Moving pictures as a file: GIF, which opens everywhere, on every phone, in every viewer and browser.

Lossless kinds that came later (animated PNG, animated WebP) are smaller or finer, but many viewers show their first
picture only. One palette serves all pictures, so that what does not change costs nothing.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from io import BytesIO

import numpy as np
from numpy.typing import NDArray
from PIL import GifImagePlugin, Image

from exports.pictures.film import Picture
from exports.pictures.palette import BLUE, INK, PAPER, SKY, SOFT_INK, TEMPORARY, WHITE, Colour, mixed

MOST = 1_000_000
"""Bytes of a file at most."""
TRIES = ((127, 1.0), (64, 1.0), (64, 0.8), (48, 0.64), (32, 0.5), (32, 0.4), (16, 0.3))
"""Colours and share of the size that are tried until the file is small enough."""
TABLE = 128
"""Entries of the palette in the file; the last says: as it was."""
CLEAR = TABLE - 1
SAMPLES = 12
"""Pictures from which the palette is taken."""
KEPT: tuple[Colour, ...] = (PAPER, INK, SOFT_INK, WHITE, BLUE, SKY, TEMPORARY,
                            *(mixed(INK, PAPER, s) for s in (0.25, 0.5, 0.75)),
                            *(mixed(BLUE, PAPER, s) for s in (0.35, 0.7)))
"""Colours with a meaning, and of letters: they are in every palette."""


def gif(pictures: Sequence[Picture], most: int = MOST) -> bytes:
    """Return pictures as a looping GIF of no more bytes than `most`, if any of TRIES gives that; else the smallest."""
    data = b""
    for colours, share in TRIES:
        data = _written(pictures, colours, share)
        if len(data) <= most:
            break
    return data


def _written(pictures: Sequence[Picture], colours: int, share: float) -> bytes:
    wide, high = pictures[0].image.size
    size = round(wide * share), round(high * share)
    images = [p.image if share == 1.0 else p.image.resize(size, Image.Resampling.LANCZOS) for p in pictures]
    palette = _palette(images, colours)
    file = BytesIO()
    file.write(_header(size, palette))
    frames: list[tuple[NDArray[np.uint8], int]] = []
    for image, picture in zip(images, pictures, strict=True):
        drawn = np.asarray(image.quantize(palette=palette, dither=Image.Dither.NONE))
        if frames and np.array_equal(frames[-1][0], drawn):
            frames[-1] = drawn, frames[-1][1] + picture.stands
        else:
            frames.append((drawn, picture.stands))
    before: NDArray[np.uint8] | None = None
    for drawn, stands in frames:
        file.write(_frame(drawn, before, stands))
        before = drawn
    file.write(b";")
    return file.getvalue()


def _header(size: tuple[int, int], palette: Image.Image) -> bytes:
    """Return what a GIF begins with: its size, the palette of all pictures, and that it plays for ever."""
    table = bytes(palette.getpalette() or ()).ljust(3 * TABLE, b"\0")[:3 * TABLE]
    return (b"GIF89a" + struct.pack("<HHBBB", *size, 0x80 | 0x70 | (TABLE.bit_length() - 2), 0, 0) + table
            + b"\x21\xff\x0bNETSCAPE2.0\x03\x01\x00\x00\x00")


def _frame(drawn: NDArray[np.uint8], before: NDArray[np.uint8] | None, stands: int) -> bytes:
    """Return one picture as what changes in it: the rectangle round that, clear where it stays as it was."""
    left, top, right, bottom = 0, 0, drawn.shape[1], drawn.shape[0]
    if before is not None:
        changed = drawn != before
        rows, columns = (np.flatnonzero(changed.any(axis=k)) for k in (1, 0))
        top, bottom, left, right = rows[0], rows[-1] + 1, columns[0], columns[-1] + 1
        drawn = np.where(changed, drawn, CLEAR)
    part = Image.fromarray(np.ascontiguousarray(drawn[top:bottom, left:right]))
    return b"".join(GifImagePlugin.getdata(part, (int(left), int(top)), duration=stands, disposal=1,
                                           transparency=CLEAR))


def _palette(images: Sequence[Image.Image], colours: int) -> Image.Image:
    """Return a picture with the palette for all."""
    step = max(1, len(images) // SAMPLES)
    some = images[::step]
    wide, high = some[0].size
    sheet = Image.new("RGB", (wide, high * len(some)))
    for k, image in enumerate(some):
        sheet.paste(image, (0, k * high))
    kept = KEPT[:colours // 2]
    own = sheet.quantize(colours - len(kept), method=Image.Quantize.MEDIANCUT).getpalette() or []
    found = Image.new("P", (1, 1))
    found.putpalette([*(v for colour in kept for v in colour), *own[:3 * (colours - len(kept))]])
    return found
