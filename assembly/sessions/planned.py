"""Planned: the sessions of a structure whose design names no stages, found and proven."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assembly.blocking import Unit
from assembly.findings import Finding
from assembly.order import Order, order
from assembly.placing import Assembly
from assembly.plan import Solved
from assembly.sessions.benches import Made, made
from assembly.sessions.fitting import Fitting, additive
from assembly.sessions.pins import clash, made_first, together, units_of
from assembly.sessions.solve import Answer, Clash, Numbers, Problem, solve
from assembly.sessions.tasks import Tasks, tasks_of
from model.design import Shop
from model.part import ALL
from model.progress import Progress, quiet

Depths = Mapping[tuple[str, str], float]


@dataclass(frozen=True)
class Planned:
    """The sessions, how good they are, and which of what was decided on beforehand could not be kept."""

    sessions: tuple[Made, ...]
    solved: Solved
    findings: tuple[Finding, ...]


def planned(assembly: Assembly, shop: Shop, deep: Depths, progress: Progress = quiet) -> Planned:
    """Return the fewest sessions found in which everything comes together, with the proven least."""
    progress("taking it apart", 0.0)
    tasks = _closings(assembly, deep)
    progress("putting the closings into glue sessions", 0.5)
    fitting = Fitting(assembly, shop, tasks.tasks)
    answer, findings = _answer(assembly, tasks, fitting)
    sessions = made(tasks, answer.sessions)
    return Planned(sessions, _solved(answer, len(sessions)), tuple(findings))


def split(assembly: Assembly, shop: Shop, orders: Sequence[Order]) -> tuple[tuple[str, ...], ...]:
    """Return the joints of a stage as they would close in the fewest sessions that fit; empty where nothing is won.

    `orders`: how the pieces of the stage come together, one for each set made up beside the others.
    """
    sessions: list[tuple[str, ...]] = []
    for found in orders:
        tasks = tasks_of(found)
        if not tasks.tasks:
            continue
        answer = solve(_problem(tasks, Fitting(assembly, shop, tasks.tasks), ()))
        if answer.misfits:
            return ()
        sessions += [tuple(n for t in session for n in tasks.tasks[t].joints) for session in answer.sessions]
    return tuple(sessions) if len(sessions) > 1 else ()


def _closings(assembly: Assembly, deep: Depths) -> Tasks:
    inside: dict[Unit, Order] = {}
    names = list(assembly.names)
    groups = made_first(assembly, assembly.design.pins)
    waiting = list(groups)
    while waiting:
        group = waiting.pop()
        within = made_first(assembly, assembly.design.pins, group)
        inside[group] = order(assembly, units_of(group, within), ALL, deep)
        waiting += within
    ready = dict(sorted(inside.items(), key=lambda item: len(item[0])))
    return tasks_of(order(assembly, units_of(names, groups), ALL, deep), ready)


def _answer(assembly: Assembly, tasks: Tasks, fitting: Fitting) -> tuple[Answer, list[Finding]]:
    pinned = together(assembly.design.pins, tasks.tasks)
    try:
        return solve(_problem(tasks, fitting, pinned)), []
    except Clash as caught:
        told = clash(assembly.design.pins, tasks.tasks, caught.tasks)
        return solve(_problem(tasks, fitting, ())), [told]


def _problem(tasks: Tasks, fitting: Fitting, pinned: tuple[Numbers, ...]) -> Problem:
    loads, limits = additive(fitting, range(len(tasks.tasks))) if tasks.tasks else ((), ())
    return Problem(len(tasks.tasks), tasks.order, tasks.strict, pinned, loads, limits, fitting)


def _solved(answer: Answer, sessions: int) -> Solved:
    more = sessions - len(answer.sessions)
    bound = answer.bound + more
    if answer.misfits:
        said = "closings that cannot be made in time even alone have a session each"
    elif answer.optimal:
        said = "proven: no plan with these moves takes fewer"
    else:
        said = "fewer were looked for and not found; how few there can be is not proven"
    return Solved(sessions, bound, answer.optimal and not answer.misfits, said)
