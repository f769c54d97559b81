"""Bands: drawn round work that lies in one plane, so that they press the joints along its rim all at once.

A band runs along the convex hull of what it goes round and draws it together along itself; a
joint at the rim whose axis runs with the band is pressed. Work that is open, as an arch is,
is drawn together at its ends too: there a stretcher between them has to stand against the band.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import manifold3d
import networkx as nx
import numpy as np

from assembly.pressure.joints import PAD, Target
from assembly.pressure.pads import CAUL
from assembly.pressure.work import Floats, Work
from model.frames import Frame, Vector, frame_of, inverse, move, points

ALONG = math.cos(math.radians(72.0))
"""A joint is pressed by a band that runs within 72 degrees of its axis; beyond that it slips (common practice, no
source)."""
LEVEL = math.sin(math.radians(5.0))
"""Joints whose axes leave a plane by less than this (sine) are pressed by a band in it."""
SAME = math.cos(math.radians(2.0))
"""Planes within 2 degrees of each other are tried as one."""
APART = 20.0
"""Joints this near to one height over the plane share a band, mm."""
ON = 0.1
"""A part with a corner this near to a corner of the rim is one that the band goes round, mm."""
HALF = 5.0
"""Half as wide as the part of a band that has to lie on wood, mm."""
PLANES_MOST = 12
"""So many planes are tried at most."""


@dataclass(frozen=True)
class Band:
    """A band: its length, mm; the targets it presses by number; the parts it goes round; one stretch of it (world).

    `stretcher`: how far apart it has to hold the ends of open work, mm; 0 where the work is closed.
    """

    length: float
    presses: frozenset[int]
    around: tuple[str, ...]
    foot: tuple[float, float, float]
    head: tuple[float, float, float]
    stretcher: float = 0.0


def bands(work: Work, targets: Sequence[Target], left: Sequence[int]) -> list[Band]:
    """Return bands that press some of the targets numbered in `left`; each says all of the targets that it presses."""
    found = []
    for normal in _planes([targets[k] for k in left]):
        flat = [k for k in range(len(targets)) if abs(float(targets[k].frame[:3, 2] @ normal)) < LEVEL]
        for level in _levels(targets, [k for k in left if k in set(flat)], normal):
            found += _at(work, targets, flat, normal, level)
    return [b for b in found if b.presses & set(left)]


def _planes(left: Sequence[Target]) -> list[Vector]:
    """Return the normals of planes in which axes of two targets run, the target's own sides where all are parallel."""
    axes = [t.frame[:3, 2] for t in left]
    crossed = [np.cross(a, b) for a, b in combinations(axes[:40], 2)]
    own = [t.frame[:3, k] for t in left for k in (0, 1)]
    found: list[Vector] = []
    for way in [c / np.linalg.norm(c) for c in crossed if np.linalg.norm(c) > LEVEL] + own:
        if len(found) < PLANES_MOST and not any(abs(float(way @ f)) > SAME for f in found):
            found.append(way)
    return found


def _levels(targets: Sequence[Target], flat: Iterable[int], normal: Vector) -> list[float]:
    """Return the heights over the plane at which targets lie together."""
    at = sorted(float(targets[k].frame[:3, 3] @ normal) for k in flat)
    if not at:
        return []
    cuts = [0, *(k + 1 for k, (a, b) in enumerate(pairwise(at)) if b - a > APART), len(at)]
    return [float(np.mean(at[i:j])) for i, j in pairwise(cuts)]


def _at(work: Work, targets: Sequence[Target], flat: Sequence[int], normal: Vector, level: float) -> list[Band]:
    """Return a band for each group of pieces that hang together where a plane runs through them."""
    frame = frame_of(normal * level, normal, np.eye(3)[int(np.argmin(np.abs(normal)))])
    low, high = work.boxes(frame)
    there = np.flatnonzero((low[:, 2] < 0.0) & (high[:, 2] > 0.0)).tolist()
    here = [k for k in flat if abs(float(targets[k].frame[:3, 3] @ normal) - level) < APART]
    web = nx.Graph()
    web.add_nodes_from(there)
    web.add_edges_from((a, b) for a, b in work.ties if a in web and b in web)
    web.add_edges_from((targets[k].a, targets[k].b) for k in here if targets[k].a in web and targets[k].b in web)
    found = []
    for group in sorted(sorted(c) for c in nx.connected_components(web)):
        own = [k for k in here if targets[k].a in group and targets[k].b in group]
        band = _round(work, targets, own, web.subgraph(group), frame) if own else None
        found += [band] if band is not None else []
    return found


