"""Apart: pieces in place that touch nothing of the rest."""

from __future__ import annotations

import networkx as nx
import numpy as np

from assembly.checks.wording import listed, place, small
from assembly.findings import Amount, Finding
from assembly.interference import overlaps
from assembly.placing import Assembly
from assembly.seams import FIT, LEAST
from model.design import Shop

LOOKED = 50.0
"""How far about a piece the next one is looked for, mm."""
NAMED = 4
"""Pieces of a group that are named."""


def apart(assembly: Assembly, shop: Shop) -> list[Finding]:
    """Find parts that stand where a file has them and share no seam with the rest: one finding a group, how far apart.

    The largest group is the work. A group that is in the rest's wood is told as interference alone. Not promised: that
    what touches is enough to hold.
    """
    ties: nx.Graph = nx.Graph()
    ties.add_nodes_from(assembly.names)
    ties.add_edges_from((j.a, j.b) for j in assembly.design.joints)
    ties.add_edges_from((o.a, o.b) for o in overlaps(assembly))
    groups = [tuple(n for n in assembly.names if n in group) for group in nx.connected_components(ties)]
    whole = max(groups, key=len)
    return [_apart(assembly, group) for group in groups if group is not whole]


def _apart(assembly: Assembly, group: tuple[str, ...]) -> Finding:
    unit, near = assembly.design.unit, _nearest(assembly, group)
    who = listed(group[:NAMED]) + (f" and {len(group) - NAMED} more" if len(group) > NAMED else "")
    one = len(group) == 1
    says = f"{who} {'touches' if one else 'touch'} nothing of the rest"
    if near is None:
        return Finding("unmatched", "stop", group, f"{says}: within {small(LOOKED, unit)} there is nothing.",
                       "Bring it to its place in the file, or take it out." if one else
                       "Bring them to their place in the file, or rehearse them by themselves.",
                       place(assembly.vertices(group[0]).mean(axis=0)))
    own, other, gap = near
    touching = gap <= FIT
    what = (f"{own} and {other} touch over less than {LEAST:.0f} mm²" if touching else
            f"{own} is {small(gap, unit)} from {other}, the nearest")
    return Finding("unmatched", "stop", (*group, other), f"{says} over any area that glue could hold: {what}."
                   if touching else f"{says}: {what}.",
                   f"Let {own} and {other} meet face to face: make one of them longer, or move it."
                   if touching else f"Close the {small(gap, unit)} between {own} and {other}, or put a piece between.",
                   place(assembly.vertices(own).mean(axis=0)), Amount(round(gap, 3), "mm"))


def _nearest(assembly: Assembly, group: tuple[str, ...]) -> tuple[str, str, float] | None:
    """Return a part of a group, the part of the rest that is nearest to any of it, and how far; None beyond LOOKED."""
    boxes = {n: (at.min(axis=0), at.max(axis=0)) for n in assembly.names for at in (assembly.vertices(n),)}
    inside, best = set(group), (LOOKED, "", "")
    for own in group:
        mine = assembly.solid(own).moved(assembly.frames[own]).manifold
        for other in assembly.names:
            low, high = boxes[other]
            between = np.maximum(0.0, np.maximum(low - boxes[own][1], boxes[own][0] - high))
            if other not in inside and float(np.linalg.norm(between)) < best[0]:
                theirs = assembly.solid(other).moved(assembly.frames[other]).manifold
                best = min(best, (float(mine.min_gap(theirs, LOOKED)), own, other))
    return (best[1], best[2], best[0]) if best[1] else None
