"""Flushness: faces of two parts that run on in each other in the drawing, and the step between them as cut.

A seam is where an outer face of one part runs on in an outer face of another. Lengths mm, angles rad.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.borders import Faces, Mask, alike, between, border, heights, nearest
from assembly.broad import near_pairs
from assembly.contacts import GAP, joints_between
from assembly.placing import Assembly, as_drawn
from assembly.standing import REMEMBERED, Meeting, larger_first, meetings, standing
from assembly.surface import Surface, as_cut_face, surface
from model.frames import directions, inverse, points

Floats = NDArray[np.float64]

FLUSH = 0.05
"""Faces this near to one plane, mm, are drawn flush."""
NEARLY = 1.5
"""Faces of joined parts that are out of one plane by less than this, mm, were perhaps meant to be in it."""
BESIDE = 0.3
"""Faces of joined parts run on in each other when they come this near, and the joint's fit, mm."""
STAYED = 1e-6
"""A part that has moved by less than this towards another, mm, stands where it stood."""


@dataclass(frozen=True, eq=False)
class Seam:
    """Face `face_a` of part `a` beside face `face_b` of part `b`, both outer faces by number.

    `at` (K, 3): points of a's face along the seam, in a's own frame; `step`: how far b's face
    lies above a's, mm, where that is most; `angle` between the two, rad; `declared`: whether
    the design says that they are flush.
    """

    a: str
    b: str
    face_a: int
    face_b: int
    at: Floats
    step: float
    angle: float
    declared: bool = False

    @property
    def flush(self) -> bool:
        """Whether the two lie in one plane."""
        return abs(self.step) <= FLUSH


@dataclass(frozen=True, eq=False)
class Step:
    """A seam as it comes out: part `proud` stands `amount` mm (0 or more) above part `low`.

    `angle` between the two faces, rad; `where` (3,) in the world, where the step is largest;
    `normal` (3,) in the world, out of the proud face; `face`, `low_face`: the two faces, by
    number, of the parts as they are; `seam`: the same seam in the drawing.
    """

    proud: str
    low: str
    amount: float
    angle: float
    where: Floats
    normal: Floats
    face: int
    low_face: int
    seam: Seam


@lru_cache(maxsize=16)
def seams(assembly: Assembly) -> tuple[Seam, ...]:
    """Return where outer faces of two parts run on in each other in the finished work.

    Parts that share a joint: out of one plane by less than NEARLY; parts that only touch: by
    less than FLUSH. Left out: temporary parts, faces sawn together in one later cut (a curve).
    Not found: curves whose facets do not meet in one plane, faces that meet in a corner only.
    """
    names = [n for n in assembly.there() if not assembly.part(n).temporary]
    stand = standing(assembly, names=names)
    shared = joints_between(assembly.design)
    widest = max((j.fit for js in shared.values() for j in js), default=0.0)
    pairs = larger_first(stand, near_pairs(stand.low, stand.high, widest + BESIDE))
    outer = [surface(assembly.part(n)) for n in stand.names]
    found: list[Seam] = []
    for meeting, (i, j) in zip(meetings(stand, pairs), pairs.tolist(), strict=True):
        joints = shared.get(frozenset((stand.names[i], stand.names[j])), ())
        reach, most = (BESIDE + max(k.fit for k in joints), NEARLY) if joints else (GAP, FLUSH)
        rows = _beside(meeting, outer[i].outside.tobytes(), outer[j].outside.tobytes(), reach, most)
        found.extend(Seam(stand.names[i], stand.names[j], *row) for row in rows
                     if not _sawn_together(outer[i], row[0], outer[j], row[1]))
    return tuple(found)


def _sawn_together(one: Surface, face: int, other: Surface, other_face: int) -> bool:
    cut, same = one.made_by(face), other.made_by(other_face)
    return cut is not None and same is not None and cut.after is not None and cut.after == same.after


_Row = tuple[int, int, Floats, float, float]


@lru_cache(maxsize=REMEMBERED)
def _beside(meeting: Meeting, outside_a: bytes, outside_b: bytes, reach: float, most: float) -> tuple[_Row, ...]:
    one, other = Faces.of(meeting.a), Faces.of(meeting.b, meeting.frame)
    found = []
    for i, j in alike(one, _mask(outside_a), other, _mask(outside_b), reach, most).tolist():
        at = border(one, i, other, j, reach)
        if at is not None and abs(step := _most(heights(one, i, other, j, at))) <= most:
            found.append((i, j, at, step, between(one, i, other, j)))
    return tuple(found)


def _mask(told: bytes) -> Mask:
    return np.frombuffer(told, dtype=np.bool_)


def _most(values: Floats) -> float:
    """Return the value farthest from 0."""
    return float(values[int(np.argmax(np.abs(values)))])


