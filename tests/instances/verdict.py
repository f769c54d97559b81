"""Verdict: what the planner says of an instance, held against what is known."""

from __future__ import annotations

import time
from dataclasses import dataclass

from assembly.order import order
from assembly.plan import Plan, Stage
from assembly.replay import replay
from assembly.sessions.benches import made
from assembly.sessions.tasks import tasks_of
from assembly.steps import steps
from tests.instances.kinds import Instance


@dataclass(frozen=True)
class Verdict:
    """Whether the planner is right, and the seconds it took to order the parts and to replay the order.

    `said`: "together", "locked", or "undecided" where something could not be told.
    """

    said: str
    right: bool
    order: float
    replay: float
    why: str = ""


def judged(instance: Instance) -> Verdict:
    """Return the verdict: right when what can be put together is, by moves that pass their replay, and when of what
    cannot, the locks found hold no piece but those of the known cause."""
    assembly = instance.assembly
    start = time.perf_counter()
    found = order(assembly, [(n,) for n in assembly.names])
    ordered = time.perf_counter() - start
    if found.locks:
        sure = all(lock.sure for lock in found.locks)
        right = sure and not instance.possible and all(set(lock.parts) <= instance.cause for lock in found.locks)
        why = str([lock.parts for lock in found.locks])
        return Verdict("locked" if sure else "undecided", right, ordered, 0.0, why)
    tasks = tasks_of(found)
    start = time.perf_counter()
    stages = [Stage(m.bench.number, m.bench.name, m.bench.joints, m.bench.units, m.moves, m.bench.needs, m.bench.done)
              for m in made(tasks, [[t] for t in range(len(tasks.tasks))])] if len(tasks.tasks) <= 120 else []
    refused = replay(assembly, Plan(tuple(stages), steps(assembly, stages, {}))) if stages else None
    return Verdict("together", instance.possible and refused is None, ordered, time.perf_counter() - start,
                   "" if refused is None else str(refused))
