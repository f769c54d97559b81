"""Symmetry: the rigid motions that carry one solid onto another, or onto itself.

Solids are compared by their corners and by their faces, both freed of triangulation. A map is
guessed from two corners seen from the centre of volume, chosen so that few pairs of corners of the
other solid can be their images, then held to every corner and every face. Axes of inertia are
not used: they say nothing on square sections and regular rings.
Worked out once for every shape, and once for every two shapes.

Not told: curves cut into other chords are other shapes, even where the curve is the same; two
solids with the same corners, and in every plane the same area about the same middle, count as one;
a solid with more than about two thousand corners equally far from its centre, and none elsewhere,
is only ever carried onto one with the same content.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from assembly.facets import facets, neighbours
from model.frames import Frame, Vector, directions, inverse, points
from model.solids import Solid

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

TOLERANCE = 0.02
"""Corners and faces this near, mm, are in the same place."""
BENT = 1e-3
"""A crease that leaves the straight line by more, mm, has a corner there."""
LOOSE = 6.0
"""A map guessed from two corners and the centre may miss the other corners by this many tolerances."""
REACH = 100.0
"""How many mm a face's normal counts for among its descriptors: opposite faces are never taken for one another."""
ASKEW = 5e-3
"""Faces tilted by less, rad, can lie in one plane: less than two neighbouring chords of a curve of 1 m."""
LEVER = 0.3
"""The two corners lie at least this share of the farthest one away from the centre, and from the line of the first."""
ALIKE_MOST = 5_000_000
"""Pairs of corners looked at for one pair of shapes; rounder solids are left alone."""
SCREEN = 8
"""Corners that a guessed map is tried on before it is held to all of them."""
SAMPLE = 64
"""Corners that a product of two known maps is tried on."""


@dataclass(frozen=True, eq=False)
class _Form:
    """What is compared of one solid: N corners and F faces, mm, in the solid's own frame.

    `girths` (F,) are the lengths of the faces' outlines.
    """

    corners: Floats
    centre: Vector
    volume: float
    middles: Floats
    normals: Floats
    areas: Floats
    girths: Floats

    @cached_property
    def radii(self) -> Floats:
        """How far each corner is from the centre (N,)."""
        return np.asarray(np.linalg.norm(self.corners - self.centre, axis=1))

    @cached_property
    def ranked(self) -> Floats:
        """The radii in rising order (N,)."""
        return np.sort(self.radii)

    @cached_property
    def tree(self) -> Any:
        """The corners, to be asked for the nearest."""
        from scipy.spatial import cKDTree

        return cKDTree(self.corners)

    @cached_property
    def faces(self) -> Any:
        """The faces by middle and normal (F, 6), to be asked for the nearest."""
        from scipy.spatial import cKDTree

        return cKDTree(np.column_stack([self.middles, REACH * self.normals]))

    @cached_property
    def sample(self) -> Ints:
        """Rows of a few corners spread over the solid, the farthest first."""
        far = np.argsort(-self.radii, kind="stable")
        return far[np.linspace(0, len(far) - 1, min(SAMPLE, len(far))).astype(np.int64)]


@lru_cache(maxsize=4096)
def _form(solid: Solid) -> _Form:
    vertices, triangles = solid.mesh
    faces = facets(solid)
    pairs, ends = neighbours(triangles)
    sides = faces.facet_of[pairs]
    crease = sides[:, 0] != sides[:, 1]
    length = np.linalg.norm(vertices[ends[:, 0]] - vertices[ends[:, 1]], axis=1)
    girths = np.bincount(sides[crease].ravel(), np.repeat(length[crease], 2), len(faces)).astype(np.float64)
    at = vertices[triangles]
    weight = np.linalg.norm(np.cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0]), axis=1)
    sums = np.column_stack([np.bincount(faces.facet_of, weight * at.mean(axis=1)[:, k], len(faces)) for k in range(3)])
    middles = sums / np.maximum(np.bincount(faces.facet_of, weight, len(faces)), 1e-300)[:, None]
    return _Form(_corners(vertices, ends[crease]), solid.centroid, solid.volume, middles, faces.normals, faces.areas,
                 girths)


def _corners(vertices: Floats, creases: Ints) -> Floats:
    """Return the vertices at which creases (E, 2) end or bend: three faces meet there, or two part."""
    count = np.bincount(creases.ravel(), minlength=len(vertices))
    corner = count > 2
    both = np.vstack([creases, creases[:, ::-1]])
    both = both[count[both[:, 0]] == 2]
    both = both[np.argsort(both[:, 0], kind="stable")]
    middle, one, other = both[0::2, 0], both[0::2, 1], both[1::2, 1]
    chord = vertices[other] - vertices[one]
    off = np.cross(chord, vertices[middle] - vertices[one])
    far = np.linalg.norm(off, axis=1) / np.maximum(np.linalg.norm(chord, axis=1), 1e-12)
    corner[middle[far > BENT]] = True
    return np.ascontiguousarray(vertices[corner])


