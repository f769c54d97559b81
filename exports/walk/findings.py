"""The findings of the walk: what is wrong, where to look, and how to draw it apart."""

from __future__ import annotations

import numpy as np

from assembly.findings import Finding
from assembly.rehearsal import Rehearsal
from exports import found as told
from exports import words
from exports.pictures.moment import moment
from exports.pieces import bounds
from exports.walk.book import Book, Json, rows, vector
from model.frames import identity, move, points

ROOM = 0.35


def findings(rehearsal: Rehearsal, book: Book) -> list[Json]:
    """Return the findings, worst first."""
    return [_finding(n, f, rehearsal, book) for n, f in enumerate(rehearsal.findings, 1)]


def _finding(number: int, finding: Finding, rehearsal: Rehearsal, book: Book) -> Json:
    unit = rehearsal.design.unit
    stages = {s.name: k for k, s in enumerate(rehearsal.plan.stages)}
    held = moment(rehearsal, finding)
    k = stages.get(finding.stage)
    frame = identity()
    if k is not None:
        rest = rehearsal.plan.stages[k].rest
        frame = move(z=rest.blocks) @ rest.frame
    names = {*finding.parts, *finding.joints}
    shown = [{"part": book.part(n), "at": rows(frame @ held.frame(n)), "shape": book.shape(held.solid(n))}
             for n in held.names]
    at = [points(frame, held.vertices(n)) for n in finding.parts if n in held.names] or [
        points(frame, held.vertices(n)) for n in held.names] or [np.zeros((1, 3))]
    every = np.vstack(at)
    spot = None if finding.where is None else points(frame, np.asarray(finding.where, dtype=np.float64))
    return {"number": number, "kind": finding.kind.replace("-", " "), "severity": finding.severity,
            "sign": told.SIGNS[finding.severity][0],
            "title": f"{finding.kind.replace('-', ' ')}: {words.several(finding.parts or finding.joints, most=4)}",
            "message": words.sentence(finding.message, names), "remedy": words.sentence(finding.remedy, names),
            "amount": "" if finding.amount is None else told.amount(finding, finding.amount, unit),
            "spot": "" if finding.where is None else words.spot(finding.where, bounds(rehearsal.assembly), unit),
            "parts": book.known(finding.parts), "stage": k, "shown": shown,
            "at": None if spot is None else vector(spot),
            "box": [vector(every.min(axis=0)), vector(every.max(axis=0))], "apart": [], "turned": None, "pencil": None}
