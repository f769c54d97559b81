"""A glue-up as it lies while its glue sets: clamps press where the plan says, bands are tight, blocks carry it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from assembly.placing import standing_in
from assembly.plan import Clamp, Rest, Stage
from assembly.rehearsal import Rehearsal, rehearse
from exports.pictures import can_draw
from exports.pictures.camera import HEIGHT, WIDTH
from exports.pictures.clamping import blocks, clamp_body
from exports.pictures.lying import draw_lying, worth_drawing
from exports.pictures.paint import paint
from exports.pictures.probe import REMEDY, quiet_surroundings
from exports.pictures.scene import Canvas, Piece
from model.frames import Frame, identity, inverse, move, points, turn
from model.part import ALL
from model.solids import box
from tests.zoo import frame

drawing = pytest.mark.skipif(can_draw() is not None, reason=f"pictures cannot be drawn here: {REMEDY}")


@pytest.fixture(scope="module")
def rack() -> Rehearsal:
    return rehearse(frame())


@pytest.fixture(scope="module")
def canvas() -> Iterator[Canvas]:
    quiet_surroundings()
    with Canvas() as one:
        yield one


def block(low: tuple[float, float, float], high: tuple[float, float, float], at: Frame | None = None) -> Piece:
    return Piece("block", box(low, high), identity() if at is None else at, (200, 150, 100), (40, 30, 20))


def bar(foot: np.ndarray, head: np.ndarray, side: np.ndarray) -> Clamp:
    length = float(np.linalg.norm(head - foot))
    return Clamp("bar", ("j",), tuple(foot.tolist()), tuple(head.tolist()), length, 80.0, tuple(side.tolist()))


# -- clamps ----------------------------------------------------------------------------------------


@settings(max_examples=25, deadline=None)
@given(st.floats(60.0, 3000.0), st.tuples(*[st.floats(-1.0, 1.0)] * 3).filter(lambda a: math.hypot(*a) > 0.2),
       st.floats(0.0, 6.0))
def test_pads_face_each_other_as_far_apart_as_the_clamp_opens_wherever_it_sits(
        opening: float, axis: tuple[float, float, float], angle: float) -> None:
    where = move(120.0, -40.0, 700.0) @ turn(axis, angle)
    foot, head = where[:3, 3], where[:3, 3] + opening * where[:3, 2]
    found = clamp_body(bar(foot, head, where[:3, 0]), rehearse_once().assembly, ALL, 1.0, "one")
    steel, low, high = (points(inverse(where), p.vertices) for p in found)
    assert low[:, 2].max() == pytest.approx(0.0, abs=1e-6)
    assert high[:, 2].min() == pytest.approx(opening, abs=1e-6)
    assert steel[:, 0].max() == pytest.approx(94.0, abs=1e-6), "the bar lies beside the line, on the side that is said"
    between = steel[(steel[:, 2] > 1.0) & (steel[:, 2] < opening - 1.0)]
    assert not len(between) or between[:, 0].min() > 60.0, "nothing of it stands where the work is"


def test_a_bar_whose_side_is_not_said_still_lies_square_to_its_line(rack: Rehearsal) -> None:
    clamp = bar(np.zeros(3), np.array([0.0, 0.0, 500.0]), np.zeros(3))
    found = clamp_body(clamp, rack.assembly, ALL, 1.0, "one")
    assert found and np.isfinite(found[0].vertices).all()


def test_a_clamp_without_length_is_not_drawn(rack: Rehearsal) -> None:
    assert clamp_body(bar(np.zeros(3), np.zeros(3), np.array([1.0, 0, 0])), rack.assembly, ALL, 1.0, "one") == []


def test_in_a_small_picture_a_bar_is_drawn_broad_enough_to_see(rack: Rehearsal) -> None:
    clamp = bar(np.zeros(3), np.array([0.0, 0.0, 9000.0]), np.array([1.0, 0.0, 0.0]))
    found = clamp_body(clamp, rack.assembly, ALL, 20.0, "one")
    assert np.ptp(found[0].vertices[:, 1]) / 20.0 > 5.0, "pixels"


@pytest.mark.parametrize("square_to", [0, 1, 2])
def test_a_band_lies_in_the_plane_in_which_it_is_as_long_as_it_is_said_to_be(rack: Rehearsal, square_to: int) -> None:
    """Round a block the way is twice the sum of the two sides that it goes along."""
    sizes = {n: np.ptp(rack.assembly.vertices(n), axis=0).round() for n in rack.assembly.names}
    name = next(n for n, size in sizes.items() if len(set(size.tolist())) == 3)
    low, high = rack.assembly.vertices(name).min(axis=0), rack.assembly.vertices(name).max(axis=0)
    along = [k for k in range(3) if k != square_to]
    length = 2.0 * float((high - low)[along].sum())
    middle = tuple(((low + high) / 2).tolist())
    (band,) = clamp_body(Clamp("band", ("j",), middle, middle, length, around=(name,)), rack.assembly, ALL, 1.0, "one")
    reach = band.vertices.max(axis=0) - band.vertices.min(axis=0)
    assert reach[square_to] == pytest.approx(38.0, abs=1e-6)
    np.testing.assert_allclose(reach[along], (high - low)[along] + 8.0, atol=1e-6)


def test_a_band_round_parts_that_are_not_there_is_not_drawn(rack: Rehearsal) -> None:
    band = Clamp("band", (), (0, 0, 0), (0, 0, 0), 1.0, around=("nobody",))
    assert clamp_body(band, rack.assembly, ALL, 1.0, "one") == []


# -- blocks ----------------------------------------------------------------------------------------


def test_blocks_stand_on_the_floor_and_reach_the_work_at_its_ends() -> None:
    found = blocks([block((0, 0, 120), (2000, 90, 158)), block((500, 0, 158), (600, 90, 900))], 120.0, 1.0)
    tops = np.array([p.bounds for p in found])
    assert tops[:, 0, 2].min() == 0.0 and tops[:, 1, 2].max() == pytest.approx(120.0)
    middles = tops[:, :, 0].mean(axis=1)
    assert middles.min() < 400 and middles.max() > 1600, "under both ends"
    assert (middles > 0).all() and (middles < 2000).all()
    assert blocks([block((0, 0, 0), (10, 10, 10))], 0.0, 1.0) == []


# -- the picture -----------------------------------------------------------------------------------


def drawn(rack: Rehearsal, canvas: Canvas, **change: object) -> tuple[Stage, Image.Image]:
    stage = replace(rack.plan.stages[-1], **change)  # type: ignore[arg-type]
    return stage, draw_lying(rack, stage, canvas, paint(rack.assembly))


@drawing
def test_clamps_and_blocks_show(rack: Rehearsal, canvas: Canvas) -> None:
    lows = np.vstack([rack.assembly.vertices(n) for n in rack.assembly.names])
    low, high = lows.min(axis=0), lows.max(axis=0)
    clamp = Clamp("bar", ("j",), (float(low[0]), float(low[1]), float(high[2])),
                  (float(high[0]), float(low[1]), float(high[2])), float(high[0] - low[0]), 80.0, (0.0, -1.0, 0.0))
    _, bare = drawn(rack, canvas, clamps=(), rest=Rest())
    _, pressed = drawn(rack, canvas, clamps=(clamp,), rest=Rest(blocks=200.0))
    assert bare.size == pressed.size == (WIDTH, HEIGHT)
    dark = [float((np.asarray(i.convert("L"))[180:1080] < 105).mean()) for i in (bare, pressed)]
    assert dark[1] > dark[0] + 0.001, "steel is darker than work glued and pale"


@drawing
@pytest.mark.parametrize("on", ["bench", "floor"])
def test_work_is_drawn_as_it_lies(rack: Rehearsal, canvas: Canvas, on: str) -> None:
    stage = rack.plan.stages[-1]
    on_its_back = turn((1.0, 0.0, 0.0), math.pi / 2)
    there = standing_in(rack.assembly, stage.name).moved(on_its_back)
    low = min(float(there.vertices(n, stage.done)[:, 2].min()) for n in stage.parts)
    rest = Rest(move(z=-low) @ on_its_back, on, "on its back")  # type: ignore[arg-type]
    _, upright = drawn(rack, canvas, rest=Rest(), clamps=())
    _, lying = drawn(rack, canvas, rest=rest, clamps=())
    change = np.abs(np.asarray(upright.convert("L"), dtype=int) - np.asarray(lying.convert("L"), dtype=int))
    assert (change > 20).mean() > 0.02


def test_a_stage_of_which_nothing_is_known_has_no_such_picture(rack: Rehearsal) -> None:
    assert worth_drawing(rack.plan.stages[0])
    assert not worth_drawing(replace(rack.plan.stages[0], actions=(), clamps=()))


_ONCE: list[Rehearsal] = []


def rehearse_once() -> Rehearsal:
    """Return one rehearsal for all examples of a law."""
    if not _ONCE:
        _ONCE.append(rehearse(frame()))
    return _ONCE[0]
