"""The moves of a stage in words: what to lay down, what to slide onto what, how far and which way."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from assembly.plan import Move, Plan, Stage
from exports import words
from exports.names import shown
from model.design import Design
from model.units import show

T = TypeVar("T")

TOUCH = 0.5
"""A piece that travels less than this, mm, is laid against another rather than slid."""
SHORT = 8
"""From so many moves on, moves of one length that each go their own way are told in one line."""
APIECE = 3
"""And only where each group of pieces alike makes so many of them."""
INWARD = 0.1
"""Motions whose mean is shorter than this, of 1, lead inward from all round."""


@dataclass(frozen=True)
class Line:
    """One line of a stage: the moves it tells, counted from 1 (first and last), and what it says."""

    first: int
    last: int
    said: str

    @property
    def number(self) -> str:
        """"3." or "3-12."."""
        return f"{self.first}." if self.first == self.last else f"{self.first}-{self.last}."


@dataclass(frozen=True)
class Group:
    """What to call a group glued earlier: when it is taken up, and when something goes onto it."""

    taken_up: str
    onto: str


Units = Mapping[frozenset[str], Group]
"""What to call the groups that come to a stage, by their parts."""


def units(stage: Stage, plan: Plan) -> Units:
    """Return what to call every group, glued earlier, that comes to a stage."""
    return {frozenset(unit): _group(unit, stage, plan) for unit in stage.units if len(unit) > 1}


def _group(unit: Sequence[str], stage: Stage, plan: Plan) -> Group:
    for earlier in reversed(plan.stages):
        made = [frozenset(result) for result in earlier.results]
        if earlier.number != stage.number and frozenset(unit) in made:
            which = f" with {shown(unit[0])}" if len(made) > 1 else ""
            return Group(f"the group from stage {earlier.number} ({words.several(unit, most=4)})",
                         f"the group{which} from stage {earlier.number}")
    return Group(f"the group of {words.several(unit)}", f"the group with {shown(unit[0])}")


def lines(moves: Sequence[Move], called: Units, unit: str, kind: Callable[[str], str],
          band: bool = False) -> list[Line]:
    """Return the moves of a stage in few lines: like moves that follow one another are told together.

    `kind` gives the group of pieces alike that a part belongs to; `band`: whether a band draws together what closes
    at the same time.
    """
    told: list[Line] = []

    def tell(stretch: Sequence[Move], said: str) -> None:
        first = told[-1].last + 1 if told else 1
        told.append(Line(first, first + len(stretch) - 1, said))

    for some in _runs(moves, lambda one, other: one.simultaneous == other.simultaneous):
        if some[0].simultaneous:
            tell(some, _at_once(some, called, unit, band))
            continue
        for stretch in _gathered([*_runs(some, _like)], kind):
            tell(stretch, _each_its_way(stretch, unit) if isinstance(stretch, tuple)
                 else _together(stretch, called, unit))
    return told


def _runs(things: Sequence[T], like: Callable[[T, T], bool]) -> Iterator[list[T]]:
    """Yield things in runs of which each is like the one before it."""
    run: list[T] = []
    for thing in things:
        if run and not like(run[-1], thing):
            yield run
            run = []
        run.append(thing)
    if run:
        yield run


def _single(move: Move) -> bool:
    return len(move.parts) == 1 and not move.simultaneous and move.before is None


def _like(one: Move, other: Move) -> bool:
    """Whether two moves can be told as one: single pieces, onto the same, equally far, the same way."""
    if not (_single(one) and _single(other) and one.onto == other.onto):
        return False
    if not one.onto:
        return True
    return abs(one.travel - other.travel) < TOUCH / 10 and words.way(one.direction) == words.way(other.direction)


def _gathered(runs: Sequence[list[Move]], kind: Callable[[str], str]) -> Iterator[list[Move] | tuple[Move, ...]]:
    """Yield runs as they are and, as a tuple, what many runs of one move make together when only the way differs."""
    for group in _runs(runs, lambda one, other: _slides(one) and _slides(other)
                       and abs(one[0].travel - other[0].travel) < TOUCH / 10):
        moves = tuple(run[0] for run in group)
        kinds = {kind(move.parts[0]) for move in moves}
        if len(moves) >= max(SHORT, APIECE * len(kinds)):
            yield moves
        else:
            yield from group


def _slides(run: Sequence[Move]) -> bool:
    return len(run) == 1 and _single(run[0]) and bool(run[0].onto) and run[0].travel >= TOUCH


def _each_its_way(moves: Sequence[Move], unit: str) -> str:
    names, _ = words.in_order([move.parts[0] for move in moves])
    return (f"slide on, one after another, each onto the piece it meets, {show(moves[0].travel, unit)} "
            f"straight along its joint: {names}")


def _together(run: Sequence[Move], called: Units, unit: str) -> str:
    if len(run) == 1:
        return step(run[0], called, unit)
    names = [move.parts[0] for move in run]
    if not run[0].onto:
        return f"lay down {words.several(names, most=len(names))}"
    told, stretched = words.in_order(names)
    return _said(run[0], _Moved(told, "each", "," if stretched else ", one after another,"), called, unit)


def _at_once(moves: Sequence[Move], called: Units, unit: str, band: bool) -> str:
    """Return a closing in which several come home at the same time, as one line."""
    up = {parts: group.onto for parts, group in called.items()}
    names = [named(move.parts, up) for move in moves]
    moving = {name for move in moves for name in move.parts}
    still = list(dict.fromkeys(n for move in moves for n in move.onto if n not in moving))
    to = f" to {named(still, up)}, which {'stays' if len(still) == 1 else 'stay'}" if still else ""
    how = f"all at the same time{', with a band' if band else ''}: draw"
    travels = [move.travel for move in moves]
    inward = math.dist([sum(c) for c in zip(*(m.direction for m in moves), strict=True)], (0.0, 0.0, 0.0))
    if len(moves) > 2 and max(travels) - min(travels) < TOUCH / 10 and inward < INWARD * len(moves):
        parts = words.several([n for move in moves for n in move.parts])
        return f"{how} {parts} home{to}, each {show(travels[0], unit)} inward"
    told = [f"{name} {show(move.travel, unit)}, {words.arrow(move.direction)} {words.way(move.direction)}"
            for name, move in zip(names, moves, strict=True)]
    return f"{how} home{to}: {'; '.join(told)}"


@dataclass(frozen=True)
class _Moved:
    """What moves, in words: its name, the word that stands for it, and how it is held."""

    name: str
    it: str
    held: str = ""


def step(move: Move, called: Units, unit: str) -> str:
    """Return a move as a sentence without its full stop; lengths in the design's unit."""
    name = named(move.parts, {parts: group.taken_up for parts, group in called.items()})
    if len(move.parts) == 1 or frozenset(move.parts) in called:
        return _said(move, _Moved(name, "it"), called, unit)
    return _said(move, _Moved(name, "them", ", held together,"), called, unit)


