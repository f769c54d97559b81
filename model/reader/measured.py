"""From what was measured to the parts as cut: names matched with the design's, the more particular said last.

A part's full name wins over a name with a *, that over its board; among equals a sheet wins
over the design file, and a sheet named to the command over one that the file names. A name
with a * takes loose tenons only where it fits nothing else.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from model.as_cut import CutAsCut, PartAsCut
from model.design import Design
from model.errors import MeasureError, SolidError
from model.joint import Joint
from model.measurable import worth_measuring
from model.part import Blank
from model.reader.as_cut import SECTION, Entry
from model.reader.patterns import matching
from model.reader.problems import Problems
from model.reader.said import Said, written
from model.recut import recut
from model.recut.faces import drawn_size

SAME = 1e-6
"""A part is as thick as its stock when it is so within this, mm."""
CANNOT = (MeasureError, SolidError, ValueError, ArithmeticError)
"""What cutting anew raises for a part that cannot be had as measured."""
TRIES = 20
"""So many parts that cannot be had as measured are told at once."""


@dataclass(frozen=True, eq=False)
class Named:
    """What measurements may name: the blanks of the parts, the joints.

    `missed` tells which names of parts and stocks are missing only because something else was
    noted already; `vague`, that joints may be missing for such a reason.
    """

    blanks: Mapping[str, Blank]
    joints: Sequence[Joint]
    missed: Callable[[str], bool] = lambda _name: False
    vague: bool = False

    @cached_property
    def joint_names(self) -> Mapping[str, Sequence[str]]:
        """Every joint's name, as patterns want them."""
        return {j.name: (j.name,) for j in self.joints if j.of is None}

    @cached_property
    def part_names(self) -> Mapping[str, Sequence[str]]:
        """Every part's name, as patterns want them."""
        return {name: (name,) for name in self.blanks}

    @cached_property
    def loose_tenons(self) -> frozenset[str]:
        """The parts that joints bring with them."""
        return frozenset(j.a for j in self.joints if j.of is not None)

    @cached_property
    def joints_of(self) -> Mapping[str, tuple[str, ...]]:
        """The joints of each part; a loose tenon's halves count as their joint."""
        found: dict[str, list[str]] = {name: [] for name in self.blanks}
        for joint in self.joints:
            for part in {joint.a, joint.b} & found.keys():
                found[part].append(joint.of or joint.name)
        return {part: tuple(dict.fromkeys(names)) for part, names in found.items()}


Key = tuple[str, str, str]
"""A part, a joint ("" for the part itself), and what was measured."""


@dataclass(frozen=True, eq=False)
class Measurement:
    """One value, and the table it comes from; `rank` is higher the more particular the table is."""

    value: Any
    entry: Entry
    rank: tuple[int, ...]


@dataclass
class Measurements:
    """The value that holds for every part, joint and size that was measured."""

    found: dict[Key, Measurement] = field(default_factory=dict)

    def add(self, key: Key, new: Measurement) -> None:
        """Let a value hold unless a more particular one does; two that differ and are as particular are a problem."""
        old = self.found.get(key)
        if old is None or new.rank > old.rank:
            self.found[key] = new
        elif new.rank == old.rank and new.value != old.value:
            new.entry.note(key[2], f"{_about(key)} is measured here and, differently, under {_called(old.entry)}",
                           accepted=f"one of the two, or the full name {key[0]} for what holds there")

    def records(self, order: Sequence[str], keep: Callable[[Key, Any], bool]) -> tuple[PartAsCut, ...]:
        """Return what was measured part by part in the order given, without the values that are not to be kept."""
        parts: dict[str, dict[str, Any]] = {}
        cuts: dict[str, dict[str, dict[str, Any]]] = {}
        for key, measured in self.found.items():
            part, joint, what = key
            if keep(key, measured.value):
                own = parts.setdefault(part, {})
                (cuts.setdefault(part, {}).setdefault(joint, {}) if joint else own)[what] = measured.value
        made = {n: tuple(CutAsCut(j, **cut) for j, cut in cuts.get(n, {}).items()) for n in parts}
        return tuple(PartAsCut(n, **parts[n], cuts=made[n]) for n in order if n in parts)

    def note(self, key: Key, problems: Problems, message: str, value: object = None, accepted: str = "") -> None:
        """Note a problem with a value at the table that says it, else at one that says anything of the part or cut."""
        near = [m for k, m in self.found.items() if k[0] == key[0]]
        near = [m for k, m in self.found.items() if k[:2] == key[:2]] or near
        said = self.found.get(key) or next(iter(near), None)
        given = Said(value) if isinstance(value, str) else value
        several = said is None or "*" in said.entry.name or said.entry.about == "boards"
        told = f"{key[0]}: {message}" if several and key[0] else message
        if said is None:
            problems.add((SECTION,), told, given, accepted)
        else:
            said.entry.note(key[2] if key in self.found else "", told, given, accepted)


