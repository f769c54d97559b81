"""Grain: how much of a joint is long grain, and how steeply the grain runs out of a curved part.

Areas mm², angles rad. A face shows end grain where the grain meets it at 45 degrees or more: a
mitre at 45 degrees is end grain.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import acos, atan2, cos, pi, sin

import numpy as np
from numpy.typing import NDArray

from assembly.contacts import joints_between, touches
from assembly.glued import glued_pairs, is_glued, names
from assembly.meeting import REMEMBERED, Meeting
from assembly.placing import Assembly
from model.frames import Frame, frame_of, inverse, points
from model.part import Part
from model.shapes.curved_band import CurvedBand
from model.solids import Solid

Floats = NDArray[np.float64]

ALONG = sin(pi / 4 - 1e-4)
"""Grain runs along a face that it meets at less than 45 degrees (common practice, no source): the sine of that."""
DOUBLED = ("half lap", "cross lap", "bridle")
"""Kinds of joint in which the two pieces lie beside each other: the end of the one has the other's wood beside it."""


@dataclass(frozen=True)
class Share:
    """What two parts offer the glue between them: `area` mm², and of it `long` mm² where both show long grain.

    `where` (x, y, z): the middle of what touches, in the world.
    """

    a: str
    b: str
    joints: tuple[str, ...]
    area: float
    long: float
    where: tuple[float, float, float]

    @property
    def share(self) -> float:
        """The share of long grain, 0 to 1."""
        return self.long / self.area


def shares(assembly: Assembly) -> Iterator[Share]:
    """Yield the share of long grain between every two parts that are glued to each other in the finished work.

    All joints between two parts count together. A loose tenon counts for the parts it joins,
    with that half of it that holds less. Parts of which nothing touches are left out.
    """
    design = assembly.design
    found: dict[tuple[str, str], list[tuple[str, _Offer]]] = {}
    halves: dict[str, list[tuple[str, _Offer]]] = {}
    for pair in glued_pairs(assembly):
        area, long, x, y, z = _offered(pair.meeting, pair.limit, pair.grain, pair.dry)
        if area <= 0.0:
            continue
        offer = _Offer(area, long, points(assembly.frames[pair.a.name], (x, y, z)))
        whole = pair.joints[0].of
        if whole is None:
            first = next(j for j in pair.joints if j.glued)
            found.setdefault((first.a, first.b), []).extend((n, offer) for n in names(pair.joints)[:1])
        else:
            halves.setdefault(whole, []).append((pair.joints[0].name, offer))
    for whole, both in halves.items():
        joint = design.joint[whole]
        found.setdefault((joint.a, joint.b), []).append(min(both, key=lambda h: h[1].long))
    for (a, b), offers in found.items():
        yield _share(assembly, a, b, [o for _, o in offers])


@dataclass(frozen=True, eq=False)
class _Offer:
    """What one pair of shapes offers the glue, mm², and the middle of it (3,) in the world."""

    area: float
    long: float
    middle: Floats


def _share(assembly: Assembly, a: str, b: str, offers: Sequence[_Offer]) -> Share:
    area, long = sum(o.area for o in offers), sum(o.long for o in offers)
    x, y, z = (np.sum([o.area * o.middle for o in offers], axis=0) / area).tolist()
    joints = names(joints_between(assembly.design).get(frozenset((a, b)), ()))
    return Share(a, b, joints, area, long, (x, y, z))


@lru_cache(maxsize=REMEMBERED)
def _offered(meeting: Meeting, limit: float, told: bytes, dry: bytes) -> tuple[float, float, float, float, float]:
    """Return the area glued between two shapes, how much of it is long grain on both, mm², and its middle x, y, z."""
    touched = touches(meeting, limit)
    grain = np.frombuffer(told).reshape(2, 3)
    glued = np.array([is_glued(c, dry) for c in touched.centres], dtype=np.bool_)
    areas = np.where(glued, touched.areas, 0.0) if len(touched) else np.zeros(0)
    area = float(areas.sum())
    if area <= 0.0:
        return 0.0, 0.0, 0.0, 0.0, 0.0
    long = (np.abs(touched.normals @ grain.T) < ALONG).all(axis=1)
    x, y, z = (areas @ touched.centres / area).tolist()
    return area, float(areas[long].sum()), x, y, z


@dataclass(frozen=True)
class RunOut:
    """Where the grain of a curved part is steepest to its curve: `angle` rad, at `where` in the world."""

    part: str
    angle: float
    where: tuple[float, float, float]


def run_outs(assembly: Assembly) -> Iterator[RunOut]:
    """Yield for every curved part the steepest angle between its grain and the tangent of its curve.

    That is at one of its ends; where a lap lies beside the end it is in the middle of the lap,
    beyond which the other piece's wood holds too. Curved parts: those sawn to a curve, and
    curved bands. Not seen: curves in imported meshes.
    """
    for name in assembly.there():
        part = assembly.part(name)
        centre = None if part.temporary else band_centre(part)
        if centre is not None:
            angle, at = _steepest(assembly, part, centre)
            x, y, z = points(assembly.frames[name], points(centre, at)).tolist()
            yield RunOut(name, angle, (x, y, z))


def band_centre(part: Part) -> Frame | None:
    """Return the middle of a part's curve in its own frame, z its axis, y to the part's middle; None if straight."""
    for feature in part.features:
        if feature.role == "curve":
            return feature.frame
    if isinstance(part.blank, CurvedBand):
        outer, radius = part.blank.places["outer"], part.blank.radii["outer"]
        middle = outer[:3, 3] - radius * outer[:3, 2]
        return frame_of(middle, np.cross(outer[:3, 0], outer[:3, 2]), outer[:3, 0])
    return None


def _steepest(assembly: Assembly, part: Part, centre: Frame) -> tuple[float, Floats]:
    curve = tuple(f.solid for f in part.features if f.role == "curve")
    low, high, radius = _reach(part.blank.solid, curve, centre.tobytes())
    laps = [j for j in assembly.design.joints if part.name in (j.a, j.b) and j.kind in DOUBLED]
    seats = [_around(centre, j.seat(part.name)[:3, 3]) for j in laps]
    near, far = (s for s in seats if s < 0.5 * low), (s for s in seats if s > 0.5 * high)
    ends = max(near, default=low), min(far, default=high)
    grain = inverse(centre)[:3, :3] @ part.blank.grain
    angles = [acos(min(1.0, abs(float(grain[0] * cos(e) - grain[1] * sin(e))))) for e in ends]
    end = ends[int(np.argmax(angles))]
    return max(angles), np.array([radius * sin(end), radius * cos(end), 0.0])


def _around(centre: Frame, at: Floats) -> float:
    x, y, _ = points(inverse(centre), at).tolist()
    return atan2(x, y)


@lru_cache(maxsize=1024)
def _reach(blank: Solid, curve: tuple[Solid, ...], told: bytes) -> tuple[float, float, float]:
    """Return from where to where a curved part reaches around its centre, rad, and its middle radius, mm."""
    centre = np.frombuffer(told).reshape(4, 4)
    at = points(inverse(centre), blank.kept(*curve).mesh[0])
    around = np.arctan2(at[:, 0], at[:, 1])
    away = np.hypot(at[:, 0], at[:, 1])
    return float(around.min()), float(around.max()), float(away.min() + away.max()) / 2.0
