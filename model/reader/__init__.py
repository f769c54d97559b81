"""The reader of design files: from a path to a design, or to everything that is wrong with the file.

A design file is TOML. It can run nothing, reads nothing outside its own folder, and its
size, its number of parts and its meshes are bounded before anything is made.
"""

from __future__ import annotations

from pathlib import Path

from model.design import Design
from model.progress import Progress, quiet, share
from model.reader.as_cut import Entry
from model.reader.beside import inside
from model.reader.build import design_of
from model.reader.measured import cut_as_measured
from model.reader.problems import Problems, printable
from model.reader.schema import Refused
from model.reader.sheets import BYTES_MOST, ENDINGS, sheet_of
from model.reader.tables import Tables, tables_of
from model.reader.text import parsed, text_of

__all__ = ["read", "read_text"]


def read(path: Path, progress: Progress = quiet, *, measured: Path | None = None) -> Design:
    """Return the design in a file, as cut where it, a sheet it names, or the sheet `measured` says so.

    Raises DesignError with all problems of a file at once, each with its line; a sheet's once the
    design file has none.
    """
    return read_text(text_of(path), path, progress, measured=measured)


def read_text(text: str, path: Path, progress: Progress = quiet, *, measured: Path | None = None) -> Design:
    """Return the design that a text would give if it stood in the file `path`. Raises DesignError as `read` does."""
    problems = Problems(printable(str(path)), text)
    tables = tables_of(parsed(text, problems), problems)
    beside = _beside(tables, path.parent, problems)
    design = design_of(tables, path, problems, share(progress, 0.0, 0.8))
    progress("reading what was measured", 0.8)
    sheets = [sheet for sheet in (beside, measured) if sheet is not None]
    sources: list[list[Entry]] = [tables.as_cut, *(sheet_of(sheet, tables.unit) for sheet in sheets)]
    return cut_as_measured(design, sources, problems)


def _beside(tables: Tables, folder: Path, problems: Problems) -> Path | None:
    """Return where the sheet lies that a design file names; None, with what is wrong noted, where there is none."""
    name = tables.heading.measured if tables.heading is not None else None
    if name is None:
        return None
    try:
        inside(folder, name, ENDINGS, BYTES_MOST, "sheet")
    except Refused as refused:
        problems.add(("measured",), str(refused), name, refused.accepted)
    return folder / name
