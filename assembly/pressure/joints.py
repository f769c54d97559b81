"""Joints under pressure: for every glued joint of a stage the bar that presses it, or the band that does.

How many bars a joint takes follows from the 45 degree rule: pressure spreads from the edges of
a pad at 45 degrees, so a bar covers its pad and twice the depth of the glue line (common
practice, no source). A joint of which no line ends on two sound faces, as a mitre's does not,
is pressed by a band where the work closes round it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from assembly.contacts import contacts
from assembly.placing import Assembly
from assembly.pressure.lines import Line, Place, line_for
from assembly.pressure.work import Work, work_of
from model.design import Shop
from model.frames import inverse, points
from model.joint import Joint

PARALLEL = math.cos(math.radians(8.0))
"""Joints whose axis leans no more than this to a line are pressed by it."""
REACHES, PAD = (80.0, 150.0, 300.0), 50.0
"""Throats of bars tried, and their pads, where the shop says nothing, mm (common practice, no source)."""
SPAN = 0.3
"""The axes of joints that a band presses run every way in one plane: the least of the spread there of the greatest."""
LEVEL = np.array([0.0, 0.0, 0.0, 1e9])
"""Stands for nothing beneath: before it is known how the work lies."""


@dataclass(frozen=True)
class Pressed:
    """How a joint is pressed: by a line, or by a band of a length round some parts, or (neither) not at all.

    `joints`: all that the same clamps press; `count`: how many clamps side by side, over
    `spread` (half the joint's size along the line's x and y, mm).
    """

    joint: str
    line: Line | None = None
    band: float = 0.0
    around: tuple[str, ...] = ()
    joints: tuple[str, ...] = ()
    count: int = 1
    spread: tuple[float, float] = (0.0, 0.0)


def pad_and_reaches(shop: Shop) -> tuple[float, tuple[float, ...]]:
    """Return the pad and the throats of the bars there are, the shortest first; the usual ones where none are said."""
    bars = [c for c in shop.clamps if c.kind == "bar"]
    return (min(c.pad for c in bars), tuple(sorted({c.reach for c in bars}))) if bars else (PAD, REACHES)


def glued_whole(assembly: Assembly, names: Sequence[str]) -> dict[str, list[Joint]]:
    """Return the glued joints among those named as a person counts them, each with the joints it is made of."""
    found: dict[str, list[Joint]] = {}
    for joint in (assembly.design.joint[n] for n in names):
        if joint.glued:
            found.setdefault(joint.of or joint.name, []).append(joint)
    return found


@lru_cache(maxsize=64)
def pressed(assembly: Assembly, parts: tuple[str, ...], joints: tuple[str, ...], done: frozenset[str], pad: float,
            reaches: tuple[float, ...], up: tuple[float, float, float, float]) -> tuple[Pressed, ...]:
    """Return how each glued joint among those named is pressed in some parts held together; `up` as in `Place`."""
    work = work_of(assembly, parts, done)
    wholes = glued_whole(assembly, joints)
    found = {name: _by_line(assembly, work, own, pad, reaches, np.array(up)) for name, own in wholes.items()}
    company = _company(assembly, wholes)
    told = {name: Pressed(name, line[0], joints=company.between(work, name, line[0], pad), count=line[1],
                          spread=line[2])
            for name, line in found.items() if line is not None}
    left = [name for name in wholes if name not in told]
    return (*told.values(), *_by_band(assembly, work, left, wholes))


def _by_line(assembly: Assembly, work: Work, own: Sequence[Joint], pad: float, reaches: Sequence[float],
             up: NDArray[np.float64]) -> tuple[Line, int, tuple[float, float]] | None:
    """Return the line that presses a joint, how many side by side it takes, and how far apart these may stand."""
    ends = _ends(assembly, own)
    if ends is None or not set(ends) <= set(work.names):
        return None
    seat = assembly.seat(own[0])
    a, b = work.index[ends[0]], work.index[ends[1]]
    low, high = work.boxes(seat)
    half = np.maximum(1.0, (np.minimum(high[a], high[b]) - np.maximum(low[a], low[b])) / 2)[:2]
    spread = (float(half[0]), float(half[1]))
    line = line_for(work, Place(seat, a, b, pad, tuple(reaches), up), spread)
    if line is None:
        return None
    return line, side_by_side(_faced(assembly, own, seat[:3, 2]), pad, min(-line.foot, line.head)), spread


def side_by_side(area: float, pad: float, depth: float) -> int:
    """Return how many bars press a joint of an area, mm²: each covers its pad and twice the depth of the glue line."""
    cover = pad + 2.0 * max(0.0, depth)
    return max(1, math.ceil(area / (cover * min(cover, max(1.0, math.sqrt(area)))) - 1e-6))


def _faced(assembly: Assembly, own: Sequence[Joint], axis: NDArray[np.float64]) -> float:
    """Return the area of a joint's faces that a clamp along its axis presses together, mm²."""
    faced = _faced_areas(assembly)
    return max(sum(area for normal, area in faced.get(j.name, ()) if abs(float(normal @ axis)) > PARALLEL) for j in own)


