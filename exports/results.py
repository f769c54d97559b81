"""What a run leaves in its folder, written whole or not at all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from exports.findings_json import findings_json, plan_json, text
from exports.folder import MANIFEST, inventory, kept, whole
from exports.graph import graphml
from exports.manifest import manifest
from exports.meshes import FORMATS, write_meshes
from exports.names import shown
from exports.prose import plain
from exports.report import only_plan, report
from exports.signals import held_back
from model.progress import Progress, share

if TYPE_CHECKING:
    from assembly.rehearsal import Rehearsal

PLAN = ("plan.txt", "plan.json", "plan.graphml", "course.png", "minutes.png", MANIFEST)
"""What a plan makes anew in its folder."""
WALK = "walk.html"
"""The walk page."""
EVERYTHING = ("report.txt", "findings.json", "plan.json", "plan.graphml", "meshes", "pictures", WALK, MANIFEST)
"""What a rehearsal makes anew in its folder."""
MESHES = ("meshes", MANIFEST)
"""What an export makes anew in its folder."""


@dataclass(frozen=True)
class Hindrances:
    """What would let be written what could not be: for pictures and for the walk page; None for what was written."""

    pictures: str | None
    page: str | None


def write_everything(rehearsal: Rehearsal, target: Path, progress: Progress) -> Hindrances:
    """Write report, findings, plan, meshes, pictures and the walk page; return what kept any from being made.

    Raises FolderError, and then leaves nothing behind.
    """
    from exports.pictures import can_draw, picture_files, write_pictures

    with whole(target, EVERYTHING) as fresh:
        write_meshes(rehearsal, fresh, tuple(FORMATS), share(progress, 0.0, 0.3))
        hindrance, drawn = can_draw(), []
        if hindrance is None:
            with held_back(share(progress, 0.3, 0.95)) as said:
                drawn = write_pictures(rehearsal, fresh, said)
        page = _write_page(rehearsal, fresh, drawn, share(progress, 0.95, 1.0))
        _write(fresh / "report.txt", plain(report(rehearsal, picture_files(rehearsal) if hindrance is None else {})))
        _write(fresh / "findings.json", text(findings_json(rehearsal)))
        _write(fresh / "plan.json", text(plan_json(rehearsal)))
        _write(fresh / "plan.graphml", graphml(rehearsal.plan))
        _finish(rehearsal, fresh, [])
    return Hindrances(hindrance, page)


def _write_page(rehearsal: Rehearsal, fresh: Path, pictures: Sequence[Path], progress: Progress) -> str | None:
    """Write the walk page with these pictures in its words; return what would help where there is no bundle of it."""
    from exports.walk import walk_data
    from exports.walk.document import document
    from exports.walk.html import REMEDY, has_page, page

    if not has_page():
        return REMEDY
    progress("the walk page", 0.0)
    data = walk_data(rehearsal)
    words = document(rehearsal, {p.name: p.read_bytes() for p in pictures if p.suffix == ".png"}, data)
    _write(fresh / WALK, page(data, words))
    return None


def write_plan(rehearsal: Rehearsal, target: Path) -> None:
    """Write the plan: in words, as JSON and GraphML, and drawn. Raises FolderError, and then leaves nothing behind."""
    from exports.pictures.course import draw_course
    from exports.pictures.minutes import draw_minutes

    with whole(target, PLAN) as fresh:
        _write(fresh / "plan.txt", plain(only_plan(rehearsal)))
        _write(fresh / "plan.json", text(plan_json(rehearsal)))
        _write(fresh / "plan.graphml", graphml(rehearsal.plan))
        title = shown(rehearsal.design.name)
        draw_course(rehearsal.plan, title).save(fresh / "course.png")
        draw_minutes(rehearsal.plan, title).save(fresh / "minutes.png")
        _finish(rehearsal, fresh, kept(target, PLAN))


def write_export(rehearsal: Rehearsal, target: Path, formats: Sequence[str], progress: Progress) -> None:
    """Write the meshes in the formats asked for. Raises FolderError, and then leaves nothing behind."""
    with whole(target, MESHES) as fresh:
        write_meshes(rehearsal, fresh, formats, progress)
        _finish(rehearsal, fresh, kept(target, MESHES))


def _finish(rehearsal: Rehearsal, fresh: Path, others: Sequence[str]) -> None:
    files = sorted({*inventory(fresh), *others, MANIFEST})
    _write(fresh / MANIFEST, text(manifest(rehearsal, files)))


def _write(path: Path, content: str) -> None:
    path.write_text(content, encoding="utf-8", errors="replace", newline="\n")
