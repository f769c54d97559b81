"""What a kind of blank must offer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

from model.part import Blank
from model.stock import Stock


class Shape(Protocol):
    """A shape of blank: one file under model/shapes/, one line in its registry."""

    @property
    def name(self) -> str:
        """What a person writes in a design file."""

    @property
    def says(self) -> str:
        """One line: what it is."""

    @property
    def sizes(self) -> Mapping[str, str]:
        """The sizes that may be given, each with one line on its meaning; names ending in _angle are angles."""

    @property
    def required(self) -> frozenset[str]:
        """The sizes that must be given."""

    def blank(self, stock: Stock, sizes: Mapping[str, Any]) -> Blank:
        """Return the blank; SolidError with a sentence a maker understands when it cannot be made."""
        ...
