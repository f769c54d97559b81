"""The arch gateway against trigonometry worked out another way, and over its whole range of options."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree

from assembly.placing import Assembly, place, place_in_stage
from model.design import Design
from model.errors import DraftError
from model.families import FAMILIES
from model.families.arch_gateway_options import ArchGatewayOptions
from model.families.arch_shape import arch_shape
from model.families.ring import SawnRing
from model.reader import read
from tests import zoo
from tests.drafted import drafted, standing_sound

# n, k: lean outward (deg), rise, span of the ends, feet, crown (mm), for a middle radius of 1000 and legs of 1200 mm.
# Source: trigonometry (rise R(1 - cos b), span 2R sin b, feet 2(R sin b + L cos b), crown rise + L sin b, b = 180k/n
# degrees); that a leg stands square to the arch's radial end is common practice, no source.
ARCHES = [
    (8, 3, 22.5, 617.317, 1847.759, 2766.199, 1725.972),
    (10, 4, 18.0, 690.983, 1902.113, 2643.754, 1832.251),
    (12, 6, 0.0, 1000.0, 2000.0, 2000.0, 2200.0),
    (16, 7, 11.25, 804.910, 1961.571, 2429.787, 1981.852),
    (18, 8, 10.0, 826.352, 1969.616, 2386.371, 2008.121),
    (18, 10, -10.0, 1173.648, 1969.616, 1552.860, 2355.417),
    (20, 9, 9.0, 843.566, 1975.377, 2350.819, 2028.792),
    (24, 11, 7.5, 869.474, 1982.890, 2296.153, 2059.208),
]


def options(**given: Any) -> ArchGatewayOptions:
    return ArchGatewayOptions.model_validate(given, context={"unit": "mm"})


@pytest.mark.parametrize(("n", "k", "lean", "rise", "span", "feet", "crown"), ARCHES)
def test_arch_shape(n: int, k: int, lean: float, rise: float, span: float, feet: float, crown: float) -> None:
    shape = arch_shape(options(segments_in_ring=n, segments_per_arch=k, radius=1000.0, leg_length=1200.0, band=80.0),
                       300.0)
    assert math.degrees(shape.lean) == pytest.approx(lean, abs=1e-9)
    assert (shape.rise, shape.span, shape.feet, shape.crown) == pytest.approx((rise, span, feet, crown), abs=1e-3)


@pytest.mark.parametrize(("n", "k"), [(n, k) for n, k, *_ in ARCHES])
def test_a_chain_of_chords_lands_on_the_same_feet(n: int, k: int) -> None:
    """Joint to joint along the chords, each turned by 360/n degrees from the last, then down the legs."""
    radius, leg, at, heading = 1000.0, 1200.0, np.zeros(2), math.pi * (k - 1) / n
    points = [at]
    for _ in range(k):
        at = at + 2 * radius * math.sin(math.pi / n) * np.array([math.cos(heading), math.sin(heading)])
        heading -= 2 * math.pi / n
        points.append(at)
    down = heading + math.pi / n  # square to the last radius: half a step back from the next chord
    foot = at + leg * np.array([math.cos(down), math.sin(down)])
    given = options(segments_in_ring=n, segments_per_arch=k, radius=radius, leg_length=leg, band=80.0)
    shape = arch_shape(given, 300.0)
    middle = points[-1][0] / 2
    assert 2 * (foot[0] - middle) == pytest.approx(shape.feet, abs=1e-6)
    ends_above_feet = -foot[1]
    assert ends_above_feet == pytest.approx(shape.crown - shape.rise, abs=1e-6)


@settings(deadline=None, max_examples=60)
@given(st.integers(6, 40).flatmap(lambda n: st.tuples(st.just(n), st.integers(math.ceil(n / 6), n // 2))),
       st.floats(300, 2500), st.floats(300, 2500), st.floats(40, 150))
def test_any_two_sizes_give_the_other_two_back(nk: tuple[int, int], radius: float, leg: float, band: float) -> None:
    n, k = nk
    try:
        shape = arch_shape(options(segments_in_ring=n, segments_per_arch=max(2, k), radius=radius, leg_length=leg,
                                   band=band), 1000.0)
    except DraftError:
        return
    height = shape.crown + band / 2
    sizes = {"radius": radius, "leg_length": leg, "overall_width": shape.width, "overall_height": height}
    other = "overall_height"
    for one in ("overall_width", "radius", "leg_length"):
        if abs(math.sin(2 * shape.half_arc)) < 0.05 and one == "overall_width":
            continue  # near half a ring the width hardly tells the legs
        again = arch_shape(options(segments_in_ring=n, segments_per_arch=max(2, k), band=band,
                                   **{one: sizes[one], other: sizes[other]}), 1000.0)
        assert (again.radius, again.leg) == pytest.approx((radius, leg), rel=1e-6)


@pytest.mark.parametrize(("n", "width"), [(8, 168.508), (10, 144.049), (12, 130.667), (16, 117.293), (18, 113.673),
                                          (20, 111.080), (24, 107.700)])
def test_stock_that_a_band_needs(n: int, width: float) -> None:
    """Ro - Ri cos(180/n) for Ro 1000 and Ri 900 mm. Source: trigonometry."""
    stock = zoo.milled("s", 40.0, 200.0)
    ring = SawnRing(count=n, stock=stock, thickness=40.0, outer=1000.0, inner=900.0)
    assert ring.needs == pytest.approx(width, abs=1e-3)


def test_narrow_stock_is_refused_with_the_width_it_needs() -> None:
    family = FAMILIES["arch gateway"]
    narrow = {**zoo.STOCK, "segment": zoo.milled("segment", 38.0, 113.0)}
    given = family.options.model_validate(
        {"segments_in_ring": 18, "segments_per_arch": 8, "radius": 950, "band": 100}, context={"unit": "mm"})
    with pytest.raises(DraftError, match=r"at least 113\.7 mm wide"):
        family.draft("x", given, narrow)


def test_the_widest_band_that_fits_is_taken() -> None:
    """Ri = (Ro - W) / cos(180/n): 139.7 mm of stock at Ro 1000 mm, n 18, hold 126.428 mm. Source: trigonometry."""
    radius = 1000.0 - 126.428 / 2
    shape = arch_shape(options(segments_in_ring=18, segments_per_arch=8, radius=radius, allowance=0), 139.7)
    assert shape.band == pytest.approx(126.428, abs=1e-3)


def test_mortise_cover_under_the_curve() -> None:
    """90 x 38 mm centred at radius 950 under Ro 1000: 1000 - hypot(45, 969) = 29.9557. Source: trigonometry."""
    ring = SawnRing(count=18, stock=zoo.milled("s", 40.0, 200.0), thickness=40.0, outer=1000.0, inner=900.0)
    assert ring.cover(90.0, 38.0) == pytest.approx(29.9557, abs=1e-3)


def test_a_shifted_tenon_has_the_same_wood_on_both_sides() -> None:
    """Outside Ro - hypot(r + c, l), inside r - c - Ri, for a tenon square to a radius, c half wide, l long."""
    ring = SawnRing(count=18, stock=zoo.milled("s", 40.0, 200.0), thickness=40.0, outer=1000.0, inner=900.0)
    half, reach = 25.0, 60.0
    r = 950.0 + ring.balanced_shift(half, reach)
    outside, inside = 1000.0 - math.hypot(r + half, reach), r - half - 900.0
    assert outside == pytest.approx(inside, abs=1e-9)


# -- the structure as it stands --------------------------------------------------------------------


@pytest.fixture(scope="module", params=["gateway", "gateway_small", "gateway_halves", "gateway_two_rings"])
def standing(request: pytest.FixtureRequest) -> Assembly:
    return place(zoo.SOUND[request.param]())


def test_feet_are_flat_on_the_ground(standing: Assembly) -> None:
    for name in standing.there():
        low = standing.vertices(name)[:, 2].min()
        assert low == pytest.approx(0.0, abs=1e-3) if "leg" in name else low > 10.0
        if "leg" in name:
            foot = standing.vertices(name)[standing.vertices(name)[:, 2] < 1e-3]
            blank = standing.part(name).blank
            lean = abs(standing.frames[name][2, 0])
            assert np.ptp(foot[:, 0]) == pytest.approx(blank.width / lean, abs=1e-3)
            assert np.ptp(foot[:, 1]) == pytest.approx(blank.thickness, abs=1e-3)


def _alike(one: np.ndarray, other: np.ndarray) -> bool:
    """Whether every corner of one lies on a corner of the other, within 0.01 mm, both ways."""
    here, there = cKDTree(one), cKDTree(other)
    return len(one) == len(other) and max(here.query(other)[0].max(), there.query(one)[0].max()) < 0.01


def test_the_two_sides_mirror_each_other(standing: Assembly) -> None:
    for name in standing.there():
        if name.startswith("far_") and "tenon" not in name:
            assert _alike(standing.vertices(name) * (1, -1, 1), standing.vertices("near_" + name[4:])), name


def test_left_and_right_mirror_each_other(standing: Assembly) -> None:
    for side in ("far", "near"):
        left, right = (standing.vertices(f"{side}_leg_{end}") for end in ("left", "right"))
        assert _alike(left * (-1, 1, 1), right)
        assert left[:, 0].mean() < right[:, 0].mean()


def test_near_stands_before_far(standing: Assembly) -> None:
    assert standing.vertices("near_leg_left")[:, 1].mean() < standing.vertices("far_leg_left")[:, 1].mean()


def test_rails_lie_level_and_square_to_both_sides(standing: Assembly) -> None:
    rails = [n for n in standing.there() if standing.part(n).group == "rail"]
    assert rails
    for name in rails:
        assert np.allclose(np.abs(standing.frames[name][:3, 0]), (0, 1, 0), atol=1e-6)


def test_both_arches_of_one_ring_close_it_with_their_spacers() -> None:
    design = zoo.gateway()
    ring = place_in_stage(design, design.stages[0])
    assert len([n for n in ring.frames if "tenon" not in n]) == 20
    assert ring.open_loops == ()
    middle = np.mean([ring.vertices(n).mean(axis=0) for n in ring.frames if "tenon" not in n], axis=0)
    away = [np.linalg.norm(ring.vertices(n).mean(axis=0) - middle) for n in ring.frames if "spacer" in n]
    assert np.ptp(away) < 0.01
    assert {p.leaves_after for p in design.parts if p.temporary} == {"ring"}


def test_segments_are_straight_until_the_ring_is_glued() -> None:
    segment = zoo.gateway().part["far_arch_5"]
    before, after = segment.solid(frozenset()), segment.solid(frozenset({"ring"}))
    assert after.volume < before.volume
    assert after == segment.finished
    width = before.bounds[1, 1] - before.bounds[0, 1]
    assert width == pytest.approx(segment.blank.width, abs=1e-6)


def test_the_sawn_band_has_the_area_of_its_sector() -> None:
    """18 segments of arch out of a ring of 20: each (pi/20)(Ro² - Ri²) in plan, less nothing but facets."""
    design = zoo.made("arch gateway", "bare", segment_joint="glued face", leg_rails=1, arch_rail_every=0, band=100.0)
    segment = design.part["far_arch_5"]
    area = segment.finished.volume / segment.blank.thickness
    assert area == pytest.approx(math.pi / 20 * (1050.0**2 - 950.0**2), rel=1e-4)


@pytest.mark.parametrize(("n", "k", "rings", "spacers"), [
    (20, 9, 1, 2), (20, 8, 1, 4), (19, 8, 1, 3), (18, 10, 2, 16), (12, 6, 2, 0), (19, 9, 2, 0)])
def test_how_many_rings_and_spacers(n: int, k: int, rings: int, spacers: int) -> None:
    design = zoo.made("arch gateway", "g", segments_in_ring=n, segments_per_arch=k, band=60.0)
    assert sum(p.temporary for p in design.parts) == spacers
    assert len(design.stages) == rings + 3
    assert sum(p.group == "segment" for p in design.parts) == 2 * k


@pytest.mark.parametrize(("given", "key"), [
    ({"radius": 900, "leg_length": 900, "overall_width": 2000}, "radius and leg_length and overall_width"),
    ({"segments_per_arch": 20}, "segments_per_arch"),
    ({"segments_per_arch": 2}, "segments_per_arch"),
    ({"overall_width": 500, "overall_height": 2500}, "overall_width and overall_height"),
    ({"leg_rails": 30}, "leg_rails"),
    ({"leg_rails": 0, "arch_rail_every": 0}, "leg_rails"),
    ({"rail_depth": 37}, "rail_depth"),
    ({"depth": 100}, "depth"),
    ({"band": 180}, "segment_stock"),
    ({"band": 21}, "rail_stock"),
    ({"segments_in_ring": 96, "segments_per_arch": 46, "radius": 1000}, "rail_stock"),
])
def test_what_cannot_be_is_refused_by_name(given: dict[str, Any], key: str) -> None:
    with pytest.raises(DraftError) as refused:
        zoo.made("arch gateway", "g", **given)
    assert refused.value.key == key
    assert refused.value.accepted


def test_the_orchard_gate_is_what_it_says() -> None:
    design = read(Path(__file__).parent.parent / "examples" / "orchard_gate.toml")
    standing = place(design)
    cloud = np.vstack([standing.vertices(n) for n in standing.there()])
    assert np.ptp(cloud, axis=0) == pytest.approx((8 * 304.8, 62 * 25.4, 100 * 25.4), abs=0.01)
    crown = min(standing.vertices("far_arch_5")[:, 2].min(), standing.vertices("rail_13")[:, 2].min())
    assert crown > 2100.0
    assert sum(p.group == "rail" for p in design.parts) >= 24
    assert sum(p.group == "segment" for p in design.parts) == 18
    assert 50 <= len(design.parts) <= 70


@st.composite
def gateways(draw: st.DrawFn) -> Design | None:
    n = draw(st.integers(6, 36))
    given: dict[str, Any] = {
        "segments_in_ring": n, "segments_per_arch": max(2, draw(st.integers(n // 4, (3 * n) // 5))),
        "leg_rails": draw(st.integers(0, 6)), "arch_rail_every": draw(st.integers(0, 3)),
        "segment_joint": draw(st.sampled_from(["loose tenon", "glued face"])),
        "depth": draw(st.floats(400, 2500)), "fit": draw(st.sampled_from([0.0, 0.1, 0.3])),
        "band": draw(st.none() | st.floats(40, 160)),
    }
    pair = draw(st.sampled_from([(), ("radius",), ("radius", "leg_length"), ("overall_width", "overall_height")]))
    given |= {key: draw(st.floats(400, 3000)) for key in pair}
    stock = {"segment": zoo.milled("segment", draw(st.floats(20, 80)), draw(st.floats(80, 300))),
             "leg": zoo.milled("leg", 90.0, 320.0),
             "rail": zoo.milled("rail", draw(st.floats(15, 50)), draw(st.floats(25, 120)))}
    return drafted("arch gateway", given, stock)


@settings(deadline=None, max_examples=25)
@given(gateways())
def test_any_gateway_is_sound_or_refused(design: Design | None) -> None:
    standing_sound(design)
    assert design is None or all(place_in_stage(design, stage).open_loops == () for stage in design.stages)
