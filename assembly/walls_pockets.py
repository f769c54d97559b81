"""Pockets: the mortises, slots, housings and laps of a part, and the body they are cut into, step by step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from model.design import Design
from model.joints.mortise_and_tenon import THROUGH
from model.part import Feature, Part
from model.solids import Solid

Way = tuple[float, float, float]

OPEN = frozenset({"slot", "housing", "lap"})
"""Roles of pockets that may run out at the sides of a piece as well as at their mouth."""
ROLES = OPEN | {"mortise"}
"""Roles of the cuts around which wood has to be left."""
PAST = 1e-3
"""A cutter that runs past the wood by less, mm, ends in it."""
TURNED = np.cos(np.radians(30.0))
"""A pocket turned by more than this against the drawing goes with wood that was turned: its openings are its own."""


@dataclass(frozen=True)
class Pocket:
    """One pocket in its part's own frame, without names, so that parts alike share what is measured on it.

    `solid` is the cutter, overshoot and all; `into` the unit way from the mouth inward;
    `through` whether it is meant to come out opposite; `step` the first of the part's steps
    at which it is there; `mate` a number shared by the pockets of one joint.
    """

    solid: Solid
    into: Way
    role: str
    through: bool
    step: int
    mate: int

    @property
    def open(self) -> bool:
        """Whether it may run out at the sides as well."""
        return self.role in OPEN


@dataclass(frozen=True)
class Pocketed:
    """What is measured of a part: its body without pockets at each step (S), its pockets (P), where these are drawn.

    Step 0 is the part before any glue, each further step the part with one more of its later
    cuts made. `drawn` holds for each pocket the body and the pocket of the drawing whose
    openings are the ones meant, None where the pocket itself shows them.
    """

    bodies: tuple[Solid, ...]
    pockets: tuple[Pocket, ...]
    drawn: tuple[tuple[Solid, Pocket] | None, ...]


@dataclass(frozen=True)
class Named:
    """What is measured by its names: the pockets' features (P), the stage behind each step (S), "" first."""

    features: tuple[Feature, ...]
    stages: tuple[str, ...]


def pocketed(design: Design, part: Part) -> tuple[Pocketed, Named] | None:
    """Return what is measured of a part, and its names; None for a part without pockets."""
    features = tuple(f for f in part.features if is_pocket(f))
    if not features:
        return None
    stages = _stages(design, part)
    plain = replace(part, features=tuple(f for f in part.features if not is_pocket(f)))
    bodies = tuple(plain.solid(frozenset(stages[1:k + 1])) for k in range(len(stages)))
    pockets = tuple(_pocket(design, bodies, part, f, stages) for f in features)
    return Pocketed(bodies, pockets, _drawn(design, part, features)), Named(features, stages)


def is_pocket(feature: Feature) -> bool:
    """Whether a feature is a pocket of a joint."""
    return feature.operation == "cut" and feature.role in ROLES and feature.joint is not None


def _stages(design: Design, part: Part) -> tuple[str, ...]:
    """Return "" and the stages after which something is cut on the part, in the design's order."""
    later = {f.after for f in part.features if f.after is not None}
    known = [s.name for s in design.stages if s.name in later]
    return ("", *known, *sorted(later - set(known)))


def _pocket(design: Design, bodies: Sequence[Solid], part: Part, feature: Feature, stages: Sequence[str]) -> Pocket:
    joint = design.joint.get(feature.joint or "")
    step = 0 if feature.after is None else stages.index(feature.after)
    x, y, z = (np.round(feature.frame[:3, 2], 9) + 0.0).tolist()
    sign = _goes_in(bodies[step], feature.solid, (x, y, z)) or (1.0 if joint is None or joint.b == part.name else -1.0)
    mates = [f.joint for f in part.features]
    return Pocket(feature.solid, (x * sign + 0.0, y * sign + 0.0, z * sign + 0.0), feature.role,
                  joint is not None and joint.kind == THROUGH.name, step, mates.index(feature.joint))


@lru_cache(maxsize=8192)
def _goes_in(body: Solid, pocket: Solid, way: Way) -> float:
    """Return 1 where a pocket goes into a body along a way, -1 where against it, 0 where it runs out at both ends.

    It goes in where its cutter runs past the wood, and not where it ends in it: so wood that
    was turned, mirrored or exchanged needs no knowing of.
    """
    taken = sunk(body, pocket)
    if taken.empty:
        return 0.0
    whole, inside = pocket.mesh[0] @ np.array(way), taken.mesh[0] @ np.array(way)
    before, behind = float(inside.min() - whole.min()) > PAST, float(whole.max() - inside.max()) > PAST
    return float(before) - float(behind)


@lru_cache(maxsize=8192)
def sunk(body: Solid, pocket: Solid) -> Solid:
    """Return a pocket without its overshoot: what it takes out of the body."""
    return pocket.kept(body)


def _drawn(design: Design, part: Part, features: Sequence[Feature]) -> tuple[tuple[Solid, Pocket] | None, ...]:
    """Return for each pocket the body and the pocket as drawn, unless the wood was turned since."""
    was = None if design.drawn is None else design.drawn.part.get(part.name)
    if design.drawn is None or was is None or was is part:
        return (None,) * len(features)
    found = pocketed(design.drawn, was)
    if found is None:
        return (None,) * len(features)
    shapes, named = found
    twins = {key: k for k, key in enumerate(_told(named.features))}
    meant: list[tuple[Solid, Pocket] | None] = []
    for feature, key in zip(features, _told(features), strict=True):
        k = twins.get(key)
        if k is None or not _upright(named.features[k].frame, feature.frame):
            meant.append(None)
        else:
            meant.append((shapes.bodies[shapes.pockets[k].step], shapes.pockets[k]))
    return tuple(meant)


def _told(features: Sequence[Feature]) -> list[tuple[str, int]]:
    """Return for each feature its name and the how-manieth of that name it is."""
    names = [f.name for f in features]
    return [(name, names[:k].count(name)) for k, name in enumerate(names)]


def _upright(one: NDArray[np.float64], other: NDArray[np.float64]) -> bool:
    return bool(np.all(np.einsum("ij,ij->j", one[:3, :3], other[:3, :3]) > TURNED))
