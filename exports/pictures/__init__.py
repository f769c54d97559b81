"""Pictures: the whole, the whole apart, each glue stage, each thing that is wrong; the assembly as a film."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from exports.pictures.chosen import FOLDER, picture_files
from exports.pictures.probe import can_draw, quiet_surroundings

if TYPE_CHECKING:
    from assembly.rehearsal import Rehearsal

__all__ = ["can_draw", "picture_files", "quiet_surroundings", "write_pictures"]


def write_pictures(rehearsal: Rehearsal, folder: Path,
                   progress: Callable[[str, float], None] = lambda _said, _behind: None) -> list[Path]:
    """Write all pictures of a rehearsal as PNG, 1600 x 1200, and its film as GIF, into `folder`/pictures; return paths.

    Ask `can_draw` first: where it names a remedy, drawing may end the process.
    """
    quiet_surroundings()
    from exports.pictures.album import album

    return album(rehearsal, folder / FOLDER, progress)
