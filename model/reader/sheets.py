"""Sheets of what was measured, filled in: TOML with the section a design file has, or CSV as spreadsheets write it.

A CSV sheet has the columns part, joint, what, measured, in any order; others are not read. Rows with nothing
measured say nothing. `board NAME` in the column part stands for every part from one stock.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from io import StringIO
from pathlib import Path
from typing import Any

from model.errors import DesignError, Problem
from model.reader.as_cut import SECTION, BoardTable, CutTable, Entry, PartAsCutTable, entries_of
from model.reader.fields import keys_at
from model.reader.lines import Lines, Where
from model.reader.problems import Problems, printable, shown
from model.reader.schema import Table
from model.reader.text import Kind, parsed, text_of

ENDINGS = (".toml", ".csv")
BYTES_MOST = 16_000_000
"""A sheet may not be larger than this: 5,000 parts with 20,000 joints make one of about 9 MB."""
SHEET = Kind("a sheet of measurements", "a sheet of measurements: TOML or CSV, UTF-8 text", BYTES_MOST,
             "a sheet, as `dryfit measure` writes one")
ROWS_MOST = 100_000
"""Nor say more than this: rows of CSV with a measured value; lines of TOML without the comments, and commas."""
LINE_MOST = 10_000
"""No line of a TOML sheet is longer than this."""
COLUMNS = ("part", "joint", "what", "measured")
BOARD = "board "
YES, NO = ("true", "yes", "y", "x"), ("false", "no", "n")
TRUTHS = ("mirrored", "left_out")
"""What is measured by yes or no."""
WORDS = ("turned", "exchanged_with")
"""What is said in words."""

_TABLES: dict[str, type[Table]] = {"board": BoardTable, "joint": CutTable, "part": PartAsCutTable}
_COMMA = re.compile(r"^([+-]?)(\d*),(\d+)(\D*)$")
_MONTH = "(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)"
_DATE = re.compile(rf"^(\d{{1,2}}[-. ]?{_MONTH}\b|{_MONTH}[-. ]?\d{{1,2}}\b|\d{{1,4}}([-./]\d{{1,4}}){{2}}$)", re.I)
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def sheet_of(path: Path, unit: str) -> list[Entry]:
    """Return what a filled-in sheet says; `unit` is that of bare numbers. What is wrong with its values is noted.

    Raises DesignError when it is no sheet.
    """
    name = printable(str(path))
    if path.suffix.lower() not in ENDINGS:
        raise DesignError(name, [Problem("not a kind of sheet that is read", value=path.suffix,
                                         accepted="a file ending in " + " or ".join(ENDINGS))])
    text = text_of(path, SHEET)
    problems: Problems = Problems(name, text) if path.suffix.lower() == ".toml" else _Rows(name)
    problems.unit = unit
    if not isinstance(problems, _Rows):
        _weigh(text, problems)
        raw = parsed(text, problems)
        for key in raw.keys() - {SECTION}:
            problems.add((key,), "no such key in a sheet", key, among=(SECTION,))
    else:
        raw = {SECTION: _section(text, problems)}
    found = entries_of(raw.get(SECTION, {}), problems)
    return found or _refused(problems)


def _weigh(text: str, problems: Problems) -> None:
    """Refuse a TOML sheet that no hand has filled in, before it is parsed."""
    said = 0
    for number, line in enumerate(text.split("\n"), 1):
        if line[:1] not in ("", "#", "\r"):
            said += 1 + line.count(",")
        if said > ROWS_MOST:
            problems.add((), "is no sheet, it says too much", line=number,
                         accepted=f"at most {ROWS_MOST:,} lines and commas")
        elif len(line) > LINE_MOST:
            problems.add((), "has too long a line", accepted=f"at most {LINE_MOST:,} characters", line=number)
        problems.stop()


def _refused(problems: Problems) -> list[Entry]:
    """Return nothing, for a sheet that says nothing; what is wrong with it is raised, there is no entry to tell it."""
    problems.stop()
    return []


class _Rows(Problems):
    """The problems of a CSV sheet: by line, and by the column that a value stands in."""

    def __init__(self, file: str) -> None:
        super().__init__(file)
        self._lines = Lines()
        self.column: dict[Where, str] = {}

    def named(self, path: Where) -> str:
        """Return the spot as the sheet has it: which part, joint and size, and the column."""
        if len(path) < 3:
            return f"column {path[-1]}" if len(path) == 1 else ""
        spot = ", ".join(shown(step, quoted=False) for step in path[2:] if step != "joint")
        return f"column {self.column.get(path, 'measured')} ({spot})"


@dataclass
class _Section:
    """The section under making, row by row, with the line and the column of all that is put into it."""

    problems: _Rows
    tables: dict[str, dict[str, Any]] = field(default_factory=lambda: {"boards": {}, "parts": {}})

    def add(self, line: int, cells: dict[str, str]) -> None:
        """Put the value of one row in its place."""
        part, joint, what, measured = (cells[column] for column in COLUMNS)
        if not part or not what:
            self.problems.add(("what" if part else "part",), "is missing in a row that has a measured value",
                              accepted="a size, such as thickness" if part else "the name of a part", line=line)
            return
        about = "boards" if part.startswith(BOARD) else "parts"
        name = part.removeprefix(BOARD).strip()
        path: Where = (SECTION, about, name)
        table = self.tables[about].setdefault(name, {})
        self._mark(path, line, "part")
        if joint:
            path = (*path, "joint", joint)
            table = table.setdefault("joint", {}).setdefault(joint, {})
            self._mark(path, line, "joint")
        of = "board" if about == "boards" else "joint" if joint else "part"
        keys = [key for key in keys_at(_TABLES[of], ()) if key != "joint"]
        if what not in keys:
            self.problems.add(("what",), f"no such size of a {of}", what, among=keys, line=line)
            return
        if what in table:
            first = self.problems.lines.of((*path, what))
            self.problems.add(("what",), f"is measured twice, first on line {first}", what, "each size once", line=line)
            return
        self._mark((*path, what), line, "measured")
        value = self._value((*path, what), what, measured)
        if value is not None:
            table[what] = value

    def _value(self, path: Where, what: str, measured: str) -> object:
        if what in TRUTHS:
            word = measured.casefold()
            if word in YES + NO:
                return word in YES
            self.problems.add(path, "must be yes or no", measured, "yes or no")
            return None
        if what in WORDS:
            return measured
        if _DATE.match(measured):
            self.problems.add(path, "is a date, as spreadsheets make of a fraction", measured,
                              'a fraction with its unit, "3/4 in", or a decimal, "0.75 in"')
            return None
        return self._pointed(path, measured)

    def _pointed(self, path: Where, measured: str) -> str | None:
        """Return a measured value with a decimal comma made a point; refused where the comma may part thousands."""
        comma = _COMMA.match(measured)
        if comma is None:
            return measured
        sign, whole, digits, unit = comma.groups()
        if len(digits) == 3 and whole.strip("0"):
            self.problems.add(path, f"could be {whole}.{digits} or {whole}{digits}", measured,
                              f'a decimal point: "{sign}{whole}.{digits}{unit}", or no comma')
            return None
        return f"{sign}{whole or 0}.{digits}{unit}"

    def _mark(self, path: Where, line: int, column: str) -> None:
        self.problems.lines.line.setdefault(path, line)
        self.problems.column.setdefault(path, column)


def _section(text: str, problems: _Rows) -> dict[str, Any]:
    made = _Section(problems)
    rows = _rows(text, problems)
    heading = next(rows, None)
    places = _places(heading, problems)
    if heading is None or places is None:
        problems.stop()
        return {}
    said = 0
    for line, row in rows:
        if len(row) > len(heading[1]) and any(row[len(heading[1]):]):
            problems.add((), f"the row has {len(row)} cells, the heading {len(heading[1])}", row[-1],
                         "quotes around a cell with a comma in it", line=line)
            continue
        cells = {column: row[at] if at < len(row) else "" for column, at in places.items()}
        if not cells["measured"]:
            continue
        said += 1
        if said > ROWS_MOST:
            problems.add((), "is no sheet, it says too much", line=line,
                         accepted=f"at most {ROWS_MOST:,} measured values")
            break
        made.add(line, cells)
    return made.tables


def _rows(text: str, problems: _Rows) -> Iterator[tuple[int, list[str]]]:
    """Yield the rows that hold anything, cleaned, with their lines."""
    mark, text, first = _mark_between(text)
    reader = csv.reader(StringIO(text, newline=""), delimiter=mark, strict=True)
    before = 0
    try:
        for row in reader:
            line, before = before + 1, reader.line_num
            if any(cells := [_clean(cell) for cell in row]):
                yield first + line, cells
    except csv.Error as error:
        problems.add((), f"cannot be read as CSV: {error}", accepted="rows as a spreadsheet writes them",
                     line=first + before + 1)


def _mark_between(text: str) -> tuple[str, str, int]:
    """Return what parts the cells, the text of the rows, and how many lines stand before it."""
    first, _, rest = text.partition("\n")
    said = first.strip().casefold()
    if said.startswith("sep=") and len(said) == 5:
        return said[4], rest, 1
    heading = next((line for line in text.splitlines() if line.strip()), "")
    return max(",;\t", key=heading.count), text, 0


def _clean(cell: str) -> str:
    """Return a cell without the blanks around it and the apostrophe that keeps a spreadsheet from taking it for a
    formula."""
    text = cell.replace("\N{NO-BREAK SPACE}", " ").replace("\N{MINUS SIGN}", "-").strip()
    return text[1:].strip() if text.startswith("'") and text[1:2] in _FORMULA else text


def _places(heading: tuple[int, list[str]] | None, problems: _Rows) -> dict[str, int] | None:
    """Return where each column stands; None, with what is wrong noted, where one is missing or there twice."""
    if heading is None:
        problems.add((), "has no rows", accepted="a heading and rows, as `dryfit measure` writes them")
        return None
    line, names = heading[0], [name.casefold() for name in heading[1]]
    for column in COLUMNS:
        if names.count(column) != 1:
            message = "stands in the heading twice" if column in names else "is missing in the heading"
            problems.add((column,), message, ", ".join(names), "the columns " + ", ".join(COLUMNS), line=line)
            return None
    return {column: names.index(column) for column in COLUMNS}
