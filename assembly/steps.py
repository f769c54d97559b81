"""Steps: everything that happens to the work, as a graph of what waits for what, with how long each takes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import networkx as nx

from assembly.placing import Assembly
from assembly.plan import Move, Stage
from assembly.timing import Task, Timetable, shortest
from model.shop import Shop

CUT_PIECE, CUT_JOINT = 5.0, 6.0
"""To cut one piece to its sizes, and one tenon, mortise or the like in it, by one person, min (common practice, no
source)."""
LATER_CUT = 15.0
"""To set up and make one cut in work that is already glued, min (common practice, no source)."""
TAKE_AWAY, CARRY = 2.0, 5.0
"""To take one temporary part out, and to carry work to where it is glued next, min (common practice, no source)."""
TRIED = 0.5
"""How hard a shorter timetable is looked for, in the solver's own seconds."""
STANDING = "standing"
"""The name of the last step: the finished work may be loaded."""


def steps(assembly: Assembly, stages: Sequence[Stage], ways_out: Mapping[int, tuple[Move, ...]]) -> nx.DiGraph:
    """Return the graph of steps: cut, glue, wait, take away, later cuts, carry, and the work standing at last.

    Nodes carry `kind`, `stage` (number; 0 for the last), `parts` and `minutes`; "take away" nodes also `moves`, whose
    directions are those in which the parts leave. `ways_out`: these moves by stage number.
    """
    graph = nx.DiGraph()
    for stage in stages:
        _add(graph, glue(stage), "glue", stage, stage.parts, stage.minutes.get("needed", 0.0))
    _first_cuts(assembly, stages, graph)
    last = {s.number: _after(assembly, s, ways_out.get(s.number, ()), graph) for s in stages}
    _carries(stages, last, graph)
    _stand(assembly, stages, graph)
    return graph


def glue(stage: Stage) -> str:
    """Return the name of a stage's glue step."""
    return f"glue {stage.name}"


def _add(graph: nx.DiGraph, name: str, kind: str, stage: Stage, parts: Sequence[str], minutes: float,
         **more: object) -> str:
    graph.add_node(name, kind=kind, stage=stage.number, parts=tuple(parts), minutes=round(minutes, 2), **more)
    return name


def _first_cuts(assembly: Assembly, stages: Sequence[Stage], graph: nx.DiGraph) -> None:
    """Add one cutting step for each set of like parts first needed in a stage."""
    seen: set[str] = set()
    for stage in stages:
        alike: dict[tuple[str, bytes], list[str]] = {}
        for name in stage.parts:
            if name not in seen:
                seen.add(name)
                part = assembly.part(name)
                alike.setdefault((part.group or name, part.solid(frozenset()).key), []).append(name)
        for (group, _), names in alike.items():
            said = names[0] if len(names) == 1 else f"{len(names)} {group} like {names[0]}"
            joints = len({f.name for f in assembly.part(names[0]).features if f.after is None})
            step = _add(graph, f"cut {said} for {stage.name}", "cut", stage, names,
                        len(names) * (CUT_PIECE + CUT_JOINT * joints))
            graph.add_edge(step, glue(stage))


def _after(assembly: Assembly, stage: Stage, out: tuple[Move, ...], graph: nx.DiGraph) -> dict[str, str]:
    """Add what happens to a stage's work once it is closed; return the last step of each part."""
    set_up = _add(graph, f"clamps on {stage.name}", "wait", stage, stage.parts, stage.minutes.get("clamped", 0.0))
    graph.add_edge(glue(stage), set_up)
    last = dict.fromkeys(stage.parts, set_up)
    if stage.takes_away:
        step = _add(graph, f"take away {_some(stage.takes_away)} after {stage.name}", "take away", stage,
                    stage.takes_away, TAKE_AWAY * len(stage.takes_away), moves=out)
        graph.add_edge(set_up, step)
        last = dict.fromkeys(stage.parts, step)
    for role, names in _later(assembly, stage).items():
        step = _add(graph, f"cut the {role} of {_some(names)} after {stage.name}", "cut", stage, names,
                    LATER_CUT * len(names))
        for before in dict.fromkeys(last[n] for n in names):
            graph.add_edge(before, step)
        last.update(dict.fromkeys(names, step))
    return last


def _later(assembly: Assembly, stage: Stage) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name in stage.parts:
        for role in dict.fromkeys(f.role for f in assembly.part(name).features if f.after == stage.name):
            found.setdefault(role, []).append(name)
    return found


def _some(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{len(names)} parts from {names[0]} on"


def _carries(stages: Sequence[Stage], last: Mapping[int, Mapping[str, str]], graph: nx.DiGraph) -> None:
    """Add the carrying of what one stage made to the stage that needs it next."""
    of = {s.number: s for s in stages}
    for stage in stages:
        here = set(stage.parts)
        for number in stage.needs:
            before = of[number]
            taken = [p for p in before.parts if p in here]
            if not taken:
                ends = dict.fromkeys(last[number].values())
                graph.add_edges_from((end, glue(stage)) for end in ends)
                continue
            step = _add(graph, f"carry {before.name} to {stage.name}", "carry", stage, taken, CARRY)
            graph.add_edges_from((end, step) for end in dict.fromkeys(last[number][p] for p in before.parts))
            graph.add_edge(step, glue(stage))


def _stand(assembly: Assembly, stages: Sequence[Stage], graph: nx.DiGraph) -> None:
    """Add the wait of each stage until its joints bear a load, and the finished work standing."""
    if not stages:
        return
    ends = [n for n in graph if graph.out_degree(n) == 0]
    graph.add_node(STANDING, kind="set up", stage=0, parts=assembly.there(), minutes=0.0)
    graph.add_edges_from((end, STANDING) for end in ends)
    for stage in stages:
        more = stage.minutes.get("load", 0.0) - stage.minutes.get("clamped", 0.0)
        if more > 0:
            cure = _add(graph, f"let {stage.name} cure", "wait", stage, stage.parts, more)
            graph.add_edge(f"clamps on {stage.name}", cure)
            graph.add_edge(cure, STANDING)


def timetable(graph: nx.DiGraph, stages: Sequence[Stage], shop: Shop) -> Timetable:
    """Return when each step may begin with the people, and the clamps, that there are: in minutes from the first cut.

    Everybody is at a glue-up, one person at a cut. Clamps are on from the glue-up until they come off. More clamps
    than there are, which a finding tells, are taken as all there are.
    """
    owned = sum(c.count for c in shop.clamps)
    of = {s.number: s for s in stages}
    tasks = []
    for name, data in graph.nodes(data=True):
        takes = {"glue": {"people": shop.people}, "cut": {"people": 1}, "carry": {"people": 1},
                 "take away": {"people": 1}}.get(data["kind"], {})
        if owned and name.startswith("clamps on "):
            takes = {"clamps": min(owned, len(of[data["stage"]].clamps))}
        tasks.append(Task(name, data["minutes"], {what: much for what, much in takes.items() if much},
                          tuple(graph.predecessors(name))))
    return shortest(tasks, {"people": shop.people, "clamps": owned} if owned else {"people": shop.people}, TRIED)
