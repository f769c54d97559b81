"""Findings: what the rehearsal noticed, in one shape for report, JSON and pictures."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Severity = Literal["stop", "warn", "note"]
Kind = Literal[
    "interference", "gap", "proud", "unmatched", "backwards", "look-alike", "handed", "thin-wall", "exposed-joint",
    "blocked", "open-time", "hands", "clamps", "size", "mass", "stance", "grain",
]

_RANK = {"stop": 0, "warn": 1, "note": 2}
_KINDS: tuple[Kind, ...] = (
    "backwards", "handed", "look-alike", "unmatched", "interference", "gap", "exposed-joint", "blocked", "thin-wall",
    "proud", "grain", "open-time", "clamps", "hands", "size", "mass", "stance",
)
"""Kinds from the cause to what follows from it: what is the wrong way round also clashes and gapes."""


@dataclass(frozen=True)
class Amount:
    """How much, with its unit: "mm", "deg", "kg", "min", "mm2", "mm3", "°C" or "" for a count."""

    value: float
    unit: str


@dataclass(frozen=True)
class Finding:
    """One thing noticed: what, where (mm, world), how much, what it means, what to do."""

    kind: Kind
    severity: Severity
    parts: tuple[str, ...]
    message: str
    remedy: str
    where: tuple[float, float, float] | None = None
    amount: Amount | None = None
    joints: tuple[str, ...] = ()
    stage: str = ""
    """The glue stage at which it shows; "" where that is the finished work, or any time."""
    late: bool = False
    """Whether it would close without a sound and show only once glue has set."""


def by_harm(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings with the worst first: what stops the glue-up, what shows too late, causes before consequences."""
    return tuple(sorted(findings, key=lambda f: (_RANK[f.severity], not f.late, _KINDS.index(f.kind),
                                                 -(f.amount.value if f.amount else 0.0), f.parts, f.joints)))
