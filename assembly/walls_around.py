"""One pocket in one body: the faces it crosses, the nearest of those it does not, and how far it comes out.

A pocket goes in by its mouth, comes out opposite where it is meant to run through, and where
it is a slot, housing or lap also runs out at the sides by which it runs out in the drawing.
By any other face it crosses it comes out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import manifold3d
import numpy as np
from numpy.typing import NDArray

from assembly.facets import facets
from assembly.walls_nearest import Nearest, Sheet, from_sheet, nearest, sheet
from assembly.walls_pockets import Pocket, Way, sunk
from model.solids import Solid

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

COPLANAR = 1e-4
"""Corners this near a plane, mm, lie in it."""
CROSSED_LEAST = 1e-2
"""A face of which a pocket takes less than this, mm², is not crossed by it: rounding."""
MOUTH = 0.45
"""A pocket goes in by a face that leans no more than about 63 degrees from square to its way; a shoulder leans up to
60."""
MEANT = 0.5
"""An open pocket may run out by faces within 60 degrees of one by which it runs out in the drawing."""
BACKS = -0.5
"""A face makes a wall with a side of a pocket on which it turns its back within 60 degrees."""
SMOOTH = float(np.cos(np.radians(15.0)))
"""Faces within 15 degrees of one that a pocket crosses go on with it, as the chords of a curve do."""
BELOW = 0.7
"""A face within about 45 degrees of square to the pocket's way lies under its bottom."""
SAME_SIDE = 0.7
"""Faces within about 45 degrees of each other are on one side of a pocket."""
TRIMS_MOST = 200
"""So many faces, largest first, by which a pocket goes in or may run out bound it where it comes out by others."""
ASKEW = np.array([0.5377, 0.6211, 0.4633, 0.3347])
"""A way askew to all that is square, along which planes (normal and offset) are put in order to find like ones."""
BATCH = 1_000_000
"""Triangles against faces looked at in one go: bounds the memory, whatever the shapes."""
TOLD = 25.0
"""For wood thicker than this, mm, nobody asks what there was before."""
OUT_LEAST = 0.02
"""A pocket that comes out by less, mm, leaves a wall of nothing."""


@dataclass(frozen=True, eq=False)
class Least:
    """The least wood between a pocket and faces of its body, mm; the middle (3,) of it and the unit way (3,) out.

    `before`: what there was on that side before the cut that made the faces, mm, None where there was none.
    """

    left: float
    at: Floats
    way: Floats
    before: float | None = None


@dataclass(frozen=True, eq=False)
class Out:
    """A pocket comes out of its body `by` mm at `at` (3,), through a face that looks along `way` (3,)."""

    by: float
    at: Floats
    way: Floats


@dataclass(frozen=True, eq=False)
class Around:
    """What is around one pocket: the least wood beside it and under it, and where it comes out."""

    side: Least | None
    floor: Least | None
    out: Out | None


@dataclass(frozen=True, eq=False)
class _Cut:
    """A pocket as it lies in its body: its own sides, normals out of the wood; which faces of the body it crosses."""

    sides: Sheet
    crossed: Bools


@lru_cache(maxsize=8192)
def around(body: Solid, was: Solid | None, pocket: Pocket, meant: tuple[Way, ...]) -> Around:
    """Return what a body leaves around a pocket; with `was`, to the faces only that the body had not had before.

    `meant`: where the faces look by which an open pocket may run out at its sides.
    """
    cut, flat = _cut(body, pocket), facets(body)
    new = np.ones(len(flat), dtype=bool) if was is None else ~_kept(body, was)
    if not len(cut.sides) or not new.any():
        return Around(None, None, None)
    out = _comes_out(body, pocket, cut.crossed, new & cut.crossed & ~_meant(flat.normals, pocket, meant), meant)
    measured = new & ~_going_on(flat.normals, cut.crossed)
    under = flat.normals @ np.array(pocket.into) >= BELOW
    side, floor = (_least(cut.sides, body, measured & rows) for rows in (~under, under))
    return Around(_with_before(side, cut.sides, was), _with_before(floor, cut.sides, was), out)


@lru_cache(maxsize=8192)
def openings(body: Solid, pocket: Pocket) -> tuple[Way, ...]:
    """Return where the faces look by which an open pocket runs out of a body; of a mortise none are meant."""
    if not pocket.open:
        return ()
    normals = facets(body).normals[_cut(body, pocket).crossed]
    return tuple((x, y, z) for x, y, z in np.unique(np.round(normals, 1) + 0.0, axis=0).tolist())


@lru_cache(maxsize=8192)
def _cut(body: Solid, pocket: Pocket) -> _Cut:
    """Return a pocket as it lies in its body.

    A side of it flush with a face leaves no wood there, unless it may run out: then it does.
    """
    taken, flat = sheet(*sunk(body, pocket.solid).mesh), facets(body)
    on_body = _lying_on(taken, body)
    if not pocket.open:
        off = np.abs(pocket.solid.mesh[0] @ flat.normals.T - flat.offsets)
        flush = ((off <= COPLANAR).sum(axis=0) >= 3) & (flat.normals @ np.array(pocket.into) > -MOUTH)
        on_body &= ~flush
    area = taken.areas[:, None] * on_body
    return _Cut(taken.only(~np.any(on_body, axis=1)).turned_over(), area.sum(axis=0) > CROSSED_LEAST)


