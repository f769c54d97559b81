"""Names as a screen and a disk can bear them: printable, short, unique, free of path separators."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import lru_cache
from itertools import pairwise

LONGEST_SHOWN = 60
"""Characters of a name that a person is shown."""
LONGEST_FILE = 60
"""Characters of a name that go into a file name (at most 240 bytes of UTF-8; 255 is the usual limit of a disk)."""

_TAKEN = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))}
"""Names that one widespread operating system keeps for its devices."""
_DIGITS = re.compile(r"(\d{1,9})")


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


def runs(names: Iterable[str]) -> list[list[str]]:
    """Return names cut into unbroken runs, each in the order of its numbers, in the order they are first met.

    rail_1, rail_2, rail_3 is a run; so is arch_1_2_tenon, arch_2_3_tenon. A name without a number stands alone.
    """
    return [list(run) for run in _runs(tuple(dict.fromkeys(names)))]


@lru_cache(maxsize=512)
def _runs(given: tuple[str, ...]) -> list[list[str]]:
    met = {name: place for place, name in enumerate(given)}
    found = stretches(sorted(given, key=_parts))
    return sorted(found, key=lambda run: min(met[name] for name in run))


def stretches(names: Sequence[str]) -> list[list[str]]:
    """Return names in the order given, cut where they stop counting up (or down) by one."""
    found: list[list[str]] = [[name] for name in names[:1]]
    step: tuple[int, ...] = ()
    for one, other in pairwise(names):
        now = _step(one, other)
        if now and (len(found[-1]) == 1 or now == step):
            found[-1].append(other)
        else:
            found.append([other])
        step = now
    return found


@lru_cache(maxsize=16384)
def _parts(name: str) -> tuple[tuple[str, ...], tuple[int, ...]]:
    split = _DIGITS.split(name)
    return tuple(split[::2]), tuple(map(int, split[1::2]))


def _step(one: str, other: str) -> tuple[int, ...]:
    """Return by how much each number in two names differs; nothing where the second is not the next after the first."""
    (words, before), (same, after) = _parts(one), _parts(other)
    if words != same:
        return ()
    steps = tuple(b - a for a, b in zip(before, after, strict=True))
    return steps if set(steps) - {0} in ({1}, {-1}) else ()


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
