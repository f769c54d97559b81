"""Where hands go on what is moved: points on its wood, one for each person."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from exports.walk.laid import Laid
from model.frames import Vector, inverse, points

REACH = 0.36
"""How far from the middle of a piece the outermost hands hold it, as a share of its length."""
ASIDE = (0.0, 0.05, -0.05, 0.1, -0.1, 0.2, -0.2)
"""Where else along the piece is tried when a hand would be over a mortise, as shares of its length."""
OVER = 1.0
"""How far above and below a piece a look through it begins and ends, mm."""


def hands(laid: Laid, parts: Sequence[str], people: int) -> list[Vector]:
    """Return points (3,) on parts at home, shop frame, mm: one at their middle, more spread along their length."""
    rows = laid.rows(parts)
    if not rows or people < 1:
        return []
    low, high = laid.low[rows].min(axis=0), laid.high[rows].max(axis=0)
    along = _along(laid, rows, high - low)
    shares = [0.0] if people == 1 else np.linspace(-REACH, REACH, people).tolist()
    middle = (low + high) / 2.0
    return [_held(laid, rows, [middle + along * (share + aside) for aside in ASIDE]) for share in shares]


def _along(laid: Laid, rows: Sequence[int], size: Vector) -> Vector:
    """Return the long way of a piece, or of the box around several, as long as that (3,)."""
    if len(rows) > 1:
        longest = int(np.argmax(size[:2])) if size[2] <= 2.0 * size[:2].max() else 2
        return np.asarray(np.eye(3)[longest] * size[longest])
    own = laid.solids[rows[0]].bounds
    lengths = own[1] - own[0]
    longest = int(np.argmax(lengths))
    return np.asarray(laid.frames[rows[0]][:3, longest] * lengths[longest])


def _held(laid: Laid, rows: Sequence[int], spots: Sequence[Vector]) -> Vector:
    """Return where wood is under the first spot that has some, seen from above; of several parts the nearest's."""
    off = np.maximum(np.maximum(laid.low[rows] - spots[0], spots[0] - laid.high[rows]), 0.0)
    row = rows[int(np.argmin(np.linalg.norm(off, axis=1)))]
    for spot in (*spots, points(laid.frames[row], laid.solids[row].centroid)):
        top = _top(laid, row, float(spot[0]), float(spot[1]))
        if top is not None:
            return top
    corners = points(laid.frames[row], laid.solids[row].mesh[0])
    return np.asarray(corners[int(np.argmin(np.linalg.norm(corners - spots[0], axis=1)))])


def _top(laid: Laid, row: int, x: float, y: float) -> Vector | None:
    """Return the highest point of a part at a place of the shop's plan; None where it has no wood there."""
    ends = np.array([[x, y, laid.high[row, 2] + OVER], [x, y, laid.low[row, 2] - OVER]])
    start, end = points(inverse(laid.frames[row]), ends)
    hits = laid.solids[row].manifold.ray_cast(tuple(start), tuple(end))
    return points(laid.frames[row], np.asarray(hits[0].position)) if hits else None
