"""Who is there when: the moments at which parts are held together, and what is cut by then.

The finished work is one moment. Every glue stage is another where it differs: because a
part still has its later cuts to come, or because temporary parts are in it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import networkx as nx

from assembly.placing import Assembly
from model.design import Design
from model.part import ALL, Part


@dataclass(frozen=True)
class Moment:
    """Parts held together at one time.

    `stage` is the glue stage, "" for the finished work; `done` the stages behind it; `names`
    the parts there, in the design's order; `joints` those closed at that moment; `unlike` the
    parts that are not yet (or no longer, being temporary) what the finished work shows.
    """

    stage: str
    done: frozenset[str]
    names: tuple[str, ...]
    joints: tuple[str, ...]
    unlike: frozenset[str]


def behind(design: Design, stage: str) -> frozenset[str]:
    """Return the stages that lie behind a stage, by its `after` and theirs."""
    after = {s.name: s.after for s in design.stages}
    found: set[str] = set()
    waiting = list(after.get(stage, ()))
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            waiting.extend(after.get(name, ()))
    return frozenset(found - {stage})


@lru_cache(maxsize=16)
def moments(assembly: Assembly) -> tuple[Moment, ...]:
    """Return the finished work first, then each group held together at a stage that is unlike the finished work.

    Parts that stand on two benches at one stage, tied by no joint closed by then, are two moments.
    """
    design = assembly.design
    stages = {s.name for s in design.stages}
    leaving = {p.name for p in design.parts if p.leaves_after in stages}
    stay = tuple(n for n in assembly.names if n not in leaving)
    closed = tuple(j.name for j in design.joints if j.a not in leaving and j.b not in leaving)
    finished = Moment("", ALL, stay, closed, frozenset())
    groups = (m for s in design.stages for m in _at(assembly, s.name, s.joints, leaving))
    return (finished, *(m for m in groups if m.unlike))


def _at(assembly: Assembly, stage: str, joints: Iterable[str], leaving: set[str]) -> list[Moment]:
    design, done = assembly.design, behind(assembly.design, stage)
    gone = {n for n in leaving if design.part[n].leaves_after in done}
    here = {n for s in design.stages if s.name in done for n in s.joints} | set(joints)
    ties: nx.Graph = nx.Graph()
    for name in here & set(design.joint):
        joint = design.joint[name]
        if joint.a in assembly.frames and joint.b in assembly.frames and not {joint.a, joint.b} & gone:
            ties.add_edge(joint.a, joint.b)
    now = [design.joint[n] for n in joints if n in design.joint]
    found = []
    for group in nx.connected_components(ties):
        closing = tuple(j.name for j in now if j.a in group and j.b in group)
        unlike = frozenset(n for n in group if n in leaving or unfinished(design.part[n], done))
        if closing:
            found.append(Moment(stage, done, tuple(n for n in assembly.names if n in group), closing, unlike))
    return found


def unfinished(part: Part, done: frozenset[str]) -> bool:
    """Whether a part still has cuts to come that wait for a stage."""
    return any(f.after is not None and f.after not in done for f in part.features)
