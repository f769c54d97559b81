"""Shares of long grain worked out by hand, for the limits of the Wood Handbook, FPL-GTR-190, chapter 10, bonded joints.

Read there: joints of end grain to end grain cannot meet ordinary service by usual means; with
special techniques they reach about 25 % of the strength along the grain. The areas are derived.
"""

from __future__ import annotations

from math import cos, pi, radians

import pytest

from assembly.checks.grain import END_GRAIN_NOTE
from assembly.grain import Share, shares
from assembly.placing import place
from model.design import Design
from model.shapes.board import board
from model.shapes.mitred_board import mitred_board
from tests.joined import facing, pair, usual
from tests.zoo import milled

WIDTH, THICKNESS = 140.0, 40.0
STOCK = milled("plank", THICKNESS, WIDTH)


def the_share(design: Design) -> Share:
    found = list(shares(place(design)))
    assert len(found) == 1
    return found[0]


def test_the_limit_is_the_handbooks() -> None:
    assert END_GRAIN_NOTE == 0.25


def test_a_butt_joint_is_all_end_grain() -> None:
    """End against edge: the whole section of 140 by 40 mm."""
    a, b = board(STOCK, 500.0), board(milled("post", 140.0, 140.0), 900.0)
    share = the_share(pair("glued face", a, b, a.place("end"), facing(b.place("face", 450.0))))
    assert share.area == pytest.approx(WIDTH * THICKNESS, rel=1e-9)
    assert share.share == 0.0


def test_two_ends_are_all_end_grain() -> None:
    a, b = board(STOCK, 500.0), board(STOCK, 500.0)
    share = the_share(pair("glued face", a, b, a.place("end"), facing(b.place("start"))))
    assert (share.area, share.share) == (pytest.approx(5600.0, rel=1e-9), 0.0)


@pytest.mark.parametrize(("angle", "share"), [(10.0, 0.0), (30.0, 0.0), (45.0, 0.0), (46.0, 1.0), (60.0, 1.0)])
def test_a_mitre_is_end_grain_up_to_45_degrees_from_square(angle: float, share: float) -> None:
    """The cut is 140 / cos(angle) by 40 mm; its grain meets it at 90 degrees less the angle."""
    a = mitred_board(STOCK, 500.0, end_angle=radians(angle))
    found = the_share(pair("glued face", a, a, a.place("end"), facing(a.place("end"), pi)))
    assert found.area == pytest.approx(5600.0 / cos(radians(angle)), rel=1e-6)
    assert found.share == share


def test_a_half_lap() -> None:
    """Two boards of 140 by 40 mm crossing at right angles, each halved: the lap plane is 140 x 140 mm of long grain;
    with a fit of 0.1 mm each of the four walls touches within the fit: 140 x 20 mm, the end grain of the one against
    the edge of the other. 19600 of 19600 + 4 x 2800 mm²: 0.636."""
    share = the_share(usual("cross lap"))
    assert share.long == pytest.approx(19600.0, rel=1e-6)
    assert share.area == pytest.approx(19600.0 + 4 * 2800.0, rel=0.005)
    assert share.share == pytest.approx(0.636, abs=0.002)


def test_a_blind_tenon() -> None:
    """A tenon 90 by 12 by 50 mm on a board of 140 by 40 mm, fit 0: two cheeks of 90 x 50 mm are long grain; two edges
    of 12 x 50 mm lie on end grain, the shoulder of 140 x 40 less 90 x 12 mm is end grain."""
    a, b = board(STOCK, 500.0), board(milled("post", 100.0, 140.0), 900.0)
    share = the_share(pair("blind tenon", a, b, a.place("end"), facing(b.place("face", 450.0)), fit=0.0,
                           sizes={"width": 90.0, "thickness": 12.0, "depth": 50.0, "bottom": 2.0}))
    assert share.long == pytest.approx(2 * 90.0 * 50.0, rel=1e-6)
    assert share.area == pytest.approx(2 * 90.0 * 50.0 + 2 * 12.0 * 50.0 + 140.0 * 40.0 - 90.0 * 12.0, rel=1e-6)
    assert share.share == pytest.approx(9000.0 / 14720.0, abs=1e-6)


def test_a_loose_tenon_counts_with_one_of_its_halves() -> None:
    """Two boards end to end, a loose tenon 80 by 13 by 100 mm, fit 0: the pull goes through one half after the other,
    so one half counts: cheeks 2 x 80 x 50 mm of long grain and its edges 2 x 13 x 50 mm too, since both grains run
    along it; the ends meet over 140 x 40 less the mortise's 80 x 13 mm."""
    a, b = board(STOCK, 500.0), board(STOCK, 500.0)
    share = the_share(pair("loose tenon", a, b, a.place("end"), facing(b.place("start")), fit=0.0,
                           sizes={"width": 80.0, "thickness": 13.0, "length": 100.0}))
    long = 2 * 80.0 * 50.0 + 2 * 13.0 * 50.0
    assert share.long == pytest.approx(long, rel=1e-6)
    assert share.area == pytest.approx(long + 140.0 * 40.0 - 80.0 * 13.0, rel=1e-6)
