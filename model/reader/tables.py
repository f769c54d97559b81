"""The tables of a design file, each validated on its own, so that one bad table hides no other's problems."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

from pydantic import BaseModel

from model.families import FAMILIES
from model.joints import KINDS
from model.reader.as_cut import Entry, entries_of
from model.reader.lines import Where
from model.reader.problems import Problems
from model.reader.schema import (
    FLUSH_MOST,
    JOINTS_MOST,
    NAME_ACCEPTED,
    PARTS_MOST,
    PATTERNS_MOST,
    PINS_MOST,
    STAGES_MOST,
    FlushTable,
    Heading,
    JointTable,
    PartTable,
    PatternTable,
    PinTable,
    StageTable,
    Stand,
    StockTable,
    is_name,
    joint_model,
    part_model,
)
from model.reader.shop_tables import ShopTable
from model.shapes import SHAPES

T = TypeVar("T", bound=BaseModel)


@dataclass(frozen=True)
class FamilyTable:
    """A family and its options, as that family validates them."""

    kind: str
    options: BaseModel


@dataclass
class Tables:
    """What the file says, table by table."""

    heading: Heading | None = None
    unit: str = "mm"
    stand: Stand | None = None
    shop: ShopTable | None = None
    base: str | None = None
    family: FamilyTable | None = None
    wants_family: bool = False
    stocks: dict[str, StockTable] = field(default_factory=dict)
    parts: dict[str, PartTable] = field(default_factory=dict)
    joints: dict[str, JointTable] = field(default_factory=dict)
    patterns: dict[str, PatternTable] = field(default_factory=dict)
    stages: dict[int, StageTable] = field(default_factory=dict)
    pins: dict[int, PinTable] = field(default_factory=dict)
    flush: dict[int, FlushTable] = field(default_factory=dict)
    as_cut: list[Entry] = field(default_factory=list)
    refused: dict[str, frozenset[str]] = field(default_factory=dict)
    """The names of the tables that could not be read, by section: they are not missed a second time."""


def tables_of(raw: Mapping[str, Any], problems: Problems) -> Tables:
    """Return the tables of a file's values, noting every problem of every table."""
    unit = raw.get("unit")
    problems.unit = unit if unit in ("mm", "in") else "mm"
    reader = _Reader(problems)
    tables = Tables(unit=problems.unit)
    tables.heading = problems.validated((), dict(raw), Heading)
    tables.stand = reader.optional(raw, "stand", Stand)
    tables.shop = reader.optional(raw, "shop", ShopTable)
    tables.base = raw["base"] if isinstance(raw.get("base"), str) else None
    tables.wants_family = "family" in raw
    tables.family = reader.family(raw)
    tables.stocks = reader.each(raw, "stock", PARTS_MOST, lambda *_: StockTable)
    tables.parts = reader.each(raw, "part", PARTS_MOST, reader.part)
    tables.joints = reader.each(raw, "joint", JOINTS_MOST, reader.joint)
    tables.patterns = reader.each(raw, "pattern", PATTERNS_MOST, lambda *_: PatternTable)
    tables.stages = reader.listed(raw, "stage", STAGES_MOST, StageTable)
    tables.pins = reader.listed(raw, "pin", PINS_MOST, PinTable)
    tables.flush = reader.listed(raw, "flush", FLUSH_MOST, FlushTable)
    tables.as_cut = entries_of(raw["as_cut"], problems) if "as_cut" in raw else []
    for key, read in (("stock", tables.stocks), ("part", tables.parts), ("joint", tables.joints),
                      ("pattern", tables.patterns)):
        tables.refused[key] = frozenset(raw[key]) - frozenset(read) if isinstance(raw.get(key), dict) else frozenset()
    entries = raw["stage"] if isinstance(raw.get("stage"), list) else []
    tables.refused["stage"] = frozenset(str(e.get("name")) for i, e in enumerate(entries)
                                        if isinstance(e, dict) and i not in tables.stages)
    return tables


@dataclass(frozen=True)
class _Reader:
    problems: Problems

    def optional(self, raw: Mapping[str, Any], key: str, model: type[T]) -> T | None:
        return self.problems.validated((key,), raw[key], model) if key in raw else None

    def each(self, raw: Mapping[str, Any], key: str, most: int,
             model_for: Callable[[str, object], type[T] | None]) -> dict[str, T]:
        """Return every table under a key ([part.NAME]) that can be read."""
        value = raw.get(key, {})
        if not isinstance(value, dict):
            self.problems.add((key,), f"must hold named tables such as [{key}.NAME]", value)
            return {}
        if len(value) > most:
            self.problems.add((key,), f"holds {len(value):,} tables", accepted=f"at most {most:,}")
            return {}
        found: dict[str, T] = {}
        for name, entry in value.items():
            if not is_name(name):
                self.problems.add((key, name), "cannot be used as a name", name, NAME_ACCEPTED)
            elif (model := model_for(name, entry)) and (table := self.problems.validated((key, name), entry, model)):
                found[name] = table
        return found

    def part(self, name: str, entry: object) -> type[PartTable] | None:
        """Return the model of a part's table, as its shape asks."""
        shape = self._chosen(("part", name), entry, "shape", SHAPES)
        return part_model(shape) if shape else None

    def joint(self, name: str, entry: object) -> type[JointTable] | None:
        """Return the model of a joint's table, as its kind asks."""
        kind = self._chosen(("joint", name), entry, "kind", KINDS)
        return joint_model(kind) if kind else None

    def _chosen(self, path: Where, entry: object, key: str, known: Mapping[str, Any]) -> str | None:
        if not isinstance(entry, dict):
            self.problems.add(path, "must be a table", entry)
        elif key not in entry:
            self.problems.add((*path, key), "is missing", among=known)
        elif not isinstance(entry[key], str) or entry[key] not in known:
            self.problems.add((*path, key), f"no such {key}", entry[key], among=known)
        else:
            return str(entry[key])
        return None

    def family(self, raw: Mapping[str, Any]) -> FamilyTable | None:
        """Return the family and its options."""
        if "family" not in raw:
            return None
        kind = self._chosen(("family",), raw["family"], "kind", FAMILIES)
        if kind is None:
            return None
        given = {k: v for k, v in raw["family"].items() if k != "kind"}
        options = self.problems.validated(("family",), given, FAMILIES[kind].options)
        return None if options is None else FamilyTable(kind, options)

    def listed(self, raw: Mapping[str, Any], key: str, most: int, model: type[T]) -> dict[int, T]:
        """Return every table of a list ([[stage]]) that can be read, by its position."""
        value = raw.get(key, [])
        if not isinstance(value, list) or len(value) > most:
            self.problems.add((key,), f"must be a list of tables, each begun with [[{key}]]", value,
                              f"at most {most:,} of them")
            return {}
        read = {i: self.problems.validated((key, i), entry, model) for i, entry in enumerate(value)}
        return {i: table for i, table in read.items() if table is not None}