@lru_cache(maxsize=16)
def _faced_areas(assembly: Assembly) -> dict[str, list[tuple[NDArray[np.float64], float]]]:
    found: dict[str, list[tuple[NDArray[np.float64], float]]] = {}
    for patch in contacts(assembly):
        if patch.joint is not None:
            found.setdefault(patch.joint, []).append((patch.normal, patch.area))
    return found


def _ends(assembly: Assembly, own: Sequence[Joint]) -> tuple[str, str] | None:
    """Return the two pieces a joint draws together: past a loose tenon, those on its both sides."""
    if len(own) == 1 and own[0].of is None:
        return own[0].a, own[0].b
    whole = assembly.design.joint.get(own[0].of or own[0].name)
    if whole is not None and (whole.a, whole.b) != (own[0].a, own[0].b):
        return _ordered(assembly, own[0], whole.a, whole.b)
    names = [n for joint in own for n in (joint.a, joint.b)]
    once = [n for n in dict.fromkeys(names) if names.count(n) == 1]
    return _ordered(assembly, own[0], once[0], once[1]) if len(once) == 2 else (own[0].a, own[0].b)


def _ordered(assembly: Assembly, joint: Joint, one: str, other: str) -> tuple[str, str]:
    """Return two pieces so that the first lies behind the joint's seat and the second ahead of it."""
    back = inverse(assembly.seat(joint))
    z = {n: float(points(back, points(assembly.frames[n], assembly.solid(n).centroid))[2]) for n in (one, other)}
    return (one, other) if z[one] <= z[other] else (other, one)


@dataclass(frozen=True, eq=False)
class _Company:
    """The glued joints of some work: their names, seats' origins and axes (J, 3), and the parts of each."""

    names: tuple[str, ...]
    origins: NDArray[np.float64]
    axes: NDArray[np.float64]
    ends: tuple[frozenset[str], ...]

    def between(self, work: Work, name: str, line: Line, pad: float) -> tuple[str, ...]:
        """Return the joints that the pads of a line press, the one it was found for first."""
        on_it = {work.names[w.part] for w in line.woods}
        at = points(inverse(line.frame), self.origins)
        depth = np.minimum(at[:, 2] - line.foot, line.head - at[:, 2])
        pressed = (np.abs(self.axes @ line.frame[:3, 2]) > PARALLEL) & (depth > 0)
        pressed &= np.abs(at[:, :2]).max(axis=1) <= pad / 2 + depth
        company = [self.names[k] for k in np.flatnonzero(pressed).tolist() if len(self.ends[k] & on_it) >= 2]
        return tuple(dict.fromkeys((name, *company)))


def _company(assembly: Assembly, wholes: dict[str, list[Joint]]) -> _Company:
    seats = np.array([assembly.seat(own[0]) for own in wholes.values()]).reshape(-1, 4, 4)
    ends = tuple(frozenset(n for joint in own for n in (joint.a, joint.b)) for own in wholes.values())
    return _Company(tuple(wholes), seats[:, :3, 3], seats[:, :3, 2], ends)


def _by_band(assembly: Assembly, work: Work, left: Sequence[str], wholes: dict[str, list[Joint]]) -> list[Pressed]:
    """Return how joints are pressed that no line presses: those that the work closes round share a band."""
    web = nx.MultiGraph()
    for joint in assembly.design.joints:
        if joint.a in work.index and joint.b in work.index:
            web.add_edge(joint.a, joint.b, joint.name)
    bridges = {frozenset(edge) for edge in nx.bridges(nx.Graph(web))} if web else set()
    closed = [n for n in left if not any(frozenset((j.a, j.b)) in bridges for j in wholes[n])]
    found = [Pressed(n, joints=(n,)) for n in left if n not in closed]
    ring = nx.Graph(web)
    ring.remove_edges_from([tuple(edge) for edge in bridges])
    for group in nx.connected_components(ring):
        mine = [n for n in closed if wholes[n][0].a in group]
        if not mine:
            continue
        plane = _plane(np.array([assembly.seat(wholes[n][0])[:3, 2] for n in mine]))
        if plane is None:
            found += [Pressed(n, joints=(n,)) for n in mine]
            continue
        around, length = _round(work, [n for n in work.names if n in group], plane)
        found += [Pressed(n, band=length, around=around, joints=tuple(mine)) for n in mine]
    return found


def _plane(axes: NDArray[np.float64]) -> NDArray[np.float64] | None:
    """Return a basis (2, 3) of the plane in which axes (N, 3) run every way; None where they do not."""
    _, spread, basis = np.linalg.svd(axes)
    if len(spread) < 2 or spread[1] < SPAN * spread[0] or (len(spread) > 2 and spread[2] > SPAN * spread[1]):
        return None
    plane: NDArray[np.float64] = basis[:2]
    return plane


def _round(work: Work, group: Sequence[str], plane: NDArray[np.float64]) -> tuple[tuple[str, ...], float]:
    """Return the parts that a band round some touches, and how long it is, mm, in a plane."""
    from scipy.spatial import ConvexHull

    clouds = [points(work.frames[i], work.solids[i].mesh[0]) @ plane.T for i in (work.index[name] for name in group)]
    owner = np.repeat(np.arange(len(group)), [len(c) for c in clouds])
    hull = ConvexHull(np.concatenate(clouds))
    touched = set(owner[hull.vertices].tolist())
    return tuple(name for k, name in enumerate(group) if k in touched), float(hull.area)
