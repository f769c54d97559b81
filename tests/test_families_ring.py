"""The closed ring against trigonometry, and over its whole range of options."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.contacts import contacts
from assembly.interference import overlaps
from assembly.placing import place, place_in_stage
from assembly.stages import plan
from model.design import Design
from model.errors import DraftError
from tests import zoo
from tests.drafted import drafted, standing_sound


@pytest.mark.parametrize("n", [3, 5, 8, 9, 12, 24])
def test_a_glued_ring_left_straight_is_a_regular_polygon(n: int) -> None:
    """Area between two regular polygons: n tan(180/n)(outer inradius² - inner inradius²). Source: trigonometry."""
    design = zoo.made("closed ring", "ring", segments=n, radius=900.0, curved=False, segment_joint="glued face")
    segment = design.parts[0]
    outer, inner = 900.0 + segment.blank.width / 2, 900.0 - segment.blank.width / 2
    area = sum(p.finished.volume for p in design.parts) / segment.blank.thickness
    assert area == pytest.approx(n * math.tan(math.pi / n) * (outer**2 - inner**2), rel=1e-9)


@pytest.mark.parametrize("joint", ["half lap", "loose tenon", "glued face"])
@pytest.mark.parametrize("n", [8, 9, 16])
def test_a_sawn_ring_lies_between_its_two_circles(joint: str, n: int) -> None:
    design = zoo.made("closed ring", "ring", segments=n, radius=800.0, band=70.0, segment_joint=joint)
    standing = place(design)
    assert standing.open_loops == ()
    cloud = np.vstack([standing.vertices(n) for n in standing.there() if "tenon" not in n])
    away = np.hypot(cloud[:, 0], cloud[:, 1])
    assert away.max() == pytest.approx(835.0, abs=1e-3)
    assert away[np.abs(away - 765.0) < 1.0].size and away.min() > 765.0 - 0.01


def test_the_volume_of_a_lapped_ring_is_that_of_its_band() -> None:
    """Laps take away what they share: pi(Ro² - Ri²) t, less the clearance at the ends of the laps and the facets."""
    design = zoo.made("closed ring", "ring", radius=700.0, band=90.0, fit=0.0)
    volume = sum(p.finished.volume for p in design.parts)
    assert volume == pytest.approx(math.pi * (745.0**2 - 655.0**2) * 38.1, rel=1e-4)


def test_half_laps_meet_over_the_length_they_are_given() -> None:
    """A lap 80 mm long at the middle of the band, 2 d wide as an angle: (d/2)(Ro² - Ri²) on each side of the joint."""
    design = zoo.made("closed ring", "ring", radius=700.0, band=90.0, lap=80.0)
    standing = place(design)
    flat = [p.area for p in contacts(standing) if p.joint == "ring_1_2" and abs(p.normal[2]) > 0.99]
    lap = 80.0 / 700.0
    assert sum(flat) == pytest.approx(lap / 2 * (745.0**2 - 655.0**2), rel=0.01)


@pytest.mark.parametrize("n", [5, 7, 9])
def test_an_odd_lapped_ring_closes_with_one_piece_from_the_side(n: int) -> None:
    design = zoo.made("closed ring", "ring", segments=n, radius=600.0)
    found = plan(place(design), design.shop)
    assert [f for f in found.findings if f.severity == "stop"] == []
    assert any(abs(m.direction[2]) < 0.1 for s in found.stages for m in s.moves if m.onto)


@pytest.mark.parametrize(("n", "at_once"), [(6, 0), (5, 4)])
def test_a_ring_of_loose_tenons_closes_by_halves_when_even_and_all_at_once_when_odd(n: int, at_once: int) -> None:
    """Two halves slide together along one direction only where two joints lie opposite each other."""
    design = zoo.made("closed ring", "ring", segments=n, radius=600.0, segment_joint="loose tenon")
    found = plan(place(design), design.shop)
    assert not any(f.kind == "blocked" for f in found.findings) and found.replayed
    assert sum(m.simultaneous for s in found.stages for m in s.moves) == at_once


def test_posts_stand_on_the_ground_under_the_segments_asked_for() -> None:
    design = zoo.made("closed ring", "ring", posts=3, post_segments=[2, 5, 9], post_stock="rail", post_height=800.0)
    standing = place(design)
    for number, segment in ((1, 2), (2, 5), (3, 9)):
        post = standing.vertices(f"post_{number}")
        assert post[:, 2].min() == pytest.approx(0.0, abs=1e-6)
        assert design.joint[f"post_{number}_top"].b == f"segment_{segment}"
    assert standing.vertices("segment_1")[:, 2].min() == pytest.approx(800.0, abs=1e-6)


@pytest.mark.parametrize(("given", "key"), [
    ({"curved": False, "band": 80.0}, "band"),
    ({"lap": 400.0}, "lap"),
    ({"radius": 100.0}, "radius"),
    ({"band": 182.0}, "segment_stock"),
    ({"segments": 3, "radius": 400.0, "segment_joint": "glued face"}, "radius"),
    ({"segments": 4, "radius": 90.0, "curved": False}, "segment_stock"),
    ({"segments": 3, "lap": 150.0, "radius": 150.0}, "segments"),
    ({"lap": 3.0}, "lap"),
    ({"segments": 3, "radius": 150.0}, "segments"),
    ({"segments": 4, "posts": 5, "radius": 400.0, "post_stock": "rail"}, "posts"),
    ({"posts": 3, "post_segments": [1, 2], "post_stock": "rail"}, "post_segments"),
    ({"posts": 2, "post_segments": [1, 1], "post_stock": "rail"}, "post_segments"),
    ({"posts": 2, "post_segments": [0, 1], "post_stock": "rail"}, "post_segments"),
    ({"posts": 3, "band": 60.0}, "post_stock"),
    ({"segments": 40, "posts": 3, "post_stock": "rail", "radius": 500.0}, "post_stock"),
])
def test_what_cannot_be_is_refused_by_name(given: dict[str, Any], key: str) -> None:
    with pytest.raises(DraftError) as refused:
        zoo.made("closed ring", "ring", **given)
    assert refused.value.key == key
    assert refused.value.accepted


@st.composite
def rings(draw: st.DrawFn) -> Design | None:
    curved = draw(st.booleans())
    given: dict[str, Any] = {
        "segments": draw(st.integers(3, 30)), "radius": draw(st.floats(200, 2500)), "curved": curved,
        "segment_joint": draw(st.sampled_from(["half lap", "loose tenon", "glued face"])),
        "posts": draw(st.integers(0, 4)), "post_joint": draw(st.sampled_from(["blind tenon", "through tenon"])),
        "lap": draw(st.none() | st.floats(20, 250)), "band": draw(st.none() | st.floats(40, 150)) if curved else None,
        "fit": draw(st.sampled_from([0.0, 0.1, 0.3])),
    }
    stock = {"segment": zoo.milled("segment", draw(st.floats(20, 80)), draw(st.floats(90, 300))),
             "post": zoo.milled("post", draw(st.floats(20, 70)), draw(st.floats(20, 90)))}
    return drafted("closed ring", given, stock)


@settings(deadline=None, max_examples=40)
@given(rings())
def test_any_ring_is_sound_or_refused(design: Design | None) -> None:
    standing_sound(design)
    for stage in design.stages if design else ():
        here = place_in_stage(design, stage)
        assert here.open_loops == () and overlaps(here, frozenset()) == ()
