"""Stage in time: the glue each joint takes, and who does what when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from assembly.effort import rules
from assembly.glue_up import corners, mass
from assembly.placing import Assembly
from assembly.plan import Action, Move, Spread, Stage
from assembly.stance.people import people_for
from assembly.timing.session import Windows, at_once, clamping, glued_areas, loads_of, whole_joints, windows
from model.design import Shop
from model.glue_times import glue_times
from model.part import bounding_size

GLUE_DENSITY = 1.1
"""Wet glue, g/mL (common practice, no source; 1.0 to 1.2)."""


def timed(assembly: Assembly, shop: Shop, stage: Stage) -> Stage:
    """Return the stage with its minutes, the glue for each joint, and a timeline of who does what."""
    hands = people_each(assembly, shop, stage)
    times = times_of(assembly, shop, stage, hands)
    glue = glue_times(shop)
    own = rules(shop)
    loads = loads_of(assembly, stage.moves, hands, own)
    minutes = {
        "spread": sum(t for load in loads for t in load.spread), "close": times.close,
        "clamp": own.set_clamp * len(stage.clamps) / 60.0, "needed": times.needed, "open": times.open,
        "closed": times.closed, "open used": times.open_used, "closed used": times.closed_used,
        "clamped": glue.clamped, "load": glue.load * 60.0}
    glued = any(assembly.design.joint[n].glued for n in stage.joints)
    if not glued:
        minutes.update({"clamped": 0.0, "load": 0.0})
    return replace(stage, minutes={k: round(v, 2) for k, v in minutes.items()}, hands=max(hands, default=1),
                   spreads=spreads(assembly, shop, stage.joints), actions=_actions(assembly, shop, stage, hands, times))


def people_each(assembly: Assembly, shop: Shop, stage: Stage) -> list[int]:
    """Return how many people each move takes."""
    return [people_for(mass(assembly, m.parts, stage.done), max(bounding_size(corners(assembly, m.parts, stage.done))),
                       shop) if m.onto else 1 for m in stage.moves]


def times_of(assembly: Assembly, shop: Shop, stage: Stage, hands: Sequence[int]) -> Windows:
    """Return the times of a stage as it stands; `hands`: the people each move takes."""
    return windows(assembly, shop, stage.moves, hands, len(stage.clamps), stage.rest.held)


def spreads(assembly: Assembly, shop: Shop, joints: Sequence[str]) -> tuple[Spread, ...]:
    """Return the glue for each joint as a person counts them: on which faces, over what area, how much."""
    each = 2.0 * 1e-6 * shop.spread_rate / GLUE_DENSITY
    faces = _faces(assembly, joints)
    return tuple(Spread(whole, area, each * area, tuple((part, " and ".join(words)) for part, words in
                                                        faces[whole].items()))
                 for whole, area in glued_areas(assembly, joints).items())


def _faces(assembly: Assembly, joints: Sequence[str]) -> Mapping[str, Mapping[str, Mapping[str, None]]]:
    """Return for each joint as a person counts them, and each part of it, the words for the faces that get glue."""
    faces: dict[str, dict[str, dict[str, None]]] = {}
    for joint in map(assembly.design.joint.__getitem__, joints):
        whole = joint.of or joint.name
        for part in (joint.a, joint.b):
            roles = [f.role for f in assembly.part(part).features if f.joint in (joint.name, whole)]
            loose = joint.of is not None and not roles
            words = roles or ["loose tenon" if loose else "face"]
            faces.setdefault(whole, {}).setdefault(part, {}).update(dict.fromkeys(words))
    return faces


def _actions(assembly: Assembly, shop: Shop, stage: Stage, hands: Sequence[int], times: Windows) -> tuple[Action, ...]:
    own, free = rules(shop), max(1, shop.people - stage.rest.held)
    numbers = iter(range(len(stage.moves)))
    closings = [[(next(numbers), m) for m in some] for some in at_once(stage.moves)]
    loads = loads_of(assembly, stage.moves, hands, own)
    found: list[Action] = []
    now, first = 0.0, 0
    for size in times.batches:
        batch = range(first, first + size)
        first += size
        each = [t for k in batch for t in loads[k].spread]
        if each:
            joints = dict.fromkeys(n for k in batch for _, m in closings[k] for n in glued_areas(assembly, m.joints))
            end = now + max(sum(each) / free, max(each))
            found.append(Action("spread", now, end, min(free, len(each)), tuple(joints)))
            now = end
        for k in batch:
            found += _closing(assembly, shop, closings[k], hands, now)
            now += loads[k].close
    if stage.clamps:
        end = now + clamping(len(stage.clamps), free, own)
        pressed = tuple(dict.fromkeys(n for c in stage.clamps for n in c.joints))
        found.append(Action("clamp", now, end, min(free, len(stage.clamps)), pressed))
        now = end
    if stage.rest.held and now:
        found.append(Action("hold", 0.0, now, stage.rest.held))
    return tuple(replace(a, start=round(a.start, 3), end=round(a.end, 3)) for a in found)


def _closing(assembly: Assembly, shop: Shop, closing: Sequence[tuple[int, Move]], hands: Sequence[int],
             now: float) -> list[Action]:
    """Return how the pieces of one closing are brought one after the other and then closed, all at once if several."""
    own = rules(shop)
    found: list[Action] = []
    for number, move in closing:
        if move.onto:
            end = now + (own.move_piece + own.extra_person * (hands[number] - 1)) / 60.0
            found.append(Action("bring", now, end, min(hands[number], shop.people), (), move.parts, number))
            now = end
    joints = [n for _, m in closing for n in whole_joints(assembly, m.joints)]
    if joints:
        people = min(max(hands[number] for number, _ in closing), shop.people)
        found.append(Action("close", now, now + own.close_joint * len(joints) / 60.0, people,
                            tuple(dict.fromkeys(joints)), tuple(p for _, m in closing for p in m.parts),
                            closing[0][0]))
    return found
