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
    _start_up(max(asked.runs, 5))
    return 0


def _heading(runs: int) -> None:
    libraries = ", ".join(f"{n} {version(n)}" for n in ("manifold3d", "trimesh", "python-fcl", "numpy", "networkx"))
    print(f"Python {platform.python_version()}, {os.cpu_count()} cores; {libraries}")
    print(f"Medians of {runs} runs. Before each run every cache that keeps what was worked out per shape or per pair")
    print("is emptied and the design is made anew. Libraries are loaded before the clock starts.")


def _structure(name: str, parts: int, make: Callable[[], Design], runs: int) -> None:
    done = [run_once(make) for _ in range(runs)]
    design = done[-1].design
    shapes = len({part.finished.key for part in design.parts})
    print(f"\n{name}, {len(design.parts)} parts of {shapes} shapes, {len(design.joints)} joints: "
          f"{done[-1].stages} stages, {done[-1].stops} findings that stop it")
    times = medians([run.seconds for run in done])
    for station in STATIONS:
        ms = times[station] * 1e3
        print(f"  {station:<18}{ms:>9.1f} ms{ms / len(design.parts):>9.3f} ms a part")
    whole = sum(times[s] for s in STATIONS if s != "build")
    build = times["build"] * 1e3 / len(design.parts)
    print(f"  {_mark(build <= TARGET_BUILD)} build {build:.2f} ms a part (wanted {TARGET_BUILD:g})")
    if parts in TARGET_WHOLE:
        print(f"  {_mark(whole <= TARGET_WHOLE[parts])} check and order {whole:.2f} s (wanted {TARGET_WHOLE[parts]:g})")
    _compare(design, parts, runs)


def _compare(design: Design, parts: int, runs: int) -> None:
    """Time each route on the structure with parts pushed, and count its false verdicts against what is known."""
    assembly = place(design)
    made = pushes(assembly, PUSHED)
    truth = {pair for push in made for pair in push.harms}
    given = prepared(pushed(assembly, made))
    print(f"  interference, {len(made)} parts pushed by hand: {len(truth)} pairs interfere, all others are sound")
    seconds = {name: _timed(route, given, runs) for name, route in ROUTES.items()}
    for name, (took, verdict) in seconds.items():
        ratio = took / seconds["dryfit"][0]
        print(f"    {name:<20}{took * 1e3:>9.1f} ms{ratio:>8.1f} x   {_verdicts(verdict.pairs, truth)}"
              f"{f', {verdict.unsure} could not be told' if verdict.unsure else ''}")
        if verdict.deep is not None:
            print(f"    {'  deeper than 0.02 mm':<43}{_verdicts(verdict.deep, truth)}")
    clean = wrong(seconds["dryfit"][1].pairs, truth)
    print(f"  {_mark(clean == (0, 0))} no false verdict of ours")
    if parts == 1000:
        ratio = seconds["collision manager"][0] / seconds["dryfit"][0]
        print(f"  {_mark(ratio >= TARGET_RATIO)} {ratio:.1f} times faster than the collision manager "
              f"(wanted {TARGET_RATIO:g})")


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
