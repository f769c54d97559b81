"""Alike sub-assemblies: sets of parts glued up together that are the same, mirror images, or alike but for some cuts.

One set is laid on the other by one rigid motion, found from a part that is rare in it, and then every part is held to
the part it comes to lie on: its blank first, then its finished shape.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from itertools import islice
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from assembly.alike_cuts import Difference, differences
from assembly.blocking import Unit
from assembly.given_stages import given
from assembly.glue_up import results_of
from assembly.placing import Assembly
from assembly.plan import Plan
from assembly.symmetry import carries, maps
from model.frames import Frame, inverse, points
from model.solids import Solid

Floats = NDArray[np.float64]

STANDS = 0.1
"""Parts of two sets this near to each other, mm, stand alike: their joints close no better than that."""
VOLUME = 1e-6
"""Blanks whose volumes differ by less, as a share, may be alike."""

FEW = 8
"""About so many parts are looked at before all of them are."""
WAYS_MOST = 128
"""So many ways of laying one set on another, blank on blank, are looked at for the one with most parts alike."""


@dataclass(frozen=True)
class SubAssembly:
    """Parts glued into one in a stage, by name, before the whole is together."""

    stage: str
    parts: Unit


@dataclass(frozen=True, eq=False)
class Laid:
    """Two sub-assemblies, the first laid on the second by one rigid frame of the world.

    `how`: "same", every part on one alike by a proper frame; "mirror", the same by an improper one; "alike", every
    blank on one alike, but for the parts in `unlike`, each with the part it lies on and in what the two differ.
    `pairs`: for each part of the first the part of the second that it lies on.
    """

    one: SubAssembly
    other: SubAssembly
    how: Literal["same", "mirror", "alike"]
    frame: Frame
    pairs: tuple[tuple[str, str], ...]
    unlike: tuple[tuple[str, str, tuple[Difference, ...]], ...] = ()

    @property
    def joints(self) -> tuple[str, ...]:
        """The joints that make the difference, on either side."""
        cuts = [c for _, _, found in self.unlike for d in found for c in (d.cut, d.match) if c is not None]
        return tuple(dict.fromkeys(c.joint for c in cuts if c.joint))


def sub_assemblies(assembly: Assembly, plan: Plan) -> tuple[Laid, ...]:
    """Return how the sub-assemblies of a plan are like each other.

    Each is told against the first one that it is the same as, else the mirror image of, else most alike; one that is
    like none before it is told when a later one is. The whole itself is none.
    """
    return compared(assembly, [SubAssembly(s.name, parts) for s in plan.stages for parts in s.results])


@lru_cache(maxsize=16)
def given_sub_assemblies(assembly: Assembly) -> tuple[Laid, ...]:
    """Return the same for the stages that a design gives, without making the plan; empty where it gives none."""
    if not assembly.design.stages:
        return ()
    benches = given(assembly).benches
    return compared(assembly, [SubAssembly(b.name, parts) for b in benches for parts in results_of(assembly, b)])


def compared(assembly: Assembly, made: Sequence[SubAssembly]) -> tuple[Laid, ...]:
    """Return how sets of parts are like those before them."""
    whole = sum(not assembly.part(n).temporary for n in assembly.names)
    distinct = list({frozenset(s.parts): s for s in reversed(made)}.values())[::-1]
    firsts: list[_Set] = []
    found: list[Laid] = []
    for sub in distinct:
        lasting = sum(not assembly.part(n).temporary for n in sub.parts)
        if len(sub.parts) < 2 or lasting >= whole:
            continue
        new = _Set.of(assembly, sub)
        laid = _against(assembly, firsts, new)
        if laid is not None:
            found.append(laid)
        if laid is None or laid.how != "same":
            firsts.append(new)
    return tuple(found)


@dataclass(frozen=True, eq=False)
class _Set:
    """A sub-assembly of N parts where they stand: middles of their blanks in the world (N, 3), volumes (N,), mm."""

    sub: SubAssembly
    names: tuple[str, ...]
    middles: Floats
    volumes: Floats

    @staticmethod
    def of(assembly: Assembly, sub: SubAssembly) -> _Set:
        names = tuple(n for n in sub.parts if n in assembly.frames)
        blanks = [assembly.part(n).blank.solid for n in names]
        middles = np.array([points(assembly.frames[n], b.centroid) for n, b in zip(names, blanks, strict=True)])
        return _Set(sub, names, middles, np.array([b.volume for b in blanks]))

    @cached_property
    def tree(self) -> Any:
        """The middles, to be asked for the nearest."""
        from scipy.spatial import cKDTree

        return cKDTree(self.middles)

    def rare(self) -> int:
        """Return the row of the part whose blank is rarest here, the largest of several."""
        _, kind, count = np.unique(np.round(np.log(self.volumes) / (10.0 * VOLUME)), return_inverse=True,
                                   return_counts=True)
        return int(np.lexsort((-self.volumes, count[kind]))[0])

    def could_be(self, other: _Set) -> bool:
        """Whether two sets have blanks of the same volumes."""
        return len(self.names) == len(other.names) and np.allclose(
            np.sort(self.volumes), np.sort(other.volumes), rtol=VOLUME, atol=0.0)


@dataclass(eq=False)
class _Found:
    """The best frame so far, with the parts that lie on one another, and those of them that differ."""

    frame: Frame
    pairs: tuple[tuple[str, str], ...]
    unlike: tuple[tuple[str, str], ...]
    mirrored: bool


def _against(assembly: Assembly, firsts: Sequence[_Set], new: _Set) -> Laid | None:
    """Return how a set is like the first it is most like, None where it is like none."""
    best: tuple[int, _Set, _Found] | None = None
    for first in firsts:
        found = _laid(assembly, first, new) if first.could_be(new) else None
        if found is not None:
            rank = 2 + len(found.unlike) if found.unlike else int(found.mirrored)
            if best is None or rank < best[0]:
                best = (rank, first, found)
    if best is None:
        return None
    _, first, found = best
    unlike = tuple((a, b, differences(assembly.part(a), assembly.part(b), _local(assembly, found.frame, a, b)))
                   for a, b in found.unlike)
    how: Literal["same", "mirror", "alike"] = "alike" if unlike else "mirror" if found.mirrored else "same"
    return Laid(first.sub, new.sub, how, found.frame, found.pairs, unlike)


def _laid(assembly: Assembly, one: _Set, other: _Set) -> _Found | None:
    """Return the frame that lays one set on another with the fewest parts unlike, a proper one first."""
    match = _Match(assembly)
    best: _Found | None = None
    for mirrored in (False, True):
        ways = ((f, p) for f in _frames(assembly, one, other, mirrored)
                if (p := match.pairs(one, other, f)) is not None)
        for frame, pairs in islice(ways, WAYS_MOST):
            unlike = tuple(p for p in pairs if not match.finished(frame, *p))
            if best is None or len(unlike) < len(best.unlike):
                best = _Found(frame, pairs, unlike, mirrored)
            if not unlike:
                return best
    return best


def _frames(assembly: Assembly, one: _Set, other: _Set, mirrored: bool) -> Iterator[Frame]:
    row = one.rare()
    name = one.names[row]
    home = inverse(assembly.frames[name])
    blank = assembly.part(name).blank.solid
    for there, volume in zip(other.names, other.volumes, strict=True):
        if abs(volume - one.volumes[row]) <= VOLUME * volume:
            for local in maps(blank, assembly.part(there).blank.solid, mirrored=mirrored):
                yield assembly.frames[there] @ local @ home


def _local(assembly: Assembly, frame: Frame, one: str, other: str) -> Frame:
    """Return a frame of the world as it carries one part's own frame into another's."""
    local: Frame = inverse(assembly.frames[other]) @ frame @ assembly.frames[one]
    return local


@dataclass(eq=False)
class _Match:
    """Which parts lie on which, remembered for shapes and frames alike."""

    assembly: Assembly
    _known: dict[tuple[Solid, Solid, bytes], bool] = field(default_factory=dict)

    def pairs(self, one: _Set, other: _Set, frame: Frame) -> tuple[tuple[str, str], ...] | None:
        """Return each part of `one` with that of `other` whose blank it lies on; None unless all of them do."""
        for rows in (slice(0, None, max(1, len(one.names) // FEW)), slice(None)):
            away, near = other.tree.query(points(frame, one.middles[rows]), distance_upper_bound=STANDS)
            if not np.isfinite(away).all():
                return None
        if len(set(near.tolist())) < len(near):
            return None
        found = tuple((name, other.names[k]) for name, k in zip(one.names, near.tolist(), strict=True))
        return found if all(self.blanks(frame, *p) for p in found) else None

    def blanks(self, frame: Frame, one: str, other: str) -> bool:
        """Whether one part's blank comes to lie on another's, both temporary or neither."""
        a, b = self.assembly.part(one), self.assembly.part(other)
        return a.temporary == b.temporary and self._carries(frame, one, other, a.blank.solid, b.blank.solid)

    def finished(self, frame: Frame, one: str, other: str) -> bool:
        """Whether one finished part comes to lie on another."""
        return self._carries(frame, one, other, self.assembly.solid(one), self.assembly.solid(other))

    def _carries(self, frame: Frame, one: str, other: str, a: Solid, b: Solid) -> bool:
        local = _local(self.assembly, frame, one, other)
        key = (a, b, (np.round(local[:3], 4) + 0.0).tobytes())
        if key not in self._known:
            self._known[key] = carries(local, a, b, STANDS)
        return self._known[key]