def _round(work: Work, targets: Sequence[Target], own: Sequence[int], web: nx.Graph, frame: Frame) -> Band | None:
    """Return the band round pieces, drawn along the hull of their section with the plane; None where it slips off."""
    parts = sorted(web)
    outlines = {i: _outline(work, i, frame) for i in parts}
    rim = _rim(list(outlines.values()))
    pressed = [] if rim is None else [k for k in own if _presses(rim, targets[k], frame)]
    if rim is None or not pressed or not _holds(work, parts, frame, rim):
        return None
    sides = np.roll(rim, -1, axis=0) - rim
    lengths = np.linalg.norm(sides, axis=1)
    longest = int(np.argmax(np.round(lengths, 3)))
    one, other = rim[longest], rim[(longest + 1) % len(rim)]
    foot, head = (points(frame, np.array([*p, 0.0])).tolist() for p in (one, other))
    bridges = {frozenset(e) for e in nx.bridges(web)}
    closed = not any(frozenset((targets[k].a, targets[k].b)) in bridges for k in pressed)
    around = tuple(work.names[i] for i, outline in outlines.items() if len(outline) and _on(rim, outline))
    return Band(float(lengths.sum()), frozenset(pressed), around, tuple(foot), tuple(head),
                0.0 if closed else _open(np.vstack(list(outlines.values())), one, other))


def _open(corners: Floats, one: Floats, other: Floats) -> float:
    """Return the longest stretch between two points of the rim on which none of the corners (K, 2) lies, mm."""
    length = float(np.linalg.norm(other - one))
    way = (other - one) / length
    along, off = (corners - one) @ way, (corners - one) @ np.array([-way[1], way[0]])
    on = np.sort(np.concatenate([[0.0, length], np.clip(along[np.abs(off) < ON], 0.0, length)]))
    return float(np.diff(on).max())


def _holds(work: Work, parts: Sequence[int], frame: Frame, rim: Floats) -> bool:
    """Whether the faces a band lies on stand square enough to its plane that it does not slip off."""
    sides = np.roll(rim, -1, axis=0) - rim
    out = np.column_stack([sides[:, 1], -sides[:, 0]]) / np.maximum(np.linalg.norm(sides, axis=1), 1e-9)[:, None]
    reach = []
    for level in (-HALF, HALF):
        other = _rim([_outline(work, i, frame @ move(z=level)) for i in parts])
        if other is None:
            return False
        reach.append((other @ out.T).max(axis=0))
    return bool(np.abs(reach[0] - reach[1]).max() <= 2.0 * HALF * math.tan(CAUL))


def _outline(work: Work, part: int, frame: Frame) -> Floats:
    """Return the corners (K, 2) of a part's section with the plane of a frame."""
    there = np.ascontiguousarray((inverse(frame) @ work.frames[part])[:3])
    polygons = work.solids[part].manifold.transform(there).slice(0.0).to_polygons()
    return np.vstack(polygons) if polygons else np.empty((0, 2))


def _rim(outlines: Sequence[Floats]) -> Floats | None:
    """Return the corners (K, 2) of the convex hull round outlines; None where there is none."""
    corners = np.vstack([*outlines, np.empty((0, 2))])
    hull = manifold3d.CrossSection.hull_points(corners).simplify(ON / 10).to_polygons() if len(corners) > 2 else []
    return np.asarray(hull[0]) if hull else None


def _on(rim: Floats, corners: Floats) -> bool:
    """Whether one of some corners (K, 2) lies on a rim."""
    return bool((np.linalg.norm(rim[:, None] - corners[None], axis=2).min(axis=1) < ON).any())


def _presses(rim: Floats, target: Target, frame: Frame) -> bool:
    """Whether a band along a rim (K, 2) presses a target: it crosses the glue line by it, along its axis."""
    back = inverse(frame)
    at, axis = points(back, target.frame[:3, 3])[:2], (back[:3, :3] @ target.frame[:3, 2])[:2]
    across = np.abs((back[:3, :3] @ target.frame[:3, :2])[:2])
    reach = float(across.max(axis=0) @ np.array(target.half)) + PAD
    ahead = (rim - at) @ axis
    ends = np.roll(rim, -1, axis=0)
    crossing = ahead * np.roll(ahead, -1) <= ON
    fall = ahead - np.roll(ahead, -1)
    share = np.clip(ahead / np.where(np.abs(fall) < 1e-9, 1.0, fall), 0.0, 1.0)
    there = np.linalg.norm(rim + share[:, None] * (ends - rim) - at, axis=1)
    with_axis = np.abs((ends - rim) @ axis) / np.maximum(np.linalg.norm(ends - rim, axis=1), 1e-9)
    return bool((crossing & (there < reach) & (with_axis > ALONG)).any())
