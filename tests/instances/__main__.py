"""Print the verdicts on all instances: `python -m tests.instances --most 300`."""

from __future__ import annotations

import argparse

from tests.instances import instances, judged
from tests.instances.kinds import SIZES


def main() -> None:
    """Judge every instance up to a size and print the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--most", type=int, default=300)
    asked.add_argument("--least", type=int, default=10)
    given = asked.parse_args()
    wrong = undecided = count = 0
    print(f"{'kind':<18}{'parts':>6} {'known':<10}{'said':<11}{'right':<7}{'order s':>8}{'replay s':>9}")
    for one in instances(tuple(s for s in SIZES if given.least <= s <= given.most)):
        found = judged(one)
        count += 1
        undecided += found.said == "undecided"
        wrong += not found.right
        known = "together" if one.possible else "locked"
        print(f"{one.kind:<18}{len(one.assembly.names):>6} {known:<10}{found.said:<11}"
              f"{'yes' if found.right else 'NO':<7}{found.order:>8.2f}{found.replay:>9.2f}"
              + ("" if found.right else f"  {sorted(one.cause)} {found.why[:200]}"), flush=True)
    print(f"{count} instances, {wrong} wrong, of these {undecided} undecided")


if __name__ == "__main__":
    main()
