"""The revised lifting equation against Waters et al., Ergonomics 36 (1993) 749, and NIOSH publication 94-110 (1994).

Status, beside each check: "read" was seen in a page quoting the source, "from memory" was not seen, "derived"
follows by arithmetic.
"""

from __future__ import annotations

from math import radians

import pytest

from assembly.stance.lifting_equation import LOAD, recommended_weight

INCH, POUND = 25.0, 23.0 / 51.0
"""As the publication converts: 10 in for 25 cm, 51 lb for 23 kg, from memory."""

TABLE = """
25,0,25,17.82 25,0,50,16.22 25,0,100,15.42 25,25,25,19.55 25,25,50,17.79 25,25,100,16.91 25,75,25,23.0 25,75,50,20.93
25,75,100,19.89 25,100,25,21.28 25,100,50,19.36 25,100,100,18.4 25,150,25,17.82 25,150,50,16.22 25,150,100,15.42
25,175,25,16.1 25,175,50,14.65 25,175,100,13.93 30,0,25,14.85 30,0,50,13.52 30,0,100,12.85 30,25,25,16.29
30,25,50,14.83 30,25,100,14.09 30,75,25,19.17 30,75,50,17.44 30,75,100,16.58 30,100,25,17.73 30,100,50,16.13
30,100,100,15.34 30,150,25,14.85 30,150,50,13.52 30,150,100,12.85 30,175,25,13.42 30,175,50,12.21 30,175,100,11.61
40,0,25,11.14 40,0,50,10.14 40,0,100,9.64 40,25,25,12.22 40,25,50,11.12 40,25,100,10.57 40,75,25,14.38 40,75,50,13.08
40,75,100,12.43 40,100,25,13.3 40,100,50,12.1 40,100,100,11.5 40,150,25,11.14 40,150,50,10.14 40,150,100,9.64
40,175,25,10.06 40,175,50,9.16 40,175,100,8.7 50,0,25,8.91 50,0,50,8.11 50,0,100,7.71 50,25,25,9.78 50,25,50,8.9
50,25,100,8.46 50,75,25,11.5 50,75,50,10.46 50,75,100,9.95 50,100,25,10.64 50,100,50,9.68 50,100,100,9.2
50,150,25,8.91 50,150,50,8.11 50,150,100,7.71 50,175,25,8.05 50,175,50,7.33 50,175,100,6.96 63,0,25,7.07 63,0,50,6.44
63,0,100,6.12 63,25,25,7.76 63,25,50,7.06 63,25,100,6.71 63,75,25,9.13 63,75,50,8.31 63,75,100,7.89 63,100,25,8.44
63,100,50,7.68 63,100,100,7.3 63,150,25,7.07 63,150,50,6.44 63,150,100,6.12 63,175,25,6.39 63,175,50,5.81
63,175,100,5.53
"""
"""Hands in front of the ankles, height and distance, cm; recommended weight, kg, without twist, often or grip: derived
from the load constant and the multipliers for reach, height and distance, all read."""
ROWS = [tuple(float(v) for v in row.split(",")) for row in TABLE.split()]


def test_load_constant() -> None:
    """23 kg under the best conditions, read."""
    assert recommended_weight(250.0, 750.0, 250.0) == LOAD == 23.0


@pytest.mark.parametrize(("reach", "height", "lift", "weight"), ROWS)
def test_table(reach: float, height: float, lift: float, weight: float) -> None:
    """Derived, to the hundredth as printed."""
    assert recommended_weight(reach * 10.0, height * 10.0, lift * 10.0) == pytest.approx(weight, abs=0.0051)


@pytest.mark.parametrize(("reach", "height", "lift", "weight"), [
    (40, 75, 50, 13.08), (25, 0, 75, 15.69), (45, 25, 40, 10.128)])
def test_single_values(reach: float, height: float, lift: float, weight: float) -> None:
    """Derived by hand from the multipliers."""
    assert recommended_weight(reach * 10.0, height * 10.0, lift * 10.0) == pytest.approx(weight, abs=0.005)


@pytest.mark.parametrize(("height", "grip", "printed", "unrounded"), [(15, 0.95, 16.3, 16.03), (63, 1.0, 14.5, 14.31)])
def test_punch_press(height: float, grip: float, printed: float, unrounded: float) -> None:
    """A worked example of the publication: hands 23 in out, lifted 48 in, at the start and at the end; 16.3 and
    14.5 lb, from memory. It rounds its multipliers, which makes up to 2 %; unrounded, 16.03 and 14.31, derived."""
    pounds = recommended_weight(23.0 * INCH, height * INCH, 48.0 * INCH, grip=grip) / POUND
    assert pounds == pytest.approx(printed, rel=0.02)
    assert pounds == pytest.approx(unrounded, abs=0.005)


def test_twist() -> None:
    """1 - 0.0032 A, from memory: 0.712 at 90 degrees, derived."""
    assert recommended_weight(250.0, 750.0, 250.0, radians(90.0)) == pytest.approx(23.0 * 0.712, abs=1e-9)


def test_nearer_and_shorter_than_the_least_is_no_better() -> None:
    """Reach and distance below 25 cm count as 25 cm, from memory."""
    assert recommended_weight(100.0, 750.0, 100.0) == recommended_weight(250.0, 750.0, 250.0)


@pytest.mark.parametrize("beyond", [(631, 750, 250, 0), (250, 1751, 250, 0), (250, -1, 250, 0), (250, 750, 1751, 0),
                                    (250, 750, 250, 136)])
def test_nothing_is_lifted_beyond_the_limits(beyond: tuple[float, float, float, float]) -> None:
    """Reach to 63 cm, height to 175 cm, distance to 175 cm, twist to 135 degrees, from memory."""
    reach, height, lift, twist = beyond
    assert recommended_weight(reach, height, lift, radians(twist)) == 0.0


@pytest.mark.parametrize("wrong", [{"reach": -1.0}, {"lift": -1.0}, {"twist": -0.1}, {"pace": 1.1}, {"grip": -0.1}])
def test_what_makes_no_sense_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="0 or more"):
        recommended_weight(**{"reach": 300.0, "height": 750.0, "lift": 250.0, **wrong})
