"""Problems of a design file: gathered, each with its line, and raised all at once."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Sequence
from typing import TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from model.errors import DesignError, Problem
from model.reader.fields import accepts, field_at, keys_at
from model.reader.lines import Lines, Where, lines_of
from model.reader.said import Said, in_unit

T = TypeVar("T", bound=BaseModel)

MOST = 60
"""More problems than this are counted, not listed."""
SHOWN = 60
"""A value longer than this many characters is cut short when it is shown."""
LISTED = 12
"""A list of accepted names longer than this is cut short."""


class Problems:
    """The problems found so far in one file. Lines are worked out when the first problem needs one."""

    def __init__(self, file: str, text: str = "") -> None:
        self.file = file
        self.unit = "mm"
        """The unit of the file, in which lengths are told."""
        self._text = text
        self._lines: Lines | None = None
        self._found: list[Problem] = []
        self._more = 0
        self.globs = 0
        """How many names with a * the file has used so far."""

    def __len__(self) -> int:
        return len(self._found) + self._more

    @property
    def lines(self) -> Lines:
        """Where every key stands."""
        if self._lines is None:
            self._lines = lines_of(self._text)
        return self._lines

    def add(self, path: Where, message: str, value: object = None, accepted: str = "", *,
            among: Iterable[str] = (), line: int | None = None) -> None:
        """Note a problem at a path. `among`: the names that would be right there, the nearest is offered."""
        if len(self._found) >= MOST:
            self._more += 1
            return
        names = tuple(among)
        self._found.append(Problem(
            message=in_unit(message, self.unit), line=line if line is not None or not path else self.lines.of(path),
            key=self.named(path), value="" if value is None else self._shown(value),
            accepted=in_unit(accepted, self.unit) or listed(by_likeness(value, names)),
            nearest=nearest(value, names) if isinstance(value, str) else ""))

    def named(self, path: Where) -> str:
        """Return what a person calls the spot of a path."""
        return dotted(path)

    def validated(self, path: Where, value: object, model: type[T]) -> T | None:
        """Return one table of the file as `model` takes it, or None with its problems noted."""
        if not isinstance(value, dict):
            self.add(path, "must be a table", value)
            return None
        try:
            return model.model_validate(value, context={"unit": self.unit})
        except ValidationError as error:
            self.add_pydantic(path, error, model)
            return None

    def _shown(self, value: object) -> str:
        return in_unit(shown(value), self.unit) if isinstance(value, Said) else shown(value)

    def add_pydantic(self, path: Where, error: ValidationError, model: type[BaseModel]) -> None:
        """Note every error of a validation of `model`, whose values stand below `path`."""
        for detail in error.errors(include_url=False):
            self._add_detail(path, detail, model)

    def _add_detail(self, path: Where, detail: ErrorDetails, model: type[BaseModel]) -> None:
        loc = tuple(step for step in detail["loc"] if step != "[key]")
        where: Where = (*path, *loc)
        kind = detail["type"]
        if kind == "extra_forbidden":
            self.add(where, "no such key here", str(loc[-1]), among=keys_at(model, loc[:-1]))
        elif kind == "missing":
            meaning = field.description if (field := field_at(model, loc)) is not None else ""
            self.add(where, f"is missing: {meaning}" if meaning else "is missing", accepted=accepts(model, loc))
        else:
            message, accepted, among = _sentence(detail)
            self.add(where, message, detail["input"], accepted or ("" if among else accepts(model, loc)), among=among)

    def stop(self) -> None:
        """Raise DesignError when there is any problem."""
        if not self._found:
            return
        found = list(self._found)
        if self._more:
            found.append(Problem(f"and {self._more} more problems of this kind"))
        raise DesignError(self.file, found)


def _sentence(detail: ErrorDetails) -> tuple[str, str, Sequence[str]]:
    kind, ctx = detail["type"], detail.get("ctx", {})
    if kind == "value_error":
        error = ctx.get("error")
        return str(error), getattr(error, "accepted", ""), getattr(error, "among", ())
    if kind in ("literal_error", "enum"):
        return "not one of the words taken here", "", _words(ctx.get("expected", ""))
    if kind in _BOUNDS:
        word, key = _BOUNDS[kind]
        return f"must be {word} {ctx.get(key)}", "", ()
    return _TYPES.get(kind, detail["msg"][:1].lower() + detail["msg"][1:]), "", ()


def _words(expected: str) -> tuple[str, ...]:
    return tuple(w for w in expected.replace(" or ", ", ").split("'") if w.strip(" ,"))


_BOUNDS = {
    "greater_than": ("more than", "gt"), "greater_than_equal": ("at least", "ge"),
    "less_than": ("less than", "lt"), "less_than_equal": ("at most", "le"),
}
_TYPES = {
    "string_type": "must be text in quotes", "int_type": "must be a whole number",
    "int_from_float": "must be a whole number", "int_parsing": "must be a whole number",
    "float_type": "must be a number", "float_parsing": "must be a number",
    "finite_number": "must be a finite number",
    "bool_type": "must be true or false", "bool_parsing": "must be true or false",
    "dict_type": "must be a table", "model_type": "must be a table", "model_attributes_type": "must be a table",
    "list_type": "must be a list in square brackets", "tuple_type": "must be a list in square brackets",
    "too_short": "has too few entries", "too_long": "has too many entries",
    "string_too_short": "must not be empty", "string_too_long": "is too long",
}


def dotted(path: Where) -> str:
    """Return a path as a person reads it: part.rail.length, stage[1].joints; positions count from 1."""
    text = ""
    for step in path[:8]:
        if isinstance(step, int):
            text += f"[{step + 1}]"
        else:
            text += ("." if text else "") + shown(step, quoted=False)
    return text


def shown(value: object, *, quoted: bool = True) -> str:
    """Return a value as it may be printed: one line, no control characters, cut short."""
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int) and abs(value) >= 10**18:
        return "a very large number"
    text = value[:SHOWN + 1] if isinstance(value, str) else str(value)
    text = printable(text)
    text = text if len(text) <= SHOWN else text[:SHOWN] + "…"
    return f'"{text}"' if quoted and isinstance(value, str) and not isinstance(value, Said) else text


def printable(text: str) -> str:
    """Return text with every control character replaced, at most 1000 characters of it."""
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text[:1000])


def listed(names: Sequence[str]) -> str:
    """Return names as a list a person reads, cut short."""
    quoted = any("," in n for n in names)
    text = ", ".join(shown(n, quoted=quoted) for n in names[:LISTED])
    return text if len(names) <= LISTED else f"{text} … ({len(names)} in all)"


def by_likeness(value: object, names: Sequence[str]) -> Sequence[str]:
    """Return names with those that share a word with what was given first, where there are too many to list."""
    if len(names) <= LISTED or not isinstance(value, str):
        return names
    words = set(re.findall(r"[^\W_]{3,}", value[:SHOWN].casefold()))
    return sorted(names, key=lambda n: -len(words & set(re.findall(r"[^\W_]{3,}", n.casefold()))))


def nearest(word: str, names: Sequence[str]) -> str:
    """Return the name most likely meant by a misspelt word; empty when none is near."""
    if len(word) > SHOWN or not word.strip():
        return ""
    plain = {_plain(n): n for n in reversed(names[:2000])}
    if _plain(word) in plain:
        return plain[_plain(word)]
    inside = [n for n in plain if len(word) > 3 and n.startswith(_plain(word))]
    if len(inside) == 1:
        return plain[inside[0]]
    near = difflib.get_close_matches(_plain(word), plain, n=1, cutoff=0.6)
    return plain[near[0]] if near else ""


def _plain(word: str) -> str:
    return "".join(c for c in word.casefold() if c.isalnum() or c in "/.")
