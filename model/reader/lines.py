"""Where everything stands in a design file: the line of every key, found by tree-sitter.

A spot (Where) is a tuple of keys and 0-based positions in lists, as the values are nested:
("part", "rail", "length"), ("stage", 0, "joints", 2). Lines are 1-based.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import tree_sitter_toml
from tree_sitter import Language, Node, Parser

Where = tuple[str | int, ...]

DEEPEST = 40
"""Lines are not looked for below so many levels: no design goes so deep, and the work grows as its square."""

_KEYS = {"bare_key", "quoted_key", "dotted_key"}
_MARKS = {"[", "]", "[[", "]]", "{", "}", ",", "=", "comment"}


@dataclass(frozen=True)
class Twice:
    """A key that stands in the file a second time: its path, this line, the line of the first."""

    path: Where
    line: int
    first: int


@dataclass(frozen=True)
class Span:
    """Where a value stands: from this byte of the text's UTF-8 to before that one, and what it is in TOML's grammar."""

    start: int
    end: int
    grammar: str


@dataclass
class Lines:
    """The lines of a file's keys, where their values stand, what is given twice, and the first spot that cannot be
    TOML (line, column)."""

    line: dict[Where, int] = field(default_factory=dict)
    value: dict[Where, Span] = field(default_factory=dict)
    twice: list[Twice] = field(default_factory=list)
    broken: tuple[int, int] | None = None

    def of(self, path: Where) -> int | None:
        """Return the line of a path, or of the nearest table around it; None for the file as a whole."""
        for end in range(len(path), 0, -1):
            if (line := self.line.get(path[:end])) is not None:
                return line
        return None


def lines_of(text: str) -> Lines:
    """Return the lines of a TOML text; a text with mistakes gives the lines that can be made out."""
    tree = Parser(Language(tree_sitter_toml.language())).parse(text.encode())
    return _Walk(tree.root_node).lines


class _Walk:
    """One pass over the tree, without recursion: a file may nest as deep as it likes."""

    def __init__(self, root: Node) -> None:
        self.lines = Lines(broken=_first_error(root))
        self.given: dict[Where, int] = {}
        self.lists: dict[Where, int] = {}
        for node in root.children:
            if node.type == "pair":
                self._inside([(node, ())])
            elif node.type in ("table", "table_array_element"):
                self._table(node)

    def _table(self, node: Node) -> None:
        key = next((c for c in node.children if c.type in _KEYS), None)
        if key is None:
            return
        path = self._resolved(tuple(names(key)))
        line = node.start_point.row + 1
        self._mark(path, line)
        if node.type == "table_array_element":
            index = self.lists.get(path, -1) + 1
            self.lists[path] = index
            path = (*path, index)
            self.lines.line[path] = line
        else:
            self._once(path, line)
        self._inside([(c, path) for c in node.children if c.type == "pair"])

    def _inside(self, waiting: list[tuple[Node, Where]]) -> None:
        waiting.reverse()
        while waiting:
            node, path = waiting.pop()
            if len(path) > DEEPEST:
                continue
            if node.type == "pair":
                self._pair(node, path, waiting)
            elif node.type == "inline_table":
                waiting.extend((c, path) for c in reversed(node.children) if c.type == "pair")
            elif node.type == "array":
                items = [c for c in node.children if c.type not in _MARKS]
                for index, item in enumerate(items):
                    self.lines.line[(*path, index)] = item.start_point.row + 1
                    self.lines.value[(*path, index)] = Span(item.start_byte, item.end_byte, item.type)
                waiting.extend((c, (*path, i)) for i, c in reversed(list(enumerate(items))))

    def _pair(self, node: Node, base: Where, waiting: list[tuple[Node, Where]]) -> None:
        kids = [c for c in node.children if c.type != "comment"]
        if not kids or kids[0].type not in _KEYS:
            return
        path = (*base, *names(kids[0]))
        line = node.start_point.row + 1
        for end in range(len(base) + 1, len(path) + 1):
            self.lines.line.setdefault(path[:end], line)
        self._once(path, line)
        self.lines.value.setdefault(path, Span(kids[-1].start_byte, kids[-1].end_byte, kids[-1].type))
        waiting.append((kids[-1], path))

    def _resolved(self, keys: tuple[str, ...]) -> Where:
        path: Where = ()
        for position, key in enumerate(keys):
            path = (*path, key)
            if path in self.lists and position < len(keys) - 1:
                path = (*path, self.lists[path])
        return path

    def _mark(self, path: Where, line: int) -> None:
        for end in range(1, len(path)):
            self.lines.line.setdefault(path[:end], line)
        self.lines.line[path] = line

    def _once(self, path: Where, line: int) -> None:
        if path in self.given:
            self.lines.twice.append(Twice(path, line, self.given[path]))
        else:
            self.given[path] = line


def names(key: Node) -> Iterator[str]:
    """Yield the parts of a dotted, quoted or bare key, as TOML reads them."""
    waiting = [key]
    while waiting:
        node = waiting.pop()
        if node.type == "dotted_key":
            waiting.extend(reversed(node.children))
        elif node.type == "bare_key":
            yield (node.text or b"").decode()
        elif node.type == "quoted_key":
            yield _unquoted((node.text or b"").decode())


def _unquoted(text: str) -> str:
    try:
        read: dict[str, Any] = tomllib.loads(f"{text} = 0")
    except tomllib.TOMLDecodeError:
        return text
    return next(iter(read))


def _first_error(root: Node) -> tuple[int, int] | None:
    waiting = [root]
    while waiting:
        node = waiting.pop()
        if node.is_error or node.is_missing:
            return node.start_point.row + 1, node.start_point.column + 1
        if node.has_error:
            waiting.extend(reversed(node.children))
    return None
