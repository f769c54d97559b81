"""Thickness: how much wood there is across a piece that two parts have in common.

A shaving that runs round a corner is thin, however wide the box or the hull around it. So
a piece is cut along the planes of its own faces until its thickest bit is convex; the
thickness of the piece is the least width of that bit.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray

from assembly.facets import facets
from model.solids import SAGITTA, polyhedron

Floats = NDArray[np.float64]

CRUMB = 1e-6
"""Pieces of common wood smaller than this, mm³, are rounding."""
CONVEX = SAGITTA
"""Wood beyond the plane of a face by less than this, mm, or beside a face lower than this, does not make a bit
hollow."""
BESIDE = CONVEX / 5
"""A cut runs this far beside the face it follows, mm: a cut in the face itself leaves films behind."""
CUTS_MOST, TRIANGLES_MOST = 400, 100_000
"""A piece is cut at most this often, and its bits cut have at most so many triangles together, lest it take many
seconds; what is still hollow then counts as thick as its hull."""
FACES_MOST, EDGES_MOST = 400, 60
"""How many face and edge directions, largest first, a piece's width is tried across."""


@dataclass(frozen=True, eq=False)
class Thickness:
    """How thick a piece is, mm, in which unit direction (3,), and the centre (3,) of its thickest bit."""

    depth: float
    along: Floats
    where: Floats


def thickness(piece: manifold3d.Manifold) -> Thickness:
    """Return the thickness of a piece: the least width of the thickest convex bit found in it.

    Exact for convex pieces and for shavings, bent or not. Not promised for thick hollow
    pieces: they may be cut where a wider convex bit lay, and come out thinner than they are.
    """
    width, _, bit, along = _thickest(piece)
    return Thickness(-width, along, _centre(bit))


_Bit = tuple[float, int, manifold3d.Manifold, Floats]
"""A bit in waiting, the widest first: its width below zero, when it came, itself, the direction of its width."""


def _thickest(piece: manifold3d.Manifold) -> _Bit:
    """Cut the bit of the widest hull again and again, until it is convex: none of the others can be thicker."""
    width, along = least_width(piece)
    waiting: list[_Bit] = [(-width, 0, piece, along)]
    count = cuts = triangles = 0
    while cuts < CUTS_MOST and triangles < TRIANGLES_MOST:
        _, _, bit, _ = waiting[0]
        cuts, triangles = cuts + 1, triangles + int(bit.num_tri())
        halves = [(*least_width(half), half) for half in _halves(bit) if half.volume() > CRUMB]
        if len(halves) < 2:
            break
        heapq.heappop(waiting)
        for width, along, half in halves:
            count += 1
            heapq.heappush(waiting, (-width, count, half, along))
    return waiting[0]


def _halves(bit: manifold3d.Manifold) -> Iterator[manifold3d.Manifold]:
    """Return what a bit falls into along the plane of a face that it reaches beyond; nothing if convex.

    Of such faces the one with the most wood behind it is taken: the cut leaves that wood whole.
    """
    mesh = bit.to_mesh64()
    corners = np.asarray(mesh.vert_properties)[:, :3]
    flat = facets(polyhedron(corners, mesh.tri_verts))
    heights = corners @ flat.normals.T - flat.offsets
    deep = flat.areas > CONVEX * np.linalg.norm(flat.high - flat.low, axis=1)
    hollow = np.flatnonzero((heights.max(axis=0) > CONVEX) & deep)
    if len(hollow):
        face = hollow[np.lexsort((flat.areas[hollow], -np.round(heights.min(axis=0)[hollow], 3)))[-1]]
        for half in bit.split_by_plane(tuple(flat.normals[face]), float(flat.offsets[face]) + BESIDE):
            yield from half.decompose()


def _centre(bit: manifold3d.Manifold) -> Floats:
    mesh = bit.to_mesh64()
    corners, triangles = np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts, dtype=np.int64)
    low, high = corners.min(axis=0), corners.max(axis=0)
    p, q, r = (corners[triangles[:, k]] - low for k in range(3))
    six = np.einsum("ij,ij->i", p, np.cross(q, r))
    centre = low + ((p + q + r) * six[:, None]).sum(axis=0) / (4.0 * six.sum())
    return np.asarray(np.clip(centre, low, high), dtype=np.float64)


def least_width(piece: manifold3d.Manifold) -> tuple[float, Floats]:
    """Return the least width of a solid's hull, mm, and its direction.

    The width of a convex solid is least across one of its faces or across two of its edges
    (the rotating-caliper argument of Houle & Toussaint, 1988); beyond FACES_MOST and
    EDGES_MOST directions the width is the least of those tried, so never too small.
    """
    mesh = piece.hull().to_mesh64()
    corners, triangles = np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts, dtype=np.int64)
    at = corners[triangles]
    sides = (np.roll(at, -1, axis=1) - at).reshape(-1, 3)
    faces = np.cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0])
    edges = _ways(sides)[:EDGES_MOST]
    across = np.cross(edges[:, None, :], edges[None, :, :]).reshape(-1, 3)
    ways = np.vstack([_ways(faces)[:FACES_MOST], _ways(across)])
    span = corners @ ways.T
    widths = span.max(axis=0) - span.min(axis=0)
    least = int(np.argmin(widths))
    return float(widths[least]), ways[least]


def _ways(vectors: Floats) -> Floats:
    """Return the different directions among vectors, longest vectors first, each once whichever way it points."""
    length = np.linalg.norm(vectors, axis=1)
    order = np.argsort(-length, kind="stable")
    order = order[length[order] > 1e-9 * max(1.0, float(length.max(initial=0.0)))]
    ways = vectors[order] / length[order, None]
    lead = np.take_along_axis(ways, np.argmax(np.abs(ways) > 1e-6, axis=1)[:, None], axis=1)
    ways = ways * np.where(lead < 0, -1.0, 1.0)
    _, first = np.unique(np.round(ways, 6), axis=0, return_index=True)
    different: Floats = ways[np.sort(first)]
    return different
