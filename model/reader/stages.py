"""The stages a file gives: joints by name, each in one stage, and an order without circles."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from graphlib import CycleError, TopologicalSorter

from model.design import StageSpec
from model.reader.patterns import matching
from model.reader.problems import Problems
from model.reader.schema import StageTable


def stages_of(tables: Mapping[int, StageTable], joints: Mapping[str, Sequence[str]], problems: Problems,
              refused: frozenset[str] = frozenset(), unread: frozenset[str] = frozenset()) -> list[StageSpec]:
    """Return the file's stages in its own order.

    `joints`: every name a stage may use, with the joints it stands for (a pattern's joint
    stands for its copies). A joint named in full belongs to that stage; a name with a * takes
    what no other stage names. `refused`: joints whose tables have problems of their own;
    `unread`: the names of such stages.
    """
    by_name: dict[str, int] = {}
    for i, table in tables.items():
        if table.name in by_name:
            problems.add(("stage", i, "name"), "two stages have this name", table.name)
        by_name.setdefault(table.name, i)
    taken = _named(tables, joints, problems, refused)
    _fill(tables, joints, problems, taken)
    _check_order(tables, by_name, problems, unread)
    closed: dict[int, list[str]] = {i: [] for i in tables}
    for joint, i in taken.items():
        closed[i].append(joint)
    return [StageSpec(t.name, tuple(closed[i]), tuple(dict.fromkeys(t.after))) for i, t in tables.items()]


def _named(tables: Mapping[int, StageTable], joints: Mapping[str, Sequence[str]], problems: Problems,
           refused: frozenset[str]) -> dict[str, int]:
    taken: dict[str, int] = {}
    for i, table in tables.items():
        for at, word in enumerate(table.joints):
            if "*" in word:
                continue
            if word not in joints and word not in refused:
                problems.add(("stage", i, "joints", at), "no such joint", word, among=joints)
            for name in joints.get(word, ()):
                if taken.setdefault(name, i) != i:
                    problems.add(("stage", i, "joints", at), f"closed already in stage {tables[taken[name]].name!r}",
                                 name, "each joint in one stage")
    return taken


def _fill(tables: Mapping[int, StageTable], joints: Mapping[str, Sequence[str]], problems: Problems,
          taken: dict[str, int]) -> None:
    for i, table in tables.items():
        for at, word in enumerate(table.joints):
            if "*" not in word:
                continue
            free = [n for n in matching(word, joints, problems, ("stage", i, "joints", at)) if n not in taken]
            if not free:
                problems.add(("stage", i, "joints", at), "no joint is left that fits this", word)
            taken.update(dict.fromkeys(free, i))


def _check_order(tables: Mapping[int, StageTable], by_name: Mapping[str, int], problems: Problems,
                 unread: frozenset[str]) -> None:
    before: dict[str, set[str]] = {}
    for i, table in tables.items():
        for name in table.after:
            if name not in by_name and name not in unread:
                problems.add(("stage", i, "after"), "no such stage", name, among=by_name)
        before.setdefault(table.name, set()).update(n for n in table.after if n in by_name)
    try:
        TopologicalSorter(before).prepare()
    except CycleError as error:
        circle = list(error.args[1])
        problems.add(("stage", by_name[circle[0]], "after"),
                     "stages wait for each other in a circle: " + " before ".join(circle[:8]),
                     accepted="an order in which one can begin")
