"""From the file's boards to stock: species and nominal sizes looked up, milled sizes held against the dressed ones."""

from __future__ import annotations

import re

from model.reader.problems import Problems
from model.reader.schema import StockTable
from model.stock import Nominal, Species, Stock, nominals, species
from model.units import show

SLACK = 1e-6
"""A milled size may exceed the dressed size by rounding only, mm."""


def stocks_of(tables: dict[str, StockTable], unit: str, problems: Problems) -> dict[str, Stock]:
    """Return every stock that can be made out, noting what is wrong with the others."""
    found = {name: _stock(name, table, unit, problems) for name, table in tables.items()}
    return {name: stock for name, stock in found.items() if stock is not None}


def _stock(name: str, table: StockTable, unit: str, problems: Problems) -> Stock | None:
    before = len(problems)
    path = ("stock", name)
    kind = _species(table.species)
    if kind is None:
        problems.add((*path, "species"), "no such species in the table", table.species, among=species())
    nominal = None
    if table.nominal is not None:
        nominal = nominals().get(table.nominal)
        if nominal is None:
            problems.add((*path, "nominal"), "no such nominal size", table.nominal, among=nominals())
    elif table.thickness is None or table.width is None:
        missing = "thickness" if table.thickness is None else "width"
        problems.add((*path, missing), "is missing", accepted="a nominal size, or both thickness and width")
    if nominal is not None:
        _within(name, table, nominal, unit, problems)
    if len(problems) > before or kind is None:
        return None
    thickness = table.thickness if table.thickness is not None else nominal.thickness if nominal else 0.0
    width = table.width if table.width is not None else nominal.width if nominal else 0.0
    return Stock(name, kind, thickness, width, nominal, table.length)


def _species(said: str) -> Species | None:
    """Return the species of a name; case, hyphens and what the table adds in brackets do not count."""
    if said in species():
        return species()[said]
    found = [kind for name, kind in species().items() if _words(name.partition("(")[0]) == _words(said)]
    return found[0] if len(found) == 1 else None


def _words(name: str) -> list[str]:
    return re.findall(r"\w+", name.casefold())


def _within(name: str, table: StockTable, nominal: Nominal, unit: str, problems: Problems) -> None:
    """Milling takes wood away: neither size may exceed the dressed dry size of the nominal one (PS 20)."""
    for key, dressed in (("thickness", nominal.thickness), ("width", nominal.width)):
        milled = getattr(table, key)
        if milled is not None and milled > dressed + SLACK:
            problems.add(("stock", name, key), f"a dressed dry {nominal.name} has less", show(milled, unit),
                         f"at most {show(dressed, unit)}")
