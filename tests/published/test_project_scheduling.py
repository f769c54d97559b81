"""Scheduling against published answers.

The instance J301_1 of the project scheduling library PSPLIB (R. Kolisch & A. Sprecher, European
Journal of Operational Research 96 (1997)): 30 activities and four resources; figures read from a
copy of its file. The file itself gives 38 as the time without limits on resources; the optimum
with them, 43, is that of the library's list (from memory, and proven again here).
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from itertools import permutations

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

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


def test_more_of_a_resource_than_there_is() -> None:
    with pytest.raises(ValueError, match="takes 3 of people, there are 2"):
        shortest([Task("lift", 1.0, {"people": 3})], {"people": 2})


@pytest.mark.parametrize("people", [1, 2, 3])
def test_tasks_without_order_are_packed(people: int) -> None:
    """Six tasks of 1 to 6 for one person each: 21, 11 and 7 by hand."""
    found = shortest([Task(k, float(k), {"people": 1}) for k in range(1, 7)], {"people": people})
    assert (found.length, found.optimal) == ({1: 21.0, 2: 11.0, 3: 7.0}[people], True)


# -- small ones, tried in every order --------------------------------------------------------------

@st.composite
def projects(draw: st.DrawFn) -> list[Task]:
    """Return up to six tasks of 1 to 5 min, each after some of those before it, that take up to two resources."""
    tasks: list[Task] = []
    for k in range(draw(st.integers(3, 6))):
        takes = {"people": draw(st.integers(0, 3)), "clamps": draw(st.integers(0, 4))}
        after = tuple(b for b in range(k) if draw(st.integers(0, 3)) == 0)
        tasks.append(Task(k, float(draw(st.integers(1, 5))), takes, after))
    return tasks


SMALL = {"people": 3, "clamps": 4}


def fits(tasks: Sequence[Task], starts: Mapping[Hashable, float], there: Mapping[str, int]) -> bool:
    """Whether the tasks come after what they wait for, and never take more than there is, minute by minute."""
    ends = {t.name: starts[t.name] + t.duration for t in tasks}
    return all(ends[b] <= starts[t.name] for t in tasks for b in t.after) and all(
        sum(t.takes.get(what, 0) for t in tasks if starts[t.name] <= minute < ends[t.name]) <= much
        for minute in range(int(max(ends.values()))) for what, much in there.items())


def tried_in_every_order(tasks: Sequence[Task], there: Mapping[str, int]) -> float:
    """Return the least time: some order in which each task is put as early as it goes is the best of all."""
    best = float("inf")
    for line in permutations(tasks):
        starts: dict[Hashable, float] = {}
        for n, task in enumerate(line):
            if any(b not in starts for b in task.after):
                break
            at = 0
            while not fits([*line[:n], task], {**starts, task.name: at}, there):
                at += 1
            starts[task.name] = at
        else:
            best = min(best, max(starts[t.name] + t.duration for t in tasks))
    return best


@settings(max_examples=60, deadline=None)
@given(projects())
def test_small_projects_against_every_order(tasks: list[Task]) -> None:
    found = shortest(tasks, SMALL)
    assert fits(tasks, found.starts, SMALL)
    assert found.length == found.bound == tried_in_every_order(tasks, SMALL) and found.optimal


@settings(max_examples=25, deadline=None)
@given(projects())
def test_without_any_search_a_plan_still_comes(tasks: list[Task]) -> None:
    """The first plan is sound, and its bound is not above what is the best."""
    found, best = shortest(tasks, SMALL, effort=0.0), shortest(tasks, SMALL)
    assert fits(tasks, found.starts, SMALL)
    assert found.bound <= best.length <= found.length


def test_each_step_begins_as_early_as_it_may() -> None:
    """None can begin a minute earlier by itself, and none at an odd time between."""
    tasks = [Task(k, lasts, {"people": takes}, after) for k, (lasts, takes, after) in enumerate(
        ((4.0, 3, ()), (4.0, 1, ()), (2.0, 2, ()), (2.0, 3, ()), (2.0, 0, (0,)), (4.0, 2, (4,)), (1.0, 0, (5,))))]
    for asked, there in ((tasks, {"people": 3}), (j301_1(), THERE)):
        found = shortest(asked, there)
        assert fits(asked, found.starts, there)
        for name, start in found.starts.items():
            assert start == int(start)
            assert start == 0.0 or not fits(asked, {**found.starts, name: start - 1.0}, there)
