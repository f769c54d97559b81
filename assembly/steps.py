"""Steps: everything that happens to the work, as a graph of what waits for what."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import networkx as nx

from assembly.placing import Assembly
from assembly.plan import Move, Stage


def steps(assembly: Assembly, stages: Sequence[Stage], ways_out: Mapping[int, tuple[Move, ...]]) -> nx.DiGraph:
    """Return the graph of steps: cut, glue, take away, later cuts, carry.

    Nodes carry `kind`, `stage` (number) and `parts`; "take away" nodes also `moves`, whose
    directions are those in which the parts leave. `ways_out`: these moves by stage number.
    """
    graph = nx.DiGraph()
    for stage in stages:
        _add(graph, glue(stage), "glue", stage, stage.parts)
    _first_cuts(assembly, stages, graph)
    last = {s.number: _after(assembly, s, ways_out.get(s.number, ()), graph) for s in stages}
    _carries(stages, last, graph)
    return graph


def glue(stage: Stage) -> str:
    """Return the name of a stage's glue step."""
    return f"glue {stage.name}"


def _add(graph: nx.DiGraph, name: str, kind: str, stage: Stage, parts: Sequence[str], **more: object) -> str:
    graph.add_node(name, kind=kind, stage=stage.number, parts=tuple(parts), **more)
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
            step = _add(graph, f"cut {said} for {stage.name}", "cut", stage, names)
            graph.add_edge(step, glue(stage))


def _after(assembly: Assembly, stage: Stage, out: tuple[Move, ...], graph: nx.DiGraph) -> dict[str, str]:
    """Add what happens to a stage's work once its glue has set; return the last step of each part."""
    last = dict.fromkeys(stage.parts, glue(stage))
    if stage.takes_away:
        step = _add(graph, f"take away {_some(stage.takes_away)} after {stage.name}", "take away", stage,
                    stage.takes_away, moves=out)
        graph.add_edge(glue(stage), step)
        last = dict.fromkeys(stage.parts, step)
    for role, names in _later(assembly, stage).items():
        step = _add(graph, f"cut the {role} of {_some(names)} after {stage.name}", "cut", stage, names)
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
            step = _add(graph, f"carry {before.name} to {stage.name}", "carry", stage, taken)
            graph.add_edges_from((end, step) for end in dict.fromkeys(last[number][p] for p in before.parts))
            graph.add_edge(step, glue(stage))
