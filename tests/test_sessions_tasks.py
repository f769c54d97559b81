"""Closings of an order and what must come before what: every order that keeps to it can be carried out."""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from assembly.order import order
from assembly.placing import place
from assembly.plan import Plan, Stage
from assembly.replay import replay
from assembly.sessions.benches import Made, made
from assembly.sessions.tasks import Tasks, tasks_of
from assembly.steps import steps
from model.design import Design
from tests import zoo

LOOSE = {name: make for name, make in zoo.SOUND.items() if not any(p.temporary for p in make().parts)
         and not any(f.after for p in make().parts for f in p.features)}


def at_random(tasks: Tasks, rng: random.Random) -> list[list[int]]:
    """Return sessions of one or several closings, in an order drawn at random from all that are allowed."""
    before = {t: {a for a, b in (*tasks.order, *tasks.strict) if b == t} for t in range(len(tasks.tasks))}
    early = {t: {a for a, b in tasks.strict if b == t} for t in range(len(tasks.tasks))}
    sessions: list[list[int]] = []
    placed: set[int] = set()
    while len(placed) < len(before):
        here: list[int] = []
        size = rng.randint(1, 4)
        while len(here) < size:
            ready = [t for t in before if t not in placed and t not in here and before[t] <= placed | set(here)
                     and not early[t] & set(here)]
            if not ready:
                break
            here.append(rng.choice(ready))
        sessions.append(sorted(here))
        placed.update(here)
    return sessions


def plan_of(design: Design, benches: Sequence[Made]) -> Plan:
    assembly = place(design)
    stages = [Stage(m.bench.number, m.bench.name, m.bench.joints, m.bench.units, m.moves, m.bench.needs, m.bench.done)
              for m in benches]
    return Plan(tuple(stages), steps(assembly, stages, {}))


@pytest.mark.parametrize("make", LOOSE.values(), ids=LOOSE)
def test_closings_in_any_order_they_allow_can_be_carried_out(make) -> None:  # type: ignore[no-untyped-def]
    design = make()
    assembly = place(design)
    tasks = tasks_of(order(assembly, [(n,) for n in assembly.names]))
    for seed in range(3):
        benches = made(tasks, at_random(tasks, random.Random(seed)))
        closed = sorted(n for m in benches for n in m.bench.joints)
        assert closed == sorted(j.name for j in design.joints)
        assert replay(assembly, plan_of(design, benches)) is None
