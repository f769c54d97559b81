"""Labels on a view: which spot of a piece a label points at, and drawing them all."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from exports.pictures.camera import HEIGHT, WIDTH, Box
from exports.pictures.captions import Named
from exports.pictures.labels import OVER_WORK, Wanted, arranged, busy
from exports.pictures.lettering import label_size
from exports.pictures.palette import SOFT_INK, TEMPORARY_EDGE
from exports.pictures.scene import FINE, View
from exports.pictures.sheet import Sheet

COARSE = 4
"""Spots are sought on a picture this many times coarser than the finished one."""
LEAST = 10
"""A piece of which fewer coarse pixels are seen is not pointed at."""
WELL_SEEN, MOST_TRIED = 0.45, 24
"""Of a group, pieces of which this share of the best seen one shows, and no more of them, are weighed."""
TO_PAPER = 0.07
"""What a coarse pixel of way to free paper weighs against one of depth inside the piece."""
USUAL = (11, 42)
"""Rows and columns of coarse pixels that a label takes."""


def spot(view: View, names: Sequence[str], avoid: Sequence[Box] = (),
         far: NDArray[np.float64] | None = None) -> tuple[float, float] | None:
    """Return the pixel well inside what is seen of some pieces; None when hardly anything is seen.

    Of the spots that are good to point at the one nearest to where a label has room is taken
    (`far`: how far from there each coarse pixel is). Spots in the boxes to avoid are taken
    only where a piece is seen nowhere else.
    """
    coarse = view.piece[::COARSE * FINE, ::COARSE * FINE].copy()
    for box in avoid:
        left, top, right, bottom = (max(0, round(v / COARSE)) for v in box)
        corner = coarse[top:bottom, left:right]
        kept = _seen(coarse, view) - _seen(corner, view)
        if max(kept[view.number[n]] for n in names) >= LEAST:
            corner[:] = 0
    seen = _seen(coarse, view)
    most = max(int(seen[view.number[n]]) for n in names)
    if most < LEAST:
        return None
    well = sorted((n for n in names if seen[view.number[n]] >= max(LEAST, WELL_SEEN * most)),
                  key=lambda n: -int(seen[view.number[n]]))[:MOST_TRIED]
    _, row, column = max((_inside(coarse == view.number[n], far) for n in well), key=lambda found: found[0])
    return (column + 0.5) * COARSE, (row + 0.5) * COARSE


def _inside(mask: NDArray[np.bool_], far: NDArray[np.float64] | None) -> tuple[float, int, int]:
    """Return the best spot of a mask, as how good it is, row and column: deep inside, central, near free paper."""
    from scipy.ndimage import distance_transform_edt

    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    top, left, bottom, right = int(rows[0]), int(columns[0]), int(rows[-1]) + 1, int(columns[-1]) + 1
    cut = mask[top:bottom, left:right]
    deep = distance_transform_edt(np.pad(cut, 1))[1:-1, 1:-1]
    middle = np.hypot(np.arange(bottom - top)[:, None] - (bottom - top) / 2,
                      np.arange(right - left)[None, :] - (right - left) / 2)
    good = np.minimum(deep, 6.0) - 0.02 * middle
    if far is not None:
        good = good - TO_PAPER * far[top:bottom, left:right]
    good[~cut] = -np.inf
    row, column = np.unravel_index(int(np.argmax(good)), good.shape)
    return float(good[row, column]), int(row) + top, int(column) + left


def far_from_room(work: NDArray[np.bool_], frame: Box) -> NDArray[np.float64]:
    """Return how far each coarse pixel is from paper on which a label of usual size has room, in coarse pixels."""
    from scipy.ndimage import distance_transform_edt, maximum_filter

    closed = np.ones_like(work)
    left, top, right, bottom = (round(v / COARSE) for v in frame)
    closed[top:bottom, left:right] = work[top:bottom, left:right]
    centres = ~maximum_filter(closed, size=USUAL, mode="constant", cval=True)
    room = maximum_filter(centres, size=USUAL)
    return np.asarray(distance_transform_edt(~room)) if room.any() else np.zeros(work.shape)


def _seen(numbers: NDArray[np.int32], view: View) -> NDArray[np.int64]:
    """Return how many pixels show each piece, by its number."""
    return np.bincount(numbers.ravel(), minlength=len(view.pieces) + 1)


def name_all(sheet: Sheet, view: View, named: Sequence[Named], frame: Box, taken: Sequence[Box] = (),
             over_work: float = OVER_WORK) -> list[Named]:
    """Draw labels with leaders where there is room; return those that could not be shown.

    Labels keep off the work unless that takes a leader longer than `over_work` pixels.
    """
    mask = taken_by_work(view)
    far = far_from_room(mask, frame)
    spots = [(n, at) for n in named if (at := spot(view, n.parts, taken, far)) is not None]
    wanted = [Wanted(*label_size(n.lines, n.mark), at) for n, at in spots]
    placed = arranged(wanted, frame, busy(mask, float(COARSE)), taken, over_work)
    for label in placed:
        one = spots[label.index][0]
        edge = TEMPORARY_EDGE if one.temporary else SOFT_INK
        sheet.label(label, one.lines, edge=edge, dashed=one.temporary, mark=one.mark)
    shown = {id(spots[label.index][0]) for label in placed}
    return [n for n in named if id(n) not in shown]


def taken_by_work(view: View) -> NDArray[np.bool_]:
    """Return which coarse pixels (HEIGHT / COARSE, WIDTH / COARSE) the work covers."""
    mask: NDArray[np.bool_] = view.piece[::COARSE * FINE, ::COARSE * FINE] > 0
    assert mask.shape == (HEIGHT // COARSE, WIDTH // COARSE)
    return mask
