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
    it = "it" if len(move.parts) == 1 or frozenset(move.parts) in called else "them"
    held = ", held together," if it == "them" and not move.simultaneous else ""
    how, travel = words.way(move.direction), show(move.travel, unit)
    if not move.onto and not move.simultaneous:
        return f"lay down {moved}{held}".removesuffix(",")
    onto = _named(move.onto, {parts: group.onto for parts, group in called.items()}) if move.onto else "the others"
    if move.simultaneous:
        return f"at the same time as the moves beside this one, draw {moved} home to {onto}, {travel}, {how}"
    if move.before is not None:
        before = f"bring in {moved}{held} {words.way(move.before)} until in line"
        return f"{before}, then slide {it} onto {onto}, {travel}, {how}"
    if move.travel < TOUCH:
        return f"lay {moved}{held} against {onto}, moving {it} {how}"
    return f"slide {moved}{held} onto {onto}, {travel}, {how}"


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