def measurements_of(sources: Sequence[Iterable[Entry]], named: Named) -> Measurements:
    """Return what the entries of several sources, the last the one that counts most, say of a design's parts.

    Names that are not there, and values that contradict each other, are noted at their tables.
    """
    made = Measurements()
    for rank, source in enumerate(sources):
        for entry in source:
            add = _add_board if entry.about == "boards" else _add_part
            add(entry, rank, named, made)
    return made


def _add_board(entry: Entry, source: int, named: Named, made: Measurements) -> None:
    stocks = tuple(dict.fromkeys(blank.stock.name for blank in named.blanks.values()))
    if entry.name not in stocks:
        if not named.missed(entry.name):
            entry.note("", "no part is made from such a stock", entry.name, among=stocks)
        return
    for what, value in entry.values.items():
        if value is None:
            continue
        parts = [n for n, b in named.blanks.items() if b.stock.name == entry.name and of_the_board(b, what)]
        if not parts:
            entry.note(what, f"no part from {entry.name} has the {what} of its board",
                       accepted="what was measured on the parts themselves")
        for part in parts:
            made.add((part, "", what), Measurement(value, entry, (0, 0, source)))


def of_the_board(blank: Blank, what: str) -> bool:
    """Whether a part has its thickness or width straight from its stock, so that it comes out as the board does."""
    off = float(getattr(blank, what)) - float(getattr(blank.stock, what))
    return abs(off) <= SAME and drawn_size(blank, what) is not None


def _add_part(entry: Entry, source: int, named: Named, made: Measurements) -> None:
    before = len(entry.problems)
    parts = matching(entry.name, named.part_names, entry.problems, entry.where)
    if not parts:
        if len(entry.problems) == before and not named.missed(entry.name) and entry.joint is None:
            copies = [name for name in named.blanks if name.startswith(f"{entry.name}_")]
            told = f'{copies[0]} and the like, or "{entry.name}_*" for all {len(copies)}' if copies else ""
            entry.note("", "no such part", entry.name, told, among=() if copies else tuple(named.blanks))
        return
    parts = [name for name in parts if name not in named.loose_tenons] or parts
    full = 1 + ("*" not in entry.name)
    if entry.joint is None:
        _check_exchange(entry, parts, named)
        for part in parts:
            for what, value in entry.values.items():
                made.add((part, "", what), Measurement(value, entry, (full, 0, source)))
        return
    for part, joint in _cuts_of(entry, parts, named):
        for what, value in entry.values.items():
            made.add((part, joint, what), Measurement(value, entry, (full, "*" not in entry.joint, source)))


def _cuts_of(entry: Entry, parts: Sequence[str], named: Named) -> Iterator[tuple[str, str]]:
    assert entry.joint is not None
    before = len(entry.problems)
    wanted = set(matching(entry.joint, named.joint_names, entry.problems, entry.where))
    found = [(part, joint) for part in parts for joint in named.joints_of[part] if joint in wanted]
    if not found and len(entry.problems) == before and not named.vague:
        there = tuple(dict.fromkeys(joint for part in parts for joint in named.joints_of[part]))
        entry.note("", f"no such joint on {entry.name}", entry.joint, "" if there else "a part with joints",
                   among=there)
    yield from found


