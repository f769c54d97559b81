"""From a path to plain values: the file read, decoded and parsed, or its problems raised."""

from __future__ import annotations

import re
import stat
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from model.errors import DesignError, Problem
from model.reader.problems import Problems, printable, shown

BYTES_MOST = 1_000_000
"""A design file may not be larger than this."""
DOTS_MOST = 20
"""No key has more dots than this: the parser's work grows with their square."""


@dataclass(frozen=True)
class Kind:
    """A kind of file that a person writes: what it is, what would be accepted, how large it may be."""

    name: str
    accepted: str
    bytes_most: int
    begun: str
    """Where a first one comes from."""


DESIGN = Kind("a design file", "a design file: TOML, UTF-8 text", BYTES_MOST, "a design, as `dryfit start` writes one")

_AT = re.compile(r" \((?:at line (\d+), column (\d+)|at end of document)\)$")
_DIGITS = re.compile(r"[0-9_]{1000}")
_CHAIN = re.compile(r"""(?<![\w-])(?>(?:[\w-]+|"[^"\n]*"|'[^'\n]*')[ \t]*\.[ \t]*){21}""")  # DOTS_MOST + 1


def text_of(path: Path, kind: Kind = DESIGN) -> str:
    """Return the text of a file that a person writes. Raises DesignError for all that is not a small text file."""
    file = printable(str(path))
    try:
        found = path.stat()
        if stat.S_ISDIR(found.st_mode):
            raise _refused(file, kind, f"is a folder, not {kind.name}")
        if not stat.S_ISREG(found.st_mode):
            raise _refused(file, kind, "is not an ordinary file")
        if found.st_size > kind.bytes_most:
            raise _too_large(file, kind, found.st_size)
        with path.open("rb") as opened:
            raw = opened.read(kind.bytes_most + 1)
    except FileNotFoundError:
        raise _refused(file, kind, "there is no such file") from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise _refused(file, kind, f"cannot be read ({reason})") from None
    if len(raw) > kind.bytes_most:
        raise _too_large(file, kind, len(raw))
    return _decoded(file, raw, kind)


def _decoded(file: str, raw: bytes, kind: Kind) -> str:
    if b"\0" in raw:
        raise _refused(file, kind, "is not text", line=raw[:raw.index(b"\0")].count(b"\n") + 1)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[:error.start].count(b"\n") + 1
        raise _refused(file, kind, f"is not UTF-8 text: byte {raw[error.start]:#04x}", line=line) from None
    if not text.strip():
        raise DesignError(file, [Problem("the file is empty", accepted=kind.begun)])
    return text


def _refused(file: str, kind: Kind, message: str, line: int | None = None) -> DesignError:
    return DesignError(file, [Problem(message, line, accepted=kind.accepted)])


def _too_large(file: str, kind: Kind, size: int) -> DesignError:
    return DesignError(file, [Problem(f"is too large for {kind.name}", value=f"{size:,} bytes",
                                      accepted=f"at most {kind.bytes_most:,} bytes")])


def parsed(text: str, problems: Problems) -> dict[str, Any]:
    """Return the text's values. Raises DesignError, with line and column, when it is not TOML."""
    if chain := _CHAIN.search(text):
        problems.add((), "a key has too many dots", accepted=f"at most {DOTS_MOST}",
                     line=text.count("\n", 0, chain.start()) + 1)
    problems.stop()
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        _not_toml(str(error), text, problems)
    except RecursionError:
        problems.add((), "lists or tables are nested too deep", accepted="a few levels")
    except ValueError:
        far = _DIGITS.search(text)
        problems.add((), "a number is far too long", accepted="ordinary numbers",
                     line=None if far is None else text.count("\n", 0, far.start()) + 1)
    problems.stop()
    raise AssertionError("a failed parse leaves a problem")


def _not_toml(said: str, text: str, problems: Problems) -> None:
    at = _AT.search(said)
    reason = _AT.sub("", said)
    reason = reason[:1].lower() + reason[1:]
    if reason.startswith(("cannot overwrite", "cannot declare", "cannot mutate", "duplicate")) and problems.lines.twice:
        for twice in problems.lines.twice:
            problems.add(twice.path, f"is given twice, first on line {twice.first}", None, "each key once",
                         line=twice.line)
        return
    if at is not None and at[1]:
        line, column = int(at[1]), int(at[2])
    else:
        line, column = _broken_at(text, problems)
    problems.add((), f"not TOML at column {column}: {shown(reason, quoted=False)}", line=line,
                 value=text.split("\n")[line - 1].strip() or None, accepted=_hint(text, line))


def _broken_at(text: str, problems: Problems) -> tuple[int, int]:
    broken = problems.lines.broken
    if broken is not None and broken != (1, 1):
        return broken
    rows = text.rstrip().split("\n")
    return len(rows), len(rows[-1]) + 1


def _hint(text: str, line: int) -> str:
    row = text.split("\n")[line - 1]
    if re.search(r"=\s*[-+]?\d[\d./ ]*\s*(mm|cm|m|in|ft|deg)\b|=\s*\d+\s+\d+/\d+", row):
        return 'a length with its unit stands in quotes: "7 1/2 in"'
    return ""
