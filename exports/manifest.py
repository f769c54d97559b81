"""The manifest: every part, stage and file of a run, with volumes, masses and what is cut alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from assembly.alike import Group, groups
from assembly.contacts import joint_area
from assembly.placing import standing_in
from exports.findings_json import number, numbers
from exports.names import safe_names
from exports.pieces import as_cut, bounds, centre_of_mass, mass
from exports.version import version
from model.part import Part

if TYPE_CHECKING:
    from assembly.plan import Stage
    from assembly.rehearsal import Rehearsal

UNITS = {"length": "mm", "volume": "mm3", "mass": "kg", "glb": "m, y up", "stl and obj": "mm, z up"}


def manifest(rehearsal: Rehearsal, files: Sequence[str]) -> dict[str, Any]:
    """Return the manifest of a run that wrote `files` (relative to its folder)."""
    design = rehearsal.design
    group = {name: one for one in groups(design) for name in one.parts}
    by_part = _files("meshes/parts/", files)
    by_stage = _files("meshes/stages/", files)
    safe, stages = safe_names(p.name for p in design.parts), stage_names(rehearsal)
    return {
        "dryfit": version(),
        "design": design.name,
        "units": UNITS,
        "whole": {**_whole(rehearsal), "files": _files("meshes/", files).get("whole", [])},
        "parts": [{**_part(p), **_mark(group[p.name]), "files": by_part.get(safe[p.name], [])} for p in design.parts],
        "joints": [_joint(rehearsal, j, stage) for stage in rehearsal.plan.stages for j in stage.joints],
        "stages": [{"number": s.number, "name": s.name, "parts": list(s.parts),
                    "files": by_stage.get(stages[s.number], [])} for s in rehearsal.plan.stages],
        "files": sorted(files),
    }


def _joint(rehearsal: Rehearsal, name: str, stage: Stage) -> dict[str, Any]:
    """Return a joint with the faces it offers the glue in its stage: mm², and the share that has end grain in it."""
    joint = rehearsal.design.joint[name]
    area = joint_area(standing_in(rehearsal.assembly, stage.name), joint, stage.done)
    return {
        "name": name,
        "kind": joint.kind,
        "parts": [joint.a, joint.b],
        "stage": stage.number,
        "glued": joint.glued,
        "fit_mm": number(joint.fit, 6),
        "engaged_mm": number(joint.travel, 6),
        "faces_mm2": number(area.area, 3),
        "end_grain_share": number(area.end_share, 4),
    }


def stage_names(rehearsal: Rehearsal) -> Mapping[int, str]:
    """Return the safe file name of every stage, by its number: "02-far_arch"."""
    stages = rehearsal.plan.stages
    safe = safe_names(f"{s.number:02d}-{s.name}" for s in stages)
    return {s.number: safe[f"{s.number:02d}-{s.name}"] for s in stages}


def _mark(group: Group) -> dict[str, str]:
    """Return the mark of a part, its hand ("a", "b", or "" where it has none), and the first part it is the same as."""
    return {"mark": group.mark, "hand": group.hand, "same_as": group.first}


def _files(folder: str, files: Sequence[str]) -> dict[str, list[str]]:
    """Return the mesh files directly in a folder by their name without its ending."""
    found: dict[str, list[str]] = {}
    for file in sorted(files):
        name = file.removeprefix(folder)
        if name != file and "/" not in name:
            found.setdefault(name.rpartition(".")[0], []).append(file)
    return found


def _whole(rehearsal: Rehearsal) -> dict[str, Any]:
    low, high = bounds(rehearsal.assembly)
    return {
        "mass_kg": number(mass(rehearsal.assembly), 6),
        "size_mm": numbers((high - low).tolist(), 6),
        "low_mm": numbers(low.tolist(), 6),
        "centre_of_mass_mm": numbers(centre_of_mass(rehearsal.assembly).tolist(), 6),
    }


def _part(part: Part) -> dict[str, Any]:
    length, width, thickness = as_cut(part)
    feet = part.blank.stock.board_feet(part.cut_length)
    return {
        "name": part.name,
        "group": part.group,
        "shape": part.blank.shape,
        "stock": part.blank.stock.name,
        "species": part.blank.stock.species.name,
        "temporary": part.temporary,
        "length_mm": number(length, 6),
        "width_mm": number(width, 6),
        "thickness_mm": number(thickness, 6),
        "board_feet": None if feet is None else number(feet, 4),
        "volume_mm3": number(part.finished.volume, 3),
        "mass_kg": number(part.mass, 6),
        "centre_of_mass_mm": numbers(part.finished.centroid.tolist(), 6),
    }
