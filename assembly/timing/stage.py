"""Stage in time: the glue each joint takes, who does what when, and what does not wait for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from assembly.effort import rules
from assembly.findings import Amount, Finding
from assembly.glue_up import corners, mass
from assembly.placing import Assembly
from assembly.plan import Action, Move, Spread, Stage
from assembly.stance.people import people_for
from assembly.timing.session import Windows, at_once, clamping, glued_area, loads_of, whole_joints, windows
from model.design import Shop
from model.glue_times import glue_times
from model.part import bounding_size

GLUE_DENSITY = 1.1
"""Wet glue, g/mL (common practice, no source; 1.0 to 1.2)."""
HELP_MOST = 4
"""More helpers than this are not offered as a way out."""


def timed(assembly: Assembly, shop: Shop, stage: Stage) -> Stage:
    """Return the stage with its minutes, the glue for each joint, and a timeline of who does what."""
    hands = people_each(assembly, shop, stage)
    times = _windows(assembly, shop, stage, hands)
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


def _windows(assembly: Assembly, shop: Shop, stage: Stage, hands: Sequence[int]) -> Windows:
    there = [min(h, shop.people) for h in hands]
    return windows(assembly, shop, stage.moves, there, len(stage.clamps), stage.rest.held)


def spreads(assembly: Assembly, shop: Shop, joints: Sequence[str]) -> tuple[Spread, ...]:
    """Return the glue for each joint as a person counts them: on which faces, over what area, how much."""
    found = []
    for whole in whole_joints(assembly, joints):
        area = glued_area(assembly, whole)
        if area is not None:
            ml = 2.0 * area * 1e-6 * shop.spread_rate / GLUE_DENSITY
            found.append(Spread(whole, area, ml, tuple(_faces(assembly, whole).items())))
    return tuple(found)


def _faces(assembly: Assembly, whole: str) -> Mapping[str, str]:
    """Return for each part of a joint the words for the faces that get glue."""
    faces: dict[str, list[str]] = {}
    for joint in (j for j in assembly.design.joints if whole in (j.name, j.of)):
        for part in (joint.a, joint.b):
            roles = [f.role for f in assembly.part(part).features if f.joint in (joint.name, whole)]
            loose = joint.of is not None and not roles
            faces.setdefault(part, []).extend(roles or ["loose tenon" if loose else "face"])
    return {part: " and ".join(dict.fromkeys(roles)) for part, roles in faces.items()}


def _actions(assembly: Assembly, shop: Shop, stage: Stage, hands: Sequence[int], times: Windows) -> tuple[Action, ...]:
    own, free = rules(shop), max(1, shop.people - stage.rest.held)
    needed = dict(zip(range(len(stage.moves)), hands, strict=True))
    numbers = iter(range(len(stage.moves)))
    numbered = [[(next(numbers), m) for m in some] for some in at_once(stage.moves)]
    found: list[Action] = []
    now, first = 0.0, 0
    for size in times.batches:
        batch = [one for some in numbered[first:first + size] for one in some]
        first += size
        joints = [n for _, m in batch for n in whole_joints(assembly, m.joints) if glued_area(assembly, n) is not None]
        loads = loads_of(assembly, [m for _, m in batch], [needed[k] for k, _ in batch], own)
        each = [t for load in loads for t in load.spread]
        if each:
            end = now + max(sum(each) / free, max(each))
            found.append(Action("spread", now, end, min(free, len(joints)), tuple(dict.fromkeys(joints))))
            now = end
        for number, move in batch:
            people = min(needed[number], shop.people)
            bring = (own.move_piece + own.extra_person * (people - 1)) / 60.0 if move.onto else 0.0
            close = own.close_joint * len(whole_joints(assembly, move.joints)) / 60.0
            if bring:
                found.append(Action("bring", now, now + bring, people, (), move.parts, number))
            if close:
                found.append(Action("close", now + bring, now + bring + close, people,
                                    tuple(whole_joints(assembly, move.joints)), move.parts, number))
            now += bring + close
    if stage.clamps:
        end = now + clamping(len(stage.clamps), free, own)
        pressed = tuple(dict.fromkeys(n for c in stage.clamps for n in c.joints))
        found.append(Action("clamp", now, end, min(free, len(stage.clamps)), pressed))
        now = end
    if stage.rest.held and now:
        found.append(Action("hold", 0.0, now, stage.rest.held))
    return tuple(replace(a, start=round(a.start, 3), end=round(a.end, 3)) for a in found)


def slow(assembly: Assembly, shop: Shop, stage: Stage) -> list[Finding]:
    """Return what does not wait for the work: glue that dries before a joint closes, or before its clamp is on.

    A stage whose one closing is too slow by itself cannot be split: it stops. Ways out are tried before they are
    offered. A room colder than the glue sets at is told too.
    """
    hands = people_each(assembly, shop, stage)
    times = _windows(assembly, shop, stage, hands)
    glued = [n for n in whole_joints(assembly, stage.joints) if glued_area(assembly, n) is not None]
    found = _cold(shop, stage) if glued else []
    if times.fits or not glued:
        return found
    alone = [windows(assembly, shop, some, [min(people, shop.people) for people in _of(stage, hands, some)], 0,
                     stage.rest.held).fits for some in at_once(stage.moves)]
    if times.open_used > times.open:
        used, limit = times.open_used, times.open
        why = f"joints lie spread for up to {used:.1f} min before they close, and the glue stays open for {limit:.1f}"
    else:
        used, limit = times.closed_used, times.closed
        why = (f"the first joints that close wait {used:.1f} min until all clamps are on, and the glue allows "
               f"{limit:.1f}")
    single = "" if all(alone) else "; one closing alone is too slow, so that splitting the stage does not help"
    message = (f"stage {stage.name}: {len(glued)} joints cannot be closed in time: {why}{single} (times by rule of "
               "thumb; the glue's data sheet governs)")
    return [*found, Finding("open-time", "warn" if all(alone) else "stop", stage.parts, message,
                            ways_out(assembly, shop, stage, hands, times), None, Amount(round(used, 2), "min"),
                            tuple(stage.joints), stage=stage.name)]


def _of(stage: Stage, hands: Sequence[int], some: Sequence[Move]) -> list[int]:
    at = {id(m): h for m, h in zip(stage.moves, hands, strict=True)}
    return [at[id(m)] for m in some]


def _cold(shop: Shop, stage: Stage) -> list[Finding]:
    least = glue_times(shop).least
    if shop.temperature >= least:
        return []
    return [Finding("open-time", "stop", stage.parts, f"stage {stage.name}: at {shop.temperature:.0f} °C {shop.glue} "
                    f"does not set; it wants {least:.0f} °C at least in wood, glue and room (common practice; the data "
                    "sheet governs)", f"Warm shop, wood and glue to {least:.0f} °C, or take a glue for the cold", None,
                    Amount(round(least - shop.temperature, 1), ""), tuple(stage.joints), stage=stage.name)]


def ways_out(assembly: Assembly, shop: Shop, stage: Stage, hands: Sequence[int], times: Windows) -> str:
    """Return what would help, each tried: more people, a slower glue."""
    offers = []
    for more in range(1, HELP_MOST + 1):
        if _windows(assembly, replace(shop, people=shop.people + more), stage, hands).fits:
            offers.append(f"have {more} more {'person' if more == 1 else 'people'} help")
            break
    share = _slower(assembly, shop, stage, hands)
    if share is not None:
        offers.append(f"take a glue that stays open for {shop.open_minutes * share:.0f} min")
    if not offers:
        return "Split the stage: no number of helpers and no glue closes so many joints in one go"
    return " or ".join(offers)[0].upper() + " or ".join(offers)[1:] + ", or split the stage"


def _slower(assembly: Assembly, shop: Shop, stage: Stage, hands: Sequence[int]) -> float | None:
    """Return how many times slower a glue would do, in tenths; None where ten times would not."""
    for tenths in range(11, 101):
        share = tenths / 10.0
        closed = None if shop.closed_minutes is None else shop.closed_minutes * share
        if _windows(assembly, replace(shop, open_minutes=shop.open_minutes * share, closed_minutes=closed), stage,
                    hands).fits:
            return share
    return None