def _check_exchange(entry: Entry, parts: Sequence[str], named: Named) -> None:
    other = entry.values.get("exchanged_with")
    if other is None:
        return
    if other not in named.blanks:
        if not named.missed(other):
            entry.note("exchanged_with", "no such part", other, among=tuple(named.blanks))
    elif len(parts) > 1:
        entry.note("exchanged_with", f"{len(parts)} parts cannot all change places with one", other,
                   "one part by its full name")
    elif other == parts[0]:
        entry.note("exchanged_with", "a part cannot change places with itself", other, "another part")


def cut_as_measured(design: Design, sources: Sequence[Sequence[Entry]], problems: Problems) -> Design:
    """Return the design with its parts as they were measured; itself where nothing differs from the drawing.

    Raises DesignError, of the file that says it, for measurements that no part can have.
    """
    named = Named({p.name: p.blank for p in design.parts}, design.joints)
    made = measurements_of(sources, named)
    for file in _files(sources, problems):
        file.stop()
    if not made.found:
        return design
    same = Drawn(design)
    records = made.records(list(named.blanks), lambda key, value: not same.is_drawn(key, value))
    return _recut(design, records, made, sources, problems) if records else design


def _recut(design: Design, records: Sequence[PartAsCut], made: Measurements, sources: Sequence[Sequence[Entry]],
           problems: Problems) -> Design:
    """Cut anew; where a part cannot be had as measured, the others are still tried, so that all is told at once."""
    done, left = design, list(records)
    for _ in range(TRIES):
        try:
            done = recut(design, left)
        except CANNOT as error:
            faulty = _faulty(design, left, error)
            _note(made, faulty, error, problems)
        else:
            break
        before = len(left)
        left = [r for r in left if faulty not in (r.part, r.exchanged_with)]
        if len(left) in (0, before):
            break
    for file in _files(sources, problems):
        file.stop()
    return done


def _faulty(design: Design, records: Sequence[PartAsCut], error: Exception) -> str:
    """Return the part that cannot be had as measured, "" where that cannot be told."""
    name = error.part if isinstance(error, MeasureError) else str(error).partition(":")[0]
    return name if name in design.part else next((r.part for r in records if not _can_be_had(design, r)), "")


def _can_be_had(design: Design, record: PartAsCut) -> bool:
    try:
        recut(design, [record])
    except CANNOT:
        return False
    return True


def _note(made: Measurements, part: str, error: Exception, problems: Problems) -> None:
    if isinstance(error, MeasureError):
        made.note((error.part, error.joint, error.key), problems, "no part can have this", error.value, error.accepted)
    else:
        made.note((part, "", ""), problems, f"cannot be cut as measured: {str(error).removeprefix(f'{part}: ')}")


def _files(sources: Sequence[Sequence[Entry]], problems: Problems) -> list[Problems]:
    """Return the problems of the design file and of every sheet, each once."""
    return list(dict.fromkeys([problems, *(entry.problems for source in sources for entry in source)]))


class Drawn:
    """What the drawing has, to tell a value that only says so once more."""

    def __init__(self, design: Design) -> None:
        self._sizes = {(m.part, m.joint, m.what): m for m in worth_measuring(design)}
        self._unit = design.unit

    def is_drawn(self, key: Key, value: Any) -> bool:
        """Whether a value is the drawn one, or reads like it on a sheet."""
        size = self._sizes.get(key)
        if size is None or not isinstance(value, float):
            return not value
        return written(value, self._unit, angle=size.angle) == written(size.drawn, self._unit, angle=size.angle)


def _about(key: Key) -> str:
    part, joint, what = key
    return f"the {what} of {joint} on {part}" if joint else f"the {what} of {part}"


def _called(entry: Entry) -> str:
    return f"{entry.name}, joint {entry.joint}" if entry.joint else entry.name
