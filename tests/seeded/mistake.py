"""What a planted mistake is, and whether the checks saw it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from numpy.random import Generator

from assembly.checks import check
from assembly.findings import Finding, Kind
from assembly.placing import place
from model.design import Design

WITHIN = {"mm": 0.02, "deg": 0.02}
"""How near the amount of a finding comes to that of the mistake."""


@dataclass(frozen=True, eq=False)
class Mistake:
    """One mistake: what it is called, the design that has it, and what must be found.

    `finds`: the kinds of finding that are right; `parts`: the parts that it must name, by
    themselves or by their joints; `amount`: how much it must say, in `unit`, None where the
    mistake has no size of its own; `among`: where more than one place shows it, sets of parts of
    which one must be named besides; `or_amounts`: what the same mistake measures in other places.
    All of it follows from how the mistake was planted.
    """

    name: str
    design: Design
    finds: tuple[Kind, ...]
    parts: frozenset[str]
    amount: float | None = None
    unit: str = "mm"
    among: tuple[frozenset[str], ...] = (frozenset(),)
    or_amounts: tuple[tuple[float, str], ...] = ()


Plant = Callable[[Design, Generator], Mistake | None]


@dataclass(frozen=True)
class Planter:
    """One way to go wrong: how it is planted, from which size on it must be seen, and what stays unseen."""

    name: str
    plant: Plant
    threshold: str
    blind: str = ""


@dataclass(frozen=True)
class Judged:
    """What became of a mistake: found at all, with the right kind, naming the parts, with the right amount."""

    found: bool
    kind: bool
    parts: bool
    amount: bool
    first: bool
    """Whether it is the first finding that a person reads."""

    @property
    def good(self) -> bool:
        """Whether one finding has all of it right."""
        return self.amount


def wrong(design: Design) -> list[Finding]:
    """Return what stops or warns, and every contact that nobody declared."""
    return [f for f in check(place(design), design.shop) if f.severity != "note" or f.kind == "unmatched"]


def judged(mistake: Mistake, findings: Sequence[Finding] | None = None) -> Judged:
    """Return what the checks make of a mistake."""
    found = wrong(mistake.design) if findings is None else findings
    kind = [f for f in found if f.kind in mistake.finds]
    parts = [f for f in kind if _names(f, mistake)]
    amount = [f for f in parts if _amounts(f, mistake)]
    return Judged(bool(found), bool(kind), bool(parts), bool(amount), bool(amount) and found[0] is amount[0])


def _names(finding: Finding, mistake: Mistake) -> bool:
    design = mistake.design
    joints = [(design.drawn or design).joint.get(n) for n in finding.joints]
    named = {*finding.parts, *(n for j in joints if j is not None for n in (j.a, j.b))}
    return mistake.parts <= named and any(some <= named for some in mistake.among)


def _amounts(finding: Finding, mistake: Mistake) -> bool:
    if mistake.amount is None:
        return True
    told, right = finding.amount, ((mistake.amount, mistake.unit), *mistake.or_amounts)
    return told is not None and any(told.unit == unit and abs(told.value - value) <= WITHIN[unit]
                                    for value, unit in right)
