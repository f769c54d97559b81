"""A number changed in a design file: its bytes and no others, and only where the reader takes what comes of it."""

from __future__ import annotations

import os
import stat
import tempfile
import tomllib
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from exports.live.numbers import TEXT_MOST, Number, numbers, written
from model.errors import DesignError, DryfitError, Problem
from model.reader.text import BYTES_MOST
from model.units import ANGLE_ACCEPTED, LENGTH_ACCEPTED

_ACCEPTED = {"length": LENGTH_ACCEPTED, "angle": ANGLE_ACCEPTED, "count": "a whole number", "number": "a number"}

Read = Callable[[str], object]
"""Reads a design's text, or raises DesignError with all that is wrong with it."""


@dataclass(frozen=True)
class Change:
    """What is asked for: the number of this key, which the asker saw as `was`, is to be `text`."""

    key: str
    was: str
    text: str


class Refused(DryfitError):
    """A change that is not made: why, and what would be accepted."""

    def __init__(self, said: str, accepted: str = "") -> None:
        self.said, self.accepted = said, accepted
        super().__init__(f"{said}; accepted: {accepted}" if accepted else said)


class Outdated(DryfitError):
    """The file no longer has what the asker saw."""


class Unwritable(DryfitError):
    """The file cannot be written."""


def changed(raw: bytes, change: Change, read: Read) -> bytes:
    """Return a design file's bytes with one number changed and all else as it was.

    Raises Outdated when the file does not have what was seen, and Refused when the new text is no such value, or when
    the design can no longer be read for its sake. A file that has other problems may be changed.
    """
    number = next((one for one in numbers(raw) if one.key == change.key), None)
    if number is None or number.text != change.was:
        raise Outdated("the file has changed since")
    after = _with(raw, number, _plain(change.text, number))
    _hold(raw, after, number)
    _try(raw, after, number, read)
    return after


def _plain(text: str, number: Number) -> str:
    text = text.strip()
    if not text or len(text) > TEXT_MOST or not text.isprintable():
        raise Refused("not a value", _ACCEPTED[number.kind])
    return text


def _with(raw: bytes, number: Number, text: str) -> bytes:
    after = raw[:number.start] + written(text, number.quote).encode() + raw[number.end:]
    if len(after) > BYTES_MOST:
        raise Refused("the file would be too large", f"at most {BYTES_MOST:,} bytes")
    return after


def _hold(before: bytes, after: bytes, number: Number) -> None:
    """Refuse what would change more than this one value, whatever was typed."""
    try:
        old, new = (tomllib.loads(raw.decode("utf-8-sig")) for raw in (before, after))
        same = repr(_blanked(old, number)) == repr(_blanked(new, number))
    except (ValueError, KeyError, IndexError, TypeError, RecursionError):
        same = False
    if not same:
        raise Refused("not a value", _ACCEPTED[number.kind])


def _blanked(values: dict[str, Any], number: Number) -> dict[str, Any]:
    inner: Any = values
    for step in number.path[:-1]:
        inner = inner[step]
    inner[number.path[-1]] = None
    return values


def _try(before: bytes, after: bytes, number: Number, read: Read) -> None:
    wrong = _problems(after, read)
    own = next((p for p in wrong if p.key == number.key or p.key.startswith(f"{number.key}[")), None)
    if own is None and wrong and not _problems(before, read):
        own = wrong[0]
    if own is not None:
        said = own.message if own.key == number.key or not own.key else f"{own.key}: {own.message}"
        raise Refused(said + (f" (found {own.value})" if own.value else ""), own.accepted)


def _problems(raw: bytes, read: Read) -> Sequence[Problem]:
    try:
        read(raw.decode("utf-8-sig"))
    except DesignError as error:
        return error.problems
    return ()


def replace_bytes(path: Path, before: bytes, after: bytes) -> None:
    """Put `after` in the place of a file that holds `before`, whole or not at all, with its mode kept.

    `path` is the file itself, no link. Raises Outdated when it holds something else by now, and Unwritable.
    """
    try:
        found = path.lstat()
        if stat.S_ISLNK(found.st_mode):
            raise Unwritable(f"{path.name} is a link, and nothing is written through one: walk the file it leads to")
        if not stat.S_ISREG(found.st_mode):
            raise Unwritable(f"{path.name} is not an ordinary file any more")
        if not os.access(path, os.W_OK):
            raise Unwritable(f"{path.name} may not be written")
        beside, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:40]}.", suffix=".new")
    except OSError as error:
        raise Unwritable(f"{path.name} cannot be written: {error.strerror or error}") from error
    try:
        _fill(beside, after, found)
        if path.is_symlink() or path.read_bytes() != before:
            raise Outdated("the file has changed since")
        Path(name).replace(path)
    except OSError as error:
        raise Unwritable(f"{path.name} cannot be written: {error.strerror or error}") from error
    finally:
        Path(name).unlink(missing_ok=True)


def _fill(descriptor: int, content: bytes, like: os.stat_result) -> None:
    with os.fdopen(descriptor, "wb") as out:
        out.write(content)
        out.flush()
        if hasattr(os, "fchmod"):
            with suppress(PermissionError):
                os.fchown(descriptor, like.st_uid, like.st_gid)
            os.fchmod(descriptor, stat.S_IMODE(like.st_mode))
        os.fsync(descriptor)
