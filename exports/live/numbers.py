"""The named numbers of a design file: every length, angle, count and plain number, with the bytes where it stands."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from model.errors import DesignError
from model.families import FAMILIES
from model.joints import KINDS
from model.reader.as_cut import BoardTable, CutTable, PartAsCutTable
from model.reader.fields import Counted, field_at, number_at
from model.reader.lines import Lines, Span, Where, lines_of
from model.reader.pieces import holds_pieces
from model.reader.problems import Problems, dotted, printable
from model.reader.schema import PatternTable, Stand, StockTable, joint_model, part_model
from model.reader.shop_tables import ShopTable
from model.reader.text import parsed, text_of
from model.shapes import SHAPES

BOM = b"\xef\xbb\xbf"
MOST = 2_000
"""More numbers than this are not offered: nobody finds one among them, and they would weigh the page down."""
HINT_MOST = 200
TEXT_MOST = 60
"""No number is longer than this, as `model.units` has it."""

Spot = tuple[type[BaseModel], Where]
_PLAIN: dict[str, type[BaseModel]] = {"shop": ShopTable, "stand": Stand}
_NAMED: dict[str, type[BaseModel]] = {"stock": StockTable, "pattern": PatternTable}


@dataclass(frozen=True)
class Number:
    """One number: its path and key, its words for people, and from which byte to before which it stands in the file.

    `text` is what stands there, without its quotes where it has some (`quote`).
    """

    path: Where
    key: str
    says: str
    group: str
    hint: str
    text: str
    kind: Counted
    line: int
    start: int
    end: int
    quote: str

    def told(self) -> dict[str, Any]:
        """Return what the page is told of it."""
        return {"key": self.key, "says": self.says, "group": self.group, "hint": self.hint, "text": self.text,
                "kind": self.kind, "line": self.line}


def numbers(raw: bytes) -> list[Number]:
    """Return the named numbers of a design file's bytes, the family's first, else as they stand.

    None when it is no TOML. Left out: what cannot be told from another by its key.
    """
    try:
        text = raw.decode("utf-8-sig")
        values = parsed(text, Problems("", text))
    except (UnicodeDecodeError, DesignError):
        return []
    shift = len(BOM) if raw.startswith(BOM) else 0
    found = list(_found(values, lines_of(text), raw, shift))
    times: dict[str, int] = {}
    for one in found:
        times[one.key] = times.get(one.key, 0) + 1
    kept = [one for one in found if times[one.key] == 1][:MOST]
    return sorted(kept, key=lambda one: one.path[0] != "family")


def told_of(path: Path) -> list[dict[str, Any]]:
    """Return what the page is told of the numbers of a file; of one that is no readable design file, nothing."""
    if holds_pieces(path):
        return []
    try:
        text_of(path)
        return [one.told() for one in numbers(path.read_bytes())]
    except (DesignError, OSError):
        return []


def _found(values: Mapping[str, Any], lines: Lines, raw: bytes, shift: int) -> Iterator[Number]:
    for path, span in lines.value.items():
        spot = _spot(values, path)
        if spot is not None and (kind := number_at(*spot)) is not None:
            literal = raw[span.start + shift:span.end + shift].decode()
            text = _text(literal, span, kind)
            if text is not None:
                yield Number(path, dotted(path), _says(path), _group(path), _hint(*spot), text, kind,
                             lines.line.get(path, 1), span.start + shift, span.end + shift,
                             literal[0] if span.grammar == "string" else "")


def _spot(values: Mapping[str, Any], path: Where) -> Spot | None:
    """Return the model of the table in which a value stands, and where in it; None where no table holds numbers."""
    match path:
        case ("family", *rest):
            family = FAMILIES.get(_word(values, ("family", "kind")))
            return None if family is None else (family.options, tuple(rest))
        case ("part", str() as name, *rest):
            shape = _word(values, ("part", name, "shape"))
            return (part_model(shape), tuple(rest)) if shape in SHAPES else None
        case ("joint", str() as name, *rest):
            kind = _word(values, ("joint", name, "kind"))
            return (joint_model(kind), tuple(rest)) if kind in KINDS else None
        case ("as_cut", "boards", str(), *rest):
            return BoardTable, tuple(rest)
        case ("as_cut", "parts", str(), "joint", str(), *rest):
            return CutTable, tuple(rest)
        case ("as_cut", "parts", str(), *rest):
            return PartAsCutTable, tuple(rest)
        case (str() as section, *rest) if section in _PLAIN:
            return _PLAIN[section], tuple(rest)
        case (str() as section, str(), *rest) if section in _NAMED:
            return _NAMED[section], tuple(rest)
    return None


def _word(values: Any, path: Where) -> str:
    for step in path:
        values = values.get(step) if isinstance(values, Mapping) else None
    return values if isinstance(values, str) else ""


def _text(literal: str, span: Span, kind: Counted) -> str | None:
    """Return what stands in the file as a person reads it; None where it is no number."""
    if span.grammar in ("integer", "float"):
        return literal
    if span.grammar != "string" or kind not in ("length", "angle") or literal[:3] in ('"""', "'''"):
        return None
    text = str(tomllib.loads(f"x = {literal}")["x"])
    return text if len(text) <= TEXT_MOST and text.isprintable() else None


def _says(path: Where) -> str:
    last = next(i for i in range(len(path) - 1, -1, -1) if isinstance(path[i], str))
    return " ".join([str(path[last]).replace("_", " "), *(str(int(step) + 1) for step in path[last + 1:])])


def _group(path: Where) -> str:
    last = next(i for i in range(len(path) - 1, -1, -1) if isinstance(path[i], str))
    steps = [step.replace("as_cut", "as cut") if isinstance(step, str) else str(step + 1) for step in path[:last]]
    return printable(" ".join(steps))


def _hint(model: type[BaseModel], loc: Where) -> str:
    field = field_at(model, loc)
    return "" if field is None or not field.description else field.description[:HINT_MOST]


def written(text: str, quote: str) -> str:
    """Return how a text stands in a TOML file: a bare number bare where none was in quotes, all else in quotes."""
    if not quote and _is_bare(text):
        return text
    return f"'{text}'" if quote == "'" and "'" not in text else json.dumps(text, ensure_ascii=False)


def _is_bare(text: str) -> bool:
    try:
        value = tomllib.loads(f"x = {text}\n") if text.isprintable() and not set(text) & set("#[]{}\"',=") else {}
    except (tomllib.TOMLDecodeError, ValueError):
        return False
    return isinstance(value.get("x"), int | float) and not isinstance(value["x"], bool)
