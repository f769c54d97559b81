"""Scheduling against published answers.

The instance J301_1 of the project scheduling library PSPLIB (R. Kolisch & A. Sprecher, European
Journal of Operational Research 96 (1997)): 30 activities and four resources; figures read from a
copy of its file. The file itself gives 38 as the time without limits on resources; the optimum
with them, 43, is that of the library's list (from memory, and proven again here).

The two networks are those of introductory textbooks, from memory: the foundry of B. Render & R.
Stair, Quantitative Analysis for Management (15 weeks), and the construction company of F. Hillier &
G. Lieberman, Introduction to Operations Research (44 weeks). Their longest ways are added up by hand.
"""

from __future__ import annotations

import networkx as nx
import pytest

from assembly.timing import Task, critical, shortest

J301_1 = {  # activity: duration, what it takes of R1 to R4, what comes after it
    1: (0, (0, 0, 0, 0), (2, 3, 4)), 2: (8, (4, 0, 0, 0), (6, 11, 15)), 3: (4, (10, 0, 0, 0), (7, 8, 13)),
    4: (6, (0, 0, 0, 3), (5, 9, 10)), 5: (3, (3, 0, 0, 0), (20,)), 6: (8, (0, 0, 0, 8), (30,)),
    7: (5, (4, 0, 0, 0), (27,)), 8: (9, (0, 1, 0, 0), (12, 19, 27)), 9: (2, (6, 0, 0, 0), (14,)),
    10: (7, (0, 0, 0, 1), (16, 25)), 11: (9, (0, 5, 0, 0), (20, 26)), 12: (2, (0, 7, 0, 0), (14,)),
    13: (6, (4, 0, 0, 0), (17, 18)), 14: (3, (0, 8, 0, 0), (17,)), 15: (9, (3, 0, 0, 0), (25,)),
    16: (10, (0, 0, 0, 5), (21, 22)), 17: (6, (0, 0, 0, 8), (22,)), 18: (5, (0, 0, 0, 7), (20, 22)),
    19: (3, (0, 1, 0, 0), (24, 29)), 20: (7, (0, 10, 0, 0), (23, 25)), 21: (2, (0, 0, 0, 6), (28,)),
    22: (7, (2, 0, 0, 0), (23,)), 23: (2, (3, 0, 0, 0), (24,)), 24: (3, (0, 9, 0, 0), (30,)),
    25: (3, (4, 0, 0, 0), (30,)), 26: (7, (0, 0, 4, 0), (31,)), 27: (8, (0, 0, 0, 7), (28,)),
    28: (3, (0, 8, 0, 0), (31,)), 29: (7, (0, 7, 0, 0), (32,)), 30: (2, (0, 7, 0, 0), (32,)),
    31: (2, (0, 0, 2, 0), (32,)), 32: (0, (0, 0, 0, 0), ()),
}
THERE = {"R1": 12, "R2": 13, "R3": 4, "R4": 12}


def j301_1() -> list[Task]:
    before = {n: tuple(a for a, (_, _, after) in J301_1.items() if n in after) for n in J301_1}
    return [Task(n, duration, {f"R{k + 1}": much for k, much in enumerate(takes) if much}, before[n])
            for n, (duration, takes, _) in J301_1.items()]


def network(activities: dict[str, tuple[float, str]]) -> nx.DiGraph:
    graph = nx.DiGraph()
    for name, (minutes, before) in activities.items():
        graph.add_node(name, minutes=minutes)
        graph.add_edges_from((b, name) for b in before)
    return graph


def test_j301_1_takes_43() -> None:
    found = shortest(j301_1(), THERE)
    assert (found.length, found.bound, found.optimal) == (43.0, 43.0, True)
    for moment in range(43):
        for k in range(4):
            used = sum(takes[k] for n, (d, takes, _) in J301_1.items()
                       if found.starts[n] <= moment < found.starts[n] + d)
            assert used <= THERE[f"R{k + 1}"]
    for n, (duration, _, after) in J301_1.items():
        assert all(found.starts[n] + duration <= found.starts[later] for later in after)


def test_j301_1_without_limits_takes_38() -> None:
    graph = nx.DiGraph()
    for n, (duration, _, after) in J301_1.items():
        graph.add_node(n, minutes=duration)
        graph.add_edges_from((n, later) for later in after)
    assert critical(graph).length == 38
    assert shortest(j301_1(), {}).length == 38


def test_the_foundry_takes_15_weeks() -> None:
    found = critical(network({"A": (2, ""), "B": (3, ""), "C": (2, "A"), "D": (4, "B"), "E": (4, "C"), "F": (3, "C"),
                              "G": (5, "DE"), "H": (2, "FG")}))
    assert found.length == 2 + 2 + 4 + 5 + 2 == 15
    assert found.path == ("A", "C", "E", "G", "H")
    assert found.slack["B"] == found.slack["D"] == 1
    assert found.slack["F"] == 6


def test_the_construction_company_takes_44_weeks() -> None:
    found = critical(network({
        "A": (2, ""), "B": (4, "A"), "C": (10, "B"), "D": (6, "C"), "E": (4, "C"), "F": (5, "E"), "G": (7, "D"),
        "H": (9, "EG"), "I": (7, "C"), "J": (8, "FI"), "K": (4, "J"), "L": (5, "J"), "M": (2, "H"), "N": (6, "KL")}))
    assert found.length == 2 + 4 + 10 + 4 + 5 + 8 + 5 + 6 == 44
    assert found.path == tuple("ABCEFJLN")


def test_two_ways_of_twenty() -> None:
    """Four tasks of ten in a square: both ways are as long; by hand."""
    found = critical(network({"A": (10, ""), "B": (10, "A"), "C": (4, "A"), "D": (6, "C")}))
    assert found.length == 20 and found.path in (("A", "B"), ("A", "C", "D"))
    assert set(found.slack.values()) == {0}


def test_more_of_a_resource_than_there_is() -> None:
    with pytest.raises(ValueError, match="takes 3 of people, there are 2"):
        shortest([Task("lift", 1.0, {"people": 3})], {"people": 2})


@pytest.mark.parametrize("people", [1, 2, 3])
def test_tasks_without_order_are_packed(people: int) -> None:
    """Six tasks of 1 to 6 for one person each: 21, 11 and 7 by hand."""
    found = shortest([Task(k, float(k), {"people": 1}) for k in range(1, 7)], {"people": people})
    assert (found.length, found.optimal) == ({1: 21.0, 2: 11.0, 3: 7.0}[people], True)
