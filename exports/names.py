"""Names as a screen and a disk can bear them: printable, short, unique, free of path separators."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping

LONGEST_SHOWN = 60
"""Characters of a name that a person is shown."""
LONGEST_FILE = 60
"""Characters of a name that go into a file name (at most 240 bytes of UTF-8; 255 is the usual limit of a disk)."""

_TAKEN = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))}
"""Names that one widespread operating system keeps for its devices."""


def printable(text: str) -> str:
    """Return text on one line, every control, format or unassigned character as a question mark."""
    return "".join(c if c.isprintable() else " " if c in "\n\t\r" else "?" for c in text)


def shown(name: str) -> str:
    """Return a name as a person is shown it: printable, and shortened when it is absurdly long."""
    clean = printable(name[: LONGEST_SHOWN + 1]).strip() or "(no name)"
    return clean if len(name) <= LONGEST_SHOWN else clean[: LONGEST_SHOWN - 1] + "…"


def safe(name: str) -> str:
    """Return a name that is one harmless path component on every common system, never empty."""
    text = unicodedata.normalize("NFC", name[: 4 * LONGEST_FILE])
    text = re.sub(r"[^\w.+-]+", "_", text)[:LONGEST_FILE].strip("._ ")
    if not text:
        return "unnamed"
    return f"{text}_" if text.partition(".")[0].lower() in _TAKEN else text


def safe_names(names: Iterable[str]) -> Mapping[str, str]:
    """Return a safe name for every name; no two alike, not even where case does not count."""
    return _apart(names, safe)


def shown_names(names: Iterable[str]) -> Mapping[str, str]:
    """Return a printable name for every name; no two alike, not even where case does not count."""
    return _apart(names, shown)


def _apart(names: Iterable[str], made: Callable[[str], str]) -> Mapping[str, str]:
    given: dict[str, str] = {}
    taken: set[str] = set()
    for name in names:
        if name in given:
            continue
        free = stem = made(name)
        number = 1
        while free.casefold() in taken:
            number += 1
            free = f"{stem}-{number}"
        taken.add(free.casefold())
        given[name] = free
    return given
