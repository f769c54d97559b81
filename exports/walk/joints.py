"""The joints of each part, in the trade's words."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from assembly.rehearsal import Rehearsal
from exports import words
from exports.names import shown
from exports.walk.book import Book, Json
from model.design import Design
from model.joint import Joint
from model.part import Part

INCH = 25.4


def joints_of(rehearsal: Rehearsal, book: Book) -> Mapping[str, list[Json]]:
    """Return the joints of each part by its name.

    A loose tenon is one joint between the two pieces it ties; only on the tenon's own card do its halves stand.
    """
    design = rehearsal.design
    closes = {joint: k for k, stage in enumerate(rehearsal.plan.stages) for joint in stage.joints}
    loose = _loose(design)
    found: dict[str, list[Json]] = {}
    for joint in design.joints:
        whole = design.joint.get(joint.of) if joint.of is not None else None
        says = _says(joint, design, loose.get(joint.of or joint.name))
        for name, other in ((joint.a, joint.b), (joint.b, joint.a)):
            if whole is None or name not in (whole.a, whole.b):
                found.setdefault(name, []).append({
                    "name": shown(joint.name), "kind": _kind(joint), "other": book.part(other), "glued": joint.glued,
                    "stage": closes.get(joint.name), "says": says})
    return found


def _kind(joint: Joint) -> str:
    """Return the kind of joint as a person says it; a face that stays dry is no glued face."""
    told = {"tenon half": "loose tenon", "glued face": "glued face" if joint.glued else "dry face"}
    return told.get(joint.kind, joint.kind)


def _says(joint: Joint, design: Design, loose: Part | None) -> str:
    unit = design.unit
    tenon = _tenon(joint, design) if loose is None else ("loose tenon", _size(loose))
    said = [f"{tenon[0]} {words.size(tenon[1], unit)}"] if tenon else []
    said += [f"goes in {words.size((joint.travel,), unit)}"] if joint.travel > 0 and not tenon else []
    said += [f"{_fine(joint.fit, unit)} play a side"] if joint.fit > 0 and joint.travel > 0 else []
    said.append("glued" if joint.glued else "dry, no glue")
    return ", ".join(said)


def _tenon(joint: Joint, design: Design) -> tuple[str, tuple[float, float, float]] | None:
    """Return the tenon of a joint, if it has one, with its width, thickness and length, mm."""
    for name, seat, outwards in ((joint.a, joint.seat_a, 1.0), (joint.b, joint.seat_b, -1.0)):
        own = [f.solid for f in design.part[name].features if f.joint == joint.name and f.role == "tenon"]
        if own:
            low, high = own[0].bounds_in(seat)
            length = high[2] if outwards > 0 else -low[2]
            many = "tenon" if len(own) == 1 else f"{len(own)} tenons, each"
            return many, (float(high[0] - low[0]), float(high[1] - low[1]), float(length))
    return None


def _loose(design: Design) -> Mapping[str, Part]:
    """Return the loose tenon of each joint that has one."""
    found: dict[str, Part] = {}
    for half in design.joints:
        whole = design.joint.get(half.of) if half.of is not None else None
        if whole is not None:
            found[whole.name] = design.part[half.a if half.a not in (whole.a, whole.b) else half.b]
    return found


def _size(part: Part) -> tuple[float, float, float]:
    x, y, z = sorted(np.ptp(part.finished.bounds, axis=0).tolist(), reverse=True)
    return y, z, x


def _fine(mm: float, unit: str) -> str:
    """Return a small play: to a hundredth of a millimetre, or a thousandth of an inch."""
    return f"{mm / INCH:.3f} in" if unit == "in" else f"{mm:.2f} mm"
