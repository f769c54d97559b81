"""The parts of the walk: what each is, in numbers and in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from assembly.alike import groups, handed_pairs, marks
from assembly.rehearsal import Rehearsal
from exports import words
from exports.names import shown, shown_names
from exports.pictures.camera import Camera
from exports.pictures.spread import Offsets, spread
from exports.pieces import as_cut
from exports.walk.book import Book, Json, rows, vector
from exports.woods import tone
from model.design import Design
from model.frames import Vector
from model.joint import Joint
from model.part import Part
from model.units import show


def parts(rehearsal: Rehearsal, book: Book, camera: Camera, pencils: Mapping[str, Sequence[Json]]) -> list[Json]:
    """Return every part; `camera` is the side from which it is seen well when drawn apart."""
    design, assembly = rehearsal.design, rehearsal.assembly
    drawn = design.drawn or design
    mark, called = marks(drawn), shown_names(p.name for p in design.parts)
    mirror = {one.mark: other.mark for pair in handed_pairs(drawn) for one, other in (pair, pair[::-1])}
    same = {name: group.parts for group in groups(drawn) for name in group.parts}
    comes, closes = _comes(rehearsal), _closes(rehearsal)
    joints = _joints(design)
    apart: Offsets = spread(rehearsal, camera) if rehearsal.plan.stages else {}
    found = []
    for part in design.parts:
        name = part.name
        gone = part.temporary or name not in assembly.frames
        letter = mark.get(name, "")
        found.append({
            "name": called[name], "mark": letter, "kind": shown(part.group) if part.group else "",
            "temporary": part.temporary, "tone": "#" + bytes(tone(part.blank.stock.species.name)).hex(),
            "shape": book.shape(part.finished), "home": None if gone else rows(assembly.frames[name]),
            "grain": vector(part.blank.grain, 6), "apart": vector(apart.get(name, np.zeros(3)), 1),
            "size": words.size(as_cut(part), design.unit), "stock": _wood(part),
            "mass": words.weight(part.mass, design.unit),
            "joints": [_joint(j, name, book, closes, design) for j in joints.get(name, ())],
            "stage": comes.get(name), "same": book.known(n for n in same.get(name, ()) if n != name),
            "mirror": mirror.get(letter, ""), "pencil": list(pencils.get(name, ()))})
    return found


def _wood(part: Part) -> str:
    stock = part.blank.stock
    wood = shown(stock.species.name)
    return shown(stock.name) if wood in stock.name else f"{shown(stock.name)}, {wood}"


def _comes(rehearsal: Rehearsal) -> Mapping[str, int]:
    found: dict[str, int] = {}
    for k, stage in enumerate(rehearsal.plan.stages):
        for name in stage.parts:
            found.setdefault(name, k)
    return found


def _closes(rehearsal: Rehearsal) -> Mapping[str, int]:
    return {joint: k for k, stage in enumerate(rehearsal.plan.stages) for joint in stage.joints}


def _joints(design: Design) -> Mapping[str, list[Joint]]:
    found: dict[str, list[Joint]] = {}
    for joint in design.joints:
        found.setdefault(joint.a, []).append(joint)
        found.setdefault(joint.b, []).append(joint)
    return found


def _joint(joint: Joint, name: str, book: Book, closes: Mapping[str, int], design: Design) -> Json:
    said = [f"goes in {show(joint.travel, design.unit)}"] if joint.travel > 0 else []
    if joint.fit > 0:
        said.append(f"{_fine(joint.fit, design.unit)} play a side")
    said.append("glued" if joint.glued else "dry")
    return {"name": shown(joint.name), "kind": joint.kind, "other": book.part(joint.other(name)),
            "glued": joint.glued, "stage": closes.get(joint.name), "says": ", ".join(said)}


def _fine(mm: float, unit: str) -> str:
    return f"{mm / 25.4:.3f} in" if unit == "in" else f"{mm:.2f} mm"


def middle(at: Vector) -> Vector:
    """Return the middle of the box around points (N, 3)."""
    return np.asarray((at.min(axis=0) + at.max(axis=0)) / 2.0)
