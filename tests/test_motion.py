"""Motion: finite travel against hand values, closed forms and voxels."""

from __future__ import annotations

import math

import manifold3d
import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.motion import Bodies
from assembly.shrink import DELTA
from assembly.sliding import plane, shared_gaps
from model.frames import Frame, directions, identity, move, turn
from model.solids import Solid, box, hull, polyhedron, prism
from tests.strategies import rigid_frames


def bodies(*placed: tuple[Solid, Frame]) -> Bodies:
    return Bodies(tuple(f"b{i}" for i in range(len(placed))), tuple(s for s, _ in placed),
                  np.array([f for _, f in placed]))


def test_a_block_stops_at_the_wall_in_front_of_it() -> None:
    two = bodies((box((0, 0, 0), (10, 10, 10)), identity()), (box((0, 0, 0), (5, 40, 40)), move(25, -10, -10)))
    ahead = two.travel([0], [1], (1, 0, 0))
    assert ahead.mm == pytest.approx(15.0, abs=1e-9)
    assert ahead.stopped_by == ("b0", "b1")
    assert ahead.told and not ahead.free
    assert two.travel([0], [1], (-1, 0, 0)).free
    assert two.travel([0], [1], (0, 0, 1)).free


def test_blocks_in_touch_slide_along_each_other_and_not_into_each_other() -> None:
    two = bodies((box((0, 0, 0), (10, 10, 10)), identity()), (box((0, 0, 0), (10, 10, 10)), move(10, 3, 0)))
    assert two.travel([0], [1], (1, 0, 0)).mm == pytest.approx(0.0, abs=1e-9)
    for way in ((0, 1, 0), (0, -1, 0), (0, 0, 1), (-1, 0, 0), (-1, 5, 0)):
        assert two.travel([0], [1], way).free


@pytest.mark.parametrize(("lean", "free"), [(0.0, True), (0.45, True), (0.6, False)])
def test_a_block_passes_a_hole_only_when_it_stays_within_its_clearance(lean: float, free: bool) -> None:
    """0.5 mm of room each side, 30 mm to go until it is through: it may drift by 0.5 mm on the way, no more."""
    plate = box((-50, -50, 10), (50, 50, 20)).cut(box((-10.5, -10.5, 9), (10.5, 10.5, 21)))
    two = bodies((box((-10, -10, -10), (10, 10, 0)), identity()), (plate, identity()))
    assert two.travel([0], [1], (lean / 30.0, 0.0, 1.0)).free is free


def test_a_slope_stops_a_block_where_its_edge_meets_it() -> None:
    """A wedge rising 1 in 2 from x = 20: the block's leading top edge, 10 mm up, meets it at x = 40."""
    wedge = prism([(20, 0), (100, 0), (100, 40)], -5, 5).moved(turn((1, 0, 0), math.pi / 2))
    block = box((0, -5, 5), (10, 5, 10))
    two = bodies((block, identity()), (wedge, identity()))
    expected = 30.0 - 10.0
    assert two.travel([0], [1], (1, 0, 0)).mm == pytest.approx(expected, abs=3 * DELTA)


@pytest.mark.parametrize("segments", [48, 160])
def test_two_balls_meet_where_the_closed_form_says(segments: int) -> None:
    """Balls of radius r whose centres lie (x, y, z) apart meet after x - sqrt(4 r² - y² - z²); facets lie inside."""
    ball = manifold3d.Manifold.sphere(100.0, segments)
    mesh = ball.to_mesh64()
    solid = polyhedron(np.asarray(mesh.vert_properties)[:, :3], mesh.tri_verts)
    exact = 250.0 - math.sqrt(200.0**2 - 30.0**2 - 20.0**2)
    sagitta = 100.0 * (1.0 - math.cos(math.pi / segments))
    found = bodies((solid, identity()), (solid, move(250, 30, 20))).travel([0], [1], (1, 0, 0)).mm
    assert exact - DELTA <= found <= exact + 4 * sagitta + DELTA


def test_what_overlaps_already_is_not_driven_deeper() -> None:
    """A tenon 1 mm too wide: it still comes out along its axis, but not through the cheek it is wedged against."""
    tenon, mortised = box((-20, -5.5, -5), (20, 5.5, 5)), box((0, -30, -30), (60, 30, 30)).cut(
        box((-1, -5, -5.1), (25, 5, 5.1)))
    tight = Bodies(("tenon", "mortised"), (tenon, mortised), np.array([identity(), identity()]), {(0, 1): 0.5})
    assert tight.travel([0], [1], (-1, 0, 0)).free
    assert tight.travel([0], [1], (0, 1, 0)).mm == 0.0
    assert tight.travel([0], [1], (0, -1, 0)).mm == 0.0


def test_two_veneers_that_stop_each_other_cannot_be_told() -> None:
    veneer = box((0, 0, 0), (0.03, 50, 50))
    thin = bodies((veneer, identity()), (veneer, move(10, 0, 0)), (box((0, 0, 0), (5, 50, 50)), move(-20, 0, 0)))
    assert not thin.travel([0], [1], (1, 0, 0)).told
    assert not thin.travel([0], [1], (1, 0, 0)).free
    backwards = thin.travel([0], [2], (-1, 0, 0))
    assert backwards.told
    assert backwards.mm == pytest.approx(15.0, abs=1e-6)