def corners(solid: Solid) -> Floats:
    """Return the true corners of a solid (N, 3), mm: the same however its faces are cut into triangles.

    A corner is where three or more faces meet, or where the crease between two bends. The chords of a
    faceted curve are faces, so their ends are corners.
    """
    found = _form(solid).corners.view()
    found.setflags(write=False)
    return found


def maps(a: Solid, b: Solid, *, mirrored: bool = False, tolerance: float = TOLERANCE) -> tuple[Frame, ...]:
    """Return every rigid 4x4 that carries a onto b to within `tolerance` mm, that which moves least first.

    Proper ones, or with `mirrored` the improper ones (those that leave a mirror image). The frames carry points of
    a's own frame into b's. Empty where there is none.
    """
    return _maps(a, b, mirrored, tolerance)


def turns(solid: Solid, *, tolerance: float = TOLERANCE) -> tuple[Frame, ...]:
    """Return the proper maps of a solid onto itself, identity first."""
    return _maps(solid, solid, False, tolerance)


def chiral(solid: Solid) -> bool:
    """Whether a solid comes in two hands: no improper map carries it onto itself."""
    return not maps(solid, solid, mirrored=True)


def carries(frame: Frame, a: Solid, b: Solid, tolerance: float = TOLERANCE) -> bool:
    """Whether a frame carries a onto b: every corner and face of either has its match to within `tolerance` mm."""
    return _carries(frame, _form(a), _form(b), tolerance)


def misfit(frame: Frame, a: Solid, b: Solid) -> float:
    """Return how far, mm, the farthest corner of either solid is from the nearest of the other, a carried to b."""
    one, other = _form(a), _form(b)
    there, _ = other.tree.query(points(frame, one.corners))
    back, _ = one.tree.query(points(inverse(frame), other.corners))
    return float(max(there.max(), back.max()))


@lru_cache(maxsize=20_000)
def _maps(a: Solid, b: Solid, mirrored: bool, tolerance: float) -> tuple[Frame, ...]:
    if a == b and not mirrored:
        return _ranked(_group(_form(a), tolerance))
    one, other = _form(a), _form(b)
    if not _could_be(one, other, tolerance):
        return ()
    settled = (_settled(guess, one, other, tolerance) for guess in _guesses(one, other, mirrored, tolerance))
    first = next((f for f in settled if f is not None), None)
    if first is None:
        return _only_content(a, b, mirrored)
    every = (turn @ first for turn in turns(b, tolerance=tolerance))
    return _ranked([frame for frame in every if _fits(frame, one, other, tolerance)])


def _only_content(a: Solid, b: Solid, mirrored: bool) -> tuple[Frame, ...]:
    return (_kept(np.eye(4)),) if a == b and not mirrored else ()


def _ranked(found: Sequence[Frame]) -> tuple[Frame, ...]:
    return tuple(_kept(f) for f in sorted(found, key=lambda f: (round(_moves(f), 6), *np.round(f, 6).ravel().tolist())))


def _moves(frame: Frame) -> float:
    return float(np.linalg.norm(frame[:3, :3] - np.eye(3)))


def _kept(frame: Frame) -> Frame:
    """Return a frame rounded to 1e-12 that nobody can change."""
    made: Frame = np.round(frame, 12) + 0.0
    made.setflags(write=False)
    return made


def _could_be(one: _Form, other: _Form, tolerance: float) -> bool:
    """Whether sizes that no motion changes agree: cheap, and enough for most shapes that differ."""
    if not len(one.corners) or not len(other.corners):
        return False
    skin = float(one.areas.sum() + other.areas.sum())
    if abs(one.volume - other.volume) > tolerance * skin:
        return False
    slack = 2.0 * tolerance
    return _covers(one.ranked, other.ranked, slack) and _covers(other.ranked, one.ranked, slack)


def _covers(one: Floats, other: Floats, slack: float) -> bool:
    """Whether every number of `one` has one of `other`, both in rising order, within a slack."""
    after = np.searchsorted(other, one)
    above = np.abs(other[np.minimum(after, len(other) - 1)] - one)
    below = np.abs(other[np.maximum(after - 1, 0)] - one)
    return bool((np.minimum(above, below) <= slack).all())


# -- holding a map to every corner and face -----------------------------------------------------


def _carries(frame: Frame, one: _Form, other: _Form, tolerance: float) -> bool:
    back = inverse(frame)
    return (_near(points(frame, one.corners), other, tolerance) and _near(points(back, other.corners), one, tolerance)
            and _faces_match(frame, one, other, tolerance) and _faces_match(back, other, one, tolerance))


