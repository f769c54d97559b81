"""Windows: what is asked about a pair has the same answer on a window of a large shape as on the whole of it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly import windows
from assembly.bites import bites
from assembly.contacts import touches
from assembly.meeting import Meeting
from assembly.windows import near
from model.frames import Frame, identity, move, points, turn
from model.solids import Solid, box, prism
from tests.strategies import lengths

LENGTH, STEP = 6000.0, 100.0


@cache
def comb() -> Solid:
    """A beam 6 m long, 140 by 90 mm, with a mortise 40 by 20 mm, 32 mm deep, in its top every 100 mm."""
    pockets = [box((x - 20.0, -10.0, 58.0), (x + 20.0, 10.0, 95.0)) for x in np.arange(STEP, LENGTH, STEP)]
    return box((0, -70, 0), (LENGTH, 70, 90)).cut(*pockets)


@cache
def arch() -> Solid:
    """A half ring of radius 2 m in 240 chords."""
    at = np.linspace(0.0, np.pi, 241)
    rim = np.column_stack([np.cos(at), np.sin(at)])
    return prism(np.vstack([2000.0 * rim, 1900.0 * rim[::-1]]), 0.0, 60.0)


@contextmanager
def cut_from(triangles: int) -> Iterator[None]:
    was = windows.MANY
    windows.MANY = triangles
    try:
        yield
    finally:
        windows.MANY = was


def meeting(a: Solid, b: Solid, frame: Frame) -> Meeting:
    return Meeting(a, b, frame, a.key + b.key + frame.tobytes())


def answers(a: Solid, b: Solid, frame: Frame) -> list[tuple[float, ...]]:
    """Bites, then touches: depth or area, volume or gap, where, and which way or whether it was told."""
    pair = meeting(a, b, frame)
    found = touches.__wrapped__(pair, 0.15)
    deep = [(x.depth, x.volume, *x.where.tolist(), float(x.told), 0.0, 0.0) for x in bites.__wrapped__(pair)]
    flat = [(area, gap, *at, *normal) for area, gap, at, normal in zip(
        found.areas.tolist(), found.gaps.tolist(), found.centres.tolist(), found.normals.tolist(), strict=True)]
    return [*_sorted(deep), *_sorted(flat)]


def _sorted(rows: list[tuple[float, ...]]) -> list[tuple[float, ...]]:
    return sorted(rows, key=lambda row: tuple(np.round(row[2:], 1)))


def same(a: Solid, b: Solid, frame: Frame) -> None:
    with cut_from(10**9):
        whole = answers(a, b, frame)
    with cut_from(100):
        window = answers(a, b, frame)
    assert len(window) == len(whole)
    for one, other in zip(window, whole, strict=True):
        assert one == pytest.approx(other, rel=1e-6, abs=1e-4)


def test_a_small_shape_is_looked_at_whole_and_a_large_one_by_a_stretch() -> None:
    cube = box((0, 0, 0), (50, 50, 50))
    assert near(cube, comb(), identity()) is cube
    with cut_from(100):
        stretch = near(comb(), cube, move(3000.0, 0.0, 90.0))
        assert np.ptp(stretch.bounds[:, 0]) < LENGTH / 8
        assert near(comb(), box((0, 0, 0), (LENGTH, 10, 10)), move(0.0, 0.0, 90.0)) is comb()
        assert near(comb(), cube, move(3010.0, 0.0, 90.0)) is stretch, "neighbours share a stretch"


@settings(max_examples=40, deadline=None)
@given(lengths(-100, LENGTH), lengths(5, 700), st.integers(-180, 180), lengths(0, 30))
def test_a_window_holds_all_that_is_near(x: float, long: float, angle: int, reach: float) -> None:
    other, frame = box((0, -20, 0), (long, 20, 40)), move(x, 0.0, 70.0) @ turn((0, 0, 1), np.radians(angle))
    with cut_from(100):
        window = near(comb(), other, frame, reach)
    at = points(frame, other.mesh[0])
    around = box(at.min(axis=0) - reach, at.max(axis=0) + reach)
    assert window.kept(around).volume == pytest.approx(comb().kept(around).volume, rel=1e-9, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(lengths(0, LENGTH), lengths(-2, 2), st.sampled_from([0.0, 0.03, 0.5, -0.04, 3.0]), st.sampled_from([0, 3, 90]))
def test_pairs_with_a_beam_have_the_same_answers(x: float, aside: float, deep: float, angle: int) -> None:
    """A rail whose tenon is nearly in a mortise, beside it, or whose shoulder is in the beam."""
    rail = box((-45, -20, 0), (45, 20, 300)).joined(box((-19.9, -9.9, -30), (19.9, 9.9, 2)))
    frame = move(round(x / STEP) * STEP + aside, 0.0, 90.0 - deep) @ turn((0, 0, 1), np.radians(angle))
    same(comb(), rail, frame)


@settings(max_examples=30, deadline=None)
@given(st.integers(5, 175), st.sampled_from([0.0, 0.1, 2.0, 30.0]), st.booleans())
def test_pairs_with_an_arch_have_the_same_answers(at: int, deep: float, inside: bool) -> None:
    block = box((-60, -40, 5), (60, 40, 55))
    radius = 1900.0 - 40.0 + deep if inside else 2000.0 + 40.0 - deep
    frame = turn((0, 0, 1), np.radians(at - 90)) @ move(0.0, radius)
    same(arch(), block, frame)
