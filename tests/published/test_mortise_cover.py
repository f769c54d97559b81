"""What a curve leaves over a mortise, against plane trigonometry.

Source: none published; both figures are derived here. In a segment whose band runs from Ri to Ro:

- a loose tenon square to a radial joint, its middle at radius rm, half as high as c, its mortise
  l deep: the corner at its bottom lies at radius hypot(rm + c, l), so the outer cover is
  Ro - hypot(rm + c, l); the inner side is nearest at the joint itself, rm - c - Ri;
- a rail mortise 2w by 2h in the face, its middle at radius r on the segment's axis: outer cover
  Ro - hypot(w, r + h), inner r - h - Ri.

That 5 and 10 mm are the least to leave is common practice, no source. The solids are real segments
with real joints; their curves are facets within 0.005 mm.
"""

from __future__ import annotations

import math
from functools import cache

import pytest

from assembly.checks.exposed_joint import exposed_joint
from assembly.checks.thin_wall import thin_wall
from assembly.placing import place
from assembly.walls import left_around
from model.design import Design, Shop
from model.draft import Draft
from model.frames import move
from model.shapes.board import board
from model.shapes.curve import curve_feature
from model.shapes.mitred_board import mitred_board
from model.solids import SAGITTA
from tests.joined import facing
from tests.zoo import milled

SEGMENTS = 18
HALF = math.pi / SEGMENTS
RO, RI = 1000.0, 900.0
MIDDLE = 950.0


@cache
def two_segments(high: float, deep: float, outer: float = RO, inner: float = RI) -> Design:
    """Two of 18 segments with a loose tenon `high` and, half of it with its room, `deep` mm; sawn once glued."""
    blank = mitred_board(milled("segment", 60.0, 300.0), 2 * MIDDLE * math.sin(HALF), HALF, HALF)
    centre = move(x=blank.length / 2, y=-MIDDLE * math.cos(HALF))
    draft = Draft("two segments")
    for name in ("one", "two"):
        draft.add(name, blank)
        draft.feature(name, curve_feature(blank, centre, outer, inner, 2 * HALF, after="glue up"))
    draft.join("tie", "loose tenon", "one", "two", blank.place("end"), facing(blank.place("start")), fit=0.0,
               sizes={"width": high, "thickness": 15.0, "length": 2 * (deep - 2.0), "bottom": 2.0})
    return draft.finish()


@cache
def rail_in_face(wide: float, high: float, at: float, outer: float = RO, inner: float = RI) -> Design:
    """A segment and a rail whose mortise, `wide` by `high`, lies in its face, its middle at a radius."""
    blank = mitred_board(milled("segment", 60.0, 300.0), 2 * MIDDLE * math.sin(HALF), HALF, HALF)
    centre = move(x=blank.length / 2, y=-MIDDLE * math.cos(HALF))
    rail = board(milled("rail", high + 20.0, wide + 20.0), 400.0)
    draft = Draft("rail in face")
    draft.add("segment", blank)
    draft.add("rail", rail)
    draft.feature("segment", curve_feature(blank, centre, outer, inner, 2 * HALF, after="glue up"))
    seat = blank.places["face"] @ move(x=blank.length / 2, y=at - MIDDLE * math.cos(HALF))
    draft.join("tie", "blind tenon", "rail", "segment", rail.place("end"), facing(seat), fit=0.0,
               sizes={"width": wide, "thickness": high, "depth": 30.0})
    return draft.finish()


def covers(design: Design, part: str) -> list[float]:
    """What the curve leaves over the mortise of a part; the lesser of outside and inside comes out."""
    return [w.left for w in left_around(design, design.part[part]).walls if w.kind == "cover"]


def test_outer_cover_of_a_loose_tenon_square_to_a_radial_joint() -> None:
    expected = RO - math.hypot(MIDDLE + 25.0, 60.0)
    assert expected == pytest.approx(23.1556, abs=5e-5)
    for part in ("one", "two"):
        assert covers(two_segments(50.0, 60.0), part) == pytest.approx([expected], abs=SAGITTA)


def test_inner_cover_of_a_loose_tenon_square_to_a_radial_joint() -> None:
    assert MIDDLE - 25.0 - RI == 25.0
    for part in ("one", "two"):
        assert covers(two_segments(50.0, 60.0, 1100.0), part) == pytest.approx([25.0], abs=SAGITTA)


def test_outer_cover_of_a_rail_mortise_in_the_face() -> None:
    expected = RO - math.hypot(45.0, MIDDLE + 19.0)
    assert expected == pytest.approx(29.9557, abs=5e-5)
    assert covers(rail_in_face(90.0, 38.0, MIDDLE), "segment") == pytest.approx([expected], abs=SAGITTA)


def test_inner_cover_of_a_rail_mortise_in_the_face() -> None:
    assert MIDDLE - 19.0 - RI == 31.0
    assert covers(rail_in_face(90.0, 38.0, MIDDLE, 1100.0), "segment") == pytest.approx([31.0], abs=SAGITTA)


@pytest.mark.parametrize(("ro", "severity"), [(986.8, "warn"), (981.9, "warn"), (981.8, "stop"), (978.0, "stop")])
def test_a_cover_is_warned_of_below_10_mm_and_refused_below_5(ro: float, severity: str) -> None:
    """The corner at the bottom of the mortise lies at hypot(975, 60) = 976.844 mm."""
    expected = ro - math.hypot(MIDDLE + 25.0, 60.0)
    found = thin_wall(place(two_segments(50.0, 60.0, ro)), Shop())
    assert [f.severity for f in found] == [severity, severity]
    assert all(f.late and f.stage == "glue up" and f.joints == ("tie",) for f in found)
    assert [f.amount.value for f in found if f.amount] == pytest.approx([expected, expected], abs=SAGITTA)


def test_a_cover_of_10_mm_is_enough() -> None:
    assert thin_wall(place(two_segments(50.0, 60.0, 986.86)), Shop()) == []


@pytest.mark.parametrize(("ro", "by"), [(970.0, 6.844), (976.0, 0.844), (976.8, 0.044)])
def test_a_curve_below_the_corner_lays_the_mortise_open(ro: float, by: float) -> None:
    """It comes out by hypot(975, 60) - Ro."""
    found = exposed_joint(place(two_segments(50.0, 60.0, ro)), Shop())
    assert [(f.severity, f.late, f.stage) for f in found] == [("stop", True, "glue up")] * 2
    assert [f.amount.value for f in found if f.amount] == pytest.approx([by, by], abs=SAGITTA + 1e-3)


@pytest.mark.parametrize("ri", [931.5, 940.0])
def test_a_curve_above_the_middle_of_a_rail_mortise_lays_it_open(ri: float) -> None:
    """The inside of the rail mortise is straight and lies at 931 mm on the axis: the curve reaches Ri - 931 into it."""
    (found,) = exposed_joint(place(rail_in_face(90.0, 38.0, MIDDLE, RO, ri)), Shop())
    assert found.amount is not None and found.amount.value == pytest.approx(ri - 931.0, abs=SAGITTA)
