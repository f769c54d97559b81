"""The data of the walk page: one rehearsal as numbers and words, in the shape of `exports/page/source/walk.ts`."""

from __future__ import annotations

import numpy as np

from assembly.rehearsal import Rehearsal
from exports import glue_ups, in_place, words
from exports.findings_json import counts
from exports.names import printable, shown
from exports.pictures.camera import Camera
from exports.pictures.whole import standpoint
from exports.pieces import bounds, mass, staying
from exports.report import CAUTION, verdict
from exports.version import version
from exports.walk.apart import apart
from exports.walk.book import Book, Json, vector
from exports.walk.findings import findings
from exports.walk.laid import laid
from exports.walk.noticed import Noticed
from exports.walk.parts import parts
from exports.walk.pencil import pencils
from exports.walk.stages import stages
from exports.walk.steps import blank

LYING = ("In each glue-up the work is shown, and directions are told, as it lies on bench or floor: x to the right, "
         "y away from you, z up. At the end it stands as it will stand.")
SAYS_MOST = 2000


def walk_data(rehearsal: Rehearsal, planned: bool = True, live: Json | None = None) -> Json:
    """Return what the page is given.

    `planned`: whether the order has been worked out; `live`: what a served page has besides.
    """
    design, assembly, plan = rehearsal.design, rehearsal.assembly, rehearsal.plan
    book = Book(rehearsal)
    box = bounds(assembly) if assembly.names else np.zeros((2, 3))
    facing = _facing(rehearsal, box)
    laids = [laid(rehearsal, stage) for stage in plan.stages] if planned else []
    noticed = Noticed(rehearsal.findings)
    own, walked = stages(rehearsal, book, laids, noticed)
    found = counts(rehearsal.findings)
    return {
        "format": 1, "title": shown(design.name), "says": printable(design.says[:SAYS_MOST]),
        "unit": _unit(design.unit),
        "file": shown(design.source.name) if design.source is not None else "", "version": version(),
        "about": _about(rehearsal, box), "verdict": {"said": verdict(rehearsal.findings), **found},
        "cautions": [LYING, glue_ups.caution(rehearsal), CAUTION] if own else [CAUTION],
        "quality": glue_ups.quality(plan) if own else [],
        "box": [vector(box[0]), vector(box[1])], "facing": vector(facing.forward, 6),
        "parts": parts(rehearsal, book, apart(rehearsal, laids, facing), pencils(rehearsal)), "stages": own,
        "steps": [*walked, _stands(rehearsal, book, noticed, planned)], "findings": findings(rehearsal, book),
        "planned": planned, "live": live, "shapes": book.shapes,
    }


def _unit(unit: str) -> str:
    return "in" if unit == "in" else "mm"


def _facing(rehearsal: Rehearsal, box: np.ndarray) -> Camera:
    ways = {m.direction for s in rehearsal.plan.stages for m in s.moves if m.onto}
    return standpoint(box, sorted(ways))


def _about(rehearsal: Rehearsal, box: np.ndarray) -> list[str]:
    design, assembly = rehearsal.design, rehearsal.assembly
    if not assembly.names:
        return []
    leave = sum(p.temporary for p in design.parts)
    pieces = words.count(len(staying(assembly)), "piece") + (f" and {leave} that leave again" if leave else "")
    joints = words.count(len(design.joints), "seam" if in_place.of_file(rehearsal) else "joint")
    return [f"{pieces}, {joints}, {words.weight(mass(assembly), design.unit)}",
            f"{words.overall((box[1] - box[0]).tolist(), design.unit)} (left to right, front to back, bottom to top)"]


def _stands(rehearsal: Rehearsal, book: Book, noticed: Noticed, planned: bool) -> Json:
    """Return the last step: the finished work as it stands."""
    stages = rehearsal.plan.stages if planned else ()
    load = max((s.minutes.get("load", 0.0) for s in stages), default=0.0)
    says = [f"The work stands. Nothing may lean, climb or hang on it for {glue_ups.span(load)} after the last glue."
            if load else "The work as it stands when it is finished.",
            "" if planned else "The order in which it goes together is still being worked out."]
    step = blank("stands", "It stands" if stages else "The finished work", says,
                 parts=book.known(staying(rehearsal.assembly)))
    return {**step, "id": "end", "findings": noticed.left()}
