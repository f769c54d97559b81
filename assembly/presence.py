"""Who is there when: the moments at which parts are held together, and what is cut by then.

The finished work is one moment. A glue stage is another where it is unlike the finished work:
because a part still has its later cuts to come, or because temporary parts are in it, which
may hold the others where they do not stay.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import networkx as nx

from assembly.placing import Assembly, place_in_stage
from model.design import StageSpec
from model.joint import Joint
from model.part import ALL, Part


@dataclass(frozen=True, eq=False)
class Moment:
    """Parts held together at one time.

    `stage` is the glue stage, "" for the finished work; `assembly` where the parts stand
    then; `done` the stages behind it; `names` the parts there, in the design's order;
    `joints` those closed just then, `closed` all that hold by then; `unlike` the parts that
    are not shaped or not placed as in the finished work.
    """

    stage: str
    assembly: Assembly
    done: frozenset[str]
    names: tuple[str, ...]
    joints: tuple[str, ...]
    closed: tuple[str, ...]
    unlike: frozenset[str]


@lru_cache(maxsize=16)
def moments(assembly: Assembly) -> tuple[Moment, ...]:
    """Return the finished work first, then each group held together at a stage that is unlike the finished work.

    Parts on two benches at one stage, tied by no joint closed by then, are two moments.
    """
    design = assembly.design
    names = assembly.there()
    closed = tuple(j.name for j in _between(design.joints, set(names)))
    finished = Moment("", assembly, ALL, names, closed, closed, frozenset())
    return (finished, *(moment for stage in design.stages for moment in _at(assembly, stage)))


def _at(assembly: Assembly, stage: StageSpec) -> list[Moment]:
    design, done = assembly.design, assembly.design.behind(stage.name)
    here = {n for s in design.stages if s.name in done for n in s.joints} | set(stage.joints)
    joints = _between([j for j in design.joints if j.name in here], set(assembly.there(done)))
    ties: nx.Graph = nx.Graph()
    ties.add_edges_from((j.a, j.b) for j in joints)
    groups = [g for g in nx.connected_components(ties) if any(j.name in stage.joints for j in _between(joints, g))]
    return [_group(assembly, stage, done, group, _between(joints, group))
            for group in groups if any(_unlike(design.part[n], done) for n in group)]


def _group(assembly: Assembly, stage: StageSpec, done: frozenset[str], group: set[str],
           joints: Sequence[Joint]) -> Moment:
    design = assembly.design
    held = any(design.part[n].temporary for n in group)
    there = place_in_stage(design, stage) if held else assembly
    names = tuple(n for n in assembly.names if n in group and n in there.frames)
    closed = tuple(j.name for j in joints)
    unlike = frozenset(n for n in names if held or _unlike(design.part[n], done))
    return Moment(stage.name, there, done, names, tuple(n for n in closed if n in stage.joints), closed, unlike)


def _between(joints: Sequence[Joint], names: set[str]) -> list[Joint]:
    return [j for j in joints if j.a in names and j.b in names]


def _unlike(part: Part, done: frozenset[str]) -> bool:
    """Whether a part is temporary, or still has cuts to come that wait for a stage."""
    return part.temporary or any(f.after is not None and f.after not in done for f in part.features)
