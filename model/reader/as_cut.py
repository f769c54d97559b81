"""The section of what was measured: tables by part, by joint on a part, and by board, each validated on its own.

[as_cut.parts.NAME], [as_cut.parts.NAME.joint.NAME], [as_cut.boards.NAME]; in the names of parts and joints a
* stands for any letters. What the names mean in a design is found out in model.reader.measured.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from pydantic import Field, StrictBool, StrictStr

from model.as_cut import Turned
from model.reader.lines import Where
from model.reader.problems import Problems
from model.reader.schema import JOINTS_MOST, NAME_ACCEPTED, PARTS_MOST, Table, is_name
from model.units import Angle, Length, Size

SECTION = "as_cut"
About = Literal["boards", "parts"]


class CutTable(Table):
    """What was measured of the cut that one joint makes on a part."""

    along: Length = Field(default=0.0, description="how far it is off its place, along it")
    across: Length = Field(default=0.0, description="how far it is off its place, across it")
    width: Size | None = Field(default=None, description="its long way, as cut")
    thickness: Size | None = Field(default=None, description="its short way, as cut")
    depth: Size | None = Field(default=None, description="how far it reaches, as cut")
    left_out: StrictBool = Field(default=False, description="true where it was never cut")


class PartAsCutTable(Table):
    """What was measured on a part."""

    length: Size | None = Field(default=None, description="on the centreline, without tenons, as cut")
    width: Size | None = Field(default=None, description="as cut")
    thickness: Size | None = Field(default=None, description="as cut")
    start_angle: Angle | None = Field(default=None, description="how far from square the start is, degrees")
    end_angle: Angle | None = Field(default=None, description="how far from square the end is, degrees")
    turned: Turned | None = Field(default=None, description="how it goes in the wrong way round")
    mirrored: StrictBool = Field(default=False, description="true where it was made as its mirror image, face for back")
    exchanged_with: StrictStr | None = Field(default=None, description="the part whose wood stands in its place")
    joint: Any = None


class BoardTable(Table):
    """What was measured on every part from one stock."""

    thickness: Size | None = Field(default=None, description="as milled")
    width: Size | None = Field(default=None, description="as milled")


@dataclass(frozen=True, eq=False)
class Entry:
    """One table: what it is about, the values in it (mm, radians), and where it stands in which file.

    `name` and `joint` are names, or such with a *; `joint` is None where the part itself was measured.
    """

    about: About
    name: str
    joint: str | None
    values: Mapping[str, Any]
    problems: Problems
    where: Where

    def note(self, key: str, message: str, value: object = None, accepted: str = "", *,
             among: tuple[str, ...] = ()) -> None:
        """Note a problem with the value of a key, with the table as a whole where the key is ""."""
        self.problems.add((*self.where, key) if key else self.where, message, value, accepted, among=among)


def entries_of(section: object, problems: Problems) -> list[Entry]:
    """Return the tables of a section that can be read, noting what is wrong with the others."""
    if not isinstance(section, dict):
        problems.add((SECTION,), "must be a table", section)
        return []
    for key in section:
        if key not in ("parts", "boards"):
            problems.add((SECTION, key), "no such key here", key, among=("parts", "boards"))
    return [*_boards(section.get("boards", {}), problems), *_parts(section.get("parts", {}), problems)]


def _boards(section: object, problems: Problems) -> Iterator[Entry]:
    for name, table in _named(section, (SECTION, "boards"), problems, PARTS_MOST):
        where: Where = (SECTION, "boards", name)
        if not is_name(name):
            problems.add(where, "cannot be the name of a stock", name, NAME_ACCEPTED)
        elif (board := problems.validated(where, table, BoardTable)) is not None:
            yield Entry("boards", name, None, _given(board), problems, where)


def _parts(section: object, problems: Problems) -> Iterator[Entry]:
    for name, table in _named(section, (SECTION, "parts"), problems, PARTS_MOST):
        where: Where = (SECTION, "parts", name)
        part = problems.validated(where, table, PartAsCutTable)
        if isinstance(table, dict):
            yield Entry("parts", name, None, _given(part) if part else {}, problems, where)
            yield from _cuts(name, table.get("joint", {}), (*where, "joint"), problems)


def _cuts(part: str, section: object, path: Where, problems: Problems) -> Iterator[Entry]:
    for name, table in _named(section, path, problems, JOINTS_MOST):
        if (cut := problems.validated((*path, name), table, CutTable)) is not None:
            yield Entry("parts", part, name, _given(cut), problems, (*path, name))


def _named(section: object, path: Where, problems: Problems, most: int) -> list[tuple[str, object]]:
    if not isinstance(section, dict):
        problems.add(path, "must hold tables by name", section)
        return []
    if len(section) > most:
        problems.add(path, f"holds {len(section):,} tables", accepted=f"at most {most:,}")
        return []
    return list(section.items())


def _given(table: Table) -> dict[str, Any]:
    return {key: getattr(table, key) for key in table.model_fields_set if key != "joint"}
