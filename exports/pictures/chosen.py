"""Which findings are drawn from close by, and what their pictures are called: known without drawing anything."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from assembly.findings import Finding
from assembly.placing import Assembly
from exports.names import safe

if TYPE_CHECKING:
    from assembly.rehearsal import Rehearsal

MOST = 24
"""No more close-ups than this are drawn in one run."""
EVERYWHERE = frozenset({"open-time"})
"""Kinds of finding that are about a whole stage: nothing to see from close by."""
FOLDER = "pictures"


def chosen(findings: Sequence[Finding], assembly: Assembly) -> tuple[list[tuple[int, Finding]], int]:
    """Return the findings to draw with their numbers in the report (from 1), and how many are left out.

    All that stops or warns and has a part to show; of more than MOST of these, and of many alike (the same kind on
    the same groups of parts), one is drawn before any is drawn twice.
    """
    known = assembly.design.part
    fit = [(i, f) for i, f in enumerate((_with_parts(f, assembly) for f in findings), 1)
           if f.severity in ("stop", "warn") and f.kind not in EVERYWHERE and any(n in known for n in f.parts)]
    seen: dict[tuple[object, ...], int] = {}
    turn: dict[int, int] = {}
    for number, finding in fit:
        alike = (finding.kind, *((known[n].group or n) if n in known else n for n in finding.parts))
        turn[number] = seen[alike] = seen.get(alike, -1) + 1
    ranked = sorted(fit, key=lambda nf: (turn[nf[0]], nf[0]))[:MOST]
    return sorted(ranked, key=lambda nf: nf[0]), len(fit) - len(ranked)


def _with_parts(finding: Finding, assembly: Assembly) -> Finding:
    """Return a finding about clamps that names only joints with the parts of these joints."""
    if finding.parts or finding.kind != "clamps":
        return finding
    joints = [j for n in finding.joints if (j := assembly.design.joint.get(n)) is not None]
    return replace(finding, parts=tuple(dict.fromkeys(n for j in joints for n in (j.a, j.b))))


def picture_name(number: int, finding: Finding) -> str:
    """Return the name of a finding's picture, without its ending: "finding_03_gap"."""
    return f"finding_{number:02d}_{safe(finding.kind)}"


def picture_files(rehearsal: Rehearsal) -> Mapping[int, str]:
    """Return the file of every finding that is drawn from close by, below the run's folder, by its number."""
    return {n: f"{FOLDER}/{picture_name(n, f)}.png" for n, f in chosen(rehearsal.findings, rehearsal.assembly)[0]}