def _near(at: Floats, other: _Form, tolerance: float) -> bool:
    distance, _ = other.tree.query(at, distance_upper_bound=tolerance + 1e-9)
    return bool(np.isfinite(distance).all())


def _fits(frame: Frame, one: _Form, other: _Form, tolerance: float) -> bool:
    """Whether a product of known maps still carries a sample of corners; it may be off by both of them."""
    return _near(points(frame, one.corners[one.sample]), other, 2.0 * tolerance)


def _faces_match(frame: Frame, one: _Form, other: _Form, tolerance: float) -> bool:
    """Whether each face of `one` that is more than a sliver has a face of `other` in its place, alike in area.

    Where not, the two may be cut into faces otherwise: then the whole plane must hold the same.
    """
    firm = np.flatnonzero(one.areas > 2.0 * tolerance * one.girths)
    middles, normals = points(frame, one.middles[firm]), directions(frame, one.normals[firm])
    areas, girths = one.areas[firm], one.girths[firm]
    _, near = other.faces.query(np.column_stack([middles, REACH * normals]))
    alike = (np.abs(other.areas[near] - areas) <= tolerance * girths) \
        & (np.linalg.norm(other.middles[near] - middles, axis=1) <= tolerance * (1.0 + girths**2 / areas)) \
        & (np.linalg.norm(other.normals[near] - normals, axis=1) <= 1e-6 + 2.0 * tolerance * girths / areas)
    odd = np.flatnonzero(~alike)
    if 2 * len(odd) > len(firm) + 4:
        return False
    own = points(frame, one.middles), directions(frame, one.normals)
    return all(_plane_match(middles[k], normals[k], own, one, other, tolerance) for k in odd)


def _plane_match(middle: Vector, normal: Vector, own: tuple[Floats, Floats], one: _Form, other: _Form,
                 tolerance: float) -> bool:
    """Whether two solids have the same area about the same middle in one plane."""
    mine = _in_plane(middle, normal, *own, tolerance)
    theirs = _in_plane(middle, normal, other.middles, other.normals, tolerance)
    area, there = float(one.areas[mine].sum()), float(other.areas[theirs].sum())
    girth = float(one.girths[mine].sum())
    if abs(area - there) > tolerance * girth:
        return False
    centre = one.areas[mine] @ own[0][mine] / area
    return float(np.linalg.norm(other.areas[theirs] @ other.middles[theirs] / there - centre)) <= \
        tolerance * (1.0 + girth**2 / area)


def _in_plane(middle: Vector, normal: Vector, middles: Floats, normals: Floats,
              tolerance: float) -> NDArray[np.bool_]:
    level = np.abs((middles - middle) @ normal) <= tolerance
    found: NDArray[np.bool_] = level & (np.linalg.norm(normals - normal, axis=1) <= ASKEW)
    return found


# -- guessing maps ------------------------------------------------------------------------------


def _guesses(one: _Form, other: _Form, mirrored: bool, tolerance: float) -> Iterator[Frame]:
    """Yield frames that carry the centre and two telling corners of `one` to where `other` has the like."""
    slack = 2.5 * tolerance
    p, q = _telling(one, slack)
    firsts, seconds = _images(one, other, p, q, slack)
    rotations = _rotations(one.corners[[p, q]] - one.centre, other.corners[firsts] - other.centre,
                           other.corners[seconds] - other.centre, mirrored)
    loose = LOOSE * tolerance
    for row in one.sample[np.linspace(0, len(one.sample) - 1, min(SCREEN, len(one.sample))).astype(np.int64)]:
        if not len(rotations):
            return
        at = rotations @ (one.corners[row] - one.centre) + other.centre
        distance, _ = other.tree.query(at, distance_upper_bound=loose)
        rotations = rotations[np.isfinite(distance)]
    for rotation in rotations:
        frame = np.eye(4)
        frame[:3, :3], frame[:3, 3] = rotation, other.centre - rotation @ one.centre
        yield frame


def _telling(form: _Form, slack: float) -> tuple[int, int]:
    """Return two corners, well apart from the centre and from each other, that few other pairs are like."""
    radii = form.radii
    common = np.searchsorted(form.ranked, radii + slack, "right") - np.searchsorted(form.ranked, radii - slack, "left")
    far = np.flatnonzero(radii >= LEVER * radii.max())
    p = int(far[np.lexsort((-radii[far], common[far]))[0]])
    spokes = form.corners - form.centre
    lever = np.linalg.norm(np.cross(spokes, spokes[p] / radii[p]), axis=1)
    away = np.linalg.norm(form.corners - form.corners[p], axis=1)
    ticks = np.round(np.column_stack([radii, away]) / (2.0 * slack)).astype(np.int64)
    _, kind, count = np.unique(ticks, axis=0, return_inverse=True, return_counts=True)
    wide = np.flatnonzero(lever >= LEVER * lever.max())
    cost = count[kind.ravel()[wide]] * common[p] + common[wide] / 1e3
    return p, int(wide[np.lexsort((-lever[wide], cost))[0]])


