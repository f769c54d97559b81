"""Flat faces, the hair off a solid, the sweep: against hand values and laws of geometry."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly import broad
from assembly.broad import near_pairs
from assembly.facets import facets
from assembly.shrink import DELTA, shrunk
from model.frames import MIRROR_X, Frame, move, turn
from model.solids import Solid, arc_points, arc_steps, box, hull, polyhedron, prism
from tests.strategies import boxes, rigid_frames

BOARD = box((0, 0, 0), (100, 40, 20))
TENONED = BOARD.joined(box((98, 10, 5), (140, 30, 15)))
MORTISED = BOARD.cut(box((10, 10, 5), (40, 20, 40)), box((50, -1, 4), (60, 50, 9)))
DOWEL = prism(arc_points(12.0, 0.0, 2 * np.pi)[:-1], 0.0, 60.0)
BAND = prism(np.vstack([arc_points(1500.0, 0.0, 0.2), arc_points(1420.0, 0.2, 0.0)]), -19.0, 19.0)
SHAPES = {"board": BOARD, "tenoned": TENONED, "mortised": MORTISED, "dowel": DOWEL, "band": BAND}


def cut_finer(solid: Solid) -> Solid:
    """The same solid with every triangle in nine."""
    mesh = solid.manifold.refine(3).to_mesh64()
    return polyhedron(np.asarray(mesh.vert_properties)[:, :3], mesh.tri_verts)


def rows(solid: Solid) -> list[tuple[float, ...]]:
    """Normal, offset and area of every face, in an order of their own."""
    flat = facets(solid)
    table = np.column_stack([flat.normals, flat.offsets, flat.areas])
    return sorted(map(tuple, np.round(table, 5) + 0.0))


def test_a_board_has_six_faces() -> None:
    assert rows(BOARD) == sorted([
        (1.0, 0.0, 0.0, 100.0, 800.0), (-1.0, 0.0, 0.0, 0.0, 800.0), (0.0, 1.0, 0.0, 40.0, 2000.0),
        (0.0, -1.0, 0.0, 0.0, 2000.0), (0.0, 0.0, 1.0, 20.0, 4000.0), (0.0, 0.0, -1.0, 0.0, 4000.0)])


def test_a_shoulder_is_one_face_around_its_tenon() -> None:
    flat = facets(TENONED)
    assert len(flat) == 11
    shoulder = [a for n, o, a in zip(flat.normals, flat.offsets, flat.areas, strict=True)
                if n[0] > 0.9 and abs(o - 100) < 1e-9]
    assert shoulder == [pytest.approx(40 * 20 - 20 * 10, rel=1e-12)]


@pytest.mark.parametrize("name", SHAPES)
def test_faces_do_not_depend_on_the_triangles(name: str) -> None:
    assert rows(cut_finer(SHAPES[name])) == rows(SHAPES[name])


def test_faces_survive_single_precision() -> None:
    """A mesh file keeps seven digits: 0.06 micrometres in a metre, 0.1 and more after a turn."""
    for name in ("board", "tenoned", "mortised"):
        turned = cut_finer(SHAPES[name]).moved(move(600, -300, 200) @ turn((1, 2, 3), 0.7))
        corners = turned.mesh[0].astype(np.float32).astype(np.float64)
        kept = facets(polyhedron(corners, turned.mesh[1]))
        assert np.sort(kept.areas) == pytest.approx(np.sort(facets(SHAPES[name]).areas), rel=1e-4)


@pytest.mark.parametrize(("solid", "count"), [
    (DOWEL, arc_steps(12.0, 2 * np.pi) + 2),
    (BAND, arc_steps(1500.0, 0.2) + arc_steps(1420.0, 0.2) + 4),
])
def test_chords_of_a_curve_stay_apart(solid: Solid, count: int) -> None:
    assert len(facets(solid)) == count


@pytest.mark.parametrize("name", SHAPES)
def test_faces_enclose_the_volume(name: str) -> None:
    """Gauss's theorem: a third of the sum of area times distance from the origin."""
    flat = facets(SHAPES[name])
    assert float(flat.areas @ flat.offsets) / 3.0 == pytest.approx(SHAPES[name].volume, rel=1e-9)
    assert np.linalg.norm(flat.areas @ flat.normals) < 1e-6 * flat.areas.sum()


