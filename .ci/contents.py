"""Checks what a wheel carries: every module and data file of the three rooms, the command, nothing else."""

from __future__ import annotations

import sys
import zipfile
from pathlib import Path

ROOMS = ("model", "assembly", "exports")


def main(wheel: str) -> int:
    """Compare a wheel with the checkout in the working folder; 0 when they agree."""
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
        commands = next(archive.read(n).decode() for n in names if n.endswith("entry_points.txt"))
    carried = {n for n in names if ".dist-info/" not in n}
    wanted = {f.as_posix() for room in ROOMS for f in Path(room).rglob("*")
              if f.is_file() and f.suffix != ".pyc" and not f.name.startswith(".")}
    wrong = [f"missing from the wheel: {n}" for n in sorted(wanted - carried)]
    wrong += [f"in the wheel and not in the rooms: {n}" for n in sorted(carried - wanted)]
    for kind in ("model/data/*.csv", "model/data/start/*.toml"):
        if not any(Path(n).match(kind) for n in carried):
            wrong.append(f"the wheel carries no {kind}")
    if "dryfit = exports.command:main" not in commands:
        wrong.append("the wheel has no dryfit command")
    print("\n".join(wrong) or f"{Path(wheel).name}: {len(carried)} files, as in the rooms, with the dryfit command")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
