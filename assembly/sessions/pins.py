"""Pins: what the maker has decided on beforehand, brought into the plan and then verified."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import networkx as nx

from assembly.blocking import Unit
from assembly.findings import Finding
from assembly.glue_up import named
from assembly.placing import Assembly
from assembly.plan import Stage
from assembly.sessions.solve import Numbers
from assembly.sessions.tasks import Task
from model.design import Design, Pin


def made_first(assembly: Assembly, pins: Sequence[Pin], among: Iterable[str] | None = None) -> tuple[Unit, ...]:
    """Return the groups of parts that pins want made up before the rest: what their first joints tie together.

    `among`: only joints between these parts, and not a group that holds them all.
    """
    there = set(assembly.there() if among is None else among)
    web = nx.Graph()
    for pin in pins:
        for name in pin.first:
            joint = assembly.design.joint[name]
            if {joint.a, joint.b} <= there:
                web.add_edge(joint.a, joint.b)
    groups = [tuple(n for n in assembly.names if n in c) for c in nx.connected_components(web)]
    return tuple(sorted((g for g in groups if len(g) < len(there)), key=lambda g: assembly.names.index(g[0])))


def units_of(names: Iterable[str], groups: Sequence[Unit]) -> list[Unit]:
    """Return parts as units, those of a group as one."""
    of: Mapping[str, Unit] = {n: g for g in groups for n in g}
    return list(dict.fromkeys(of.get(n, (n,)) for n in names))


def together(pins: Sequence[Pin], tasks: Sequence[Task]) -> tuple[Numbers, ...]:
    """Return the sets of closings that pins want in one session."""
    closes = {name: t for t, task in enumerate(tasks) for name in task.joints}
    wanted = (frozenset(closes[n] for n in pin.together if n in closes) for pin in pins)
    return tuple(few for few in wanted if len(few) > 1)


def broken(design: Design, stages: Sequence[Stage]) -> list[Finding]:
    """Return the pins that a plan does not keep to, each as what stands in the way of it."""
    at = {name: stage for stage in stages for name in stage.joints}
    behind = {s.number: s.done for s in stages}
    found = []
    for pin in design.pins:
        places = list(dict.fromkeys(at[n].name for n in pin.together if n in at))
        if len(places) > 1:
            found.append(_finding(
                pin.together, f"{pin.name}: {named(pin.together)} were to close in one stage, and close in stages "
                f"{named(places)}", "Let them close in one stage, or take back the pin"))
        late = [(a, b) for a in pin.first for b in pin.then if a in at and b in at and at[a].name != at[b].name
                and at[a].name not in behind[at[b].number]]
        if late:
            one, other = late[0]
            found.append(_finding(
                (one, other), f"{pin.name}: {one} was to close before {other}, but stage {at[one].name} does not come "
                f"before stage {at[other].name}", f"Let stage {at[other].name} come after stage {at[one].name}, or "
                "take back the pin"))
        same = [(a, b) for a in pin.first for b in pin.then if a in at and b in at and at[a].name == at[b].name
                and _move(at[a], a) > _move(at[b], b)]
        if same:
            one, other = same[0]
            found.append(_finding(
                (one, other), f"{pin.name}: {one} was to close before {other}, but in stage {at[one].name} it can only "
                "close after it", "Close them in two stages, or take back the pin"))
    return found


def _move(stage: Stage, joint: str) -> int:
    return next((k for k, m in enumerate(stage.moves) if joint in m.joints), -1)


def _finding(joints: Sequence[str], message: str, remedy: str) -> Finding:
    return Finding("blocked", "stop", (), message, remedy, joints=tuple(joints))


def clash(pins: Sequence[Pin], tasks: Sequence[Task], caught: Numbers) -> Finding:
    """Return the finding for joints that were to close in one session although some of them wait for others."""
    joints = tuple(n for t in sorted(caught) for n in tasks[t].joints)
    which = next((p.name for p in pins if set(p.together) & set(joints)), "a pin")
    groups = [g for t in sorted(caught) for g in tasks[t].brings if len(g) > 1]
    why = f": the group of {named(groups[-1])} has to set before it can be moved" if groups else ""
    return Finding("blocked", "stop", tuple(dict.fromkeys(n for g in groups for n in g)),
                   f"{which}: {named(joints)} cannot close in one stage{why}",
                   "Take some of these joints out of the pin; the plan goes on as if it were not there", joints=joints)
