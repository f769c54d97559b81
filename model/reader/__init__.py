"""The reader of design files: from a path to a design, or to everything that is wrong with the file.

A design file is TOML. It can run nothing, reads nothing outside its own folder, and its
size, its number of parts and its meshes are bounded before anything is made.
"""

from __future__ import annotations

from pathlib import Path

from model.design import Design
from model.progress import Progress, quiet
from model.reader.build import design_of
from model.reader.problems import Problems, printable
from model.reader.tables import tables_of
from model.reader.text import parsed, text_of

__all__ = ["read"]


def read(path: Path, progress: Progress = quiet) -> Design:
    """Return the design in a file. Raises DesignError with all problems of the file at once, each with its line."""
    text = text_of(path)
    problems = Problems(printable(str(path)), text)
    tables = tables_of(parsed(text, problems), problems)
    return design_of(tables, path, problems, progress)
