"""Cuts known again: in wood that lies another way round, a cut is for the joint that it serves where it now lies.

A rail turned end for end has each tenon at the other end, and a rail exchanged for its like
has tenons that were cut for other joints: both go home.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
from manifold3d import Manifold

from model.part import Feature, Part

SHARED = 0.5
"""A cut is known again by the share of wood that it has in common with one that the drawing has there."""
SAME = 1e-3
"""Cuts that differ by less wood than this, mm³, are one."""


@dataclass(frozen=True, eq=False)
class _Group:
    """What a part has for one joint: the wood that it puts out, and the wood that is taken away, shoulders apart."""

    features: tuple[Feature, ...]
    made: Manifold
    whole: Manifold

    @property
    def roles(self) -> frozenset[str]:
        return frozenset(f.role for f in self.features if f.role != "shoulder")

    def shares(self, other: _Group) -> bool:
        """Whether it is more than half the same wood as another; not asked where their boxes are apart."""
        one, two = (np.array(g.made.bounding_box()).reshape(2, 3) for g in (self, other))
        if self.roles != other.roles or np.any(one[0] > two[1]) or np.any(two[0] > one[1]):
            return False
        common = (self.made ^ other.made).volume()
        return bool(common > SHARED * (self.made.volume() + other.made.volume() - common))

    def same(self, other: _Group) -> bool:
        """Whether it is the same wood as another, shoulders and all."""
        return len(self.features) == len(other.features) and _same(self.made, other.made) and _same(
            self.whole, other.whole)


def known_again(offered: Part, drawn: Part) -> Part:
    """Return a part as it is offered up with each cut under the joint that it serves there; `drawn` where it is that.

    Cuts that lie nowhere near one that the drawing has keep the names that are left.
    """
    here, meant = _groups(offered), _groups(drawn)
    found = {old: new for old, group in here.items() for new, other in meant.items() if group.shares(other)}
    exact = {old: meant[new].features for old, new in found.items() if here[old].same(meant[new])}
    if len(exact) == len(here) == len(meant) and _as_bare(offered, drawn):
        return drawn
    return replace(offered, features=tuple(_renamed(offered.features, _names(here, found), exact)))


def _as_bare(one: Part, other: Part) -> bool:
    """Whether two parts are the same but for their joints: one piece of wood, with the same cuts of its own."""
    own = [[f.solid.manifold for f in p.features if f.joint is None and f.after is None] for p in (one, other)]
    along = abs(float(one.blank.grain @ other.blank.grain)) > 1 - 1e-9
    return (along and one.blank.stock == other.blank.stock and len(own[0]) == len(own[1])
            and _same(one.blank.solid.manifold, other.blank.solid.manifold)
            and all(_same(a, b) for a, b in zip(*own, strict=True)))


def _groups(part: Part) -> Mapping[str, _Group]:
    by_joint: dict[str, list[Feature]] = {}
    for feature in part.features:
        if feature.joint is not None and feature.after is None:
            by_joint.setdefault(feature.joint, []).append(feature)
    blank = part.blank.solid.manifold
    return {joint: _Group(tuple(fs), _effect(blank, (f for f in fs if f.role != "shoulder")), _effect(blank, fs))
            for joint, fs in by_joint.items()}


def _effect(blank: Manifold, features: Iterable[Feature]) -> Manifold:
    """Return the wood that features put out of a blank and take away from it."""
    whole = Manifold()
    for f in features:
        whole = whole + (f.solid.manifold - blank if f.operation == "add" else f.solid.manifold ^ blank)
    return whole


def _same(one: Manifold, other: Manifold) -> bool:
    if abs(one.volume() - other.volume()) > 2 * SAME:
        return False
    return bool((one - other).volume() < SAME and (other - one).volume() < SAME)


def _names(here: Mapping[str, _Group], found: Mapping[str, str]) -> Mapping[str, str]:
    """Return the joint that each joint's cuts now serve; names that were taken pass on to those that lost theirs."""
    back, names = {new: old for old, new in found.items()}, dict(found)
    for left in (name for name in here if name not in found):
        name = left
        while name in back:
            name = back[name]
        names[left] = name
    return names


def _renamed(features: Iterable[Feature], names: Mapping[str, str], exact: Mapping[str, tuple[Feature, ...]],
             ) -> Iterator[Feature]:
    """Yield features under their new names; in place of a joint's that are the same, those of the drawing."""
    told = set[str]()
    for f in features:
        if f.joint is None or f.after is not None:
            yield f
        elif f.joint not in exact:
            new = names[f.joint]
            yield f if new == f.joint else replace(f, joint=new, name=f.name.removesuffix(f.joint) + new)
        elif f.joint not in told:
            told.add(f.joint)
            yield from exact[f.joint]
