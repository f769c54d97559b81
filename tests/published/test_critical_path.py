"""Critical paths against the answers of textbooks.

Two networks of B. W. Taylor III, Introduction to Management Science, chapter 8, problem 5 (length 20) and
the larger one after it (38), with starts, ends and slack of every activity as read in its printed solutions, two
copies of the first, one of the second.
The new product of W. L. Winston, Operations Research: Applications and Algorithms, section on project networks
(38 days): activities and event times as read in a public copy of its model.
From memory: the foundry of B. Render & R. Stair, Quantitative Analysis for Management (15 weeks), and the
construction company of F. Hillier & G. Lieberman, Introduction to Operations Research (44 weeks).
Every longest way is added up by hand beside it.
"""

from __future__ import annotations

from itertools import pairwise

import networkx as nx
import pytest

from assembly.timing import Critical, critical

TAYLOR_20 = {  # from, to: duration, earliest start, latest start, slack
    (1, 2): (7, 0, 2, 2), (1, 3): (10, 0, 0, 0), (2, 4): (6, 7, 9, 2), (3, 4): (5, 10, 10, 0),
    (3, 5): (4, 10, 14, 4), (4, 5): (3, 15, 15, 0), (5, 6): (2, 18, 18, 0),
}
TAYLOR_38 = {
    (1, 2): (8, 0, 1, 1), (1, 3): (10, 0, 0, 0), (1, 4): (9, 0, 6, 6), (2, 5): (6, 8, 9, 1), (2, 6): (4, 8, 16, 8),
    (3, 5): (5, 10, 10, 0), (4, 5): (0, 9, 15, 6), (4, 7): (7, 9, 20, 11), (5, 7): (12, 15, 15, 0),
    (5, 8): (15, 15, 16, 1), (6, 9): (18, 12, 20, 8), (7, 8): (4, 27, 27, 0), (8, 9): (7, 31, 31, 0),
}
WINSTON = {(1, 2): 9, (1, 3): 6, (2, 3): 0, (3, 4): 7, (3, 5): 8, (4, 5): 10, (5, 6): 12}
"""From, to: days. Raw materials, training, nothing, product 2, product 1, testing product 2, assembling both."""


def on_arrows(durations: dict[tuple[int, int], float]) -> Critical:
    """Return the critical path of activities that run from event to event."""
    graph = nx.DiGraph()
    for arrow, minutes in durations.items():
        graph.add_node(arrow, minutes=minutes)
        graph.add_edges_from((before, arrow) for before in durations if before[1] == arrow[0])
    return critical(graph)


def network(activities: dict[str, tuple[float, str]]) -> nx.DiGraph:
    graph = nx.DiGraph()
    for name, (minutes, before) in activities.items():
        graph.add_node(name, minutes=minutes)
        graph.add_edges_from((b, name) for b in before)
    return graph


@pytest.mark.parametrize(("table", "length", "events"), [
    (TAYLOR_20, 10 + 5 + 3 + 2, (1, 3, 4, 5, 6)), (TAYLOR_38, 10 + 5 + 12 + 4 + 7, (1, 3, 5, 7, 8, 9))])
def test_taylors_networks_take_20_and_38(table: dict[tuple[int, int], tuple[int, int, int, int]], length: int,
                                         events: tuple[int, ...]) -> None:
    found = on_arrows({arrow: row[0] for arrow, row in table.items()})
    assert found.length == length == {5: 20, 6: 38}[len(events)]
    assert found.path == tuple(pairwise(events))
    for arrow, (_, earliest, latest, slack) in table.items():
        assert (found.start[arrow], found.start[arrow] + found.slack[arrow]) == (earliest, latest)
        assert found.slack[arrow] == slack


def test_winstons_new_product_takes_38_days() -> None:
    """Its events happen on days 0, 9, 9, 16, 26 and 38; the longest way is 9 + 0 + 7 + 10 + 12."""
    found = on_arrows(dict(WINSTON))
    assert found.length == 9 + 0 + 7 + 10 + 12 == 38
    assert found.path == ((1, 2), (2, 3), (3, 4), (4, 5), (5, 6))
    happens = {event: max((found.start[a] + WINSTON[a] for a in WINSTON if a[1] == event), default=0)
               for event in range(1, 7)}
    assert list(happens.values()) == [0, 9, 9, 16, 26, 38]
    assert (found.slack[(1, 3)], found.slack[(3, 5)]) == (3, 9)


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


def test_a_circle_has_no_longest_way() -> None:
    with pytest.raises(nx.NetworkXUnfeasible):
        critical(nx.DiGraph([("A", "B"), ("B", "A")]))


def test_nothing_takes_no_time() -> None:
    assert critical(nx.DiGraph()) == Critical((), 0.0, {}, {})
