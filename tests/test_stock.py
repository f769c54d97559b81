"""The tables of lumber and species: whole, in agreement with themselves, read-only."""

from __future__ import annotations

import csv
from importlib.resources import files

import pytest

from model.stock import INCH, Stock, nominals, species


def rows(name: str) -> list[dict[str, str]]:
    return list(csv.DictReader((files("model") / "data" / name).read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("name", ["lumber_us.csv", "species.csv"])
def test_every_row_says_where_its_figures_come_from(name: str) -> None:
    for row in rows(name):
        assert None not in row and None not in row.values(), row
        said = [value for key, value in row.items() if "status" in key]
        assert said and any(v.startswith(("read", "memory")) for v in said), row


@pytest.mark.parametrize("row", rows("lumber_us.csv"), ids=lambda r: r["nominal"])
def test_a_row_of_lumber_agrees_with_itself(row: dict[str, str]) -> None:
    """Millimetres are the inches times 25.4 to the hundredth; green wood is never smaller than dry."""
    for side in ("dry_t", "dry_w", "green_t", "green_w"):
        assert float(row[f"{side}_mm"]) == pytest.approx(float(row[f"{side}_in"]) * INCH, abs=0.0051)
    assert float(row["green_t_in"]) >= float(row["dry_t_in"])
    assert float(row["green_w_in"]) >= float(row["dry_w_in"])
    size = nominals()[row["nominal"]]
    assert (size.thickness, size.width) == pytest.approx((float(row["dry_t_mm"]), float(row["dry_w_mm"])), abs=0.0051)
    assert size.board_feet_per_foot == pytest.approx(float(row["board_ft_per_ft"]), abs=5e-5)
    assert size.thickness <= size.width


def test_species_are_plausible_wood() -> None:
    """From northern white-cedar to black locust: every density a known species has at 12 %, tangential
    change above radial (common knowledge of wood anatomy, no source)."""
    assert len(species()) >= 20
    for name, kind in species().items():
        assert kind.name == name
        assert 300.0 <= kind.density <= 850.0
        assert kind.decay
        if kind.radial_change is not None and kind.tangential_change is not None:
            assert 0.0005 < kind.radial_change < kind.tangential_change < 0.005


def test_board_feet_are_billed_by_nominal_size() -> None:
    fir = species()["Douglas-fir, coast"]
    size = nominals()["2x6"]
    board = Stock("rails", fir, size.thickness, size.width, size)
    planed = Stock("rails", fir, 33.0, 120.0, size)
    assert board.board_feet(96 * INCH) == planed.board_feet(96 * INCH) == pytest.approx(8.0)
    assert Stock("offcut", fir, 30.0, 30.0).board_feet(1000.0) is None
