"""Solids: exact-enough closed polyhedra, interned by what made them.

Every solid is a recipe with a content key; two recipes alike are one object, so the
mesh, the volume and whatever else is worked out per shape is worked out once however
often the shape occurs. The booleans are manifold3d's, in float64.
Lengths mm, volumes mm³. Faceted curves keep their sagitta below SAGITTA.
"""

from __future__ import annotations

import atexit
import hashlib
import math
from collections.abc import Callable, Iterable, Sequence
from functools import cached_property
from typing import Any
from weakref import WeakValueDictionary

import manifold3d
import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.errors import SolidError
from model.frames import Frame, Vector, inverse, points, unit

SAGITTA = 0.005
"""Largest distance between a curve and its facets, mm (a quarter of the interference tolerance)."""

ROOT = 2.0
"""How far an added solid runs into the body it joins, mm, so that the two become one."""

OVERSHOOT = 5.0
"""How far a cutter runs past the surface it opens, mm."""

FAR = 1.0e5
"""Longer than any workpiece, mm: the reach of cutters that must clear everything."""


class Solid:
    """One closed polyhedron. Make it with the functions below, never directly."""

    def __init__(self, key: bytes, make: Callable[[], manifold3d.Manifold]) -> None:
        self.key = key
        self._make = make
        self._ways_out: dict[bytes, tuple[float, Vector] | None] = {}

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Solid) and other.key == self.key

    def __repr__(self) -> str:
        return f"Solid({self.key.hex()[:8]})"

    @cached_property
    def manifold(self) -> manifold3d.Manifold:
        """The manifold3d solid; SolidError when the recipe gives none."""
        made = self._make()
        if made.status() != manifold3d.Error.NoError:
            raise SolidError("no closed solid: some of its edges do not lie between two faces")
        return made

    @cached_property
    def mesh(self) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
        """Vertices (N, 3) in mm and triangles (M, 3), counter-clockwise seen from outside."""
        mesh = self.manifold.to_mesh64()
        vertices = np.array(mesh.vert_properties[:, :3], dtype=np.float64)
        triangles = np.array(mesh.tri_verts, dtype=np.int64)
        vertices.setflags(write=False)
        triangles.setflags(write=False)
        return vertices, triangles

    @cached_property
    def volume(self) -> float:
        """Volume, mm³."""
        return float(self.manifold.volume())

    @cached_property
    def centroid(self) -> Vector:
        """Centre of volume, mm (3,)."""
        vertices, triangles = self.mesh
        a, b, c = (vertices[triangles[:, i]] for i in range(3))
        six = np.einsum("ij,ij->i", a, np.cross(b, c))
        centre: Vector = ((a + b + c) * six[:, None]).sum(axis=0) / (4.0 * six.sum())
        return centre

    @cached_property
    def bounds(self) -> NDArray[np.float64]:
        """Lowest and highest corner, mm (2, 3)."""
        box = self.manifold.bounding_box()
        return np.array([box[:3], box[3:]], dtype=np.float64)

    def bounds_in(self, frame: Frame) -> NDArray[np.float64]:
        """Return the lowest and highest corner (2, 3) as a frame in the solid's own frame sees them, mm."""
        at = points(inverse(frame), self.mesh[0])
        return np.array([at.min(axis=0), at.max(axis=0)])

    @property
    def empty(self) -> bool:
        """Whether nothing is left."""
        return bool(self.manifold.is_empty())

    @cached_property
    def pieces(self) -> int:
        """How many separate pieces of wood it is; hollows inside a piece are not counted."""
        return sum(1 for piece in self.manifold.decompose() if piece.volume() > 0)

    def moved(self, frame: Frame) -> Solid:
        """Return the solid carried by a frame (mirroring frames are allowed)."""
        return _made("moved", (self.key, _digest(frame)),
                     lambda: self.manifold.transform(np.ascontiguousarray(frame[:3])))

    def joined(self, *others: Solid) -> Solid:
        """Return the union with the others."""
        return self._with("joined", others, manifold3d.OpType.Add)

    def cut(self, *others: Solid) -> Solid:
        """Return what is left after taking the others away."""
        return self._with("cut", others, manifold3d.OpType.Subtract)

    def kept(self, *others: Solid) -> Solid:
        """Return what lies inside all of the others too."""
        return self._with("kept", others, manifold3d.OpType.Intersect)

    def _with(self, word: str, others: Sequence[Solid], op: manifold3d.OpType) -> Solid:
        """Combine in an order of its own, since none of the three minds it: parts cut alike come out as one solid."""
        if not others:
            return self
        steady = sorted(set(others), key=lambda s: s.key)
        return _made(word, tuple(s.key for s in (self, *steady)),
                     lambda: manifold3d.Manifold.batch_boolean([s.manifold for s in (self, *steady)], op))

    def split_at(self, origin: ArrayLike, normal: ArrayLike) -> Solid:
        """Return the part on the side the normal points to, of the plane through `origin`."""
        n = unit(normal)
        offset = float(n @ np.asarray(origin, dtype=np.float64))
        return _made("split", (self.key, _digest(np.append(n, offset))),
                     lambda: self.manifold.trim_by_plane(tuple(n), offset))

    def chord(self, origin: ArrayLike, direction: ArrayLike) -> float:
        """Return how far it is, mm, from a point inside along a direction to the first way out; 0 outside.

        The point may lie on the surface, the direction then points inward.
        """
        out = self.way_out(origin, direction)
        return 0.0 if out is None else out[0]

    def way_out(self, origin: ArrayLike, direction: ArrayLike) -> tuple[float, Vector] | None:
        """Return how far the first way out lies from a point inside, mm, and the outward normal there (3,)."""
        start, way = np.asarray(origin, dtype=np.float64), np.asarray(direction, dtype=np.float64)
        asked = start.tobytes() + way.tobytes()
        if asked not in self._ways_out:
            self._ways_out[asked] = self._way_out(start, unit(way))
        return self._ways_out[asked]

    def _way_out(self, start: Vector, way: Vector) -> tuple[float, Vector] | None:
        hits = self.manifold.ray_cast(tuple(start - way * FAR), tuple(start + way * FAR))
        for hit in hits:
            normal, distance = np.asarray(hit.normal), float((np.asarray(hit.position) - start) @ way)
            if float(way @ normal) > 0 and distance > 1e-6:
                return (distance, normal) if self._inside(hits, start, way) else None
        return None

    @staticmethod
    def _inside(hits: Iterable[Any], start: Vector, way: Vector) -> bool:
        depth = 0
        for hit in hits:
            if float((np.asarray(hit.position) - start) @ way) <= 1e-6:
                depth += 1 if float(way @ np.asarray(hit.normal)) < 0 else -1
        return depth > 0


