"""Print what the bench measures: `python -m tests.bench [PARTS ...] [--runs N]`."""

from __future__ import annotations

import argparse
import os
import platform
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Collection
from importlib.metadata import version

from assembly.placing import place
from model.design import Design
from tests.bench.checks import time_checks
from tests.bench.plans import time_plans
from tests.bench.routes import ROUTES, Prepared, Verdict, prepared, wrong
from tests.bench.stations import STATIONS, cold, medians, run_once
from tests.bench.structures import STRUCTURES, Pair, pushed, pushes

TARGET_WHOLE = {50: 1.0, 200: 1.5, 1000: 4.0}
"""Check and order of this many parts within so many seconds."""
TARGET_BUILD = 1.0
"""Building a part within so many milliseconds."""
TARGET_RATIO = 5.0
"""At 1000 parts, so many times faster than a collision manager."""
TARGET_HELP = 0.5
"""Seconds from `dryfit --help` to its answer."""
PUSHED = 24
"""How many parts are pushed out of place, where the structure has so many that do not touch a common neighbour."""


def main() -> int:
    """Run the bench."""
    given = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    given.add_argument("parts", nargs="*", type=int, default=[50, 200, 1000], help="sizes to measure")
    given.add_argument("--runs", type=int, default=3, help="runs of everything; medians are printed")
    asked = given.parse_args()
    _heading(asked.runs)
    for name, make in STRUCTURES.items():
        for parts in asked.parts:
            _structure(name, parts, lambda make=make, parts=parts: make(parts), asked.runs)
    time_checks(asked.runs, _mark)
    time_plans(asked.runs, _mark)
    _start_up(max(asked.runs, 5))
    return 0


def _heading(runs: int) -> None:
    libraries = ", ".join(f"{n} {version(n)}" for n in ("manifold3d", "trimesh", "python-fcl", "numpy", "networkx"))
    print(f"Python {platform.python_version()}, {os.cpu_count()} cores; {libraries}")
    print(f"Medians of {runs} runs. Before each run every cache that keeps what was worked out per shape or per pair")
    print("is emptied and the design is made anew. Libraries are loaded before the clock starts.")
    print(f"Times are by the wall, with this process's own work beside them; {os.getloadavg()[0]:.1f} processes ran in")
    print("the minute before, and only when that is near 0 do the two agree.")


def _structure(name: str, parts: int, make: Callable[[], Design], runs: int) -> None:
    done = [run_once(make) for _ in range(runs)]
    design = done[-1].design
    count, shapes = len(design.parts), len({part.finished.key for part in design.parts})
    print(f"\n{name}, {count} parts of {shapes} shapes, {len(design.joints)} joints: "
          f"{done[-1].moves} moves, {done[-1].stops} findings that stop it")
    wall, own = medians([run.seconds for run in done]), medians([run.worked for run in done])
    for station in STATIONS:
        ms = wall[station] * 1e3
        print(f"  {station:<18}{ms:>9.1f} ms{ms / count:>9.3f} ms a part   (own work {own[station] * 1e3:.1f} ms)")
    build, whole = wall["build"] * 1e3 / count, sum(wall[s] for s in STATIONS if s != "build")
    print(f"  {_mark(build <= TARGET_BUILD)} build {build:.2f} ms a part (wanted {TARGET_BUILD:g})")
    wanted = TARGET_WHOLE.get(parts) if _about(count, parts) else None
    print(f"  {'           ' if wanted is None else _mark(whole <= wanted)} check and order {whole:.2f} s "
          f"({f'nothing wanted for {count} parts' if wanted is None else f'wanted {wanted:g}'})")
    _compare(design, parts, runs)


def _about(count: int, parts: int) -> bool:
    return abs(count - parts) <= parts / 10


def _compare(design: Design, parts: int, runs: int) -> None:
    """Time each route on the sound structure and with parts pushed; count false verdicts against what is known."""
    assembly = place(design)
    made = pushes(assembly, PUSHED)
    truth = {pair for push in made for pair in push.harms}
    print("  interference on the sound structure")
    sound = _routes(prepared(assembly), set(), runs)
    print(f"  interference with {len(made)} parts pushed by hand: {len(truth)} pairs interfere, all others are sound")
    _routes(prepared(pushed(assembly, made)), truth, runs)
    if parts == 1000 and _about(len(design.parts), parts):
        ratio = sound["collision manager"] / sound["dryfit"]
        print(f"  {_mark(ratio >= TARGET_RATIO)} {ratio:.1f} times faster than the collision manager on the sound "
              f"structure (wanted {TARGET_RATIO:g})")


def _routes(given: Prepared, truth: Collection[Pair], runs: int) -> dict[str, float]:
    """Print each route's time and verdicts; return the times, s."""
    done = {name: _timed(route, given, runs) for name, route in ROUTES.items()}
    for name, (took, verdict) in done.items():
        ratio = took / done["dryfit"][0]
        print(f"    {name:<20}{took * 1e3:>9.1f} ms{ratio:>8.1f} x   {_verdicts(verdict.pairs, truth)}"
              f"{f', {verdict.unsure} could not be told' if verdict.unsure else ''}")
        if verdict.deep is not None:
            print(f"    {'  deeper than 0.02 mm':<43}{_verdicts(verdict.deep, truth)}")
    clean = wrong(done["dryfit"][1].pairs, truth)
    print(f"  {_mark(clean == (0, 0))} no false verdict of dryfit")
    return {name: took for name, (took, _) in done.items()}


def _verdicts(pairs: Collection[Pair], truth: Collection[Pair]) -> str:
    bad, passed = wrong(pairs, truth)
    return f"{bad:>5} sound pairs called bad, {passed} bad pairs passed"


def _timed(route: Callable[[Prepared], Verdict], given: Prepared, runs: int) -> tuple[float, Verdict]:
    took = []
    for _ in range(runs):
        cold()
        start = time.perf_counter()
        verdict = route(given)
        took.append(time.perf_counter() - start)
    return statistics.median(took), verdict


def _start_up(runs: int) -> None:
    took = []
    for _ in range(runs):
        start = time.perf_counter()
        subprocess.run([sys.executable, "-m", "exports", "--help"], check=True, capture_output=True)
        took.append(time.perf_counter() - start)
    middle = statistics.median(took)
    print(f"\ndryfit --help\n  {_mark(middle <= TARGET_HELP)} {middle:.2f} s (wanted {TARGET_HELP:g})")


def _mark(reached: bool) -> str:
    return "reached   " if reached else "NOT reached"


if __name__ == "__main__":
    sys.exit(main())
