"""The camera and what is pulled back: everything inside the frame, true to scale, along the motions told."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from assembly.rehearsal import rehearse
from exports.pictures.camera import framed, looking
from exports.pictures.creases import drawn
from exports.pictures.spread import GROWTH, diagonal, pulled, spread
from exports.pictures.stages import fixed_camera, scenes
from exports.pictures.whole import ROOM, standpoint
from model.frames import points
from model.solids import arc_points, box, prism
from tests.zoo import frame, trestle

ANGLES = st.tuples(st.floats(-math.pi, math.pi), st.floats(-1.4, 1.4))
FRONT = looking(math.radians(-57.0), math.radians(21.0))
CLOUDS = arrays(np.float64, st.tuples(st.integers(2, 12), st.just(3)), elements=st.floats(-5000.0, 5000.0))


@given(ANGLES, CLOUDS)
def test_everything_lies_inside_the_box_it_is_framed_in(angles: tuple[float, float], at: np.ndarray) -> None:
    camera = framed(looking(*angles), at, ROOM)
    pixels = camera.project(at)
    assert (pixels >= np.array(ROOM[:2]) - 1e-6).all() and (pixels <= np.array(ROOM[2:]) + 1e-6).all()


@given(ANGLES, CLOUDS)
def test_pixel_and_depth_lead_back_to_the_point(angles: tuple[float, float], at: np.ndarray) -> None:
    camera = framed(looking(*angles), at, ROOM)
    back = camera.world(camera.project(at), camera.depth(at))
    np.testing.assert_allclose(back, at, atol=1e-6)


@given(ANGLES)
def test_a_camera_is_right_handed_with_z_upright(angles: tuple[float, float]) -> None:
    c = looking(*angles)
    np.testing.assert_allclose(np.cross(c.right, c.up), -c.forward, atol=1e-12)
    assert c.up[2] > 0 and abs(c.right[2]) < 1e-12


def test_the_work_is_looked_at_from_the_front_with_right_to_the_right() -> None:
    """The report says right for +x and away for +y; the pictures must show the same."""
    for size in ((2000, 500, 900), (500, 2000, 900)):
        camera = standpoint(np.array([[0, 0, 0], size], dtype=np.float64), [(1, 0, 0), (0, 1, 0)])
        assert camera.shown((1, 0, 0))[0] > 0 and camera.forward[1] > 0 and camera.forward[2] < 0


def test_a_box_folds_at_its_twelve_edges_and_a_curve_only_at_its_ends() -> None:
    assert len(np.unique(drawn(box((0, 0, 0), (90, 40, 20))).edges, axis=0)) == 12
    half = np.vstack([arc_points(300.0, 0.0, math.pi)])
    shape = drawn(prism(half, 0.0, 40.0))
    around = len(half) - 1
    assert len(shape.edges) == 2 * (around + 1) + 2


def test_pieces_stand_back_along_their_motion_and_clear_of_each_other() -> None:
    found = rehearse(trestle())
    for stage in found.plan.stages:
        offsets = pulled(stage, found.assembly, 80.0, FRONT)
        for one in stage.moves:
            if one.onto and not one.simultaneous:
                rest = [n for n in one.onto if any(n in (j.a, j.b) for j in map(found.design.joint.get, one.joints)
                                                   if j is not None)]
                gap = offsets[one.parts[0]] - offsets[rest[0]]
                np.testing.assert_allclose(np.cross(gap, one.direction), 0.0, atol=1e-6)
                assert -float(gap @ np.array(one.direction)) > one.travel


def test_nothing_drawn_apart_runs_into_anything_else() -> None:
    for design in (trestle(), frame()):
        found = rehearse(design)
        offsets = spread(found, FRONT)
        moved = [(n, points(found.assembly.frames[n], found.assembly.solid(n).mesh[0]) + offsets[n])
                 for n in found.assembly.names]
        for i, (name, at) in enumerate(moved):
            for other, there in moved[i + 1:]:
                over = np.minimum(at.max(axis=0), there.max(axis=0)) - np.maximum(at.min(axis=0), there.min(axis=0))
                assert (over < 1e-6).any(), f"{name} and {other} stand in each other"


def test_one_camera_holds_every_stage() -> None:
    found = rehearse(frame())
    shown = scenes(found, FRONT)
    camera = fixed_camera(shown, standpoint(np.array([[0, 0, 0], [1400, 500, 700]], dtype=np.float64)))
    for scene in shown:
        at = np.vstack([scene.assembly.vertices(n, scene.stage.done) + scene.offsets[n] for n in scene.stage.parts])
        pixels = camera.project(at)
        assert (pixels >= np.array(ROOM[:2]) - 1e-6).all() and (pixels <= np.array(ROOM[2:]) + 1e-6).all()


def test_long_chains_are_pulled_less() -> None:
    found = rehearse(frame())
    for stage in found.plan.stages:
        offsets = pulled(stage, found.assembly, 2000.0, FRONT)
        home = diagonal(found.assembly, stage.parts)
        near = diagonal(found.assembly, stage.parts, pulled(stage, found.assembly, 200.0, FRONT))
        assert diagonal(found.assembly, stage.parts, offsets) <= max(GROWTH * home, near) + 1e-6
