"""The moves of a stage in words: what to lay down, what to slide onto what, how far and which way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from assembly.plan import Move, Plan, Stage
from exports import words
from exports.names import shown
from model.units import show

TOUCH = 0.5
"""A piece that travels less than this, mm, is laid against another rather than slid."""

Units = Mapping[frozenset[str], str]
"""What to call the pieces that come to a stage, each a part or a group glued earlier."""


def units(stage: Stage, plan: Plan) -> Units:
    """Return what to call every unit of a stage: a part by its name, a group by the stage it was glued in."""
    return {frozenset(unit): _unit(unit, stage, plan) for unit in stage.units}


def _unit(unit: Sequence[str], stage: Stage, plan: Plan) -> str:
    if len(unit) == 1:
        return shown(unit[0])
    for earlier in reversed(plan.stages):
        made = [frozenset(result) for result in earlier.results]
        if earlier.number != stage.number and frozenset(unit) in made:
            one_of = "one of the groups" if len(made) > 1 else "the group"
            return f"{one_of} glued in stage {earlier.number} ({words.several(unit)})"
    return f"the group of {words.several(unit)}"


def step(move: Move, called: Units, unit: str) -> str:
    """Return a move as a sentence without its full stop; lengths in the design's unit."""
    moved = _moved(move.parts, called)
    if not move.onto:
        return f"lay down {moved}"
    onto = words.several(move.onto)
    how = words.way(move.direction)
    if move.simultaneous:
        return f"draw {moved} together with {onto}, all at the same time, {show(move.travel, unit)}, {how}"
    if move.travel < TOUCH:
        return f"lay {moved} against {onto}, moving it {how}"
    return f"slide {moved} onto {onto}, {show(move.travel, unit)}, {how}"


def _moved(parts: Sequence[str], called: Units) -> str:
    exact = called.get(frozenset(parts))
    if exact is not None:
        return exact
    inside = [name for unit, name in called.items() if unit <= frozenset(parts)]
    covered = sum(len(unit) for unit in called if unit <= frozenset(parts))
    if covered == len(parts) and len(inside) <= 3:
        return " and ".join(inside)
    return words.several(parts)
