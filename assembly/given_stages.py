"""Given stages: those a design names, checked and put in an order that can be carried out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import networkx as nx

from assembly.blocking import Unit
from assembly.findings import Finding
from assembly.glue_up import Bench, joined, named
from assembly.placing import Assembly
from model.design import StageSpec
from model.joint import Joint


@dataclass(frozen=True)
class Given:
    """The benches of the given stages, in order, and what is wrong with them as given."""

    benches: tuple[Bench, ...]
    findings: tuple[Finding, ...]


def given(assembly: Assembly) -> Given:
    """Return what comes to the bench at each given stage; whatever cannot be is left out and reported."""
    findings: list[Finding] = []
    specs = _known(assembly, findings)
    waits = _waits(assembly, specs)
    behind = {s.name: frozenset(nx.ancestors(waits, s.name)) for s in specs}
    findings += _unclosed(assembly, specs) + _temporary(assembly, specs) + _late_cuts(assembly, specs, behind)
    numbers = {s.name: i + 1 for i, s in enumerate(specs)}
    direct = nx.transitive_reduction(waits)
    benches = []
    for spec in specs:
        needs = tuple(sorted(numbers[n] for n in direct.predecessors(spec.name)))
        units, fresh = _bench(assembly, spec, specs, behind[spec.name], findings)
        if units:
            benches.append(Bench(numbers[spec.name], spec.name, fresh, units, needs, behind[spec.name],
                                 _leaving(assembly, spec, units)))
    return Given(tuple(benches), tuple(findings))


def _known(assembly: Assembly, findings: list[Finding]) -> list[StageSpec]:
    """Return the stages with the joints that exist, are placed and are not closed before, in an order that works."""
    seen: dict[str, str] = {}
    specs: list[StageSpec] = []
    for spec in assembly.design.stages:
        kept = []
        for name in spec.joints:
            joint = assembly.design.joint.get(name)
            if joint is None:
                findings.append(_wrong(f"stage {spec.name} closes joint {name}, which the design does not have",
                                       "Name a joint of the design, or leave it out"))
            elif name in seen:
                findings.append(_wrong(f"joint {name} is closed twice, in stage {seen[name]} and in stage {spec.name}",
                                       "Keep it in one of the two", joint))
            elif joint.a in assembly.frames and joint.b in assembly.frames:
                kept.append(name)
                seen[name] = spec.name
        specs.append(StageSpec(spec.name, tuple(kept), spec.after))
    return _in_order([s for s in specs if s.joints], findings)


def _in_order(specs: list[StageSpec], findings: list[Finding]) -> list[StageSpec]:
    place = {s.name: i for i, s in enumerate(specs)}
    web = nx.DiGraph()
    web.add_nodes_from(place)
    for spec in specs:
        for before in spec.after:
            if before in place:
                web.add_edge(before, spec.name)
            else:
                findings.append(_wrong(f"stage {spec.name} comes after stage {before}, which closes nothing",
                                       "Name a stage that closes a joint, or leave it out"))
    if not nx.is_directed_acyclic_graph(web):
        circle = [a for a, _ in nx.find_cycle(web)]
        findings.append(_wrong(f"stages {named(circle)} wait for each other in a circle",
                               "Take one of them out of another's `after`"))
        return [StageSpec(s.name, s.joints) for s in specs]
    return [specs[place[n]] for n in nx.lexicographical_topological_sort(web, key=place.__getitem__)]


def _waits(assembly: Assembly, specs: Sequence[StageSpec]) -> nx.DiGraph:
    """Return who waits for whom: stages named in `after`, and stages before that worked on the same pieces."""
    waits = nx.DiGraph()
    waits.add_nodes_from(s.name for s in specs)
    web = nx.Graph()
    worked: dict[str, set[str]] = {}
    for spec in specs:
        waits.add_edges_from((before, spec.name) for before in spec.after if before in waits)
        ends = [(assembly.design.joint[n].a, assembly.design.joint[n].b) for n in spec.joints]
        web.remove_nodes_from([n for n in web if assembly.part(n).leaves_after in worked])
        web.add_nodes_from(p for pair in ends for p in pair)
        held = {q for pair in ends for p in pair for q in nx.node_connected_component(web, p)}
        waits.add_edges_from((before, spec.name) for before, parts in worked.items() if parts & held)
        web.add_edges_from(ends)
        worked[spec.name] = {p for pair in ends for p in pair}
    return waits


def _bench(assembly: Assembly, spec: StageSpec, specs: Sequence[StageSpec], behind: frozenset[str],
           findings: list[Finding]) -> tuple[tuple[Unit, ...], tuple[str, ...]]:
    """Return the units at the bench for a stage, and the joints that can still be closed there."""
    units = held_before(assembly, specs, behind)
    fresh = []
    for name in spec.joints:
        joint = assembly.design.joint[name]
        if units.get(joint.a) is not None and units.get(joint.a) == units.get(joint.b):
            findings.append(_wrong(
                f"joint {name} is closed in stage {spec.name}, but {joint.a} and {joint.b} are held together before "
                "that: it has to close when they do",
                f"Move it to the stage that brings {joint.a} and {joint.b} together", joint))
        elif gone := [p for p in (joint.a, joint.b) if assembly.part(p).leaves_after in behind]:
            findings.append(_wrong(
                f"joint {name} is closed in stage {spec.name}, but {gone[0]} is taken away before that",
                f"Let {gone[0]} leave after stage {spec.name}, or close the joint earlier", joint))
        else:
            fresh.append(name)
    at_hand = [p for n in fresh for p in (assembly.design.joint[n].a, assembly.design.joint[n].b)]
    return tuple(dict.fromkeys(units.get(p) or (p,) for p in at_hand)), tuple(fresh)


def held_before(assembly: Assembly, specs: Sequence[StageSpec], behind: frozenset[str]) -> Mapping[str, Unit]:
    """Return, for every part glued or held in the stages behind, the group it belongs to."""
    closed = [n for s in specs if s.name in behind for n in s.joints]
    gone = [p.name for p in assembly.design.parts if p.leaves_after in behind]
    ends = dict.fromkeys(p for n in closed for p in (assembly.design.joint[n].a, assembly.design.joint[n].b))
    groups = joined(assembly, [(p,) for p in ends if p not in gone], closed, gone)
    return {p: group for group in groups for p in group}


def _leaving(assembly: Assembly, spec: StageSpec, units: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(p for unit in units for p in unit if assembly.part(p).leaves_after == spec.name)


def _unclosed(assembly: Assembly, specs: Sequence[StageSpec]) -> list[Finding]:
    if not assembly.design.stages:
        return []
    closed = {n for s in specs for n in s.joints}
    groups = held_before(assembly, specs, frozenset(s.name for s in specs))
    found = []
    for joint in assembly.design.joints:
        if joint.name in closed or joint.a not in assembly.frames or joint.b not in assembly.frames:
            continue
        together = joint.a in groups and groups[joint.a] == groups.get(joint.b)
        said = "its pieces come together all the same, without glue in it" if together else "its pieces stay apart"
        found.append(Finding("blocked", "warn" if together else "stop", (joint.a, joint.b),
                             f"joint {joint.name} between {joint.a} and {joint.b} is closed in no stage: {said}",
                             f"Add {joint.name} to the stage that brings {joint.a} and {joint.b} together",
                             joints=(joint.name,)))
    return found


def _temporary(assembly: Assembly, specs: Sequence[StageSpec]) -> list[Finding]:
    names = {s.name for s in specs}
    accepted = "Name one of the stages: " + named(sorted(names)) if names else "Give the design stages"
    found = [_wrong(f"{part.name} is taken away after stage {part.leaves_after}, and there is no such stage",
                    accepted, parts=(part.name,))
             for part in assembly.design.parts if part.temporary and part.leaves_after not in names]
    for joint in assembly.design.joints:
        held = [p for p in (joint.a, joint.b) if assembly.part(p).temporary]
        if held and joint.glued:
            found.append(_wrong(f"{held[0]} is to be taken away again, but joint {joint.name} glues it in",
                                f"Leave joint {joint.name} dry, or keep {held[0]}", joint))
    return found


def _late_cuts(assembly: Assembly, specs: Sequence[StageSpec], behind: Mapping[str, frozenset[str]]) -> list[Finding]:
    """Return joints that close before their own tenon or mortise is cut, and cuts that wait for no stage at all."""
    stage_of = {n: s.name for s in specs for n in s.joints}
    found = []
    for part in assembly.design.parts:
        for f in part.features:
            if f.after is None:
                continue
            if f.after not in behind:
                found.append(_wrong(f"{f.name} in {part.name} is to be cut after stage {f.after}, and there is no such "
                                    "stage", "Name a stage that closes a joint", parts=(part.name,)))
            elif f.joint in stage_of and f.after not in behind[stage_of[f.joint]]:
                closing = stage_of[f.joint]
                found.append(_wrong(f"{f.name} in {part.name} is cut only after stage {f.after}, but its joint closes "
                                    f"in stage {closing}", f"Cut it before, or let stage {closing} come after stage "
                                    f"{f.after}", assembly.design.joint[f.joint]))
    return found


def _wrong(message: str, remedy: str, joint: Joint | None = None, parts: tuple[str, ...] = ()) -> Finding:
    ends = (joint.a, joint.b) if joint is not None else parts
    return Finding("blocked", "stop", ends, message, remedy, joints=(joint.name,) if joint is not None else ())
