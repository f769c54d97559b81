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


@dataclass(frozen=True)
class Amount:
    """How much, with its unit: "mm", "deg", "kg", "min", "mm2", "mm3" or "" for a count."""

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


def by_harm(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings with the worst first, otherwise in a steady order."""
    return tuple(sorted(findings, key=lambda f: (_RANK[f.severity], f.kind, -(f.amount.value if f.amount else 0.0),
                                                 f.parts, f.joints)))
