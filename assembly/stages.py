"""Stages: the plan of a whole structure, given stages verified or stages found, with the graph of steps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from assembly.blocking import Unit
from assembly.derived_stages import derived
from assembly.findings import Finding, by_harm
from assembly.given_stages import given
from assembly.glue_up import Bench, beside, blocked, glue_up, joined
from assembly.interference import overlaps
from assembly.locks import Lock
from assembly.order import Order, order
from assembly.placing import Assembly, standing_in
from assembly.plan import Move, Plan, Stage
from assembly.steps import steps
from model.design import Shop
from model.part import ALL
from model.progress import Progress, quiet

Depths = Mapping[tuple[str, str], float]


def plan(assembly: Assembly, shop: Shop, progress: Progress = quiet) -> Plan:
    """Return the stages in an order that can be carried out, the steps, and what stands in the way.

    Given stages are verified; where a design gives none they follow from the order. What
    cannot be brought together is a finding of kind "blocked", never an exception.
    Times and hands are rules of thumb (`effort`).
    """
    deep = {(o.a, o.b): o.depth for o in reversed(overlaps(assembly)) if o.told}
    if assembly.design.stages:
        return _given(assembly, shop, deep, progress)
    return _derived(assembly, shop, deep, progress)


def _derived(assembly: Assembly, shop: Shop, deep: Depths, progress: Progress) -> Plan:
    progress("taking it apart", 0.0)
    found = order(assembly, [(n,) for n in assembly.names], ALL, deep)
    stages: list[Stage] = []
    findings: list[Finding] = list(given(assembly).findings)
    for one in derived(found):
        stage, noticed = glue_up(assembly, shop, one.bench, one.moves, one.locks)
        stages.append(stage)
        findings += noticed
    progress("plan made", 1.0)
    return Plan(tuple(stages), steps(assembly, stages, {}), by_harm(findings))


def _given(assembly: Assembly, shop: Shop, deep: Depths, progress: Progress) -> Plan:
    checked = given(assembly)
    findings = list(checked.findings)
    stages: list[Stage] = []
    ways_out: dict[int, tuple[Move, ...]] = {}
    for i, bench in enumerate(checked.benches):
        progress(f"stage {bench.name}", i / len(checked.benches))
        here = standing_in(assembly, bench.name)
        moves, locks = _together(here, bench, deep)
        stage, noticed = glue_up(here, shop, bench, moves, locks)
        stages.append(stage)
        findings += noticed
        if bench.leaving:
            ways_out[bench.number], stuck = _leave(here, bench, deep)
            findings += stuck
    progress("plan made", 1.0)
    return Plan(tuple(stages), steps(assembly, stages, ways_out), by_harm(findings))


def _together(assembly: Assembly, bench: Bench, deep: Depths) -> tuple[list[Move], list[Lock]]:
    """Return the moves and locks of one stage; what it does not join is made up apart, not where it stands at last."""
    done = _step(assembly, bench.done)
    moves: list[Move] = []
    locks: list[Lock] = []
    for units in beside(assembly, bench.units, bench.joints):
        found = order(assembly, units, done, deep)
        moves += found.moves
        locks += [_with_way_round(assembly, lock, units, done, deep) for lock in found.locks]
    return moves, locks


def _with_way_round(assembly: Assembly, lock: Lock, units: Sequence[Unit], done: frozenset[str], deep: Depths) -> Lock:
    """Return a lock, marked where its pieces would come together were nothing among them glued before."""
    early = any(len(unit) > 1 and set(unit) & set(lock.parts) for unit in units)
    if lock.freed_by or not early:
        return lock
    return replace(lock, glued_too_early=not order(assembly, [(n,) for n in lock.parts], done, deep).locks)


def _step(assembly: Assembly, done: frozenset[str]) -> frozenset[str]:
    """Return the step to ask solids for; ALL where no cut is still to come, so that work done once is found again."""
    later = {f.after for p in assembly.design.parts for f in p.features if f.after is not None}
    return ALL if later <= done else done


def _leave(assembly: Assembly, bench: Bench, deep: Depths) -> tuple[tuple[Move, ...], list[Finding]]:
    """Return the moves by which temporary parts leave once the glue has set, and those that cannot."""
    units = joined(assembly, bench.units, bench.joints, bench.leaving)
    found = order(assembly, units, _step(assembly, bench.done), deep)
    temporary = set(bench.leaving)
    stuck = [lock for lock in found.locks if temporary & set(lock.parts)]
    return _backwards(found), [blocked(f"{bench.name}, once its glue has set", lock) for lock in stuck]


def _backwards(found: Order) -> tuple[Move, ...]:
    """Return the moves of an order run backwards: what leaves first comes first, along the way it leaves."""
    return tuple(Move(m.parts, m.onto, (-m.direction[0], -m.direction[1], -m.direction[2]), m.travel, m.simultaneous,
                      m.joints) for m in reversed(found.moves) if m.onto)
