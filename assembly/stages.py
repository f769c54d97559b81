"""Stages: the plan of a whole structure, given stages verified or sessions found, replayed, with the graph of steps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from assembly.blocking import Unit
from assembly.completion import completed
from assembly.findings import Finding, by_harm
from assembly.given_stages import given
from assembly.glue_up import Bench, beside, blocked, glue_up, joined, named
from assembly.interference import overlaps
from assembly.locks import Lock
from assembly.order import Order, order
from assembly.placing import Assembly, standing_in
from assembly.plan import Move, Plan, Solved, Stage
from assembly.replay import Refusal, replay
from assembly.room import sized
from assembly.sessions.pins import broken
from assembly.sessions.planned import planned, split
from assembly.steps import steps, timetable
from assembly.timing import critical
from model.design import Shop
from model.part import ALL
from model.progress import Progress, quiet, share

Depths = Mapping[tuple[str, str], float]


@dataclass
class _Draft:
    """A plan in the making."""

    stages: list[Stage] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    ways_out: dict[int, tuple[Move, ...]] = field(default_factory=dict)

    def add(self, assembly: Assembly, shop: Shop, bench: Bench, moves: Sequence[Move], locks: Sequence[Lock]) -> bool:
        """Add one stage made whole, and return whether it takes too long; `assembly` is the work as it stands in it."""
        stage = glue_up(assembly, bench, moves)
        self.findings += [blocked(stage.name, lock) for lock in locks]
        done, noticed = completed(assembly, shop, stage, self.stages)
        self.stages.append(done)
        self.findings += noticed
        return any(_late(f) for f in noticed)

    def offer_to_split(self, stage: str, sessions: Sequence[Sequence[str]]) -> None:
        """Say of a stage that takes too long into which it can be split, where that was tried and helps."""
        if sessions:
            first = named([n for session in sessions[:-1] for n in session])
            more = f"; tried: it splits into {len(sessions)} stages that fit, closing {first} before the rest"
            self.findings = [replace(f, remedy=f.remedy + more) if _late(f) and f.stage == stage else f
                             for f in self.findings]


def _late(finding: Finding) -> bool:
    """Whether a finding says that glue does not wait for the work; a room too cold for it is another matter."""
    return finding.kind == "open-time" and finding.amount is not None and finding.amount.unit == "min"


def plan(assembly: Assembly, shop: Shop, progress: Progress = quiet) -> Plan:
    """Return the stages in an order that can be carried out, the steps, and what stands in the way.

    Given stages are verified; where a design gives none the fewest glue sessions are looked
    for. What cannot be brought together is a finding of kind "blocked", never an exception.
    Every move is replayed by independent code before the plan is given out: what does not
    pass is a finding too.
    """
    deep = {(o.a, o.b): o.depth for o in reversed(overlaps(assembly)) if o.told}
    draft = _Draft()
    make = _given if assembly.design.stages else _found
    solved = make(assembly, shop, deep, draft, share(progress, 0.0, 0.7))
    stages, noticed = sized(assembly, shop, draft.stages)
    graph = steps(assembly, stages, draft.ways_out)
    longest = critical(graph)
    table = timetable(graph, stages, shop)
    found = Plan(tuple(stages), graph, (), solved, longest.path, round(longest.length / 60.0, 2),
                 {str(name): start for name, start in table.starts.items()},
                 round(table.length / 60.0, 2))
    refused = replay(assembly, found, share(progress, 0.7, 1.0))
    stuck = any(f.kind == "blocked" and f.severity == "stop" for f in draft.findings)
    if refused is not None and not stuck and not any(set(pair) <= set(refused.parts) for pair in deep):
        noticed = [*noticed, _refusal(refused)]
    progress("plan made", 1.0)
    return replace(found, findings=by_harm([*draft.findings, *broken(assembly.design, stages), *noticed]),
                   replayed=refused is None)


def _found(assembly: Assembly, shop: Shop, deep: Depths, draft: _Draft, progress: Progress) -> Solved:
    """Put everything into as few sessions as can be found."""
    draft.findings += given(assembly).findings
    found = planned(assembly, shop, deep, share(progress, 0.0, 0.6))
    draft.findings += found.findings
    for k, one in enumerate(found.sessions):
        progress(f"stage {one.bench.name}", 0.6 + 0.4 * k / len(found.sessions))
        draft.add(assembly, shop, one.bench, one.moves, one.locks)
    return found.solved


def _given(assembly: Assembly, shop: Shop, deep: Depths, draft: _Draft, progress: Progress) -> Solved:
    """Take the stages as they are given, and verify them."""
    checked = given(assembly)
    draft.findings += checked.findings
    for k, bench in enumerate(checked.benches):
        progress(f"stage {bench.name}", k / len(checked.benches))
        here = standing_in(assembly, bench.name)
        orders, locks = _together(here, bench, deep)
        slow = draft.add(here, shop, bench, [m for found in orders for m in found.moves], locks)
        if slow:
            draft.offer_to_split(bench.name, split(here, shop, orders))
        if bench.leaving:
            draft.ways_out[bench.number], stuck = _leave(here, bench, deep)
            draft.findings += stuck
    count = len(draft.stages)
    return Solved(count, min(count, 1), count <= 1, "the stages are those of the design; fewer were not looked for")


def _together(assembly: Assembly, bench: Bench, deep: Depths) -> tuple[list[Order], list[Lock]]:
    """Return the orders and locks of one stage; what it does not join is made up apart, not where it stands at last."""
    done = _step(assembly, bench.done)
    orders: list[Order] = []
    locks: list[Lock] = []
    for units in beside(assembly, bench.units, bench.joints):
        found = order(assembly, units, done, deep)
        orders.append(found)
        locks += [_with_way_round(assembly, lock, units, done, deep) for lock in found.locks]
    return orders, locks


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


def _refusal(refused: Refusal) -> Finding:
    """Return the finding for a plan that did not pass its replay: it must not be carried out."""
    return Finding("blocked", "stop", refused.parts,
                   f"stage {refused.stage}: played through by itself the plan fails {refused.from_home:.1f} mm from "
                   f"home: {refused.why} by {refused.thickness:.2f} mm",
                   "Do not carry this stage out; this is a fault of dryfit", stage=refused.stage)
