"""Marks against turning: what to pencil on which pieces, and where on them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from assembly.alike import marks
from assembly.checks.backwards_wording import outlook
from assembly.checks.wording import SAID
from assembly.placing import Assembly, as_drawn
from assembly.turning import turnings
from assembly.turning_marks import Marking
from exports.pictures.sections import in_wood
from exports.words import commas
from model.frames import Frame, Vector, directions, unit
from model.part import Part
from model.solids import Solid

TRIED, WHOLE = 41, 0.8
"""Places along a piece that are tried for a mark; a cut over this share of its length, as a curve, leaves none out."""
NEEDED = 10.0
"""Wood that a mark has around it on its face, mm."""


@dataclass(frozen=True)
class Row:
    """One mark to make: on which parts (all of one part mark), on which face, an arrow towards which face or "" for a
    cross, and which ways the mark looks or points in the finished work, with the parts on which it does."""

    mark: str
    parts: tuple[str, ...]
    place: str
    towards: str
    outlooks: tuple[tuple[str, tuple[str, ...]], ...]

    def arrow(self, part: Part) -> Vector | None:
        """Which way the arrow on a part points along its face (unit, the part's own frame); None for a cross."""
        if not self.towards:
            return None
        out, way = part.blank.places[self.place][:3, 2], part.blank.places[self.towards][:3, 2]
        return unit(way - out * float(way @ out))

    @property
    def says(self) -> str:
        """What to pencil where, in a few words."""
        face = SAID.get(self.place, self.place)
        what = f"an arrow on the {face} towards the {SAID.get(self.towards, self.towards)}" if self.towards else (
            f"a cross on the {face}")
        ways = [way if len(self.outlooks) == 1 else f"{way} on {commas(names, most=2)}" for way, names in self.outlooks]
        return f"{what}; in the finished work it {'points' if self.towards else 'looks'} {', '.join(ways)}"


def rows(assembly: Assembly) -> list[Row]:
    """Return the marks to make, gathered by the part marks of the pieces that get them."""
    drawn = as_drawn(assembly)
    known = marks(drawn.design)
    found: dict[tuple[str, str, str], dict[str, list[str]]] = {}
    for one in turnings(drawn):
        if one.mark is not None:
            key = known[one.mark.part], one.mark.place, one.mark.towards
            at = drawn if one.mark.part in drawn.frames else one.session.at
            names = found.setdefault(key, {}).setdefault(outlook(_way(at, one.mark)), [])
            names += [one.mark.part] if one.mark.part not in names else []
    return [Row(mark, tuple(dict.fromkeys(n for names in ways.values() for n in names)), place, towards,
                tuple((way, tuple(names)) for way, names in ways.items()))
            for (mark, place, towards), ways in found.items()]


def _way(at: Assembly, mark: Marking) -> Vector:
    out = at.part(mark.part).blank.places[mark.place][:3, 2]
    return directions(at.frames[mark.part], out if mark.arrow is None else mark.arrow)


def spot_on(part: Part, face: Frame, arm: float = NEEDED) -> Vector:
    """Return a place on a face, along the grain, with wood around it and far from its cuts: in the part's frame."""
    if abs(float(face[:3, 2] @ part.blank.grain)) > 0.7:
        return np.asarray(face[:3, 3])
    spans = tuple((float(s.min()), float(s.max())) for s in (f.solid.bounds @ part.blank.grain for f in part.features))
    cuts = tuple(dict.fromkeys(s for s in spans if s[1] - s[0] < WHOLE * part.blank.length))
    at = _clearest(part.finished, part.blank.grain.tobytes(), face.tobytes(), cuts, max(arm, NEEDED))
    return np.array(at)


@lru_cache(maxsize=512)
def _clearest(solid: Solid, grain: bytes, face: bytes, cuts: tuple[tuple[float, float], ...],
              reach: float) -> tuple[float, ...]:
    """Return the place along the grain of a face that is best: most wood around it, then far from cuts."""
    way, side = np.frombuffer(grain, dtype=np.float64), np.frombuffer(face, dtype=np.float64).reshape(4, 4)
    low, high = (float(v) for v in solid.bounds @ way)
    middle = side[:3, 3] - way * float(side[:3, 3] @ way)
    tried = sorted(np.linspace(low, high, TRIED)[1:-1].tolist(), key=lambda along: abs(along - (low + high) / 2))
    around = [reach * (x * side[:3, 0] + y * side[:3, 1]) for x in (-1.0, 0.0, 1.0) for y in (-1.0, 0.0, 1.0)]

    def good(along: float) -> tuple[int, float]:
        at = middle + way * along - 0.5 * side[:3, 2]
        clear = min([max(span[0] - along, along - span[1]) for span in cuts], default=0.0)
        return sum(in_wood(solid, at + by) for by in around), float(min(clear, 3.0 * reach))

    return tuple((middle + way * max(tried, key=good)).tolist())
