"""The cut of one joint on one part: where it is laid out, the sizes it can be measured by, and cutting it anew.

A tenon reaches from its shoulder, a mortise or a slot goes down from the face, a lap or a
housing has a floor that the other piece lies on.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from model.as_cut import CutAsCut
from model.errors import MeasureError
from model.frames import Frame, identity, inverse, move, points
from model.joint import Joint
from model.joints.measures import ahead
from model.part import LEAST_SIZE, Feature, Part
from model.solids import Solid, polyhedron
from model.units import LONGEST

Floats = NDArray[np.float64]

FLAT = 1e-6
"""Corners this near the meeting plane lie on it, mm."""
INSIDE = 1e-3
"""A pocket whose bottom lies this far inside the wood has one, mm."""


@dataclass(frozen=True, eq=False)
class Made:
    """How a cut came out, in the part's own frame; as drawn unless more is said.

    `shift`: the motion of its joint's seat; `offset`: that of its features, once `stretched` has
    moved their corners.
    """

    shift: Frame = field(default_factory=identity)
    offset: Frame = field(default_factory=identity)
    stretched: Callable[[Solid], Solid] = lambda solid: solid
    left_out: bool = False

    def feature(self, feature: Feature, carry: Frame) -> tuple[Feature, ...]:
        """Return a feature of the joint as it came out on a part whose places are carried; nothing if left out."""
        if self.left_out:
            return ()
        frame: Frame = carry @ self.offset
        still = np.array_equal(frame, identity())
        solid = feature.solid if feature.role == "shoulder" else self.stretched(feature.solid)
        if still and solid is feature.solid:
            return (feature,)
        return (replace(feature, solid=solid if still else solid.moved(frame), frame=frame @ feature.frame),)


@dataclass(frozen=True, eq=False)
class Cut:
    """What one joint cuts on one part, as drawn.

    `seat`, `place`: 4x4 in the part's own frame; `way`: +1 or -1, which way along the seat's z
    the cut goes from the meeting plane (for a floor: out of the wood); `low`, `high` (3,) its
    extent in the seat, mm; `wood` (2, 3) that of the blank; `sizes`: what of it can be measured, mm.
    """

    part: str
    joint: str
    kind: Literal["tenon", "pocket", "floor"]
    seat: Frame
    place: Frame
    way: float
    low: Floats
    high: Floats
    wood: Floats
    sizes: dict[str, float]
    opening: int = 0
    """For a floor: the axis of the seat along which its width runs."""

    def made(self, record: CutAsCut) -> Made:
        """Return how it came out; MeasureError for a size it does not have or cannot have."""
        for what in ("width", "thickness", "depth"):
            if getattr(record, what) is not None:
                self._has(what, getattr(record, what))
        self._in_the_wood(record)
        floor = 0.0
        if self.kind == "floor" and record.depth is not None:
            floor = -self.way * (record.depth - self.sizes["depth"])
        offset = self.offset(record)
        shift = offset @ self.seat @ move(z=floor) @ inverse(self.seat)
        return Made(shift, offset, lambda solid: self.stretched(solid, record), record.left_out)

    def _has(self, what: str, value: float) -> None:
        """Refuse a size that the cut does not have, or that nothing has."""
        if what not in self.sizes:
            raise self._refused(what, value, f"of this cut: {', '.join(('along', 'across', *self.sizes))}")
        if not LEAST_SIZE <= value <= LONGEST:
            raise self._refused(what, value, f"{LEAST_SIZE:g} mm to {LONGEST / 1000:.0f} m; left_out where it was "
                                "never cut")

    def _in_the_wood(self, record: CutAsCut) -> None:
        """Refuse a cut that would miss its piece, and a tenon that its piece is too small for."""
        for what in ("along", "across"):
            if not abs(value := getattr(record, what)) <= LONGEST:
                raise self._refused(what, value, f"at most {LONGEST / 1000:.0f} m either way")
        told = ("along", "across", "width", "thickness")
        if not (given := next((w for w in told if getattr(record, w)), "")):
            return
        shift = self.seat[:3, :3].T @ self.offset(record)[:3, 3]
        low, high = (side[:2] for side in self._section(record, shift))
        least, most = self.wood[:, :2]
        if np.any(low >= most - LEAST_SIZE) or np.any(high <= least + LEAST_SIZE):
            raise self._refused(given, getattr(record, given), "a place where it still cuts its piece")
        was_in = np.all(self.low[:2] >= least - INSIDE) and np.all(self.high[:2] <= most + INSIDE)
        if self.kind == "tenon" and was_in and (np.any(low < least - INSIDE) or np.any(high > most + INSIDE)):
            size = " x ".join(f"{v:.1f}" for v in most - least)
            raise self._refused(given, getattr(record, given), f"a tenon inside the {size} mm of its piece")

    def _section(self, record: CutAsCut, shift: Floats) -> tuple[Floats, Floats]:
        """Return the extent of the cut in its seat as measured, shifted (3,)."""
        low, high = self.low.copy(), self.high.copy()
        for axis, value in self._across(record):
            middle = (low[axis] + high[axis]) / 2
            low[axis], high[axis] = middle - value / 2, middle + value / 2
        return low + shift, high + shift

    def _refused(self, what: str, value: float, accepted: str) -> MeasureError:
        return MeasureError(self.part, what, f"{value:.2f} mm", accepted, self.joint)

    def offset(self, record: CutAsCut) -> Frame:
        """Return the motion of a cut that is off its place, in the part's own frame."""
        if not record.along and not record.across:
            return identity()
        frame: Frame = self.place @ move(record.along, record.across) @ inverse(self.place)
        return frame

    def stretched(self, solid: Solid, record: CutAsCut) -> Solid:
        """Return a solid of the cut with the sizes measured, in the part's own frame, before it is shifted."""
        vertices, triangles = solid.mesh
        at = points(inverse(self.seat), vertices)
        was = at.copy()
        for axis, value in self._across(record):
            middle = (self.low[axis] + self.high[axis]) / 2
            at[:, axis] = middle + (at[:, axis] - middle) * (value / (self.high[axis] - self.low[axis]))
        if record.depth is not None:
            self._deepen(at, record.depth)
        if np.array_equal(at, was):
            return solid
        return polyhedron(points(self.seat, at), triangles)

    def _across(self, record: CutAsCut) -> list[tuple[int, float]]:
        wide, thick = (self.opening, 1) if self.kind == "floor" else (0, 1)
        return [(axis, value) for axis, value in ((wide, record.width), (thick, record.thickness)) if value is not None]

    def _deepen(self, at: Floats, depth: float) -> None:
        along = at[:, 2] * self.way
        if self.kind == "floor":
            at[np.abs(along) < FLAT, 2] -= self.way * (depth - self.sizes["depth"])
        else:
            at[:, 2] = np.where(along > FLAT, at[:, 2] * (depth / self.sizes["depth"]), at[:, 2])


