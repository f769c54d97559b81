"""Cuts that go together: a tenon and what it goes into, two laps; and joints for which one of them was never cut."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from assembly.placing import Assembly, as_drawn
from model.design import Design
from model.joint import Joint

MATES = {
    "tenon": ("mortise", "slot"),
    "mortise": ("tenon", "mortise"),
    "slot": ("tenon",),
    "lap": ("lap",),
}
"""For each cut that cannot be alone, what the other part must have for it; a loose tenon goes into two mortises."""

Roles = Mapping[str, frozenset[str]]
"""What is cut for one joint, by part."""


@dataclass(frozen=True)
class Missing:
    """A cut that a joint has not: the part that should have it and what it is; the other part and what that has there.

    `part` is "" for a loose tenon that is not there at all.
    """

    joint: Joint
    part: str
    role: str
    other: str
    has: str


@lru_cache(maxsize=16)
def unmated(assembly: Assembly) -> tuple[Missing, ...]:
    """Return the cuts that joints of the placed parts have not, in the joints' order.

    A cut is missing where the drawing has it, or where the other part has one that cannot be alone.
    """
    design, drawn = assembly.design, as_drawn(assembly).design
    loose = frozenset(j.of for j in design.joints if j.of is not None)
    cut = _cuts(design)
    meant = _cuts(drawn) if drawn is not design else {}
    found: list[Missing] = []
    for joint in design.joints:
        if joint.of is None and joint.a in assembly.frames and joint.b in assembly.frames:
            one = _missing(joint, cut.get(joint.name, {}), meant.get(joint.name, {}), joint.name in loose)
            found.extend(one[:1])
    return tuple(found)


def bare(assembly: Assembly) -> frozenset[str]:
    """Return the joints for which a cut is missing, with the halves of loose tenons among them."""
    names = {missing.joint.name for missing in unmated(assembly)}
    return frozenset(names | {j.name for j in assembly.design.joints if j.of in names}) if names else frozenset()


def _cuts(design: Design) -> Mapping[str, Roles]:
    """Return what is cut for each joint, by joint and part."""
    found: dict[str, dict[str, frozenset[str]]] = {}
    for part in design.parts:
        for feature in part.features:
            if feature.joint is not None and feature.role != "shoulder":
                roles = found.setdefault(feature.joint, {})
                roles[part.name] = roles.get(part.name, frozenset()) | {feature.role}
    return found


def _missing(joint: Joint, cut: Roles, meant: Roles, loose: bool) -> list[Missing]:
    none: frozenset[str] = frozenset()
    a, b = joint.a, joint.b
    found = _lacking(cut.get(a, none), cut.get(b, none), meant.get(a, none), meant.get(b, none), loose)
    names = {"a": a, "b": b, "": ""}
    return [Missing(joint, names[part], role, names[other], has) for part, role, other, has in found]


@lru_cache(maxsize=1024)
def _lacking(a: frozenset[str], b: frozenset[str], meant_a: frozenset[str], meant_b: frozenset[str],
             loose: bool) -> tuple[tuple[str, str, str, str], ...]:
    """Return what two parts with these cuts lack: which of them, what, which has its mate, what that is."""
    sides = (("b", b, meant_b, "a", a), ("a", a, meant_a, "b", b))
    found = [(part, role, other, min(theirs, default="")) for part, own, meant, other, theirs in sides
             for role in sorted(meant - own)]
    for part, own, _, other, theirs in sides:
        for has in sorted(theirs):
            mates = MATES.get(has)
            if mates and not own & {*mates}:
                found.append((part, "mortise" if loose else mates[0], other, has))
    if not loose and "mortise" in a and "mortise" in b:
        found.append(("", "tenon", "b", "mortise"))
    return tuple(found)
