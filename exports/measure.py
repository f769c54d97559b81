"""Sheets of what is worth measuring on the parts, to be filled in at the bench and read back: TOML or CSV."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from io import StringIO
from itertools import groupby
from pathlib import Path

from exports.names import printable
from model.as_cut import PartAsCut
from model.design import Design
from model.errors import DryfitError
from model.measurable import worth_measuring
from model.reader.measured import of_the_board
from model.reader.said import written
from model.reader.schema import is_name

FORMATS = ("toml", "csv")
COLUMNS = ("part", "joint", "what", "drawn", "measured")
_UNITS = {"mm": "millimetres", "in": "inches"}
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


class SheetError(DryfitError):
    """A sheet that could not be read back: its name, and what would be accepted."""


@dataclass(frozen=True)
class Row:
    """One size: of which part or board, of which joint's cut on it ("" for none), as drawn and as measured so far."""

    about: str
    name: str
    joint: str
    what: str
    drawn: str
    measured: str = ""


def sheet(design: Design, how: str) -> str:
    """Return the sheet of a design, "toml" or "csv", with every size as drawn and an empty place for the measured one.

    What was measured already stands in its place.
    """
    rows = [*_boards(design), *_parts(design)]
    return _csv(rows) if how == "csv" else _toml(rows, design)


def form_of(file: Path | None, asked: str | None) -> str:
    """Return the form of a sheet, by its name's ending where it has one; SheetError when it could not be read back."""
    if file is None:
        return asked or FORMATS[0]
    ending = file.suffix.lower().removeprefix(".")
    if ending not in FORMATS or asked not in (None, ending):
        raise SheetError(f"{printable(str(file))}: a sheet is read back by its ending; accepted: a name ending in "
                         + " or ".join(f".{form}" for form in (FORMATS if asked is None else (asked,))))
    return ending


def _boards(design: Design) -> Iterator[Row]:
    """Yield the sizes of every stock that parts have unchanged: measured once for all of them."""
    drawn = design.drawn or design
    stocks: dict[str, dict[str, float]] = {}
    for blank in (part.blank for part in drawn.parts):
        for what in ("thickness", "width"):
            size: float = getattr(blank.stock, what)
            if of_the_board(blank, what) and is_name(blank.stock.name):
                stocks.setdefault(blank.stock.name, {})[what] = size
    for name, sizes in stocks.items():
        yield from (Row("boards", name, "", what, written(size, design.unit)) for what, size in sizes.items())


def _parts(design: Design) -> Iterator[Row]:
    known = {(m.part, *key): value for m in design.measured for key, value in _known(m).items()}
    for item in worth_measuring(design.drawn or design):
        value = known.get((item.part, item.joint, item.what))
        yield Row("parts", item.part, item.joint, item.what, _said(item.drawn, item.what, design),
                  "" if value is None else _said(value, item.what, design))


def _known(measured: PartAsCut) -> Mapping[tuple[str, str], float]:
    of = [("", measured), *((cut.joint, cut) for cut in measured.cuts)]
    return {(joint, what): value for joint, thing in of for what, value in vars(thing).items()
            if isinstance(value, float) and not (what in ("along", "across") and value == 0.0)}


def _said(value: float, what: str, design: Design) -> str:
    return written(value, design.unit, angle=what.endswith("_angle"))


def _csv(rows: list[Row]) -> str:
    page = StringIO()
    out = csv.writer(page, lineterminator="\n")
    out.writerow(COLUMNS)
    for row in rows:
        part = f"board {row.name}" if row.about == "boards" else row.name
        sizes = (size.replace("-", "\N{MINUS SIGN}") for size in (row.drawn, row.measured))
        out.writerow([_harmless(cell) for cell in (part, row.joint, row.what, *sizes)])
    text = page.getvalue()
    return text if text.isascii() else "\N{BYTE ORDER MARK}" + text


def _harmless(cell: str) -> str:
    """Return a cell that no spreadsheet takes for a formula."""
    text = printable(cell)
    return f"'{text}" if text.startswith(_FORMULA) else text


def _toml(rows: list[Row], design: Design) -> str:
    lines = [f"# {line}".rstrip() for line in _heading(design)]
    for (about, name, joint), group in groupby(rows, lambda row: (row.about, row.name, row.joint)):
        path = ["as_cut", about, name, *(["joint", joint] if joint else [])]
        made = ", ".join(dict.fromkeys(f.role for f in design.part[name].features if f.joint == joint)) if joint else ""
        lines += ["", f"[{'.'.join(map(_key, path))}]" + (f"   # {printable(made)}" if made else "")]
        lines += [f'{row.what} = "{row.measured}"' if row.measured else f'# {row.what} = "{row.drawn}"'
                  for row in group]
    return "\n".join(lines) + "\n"


def _heading(design: Design) -> tuple[str, ...]:
    return (
        f"{printable(design.name)[:100]}: its parts as cut",
        "",
        "Each line holds a size as drawn. Where yours came out otherwise, take away the # and write what you",
        f'measured: a length with its unit, "38.5 mm" or "1 1/2 in", or bare in {_UNITS[design.unit]}; an angle in',
        "degrees. A table under boards goes for every part that is as thick, or as wide, as that stock; along and",
        "across say how far a cut is off its place.",
        "Lines to add where they are true:",
        '  of a part:          turned = "end for end" (or "end over end", "rolled over", "quarter turn",',
        '                      "three quarter turn"), mirrored = true, exchanged_with = "its name"',
        "  of a joint on it:   left_out = true",
    )


def _key(name: str) -> str:
    if _BARE.fullmatch(name):
        return name
    safe = "".join(c if c.isprintable() and c not in '"\\' else _escaped(c) for c in name)
    return f'"{safe}"'


def _escaped(character: str) -> str:
    code = ord(character)
    return "?" if 0xD800 <= code < 0xE000 else f"\\U{code:08x}"
