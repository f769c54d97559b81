"""Hanging: groups lifted in the stage in which they were made, whose joints are still wet, or dry and loose."""

from __future__ import annotations

import math
from collections.abc import Iterable

import networkx as nx
import numpy as np

from assembly.checks.wording import listed, place
from assembly.findings import Finding
from assembly.placing import Assembly
from assembly.plan import Move, Stage
from model.frames import Z, directions, inverse
from model.joint import Joint

STEEP = math.cos(math.radians(30.0))
"""A joint whose axis is within 30 degrees of upright is pulled apart by what hangs on it (common practice, no
source)."""


def hanging(assembly: Assembly, stage: Stage) -> list[Finding]:
    """Return what is said about groups that move with joints that do not hold yet, closed earlier in this stage.

    A note says to hold every piece; a warning names what would drop out: pieces beneath the heaviest one that hang
    on nothing but loose joints with upright axes, as the work lies.
    """
    up = directions(inverse(stage.rest.frame), Z)
    found: list[Finding] = []
    closed: set[str] = set()
    for move in stage.moves:
        if move.onto and len(move.parts) > 1:
            loose = _loose(assembly, stage, move, closed)
            if loose:
                found.append(_said(assembly, stage, move, loose, up))
        closed |= set(move.joints)
    return found


def _loose(assembly: Assembly, stage: Stage, move: Move, closed: Iterable[str]) -> list[Joint]:
    """Return the joints within a moving group that do not hold yet, and tie pieces that nothing else ties."""
    inside = set(move.parts)
    joints = [j for j in assembly.design.joints if j.a in inside and j.b in inside]
    solid: nx.Graph = nx.Graph()
    solid.add_nodes_from(inside)
    for unit in stage.units:
        if set(unit) <= inside:
            nx.add_path(solid, unit)
    piece = {n: k for k, group in enumerate(nx.connected_components(solid)) for n in group}
    fresh = set(closed)
    return [j for j in joints if j.name in fresh and piece[j.a] != piece[j.b]]


def _said(assembly: Assembly, stage: Stage, move: Move, loose: list[Joint], up: np.ndarray) -> Finding:
    names = tuple(j.name for j in loose)
    wet = "whose glue is still wet" if any(j.glued for j in loose) else "that are dry"
    falls = _drops(assembly, stage, move, loose, up)
    message = f"stage {stage.name}: {listed(move.parts)} is lifted as one with {listed(names)}, {wet}"
    if not falls:
        return Finding("stance", "note", move.parts, message,
                       "Lift it by all its pieces at once, or leave its clamps on", None, None, names)
    where = place(assembly.seat(loose[0])[:3, 3])
    return Finding("stance", "warn", falls, f"{message}; the weight of {listed(falls)} pulls straight out of them",
                   f"Leave the clamps on while it is lifted, or lift it by {listed(falls)}", where, None, names)


def _drops(assembly: Assembly, stage: Stage, move: Move, loose: list[Joint], up: np.ndarray) -> tuple[str, ...]:
    """Return the parts of a moving group that would drop out of upright joints, lifted by the heaviest piece."""
    web: nx.Graph = nx.Graph()
    web.add_nodes_from(move.parts)
    for unit in stage.units:
        if set(unit) <= set(move.parts):
            nx.add_path(web, unit)
    upright = [j for j in loose if abs(float(assembly.axis(j) @ up)) >= STEEP]
    web.add_edges_from((j.a, j.b) for j in loose if j not in upright)
    groups = list(nx.connected_components(web))
    if len(groups) < 2:
        return ()
    held = max(groups, key=lambda g: sum(assembly.solid(n, stage.done).volume for n in g))
    beneath = {n for j in upright for n in (j.a, j.b) if n not in held and _is_lower(assembly, j, n, up)}
    return tuple(n for n in move.parts if n in beneath)


def _is_lower(assembly: Assembly, joint: Joint, name: str, up: np.ndarray) -> bool:
    """Whether a part is the one that the joint's axis lets out downwards: a leaves against the axis, b along it."""
    out = -assembly.axis(joint) if name == joint.a else assembly.axis(joint)
    return float(out @ up) < 0
