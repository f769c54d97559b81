"""The checks one by one: what each takes, on the main example and on many parts of few shapes."""

from __future__ import annotations

import statistics
from collections.abc import Callable
from pathlib import Path

from assembly.checks import CHECKS
from assembly.contacts import contacts
from assembly.interference import overlaps
from assembly.placing import place
from model.design import Design
from model.reader import read
from tests.bench.stations import Clock, cold
from tests.bench.structures import lattice

MAIN = Path(__file__).parents[2] / "examples" / "orchard_gate.toml"
WANTED_MAIN, WANTED_MANY = 1.5, 6.0
"""All checks together within so many seconds: on the main example, on 1000 parts with repeated shapes."""
UNLIKE = 200
"""Parts in the lattices of few and of many shapes that are held against each other."""
SHARED = ("placing", "contacts", "interference")
"""What several checks use, worked out before them on a clock of its own."""


def time_checks(runs: int, mark: Callable[[bool], str]) -> None:
    """Print every check's time and its share of all, and what it gains by working once per shape."""
    for name, make, wanted in (("main example", lambda: read(MAIN), WANTED_MAIN),
                               ("lattice of 1000", lambda: lattice(1000), WANTED_MANY)):
        design = make()
        took = _medians(make, runs)
        whole = sum(took.values())
        print(f"\nchecks on the {name}, {len(design.parts)} parts, from the blanks' solids to every finding")
        for station, seconds in took.items():
            print(f"  {station:<24}{seconds * 1e3:>9.1f} ms{seconds / whole:>8.0%} of all")
        print(f"  {mark(whole <= wanted)} all together {whole:.2f} s (wanted {wanted:g})")
    _against_unlike(runs)


def _against_unlike(runs: int) -> None:
    few = _medians(lambda: lattice(UNLIKE), runs)
    many = _medians(lambda: lattice(UNLIKE, unlike=True), runs)
    print(f"\nchecks on a lattice of {UNLIKE} parts of six shapes, and with every rail a shape of its own")
    for station, seconds in few.items():
        print(f"  {station:<24}{seconds * 1e3:>9.1f} ms{many[station] * 1e3:>9.1f} ms{many[station] / seconds:>7.1f} x")
    ratio = sum(many.values()) / sum(few.values())
    print(f"  {'together':<24}{sum(few.values()) * 1e3:>9.1f} ms{sum(many.values()) * 1e3:>9.1f} ms{ratio:>7.1f} x")


def _medians(make: Callable[[], Design], runs: int) -> dict[str, float]:
    taken = [_once(make) for _ in range(runs)]
    return {station: statistics.median(t[station] for t in taken) for station in taken[0]}


def _once(make: Callable[[], Design]) -> dict[str, float]:
    """Time every check once from cold caches, in the registry's order: the first to ask pays for what is shared."""
    cold()
    clock = Clock()
    design = make()
    assembly = clock.run("placing", lambda: place(design))
    clock.run("contacts", lambda: contacts(assembly))
    clock.run("interference", lambda: overlaps(assembly))
    for check in CHECKS:
        name = check.__name__.replace("_", " ")
        station = f"{name} (wording)" if name in SHARED else name
        clock.run(station, lambda check=check: check(assembly, design.shop))
    return clock.seconds
