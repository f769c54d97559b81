"""The files that a design is made of, and how one notices that any of them changed.

They are looked at a few times a second rather than reported by the system: that also works on network folders,
in containers, and with editors that write a new file and rename it.
"""

from __future__ import annotations

import time
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from model.errors import DesignError
from model.reader.lines import lines_of
from model.reader.pieces import holds_pieces
from model.reader.text import text_of

FILES_MOST = 6_000
"""More files than this are not looked at: no design has more parts."""
PAUSE, SHARE = 0.06, 20.0
"""Seconds between looks, at least; and so many times what a look took."""

Signature = tuple[tuple[str, int, int, int], ...]


@dataclass(frozen=True)
class Watched:
    """What is watched for one design: the file or folder it is in, and a sheet of measurements given beside it."""

    path: Path
    sheet: Path | None = None

    def signature(self) -> Signature:
        """Return what tells one state of all files from another: names, times, sizes, and which file is meant."""
        return tuple(_seen(file) for file in self.files())

    def files(self) -> list[Path]:
        """Return the files: the design's own, those it names in its folder, whether they are there or not."""
        own = [self.path] if self.sheet is None else [self.path, self.sheet]
        if not holds_pieces(self.path):
            beside: Iterable[Path] = _named(self.path, _seen(self.path))
        elif self.path.is_dir():
            beside = _inside(self.path)
        else:
            beside = ()
        return [*own, *beside][:FILES_MOST]


def pause(took: float) -> float:
    """Return how long to wait after a look that took so long, seconds."""
    return max(PAUSE, SHARE * took)


def looked(watched: Watched) -> tuple[Signature, float]:
    """Return the files' signature and the seconds it took."""
    begun = time.perf_counter()
    found = watched.signature()
    return found, time.perf_counter() - begun


def _inside(folder: Path) -> Iterator[Path]:
    try:
        yield from sorted(folder.iterdir())
    except OSError:
        return


@lru_cache(maxsize=4)
def _named(design: Path, _seen: tuple[object, ...]) -> tuple[Path, ...]:
    """Return the files a design names, also where it has mistakes: meshes of its parts, and its sheet."""
    try:
        text = text_of(design)
    except DesignError:
        return ()
    return tuple(dict.fromkeys(_files(text, design.parent)))


def _files(text: str, folder: Path) -> Iterator[Path]:
    raw = text.encode()
    for path, span in lines_of(text).value.items():
        meant = path == ("measured",) or (len(path) == 3 and path[0] == "part" and path[2] == "file")
        name = _word(raw[span.start:span.end]) if meant and span.grammar == "string" else ""
        if name and "\0" not in name and not Path(name).is_absolute() and ".." not in Path(name).parts:
            yield folder / name


def _word(literal: bytes) -> str:
    try:
        value: dict[str, Any] = tomllib.loads(f"x = {literal.decode()}")
    except ValueError:
        return ""
    return str(value["x"])


def _seen(file: Path) -> tuple[str, int, int, int]:
    try:
        found = file.stat()
    except (OSError, ValueError):
        return str(file), 0, 0, 0
    return str(file), found.st_mtime_ns, found.st_size, found.st_ino
