"""The tables of a design file, each validated on its own, so that one bad table hides no other's problems."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from model.families import FAMILIES
from model.joints import KINDS
from model.reader.lines import Where
from model.reader.problems import Problems
from model.reader.schema import (
    JOINTS_MOST,
    NAME_ACCEPTED,
    PARTS_MOST,
    PATTERNS_MOST,
    STAGES_MOST,
    Heading,
    JointTable,
    PartTable,
    PatternTable,
    ShopTable,
    StageTable,
    Stand,
    StockTable,
    is_name,
    joint_model,
    part_model,
)
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
    refused: dict[str, frozenset[str]] = field(default_factory=dict)
    """The names of the tables that could not be read, by section: they are not missed a second time."""


def tables_of(raw: Mapping[str, Any], problems: Problems) -> Tables:
    """Return the tables of a file's values, noting every problem of every table."""
    unit = raw.get("unit")
    reader = _Reader(problems, unit if unit in ("mm", "in") else "mm")
    tables = Tables(unit=reader.unit)
    problems.unit = reader.unit
    tables.heading = reader.table((), dict(raw), Heading)
    tables.stand = reader.optional(raw, "stand", Stand)
    tables.shop = reader.optional(raw, "shop", ShopTable)
    tables.base = raw["base"] if isinstance(raw.get("base"), str) else None
    tables.wants_family = "family" in raw
    tables.family = reader.family(raw)
    tables.stocks = reader.each(raw, "stock", PARTS_MOST, lambda *_: StockTable)
    tables.parts = reader.each(raw, "part", PARTS_MOST, reader.part)
    tables.joints = reader.each(raw, "joint", JOINTS_MOST, reader.joint)
    tables.patterns = reader.each(raw, "pattern", PATTERNS_MOST, lambda *_: PatternTable)
    tables.stages = reader.stages(raw)
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
    unit: str

    def table(self, path: Where, value: object, model: type[T]) -> T | None:
        """Return one table validated, or None with its problems noted."""
        if not isinstance(value, dict):
            self.problems.add(path, "must be a table", value)
            return None
        try:
            return model.model_validate(value, context={"unit": self.unit})
        except ValidationError as error:
            self.problems.add_pydantic(path, error, model)
            return None

    def optional(self, raw: Mapping[str, Any], key: str, model: type[T]) -> T | None:
        return self.table((key,), raw[key], model) if key in raw else None

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
            elif (model := model_for(name, entry)) and (table := self.table((key, name), entry, model)):
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
        options = self.table(("family",), given, FAMILIES[kind].options)
        return None if options is None else FamilyTable(kind, options)

    def stages(self, raw: Mapping[str, Any]) -> dict[int, StageTable]:
        """Return every [[stage]] that can be read, by its position."""
        value = raw.get("stage", [])
        if not isinstance(value, list) or len(value) > STAGES_MOST:
            self.problems.add(("stage",), "must be a list of tables, each begun with [[stage]]", value,
                              f"at most {STAGES_MOST} of them")
            return {}
        read = {i: self.table(("stage", i), entry, StageTable) for i, entry in enumerate(value)}
        return {i: stage for i, stage in read.items() if stage is not None}
