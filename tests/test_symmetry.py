"""Symmetry: what carries one solid onto another does not depend on where it lies or how its faces are cut up."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from assembly.symmetry import carries, chiral, corners, maps, misfit, turns
from model.frames import MIRROR_X, Frame, Z, inverse, move, points, turn
from model.shapes.curved_band import CURVED_BAND
from model.solids import Solid, arc_points, box, hull, polyhedron, prism
from tests.strategies import boxes, rigid_frames
from tests.zoo import SOUND, STOCK, gateway_small

MIRROR_Z = np.diag([1.0, 1.0, -1.0, 1.0])


def rotated(solid: Solid, angle: float) -> Solid:
    return solid.moved(turn(Z, angle))


def notched() -> Solid:
    """Return a box with one notch in a corner and one in an edge: of one hand, and without a turn."""
    return box((0, 0, 0), (120, 60, 40)).cut(box((-1, -1, -1), (30, 20, 10)), box((70, 50, 30), (90, 61, 41)))


def tenoned(along: float = 40.0, side: float = 5.0) -> Solid:
    """Return a bar with a tenon off the middle and a mortise off the middle."""
    bar = box((0, -20, -15), (300, 20, 15))
    return bar.joined(box((298, -8 + side, -6), (330, 8 + side, 4))).cut(box((along, -10, 0), (along + 50, 4, 16)))


def same(one: Frame, other: Frame) -> bool:
    return bool(np.allclose(one, other, atol=1e-6))


@st.composite
def cut_bars(draw: st.DrawFn) -> Solid:
    """A box with one to four blind pockets in two of its sides."""
    length, width, thickness = 200.0, draw(st.sampled_from([40.0, 60.0])), 40.0
    pockets = []
    for _ in range(draw(st.integers(1, 4))):
        x, depth = draw(st.integers(1, 16)) * 10.0, draw(st.sampled_from([5.0, 11.0]))
        y = draw(st.sampled_from([-10.0, 0.0, 10.0]))
        at = [(x, y - 4.0, thickness - depth), (x + 20.0, y + 4.0, thickness + 1.0)]
        if draw(st.booleans()):
            at = [(x, width / 2.0 - depth, 15.0), (x + 20.0, width / 2.0 + 1.0, 25.0)]
        pockets.append(box(*at))
    return box((0, -width / 2, 0), (length, width / 2, thickness)).cut(*pockets)


def cut_up(solid: Solid) -> Solid:
    """Return the same shape with every triangle cut into four: corners in the middle of every edge."""
    vertices, triangles = solid.mesh
    at, fine = list(vertices), []
    known: dict[tuple[int, int], int] = {}

    def middle(a: int, b: int) -> int:
        key = (min(a, b), max(a, b))
        if key not in known:
            known[key] = len(at)
            at.append((vertices[a] + vertices[b]) / 2.0)
        return known[key]

    for a, b, c in triangles.tolist():
        ab, bc, ca = middle(a, b), middle(b, c), middle(c, a)
        fine += [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
    return polyhedron(np.array(at), fine)


# -- corners --------------------------------------------------------------------------------------


@given(cut_bars())
@settings(max_examples=20, deadline=None)
def test_corners_do_not_depend_on_triangles(solid: Solid) -> None:
    fine = cut_up(solid)
    assert len(fine.mesh[0]) > len(solid.mesh[0])
    coarse, found = corners(solid), corners(fine)
    assert len(coarse) == len(found)
    assert all(np.linalg.norm(coarse - c, axis=1).min() < 1e-6 for c in found)


def test_corners_of_a_box_with_a_blind_pocket() -> None:
    """Eight of the box, four at the mouth of the pocket and four at its bottom."""
    assert len(corners(box((0, 0, 0), (100, 50, 40)).cut(box((20, 10, 30), (60, 30, 41))))) == 16


def test_chords_of_a_curve_end_in_corners() -> None:
    arc = arc_points(500.0, 0.0, 1.0)
    outline = np.vstack([arc, 0.9 * arc[::-1]])
    assert len(corners(prism(outline, 0.0, 38.0))) == 2 * len(outline)


def test_corners_cannot_be_written_to() -> None:
    with pytest.raises(ValueError):
        corners(notched())[0, 0] = 1.0


# -- maps -----------------------------------------------------------------------------------------


@given(cut_bars(), rigid_frames())
@settings(max_examples=40, deadline=None)
def test_the_motion_that_moved_a_solid_is_among_its_maps(solid: Solid, frame: Frame) -> None:
    found = maps(solid, solid.moved(frame))
    assert any(np.abs(points(f, corners(solid)) - points(frame, corners(solid))).max() < 1e-4 for f in found)
    assert len(found) == len(turns(solid))
    assert len(maps(solid, solid.moved(frame), mirrored=True)) == len(maps(solid, solid, mirrored=True))


@given(cut_bars())
@settings(max_examples=30, deadline=None)
def test_maps_do_not_depend_on_triangles(solid: Solid) -> None:
    fine = cut_up(solid)
    assert len(maps(solid, fine)) == len(turns(solid)) == len(turns(fine))
    assert chiral(solid) == chiral(fine)


@given(st.one_of(cut_bars(), boxes(20.0, 200.0)))
@settings(max_examples=40, deadline=None)
def test_turns_make_a_group(solid: Solid) -> None:
    """The identity comes first, two turns after one another are a turn, and every turn can be taken back."""
    found = turns(solid)
    assert same(found[0], np.eye(4))
    for one in found:
        assert any(same(inverse(one), f) for f in found)
        for other in found:
            assert any(np.allclose(one @ other, f, atol=1e-4) for f in found)
    for k, one in enumerate(found):
        assert not any(np.allclose(one, f, atol=1e-3) for f in found[:k]), "each only once"


@given(cut_bars(), rigid_frames())
@settings(max_examples=40, deadline=None)
def test_a_mirrored_chiral_solid_is_reached_only_by_improper_maps(solid: Solid, frame: Frame) -> None:
    assume(chiral(solid))
    other = solid.moved(MIRROR_X).moved(frame)
    assert not maps(solid, other)
    found = maps(solid, other, mirrored=True)
    assert found and all(np.linalg.det(f[:3, :3]) == pytest.approx(-1.0) for f in found)


@given(cut_bars(), rigid_frames())
@settings(max_examples=30, deadline=None)
def test_a_solid_of_no_hand_is_its_own_mirror_image(solid: Solid, frame: Frame) -> None:
    """A bar without its far half is mended by its own mirror image: what comes out has no hand."""
    half = solid.split_at((100.0, 0.0, 0.0), (-1.0, 0.0, 0.0))
    whole = half.joined(half.moved(move(200.0) @ MIRROR_X))
    assert not chiral(whole)
    assert maps(whole, whole.moved(MIRROR_Z).moved(frame))


@given(cut_bars(), cut_bars())
@settings(max_examples=40, deadline=None)
def test_every_map_carries_every_corner_and_none_is_found_for_other_shapes(one: Solid, other: Solid) -> None:
    found = maps(one, other)
    assert all(carries(f, one, other) and misfit(f, one, other) <= 0.02 for f in found)
    assert bool(found) == bool(maps(other, one))
    if found:
        assert one.volume == pytest.approx(other.volume, rel=1e-3)


def test_frames_carry_points_of_the_first_into_the_second() -> None:
    frame = move(10, -20, 30) @ turn((1, 2, 3), 0.7)
    (found,) = maps(tenoned(), tenoned().moved(frame))
    assert same(found, frame)


def test_maps_cannot_be_written_to() -> None:
    with pytest.raises(ValueError):
        turns(notched())[0][0, 0] = 2.0


def test_nothing_is_carried_onto_nothing() -> None:
    empty = box((0, 0, 0), (1, 1, 1)).cut(box((-1, -1, -1), (2, 2, 2)))
    assert turns(empty) == maps(empty, notched()) == maps(notched(), empty, mirrored=True) == ()
    assert len(corners(empty)) == 0


# -- the tolerance --------------------------------------------------------------------------------


@pytest.mark.parametrize(("off", "alike"), [(0.0, True), (0.015, True), (0.05, False), (1.0, False)])
def test_a_mortise_off_by_more_than_the_tolerance_is_another_shape(off: float, alike: bool) -> None:
    assert bool(maps(tenoned(), tenoned(along=40.0 + off))) == alike


@pytest.mark.parametrize("off", [0.1, 0.5])
def test_a_wider_tolerance_can_be_asked_for(off: float) -> None:
    assert not maps(tenoned(), tenoned(along=40.0 + off))
    (found,) = maps(tenoned(), tenoned(along=40.0 + off), tolerance=2.0 * off)
    assert np.abs(found - np.eye(4)).max() < 2.0 * off


def test_almost_square_is_not_square() -> None:
    assert len(turns(box((0, 0, 0), (100, 50, 50.01)))) == 8
    assert len(turns(box((0, 0, 0), (100, 50, 50.2)))) == 4


# -- faces ----------------------------------------------------------------------------------------


def test_the_same_corners_with_other_faces_are_another_shape() -> None:
    """A square antiprism of low height over its hull, and a dented one: all corners in common, two faces not."""
    ring = [(math.cos(a) * 80.0, math.sin(a) * 80.0) for a in 2 * np.pi * np.arange(6) / 6]
    at = [(x, y, 0.0) for x, y in ring] + [(x, y, 30.0 + 10.0 * (k % 2)) for k, (x, y) in enumerate(ring)]
    whole = hull(at)
    vertices = np.array(at)
    sides = [t for k in range(6) for j in [(k + 1) % 6] for t in ((k, j, 6 + j), (k, 6 + j, 6 + k))]
    bottom = [(0, k + 1, k) for k in range(1, 5)]
    high, low = (7, 9, 11), (6, 8, 10)
    peaks = polyhedron(vertices, [*sides, *bottom, (high[0], high[1], high[2]), (6, 7, 11), (8, 9, 7), (10, 11, 9)])
    dents = polyhedron(vertices, [*sides, *bottom, (low[0], low[1], low[2]), (6, 7, 8), (8, 9, 10), (10, 11, 6)])
    assert whole.volume == pytest.approx(peaks.volume, rel=1e-9)
    assert len(corners(peaks)) == len(corners(dents)) == 12
    assert not maps(peaks, dents) and not maps(peaks, dents, mirrored=True)
    assert misfit(np.eye(4), peaks, dents) < 1e-9


# -- many corners ---------------------------------------------------------------------------------


def test_a_faceted_drum_has_the_turns_of_its_polygon() -> None:
    angles = 2.0 * np.pi * np.arange(400) / 400
    drum = prism(300.0 * np.column_stack([np.cos(angles), np.sin(angles)]), 0.0, 60.0)
    assert len(turns(drum)) == 800


def test_one_mortise_takes_all_turns_from_a_drum() -> None:
    angles = 2.0 * np.pi * np.arange(400) / 400
    drum = prism(300.0 * np.column_stack([np.cos(angles), np.sin(angles)]), 0.0, 60.0)
    pocket = box((250.0, 20.0, 30.0), (310.0, 40.0, 61.0))
    cut = drum.cut(pocket)
    assert len(turns(cut)) == 1
    assert len(maps(cut, drum.cut(pocket.moved(turn(Z, np.pi / 2))))) == 1
    assert not maps(cut, drum.cut(pocket.moved(MIRROR_Z)))


def test_a_curved_segment_can_be_turned_over_and_no_more() -> None:
    """A band of even section is carried onto itself by one turn, about the radius through its middle."""
    band = CURVED_BAND.blank(STOCK["segment"], {"outer_radius": 900.0, "inner_radius": 820.0, "band_angle": 0.5})
    assert len(turns(band.solid)) == 2
    assert not chiral(band.solid)


def test_segments_of_an_arch_are_one_shape_wherever_they_are_drawn() -> None:
    design = gateway_small()
    arch = [p for p in design.parts if p.group and p.name.startswith("far_arch_") and p.name.count("_") == 2]
    assert len(arch) == 3
    assert all(maps(arch[0].finished, p.finished) for p in arch)


# -- a second opinion -----------------------------------------------------------------------------


def by_volume(one: Solid, other: Solid) -> tuple[int, int]:
    """Return how many of the 24 turns and 24 mirrorings of a cube lay one solid on another, centre on centre, so that
    next to nothing of either is left over: manifold3d's booleans, nothing of the search."""
    found = [0, 0]
    for order in itertools.permutations(range(3)):
        for signs in itertools.product((1.0, -1.0), repeat=3):
            frame = np.eye(4)
            frame[:3, :3] = 0.0
            frame[range(3), order] = signs
            frame[:3, 3] = other.centroid - frame[:3, :3] @ one.centroid
            laid = one.moved(frame)
            if np.abs(laid.bounds - other.bounds).max() < 0.05:
                left = (laid.manifold - other.manifold).volume() + (other.manifold - laid.manifold).volume()
                if left < 1e-3 * other.manifold.surface_area():
                    found[int(np.linalg.det(frame[:3, :3]) < 0)] += 1
    return found[0], found[1]


@pytest.mark.parametrize("name", ["frame", "grid", "fence", "gateway_small", "gateway_halves", "ring_on_posts"])
def test_all_pairs_of_shapes_of_a_design_as_booleans_see_them(name: str) -> None:
    """Parts of these designs are as long and wide as they are thick nowhere but in their sections: all their symmetries
    are a cube's."""
    design = SOUND[name]()
    shapes = list(dict.fromkeys(p.finished for p in design.parts))
    for one, other in itertools.combinations_with_replacement(shapes, 2):
        assert (len(maps(one, other)), len(maps(one, other, mirrored=True))) == by_volume(one, other)