def place_of(part: Part, joint: Joint) -> str:
    """Return the name of the place that a joint is laid out from on a part: the side its seat looks out of."""
    seat, out = _seated(part, joint)
    names, outward, level = _sides(part)
    facing = np.round(outward @ (out * seat[:3, 2]), 3)
    away = np.abs(outward @ seat[:3, 3] - level)
    return names[int(np.lexsort((away, -facing))[0])]


def _seated(part: Part, joint: Joint) -> tuple[Frame, float]:
    """Return a joint's seat on a part, and 1 where its z looks out of the part, -1 where it looks in."""
    return joint.seat(part.name), 1.0 if part.name == joint.a else -1.0


def _sides(part: Part) -> tuple[tuple[str, ...], Floats, Floats]:
    """Return the names of a blank's places, their outward normals (N, 3), and their levels along those, mm."""
    places = part.blank.places
    frames = np.array(list(places.values()))
    return tuple(places), frames[:, :3, 2], np.einsum("ij,ij->i", frames[:, :3, 2], frames[:, :3, 3])


def cut_of(part: Part, joint: Joint) -> Cut | None:
    """Return the cut of a joint on a part as drawn; None where it cuts nothing there."""
    features = [f for f in part.features if f.joint == joint.name and f.role != "shoulder"]
    if not features:
        return None
    seat, out = _seated(part, joint)
    place = part.blank.places[place_of(part, joint)]
    at = points(inverse(seat), np.vstack([f.solid.mesh[0] for f in features]))
    kind: Literal["tenon", "pocket"] = "tenon" if features[0].operation == "add" else "pocket"
    way = 1.0 if kind == "tenon" else -out
    if kind == "pocket" and features[0].role not in ("mortise", "slot"):
        return _floor(part, joint, seat, place, out, at)
    held = at[at[:, 2] * way >= -FLAT] if np.any(at[:, 2] * way >= -FLAT) else at
    low, high = held.min(axis=0), held.max(axis=0)
    sizes: dict[str, float] = {}
    if len(features) == 1:
        if features[0].role != "slot":
            sizes["width"] = float(high[0] - low[0])
        sizes["thickness"] = float(high[1] - low[1])
    reach = float((at[:, 2] * way).max())
    if kind == "tenon" or _has_bottom(part, seat, (low + high) / 2, way * (reach + INSIDE)):
        sizes["depth"] = reach
    return Cut(part.name, joint.name, kind, seat, place, way, low, high, part.blank.solid.bounds_in(seat), sizes)


def _has_bottom(part: Part, seat: Frame, middle: Floats, level: float) -> bool:
    """Whether there is wood at a level of the seat under the middle of a pocket."""
    return part.blank.solid.chord(points(seat, (middle[0], middle[1], level)), seat[:3, 2]) > 0


def _floor(part: Part, joint: Joint, seat: Frame, place: Frame, out: float, at: Floats) -> Cut:
    """Return a lap or a housing: how deep its floor lies, and how wide it opens along the piece where it ends there."""
    low, high = at.min(axis=0), at.max(axis=0)
    wood = part.blank.solid.bounds_in(seat)
    sizes: dict[str, float] = {}
    depth = ahead(part.blank, seat, back=out < 0)
    if depth > 0:
        sizes["depth"] = depth
    axis = int(np.argmax(np.abs(part.blank.grain @ seat[:3, :2])))
    least, most = wood[:, axis]
    if low[axis] > least + INSIDE and high[axis] < most - INSIDE:
        sizes["width"] = float(high[axis] - low[axis])
    return Cut(part.name, joint.name, "floor", seat, place, out, low, high, wood, sizes, axis)
