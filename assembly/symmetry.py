"""Symmetry: the rigid motions that carry one solid onto another, or onto itself.

Solids are compared by their corners and by their faces, both freed of triangulation. A map is
guessed from two corners seen from the centre of volume, chosen so that few pairs of corners of the
other solid can be their images, then held to every corner and every face. Axes of inertia are
not used: they say nothing on square sections and regular rings.
Worked out once for every shape, and once for every two shapes.

Not told: curves cut into other chords are other shapes, even where the curve is the same; two
solids with the same corners, and in every plane the same area about the same middle, count as one;
a solid with more than about five thousand corners equally far from its centre, and none elsewhere,
is only ever carried onto one with the same content.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.form import TOLERANCE, Form, carries, corners, form_of, forms_match, misfit, near
from model.frames import Frame, points
from model.solids import Solid

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

__all__ = ["TOLERANCE", "carries", "chiral", "corners", "maps", "misfit", "turns"]

LOOSE = 6.0
"""A map guessed from two corners and the centre may miss the other corners by this many tolerances."""
LEVER = 0.3
"""The two corners lie at least this share of the farthest one away from the centre, and from the line of the first."""
ALIKE_MOST = 25_000_000
"""Pairs of corners looked at for one pair of shapes; rounder solids are left alone."""
SCREEN = 8
"""Corners that a guessed map is tried on before it is held to all of them."""


def maps(a: Solid, b: Solid, *, mirrored: bool = False, tolerance: float = TOLERANCE) -> tuple[Frame, ...]:
    """Return every rigid 4x4 that carries a onto b to within `tolerance` mm, that which moves least first.

    Each is the best fit of all corners, so a cut off by a little more than the tolerance can still be carried, where
    the error spreads over the whole: never one off by twice as much.
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


@lru_cache(maxsize=20_000)
def _maps(a: Solid, b: Solid, mirrored: bool, tolerance: float) -> tuple[Frame, ...]:
    if a.empty or b.empty:
        return ()
    if a == b and not mirrored:
        return _ranked(_group(form_of(a), tolerance))
    one, other = form_of(a), form_of(b)
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


def _could_be(one: Form, other: Form, tolerance: float) -> bool:
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


def _fits(frame: Frame, one: Form, other: Form, tolerance: float) -> bool:
    """Whether a product of known maps still carries a sample of corners; it may be off by both of them."""
    return near(points(frame, one.corners[one.sample]), other, 2.0 * tolerance)


# -- guessing maps ------------------------------------------------------------------------------


def _guesses(one: Form, other: Form, mirrored: bool, tolerance: float) -> Iterator[Frame]:
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


def _telling(form: Form, slack: float) -> tuple[int, int]:
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


def _images(one: Form, other: Form, p: int, q: int, slack: float) -> tuple[Ints, Ints]:
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


def _settled(guess: Frame, one: Form, other: Form, tolerance: float) -> Frame | None:
    """Return the guessed frame brought home by the corners it matches; None when it does not carry one onto other."""
    distance, near = other.tree.query(points(guess, one.corners), distance_upper_bound=LOOSE * tolerance)
    if not np.isfinite(distance).all():
        return None
    frame = _nearest(guess, one.corners, other.corners[near])
    return frame if forms_match(frame, one, other, tolerance) else None


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


def _group(form: Form, tolerance: float) -> list[Frame]:
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


def _known(frame: Frame, found: Floats, form: Form, tolerance: float) -> bool:
    """Whether a frame leaves no corner elsewhere than one of the frames found (G, 4, 4)."""
    apart = np.linalg.norm(found[:, :3, :3] - frame[:3, :3], axis=(1, 2)).min()
    return bool(apart * form.radii.max() <= LOOSE * tolerance)


def _closed(found: Floats, made: Sequence[Frame], form: Form, tolerance: float) -> Floats:
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
