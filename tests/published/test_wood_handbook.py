"""Density and movement of wood against the Wood Handbook, FPL-GTR-190 (2010).

Status, beside each check: "read" was seen in the handbook or a page quoting it, "from
memory" was not seen, "derived" follows by arithmetic. No figure here was taken from the
2021 edition (FPL-GTR-282), which was not read.
"""

from __future__ import annotations

import pytest

from model.part import Part
from model.shapes.board import board
from model.stock import Stock, nominals, species

SPECIFIC_GRAVITY_12 = {
    "Douglas-fir, coast": 0.48, "Douglas-fir, interior south": 0.46, "Western hemlock (hem-fir)": 0.45,
    "Noble fir (hem-fir)": 0.39, "Engelmann spruce (SPF)": 0.35, "Western larch": 0.52,
}
"""Specific gravity on mass oven-dry and volume at 12 % moisture: read in an Oregon State extension table that
quotes the handbook's Table 5-3."""

FIBRE_SATURATION = {"Western redcedar": 22.0, "Northern white-cedar": 22.0}
"""Moisture of fibre saturation, %: 22 for these cedars, from memory; 30 for all others."""


@pytest.mark.parametrize(("name", "gravity"), SPECIFIC_GRAVITY_12.items())
def test_density_at_twelve_per_cent(name: str, gravity: float) -> None:
    """Chapter 4: density = 1000 G (1 + M/100) kg/m³, G on the volume at M. Derived from the read gravity."""
    assert species()[name].density == pytest.approx(1000.0 * gravity * 1.12, abs=0.01)


def test_mass_of_an_eight_foot_two_by_six() -> None:
    """Coast Douglas-fir, G 0.48 (read): 537.6 kg/m³ on the dressed size gives 6.98 kg, derived."""
    size = nominals()["2x6"]
    stock = Stock("segments", species()["Douglas-fir, coast"], size.thickness, size.width, size)
    assert Part("plank", board(stock, 2438.4)).mass == pytest.approx(6.98, abs=0.005)


@pytest.mark.parametrize(("name", "radial", "tangential", "s_r", "s_t"), [
    ("White ash", 0.00169, 0.00274, 4.9, 7.8),
    ("Black locust", 0.00158, 0.00252, 4.6, 7.2),
])
def test_change_coefficients_follow_from_shrinkage(name: str, radial: float, tangential: float,
                                                   s_r: float, s_t: float) -> None:
    """Table 13-5 coefficients (read) against Table 4-3 green-to-dry shrinkage in % (read; locust's from memory):
    with fibre saturation at 30 %, C = (S/30) / (1 - S (30 - 10)/30), derived."""
    kind = species()[name]
    assert (kind.radial_change, kind.tangential_change) == (radial, tangential)
    for coefficient, shrinkage in ((radial, s_r / 100.0), (tangential, s_t / 100.0)):
        assert coefficient == pytest.approx(shrinkage / 30.0 / (1.0 - shrinkage * 20.0 / 30.0), abs=1e-5)


@pytest.mark.parametrize(("name", "s_r", "s_t"), [
    ("Douglas-fir, coast", 4.8, 7.6), ("Noble fir (hem-fir)", 4.3, 8.3), ("Yellow-cedar (Alaska)", 2.8, 6.0),
    ("Western redcedar", 2.4, 5.0), ("Northern white-cedar", 2.2, 4.9),
])
def test_softwood_coefficients_agree_with_read_shrinkage(name: str, s_r: float, s_t: float) -> None:
    """Table 4-3 shrinkage (read) against the table's softwood coefficients (from memory), by the same relation."""
    kind, m = species()[name], FIBRE_SATURATION.get(name, 30.0)
    for coefficient, shrinkage in ((kind.radial_change, s_r / 100.0), (kind.tangential_change, s_t / 100.0)):
        assert coefficient == pytest.approx(shrinkage / m / (1.0 - shrinkage * (m - 10.0) / m), abs=2e-5)
