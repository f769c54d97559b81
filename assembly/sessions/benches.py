"""Benches: what comes to each session, in what order it goes together, and what it waits for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import networkx as nx

from assembly.blocking import Unit
from assembly.glue_up import Bench
from assembly.locks import Lock
from assembly.order import DOWN
from assembly.plan import Move
from assembly.sessions.tasks import Core, Task, Tasks


@dataclass(frozen=True)
class Made:
    """One session: what comes to the bench, how it moves, what locks."""

    bench: Bench
    moves: tuple[Move, ...]
    locks: tuple[Lock, ...]


def made(found: Tasks, sessions: Sequence[Sequence[int]]) -> tuple[Made, ...]:
    """Return the sessions with their tasks as benches, and a bench for what only locks and never moves."""
    waits = _waits(found, sessions)
    direct = nx.transitive_reduction(waits)
    done: list[Made] = []
    for s, session in enumerate(sessions):
        needs = tuple(sorted(n + 1 for n in direct.predecessors(s)))
        behind = frozenset(_name(n + 1) for n in nx.ancestors(waits, s))
        earlier = [found.tasks[t] for before in sessions[:s] for t in before]
        here = [found.tasks[t] for t in session]
        done.append(_session(found.cores, earlier, here, Bench(s + 1, _name(s + 1), (), (), needs, behind)))
    moved = {task.chain for task in found.tasks}
    for core in (c for n, c in enumerate(found.cores) if c.locks and n not in moved):
        number = len(done) + 1
        done.append(Made(Bench(number, _name(number), core.joints, core.units, (), frozenset()), (), core.locks))
    return tuple(done)


def _name(number: int) -> str:
    return f"glue-up {number}"


def _waits(found: Tasks, sessions: Sequence[Sequence[int]]) -> nx.DiGraph:
    """Return which session waits for which: for what it brings, and for work that it goes on with."""
    at = {task: s for s, session in enumerate(sessions) for task in session}
    waits = nx.DiGraph()
    waits.add_nodes_from(range(len(sessions)))
    waits.add_edges_from((at[a], at[b]) for a, b in (*found.order, *found.strict) if at[a] != at[b])
    last: dict[int, int] = {}
    for s, session in enumerate(sessions):
        for chain in dict.fromkeys(found.tasks[t].chain for t in session):
            if chain in last:
                waits.add_edge(last[chain], s)
            last[chain] = s
    return waits


def _session(cores: Sequence[Core], earlier: Sequence[Task], here: Sequence[Task], bench: Bench) -> Made:
    units: list[Unit] = []
    moves: list[Move] = []
    joints: list[str] = []
    locks: list[Lock] = []
    for chain in dict.fromkeys(task.chain for task in here):
        core = cores[chain]
        before = [unit for task in earlier if task.chain == chain for unit in task.brings]
        lying = tuple(n for unit in (*core.units, *before) for n in unit)
        if before or not core.locks:
            units.append(lying)
            moves.append(Move(lying, (), DOWN, 0.0))
        else:
            units += core.units
            locks += core.locks
            joints += core.joints
        for task in here:
            if task.chain == chain:
                units += task.brings
                moves += task.moves
                joints += task.joints
    ready = Bench(bench.number, bench.name, tuple(dict.fromkeys(joints)), tuple(units), bench.needs, bench.done)
    return Made(ready, tuple(moves), tuple(locks))
