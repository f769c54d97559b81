"""Checks what a wheel carries: every module and data file of the three rooms, the page's bundle, the command.

Nothing else: of the walk page neither its source nor the libraries it is made of.
"""

from __future__ import annotations

import sys
import zipfile
from pathlib import Path

ROOMS = ("model", "assembly", "exports")
PAGE = "exports/page/"
BUNDLE = {f"{PAGE}built/walk.js", f"{PAGE}built/walk.css"}
SMALLEST = 20_000
"""A script of fewer bytes than this is no walk page."""


def main(wheel: str) -> int:
    """Compare a wheel with the checkout in the working folder; 0 when they agree."""
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
        commands = next(archive.read(n).decode() for n in names if n.endswith("entry_points.txt"))
        script = max((i.file_size for i in archive.infolist() if i.filename == f"{PAGE}built/walk.js"), default=0)
    carried = {n for n in names if ".dist-info/" not in n}
    rooms = (f for room in ROOMS for f in Path(room).rglob("*")
             if f.is_file() and f.suffix != ".pyc" and not f.name.startswith("."))
    wanted = {f.as_posix() for f in rooms if not f.as_posix().startswith(PAGE)} | BUNDLE
    wrong = [f"missing from the wheel: {n}" for n in sorted(wanted - carried)]
    wrong += [f"in the wheel and not in the rooms: {n}" for n in sorted(carried - wanted)]
    for kind in ("model/data/*.csv", "model/data/start/*.toml"):
        if not any(Path(n).match(kind) for n in carried):
            wrong.append(f"the wheel carries no {kind}")
    if script < SMALLEST:
        wrong.append(f"the walk page's script has {script} bytes")
    if "dryfit = exports.command:main" not in commands:
        wrong.append("the wheel has no dryfit command")
    right = f"{Path(wheel).name}: {len(carried)} files, as in the rooms, with the walk page's bundle and the command"
    print("\n".join(wrong) or right)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
