"""Design files to begin from: one a family, commented, that rehearse cleanly."""

from __future__ import annotations

import difflib
import re
from pathlib import Path

from exports.folder import FolderError
from exports.names import printable
from model.errors import DryfitError
from model.families import FAMILIES


class FamilyError(DryfitError):
    """A family that is not there: its name, those there are, the nearest."""


def listing() -> str:
    """Return the families, one line each."""
    wide = max(map(len, FAMILIES), default=0)
    return "".join(f"{name:<{wide}}  {family.says}\n" for name, family in sorted(FAMILIES.items()))


def starter(asked: str) -> str:
    """Return the commented design file of a family; words may be apart, joined by - or _, in any case.

    Raises FamilyError for a family that is not there, with the nearest name.
    """
    word = re.sub(r"[\s_-]+", " ", asked).strip().lower()
    family = FAMILIES.get(word)
    if family is None:
        words = {w.removesuffix("s") for w in word.split()} - {"and"}
        near = [name for name in FAMILIES if words & set(name.split())]
        near = near if len(near) == 1 else difflib.get_close_matches(word[:80], FAMILIES, n=1)
        hint = f"; did you mean {near[0]!r}?" if near else ""
        raise FamilyError(f"no such family: {printable(asked[:80])}; accepted: {', '.join(sorted(FAMILIES))}{hint}")
    return family.starter if family.starter.endswith("\n") else family.starter + "\n"


def write_new(file: Path, text: str) -> None:
    """Write a file that does not exist yet, whole or not at all. Raises FolderError."""
    try:
        with file.open("x", encoding="utf-8") as out:
            try:
                out.write(text)
                out.flush()
            except BaseException:
                file.unlink(missing_ok=True)
                raise
    except FileExistsError as error:
        raise FolderError(f"{file}: stands there already; accepted: a name where nothing stands yet") from error
    except OSError as error:
        raise FolderError(f"{file}: cannot be written: {error.strerror or error}") from error
