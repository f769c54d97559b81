"""Findings and plan as JSON, for other programs.

Lengths mm, angles degrees where a finding says so, masses kg, times minutes; directions are
unit vectors in the world (x right, y away, z up). Every number is finite; a value that is
none is null.
"""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from assembly.findings import Finding
from assembly.plan import Clamp, Move, Stage
from exports import in_place
from exports.version import version

if TYPE_CHECKING:
    from assembly.rehearsal import Rehearsal

Json = dict[str, Any]


def findings_json(rehearsal: Rehearsal) -> Json:
    """Return the findings, worst first, with how many there are of each severity.

    For parts out of a mesh file also what it does not say, and along which directions each can leave the whole.
    """
    free = {"not_known": in_place.not_known(rehearsal), "free": in_place.free_json(rehearsal)} \
        if in_place.of_file(rehearsal) else {}
    return {
        "design": rehearsal.design.name,
        "dryfit": version(),
        "findings": [_finding(f) for f in rehearsal.findings],
        "counts": counts(rehearsal.findings),
        **free,
    }


def plan_json(rehearsal: Rehearsal) -> Json:
    """Return the findings and the stages in an order that can be carried out."""
    plan = rehearsal.plan
    solved = None if plan.solved is None else {
        "sessions": plan.solved.sessions, "least": plan.solved.bound, "proven": plan.solved.optimal,
        "gap": number(plan.solved.gap, 4), "says": plan.solved.said}
    return {**findings_json(rehearsal), "stages": [_stage(s) for s in plan.stages], "quality": solved,
            "replayed": plan.replayed, "longest_way": list(plan.critical), "hours": number(plan.hours, 2),
            "elapsed_hours": number(plan.elapsed, 2)}


def counts(findings: Iterable[Finding]) -> dict[str, int]:
    """Return how many findings stop the glue-up, warn, and note."""
    found = Counter(f.severity for f in findings)
    return {"stop": found["stop"], "warn": found["warn"], "note": found["note"]}


def text(data: Json) -> str:
    """Return JSON text, indented, in ASCII, ending in a newline."""
    return json.dumps(data, indent=2, allow_nan=False) + "\n"


def number(value: float, digits: int) -> float | None:
    """Return a rounded finite number; None for one that is not finite."""
    return round(float(value), digits) + 0.0 if math.isfinite(value) else None


def numbers(values: Iterable[float], digits: int) -> list[float | None]:
    """Return rounded finite numbers."""
    return [number(v, digits) for v in values]


def _finding(finding: Finding) -> Json:
    amount = finding.amount
    return {
        "kind": finding.kind,
        "severity": finding.severity,
        "parts": list(finding.parts),
        "joints": list(finding.joints),
        "where": None if finding.where is None else numbers(finding.where, 3),
        "amount": None if amount is None else {"value": number(amount.value, 4), "unit": amount.unit},
        "message": finding.message,
        "remedy": finding.remedy,
    }


def _stage(stage: Stage) -> Json:
    return {
        "number": stage.number,
        "name": stage.name,
        "joints": list(stage.joints),
        "moves": [_move(m) for m in stage.moves],
        "minutes": {what: number(minutes, 2) for what, minutes in stage.minutes.items()},
        "hands": stage.hands,
        "mass_kg": number(stage.mass_kg, 3),
        "size_mm": numbers(stage.size_mm, 2),
        "needs": list(stage.needs),
        "units": [list(unit) for unit in stage.units],
        "glue": [{"joint": s.joint, "mm2": number(s.area, 1), "ml": number(s.ml, 2), "faces": dict(s.faces)}
                 for s in stage.spreads],
        "clamps": [_clamp(c) for c in stage.clamps],
        "actions": [{"what": a.what, "from": number(a.start, 3), "to": number(a.end, 3), "people": a.people,
                     "joints": list(a.joints), "parts": list(a.parts), "move": a.move} for a in stage.actions],
        "rest": {"lies": stage.rest.lies, "on": stage.rest.on, "blocks_mm": number(stage.rest.blocks, 1),
                 "held_by": stage.rest.held, "tips_at_deg": number(math.degrees(stage.rest.tips_at), 1)},
        "where": stage.place,
    }


def _clamp(clamp: Clamp) -> Json:
    return {"kind": clamp.kind, "joints": list(clamp.joints), "opening_mm": number(clamp.opening, 1),
            "reach_mm": number(clamp.reach, 1), "foot": numbers(clamp.foot, 2), "head": numbers(clamp.head, 2),
            "pads": list(clamp.pads), "block_mm": number(clamp.block, 1), "round": list(clamp.around)}


def _move(move: Move) -> Json:
    """Return a move; one that comes round a corner also says the way it comes in `before` its last straight slide."""
    corner = {} if move.before is None else {"before": numbers(move.before, 9)}
    return {
        "parts": list(move.parts),
        "onto": list(move.onto),
        "direction": numbers(move.direction, 9),
        "travel": number(move.travel, 3),
        "simultaneous": move.simultaneous,
        **corner,
    }
