"""Lengths and angles as a person writes them."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict, ValidationError

from model.units import LONGEST, UNITS, Angle, Length, Size, show, to_mm, to_radians


@pytest.mark.parametrize(("text", "mm"), [
    ("38 mm", 38.0), ("38mm", 38.0), ("3.8 cm", 38.0), ("1.2 m", 1200.0), (".5 in", 12.7),
    ("7 1/2 in", 190.5), ("7/8 in", 22.225), ('7 1/2"', 190.5), ("8 ft 2 in", 2489.2), ("8' 2\"", 2489.2),
    ("8'2 1/2\"", 2501.9), ("-3/4 in", -19.05), ("- 3 mm", -3.0), ("+3 mm", 3.0), ("  12 mm  ", 12.0),
    ("1 m 5 cm", 1050.0),
])
def test_a_length_as_written(text: str, mm: float) -> None:
    assert to_mm(text) == pytest.approx(mm, abs=1e-9)


@pytest.mark.parametrize(("unit", "mm"), [("mm", 12.0), ("in", 304.8), ("m", 12000.0)])
def test_a_bare_number_is_in_the_files_unit(unit: str, mm: float) -> None:
    assert to_mm(12, unit) == to_mm(12.0, unit) == to_mm("12", unit) == pytest.approx(mm)


@pytest.mark.parametrize("value", [
    "", " ", "-", "mm", "12 furlong", "12 mmm", "1/0 in", "7 1/2 in in", "3 in 4", "2 ft 3", "1e3 mm", "0x10 mm",
    "nan", "inf mm", "١٢ furlong", "12 mm; 3", "9" * 61 + " mm", "1,5 mm", True, None, [1], {"mm": 1}, math.nan,
    math.inf, -math.inf, LONGEST * 1.01, f"{LONGEST / 1000 + 1} m",
])
def test_what_is_no_length_is_refused(value: object) -> None:
    with pytest.raises(ValueError):
        to_mm(value)


@given(whole=st.integers(0, 300), sixteenths=st.integers(0, 15), unit=st.sampled_from(["in", '"', " in"]))
def test_inches_to_a_sixteenth_survive_being_shown_and_read(whole: int, sixteenths: int, unit: str) -> None:
    inches = Fraction(sixteenths, 16)
    mm = to_mm(f"{whole} {inches}{unit}" if inches else f"{whole}{unit}")
    assert mm == pytest.approx(float(25.4 * (whole + inches)), abs=1e-9)
    assert to_mm(show(mm, "in")) == pytest.approx(mm, abs=1e-9)


@given(mm=st.floats(-LONGEST, LONGEST))
def test_what_is_shown_can_be_read_and_is_as_near_as_it_says(mm: float) -> None:
    assert to_mm(show(mm)) == pytest.approx(mm, abs=0.05 + 1e-9)
    assert to_mm(show(mm, "in")) == pytest.approx(mm, abs=25.4 / 32 + 1e-9)


@given(value=st.floats(0.001, 90.0), unit=st.sampled_from(sorted(UNITS)))
def test_a_number_and_its_text_say_the_same(value: float, unit: str) -> None:
    mm = value * UNITS[unit]
    text = f"{value:.6f} {unit}"
    assert to_mm(text) == pytest.approx(mm, abs=1e-6 * UNITS[unit])


@given(text=st.text(alphabet="0123456789 ./-+'\"mincftxeE", max_size=80))
def test_no_text_does_anything_but_read_or_be_refused(text: str) -> None:
    try:
        mm = to_mm(text)
    except ValueError:
        return
    assert math.isfinite(mm) and abs(mm) <= LONGEST


@pytest.mark.parametrize(("value", "degrees"), [
    (15, 15), ("15 deg", 15), ("7.5°", 7.5), ("-22.5 degrees", -22.5), ("0", 0),
])
def test_an_angle_as_written(value: object, degrees: float) -> None:
    assert to_radians(value) == pytest.approx(math.radians(degrees))


@pytest.mark.parametrize("value", ["", "steep", "nan", "361", -400, True, None, math.inf, "15 mm"])
def test_what_is_no_angle_is_refused(value: object) -> None:
    with pytest.raises(ValueError):
        to_radians(value)


class _Piece(BaseModel):
    model_config = ConfigDict(frozen=True)
    shift: Length = 0.0
    long: Size
    lean_angle: Angle = 0.0


def test_fields_read_in_the_files_unit() -> None:
    piece = _Piece.model_validate({"long": "8 ft", "shift": -1, "lean_angle": 10}, context={"unit": "in"})
    assert (piece.long, piece.shift, piece.lean_angle) == pytest.approx((2438.4, -25.4, math.radians(10)))


@pytest.mark.parametrize("long", [0, -1, "-3 mm", "0 in"])
def test_a_size_must_be_more_than_nothing(long: object) -> None:
    with pytest.raises(ValidationError, match="more than nothing"):
        _Piece.model_validate({"long": long})
