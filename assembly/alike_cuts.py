"""What differs between two parts laid on each other: sizes, ends, and cuts one by one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import degrees
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from assembly.alike import grain_held
from assembly.symmetry import TOLERANCE, carries, maps, misfit
from model.frames import Frame, Vector, directions, inverse, move, points, turn
from model.frames import X as ALONG
from model.frames import Y as OVER
from model.part import Feature, Part

Floats = NDArray[np.float64]
What = Literal["length", "width", "thickness", "end angle", "length over the tenons", "side", "lean", "place", "size",
               "missing", "shape"]

ANGLE = 0.02
"""Ends and cuts that lean this near to each other, degrees, lean alike."""
OTHER_SIDE = 80.0
"""Cuts that look in directions farther apart than this, degrees, lie on different sides of the piece: two mirrored ends
that lean are less far apart, two sides of a board farther."""
SQUARE = 5.0
"""A section whose sides differ by no more, mm, is also tried a quarter turn round."""


@dataclass(frozen=True, eq=False)
class Difference:
    """One thing in which two parts differ when one is laid on the other.

    `amount` is in mm, or in degrees for "end angle" and "lean": how much more `other` has of a size, how far its cut
    lies from the like cut of `one`. `cut`, `match`: the two cuts; one of them is None where the other part has no such
    cut. `along`: the way from the one to the other, or that in which their sizes differ, in the other's own frame.
    `laid`: the frame that lays one on the other.
    """

    what: What
    amount: float
    laid: Frame
    cut: Feature | None = None
    match: Feature | None = None
    along: Vector | None = None

    @property
    def unit(self) -> str:
        """The unit of the amount."""
        return "deg" if self.what in ("end angle", "lean") else "mm"


def differences(one: Part, other: Part, frame: Frame) -> tuple[Difference, ...]:
    """Return in what two parts differ, `one` carried by a rigid frame (proper or not), the most telling first.

    Sizes of the blank come first, then the ends, the reach over the tenons, then cuts, each kind the greatest first.
    Empty when nothing differs by more than the tolerance. A cut without any like it in the other counts as missing.
    """
    found = sorted(_sizes(one, other, frame), key=_by_amount) + list(_ends(one, other, frame))
    cuts = sorted(_cuts(one, other, frame), key=_by_amount)
    off = misfit(frame, one.finished, other.finished)
    if not found and not cuts and off > TOLERANCE:
        return (Difference("shape", off, frame),)
    return tuple(found + list(_over_tenons(one, other, frame)) + cuts)


def alignments(one: Part, other: Part) -> tuple[Frame, ...]:
    """Return the proper frames that lay one part's blank on the other's, middle on middle, grain along grain.

    Half turns about the axes of their boxes; quarter turns about the grain too where a section looks square.
    """
    (low, high), (to_low, to_high) = one.blank.solid.bounds, other.blank.solid.bounds
    here, there = (low + high) / 2.0, (to_low + to_high) / 2.0
    size, target = high - low, to_high - to_low
    quarters = abs(size[1] - target[2]) <= SQUARE and abs(size[2] - target[1]) <= SQUARE
    steps = range(0, 4) if quarters else (0, 2)
    out = []
    for over in (0, 1):
        for step in steps:
            rotation = np.round(turn(ALONG, step * np.pi / 2.0) @ turn(OVER, over * np.pi)) + 0.0
            frame: Frame = move(*there) @ rotation @ move(*-here)
            if grain_held(frame, tuple(one.blank.grain), tuple(other.blank.grain)):
                out.append(frame)
    return tuple(out)


def laid_best(one: Part, other: Part, frames: Iterable[Frame] | None = None) -> Frame | None:
    """Return the frame that lays one part on the other with most cuts in common, None where there is no frame.

    Tried are the frames given, else every proper map of its blank onto the other's, else their alignments. Of
    several, that with the nearest corners, then the first.
    """
    tried = list(_blanks(one, other) if frames is None else frames) or list(alignments(one, other))
    if not tried:
        return None

    least = [(_over(one, other, frame), k, frame) for k, frame in enumerate(tried)]
    best: tuple[int, float, int] | None = None
    for over, k, frame in sorted(least, key=lambda t: t[:2]):
        if best is None or over <= best[0]:
            odd = len(unmatched(one, other, frame)[0])
            found = (odd, round(misfit(frame, one.finished, other.finished), 6), k)
            best = found if best is None else min(best, found)
    return None if best is None else tried[best[2]]


def _blanks(one: Part, other: Part) -> list[Frame]:
    return [f for f in maps(one.blank.solid, other.blank.solid)
            if grain_held(f, tuple(one.blank.grain), tuple(other.blank.grain))]


def unmatched(one: Part, other: Part, frame: Frame) -> tuple[list[Feature], list[Feature]]:
    """Return the cuts of either part that the other does not have in the same place, `one` carried by a frame."""
    left = dict.fromkeys(range(len(other.features)))
    near = _away(one, other, frame) <= 2.0 * TOLERANCE
    odd = []
    for cut, row in zip(one.features, near, strict=True):
        match = next((k for k in np.flatnonzero(row).tolist() if k in left and _like(cut, other.features[k])
                      and carries(frame, cut.solid, other.features[k].solid)), None)
        if match is None:
            odd.append(cut)
        else:
            del left[match]
    return odd, [other.features[k] for k in left]


def _over(one: Part, other: Part, frame: Frame) -> int:
    """Return how many cuts of one part have no cut of the other in the same place, at the least."""
    return int((~(_away(one, other, frame) <= 2.0 * TOLERANCE).any(axis=1)).sum())


def _away(one: Part, other: Part, frame: Frame) -> Floats:
    """Return how far the middle of each cut of one part is from that of each cut of the other (N, M), mm."""
    return np.asarray(np.linalg.norm(points(frame, _middles(one.features))[:, None] - _middles(other.features), axis=2))


def _middles(cuts: Sequence[Feature]) -> Floats:
    return np.array([f.solid.centroid for f in cuts], dtype=np.float64).reshape(-1, 3)


def _like(cut: Feature, other: Feature) -> bool:
    return (cut.operation, cut.role) == (other.operation, other.role)


def _by_amount(found: Difference) -> float:
    return -abs(found.amount)


# -- the blank ----------------------------------------------------------------------------------


def _sizes(one: Part, other: Part, frame: Frame) -> Iterator[Difference]:
    mine, theirs = one.blank, other.blank
    lying = (mine.width, mine.thickness) if abs(frame[1, 1]) > 0.5 else (mine.thickness, mine.width)
    names: tuple[What, What, What] = ("length", "width", "thickness")
    for what, was, now in zip(names, (mine.length, *lying), (theirs.length, theirs.width, theirs.thickness),
                              strict=True):
        if abs(now - was) > TOLERANCE:
            yield Difference(what, now - was, frame)


def _over_tenons(one: Part, other: Part, frame: Frame) -> Iterator[Difference]:
    """Yield by how much more a part reaches over its tenons than its blank alone accounts for."""
    off = (other.cut_length - other.blank.length) - (one.cut_length - one.blank.length)
    if abs(off) > TOLERANCE:
        yield Difference("length over the tenons", off, frame)


def _ends(one: Part, other: Part, frame: Frame) -> Iterator[Difference]:
    """Yield by how much the ends lean otherwise, the worse one."""
    mine, theirs = _end_frames(one), _end_frames(other)
    if len(mine) != 2 or len(theirs) != 2:
        return
    carried = np.array([points(frame, f[:3, 3]) for f in mine])
    if np.linalg.norm(carried[0] - theirs[0][:3, 3]) > np.linalg.norm(carried[0] - theirs[1][:3, 3]):
        theirs = theirs[::-1]
    leans = [_between(directions(frame, a[:3, 2]), b[:3, 2]) for a, b in zip(mine, theirs, strict=True)]
    if max(leans) > ANGLE:
        yield Difference("end angle", max(leans), frame)


def _end_frames(part: Part) -> list[Frame]:
    return [part.blank.places[n] for n in ("start", "end") if n in part.blank.places]


def _between(one: Vector, other: Vector) -> float:
    return degrees(float(np.arctan2(np.linalg.norm(np.cross(one, other)), one @ other)))


# -- its cuts -----------------------------------------------------------------------------------


def _cuts(one: Part, other: Part, frame: Frame) -> Iterator[Difference]:
    odd, left = unmatched(one, other, frame)
    apart = _apart(odd, left, frame)
    alone, without = set(range(len(odd))), set(range(len(left)))
    while alone and without and np.isfinite(apart).any():
        row, column = divmod(int(apart.argmin()), len(left))
        apart[row, :] = apart[:, column] = np.inf
        alone.remove(row)
        without.remove(column)
        yield _off(odd[row], left[column], frame)
    yield from (Difference("missing", _reach(odd[k]), frame, odd[k]) for k in sorted(alone))
    yield from (Difference("missing", _reach(left[k]), frame, match=left[k]) for k in sorted(without))


def _apart(odd: Sequence[Feature], left: Sequence[Feature], frame: Frame) -> Floats:
    """Return how far cuts of one part are from those of another (N, M) by place and middle, mm; inf where unlike."""
    if not odd or not left:
        return np.full((len(odd), len(left)), np.inf)
    here, there = (np.array([np.append(f.frame[:3, 3], f.solid.centroid) for f in cuts]).reshape(-1, 2, 3)
                   for cuts in (odd, left))
    away = np.linalg.norm(points(frame, here)[:, None] - there[None], axis=3).sum(axis=2)
    return np.where([[_like(a, b) for b in left] for a in odd], away, np.inf)


def _reach(cut: Feature) -> float:
    """Return how deep a cut goes, or how far a tenon stands out, past its own place, mm."""
    return max(0.0, float(cut.solid.bounds_in(cut.frame)[1, 2]))


def _off(cut: Feature, match: Feature, frame: Frame) -> Difference:
    """Return in what a cut differs from its like: the side it is on, its lean, its place, else a size."""
    lean = _between(directions(frame, cut.frame[:3, 2]), match.frame[:3, 2])
    moved = match.frame[:3, 3] - points(frame, cut.frame[:3, 3])
    if lean > OTHER_SIDE:
        return Difference("side", float(np.linalg.norm(moved)), frame, cut, match, moved)
    if lean > ANGLE:
        return Difference("lean", lean, frame, cut, match)
    back = inverse(match.frame)
    mine, theirs = points(back, points(frame, cut.solid.mesh[0])), points(back, match.solid.mesh[0])
    (low, high), (to_low, to_high) = ((v.min(axis=0), v.max(axis=0)) for v in (mine, theirs))
    shift = ((to_low + to_high) - (low + high)) / 2.0
    shift[2] = float(back[2, :3] @ moved)
    if np.linalg.norm(shift) > TOLERANCE:
        return Difference("place", float(np.linalg.norm(shift)), frame, cut, match,
                          match.frame[:3, :3] @ shift)
    sizes = np.append((to_high - to_low - high + low)[:2], to_high[2] - high[2])
    most = int(np.argmax(np.abs(sizes)))
    return Difference("size", float(sizes[most]), frame, cut, match, match.frame[:3, most])
