"""Limits on files of pieces: bounded before anything is made of them, read whole or not at all."""

from __future__ import annotations

import stat
from pathlib import Path

from model.reader.meshes import TRIANGLES_MOST
from model.reader.pieces.body import Refusal

__all__ = ["BYTES_MOST", "PIECES_MOST", "TOTAL_MOST", "TRIANGLES_MOST", "whole"]

BYTES_MOST = 100_000_000
"""A file of pieces, or all files of a folder together, may not be larger than this."""
PIECES_MOST = 5_000
"""Nor hold more pieces than this, as a design may not."""
TOTAL_MOST = 2_000_000
"""Nor more triangles than this in all; one piece not more than TRIANGLES_MOST."""


def whole(path: Path, accepted: str) -> bytes:
    """Return the bytes of an ordinary file of bounded size. Raises Refusal."""
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            raise Refusal("", "is not an ordinary file", accepted)
        with path.open("rb") as opened:
            raw = opened.read(BYTES_MOST + 1)
    except OSError as error:
        raise Refusal("", f"cannot be read ({error.strerror})", accepted) from None
    if not raw:
        raise Refusal("", "is empty", accepted)
    if len(raw) > BYTES_MOST:
        raise Refusal("", f"is too large: {found.st_size:,} bytes", f"at most {BYTES_MOST:,} bytes")
    return raw
