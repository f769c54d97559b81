"""Parts: a blank out of the stock, and the features that the machines make on it.

A part knows itself in its own frame only: x runs along the grain from the start of the
blank, y across its width, z through its thickness; the origin lies in the middle of the
start. Where it stands in the whole is the business of the assembly.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

import numpy as np

from model.errors import SolidError
from model.frames import MIRROR_X, Frame, Vector, X, directions, identity, mirrored, move
from model.solids import Solid
from model.stock import Stock

Operation = Literal["add", "cut", "keep"]

LEAST_SIZE = 0.1
"""No piece of wood, and no cut in it, is less than this any way, mm (a veneer is 0.5; common practice, no source)."""

ALL = frozenset({"*"})
"""Stands for 'after every stage': the part as it is in the finished work."""


@dataclass(frozen=True, eq=False)
class Feature:
    """One thing a machine makes: a solid added, cut away or kept, in the part's own frame.

    `after` names the stage after whose glue-up it is cut; None means before any glue.
    `joint` names the joint it belongs to, `role` what it is in the trade's words
    (tenon, mortise, mitre, curve, lap, housing, slot, shoulder).
    """

    name: str
    operation: Operation
    solid: Solid
    role: str
    joint: str | None = None
    after: str | None = None
    frame: Frame = field(default_factory=identity)


@dataclass(frozen=True, eq=False)
class Blank:
    """The piece of stock before joints.

    `shape` is the name of its kind; `length`, `width`, `thickness` its sizes in mm along
    x, y, z; `grain` the unit direction of its fibres; `places` the named spots where joints
    can go: frames on the surface with z pointing out of the wood.
    """

    shape: str
    solid: Solid
    length: float
    width: float
    thickness: float
    stock: Stock
    places: Mapping[str, Frame]
    grain: Vector = field(default_factory=lambda: X)

    def place(self, name: str, along: float = 0.0, across: float = 0.0) -> Frame:
        """Return the frame of a named place, shifted along its x and y by mm."""
        frame: Frame = self.places[name] @ move(along, across)
        return frame


@dataclass(frozen=True, eq=False)
class Part:
    """One piece of wood: its blank and its features in the order they are made.

    A temporary part takes part in stages and is taken away after the stage named in
    `leaves_after`; it is never glued.
    """

    name: str
    blank: Blank
    features: tuple[Feature, ...] = ()
    leaves_after: str | None = None
    group: str = ""
    """What a person calls the set it belongs to ("rail", "segment"); for labels only."""

    @property
    def temporary(self) -> bool:
        """Whether it leaves the work again."""
        return self.leaves_after is not None

    def solid(self, done: frozenset[str] = ALL) -> Solid:
        """Return the part once the stages in `done` are behind it; ALL means finished."""
        behind = self._late if done is ALL else self._late & done
        if behind not in self._solids:
            self._solids[behind] = self._made(done)
        return self._solids[behind]

    @cached_property
    def _late(self) -> frozenset[str]:
        """The stages after which something is made on it."""
        return frozenset(f.after for f in self.features if f.after is not None)

    @cached_property
    def _solids(self) -> dict[frozenset[str], Solid]:
        """The part once some of those are behind it, as far as it has been asked for."""
        return {}

    def _made(self, done: frozenset[str]) -> Solid:
        made = self.blank.solid
        for operation, solids in self._runs(done):
            made = {"add": made.joined, "cut": made.cut, "keep": made.kept}[operation](*solids)
        return made

    def _runs(self, done: frozenset[str]) -> list[tuple[Operation, list[Solid]]]:
        runs: list[tuple[Operation, list[Solid]]] = []
        for f in self.features:
            if f.after is None or done is ALL or f.after in done:
                if runs and runs[-1][0] == f.operation:
                    runs[-1][1].append(f.solid)
                else:
                    runs.append((f.operation, [f.solid]))
        return runs

    def checked(self) -> Part:
        """Return the part itself; SolidError when a step leaves nothing or several pieces of it."""
        pieces = self.solid().manifold.decompose()
        if len(pieces) != 1:
            found = "nothing" if not pieces else f"{len(pieces)} separate pieces"
            raise SolidError(f"{self.name}: its cuts leave {found} of it")
        return self

    @cached_property
    def finished(self) -> Solid:
        """The part with every feature made."""
        return self.solid(ALL)

    @property
    def density(self) -> float:
        """Density at 12 % moisture, kg/m³."""
        return self.blank.stock.species.density

    @cached_property
    def mass(self) -> float:
        """Mass of the finished part, kg."""
        return self.finished.volume * 1e-9 * self.density

    @cached_property
    def cut_length(self) -> float:
        """Length along the grain over the tenons before any glue, mm: what is cut off the board."""
        along = self.solid(frozenset()).mesh[0] @ self.blank.grain
        return float(along.max() - along.min())

    def in_the_mirror(self) -> Part:
        """Return the part as the mirror x -> -x shows it (its own frame mirrored too)."""
        blank = replace(
            self.blank, solid=self.blank.solid.moved(MIRROR_X),
            places={n: mirrored(f) for n, f in self.blank.places.items()},
            grain=directions(MIRROR_X, self.blank.grain),
        )
        features = tuple(
            replace(f, solid=f.solid.moved(MIRROR_X), frame=mirrored(f.frame)) for f in self.features
        )
        return replace(self, blank=blank, features=features)


def bounding_size(vertices: np.ndarray) -> tuple[float, float, float]:
    """Return the size of the box around vertices (N, 3), mm."""
    size = vertices.max(axis=0) - vertices.min(axis=0)
    return float(size[0]), float(size[1]), float(size[2])
