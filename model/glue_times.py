"""How long a glue stays open, may wait closed, keeps its clamps and takes to bear a load, at a shop's temperature.

The figures stand in `model/data/glue_times.csv`, each with its status: common practice
throughout, for 20 °C. Warmth halves a glue's times every ten degrees, cold doubles them
(common practice, no source: halved at 30 °C). The glue's data sheet comes first, and what a
shop says of its glue is taken to be what stands on the label, for 20 °C.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from model.glues import says
from model.shop import Shop

AT = 20.0
"""The temperature that labels and table speak of, °C."""
TEN = 10.0
"""Degrees in which a glue's times halve, °C (common practice, no source)."""
OTHER = "any other"


@dataclass(frozen=True)
class GlueTimes:
    """Times of a glue at a shop's temperature: `open`, `closed`, `clamped`, min; `load`, h.

    `least`: the coldest it sets at, °C. `of`: whose figures they are.
    """

    open: float
    closed: float
    clamped: float
    load: float
    least: float
    of: str


@cache
def _table() -> Mapping[str, Mapping[str, str]]:
    text = (files("model") / "data" / "glue_times.csv").read_text(encoding="utf-8")
    return {row["glue"]: row for row in csv.DictReader(text.splitlines())}


def kind_of(name: str) -> str:
    """Return the kind of glue of the table that a name says by whole words; "any other" where none or several."""
    found = [kind for kind, row in _table().items() if row["words"] and says(name, row["words"].split(";"))]
    return found[0] if len(found) == 1 else OTHER


def glue_times(shop: Shop) -> GlueTimes:
    """Return the times of a shop's glue at its temperature.

    Where the shop says how long its glue stays open, and not how long a joint may wait closed,
    the table's closed time is stretched or shortened with it, and is never less than the open one.
    """
    kind = kind_of(shop.glue)
    row = {key: float(value) for key, value in _table()[kind].items() if key.endswith(("_min", "_h", "_c"))}
    share = shop.open_minutes / row["open_min"]
    closed = max(shop.open_minutes, row["closed_min"] * share) if shop.closed_minutes is None else shop.closed_minutes
    clamped = row["clamped_min"] if shop.clamp_minutes is None else shop.clamp_minutes
    load = row["load_h"] if shop.cure_hours is None else shop.cure_hours
    warmth = 2.0 ** ((AT - shop.temperature) / TEN)
    return GlueTimes(shop.open_minutes * warmth, closed * warmth, clamped * warmth, load * warmth, row["least_c"],
                     shop.glue if kind == OTHER else kind)
