"""The stages a file gives: joints by name, each in one stage, and an order without circles."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter

from model.design import StageSpec
from model.reader.patterns import matching
from model.reader.problems import Problems
from model.reader.schema import StageTable


@dataclass(frozen=True)
class Known:
    """What stages may name.

    `joints`: every name, with the joints it stands for (a pattern's joint stands for its
    copies). `family`: the stages a family brings. `refused`: joints whose tables have problems
    of their own; `unread`: the names of such stages; `vague`: some joints are missing only
    because something else went wrong, so none is missed here.
    """

    joints: Mapping[str, Sequence[str]]
    family: Sequence[StageSpec] = ()
    refused: frozenset[str] = frozenset()
    unread: frozenset[str] = frozenset()
    vague: bool = False


def stages_of(tables: Mapping[int, StageTable], known: Known, problems: Problems) -> list[StageSpec]:
    """Return the file's stages in its own order, noting what is wrong with them.

    A joint named in full belongs to that stage; a name with a * takes what no other stage
    names. Stages that close none of a family's joints are added to the family's stages; as
    soon as one does, the file's stages stand alone.
    """
    by_name: dict[str, int] = {}
    for i, table in tables.items():
        if table.name in by_name:
            problems.add(("stage", i, "name"), "two stages have this name", table.name)
        by_name.setdefault(table.name, i)
    taken = _named(tables, known, problems)
    _fill(tables, known, problems, taken)
    closed: dict[int, list[str]] = {i: [] for i in tables}
    for joint, i in taken.items():
        closed[i].append(joint)
    kept = () if any(j in taken for s in known.family for j in s.joints) else tuple(known.family)
    for spec in kept:
        if spec.name in by_name:
            problems.add(("stage", by_name[spec.name], "name"), "the family has a stage of this name", spec.name,
                         "another name, or stages for all joints of the family too")
    _check_order(tables, by_name, {s.name for s in kept} | known.unread, problems)
    own = [StageSpec(t.name, tuple(closed[i]), tuple(dict.fromkeys(t.after))) for i, t in tables.items()]
    return [*kept, *own]


def _named(tables: Mapping[int, StageTable], known: Known, problems: Problems) -> dict[str, int]:
    taken: dict[str, int] = {}
    for i, table in tables.items():
        for at, word in enumerate(table.joints):
            if "*" in word:
                continue
            if word not in known.joints and word not in known.refused and not known.vague:
                problems.add(("stage", i, "joints", at), "no such joint", word, among=known.joints)
            for name in known.joints.get(word, ()):
                if taken.setdefault(name, i) != i:
                    problems.add(("stage", i, "joints", at), f"closed already in stage {tables[taken[name]].name!r}",
                                 name, "each joint in one stage")
    return taken


def _fill(tables: Mapping[int, StageTable], known: Known, problems: Problems, taken: dict[str, int]) -> None:
    for i, table in tables.items():
        for at, word in enumerate(table.joints):
            if "*" not in word:
                continue
            free = [n for n in matching(word, known.joints, problems, ("stage", i, "joints", at)) if n not in taken]
            if not free and not known.refused and not known.vague:
                problems.add(("stage", i, "joints", at), "no joint is left that fits this", word)
            taken.update(dict.fromkeys(free, i))


def _check_order(tables: Mapping[int, StageTable], by_name: Mapping[str, int], others: set[str],
                 problems: Problems) -> None:
    before: dict[str, set[str]] = {}
    for i, table in tables.items():
        for name in table.after:
            if name not in by_name and name not in others:
                problems.add(("stage", i, "after"), "no such stage", name, among=sorted({*by_name, *others}))
        before.setdefault(table.name, set()).update(n for n in table.after if n in by_name)
    try:
        TopologicalSorter(before).prepare()
    except CycleError as error:
        circle = list(error.args[1])
        problems.add(("stage", by_name[circle[0]], "after"),
                     "stages wait for each other in a circle: " + " before ".join(circle[:8]),
                     accepted="an order in which one can begin")
