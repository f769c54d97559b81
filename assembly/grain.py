"""Grain: how much of a joint is long grain, and how steeply the grain runs out of a curved part.

Areas mm², angles rad. A face shows end grain where the grain meets it at END_GRAIN or more
steeply; a 45 degree mitre counts as end grain.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import acos, atan2, cos, sin

import numpy as np
from numpy.typing import NDArray

from assembly.contacts import END_GRAIN, Patch, contacts
from assembly.placing import Assembly
from model.frames import Frame, frame_of, inverse, points
from model.joint import Joint
from model.part import Part
from model.shapes.curved_band import CurvedBand
from model.solids import Solid

Floats = NDArray[np.float64]

MITRE = 1e-4
"""Grain within this of END_GRAIN, rad, is on it, and end grain."""
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
    with that half of it that holds less. Parts whose joints do not meet are left out.
    """
    design = assembly.design
    found: dict[tuple[str, str], dict[str, list[Patch]]] = {}
    for patch in contacts(assembly):
        joint = None if patch.joint is None else design.joint[patch.joint]
        if joint is not None and joint.glued and not _temporary(assembly, joint):
            whole = _whole(design.joint, joint)
            found.setdefault((whole.a, whole.b), {}).setdefault(joint.name, []).append(patch)
    for (a, b), by_joint in found.items():
        yield _share(design.joint, a, b, by_joint)


def _temporary(assembly: Assembly, joint: Joint) -> bool:
    return assembly.part(joint.a).temporary or assembly.part(joint.b).temporary


def _whole(joints: Mapping[str, Joint], joint: Joint) -> Joint:
    return joint if joint.of is None else joints[joint.of]


def _share(joints: Mapping[str, Joint], a: str, b: str, by_joint: Mapping[str, list[Patch]]) -> Share:
    weaker: dict[str, list[Patch]] = {}
    counted: list[Patch] = []
    for name, patches in by_joint.items():
        of = joints[name].of
        if of is None:
            counted.extend(patches)
        elif of not in weaker or _long(patches) < _long(weaker[of]):
            weaker[of] = patches
    counted.extend(p for patches in weaker.values() for p in patches)
    area = sum(p.area for p in counted)
    middle = sum(p.area * p.centre for p in counted) / area
    x, y, z = (float(v) for v in np.asarray(middle))
    return Share(a, b, tuple(by_joint), area, _long(counted), (x, y, z))


def _long(patches: list[Patch]) -> float:
    return sum(p.area for p in patches if max(p.grain_a, p.grain_b) < END_GRAIN - MITRE)


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
    seats = [_around(centre, (j.seat_a if j.a == part.name else j.seat_b)[:3, 3]) for j in laps]
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
