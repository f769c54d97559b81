"""What a command is asked to read: a design file, or parts in place in a mesh file or folder."""

from __future__ import annotations

from pathlib import Path

from model.design import Design
from model.errors import DesignError, Problem
from model.progress import Progress, quiet
from model.reader import read
from model.reader.pieces import holds_pieces, pieces


def design_in(path: Path, unit: str | None, measured: Path | None, progress: Progress = quiet) -> Design:
    """Return the design in a file, or that of parts in place in a mesh file or folder.

    `unit` is that of a mesh file that has none, `measured` a sheet for a design file. Raises DesignError.
    """
    progress("reading the design", 0.0)
    meshes = holds_pieces(path)
    if meshes and measured is not None:
        raise DesignError(str(path), [Problem("holds meshes, which are taken as they are", key="--measured",
                                              accepted="a design file with --measured")])
    if not meshes and unit is not None:
        raise DesignError(str(path), [Problem("is a design file, which says its own unit", key="--unit",
                                              accepted="--unit with an OBJ file or a folder of STL files")])
    return pieces(path, unit, progress) if meshes else read(path, progress, measured=measured)