def _lying_on(of: Sheet, solid: Solid) -> Bools:
    """Return which triangles (N,) lie on which faces (F,) of a solid and look the same way (N, F)."""
    flat = facets(solid)
    lying = np.zeros((len(of), len(flat)), dtype=bool)
    if len(of):
        low, high = of.corners.min(axis=(0, 1)) - COPLANAR, of.corners.max(axis=(0, 1)) + COPLANAR
        near = np.flatnonzero(np.all((flat.low <= high) & (flat.high >= low), axis=1))
        size = max(1, BATCH // max(1, len(near)))
        for start in range(0, len(of), size):
            rows = slice(start, start + size)
            off = np.abs(of.corners[rows] @ flat.normals[near].T - flat.offsets[near]).max(axis=1, initial=0.0)
            lying[rows, near] = (off <= COPLANAR) & (of.normals[rows] @ flat.normals[near].T > 0.9)
    return lying


def _kept(body: Solid, was: Solid) -> Bools:
    """Return which faces (F,) of a body lie in a plane of one that it had before."""
    now, then = (np.column_stack([f.normals, f.offsets]) for f in (facets(body), facets(was)))
    then = then[np.argsort(then @ ASKEW, kind="stable")]
    first, last = (np.searchsorted(then @ ASKEW, now @ ASKEW + side * 2 * COPLANAR) for side in (-1.0, 1.0))
    count = last - first
    row = np.repeat(np.arange(len(now)), count)
    match = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count) + first[row]
    same = np.abs(now[row] - then[match]).max(axis=1, initial=0.0) <= COPLANAR
    kept = np.zeros(len(now), dtype=bool)
    kept[row[same]] = True
    return kept


def _meant(normals: Floats, pocket: Pocket, meant: tuple[Way, ...]) -> Bools:
    """Return by which faces (F,) a pocket may go in or run out."""
    along = normals @ np.array(pocket.into)
    may: Bools = (along <= -MOUTH) | ((along >= MOUTH) & pocket.through)
    if meant:
        may = may | np.any(normals @ np.array(meant).T >= MEANT, axis=1)
    return may


def _going_on(normals: Floats, crossed: Bools) -> Bools:
    """Return which faces (F,) the pocket crosses, or go on with one it crosses."""
    if not crossed.any():
        return crossed
    on: Bools = np.any(normals @ np.unique(np.round(normals[crossed], 2), axis=0).T > SMOOTH, axis=1)
    return on


def _least(sides: Sheet, body: Solid, faces: Bools) -> Least | None:
    if not faces.any():
        return None
    skin = _skin(body)
    found = nearest(sides, skin.only(faces[facets(body).facet_of[skin.rows]]), opposed=BACKS)
    return None if found is None else least(found, sides)


def _with_before(found: Least | None, sides: Sheet, was: Solid | None) -> Least | None:
    """Return the least wood with what there was to faces of an earlier body that look the same way."""
    if found is None or was is None or found.left > TOLD:
        return found
    then = _least(sides, was, facets(was).normals @ found.way >= SAME_SIDE)
    return found if then is None else replace(found, before=then.left)


def least(found: Nearest, sides: Sheet) -> Least:
    """Return a nearest distance as wood left, from the side of a pocket outward."""
    way = found.on_b - found.on_a
    way = way / found.distance if found.distance > 1e-6 else -sides.normals[found.row_a]
    return Least(found.distance, (found.on_a + found.on_b) / 2.0, way)


@lru_cache(maxsize=4096)
def _skin(body: Solid) -> Sheet:
    return sheet(*body.mesh)


# -- coming out -----------------------------------------------------------------------------------


def _comes_out(body: Solid, pocket: Pocket, crossed: Bools, by: Bools, meant: tuple[Way, ...]) -> Out | None:
    """Return how far a pocket comes out by some of the faces it crosses, None where by none of them."""
    if not by.any():
        return None
    flat, skin = facets(body), _skin(body)
    # Trimmed a little under the faces: cut off in them, films of no thickness stay behind.
    trimmed = pocket.solid.manifold
    trims = np.flatnonzero(crossed & _meant(flat.normals, pocket, meant))
    for f in trims[np.argsort(-flat.areas[trims], kind="stable")][:TRIMS_MOST].tolist():
        trimmed = trimmed.trim_by_plane(tuple(-flat.normals[f]), COPLANAR - float(flat.offsets[f]))
    faces = skin.only(by[flat.facet_of[skin.rows]])
    outs = [out for piece in (trimmed - body.manifold).decompose() if (out := _of_piece(piece, faces, pocket.solid))]
    most = max(outs, key=lambda out: out.by, default=None)
    return most if most is not None and most.by > OUT_LEAST else None


def _of_piece(piece: manifold3d.Manifold, faces: Sheet, pocket: Solid) -> Out | None:
    """Return the farthest point of a piece of a pocket outside its body from the faces it comes out by.

    Tried are its corners, and the points of the pocket's sides straight over the corners of the faces.
    """
    corners = np.array(piece.to_mesh64().vert_properties, dtype=np.float64)[:, :3]
    distance, rows = from_sheet(corners, faces)
    low = distance <= COPLANAR
    if not low.any():
        return None
    over = _over(corners[low], faces.normals[rows[low]], pocket)
    higher, rows_over = from_sheet(over, faces)
    at, distance, rows = np.vstack([corners, over]), np.append(distance, higher), np.append(rows, rows_over)
    k = int(np.argmax(distance))
    return Out(float(distance[k]), at[k], faces.normals[rows[k]])


def _over(at: Floats, normals: Floats, pocket: Solid) -> Floats:
    """Return for points (N, 3) in a pocket the points straight over them on the side that looks most as they do."""
    sides = facets(pocket)
    ways = sides.normals[np.argmax(normals @ sides.normals.T, axis=1)]
    slope = ways @ sides.normals.T
    room = np.maximum(sides.offsets - at @ sides.normals.T, 0.0)
    reach = np.where(slope > 1e-9, room / np.maximum(slope, 1e-9), np.inf).min(axis=1)
    return np.asarray(at + ways * reach[:, None])
