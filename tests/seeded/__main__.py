"""Print the proof: `python -m tests.seeded [--count N] [--sound N] [--seed S] [--misses]`."""

from __future__ import annotations

import argparse
import sys
import time

from tests.seeded import sound
from tests.seeded.mistake import judged, wrong
from tests.seeded.planters import planted
from tests.seeded.table import Table


def main() -> int:
    """Plant, look, and print the table."""
    asked = argparse.ArgumentParser(prog="python -m tests.seeded", description=__doc__)
    asked.add_argument("--count", type=int, default=300, help="mistakes to plant")
    asked.add_argument("--sound", type=int, default=60, help="random sound designs beside those written down")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--misses", action="store_true", help="say what was found instead of each mistake missed")
    given = asked.parse_args()
    begun = time.perf_counter()
    designs = [(name, make()) for name, make in sound.given()] + list(sound.drawn(given.sound, given.seed))
    alarms = [(name, f) for name, design in designs for f in wrong(design) if f.severity != "note"]
    print(f"{len(designs)} sound designs: {len(alarms)} findings that stop or warn "
          f"({time.perf_counter() - begun:.0f} s)")
    for name, finding in alarms:
        print(f"  FALSE {finding.severity} {finding.kind} in {name}: {finding.message[:150]}")
    table = Table()
    for _, mistake in planted([d for _, d in designs], given.count, given.seed):
        findings = wrong(mistake.design)
        seen = judged(mistake, findings)
        table.add(mistake, seen)
        if given.misses and not seen.good:
            print(f"MISSED {mistake.name} in {mistake.design.name}: wanted {mistake.finds} {sorted(mistake.parts)} "
                  f"{mistake.amount} {mistake.unit} {mistake.or_amounts}; found "
                  f"{[(f.kind, f.parts[:3], f.amount and f.amount.value) for f in findings[:4]]}")
    print("\n".join(table.lines()))
    print(f"{time.perf_counter() - begun:.0f} s")
    return int(bool(table.missed or alarms))


if __name__ == "__main__":
    sys.exit(main())
