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
    """Return the other joints of the shortest loop that an open joint would close; none of them is open itself."""
    joint = moment.assembly.design.joint[loop.joint]
    ties = _closed(moment)
    try:
        path = nx.shortest_path(ties, joint.a, joint.b)
    except (nx.NodeNotFound, nx.NetworkXNoPath):
        return ()
    return tuple(str(ties.edges[p, q]["joint"]) for p, q in pairwise(path))


def suspects(moment: Moment, loops: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """Return the parts that every open loop passes through and no closed loop does; none when that tells nothing.

    A wrong length opens every loop through its part and no other, so with two loops open or
    more the part is among these. Two wrong parts may hide each other.
    """
    if len(loops) < 2:
        return ()
    bridges = {frozenset(edge) for edge in nx.bridges(_closed(moment))}
    common = set.intersection(*(_passed(moment, loop, bridges) for loop in loops))
    return tuple(n for n in moment.names if n in common) if len(common) <= SUSPECTS_MOST else ()


def _passed(moment: Moment, loop: Sequence[str], bridges: set[frozenset[str]]) -> set[str]:
    """Return the parts a loop enters and leaves by joints that lie in no closed loop."""
    joints = [moment.assembly.design.joint[n] for n in loop]
    ends = [frozenset((joint.a, joint.b)) for joint in joints]
    return {name for one, other in pairwise(ends) if one in bridges and other in bridges for name in one & other}


def _closed(moment: Moment) -> nx.Graph:
    """Return the parts of a moment as the joints that do close tie them."""
    ties: nx.Graph = nx.Graph()
    left_open = {loop.joint for loop in moment.assembly.open_loops}
    for name in moment.closed:
        if name not in left_open:
            joint = moment.assembly.design.joint[name]
            ties.add_edge(joint.a, joint.b, joint=name)
    return ties
