"""The post-and-rail frame: counts, levels, tenons that keep out of each other's way, slats."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.contacts import contacts
from assembly.interference import overlaps
from assembly.placing import place
from model.design import Design
from model.errors import DraftError
from model.families.tenon_room import WALL
from tests import zoo
from tests.drafted import drafted, standing_sound


def size(design: Design) -> np.ndarray:
    standing = place(design)
    return np.ptp(np.vstack([standing.vertices(n) for n in standing.names]), axis=0)


@pytest.mark.parametrize(("along", "across", "levels"), [(2, 1, 2), (4, 1, 3), (2, 2, 1), (3, 2, 2), (4, 3, 2)])
def test_counts(along: int, across: int, levels: int) -> None:
    """Posts a x b; rails (a-1) b L along and a (b-1) M across; two joints a rail."""
    heights = [300.0 + 300.0 * i for i in range(levels)]
    design = zoo.made("post and rail", "f", posts_along=along, posts_across=across, length=3000.0, width=2000.0,
                      height=1400.0, long_levels=heights, cross_levels=[450.0])
    groups = [p.group for p in design.parts]
    assert groups.count("post") == along * across
    assert groups.count("long_rail") == (along - 1) * across * levels
    assert groups.count("cross_rail") == along * (across - 1)
    assert len(design.joints) == 2 * (len(groups) - along * across)


def test_overall_sizes_are_outside_the_posts() -> None:
    assert size(zoo.frame()) == pytest.approx((1400.0, 500.0, 700.0), abs=1e-6)


def test_rails_lie_at_the_heights_given() -> None:
    design = zoo.made("post and rail", "f", long_levels=[200.0, 500.0], cross_levels=[350.0])
    standing = place(design)
    for group, heights in (("long_rail", {200.0, 500.0}), ("cross_rail", {350.0})):
        found = {round(float(standing.frames[p.name][2, 3]), 6) for p in design.parts if p.group == group}
        assert found == heights


def test_a_lone_tenon_goes_two_thirds_into_its_post_and_a_third_of_it_thick() -> None:
    """Two thirds deep, a third thick, as far as the rail allows (common practice, no source)."""
    tenon = next(f for f in zoo.frame().part["long_rail_01"].features if f.role == "tenon")
    span = tenon.solid.bounds[1] - tenon.solid.bounds[0]
    assert span[2] == pytest.approx(88.9 / 3, abs=1e-6)
    length = zoo.frame().part["long_rail_01"].cut_length - zoo.frame().part["long_rail_01"].blank.length
    assert length == pytest.approx(2 * 88.9 * 2 / 3, abs=1e-6)


def _least_wall(design: Design) -> float:
    """Return the least wood between any two mortises of one post, mm."""
    least = np.inf
    for part in design.parts:
        cut = [f.solid.kept(part.blank.solid).manifold for f in part.features if f.role == "mortise"]
        for i, one in enumerate(cut):
            least = min([least, *(one.min_gap(other, 1000.0) for other in cut[:i])])
    return float(least)


@pytest.mark.parametrize("name", ["frame", "frame_through", "frame_level", "grid", "row", "bench"])
def test_mortises_in_one_post_keep_a_wall_between_them(name: str) -> None:
    """At least 6 to 10 mm (common practice, no source)."""
    assert _least_wall(zoo.SOUND[name]()) > WALL - 0.5


def test_through_tenons_show_flush_on_the_far_side() -> None:
    standing = place(zoo.frame_through())
    out = standing.vertices("long_rail_01")[:, 0]
    assert (out.min(), out.max()) == pytest.approx((-700.0, 700.0), abs=1e-6)


def test_through_tenons_turn_blind_where_two_rails_meet_in_a_post() -> None:
    design = zoo.made("post and rail", "f", posts_along=3, posts_across=1, length=3000.0, long_joint="through tenon")
    kinds = {j.name: j.kind for j in design.joints}
    assert kinds["long_rail_01_start"] == "through tenon"
    assert kinds["long_rail_01_end"] == "blind tenon"


@pytest.mark.parametrize("joint", ["cross lap", "housing"])
@pytest.mark.parametrize("run", ["along", "across", "up"])
def test_slats_lie_in_their_rails(run: str, joint: str) -> None:
    design = zoo.made("post and rail", "f", slats=2, slats_run=run, slat_joint=joint, slat_sink=6.0, width=700.0)
    standing = place(design)
    assert overlaps(standing) == () and standing.open_loops == ()
    slats = [p.name for p in design.parts if p.group == "slat"]
    assert len(slats) == 2
    seats = {j.name: j for j in design.joints if j.a in slats}
    touched = {p.joint for p in contacts(standing)}
    assert set(seats) <= touched
    top = standing.vertices(slats[0]).max(axis=0) - standing.vertices(next(iter(seats.values())).b).max(axis=0)
    proud = {"along": top[2], "across": top[2], "up": top[1]}[run]
    assert proud == pytest.approx(19.0 - 6.0, abs=1e-6)


@pytest.mark.parametrize(("given", "key"), [
    ({"long_levels": [900.0]}, "long_levels"),
    ({"long_levels": [200.0, 250.0]}, "long_levels"),
    ({"cross_levels": [10.0]}, "cross_levels"),
    ({"rail_stock": "leg", "post_stock": "slat"}, "rail_stock"),
    ({"tenon_depth": 88.0}, "tenon_depth"),
    ({"tenon_thickness": 60.0}, "tenon_thickness"),
    ({"length": 250.0}, "length"),
    ({"width": 220.0}, "width"),
    ({"slats": 40}, "slats"),
    ({"slats": 1, "posts_across": 1}, "cross_levels"),
    ({"slats": 1, "slat_sink": 30.0}, "slat_sink"),
    ({"posts_along": 60, "posts_across": 26, "length": 90000.0, "width": 40000.0}, "posts_along"),
])
def test_what_cannot_be_is_refused_by_name(given: dict[str, Any], key: str) -> None:
    with pytest.raises(DraftError) as refused:
        zoo.made("post and rail", "f", **given)
    assert refused.value.key == key
    assert refused.value.accepted


@st.composite
def frames(draw: st.DrawFn) -> Design | None:
    height = draw(st.floats(300, 2000))
    levels = st.none() | st.lists(st.floats(60, height), min_size=1, max_size=3)
    kinds = st.sampled_from(["blind tenon", "through tenon"])
    given: dict[str, Any] = {
        "posts_along": draw(st.integers(2, 4)), "posts_across": draw(st.integers(1, 3)), "height": height,
        "length": draw(st.floats(800, 5000)), "width": draw(st.floats(400, 3000)),
        "long_levels": draw(levels), "cross_levels": draw(levels),
        "long_joint": draw(kinds), "cross_joint": draw(kinds),
        "tenon_thickness": draw(st.none() | st.floats(8, 20)), "tenon_depth": draw(st.none() | st.floats(10, 60)),
        "slats": draw(st.integers(0, 3)), "slats_run": draw(st.sampled_from(["along", "across", "up"])),
        "slat_joint": draw(st.sampled_from(["cross lap", "housing"])), "slat_overhang": draw(st.floats(0, 100)),
        "fit": draw(st.sampled_from([0.0, 0.1, 0.3])), "stages": draw(st.booleans()),
    }
    stock = {"post": zoo.milled("post", draw(st.floats(50, 140)), draw(st.floats(50, 140))),
             "rail": zoo.milled("rail", draw(st.floats(20, 50)), draw(st.floats(30, 140))),
             "slat": zoo.milled("slat", draw(st.floats(12, 40)), draw(st.floats(25, 100)))}
    return drafted("post and rail", given, stock)


@settings(deadline=None, max_examples=40)
@given(frames())
def test_any_frame_is_sound_or_refused(design: Design | None) -> None:
    standing_sound(design)