@given(rigid_frames(), st.integers(0, 2), st.floats(0.5, 300.0))
@settings(max_examples=40, deadline=None)
def test_travel_is_carried_along_by_rigid_motion(frame: Frame, axis: int, gap: float) -> None:
    way = np.eye(3)[axis]
    at = move(*(way * (40.0 + gap)))
    block = box((0, 0, 0), (40, 40, 40))
    here = bodies((block, identity()), (block, at))
    there = bodies((block, frame), (block, frame @ at))
    assert here.travel([0], [1], way).mm == pytest.approx(gap, abs=1e-6)
    assert there.travel([0], [1], directions(frame, way)).mm == pytest.approx(gap, abs=1e-5)


@given(st.integers(0, 10_000))
@settings(max_examples=60, deadline=None)
def test_travel_between_convex_bodies_agrees_with_a_linear_programme(seed: int) -> None:
    """Two convex bodies first meet at the least t with a + t d = b for some points of each: an LP in t and weights."""
    from scipy.optimize import linprog

    rng = np.random.default_rng(seed)
    one, two = rng.uniform(-40, 40, (12, 3)), rng.uniform(-40, 40, (12, 3)) + np.array([200.0, 0.0, 0.0])
    way = np.array([1.0, *rng.uniform(-0.3, 0.3, 2)])
    way /= np.linalg.norm(way)
    equal = np.zeros((5, 25))
    equal[:3, 0], equal[:3, 1:13], equal[:3, 13:] = way, one.T, -two.T
    equal[3, 1:13], equal[4, 13:] = 1.0, 1.0
    best = linprog(np.eye(25)[0], A_eq=equal, b_eq=[0, 0, 0, 1, 1])
    found = bodies((hull(one), identity()), (hull(two), identity())).travel([0], [1], way)
    if best.status == 2:
        assert found.free
    elif math.isfinite(found.mm):
        assert found.mm == pytest.approx(best.fun, abs=1.0)
        assert found.mm >= best.fun - DELTA - 1e-6
    else:
        assert _grazes(one, two, way)


def _grazes(one: np.ndarray, two: np.ndarray, way: np.ndarray) -> bool:
    """Whether two clouds only just cover one another along a way: the shrunk mover may pass."""
    from scipy.spatial import ConvexHull

    basis = plane(way)[:2]
    outline = ConvexHull((one @ basis.T)[:, None, :].repeat(12, 1).reshape(-1, 2) - np.tile(two @ basis.T, (12, 1)))
    return bool(outline.equations[:, 2].max() > -10 * DELTA)


@given(st.integers(0, 10_000))
@settings(max_examples=25, deadline=None)
def test_convex_pieces_in_a_plane_never_block_each_other_in_a_circle(seed: int) -> None:
    """Convex sets in the plane can be moved off one by one along any direction.

    Source: Guibas & Yao, "On translating a set of rectangles", STOC 1980 (from memory).
    """
    rng = np.random.default_rng(seed)
    count = 12
    cells = [(x, y) for x in range(4) for y in range(3)]
    placed = []
    for x, y in cells:
        angles = np.sort(rng.uniform(0, 2 * np.pi, 7))
        outline = [(50 * x + 24 * np.cos(a), 50 * y + 24 * np.sin(a)) for a in angles]
        placed.append((hull([(*p, z) for p in outline for z in (0.0, 20.0)]), identity()))
    many = bodies(*placed)
    angle = rng.uniform(0, 2 * np.pi)
    way = np.array([np.cos(angle), np.sin(angle), 0.0])
    web = nx.DiGraph()
    for i in range(count):
        rest = np.array([j for j in range(count) if j != i])
        gaps = many.gaps(i, rest, way)
        web.add_edges_from((i, int(j)) for j, gap in zip(rest, gaps, strict=True) if np.isfinite(gap))
    assert nx.is_directed_acyclic_graph(web)
    assert web.number_of_edges() > 0


@given(st.integers(0, 10_000))
@settings(max_examples=80, deadline=None)
def test_the_gap_over_two_triangles_agrees_with_points_scattered_in_both(seed: int) -> None:
    rng = np.random.default_rng(seed)
    front, back = (_counter_clockwise(rng.uniform(-10, 10, (3, 3))) for _ in range(2))
    low, high = shared_gaps(front[None], back[None])
    points = rng.uniform(-10, 10, (4000, 2))
    seen = [_height(t, points) for t in (front, back)]
    both = ~np.isnan(seen[0]) & ~np.isnan(seen[1])
    gaps = (seen[1] - seen[0])[both]
    if len(gaps):
        assert low[0] <= gaps.min() + 1e-6
        assert high[0] >= gaps.max() - 1e-6
    if len(gaps) > 200:
        spread = high[0] - low[0]
        assert gaps.min() <= low[0] + 0.35 * spread
        assert gaps.max() >= high[0] - 0.35 * spread


def _counter_clockwise(triangle: np.ndarray) -> np.ndarray:
    a, b = triangle[1, :2] - triangle[0, :2], triangle[2, :2] - triangle[0, :2]
    return triangle if a[0] * b[1] - a[1] * b[0] > 0 else triangle[::-1]


def _height(triangle: np.ndarray, points: np.ndarray) -> np.ndarray:
    """The triangle's third coordinate over points (N, 2); nan outside it."""
    sides = np.column_stack([triangle[1, :2] - triangle[0, :2], triangle[2, :2] - triangle[0, :2]])
    weights = np.linalg.solve(sides, (points - triangle[0, :2]).T).T
    inside = (weights >= 0).all(axis=1) & (weights.sum(axis=1) <= 1)
    height = triangle[0, 2] + weights @ (triangle[1:, 2] - triangle[0, 2])
    return np.where(inside, height, np.nan)