def _images(one: _Form, other: _Form, p: int, q: int, slack: float) -> tuple[Ints, Ints]:
    """Return the pairs of corners of `other` as far from its centre and from each other as p and q of `one`."""
    first = np.flatnonzero(np.abs(other.radii - one.radii[p]) <= slack)
    second = np.flatnonzero(np.abs(other.radii - one.radii[q]) <= slack)
    none = np.zeros(0, dtype=np.int64)
    if not len(first) or not len(second) or len(first) * len(second) > ALIKE_MOST:
        return none, none
    apart = float(np.linalg.norm(one.corners[p] - one.corners[q]))
    found = [none], [none]
    for rows in np.array_split(first, max(1, len(first) * len(second) // 500_000)):
        away = np.linalg.norm(other.corners[rows][:, None] - other.corners[second][None], axis=2)
        i, j = np.nonzero(np.abs(away - apart) <= slack)
        found[0].append(rows[i])
        found[1].append(second[j])
    return np.concatenate(found[0]), np.concatenate(found[1])


def _rotations(pair: Floats, firsts: Floats, seconds: Floats, mirrored: bool) -> Floats:
    """Return the rotations (P, 3, 3) that carry two spokes onto pairs of spokes (P, 3), reflecting if mirrored."""
    home = _triads(pair[:1], pair[1:])[0]
    there = _triads(firsts, seconds)
    if mirrored:
        there[:, :, 1] *= -1.0
    return np.asarray(there @ home.T)


def _triads(firsts: Floats, seconds: Floats) -> Floats:
    along = firsts / np.maximum(np.linalg.norm(firsts, axis=1), 1e-12)[:, None]
    square = np.cross(firsts, seconds)
    square /= np.maximum(np.linalg.norm(square, axis=1), 1e-12)[:, None]
    return np.stack([along, square, np.cross(along, square)], axis=2)


def _settled(guess: Frame, one: _Form, other: _Form, tolerance: float) -> Frame | None:
    """Return the guessed frame brought home by the corners it matches; None when it does not carry one onto other."""
    distance, near = other.tree.query(points(guess, one.corners), distance_upper_bound=LOOSE * tolerance)
    if not np.isfinite(distance).all():
        return None
    frame = _nearest(guess, one.corners, other.corners[near])
    return frame if _carries(frame, one, other, tolerance) else None


def _nearest(guess: Frame, here: Floats, there: Floats) -> Frame:
    """Return the frame, of the guess's hand, that brings points nearest to their matches by least squares.

    Source: W. Kabsch, Acta Crystallographica A32 (1976) 922.
    """
    middle, target = here.mean(axis=0), there.mean(axis=0)
    u, _, vt = np.linalg.svd((here - middle).T @ (there - target))
    sign = np.sign(np.linalg.det(u @ vt) * np.linalg.det(guess[:3, :3]))
    best = (u @ np.diag([1.0, 1.0, sign]) @ vt).T
    frame = np.eye(4)
    frame[:3, :3], frame[:3, 3] = best, target - best @ middle
    return frame


# -- the turns of one solid ---------------------------------------------------------------------


def _group(form: _Form, tolerance: float) -> list[Frame]:
    """Return the proper maps of a form onto itself: each found one at once with all its products."""
    found = np.eye(4)[None]
    made: list[Frame] = []
    for guess in _guesses(form, form, False, tolerance) if len(form.corners) else ():
        if _known(guess, found, form, tolerance):
            continue
        settled = _settled(guess, form, form, tolerance)
        if settled is not None:
            made.append(settled)
            found = _closed(found, made, form, tolerance)
    return [f for f in found if _fits(f, form, form, tolerance)]


def _known(frame: Frame, found: Floats, form: _Form, tolerance: float) -> bool:
    """Whether a frame leaves no corner elsewhere than one of the frames found (G, 4, 4)."""
    apart = np.linalg.norm(found[:, :3, :3] - frame[:3, :3], axis=(1, 2)).min()
    return bool(apart * form.radii.max() <= LOOSE * tolerance)


def _closed(found: Floats, made: Sequence[Frame], form: _Form, tolerance: float) -> Floats:
    """Return the group that a group and one more map make, coset by coset.

    Source: L. Dimino's way of listing a group from its generators (1971; from memory).
    """
    base, group = found, found
    waiting = [made[-1]]
    while waiting:
        leader = waiting.pop()
        if _known(leader, group, form, tolerance):
            continue
        group = np.concatenate([group, base @ leader])
        waiting.extend(leader @ g for g in made)
    return group
