"""Loops of joints that do not close: which joints make them, and which part they have in common."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import networkx as nx

from assembly.presence import Moment
from assembly.walk import OpenLoop

SUSPECTS_MOST = 3
"""More parts than this in common say nothing about the cause."""


def the_rest(moment: Moment, loop: OpenLoop) -> tuple[str, ...]:
    """Return the other joints of the shortest loop that an open joint would close, from its part a round to b.

    None of them is open itself.
    """
    joint = moment.assembly.design.joint[loop.joint]
    ties = _closed(moment)
    try:
        path = nx.shortest_path(ties, joint.a, joint.b)
    except (nx.NodeNotFound, nx.NetworkXNoPath):
        return ()
    return tuple(str(ties.edges[p, q]["joint"]) for p, q in pairwise(path))


def suspects(moment: Moment, loops: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """Return the parts that every open loop (its joints, in order round) passes and no closed loop does.

    A wrong length opens every loop through its part, so the part is among these; none are
    returned when they are too many to tell anything. Two wrong parts may hide each other.
    """
    if not loops:
        return ()
    bridges = {frozenset(edge) for edge in nx.bridges(_closed(moment))}
    firm = [{frozenset(_ends(moment, n)) for n in loop[1:]} - bridges for loop in loops]
    common = set.intersection(*(_passed(moment, loop, edges) for loop, edges in zip(loops, firm, strict=True)))
    few = len(common) <= SUSPECTS_MOST and len(common) < min(len(loop) for loop in loops)
    return tuple(n for n in moment.names if n in common) if few else ()


def _passed(moment: Moment, loop: Sequence[str], firm: set[frozenset[str]]) -> set[str]:
    """Return the parts a loop enters and leaves by joints that lie in no closed loop."""
    ends = [frozenset(_ends(moment, n)) for n in loop]
    round_about = zip(ends, [*ends[1:], ends[0]], strict=True)
    return {name for one, other in round_about if not {one, other} & firm for name in one & other}


def _ends(moment: Moment, joint: str) -> tuple[str, str]:
    return moment.assembly.design.joint[joint].a, moment.assembly.design.joint[joint].b


def _closed(moment: Moment) -> nx.Graph:
    """Return the parts of a moment as the joints that do close tie them."""
    ties: nx.Graph = nx.Graph()
    left_open = {loop.joint for loop in moment.assembly.open_loops}
    for name in moment.closed:
        if name not in left_open:
            joint = moment.assembly.design.joint[name]
            ties.add_edge(joint.a, joint.b, joint=name)
    return ties