_pool: WeakValueDictionary[bytes, Solid] = WeakValueDictionary()


def _let_go() -> None:
    """Drop every manifold before the interpreter ends; manifold3d's binding complains about what outlives it."""
    for solid in list(_pool.values()):
        solid.__dict__.pop("manifold", None)


atexit.register(_let_go)


def _digest(values: ArrayLike) -> bytes:
    rounded = np.asarray(values, dtype=np.float64).round(7) + 0.0
    return hashlib.blake2b(rounded.tobytes() + repr(rounded.shape).encode(), digest_size=16).digest()


def _made(word: str, parts: tuple[bytes, ...], make: Callable[[], manifold3d.Manifold]) -> Solid:
    key = hashlib.blake2b(word.encode() + b"".join(parts), digest_size=16).digest()
    solid = _pool.get(key)
    if solid is None:
        solid = Solid(key, make)
        _pool[key] = solid
    return solid


def box(low: ArrayLike, high: ArrayLike) -> Solid:
    """Return the box between two corners, mm."""
    ends = np.array([low, high], dtype=np.float64)
    lo, size = ends[0].tolist(), (ends[1] - ends[0]).tolist()
    if not all(0 < s < math.inf for s in size):
        raise SolidError(f"a box needs a size in every direction, not {size} mm")
    return _made("box", (_digest(ends),), lambda: manifold3d.Manifold.cube(size).translate(lo))


