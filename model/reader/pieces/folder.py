"""A folder of STL files, each one piece in place: no names but the files', no unit, z up."""

from __future__ import annotations

import os
import re
from pathlib import Path

from model.frames import identity
from model.progress import Progress
from model.reader.meshes import loaded
from model.reader.pieces.body import Body, Refusal
from model.reader.pieces.limits import BYTES_MOST, PIECES_MOST, whole
from model.reader.schema import Refused

ACCEPTED = "a folder of STL files, one closed piece in place in each"


def bodies(path: Path, progress: Progress, wrong: list[Refusal]) -> tuple[list[Body], str | None]:
    """Return the pieces of a folder, those files noted in `wrong` that cannot be used. Raises Refusal.

    Only files that lie in the folder itself are read: not what a link in it leads out to, not folders in it.
    """
    files = _files(path)
    found, total = [], 0
    home = path.resolve()
    for number, file in enumerate(files):
        progress(f"reading {file.name}", number / len(files))
        try:
            if not file.resolve().is_relative_to(home):
                raise Refusal("", "is a link out of the folder, which is not followed", ACCEPTED)
            raw = whole(file, ACCEPTED)
            total += len(raw)
            if total > BYTES_MOST:
                raise Refusal("", "is too much with the files before it", f"at most {BYTES_MOST:,} bytes in all")
            corners, triangles = loaded(raw, ".stl")
        except RuntimeError:  # a link that leads to itself, in Python before 3.13
            wrong.append(Refusal(file.stem, "is a link that leads to itself", ACCEPTED))
            continue
        except (Refusal, Refused) as refused:
            wrong.append(Refusal(file.stem, str(refused), refused.accepted))
            if total > BYTES_MOST:
                break
            continue
        found.append(Body(file.stem, corners, triangles, identity(), number))
    return found, None


def _files(path: Path) -> list[Path]:
    """Return the STL files of a folder, rail_2 before rail_10; hidden ones are left out."""
    names = []
    try:
        with os.scandir(path) as entries:
            for entry in entries:
                if entry.name.lower().endswith(".stl") and not entry.name.startswith("."):
                    names.append(entry.name)
                    if len(names) > PIECES_MOST:
                        raise Refusal("", f"holds more than {PIECES_MOST:,} STL files", f"at most {PIECES_MOST:,}")
    except OSError as error:
        raise Refusal("", f"cannot be read ({error.strerror})", ACCEPTED) from None
    if not names:
        raise Refusal("", "holds no STL files", ACCEPTED)
    return [path / name for name in sorted(names, key=_by_number)]


def _by_number(name: str) -> tuple[list[str | int], str]:
    split = re.split(r"(\d{1,9})", name.casefold())
    return [int(word) if k % 2 else word for k, word in enumerate(split)], name
