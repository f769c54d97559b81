"""Volume, centre of mass and closedness of every built part as a second library computes them.

Source: trimesh (Dawson-Haggerty and others, version as installed), whose mass properties follow
D. Eberly, "Polyhedral Mass Properties (Revisited)", from memory of its documentation. It is handed
the corners and triangles alone. Hand values beside it are derived.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh

from model.frames import Frame, identity, move, turn
from model.part import ALL, Part
from model.shapes.board import board
from model.solids import Solid, box, prism
from tests import zoo


def second(solid: Solid) -> trimesh.Trimesh:
    return trimesh.Trimesh(*solid.mesh, process=False)


def shapes_of(design_name: str) -> dict[bytes, tuple[str, Part]]:
    return {part.finished.key: (part.name, part) for part in zoo.SOUND[design_name]().parts}


@pytest.mark.parametrize("design_name", sorted(zoo.SOUND))
def test_parts_of_a_sound_design(design_name: str) -> None:
    for name, part in shapes_of(design_name).values():
        for done in (frozenset(), ALL):
            solid = part.solid(done)
            other = second(solid)
            assert other.is_watertight and other.is_winding_consistent, name
            assert solid.volume == pytest.approx(other.volume, rel=1e-9), name
            assert solid.centroid == pytest.approx(other.center_mass, abs=1e-6), name
            assert np.vstack(other.bounds) == pytest.approx(solid.bounds, abs=1e-9), name
        assert part.mass == pytest.approx(other.volume * 1e-9 * part.density, rel=1e-9), name


def test_a_mortised_board_by_hand() -> None:
    """A 1000 x 90 x 40 board with a pocket 60 x 12 x 25 deep in its face at 300 mm, derived."""
    blank = board(zoo.milled("piece", 40.0, 90.0), 1000.0)
    solid = blank.solid.cut(box((270.0, -6.0, -5.0), (330.0, 6.0, 25.0)))
    whole, pocket = 1000.0 * 90.0 * 40.0, 60.0 * 12.0 * 25.0
    assert solid.volume == pytest.approx(whole - pocket, rel=1e-12)
    x = (whole * 500.0 - pocket * 300.0) / (whole - pocket)
    z = -pocket * 7.5 / (whole - pocket)
    assert solid.centroid == pytest.approx((x, 0.0, z), abs=1e-9)


@pytest.mark.parametrize("frame", [identity(), move(12_000.0, -3_000.0, 800.0) @ turn((1, 2, 3), 1.1)])
def test_a_wedge_by_hand(frame: Frame) -> None:
    """A right-angled wedge: half its box, centre a third of the way from the square corner, derived."""
    solid = prism([(0.0, 0.0), (90.0, 0.0), (0.0, 60.0)], 0.0, 30.0).moved(frame)
    assert solid.volume == pytest.approx(90.0 * 60.0 * 30.0 / 2.0, rel=1e-9)
    assert solid.centroid == pytest.approx(frame[:3, :3] @ (30.0, 20.0, 15.0) + frame[:3, 3], abs=1e-6)


def test_a_regular_prism_nears_its_cylinder() -> None:
    """Area of a regular n-gon n R²/2 sin(2 pi/n), derived; for n = 720 within 1.3e-5 of the circle."""
    corners = [(50.0 * math.cos(2 * math.pi * i / 720), 50.0 * math.sin(2 * math.pi * i / 720)) for i in range(720)]
    volume = prism(corners, 0.0, 10.0).volume
    assert volume == pytest.approx(720 * 50.0**2 / 2.0 * math.sin(2 * math.pi / 720) * 10.0, rel=1e-9)
    assert volume == pytest.approx(math.pi * 50.0**2 * 10.0, rel=1.3e-5)
