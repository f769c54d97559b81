"""What the options of every family share: how they are read, and how a stock is looked up."""

from __future__ import annotations

from collections.abc import Mapping
from importlib.resources import files
from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from model.errors import DraftError
from model.stock import Stock
from model.units import Length

PARTS_MOST = 2000
"""No family drafts more parts than this."""
FIT_MOST = 2.0
"""A joint with more clearance than this per side, mm, is no joint."""


def _fit(mm: float) -> float:
    if not 0.0 <= mm <= FIT_MOST:
        raise ValueError(f"a clearance lies between 0 and {FIT_MOST:g} mm")
    return mm


Fit = Annotated[Length, AfterValidator(_fit)]
"""A clearance per side, mm, read in the file's unit."""


class Options(BaseModel):
    """Options of a family: frozen, and a key it does not know is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    fit: Fit = Field(default=0.1, description="clearance per side of every joint")


def stock_for(key: str, name: str, stock: Mapping[str, Stock]) -> Stock:
    """Return the stock an option names; DraftError lists those the design has."""
    found = stock.get(name)
    if found is None:
        have = ", ".join(sorted(stock)) or "none yet"
        raise DraftError(key, name, f"the name of a [stock] table (this design has: {have})")
    return found


def starter_text(name: str) -> str:
    """Return the starter file of a family."""
    return (files("model") / "data" / "start" / f"{name}.toml").read_text(encoding="utf-8")
