"""Rehearsals made by hand, for tests of what is written: the plan and the findings are given, not worked out."""

from __future__ import annotations

from collections.abc import Sequence

import networkx as nx

from assembly.findings import Amount, Finding, by_harm
from assembly.placing import place
from assembly.plan import Move, Plan, Stage
from assembly.rehearsal import Rehearsal
from model.design import Design

CLASH = Finding(
    "interference", "stop", ("long_rail_01", "post_2"), "long_rail_01 runs 1.8 mm into post_2.",
    "Cut the tenon to 39 mm or the mortise to 43 mm.", (850.0, 0.0, 250.0), Amount(1.8, "mm"), ("long_rail_01_end",))
GRAIN = Finding("grain", "note", ("post_1",), "A joint is glued on end grain.", "Rely on its tenon.")


def by_hand(design: Design, findings: Sequence[Finding] = ()) -> Rehearsal:
    """Return a rehearsal of two stages: the first two parts, then the rest onto them one by one."""
    assembly = place(design)
    names = assembly.names
    first = _stage(design, 1, "first two", tuple((n,) for n in names[:2]), frozenset())
    rest = _stage(design, 2, "the rest", (names[:2], *((n,) for n in names[2:])), frozenset({"first two"}))
    return Rehearsal(design, assembly, (), by_harm(findings), Plan((first, rest), nx.DiGraph()))


def _stage(design: Design, number: int, name: str, units: tuple[tuple[str, ...], ...], done: frozenset[str]) -> Stage:
    parts = tuple(n for unit in units for n in unit)
    moves = [Move(units[0], (), (0.0, 0.0, -1.0), 0.0)]
    moves += [Move(unit, units[0], (1.0, 0.0, 0.0), 38.0) for unit in units[1:]]
    leaving = tuple(n for n in parts if design.part[n].leaves_after == name)
    stays = tuple(n for n in parts if n not in leaving)
    minutes = {"spread": 4.0, "close": 2.5, "needed": 6.5, "open": 10.0}
    mass = sum(design.part[n].mass for n in parts)
    return Stage(number, name, tuple(j.name for j in design.joints), units, tuple(moves), (number - 1,) * (number > 1),
                 done, minutes, 2, mass, (900.0, 89.0, 500.0), leaving, (stays,))