@pytest.mark.parametrize("name", SHAPES)
def test_a_section_is_its_face_laid_flat(name: str) -> None:
    solid = SHAPES[name].moved(turn((1, 2, 3), 0.7))
    flat = facets(solid)
    for f in range(len(flat)):
        u, v = flat.basis(f)
        assert np.cross(u, v) == pytest.approx(flat.normals[f], abs=1e-12)
        assert flat.section(f).area() == pytest.approx(flat.areas[f], rel=1e-6)
        corners = np.vstack(flat.section(f).to_polygons()) @ flat.basis(f) + flat.normals[f] * flat.offsets[f]
        assert corners.min(axis=0) == pytest.approx(flat.low[f], abs=1e-6)
        assert corners.max(axis=0) == pytest.approx(flat.high[f], abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(rigid_frames(), st.sampled_from(sorted(SHAPES)))
def test_faces_keep_their_areas_when_the_solid_is_turned_or_mirrored(frame: Frame, name: str) -> None:
    areas = np.sort(facets(SHAPES[name]).areas)
    for moved in (SHAPES[name].moved(frame), SHAPES[name].moved(MIRROR_X)):
        assert np.sort(facets(moved).areas) == pytest.approx(areas, rel=1e-6)
        assert moved.mesh[1].shape[0] == facets(moved).facet_of.shape[0]


# -- the hair -------------------------------------------------------------------------------------


@settings(max_examples=25, deadline=None)
@given(boxes(), rigid_frames())
def test_a_box_loses_a_hair_on_every_side(solid: Solid, frame: Frame) -> None:
    small = shrunk(solid.moved(frame))
    assert small is not None
    assert small.volume == pytest.approx(float(np.prod(solid.bounds[1] - 2 * DELTA)), rel=1e-7)


def test_a_tenoned_board_loses_a_hair_on_every_side() -> None:
    small = shrunk(TENONED)
    assert small is not None
    d = 2 * DELTA
    body, tenon = (100 - d) * (40 - d) * (20 - d), 40 * (20 - d) * (10 - d)
    assert small.volume == pytest.approx(body + tenon, rel=1e-9)


@pytest.mark.parametrize("name", SHAPES)
def test_the_hair_comes_off_inside_and_everywhere(name: str) -> None:
    solid, small = SHAPES[name], shrunk(SHAPES[name])
    assert small is not None
    assert small.cut(solid).manifold.is_empty() or small.cut(solid).volume < 1e-6
    lost = DELTA * float(facets(solid).areas.sum())
    assert solid.volume - small.volume == pytest.approx(lost, rel=0.02)
    finer = shrunk(cut_finer(solid))
    assert finer is not None
    assert finer.volume == pytest.approx(small.volume, rel=1e-9)


def test_a_hair_comes_off_a_point_where_many_faces_meet() -> None:
    spire = hull([*(np.append(p, 0.0) for p in arc_points(50.0, 0.0, 2 * np.pi)[:-1:9]), (7.0, 3.0, 80.0)])
    small = shrunk(spire)
    assert small is not None
    assert small.cut(spire).manifold.is_empty() or small.cut(spire).volume < 1e-6
    assert spire.volume - small.volume == pytest.approx(DELTA * float(facets(spire).areas.sum()), rel=0.02)


@pytest.mark.parametrize(("wall", "told"), [(0.01, False), (0.03, False), (0.039, False), (0.05, True), (1.0, True)])
def test_a_wall_thinner_than_two_hairs_is_not_guessed_at(wall: float, told: bool) -> None:
    walled = BOARD.cut(box((10, 10, 5), (40, 20, 40)), box((10, 20 + wall, 5), (40, 30, 40)))
    hollow = BOARD.cut(box((wall, 5, 5), (95, 35, 15)))
    for solid in (walled, hollow):
        assert (shrunk(solid) is not None) is told


def test_a_feather_edge_shrinks_without_turning_over() -> None:
    wedge = hull([(x, y, z) for x, z in ((0, 0), (100, 0), (0, 3)) for y in (0, 40)])
    small = shrunk(wedge)
    assert small is not None
    assert small.cut(wedge).manifold.is_empty() or small.cut(wedge).volume < 1e-6


def test_corners_on_the_edge_of_another_face_move_with_it() -> None:
    """Two boxes flush on three sides leave corners in the middle of straight edges."""
    stepped = box((0, 0, 0), (50, 40, 20)).joined(box((49, 0, 0), (80, 40, 20)), box((20, 0, 19), (30, 40, 45)))
    small = shrunk(stepped)
    assert small is not None
    d = 2 * DELTA
    assert small.volume == pytest.approx((80 - d) * (40 - d) * (20 - d) + (10 - d) * (40 - d) * 25, rel=1e-9)


# -- the sweep ------------------------------------------------------------------------------------


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 60), st.integers(0, 10_000), st.sampled_from([-0.02, 0.0, 0.5]), st.sampled_from([7, 1_000_000]),
       st.sampled_from([0.0, 200.0]))
def test_the_sweep_finds_what_trying_every_pair_finds(count: int, seed: int, slack: float, batch: int,
                                                      crowd: float) -> None:
    rng = np.random.default_rng(seed)
    low = np.round(rng.uniform(0, 20, (count, 3)))
    high = low + np.round(rng.uniform(1, 6, (count, 3)))
    every = [[i, j] for i in range(count) for j in range(i + 1, count)
             if np.all(low[i] <= high[j] + slack) and np.all(low[j] <= high[i] + slack)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(broad, "BATCH", batch)
        patch.setattr(broad, "CROWD", crowd)
        assert near_pairs(low, high, slack).tolist() == every


def test_the_sweep_chooses_the_axis_that_parts_the_boxes() -> None:
    """Three thousand slats in a stack share their x and y: only z tells them apart."""
    low = np.column_stack([np.zeros((3000, 2)), np.arange(3000) * 20.0])
    pairs = near_pairs(low, low + np.array([900.0, 60.0, 20.0]), 0.05)
    assert pairs.tolist() == [[k, k + 1] for k in range(2999)]