@lru_cache(maxsize=16)
def declared(assembly: Assembly) -> tuple[Seam | None, ...]:
    """Return the seam of every pair of faces declared flush, in the design's order.

    Where the two do not run on in each other, they are compared where they come nearest. None
    where a part does not stand, or nothing of one of the faces is left.
    """
    found: list[Seam | None] = []
    for flush in assembly.design.flush:
        if not {flush.a, flush.b} <= set(assembly.names):
            found.append(None)
            continue
        one, other = surface(assembly.part(flush.a)), surface(assembly.part(flush.b))
        i, j = one.at_place(flush.place_a), other.at_place(flush.place_b)
        found.append(None if i is None or j is None else _told(assembly, flush.a, i, flush.b, j))
    return tuple(found)


def _told(assembly: Assembly, a: str, i: int, b: str, j: int) -> Seam:
    one, other = _pair(assembly, a, b)
    at = border(one, i, other, j, BESIDE)
    at = nearest(one, i, other, j) if at is None else at
    facing = float(one.normals[i] @ other.normals[j]) > 0.5
    step = _most(heights(one, i, other, j, at)) if facing else 0.0
    return Seam(a, b, i, j, at, step, between(one, i, other, j), declared=True)


def _pair(assembly: Assembly, a: str, b: str) -> tuple[Faces, Faces]:
    """Return the faces of two parts, both in the first one's own frame."""
    return (Faces.of(assembly.part(a).finished),
            Faces.of(assembly.part(b).finished, inverse(assembly.frames[a]) @ assembly.frames[b]))


@lru_cache(maxsize=16)
def steps(assembly: Assembly) -> tuple[Step, ...]:
    """Return every seam that is flush in the drawing as it comes out; only those that something has happened to.

    A face is found again by what made it; where one of the two is gone there is no step. Where
    joints do not close, only parts held together by one that does are looked at.
    """
    drawn = as_drawn(assembly)
    if drawn is assembly:
        return ()
    meant = [s for s in declared(drawn) if s is not None and s.flush]
    told = {(s.a, s.b, s.face_a, s.face_b) for s in meant}
    meant += [s for s in seams(drawn) if s.flush and (s.a, s.b, s.face_a, s.face_b) not in told]
    there = [s for s in meant if {s.a, s.b} <= set(assembly.frames)]
    moved = [s for s in there if firm(assembly, s) and _moved(assembly, drawn, s)]
    return tuple(step for s in moved for step in _come_out(assembly, drawn, s))


def firm(assembly: Assembly, seam: Seam) -> bool:
    """Whether a seam's parts stand to each other as they will: where joints stay open, those only that share none."""
    if not assembly.open_loops:
        return True
    left_open = {loop.joint for loop in assembly.open_loops}
    shared = joints_between(assembly.design).get(frozenset((seam.a, seam.b)), ())
    return bool(shared) and all(j.name not in left_open for j in shared)


def _moved(assembly: Assembly, drawn: Assembly, seam: Seam) -> bool:
    """Whether one of a seam's parts is another shape than in the drawing, or stands otherwise to the other."""
    now, then = (inverse(w.frames[seam.a]) @ w.frames[seam.b] for w in (assembly, drawn))
    same = all(assembly.part(n).finished == drawn.part(n).finished for n in (seam.a, seam.b))
    return not same or not np.allclose(now, then, rtol=0.0, atol=STAYED)


def _come_out(assembly: Assembly, drawn: Assembly, seam: Seam) -> Iterator[Step]:
    middle = seam.at.mean(axis=0)
    other_middle = points(inverse(drawn.frames[seam.b]) @ drawn.frames[seam.a], middle)
    i = as_cut_face(surface(drawn.part(seam.a)), seam.face_a, surface(assembly.part(seam.a)), middle)
    j = as_cut_face(surface(drawn.part(seam.b)), seam.face_b, surface(assembly.part(seam.b)), other_middle)
    if i is None or j is None:
        return
    one, other = _pair(assembly, seam.a, seam.b)
    if float(one.normals[i] @ other.normals[j]) < 0.5:
        return
    at = border(one, i, other, j, BESIDE)
    at = seam.at - np.outer(seam.at @ one.normals[i] - one.offsets[i], one.normals[i]) if at is None else at
    high = heights(one, i, other, j, at)
    worst = int(np.argmax(np.abs(high)))
    frame, step, angle = assembly.frames[seam.a], float(high[worst]), between(one, i, other, j)
    where = points(frame, at[worst] + max(step, 0.0) * one.normals[i])
    if step > 0:
        yield Step(seam.b, seam.a, step, angle, where, directions(frame, other.normals[j]), j, i, seam)
    else:
        yield Step(seam.a, seam.b, -step, angle, where, directions(frame, one.normals[i]), i, j, seam)
