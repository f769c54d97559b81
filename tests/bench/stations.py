"""The line from design to plan, one station after the other, each timed from cold caches."""

from __future__ import annotations

import gc
import statistics
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from assembly.checks import check
from assembly.contacts import contacts
from assembly.interference import overlaps
from assembly.order import order
from assembly.placing import place
from model.design import Design
from model.part import ALL

T = TypeVar("T")

STATIONS = ("build", "place", "contacts", "interference", "other checks", "order")
"""In the order they run; each uses what the ones before it left."""


class Clock:
    """Keeps seconds by station: by the wall, and of this process's own work."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}
        self.worked: dict[str, float] = {}

    def run(self, station: str, work: Callable[[], T]) -> T:
        """Do the work on the clock of a station and return what it gives."""
        start, own = time.perf_counter(), time.process_time()
        result = work()
        self.seconds[station], self.worked[station] = time.perf_counter() - start, time.process_time() - own
        return result


def cold() -> None:
    """Forget everything that was worked out per shape or per pair, so that the next run starts from nothing."""
    for name, module in list(sys.modules.items()):
        if name.split(".")[0] in ("model", "assembly") and name != "model.stock":
            for thing in list(vars(module).values()):
                if hasattr(thing, "cache_clear"):
                    thing.cache_clear()
    gc.collect()


@dataclass(frozen=True)
class Run:
    """One run of the line: design, seconds by station (wall and own), the moves found, the findings that stop it."""

    design: Design
    seconds: Mapping[str, float]
    worked: Mapping[str, float]
    moves: int
    stops: int


def run_once(make: Callable[[], Design]) -> Run:
    """Run the whole line once from cold caches."""
    cold()
    clock = Clock()
    design = clock.run("build", lambda: _built(make))
    assembly = clock.run("place", lambda: place(design))
    clock.run("contacts", lambda: contacts(assembly))
    clock.run("interference", lambda: overlaps(assembly))
    fit = clock.run("other checks", lambda: check(assembly, design.shop))
    deep = {(o.a, o.b): o.depth for o in overlaps(assembly) if o.told}
    found = clock.run("order", lambda: order(assembly, [(n,) for n in assembly.names], ALL, deep))
    stops = sum(f.severity == "stop" for f in fit)
    return Run(design, clock.seconds, clock.worked, len(found.moves), stops)


def _built(make: Callable[[], Design]) -> Design:
    design = make()
    for part in design.parts:
        _ = part.finished.mesh
    return design


def medians(runs: Sequence[Mapping[str, float]]) -> dict[str, float]:
    """Return the median seconds of each station over several runs."""
    return {station: statistics.median(run[station] for run in runs) for station in runs[0]}
