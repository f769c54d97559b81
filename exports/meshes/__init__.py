"""Meshes: each part, each stage, the whole. One file a format, one line here."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from exports.manifest import stage_names
from exports.meshes.figure import Figure, of_part, of_stage, of_whole
from exports.meshes.glb import GLB
from exports.meshes.obj import OBJ
from exports.meshes.stl import STL
from exports.names import safe_names

if TYPE_CHECKING:
    from assembly.rehearsal import Rehearsal


class Format(Protocol):
    """A mesh format: one file under exports/meshes/, one line in its registry."""

    @property
    def name(self) -> str:
        """The ending of its files, and what a person asks for."""

    @property
    def says(self) -> str:
        """One line: what it is."""

    def write(self, figure: Figure, path: Path) -> list[Path]:
        """Write a figure to `path` with the format's ending; return the files written."""
        ...


FORMATS: dict[str, Format] = {f.name: f for f in (STL, OBJ, GLB)}


def write_meshes(rehearsal: Rehearsal, folder: Path, formats: Sequence[str] = tuple(FORMATS),
                 progress: Callable[[str, float], None] = lambda _said, _behind: None) -> list[Path]:
    """Write every part (in its own frame), every stage (as glued) and the whole below `folder`/meshes.

    Returns the files written. Raises KeyError for a format that is not in FORMATS, OSError
    where the disk refuses.
    """
    chosen = [FORMATS[name] for name in formats]
    jobs = list(_jobs(rehearsal))
    written: list[Path] = []
    for done, (said, place, figure) in enumerate(jobs):
        progress(f"writing meshes: {said}", done / len(jobs))
        path = folder / "meshes" / place
        path.parent.mkdir(parents=True, exist_ok=True)
        for kind in chosen:
            written += kind.write(figure(), path)
    progress("meshes written", 1.0)
    return written


def _jobs(rehearsal: Rehearsal) -> Iterator[tuple[str, str, Callable[[], Figure]]]:
    """Give what each file is of, its place below meshes/ without its ending, and how to come by its figure."""
    safe, stages = safe_names(p.name for p in rehearsal.design.parts), stage_names(rehearsal)
    for part in rehearsal.design.parts:
        yield "the parts", f"parts/{safe[part.name]}", partial(of_part, rehearsal, part.name)
    for stage in rehearsal.plan.stages:
        yield "the stages", f"stages/{stages[stage.number]}", partial(of_stage, rehearsal, stage)
    yield "the whole", "whole", partial(of_whole, rehearsal)