def _said(move: Move, moved: _Moved, called: Units, unit: str) -> str:
    how = f"{words.arrow(move.direction)} {words.way(move.direction)}"
    travel, what = show(move.travel, unit), f"{moved.name}{moved.held}"
    if not move.onto:
        return f"lay down {what}".removesuffix(",")
    onto = named(move.onto, {parts: group.onto for parts, group in called.items()})
    if move.before is not None:
        before = f"bring in {what} {words.arrow(move.before)} {words.way(move.before)} until in line"
        return f"{before}, then slide {moved.it} onto {onto}, {travel}, {how}"
    if move.travel < TOUCH:
        return f"lay {what} against {onto}, moving {moved.it} {how}"
    return f"slide {what} onto {onto}, {travel}, {how}"


def named(parts: Sequence[str], called: Mapping[frozenset[str], str]) -> str:
    """Return parts by name, and those that make up a whole group by the group's name."""
    left, groups = dict.fromkeys(parts), []
    for unit, name in called.items():
        if unit <= left.keys():
            groups.append(name)
            for part in unit:
                del left[part]
    told = words.several(list(left)) if left else ""
    return " and ".join([*groups, *([told] if told else [])])


def afterwards(stage: Stage, design: Design) -> str:
    """Return what is taken away and cut once the glue of a stage has set; nothing when that is nothing."""
    cut: dict[str, list[str]] = {}
    for name in stage.parts:
        if name not in stage.takes_away:
            for role in dict.fromkeys(f.role for f in design.part[name].features if f.after == stage.name):
                cut.setdefault(role, []).append(name)
    told = [f"take away {words.several(stage.takes_away, most=6)}"] if stage.takes_away else []
    told += [f"{'saw' if role == 'curve' else 'cut'} the {role} of {words.several(names, most=6)}"
             for role, names in cut.items()]
    return f"Once the glue has set, {', then '.join(told)}." if told else ""
