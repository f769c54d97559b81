"""Pins: what the maker has decided on about the order, with the joints that its names stand for.

A name is that of a joint, or else of a part; with a *, of every joint and every part that fits it. Parts stand for
the joints between any two of those in the same list; a part that is the only one named there stands for all its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from itertools import chain

from model.design import Pin
from model.joint import Joint
from model.reader.patterns import matching
from model.reader.problems import Problems
from model.reader.schema import PinTable

ACCEPTED = "either together, or first and then"


@dataclass(frozen=True)
class Pinnable:
    """What pins may name.

    `joints`, `parts`: every name, with the joints, or parts, it stands for (a pattern's joint
    stands for its copies). `ends`: the two parts of each joint. `refused`: names whose tables
    have problems of their own; `vague`: some are missing only because something else went
    wrong, so none is missed here.
    """

    joints: Mapping[str, Sequence[str]]
    parts: Mapping[str, Sequence[str]]
    ends: Mapping[str, tuple[str, str]]
    refused: frozenset[str] = frozenset()
    vague: bool = False


@dataclass(frozen=True)
class _Taken:
    """The joints of one list: those named in full, and those that a part or a * stands for."""

    full: tuple[str, ...] = ()
    loose: tuple[str, ...] = ()

    @property
    def all(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys((*self.full, *self.loose)))


def pins_of(tables: Mapping[int, PinTable], known: Pinnable, problems: Problems) -> list[Pin]:
    """Return the file's pins by joints, noting what is wrong with them.

    What both lists of a pin take belongs to the one that names it in full, else to `first`;
    where `then` is left out it is every other joint.
    """
    seen: set[str] = set()
    pins = []
    for i, table in tables.items():
        before = len(problems)
        if table.name in seen:
            problems.add(("pin", i, "name"), "two pins have this name", table.name)
        seen.update([table.name] if table.name else [])
        pin = _pin(i, table, known, problems)
        if len(problems) == before and pin is not None:
            pins.append((i, pin))
    _check_order(pins, problems)
    return [pin for _, pin in pins]


def with_halves(pin: Pin, joints: Sequence[Joint]) -> Pin:
    """Return a pin with the two halves of every loose tenon it names."""
    halves = [j for j in joints if j.of is not None]
    return Pin(pin.name, *(_with_halves(names, halves) for names in (pin.together, pin.first, pin.then)))


def _with_halves(names: tuple[str, ...], halves: Sequence[Joint]) -> tuple[str, ...]:
    known = set(names)
    return (*names, *(j.name for j in halves if j.of in known and j.name not in known))


def _pin(i: int, table: PinTable, known: Pinnable, problems: Problems) -> Pin | None:
    given = table.model_fields_set
    name = table.name or f"pin {i + 1}"
    if "first" not in given and "then" in given:
        problems.add(("pin", i, "first"), "is missing: what closes before those in then", accepted=ACCEPTED)
    elif ("together" in given) == ("first" in given):
        problems.add(("pin", i), "says nothing to keep to" if "first" not in given else "says two things at once",
                     name, ACCEPTED)
    elif "together" in given:
        before = len(problems)
        together = _taken(i, "together", table.together, known, problems).all
        if len(together) == 1 and len(problems) == before and not known.vague and not known.refused:
            problems.add(("pin", i, "together"), "is one joint only", together[0], "two joints or more")
        return Pin(name, together=together)
    else:
        return _ordered(i, name, table, known, problems)
    return None


def _ordered(i: int, name: str, table: PinTable, known: Pinnable, problems: Problems) -> Pin | None:
    before = len(problems)
    one = _taken(i, "first", table.first, known, problems)
    given = "then" in table.model_fields_set
    other = _taken(i, "then", table.then, known, problems) if given else _Taken(loose=tuple(known.ends))
    named_first, named_then = set(one.full), set(other.full)
    for joint in sorted(named_first & named_then):
        problems.add(("pin", i, "then"), "is in first as well", joint, "each joint in one of the two")
    if len(problems) > before:
        return None
    first = dict.fromkeys(n for n in one.all if n in named_first or n not in named_then)
    then = tuple(n for n in other.all if n not in first)
    if known.vague or known.refused:
        pass
    elif not then and not given:
        problems.add(("pin", i, "first"), "takes every joint: none is left to come after", accepted="fewer joints")
    elif empty := next((key for key, names in (("first", first), ("then", then)) if not names), ""):
        problems.add(("pin", i, empty), "no joint is left for it: the other list takes them all",
                     accepted="other names")
    return Pin(name, first=tuple(first), then=then) if first and then else None


def _taken(i: int, key: str, words: Sequence[str], known: Pinnable, problems: Problems) -> _Taken:
    full: list[str] = []
    loose: list[str] = []
    wood: dict[str, Sequence[str]] = {}
    if not words:
        problems.add(("pin", i, key), "names nothing", accepted="names of joints or of parts")
    missed = False
    for at, word in enumerate(words):
        where, before = ("pin", i, key, at), len(problems)
        joints = matching(word, known.joints, problems, where)
        parts = matching(word, known.parts, problems, where) if "*" in word or not joints else ()
        (loose if "*" in word else full).extend(joints)
        if parts:
            wood[word] = parts
        elif not joints:
            missed = True
            if word not in known.refused and not known.vague and len(problems) == before:
                problems.add(where, "no such joint, and no such part", word, among=chain(known.joints, known.parts))
    between = _between(wood, known.ends)
    if wood and not (between or loose or full or missed or known.vague or known.refused):
        problems.add(("pin", i, key), "no joint between these parts", ", ".join(wood),
                     "parts that are joined to each other, or one part alone for all its joints")
    return _Taken(tuple(dict.fromkeys(full)), tuple(dict.fromkeys((*loose, *between))))


def _between(wood: Mapping[str, Sequence[str]], ends: Mapping[str, tuple[str, str]]) -> tuple[str, ...]:
    """Return the joints that parts stand for, by the words they are named with."""
    parts = set(chain.from_iterable(wood.values()))
    least = 1 if len(wood) == 1 and "*" not in next(iter(wood)) else 2
    return tuple(n for n, pair in ends.items() if len(parts.intersection(pair)) >= least)


def _check_order(pins: Sequence[tuple[int, Pin]], problems: Problems) -> None:
    """Note pins that wait for each other in a circle: a pin stands between the joints before it and those after."""
    waits: dict[object, set[object]] = {}
    for i, pin in pins:
        waits.setdefault(i, set()).update(pin.first)
        for joint in pin.then:
            waits.setdefault(joint, set()).add(i)
    try:
        TopologicalSorter(waits).prepare()
    except CycleError as error:
        circle = list(dict.fromkeys(n for n in chain(error.args[1]) if isinstance(n, int)))
        names = {i: pin.name for i, pin in pins}
        problems.add(("pin", min(circle)), "pins wait for each other in a circle: "
                     + ", ".join(names[i] for i in sorted(circle)[:8]), accepted="an order in which one can begin")
