"""Critical path: the longest way through a graph of steps, and how much every step may slip.

Source: the critical path method, Kelley & Walker, Proceedings of the Eastern Joint Computer
Conference (1959).
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Any

import networkx as nx


@dataclass(frozen=True)
class Critical:
    """The steps of the longest way in order, its length, and for every step its earliest start and its slack."""

    path: tuple[Any, ...]
    length: float
    start: Mapping[Any, float]
    slack: Mapping[Any, float]


def critical(graph: nx.DiGraph, weight: str = "minutes") -> Critical:
    """Return the critical path of a graph without circles whose nodes take `weight` each (0 where it is missing).

    Of several longest ways the one with the earlier names is returned. Raises networkx.NetworkXUnfeasible for a circle.
    """
    takes = {n: float(data.get(weight, 0.0)) for n, data in graph.nodes(data=True)}
    line = list(nx.lexicographical_topological_sort(graph, key=str))
    start: dict[Hashable, float] = {}
    for n in line:
        start[n] = max((start[p] + takes[p] for p in graph.predecessors(n)), default=0.0)
    length = max((start[n] + takes[n] for n in line), default=0.0)
    latest: dict[Hashable, float] = {}
    for n in reversed(line):
        latest[n] = min((latest[s] for s in graph.successors(n)), default=length) - takes[n]
    slack = {n: latest[n] - start[n] for n in line}
    return Critical(tuple(_path(graph, takes, start, length)), length, start, slack)


def _path(graph: nx.DiGraph, takes: Mapping[Hashable, float], start: Mapping[Hashable, float],
          length: float) -> list[Hashable]:
    ends = [n for n in graph if abs(start[n] + takes[n] - length) < 1e-9]
    if not ends:
        return []
    path = [min(ends, key=lambda n: (graph.out_degree(n), str(n)))]
    while True:
        before = [p for p in graph.predecessors(path[-1]) if abs(start[p] + takes[p] - start[path[-1]]) < 1e-9]
        if not before:
            return path[::-1]
        path.append(min(before, key=str))
