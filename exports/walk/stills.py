"""Stills: the pictures of a run made small enough to lie in the page."""

from __future__ import annotations

import base64
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import PurePosixPath

MOST, MOST_IN_ALL = 40_000, 600_000
"""No picture is larger than this as it stands in the page, nor are all of them together, bytes."""
LADDER = ((1080, 62), (1080, 42), (880, 48), (880, 30), (700, 36), (700, 20), (520, 26), (400, 20))
"""Widths, pixels, and qualities that are tried until a picture is small enough: from the first on where there is room
for `ROOMY` bytes, else from a later one."""
ROOMY = 25_000
BASE64 = 4 / 3


@dataclass(frozen=True)
class Still:
    """A small picture: its address (a data: URI) and its size in pixels."""

    source: str
    width: int
    height: int


def stills(pictures: Mapping[str, bytes]) -> Mapping[str, Still]:
    """Return pictures (PNG, by the names of their files) made small, by name without folder and ending.

    What is no picture, or does not become small enough, is left out.
    """
    if not pictures:
        return {}
    most = int(min(MOST, MOST_IN_ALL / len(pictures)) / BASE64) - 64
    made = {PurePosixPath(name).stem: _small(data, most) for name, data in pictures.items()}
    return {name: still for name, still in made.items() if still is not None}


def _small(data: bytes, most: int) -> Still | None:
    for written, size in _tried(data, 0 if most >= ROOMY else 2 if most >= ROOMY / 2 else 4):
        if len(written) <= most:
            return Still(f"data:image/webp;base64,{base64.b64encode(written).decode('ascii')}", *size)
    return None


def _tried(data: bytes, first: int) -> Iterator[tuple[bytes, tuple[int, int]]]:
    from PIL import Image, UnidentifiedImageError

    try:
        whole = Image.open(io.BytesIO(data)).convert("RGB")
    except (UnidentifiedImageError, OSError, Image.DecompressionBombError):
        return
    for width, quality in LADDER[first:]:
        wide = min(width, whole.width)
        size = wide, max(1, round(whole.height * wide / whole.width))
        stream = io.BytesIO()
        whole.resize(size, Image.Resampling.LANCZOS).save(stream, "WEBP", quality=quality, method=2)
        yield stream.getvalue(), size