def prism(outline: ArrayLike, low: float, high: float) -> Solid:
    """Return the solid over a simple counter-clockwise outline (N, 2) in x, y from z = low to z = high, mm."""
    flat = np.asarray(outline, dtype=np.float64)
    if high - low <= 0 or len(flat) < 3:
        raise SolidError("a prism needs an outline of three corners and a height")

    def make() -> manifold3d.Manifold:
        section = manifold3d.CrossSection([flat])
        return manifold3d.Manifold.extrude(section, high - low).translate((0.0, 0.0, low))

    return _made("prism", (_digest(flat), _digest([low, high])), make)


def hull(corners: ArrayLike) -> Solid:
    """Return the convex hull of points (N, 3), mm."""
    at = np.asarray(corners, dtype=np.float64)
    return _made("hull", (_digest(at),), lambda: manifold3d.Manifold.hull_points(np.ascontiguousarray(at)))


def loft(sections: ArrayLike) -> Solid:
    """Return the solid through sections (K, N, 3), mm: convex, alike in corners, counter-clockwise seen from the last.

    Each quadrilateral between two sections is cut in two triangles.
    """
    rings = np.asarray(sections, dtype=np.float64)
    count, corners = rings.shape[:2]
    fan = [(0, i, i + 1) for i in range(1, corners - 1)]
    last = (count - 1) * corners
    triangles = [(a, c, b) for a, b, c in fan] + [(last + a, last + b, last + c) for a, b, c in fan]
    for low in range(0, last, corners):
        for i in range(corners):
            j = (i + 1) % corners
            triangles += [(low + i, low + j, low + corners + j), (low + i, low + corners + j, low + corners + i)]
    return polyhedron(rings.reshape(-1, 3), triangles)


def silhouette(solid: Solid, frame: Frame, clearance: float, low: float, high: float) -> Solid:
    """Return the outline of a solid seen along a frame's z, widened by a clearance, swept from low to high.

    `frame` is the viewing frame in the solid's own frame; the result stands in the viewing
    frame. This is what a cutter must take out for the solid to be laid in along z.
    """

    def make() -> manifold3d.Manifold:
        inverse = np.linalg.inv(frame)[:3]
        outline = solid.manifold.transform(np.ascontiguousarray(inverse)).project()
        outline = outline.offset(1e-6, manifold3d.JoinType.Miter, 4.0).simplify(1e-5)
        if clearance:
            outline = outline.offset(clearance, manifold3d.JoinType.Miter, 4.0)
        return manifold3d.Manifold.extrude(outline, high - low).translate((0.0, 0.0, low))

    return _made("silhouette", (solid.key, _digest(frame), _digest([clearance, low, high])), make)


def arc_steps(radius: float, angle: float) -> int:
    """Return how many chords keep an arc's sagitta below SAGITTA (radius mm, angle rad)."""
    return max(1, math.ceil(angle / (2.0 * math.acos(max(0.0, 1.0 - SAGITTA / radius)))))


def arc_points(radius: float, start: float, end: float) -> NDArray[np.float64]:
    """Return points (N, 2) along an arc about the origin, ends included, within SAGITTA."""
    steps = arc_steps(radius, abs(end - start))
    angles = np.linspace(start, end, steps + 1)
    return radius * np.column_stack([np.cos(angles), np.sin(angles)])


def polyhedron(vertices: ArrayLike, triangles: ArrayLike) -> Solid:
    """Return the solid a closed, outward-facing triangle mesh bounds; SolidError when it bounds none."""
    v = np.array(vertices, dtype=np.float64, order="C")
    t = np.array(triangles, dtype=np.uint64, order="C")

    def make() -> manifold3d.Manifold:
        mesh = manifold3d.Mesh64(v, t)
        mesh.merge()
        made = manifold3d.Manifold(mesh)
        if made.status() == manifold3d.Error.NoError and made.volume() <= 0:
            raise SolidError("the faces of the mesh point inward or enclose nothing")
        return made

    return _made("polyhedron", (_digest(v), _digest(t.astype(np.float64))), make)
