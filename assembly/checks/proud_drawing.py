"""What is said of faces in the drawing: declared flush and not so, or nearly flush and not said to be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import degrees, radians

from assembly.checks.wording import SAID, capital, listed, place, side, small
from assembly.contacts import names_between
from assembly.findings import Amount, Finding
from assembly.flushness import Seam, declared, firm, seams
from assembly.placing import Assembly
from assembly.surface import surface
from model.design import Flush
from model.frames import directions, points

LEVEL = radians(0.02)
"""Faces declared flush are so within this angle, rad."""
OPPOSED = radians(45.0)
"""Faces at a greater angle than this, rad, are not two faces of one plane at all."""


def not_as_declared(drawn: Assembly) -> Iterator[Finding]:
    """Yield what is said of pairs of faces that are declared flush and are not so in the drawing."""
    for flush, seam in zip(drawn.design.flush, declared(drawn), strict=True):
        if {flush.a, flush.b} <= set(drawn.names):
            if seam is None:
                yield _gone(drawn, flush)
            elif firm(drawn, seam) and (seam.angle > LEVEL or not seam.flush):
                yield _declared(drawn, flush, seam)


def _pair(flush: Flush) -> str:
    one, other = (SAID.get(n, n.replace("_", " ")) for n in (flush.place_a, flush.place_b))
    return f"the {one} of {flush.a} and the {other} of {flush.b}"


def _gone(drawn: Assembly, flush: Flush) -> Finding:
    lost, name = next(((n, p) for n, p in ((flush.a, flush.place_a), (flush.b, flush.place_b))
                       if surface(drawn.part(n)).at_place(p) is None))
    return Finding("proud", "warn", (flush.a, flush.b),
                   f"{capital(_pair(flush))} are declared flush, but the cuts leave nothing flat of the "
                   f"{SAID.get(name, name)} of {lost}.",
                   "Declare another pair of faces, or leave this one out.")


def _declared(drawn: Assembly, flush: Flush, seam: Seam) -> Finding:
    where = points(drawn.frames[seam.a], seam.at.mean(axis=0))
    angle = degrees(seam.angle)
    if seam.angle > LEVEL and (seam.flush or seam.angle > OPPOSED):
        return Finding("proud", "warn", (flush.a, flush.b),
                       f"{capital(_pair(flush))} are declared flush, but are {angle:.2f} degrees to each other in the "
                       "drawing.",
                       f"Turn one of them by {angle:.2f} degrees, or declare the faces that are meant.",
                       place(where), Amount(round(angle, 4), "deg"), names_between(drawn.design, seam.a, seam.b))
    step = small(abs(seam.step), drawn.design.unit)
    high, low = (flush.b, flush.a) if seam.step > 0 else (flush.a, flush.b)
    return Finding("proud", "warn", (high, low),
                   f"{capital(_pair(flush))} are declared flush, but {high} stands {step} above {low} in the drawing.",
                   f"Move {high} back by {step}, or take as much off its size there.",
                   place(where), Amount(round(abs(seam.step), 4), "mm"), names_between(drawn.design, seam.a, seam.b))


def nearly_flush(drawn: Assembly) -> Iterator[Finding]:
    """Yield what is said of faces of joined parts that the drawing has nearly in one plane; pairs alike together."""
    told = {frozenset((f.a, f.b)) for f in drawn.design.flush}
    alike: dict[object, list[Seam]] = {}
    for seam in seams(drawn):
        if not seam.flush and firm(drawn, seam) and frozenset((seam.a, seam.b)) not in told:
            alike.setdefault(_alike(drawn, seam), []).append(seam)
    for same in alike.values():
        yield _nearly(drawn, same)


def _alike(drawn: Assembly, seam: Seam) -> object:
    high, low, face = _high(seam)
    on = surface(drawn.part(high)).place(face)
    return drawn.part(high).group, drawn.part(low).group, on, round(abs(seam.step), 2)


def _high(seam: Seam) -> tuple[str, str, int]:
    """Return the part that stands proud, the other, and the face that does."""
    return (seam.b, seam.a, seam.face_b) if seam.step > 0 else (seam.a, seam.b, seam.face_a)


def _nearly(drawn: Assembly, same: Sequence[Seam]) -> Finding:
    first = max(same, key=lambda s: abs(s.step))
    highs, lows = tuple(dict.fromkeys(_high(s)[0] for s in same)), tuple(dict.fromkeys(_high(s)[1] for s in same))
    step = small(abs(first.step), drawn.design.unit)
    high, _, face = _high(first)
    frame = drawn.frames[high]
    on = side(drawn, high, directions(frame, surface(drawn.part(high)).flat.normals[face])).split(" of ")[0]
    on = on if on.startswith("the ") else "the outside"
    stand = "stands" if len(highs) == 1 else "stand"
    return Finding("proud", "note", (*highs, *(n for n in lows if n not in highs)),
                   f"In the drawing {listed(highs)} {stand} {step} proud of {listed(lows)} on {on}.",
                   f"Where that is meant, all is well; where they are to be flush, draw them {step} nearer to it.",
                   place(points(drawn.frames[first.a], first.at.mean(axis=0))), Amount(round(abs(first.step), 4), "mm"),
                   tuple(dict.fromkeys(j for s in same for j in names_between(drawn.design, s.a, s.b))))
