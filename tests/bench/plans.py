"""The plan station by station: from the order to the replay, on the main example and on a lattice of 300 parts."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from unittest.mock import patch

from assembly import completion, replay, stages
from assembly.checks import check
from assembly.order import order
from assembly.placing import place
from assembly.sessions import planned
from model.design import Design
from model.reader import read
from tests.bench.stations import cold
from tests.bench.structures import lattice

MAIN = Path(__file__).parents[2] / "examples" / "orchard_gate.toml"
WANTED = {"main example": 5.0, "lattice of 300": 30.0}
"""The plan with its proof and its replay within so many seconds."""
ORDERED, WANTED_ORDER = 1000, 10.0
"""So many parts ordered, each step proven, within so many seconds."""
STATIONS = ((planned, "order"), (stages, "order"), (planned, "tasks_of"), (planned, "solve"), (completion, "rested"),
            (completion, "clamped"), (completion, "timed"), (completion, "lifts"), (completion, "slow"),
            (stages, "sized"), (stages, "steps"), (stages, "timetable"), (stages, "replay"))
"""Where each station is called, and its name there."""


def time_plans(runs: int, mark: Callable[[bool], str]) -> None:
    """Print what each station of a plan takes, and the time in which a thousand parts are ordered."""
    for name, make in (("main example", lambda: read(MAIN)),
                       ("lattice of 300", lambda: replace(lattice(300), stages=()))):
        taken = [_once(make) for _ in range(runs)]
        whole = statistics.median(total for total, _, _ in taken)
        print(f"\nplan of the {name}, after the checks: {taken[-1][2]}")
        for station in taken[0][1]:
            seconds = statistics.median(t[1][station] for t in taken)
            print(f"  {station:<24}{seconds * 1e3:>9.1f} ms{seconds / whole:>8.0%} of all")
        print(f"  {mark(whole <= WANTED[name])} all together {whole:.2f} s (wanted {WANTED[name]:g})")
    _ordered(runs, mark)


def _once(make: Callable[[], Design]) -> tuple[float, dict[str, float], str]:
    cold()
    replay._PLAYED.clear()
    design = make()
    assembly = place(design)
    check(assembly, design.shop)
    seconds: dict[str, float] = {}
    patches = [patch.object(module, name, _timed(getattr(module, name), name, seconds)) for module, name in STATIONS]
    for one in patches:
        one.start()
    start = time.perf_counter()
    try:
        found = stages.plan(assembly, design.shop)
    finally:
        for one in patches:
            one.stop()
    whole = time.perf_counter() - start
    solved = found.solved
    least = "" if solved is None else f", {solved.bound} at least, gap {solved.gap:.0%}"
    said = f"{len(found.stages)} glue-ups{least}"
    return whole, seconds, f"{said}, {'replayed' if found.replayed else 'NOT replayed'}"


def _timed(work: Callable[..., object], name: str, seconds: dict[str, float]) -> Callable[..., object]:
    def run(*given: object, **named: object) -> object:
        start = time.perf_counter()
        try:
            return work(*given, **named)
        finally:
            seconds[name] = seconds.get(name, 0.0) + time.perf_counter() - start

    return run


def _ordered(runs: int, mark: Callable[[bool], str]) -> None:
    taken = []
    for _ in range(runs):
        cold()
        assembly = place(lattice(ORDERED))
        start = time.perf_counter()
        found = order(assembly, [(n,) for n in assembly.names])
        taken.append(time.perf_counter() - start)
        assert not found.locks
    seconds = statistics.median(taken)
    print(f"\n  {mark(seconds <= WANTED_ORDER)} {ORDERED} parts ordered in {seconds:.2f} s (wanted {WANTED_ORDER:g})")
