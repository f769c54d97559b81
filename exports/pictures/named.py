"""Labels on a view: which spot of a piece a label points at, and drawing them all."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from exports.pictures.camera import HEIGHT, WIDTH, Box
from exports.pictures.captions import Named
from exports.pictures.labels import Wanted, arranged, busy
from exports.pictures.palette import SOFT_INK, TEMPORARY_EDGE
from exports.pictures.scene import FINE, View
from exports.pictures.sheet import Sheet, label_size

COARSE = 4
"""Spots are sought on a picture this many times coarser than the finished one."""
LEAST = 10
"""A piece of which fewer coarse pixels are seen is not pointed at."""


def spot(view: View, names: Sequence[str], avoid: Sequence[Box] = ()) -> tuple[float, float] | None:
    """Return the pixel in the middle of what is seen best of some pieces; None when hardly anything is seen.

    Spots in the boxes to avoid are taken only where a piece is seen nowhere else.
    """
    from scipy.ndimage import distance_transform_edt

    coarse = view.piece[::COARSE * FINE, ::COARSE * FINE].copy()
    for box in avoid:
        left, top, right, bottom = (max(0, round(v / COARSE)) for v in box)
        corner = coarse[top:bottom, left:right]
        kept = _seen(coarse, view) - _seen(corner, view)
        if max(kept[view.number[n]] for n in names) >= LEAST:
            corner[:] = 0
    seen = _seen(coarse, view)
    best = max(names, key=lambda n: int(seen[view.number[n]]))
    if seen[view.number[best]] < LEAST:
        return None
    rows, columns = np.nonzero(coarse == view.number[best])
    top, left = int(rows.min()), int(columns.min())
    mask = np.zeros((int(rows.max()) - top + 3, int(columns.max()) - left + 3), dtype=bool)
    mask[rows - top + 1, columns - left + 1] = True
    deep = distance_transform_edt(mask)
    spread = np.hypot(np.arange(mask.shape[0])[:, None] - mask.shape[0] / 2,
                      np.arange(mask.shape[1])[None, :] - mask.shape[1] / 2)
    row, column = np.unravel_index(int(np.argmax(np.minimum(deep, 6.0) - 0.02 * spread)), mask.shape)
    return float((column + left - 1 + 0.5) * COARSE), float((row + top - 1 + 0.5) * COARSE)


def _seen(numbers: NDArray[np.int32], view: View) -> NDArray[np.int64]:
    """Return how many pixels show each piece, by its number."""
    return np.bincount(numbers.ravel(), minlength=len(view.pieces) + 1)


def name_all(sheet: Sheet, view: View, named: Sequence[Named], frame: Box, taken: Sequence[Box] = (), *,
             free: bool = False) -> list[Named]:
    """Draw labels with leaders where there is room; return those that could not be shown.

    Labels keep off the work unless `free` lets them stand on it.
    """
    spots = [(n, at) for n in named if (at := spot(view, n.parts, taken)) is not None]
    wanted = [Wanted(*label_size(n.lines), at) for n, at in spots]
    placed = arranged(wanted, frame, None if free else busy(taken_by_work(view), float(COARSE)), taken)
    for label in placed:
        one = spots[label.index][0]
        sheet.label(label, one.lines, edge=TEMPORARY_EDGE if one.temporary else SOFT_INK, dashed=one.temporary)
    shown = {id(spots[label.index][0]) for label in placed}
    return [n for n in named if id(n) not in shown]


def taken_by_work(view: View) -> NDArray[np.bool_]:
    """Return which coarse pixels (HEIGHT / COARSE, WIDTH / COARSE) the work covers."""
    mask: NDArray[np.bool_] = view.piece[::COARSE * FINE, ::COARSE * FINE] > 0
    assert mask.shape == (HEIGHT // COARSE, WIDTH // COARSE)
    return mask
