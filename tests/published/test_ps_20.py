"""Dressed sizes and board feet against the American Softwood Lumber Standard, PS 20 (2020), sizes at 19 % or drier.

Status: the sizes were read in secondary lists that quote the standard, not in the standard
itself; the rows of the project's table that were not seen anywhere are left out here.
Board feet are derived: 144 cubic inches of nominal size.
"""

from __future__ import annotations

import pytest

from model.stock import BOARD_FOOT_IN3, INCH, Stock, nominals, species

DRESSED_IN = {
    "1x4": (3 / 4, 3 + 1 / 2), "1x6": (3 / 4, 5 + 1 / 2), "1x8": (3 / 4, 7 + 1 / 4),
    "1x10": (3 / 4, 9 + 1 / 4), "1x12": (3 / 4, 11 + 1 / 4),
    "2x3": (1 + 1 / 2, 2 + 1 / 2), "2x4": (1 + 1 / 2, 3 + 1 / 2), "2x6": (1 + 1 / 2, 5 + 1 / 2),
    "2x8": (1 + 1 / 2, 7 + 1 / 4), "2x10": (1 + 1 / 2, 9 + 1 / 4), "2x12": (1 + 1 / 2, 11 + 1 / 4),
    "3x4": (2 + 1 / 2, 3 + 1 / 2), "3x6": (2 + 1 / 2, 5 + 1 / 2),
    "4x4": (3 + 1 / 2, 3 + 1 / 2), "4x6": (3 + 1 / 2, 5 + 1 / 2),
}
"""Nominal size: dressed dry thickness and width, in. PS 20, boards, dimension and timbers, read (secondary lists)."""

METRIC_MM = {"2x4": (38, 89), "2x6": (38, 140), "2x8": (38, 184), "2x10": (38, 235), "2x12": (38, 286), "4x4": (89, 89)}
"""The same sizes as sold in millimetres, rounded to whole ones, read (secondary lists)."""


@pytest.mark.parametrize(("nominal", "dressed"), DRESSED_IN.items())
def test_dressed_dry_sizes_in_inches(nominal: str, dressed: tuple[float, float]) -> None:
    size = nominals()[nominal]
    assert (size.thickness / 25.4, size.width / 25.4) == pytest.approx(dressed, abs=1e-12)


@pytest.mark.parametrize(("nominal", "metric"), METRIC_MM.items())
def test_dressed_dry_sizes_in_whole_millimetres(nominal: str, metric: tuple[int, int]) -> None:
    size = nominals()[nominal]
    assert (round(size.thickness), round(size.width)) == metric


def test_an_eight_foot_two_by_six_is_eight_board_feet() -> None:
    """2 in x 6 in x 8 ft / 12 = 8, derived; billed by nominal size although it is dressed smaller."""
    size = nominals()["2x6"]
    stock = Stock("segments", species()["Douglas-fir, coast"], size.thickness, size.width, size)
    assert stock.board_feet(8 * 12 * INCH) == pytest.approx(8.0, abs=1e-12)
    assert size.thickness * size.width * 8 * 12 * INCH < 8 * 144 * 25.4**3


def test_a_board_foot_in_cubic_metres() -> None:
    """144 in³ = 0.002359737 m³, derived from 1 in = 25.4 mm exactly."""
    cubic_metres = BOARD_FOOT_IN3 * (INCH / 1000.0) ** 3
    assert cubic_metres == pytest.approx(0.002359737, abs=1e-9)
