"""The picture in README.md is what the program draws today: `python -m tests.test_pictures_readme` makes it anew."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from assembly.rehearsal import rehearse
from exports.pictures import can_draw, quiet_surroundings
from exports.pictures.album import whole_of
from exports.pictures.probe import REMEDY
from model.reader import read

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
PICTURE, DESIGN = EXAMPLES / "orchard_gate.png", EXAMPLES / "orchard_gate.toml"
HEAVIEST = 400_000
"""Bytes that a page may ask its reader to load for one picture."""


def drawn() -> Image.Image:
    """Return the gate as it is drawn now."""
    quiet_surroundings()
    return whole_of(rehearse(read(DESIGN)))


def packed(image: Image.Image) -> bytes:
    """Return a picture as a PNG of 256 colours, a third the size of one with all of them."""
    out = io.BytesIO()
    few = image.quantize(256, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.FLOYDSTEINBERG)
    few.save(out, "PNG", optimize=True)
    return out.getvalue()


def grey(image: Image.Image) -> np.ndarray:
    """Return a picture in grey, 8 times coarser, so that smoothing and dithering do not count."""
    return np.asarray(image.convert("L").reduce(8), dtype=float)


def test_the_picture_on_the_page_is_as_wide_as_it_should_be_and_light_enough() -> None:
    with Image.open(PICTURE) as image:
        assert image.width == 1600 and image.format == "PNG"
    assert PICTURE.stat().st_size < HEAVIEST


@pytest.mark.skipif(can_draw() is not None, reason=f"pictures cannot be drawn here: {REMEDY}")
def test_the_picture_on_the_page_is_what_is_drawn_today() -> None:
    with Image.open(PICTURE) as image:
        off = np.abs(grey(image.convert("RGB")) - grey(drawn()))
    assert off.mean() < 1.0 and (off > 24.0).mean() < 0.002, "python -m tests.test_pictures_readme draws it anew"


if __name__ == "__main__":
    PICTURE.write_bytes(packed(drawn()))
