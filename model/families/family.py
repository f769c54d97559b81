"""What a family of structures must offer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from pydantic import BaseModel

from model.draft import Draft
from model.stock import Stock


class Family(Protocol):
    """A whole structure said in a few numbers: one file under model/families/, one line in its registry."""

    @property
    def name(self) -> str:
        """What a person writes in a design file ("arch gateway")."""

    @property
    def says(self) -> str:
        """One line: what it is."""

    @property
    def options(self) -> type[BaseModel]:
        """The options it takes: a frozen pydantic model, unknown keys forbidden, every field described."""

    @property
    def starter(self) -> str:
        """A commented design file, text, that rehearses cleanly: what `dryfit start` writes."""

    def draft(self, name: str, options: BaseModel, stock: Mapping[str, Stock]) -> Draft:
        """Return the structure on the drafting table, with its base part and its stages.

        Raises DraftError naming the option, its value and what would be accepted.
        """
        ...
