"""Where labels go: near what they name, on free paper, never on each other, never off the picture.

Every place on a grid is weighed for every label; labels are set one by one, then each is set
again with the others standing, until nothing moves. No randomness: the same labels give the
same picture.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from exports.pictures.camera import Box

STEP = 12
"""Labels stand on a grid this fine, pixels."""
GAP = 9.0
"""Free paper kept between labels, pixels."""
ROUNDS = 4
PROMISING = 1200
"""So many of a label's cheapest places are weighed before all of them are."""
OVER_WORK = 2600.0
"""What it costs a label to stand wholly on the work, pixels of leader."""
_CROSSING = 500.0
_UNDER_LABEL = 1500.0


@dataclass(frozen=True)
class Wanted:
    """A label to place: its size in pixels and the point it names."""

    width: float
    height: float
    anchor: tuple[float, float]


@dataclass(frozen=True)
class Placed:
    """A label in its place: which of the wanted it is, its box, and its leader from `start` at the box to the point."""

    index: int
    box: Box
    start: tuple[float, float]
    anchor: tuple[float, float]


@dataclass(frozen=True, eq=False)
class Busy:
    """How much of the picture is taken by the work: `sums` is the summed-area table of cells `cell` pixels wide."""

    sums: NDArray[np.float64]
    cell: float

    def share(self, boxes: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the share (0 to 1) of each box (N, 4) that lies over the work."""
        rows, columns = self.sums.shape[0] - 1, self.sums.shape[1] - 1
        low = np.floor(boxes[:, :2] / self.cell).astype(int)
        high = np.ceil(boxes[:, 2:] / self.cell).astype(int)
        x0, x1 = np.clip(low[:, 0], 0, columns), np.clip(high[:, 0], 0, columns)
        y0, y1 = np.clip(low[:, 1], 0, rows), np.clip(high[:, 1], 0, rows)
        inside = self.sums[y1, x1] - self.sums[y0, x1] - self.sums[y1, x0] + self.sums[y0, x0]
        return np.asarray(inside / np.maximum((x1 - x0) * (y1 - y0), 1))


def busy(mask: NDArray[np.bool_], cell: float) -> Busy:
    """Return the table for a mask (rows, columns) whose cells are `cell` pixels wide."""
    sums = np.zeros((mask.shape[0] + 1, mask.shape[1] + 1))
    sums[1:, 1:] = mask.astype(np.float64).cumsum(axis=0).cumsum(axis=1)
    return Busy(sums, cell)


def arranged(wanted: Sequence[Wanted], frame: Box, work: Busy | None = None,
             taken: Sequence[Box] = (), over_work: float = OVER_WORK) -> tuple[Placed, ...]:
    """Return a place for every label that fits; one for which no room is left is missing from the answer.

    `frame` is where labels may stand, `taken` boxes they must keep off (titles, other marks),
    `over_work` how long a leader, pixels, is rather taken than a place on the work.
    """
    spots = [_spots(w, frame, work, taken, over_work) for w in wanted]
    centre = np.mean([w.anchor for w in wanted], axis=0) if wanted else np.zeros(2)
    order = sorted(range(len(wanted)), key=lambda i: -float(np.hypot(*(np.array(wanted[i].anchor) - centre))))
    placed: dict[int, Placed] = {}
    for _ in range(ROUNDS):
        before = dict(placed)
        for i in order:
            others = [p for k, p in placed.items() if k != i]
            best = _best(i, wanted[i], spots[i], others)
            placed.pop(i, None)
            if best is not None:
                placed[i] = best
        if placed == before:
            break
    return tuple(placed[i] for i in sorted(placed))


def _spots(w: Wanted, frame: Box, work: Busy | None, taken: Sequence[Box],
           over_work: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the boxes (N, 4) a label may take and what each costs by itself, cheapest first."""
    lefts = np.arange(frame[0], frame[2] - w.width + 1e-9, STEP)
    tops = np.arange(frame[1], frame[3] - w.height + 1e-9, STEP)
    x, y = (v.ravel() for v in np.meshgrid(lefts, tops))
    boxes = np.stack([x, y, x + w.width, y + w.height], axis=1)
    for box in (*taken, (*w.anchor, *w.anchor)):
        boxes = boxes[~_meet(boxes, box)]
    start = _starts(boxes, w.anchor)
    reach = np.hypot(*(start - np.array(w.anchor)).T)
    cost = reach + 2.0 * np.maximum(0.0, 34.0 - reach) ** 1.5
    if work is not None and len(boxes):
        cost = cost + over_work * work.share(boxes + np.array([-GAP, -GAP, GAP, GAP]))
    order = np.argsort(cost, kind="stable")
    return boxes[order], cost[order]


def _best(index: int, w: Wanted, spots: tuple[NDArray[np.float64], NDArray[np.float64]],
          others: Sequence[Placed]) -> Placed | None:
    few = (spots[0][:PROMISING], spots[1][:PROMISING])
    return _weighed(index, w, few, others) or _weighed(index, w, spots, others)


def _weighed(index: int, w: Wanted, spots: tuple[NDArray[np.float64], NDArray[np.float64]],
             others: Sequence[Placed]) -> Placed | None:
    boxes, cost = spots
    free = np.ones(len(boxes), dtype=bool)
    start = _starts(boxes, w.anchor)
    total = cost.copy()
    for other in others:
        free &= ~_meet(boxes, other.box)
        total += _CROSSING * _cross(start, w.anchor, other.start, other.anchor)
        total += _UNDER_LABEL * _pass(start, w.anchor, other.box)
        total += _UNDER_LABEL * _under(boxes, other.start, other.anchor)
        total -= 14.0 * ((boxes[:, 0] == other.box[0]) | (boxes[:, 2] == other.box[2]))
    if not free.any():
        return None
    total[~free] = np.inf
    k = int(np.argmin(total))
    left, top, right, bottom = boxes[k].tolist()
    return Placed(index, (left, top, right, bottom), (float(start[k, 0]), float(start[k, 1])), w.anchor)


def _meet(boxes: NDArray[np.float64], box: Box) -> NDArray[np.bool_]:
    """Return which boxes come within GAP of another."""
    return np.asarray((boxes[:, 0] < box[2] + GAP) & (boxes[:, 2] > box[0] - GAP)
                      & (boxes[:, 1] < box[3] + GAP) & (boxes[:, 3] > box[1] - GAP))


def _starts(boxes: NDArray[np.float64], anchor: tuple[float, float]) -> NDArray[np.float64]:
    """Return where the leader leaves each box: the middle of the side that looks at the point."""
    x, y = anchor
    left, top, right, bottom = boxes.T
    middle_x, middle_y = (left + right) / 2, (top + bottom) / 2
    beside = (x < left) | (x > right)
    start_x = np.where(x < left, left, np.where(x > right, right, middle_x))
    start_y = np.where(beside, middle_y, np.where(y < middle_y, top, bottom))
    return np.stack([start_x, start_y], axis=1)


def _side(p: NDArray[np.float64], q: NDArray[np.float64], r: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray((q[..., 0] - p[..., 0]) * (r[..., 1] - p[..., 1])
                      - (q[..., 1] - p[..., 1]) * (r[..., 0] - p[..., 0]))


def _cross(start: NDArray[np.float64], anchor: tuple[float, float], one: tuple[float, float],
           two: tuple[float, float]) -> NDArray[np.bool_]:
    """Return which of the leaders from `start` (N, 2) to the anchor cross the line from one to two."""
    a, c, d = np.array(anchor), np.array(one), np.array(two)
    return np.asarray((_side(start, a, c) * _side(start, a, d) < 0) & (_side(c, d, start) * _side(c, d, a) < 0))


def _pass(start: NDArray[np.float64], anchor: tuple[float, float], box: Box) -> NDArray[np.bool_]:
    """Return which leaders run through another label's box."""
    left, top, right, bottom = box
    crossed = _cross(start, anchor, (left, top), (right, bottom)) | _cross(start, anchor, (left, bottom), (right, top))
    return crossed


def _under(boxes: NDArray[np.float64], start: tuple[float, float], anchor: tuple[float, float]) -> NDArray[np.bool_]:
    """Return which boxes would stand on another label's leader."""
    steps = np.linspace(0.0, 1.0, 16)[:, None]
    line = np.array(start) + steps * (np.array(anchor) - np.array(start))
    inside = ((line[None, :, 0] > boxes[:, None, 0] - GAP / 2) & (line[None, :, 0] < boxes[:, None, 2] + GAP / 2)
              & (line[None, :, 1] > boxes[:, None, 1] - GAP / 2) & (line[None, :, 1] < boxes[:, None, 3] + GAP / 2))
    return np.asarray(inside.any(axis=1))
