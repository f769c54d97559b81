"""The moves of a stage in words: what to lay down, what to slide onto what, how far and which way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assembly.plan import Move, Plan, Stage
from exports import words
from exports.names import shown
from model.units import show

TOUCH = 0.5
"""A piece that travels less than this, mm, is laid against another rather than slid."""

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
            return Group(f"the group from stage {earlier.number} ({words.several(unit)})",
                         f"the group{which} from stage {earlier.number}")
    return Group(f"the group of {words.several(unit)}", f"the group with {shown(unit[0])}")


def step(move: Move, called: Units, unit: str) -> str:
    """Return a move as a sentence without its full stop; lengths in the design's unit."""
    moved = _named(move.parts, {parts: group.taken_up for parts, group in called.items()})
    if not move.onto:
        return f"lay down {moved}"
    onto = _named(move.onto, {parts: group.onto for parts, group in called.items()})
    how = words.way(move.direction)
    if move.simultaneous:
        return f"draw {moved} together with {onto}, all at the same time, {show(move.travel, unit)}, {how}"
    if move.travel < TOUCH:
        return f"lay {moved} against {onto}, moving it {how}"
    return f"slide {moved} onto {onto}, {show(move.travel, unit)}, {how}"


def _named(parts: Sequence[str], called: Mapping[frozenset[str], str]) -> str:
    """Return parts by name, and those that make up a whole group by the group's name."""
    left, groups = dict.fromkeys(parts), []
    for unit, name in called.items():
        if unit <= left.keys():
            groups.append(name)
            for part in unit:
                del left[part]
    told = words.several(list(left)) if left else ""
    return " and ".join([*groups, *([told] if told else [])])
