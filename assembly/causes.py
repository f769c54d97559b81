"""Causes: what is wrong because something else is, told once.

A part that is the wrong way round, its own mirror image or another's in its place also clashes and gapes wherever
it is joined. The work is put right first; then what remains is told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from assembly.findings import Finding
from assembly.placing import Assembly, place
from assembly.symmetry import carries
from assembly.turning_back import put_right, wrong_way_round
from model.as_cut import PartAsCut
from model.design import Design

CAUSES = ("backwards", "handed", "look-alike")
"""The kinds of finding that are causes, where they stop the glue-up."""


def righted(assembly: Assembly, findings: Sequence[Finding]) -> Assembly:
    """Return the work with the causes among some findings undone; the assembly itself where there are none.

    A part the wrong way round is turned; one that was made as its mirror image, or exchanged for another,
    becomes what the drawing has.
    """
    stops = [f for f in findings if f.severity == "stop" and f.kind in CAUSES]
    if not stops:
        return assembly
    turned = frozenset(n for f in stops if f.kind == "backwards" for n in f.parts)
    return _righted(assembly, turned, frozenset(n for f in stops if f.kind != "backwards" for n in f.parts))


@lru_cache(maxsize=16)
def _righted(assembly: Assembly, turned: frozenset[str], undone: frozenset[str]) -> Assembly:
    turns = {one.part: one.turn for one in wrong_way_round(assembly) if one.part in turned}
    right = put_right(assembly.design, turns)
    right = _as_meant(right, undone | {n for n in turns if _is_drawn(right, n)})
    return place(replace(right, measured=_cleared(right.measured, turned | undone)))


def _is_drawn(design: Design, name: str) -> bool:
    """Whether a part is now what the drawing has, so that the drawing's own can stand for it."""
    drawn = None if design.drawn is None else design.drawn.part.get(name)
    return drawn is not None and carries(np.eye(4), design.part[name].finished, drawn.finished)


def _as_meant(design: Design, names: frozenset[str]) -> Design:
    """Return a design with some parts as the drawing has them, where there is one."""
    drawn = {} if design.drawn is None else design.drawn.part
    return replace(design, parts=tuple(drawn.get(p.name, p) if p.name in names else p for p in design.parts))


def _cleared(measured: Sequence[PartAsCut], names: frozenset[str]) -> tuple[PartAsCut, ...]:
    """Return what was measured, without what put these parts the wrong way round or in another's place."""
    return tuple(replace(one, turned=None, mirrored=False, exchanged_with=None)
                 if one.part in names or one.exchanged_with in names else one for one in measured)
