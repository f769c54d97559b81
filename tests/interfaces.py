"""Interfaces of a TypeScript file, read simply, and data held against them: every key, nothing more, and its type."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

_TOKEN = re.compile(r'"[^"]*"|[A-Za-z_]\w*|\d+|[{}\[\]()|&;:,?=]')


class Interfaces:
    """The interfaces and types that a file declares, by name; a type is a pair: what it is, and what it is made of."""

    def __init__(self, file: Path) -> None:
        text = re.sub(r"/\*.*?\*/|//[^\n]*", "", file.read_text(encoding="utf-8"), flags=re.S)
        self._tokens = _TOKEN.findall(text)
        self._at = 0
        self.types: dict[str, Any] = {}
        while self._at < len(self._tokens):
            if self._take() != "export":
                continue
            word, name = self._take(), self._take()
            if word == "type":
                self._take("=")
                self.types[name] = self._type()
                self._take(";")
            elif word == "interface":
                self.types[name] = self._object()

    def _take(self, wanted: str | None = None) -> str:
        token = self._tokens[self._at]
        assert wanted in (None, token), f"{wanted} where {token} stands"
        self._at += 1
        return token

    def _next(self) -> str:
        return self._tokens[self._at]

    def _object(self) -> Any:
        self._take("{")
        fields: dict[str, Any] = {}
        while self._next() != "}":
            name = self._take()
            optional = self._next() == "?"
            if optional:
                self._take("?")
            self._take(":")
            fields[name] = ("optional" if optional else "needed", self._type())
            if self._next() in (";", ","):
                self._take()
        self._take("}")
        return ("object", fields)

    def _type(self) -> Any:
        of = [self._both()]
        while self._next() == "|":
            self._take("|")
            of.append(self._both())
        return of[0] if len(of) == 1 else ("union", of)

    def _both(self) -> Any:
        of = [self._one()]
        while self._next() == "&":
            self._take("&")
            of.append(self._one())
        return of[0] if len(of) == 1 else ("both", of)

    def _one(self) -> Any:
        token = self._next()
        if token == "{":
            made = self._object()
        elif token == "[":
            made = self._tuple()
        elif token == "(":
            self._take("(")
            made = self._type()
            self._take(")")
        else:
            self._take()
            made = ("literal", token.strip('"')) if token[0] == '"' else \
                ("literal", int(token)) if token.isdigit() else ("name", token)
        while self._next() == "[" and self._tokens[self._at + 1] == "]":
            self._at += 2
            made = ("list", made)
        return made

    def _tuple(self) -> Any:
        self._take("[")
        of = []
        while self._next() != "]":
            of.append(self._type())
            if self._next() == ",":
                self._take(",")
        self._take("]")
        return ("tuple", of)

    def problems(self, data: Any, name: str) -> list[str]:
        """Return where data is not what the type of that name says."""
        return self._held(data, ("name", name), name)

    def _held(self, data: Any, of: Any, where: str) -> list[str]:
        kind, inner = of
        if kind == "name" and inner in self.types:
            return self._held(data, self.types[inner], where)
        if kind == "object":
            return self._object_held(data, inner, where)
        if kind == "both":
            return self._object_held(data, {k: v for one in inner for k, v in self._fields(one).items()}, where)
        if kind in ("list", "tuple"):
            return self._list_held(data, kind, inner, where)
        if kind == "union":
            tried = [self._held(data, one, where) for one in inner]
            return [] if any(not found for found in tried) else min(tried, key=len)
        right = {"string": isinstance(data, str), "boolean": isinstance(data, bool), "null": data is None,
                 "number": isinstance(data, (int, float)) and not isinstance(data, bool)}
        good = right[inner] if kind == "name" else data == inner and type(data) is type(inner)
        return [] if good else [f"{where} is {data!r:.60}, not {inner}"]

    def _fields(self, of: Any) -> Mapping[str, Any]:
        kind, inner = of
        fields: Mapping[str, Any] = inner if kind == "object" else self._fields(self.types[inner])
        return fields

    def _object_held(self, data: Any, fields: Mapping[str, Any], where: str) -> list[str]:
        if not isinstance(data, dict):
            return [f"{where} is no object"]
        found = [f"{where}.{name} is not told of" for name in data.keys() - fields.keys()]
        for name, (need, of) in fields.items():
            if name in data:
                found += self._held(data[name], of, f"{where}.{name}")
            elif need == "needed":
                found.append(f"{where}.{name} is missing")
        return found

    def _list_held(self, data: Any, kind: str, of: Any, where: str) -> list[str]:
        if not isinstance(data, list):
            return [f"{where} is no list"]
        inner: Sequence[Any] = of if kind == "tuple" else [of] * len(data)
        if len(inner) != len(data):
            return [f"{where} has {len(data)} entries, not {len(inner)}"]
        return [p for k, (one, its) in enumerate(zip(data, inner, strict=True))
                for p in self._held(one, its, f"{where}[{k}]")]
