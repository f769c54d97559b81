"""The graph of steps as GraphML, for any program that reads that open format.

Source of the format: Brandes, Eiglsperger, Herman, Himsolt & Marshall, GraphML progress report (2001), as networkx
writes it.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

import networkx as nx

from exports.names import printable

if TYPE_CHECKING:
    from assembly.plan import Plan


def graphml(plan: Plan) -> str:
    """Return the steps with `kind`, `stage`, `parts` (with commas between), `minutes`, `starts` and `longest_way`."""
    graph = nx.DiGraph(name="steps")
    longest, said = set(plan.critical), _apart(plan.steps)
    for name, data in plan.steps.nodes(data=True):
        graph.add_node(said[name], **_flat(name, data, plan.starts, name in longest))
    graph.add_edges_from((said[a], said[b]) for a, b in plan.steps.edges)
    held = io.BytesIO()
    nx.write_graphml(graph, held, encoding="utf-8", prettyprint=True)
    return held.getvalue().decode("utf-8")


def _apart(steps: Iterable[str]) -> Mapping[str, str]:
    """Return the steps' names in characters that XML can hold, no two alike."""
    found: dict[str, str] = {}
    taken: set[str] = set()
    for name in steps:
        free, number = printable(name), 1
        while free in taken:
            number += 1
            free = f"{printable(name)} ({number})"
        taken.add(free)
        found[name] = free
    return found


def _flat(name: str, data: Mapping[str, object], starts: Mapping[str, float], longest: bool) -> dict[str, object]:
    parts = data.get("parts", ())
    names = [str(p) for p in parts] if isinstance(parts, tuple) else []
    return {"kind": str(data.get("kind", "")), "stage": int(str(data.get("stage", 0))),
            "parts": printable(", ".join(names)), "minutes": float(str(data.get("minutes", 0.0))),
            "starts": float(starts.get(name, 0.0)), "longest_way": longest}
