"""What may stand in a design file: one frozen pydantic model a table, unknown keys forbidden.

Lengths and angles are read in the file's unit (validation context "unit"). The keys of
parts and joints follow from their shape and kind: those models are made here from the
registries, once each.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import cache
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, StrictBool, StrictStr, create_model

from model.joints import KINDS
from model.shapes import SHAPES
from model.units import Angle, Length, Size

PARTS_MOST = 5_000
"""A design has no more parts than this, patterns and families included."""
JOINTS_MOST = 20_000
"""Nor more joints than this."""
PATTERNS_MOST = 200
STAGES_MOST = 1_000
PINS_MOST = 100
FLUSH_MOST = 5_000
NAME_MOST = 40
TITLE_MOST = 100
FIT_MOST = 2.0
"""A joint with more clearance than this per side, mm, is no joint (common practice, no source)."""
MOISTURE_MOST = 30
"""From about here on wood swells no further, %: its fibres are saturated (Wood Handbook, ch. 4; from memory)."""

NAME_ACCEPTED = f"letters, digits, _ and -, at most {NAME_MOST}, beginning with a letter or a digit"
GRAIN_ACCEPTED = '"x", "y", "z", or a direction such as [1, 0, 0.5] in the mesh file\'s own axes'
END_ACCEPTED = 'a part and one of its places, such as "rail.end"'
FACES_ACCEPTED = 'two places on two parts, such as ["leg.face", "arch.face"]'
_NAME = re.compile(rf"[^\W_][\w-]{{0,{NAME_MOST - 1}}}")


class Refused(ValueError):
    """A value that is not taken, with what would be."""

    def __init__(self, message: str, accepted: str) -> None:
        self.accepted = accepted
        super().__init__(message)


class NotAWord(Refused):
    """A word that is not one of those taken, with these."""

    def __init__(self, message: str, among: tuple[str, ...]) -> None:
        super().__init__(message, "")
        self.among = among


def is_name(text: str) -> bool:
    """Return whether a text can name a part, a joint or a stock."""
    return _NAME.fullmatch(text) is not None


def _title(text: str) -> str:
    if not text.strip() or len(text) > TITLE_MOST or not text.isprintable():
        raise Refused("not a title", f"one printable line of at most {TITLE_MOST} characters")
    return text.strip()


def _line(text: str) -> str:
    if len(text) > 4 * TITLE_MOST or not text.isprintable():
        raise Refused("not one line of text", f"one printable line of at most {4 * TITLE_MOST} characters")
    return text.strip()


def _stage_name(text: str) -> str:
    if not text.strip() or len(text) > NAME_MOST or not text.isprintable() or "*" in text:
        raise Refused("not a name for a stage", f"printable text of at most {NAME_MOST} characters, without *")
    return text.strip()


def _end(value: object) -> tuple[str, str]:
    part, dot, place = value.partition(".") if isinstance(value, str) else ("", "", "")
    if not dot or not is_name(part.strip()) or not is_name(place.strip()):
        raise Refused("not a place on a part", END_ACCEPTED)
    return part.strip(), place.strip()


def _pair(value: object) -> object:
    if not isinstance(value, list) or len(value) != 2:
        raise Refused("not two places", FACES_ACCEPTED)
    return tuple(value)


def _apart(ends: tuple[tuple[str, str], tuple[str, str]]) -> tuple[tuple[str, str], tuple[str, str]]:
    if ends[0][0] == ends[1][0]:
        raise Refused("two faces of one part", FACES_ACCEPTED)
    return ends


def _fit(mm: float) -> float:
    if not 0.0 <= mm <= FIT_MOST:
        raise Refused("not a clearance", f"a length from 0 to {FIT_MOST:g} mm")
    return mm


def _grain(value: Any) -> tuple[float, float, float]:
    if isinstance(value, str) and value in ("x", "y", "z"):
        return (float(value == "x"), float(value == "y"), float(value == "z"))
    good = isinstance(value, list) and len(value) == 3 and all(
        isinstance(v, int | float) and not isinstance(v, bool) and abs(v) <= 1e6 for v in value)
    if not good or not any(abs(v) > 1e-6 for v in value):
        raise Refused("not a direction", GRAIN_ACCEPTED)
    return float(value[0]), float(value[1]), float(value[2])


def _several(value: object) -> object:
    return tuple(value) if isinstance(value, list) else (value,) if isinstance(value, str) else value


Title = Annotated[StrictStr, AfterValidator(_title)]
Line = Annotated[StrictStr, AfterValidator(_line)]
StageName = Annotated[StrictStr, AfterValidator(_stage_name)]
End = Annotated[tuple[str, str], BeforeValidator(_end)]
Faces = Annotated[tuple[End, End], BeforeValidator(_pair), AfterValidator(_apart)]
Grain = Annotated[tuple[float, float, float], BeforeValidator(_grain)]
Fit = Annotated[Length, AfterValidator(_fit)]
Several = Annotated[tuple[StrictStr, ...], BeforeValidator(_several)]
Moisture = Annotated[float, Field(strict=True, ge=0, le=MOISTURE_MOST, allow_inf_nan=False)]


class Table(BaseModel):
    """A table of the file."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Stand(Table):
    """How the base part stands in the world."""

    lift: Length = Field(default=0.0, description="how high the base part's lowest corner lies above the ground")
    grain: Literal["level", "up", "down"] = Field(default="level", description="which way the base part's grain points")
    turn_angle: Angle = Field(default=0.0, description="turned about the upright, seen from above, degrees")
    tip_angle: Angle = Field(default=0.0, description="its end tipped up from where `grain` puts it, degrees")
    roll_angle: Angle = Field(default=0.0, description="turned about its own grain, degrees")


class StockTable(Table):
    """One kind of board."""

    species: StrictStr = Field(description="a species by its name in the table")
    nominal: StrictStr | None = Field(default=None, description='a nominal size such as "2x6"')
    thickness: Size | None = Field(default=None, description="the thickness it is milled to")
    width: Size | None = Field(default=None, description="the width it is milled to")
    length: Size | None = Field(default=None, description="how long the boards are")


class PatternTable(Table):
    """Copies of a part, or of several parts joined to each other, along a line or an arc."""

    part: Several = Field(description="the part to copy, or a list of parts")
    count: int = Field(strict=True, ge=1, le=PARTS_MOST, description=f"a whole number from 1 to {PARTS_MOST:,}")
    step: Length | None = Field(default=None,
        description="how far each copy lies past the one before, along the place's grain")
    step_across: Length | None = Field(default=None, description="the same, across the place")
    step_angle: Angle | None = Field(default=None,
        description="how far each copy is turned past the one before, degrees")
    centre_along: Length = Field(default=0.0, description="the centre of the arc, along the place")
    centre_across: Length = Field(default=0.0, description="the centre of the arc, across the place")
    against: Several = Field(default=(),
        description="joints whose place runs the other way: their copies step backwards")


class StageTable(Table):
    """One glue-up."""

    name: StageName = Field(description="what the stage is called")
    joints: Several = Field(description="the joints closed in it: names, a * standing for anything")
    after: Several = Field(default=(), description="the stages it must come after")


class PinTable(Table):
    """What the maker has decided on about the order."""

    name: StageName | None = Field(default=None, description="what the pin is called")
    together: Several = Field(default=(), description="joints, or parts, that close in one stage")
    first: Several = Field(default=(), description="joints, or parts, that close before those in `then`")
    then: Several = Field(default=(), description="joints, or parts, that close after those in `first`; all others "
                                                  "unless given")


class FlushTable(Table):
    """Two faces meant to lie in one plane."""

    faces: Faces = Field(description="the two faces meant to lie in one plane")


class Heading(Table):
    """The top of the file; its tables are read one by one."""

    dryfit: Literal[1] = Field(default=1, description="the version of this file layout: 1")
    name: Title = Field(description="what the design is called")
    says: Line = Field(default="", description="one line about it")
    unit: Literal["mm", "in"] = "mm"
    base: StrictStr | None = Field(default=None,
        description="the part that stands first, all others are placed from it")
    measured: Line | None = Field(default=None, description="a filled-in sheet in the folder of this file")
    stand: Any = None
    stock: Any = None
    shop: Any = None
    family: Any = None
    part: Any = None
    joint: Any = None
    pattern: Any = None
    stage: Any = None
    pin: Any = None
    flush: Any = None
    as_cut: Any = None


class PartTable(Table):
    """What every part may say, whatever its shape."""

    shape: Any = None
    stock: StrictStr | None = Field(default=None, description="the name of a [stock] table")
    leaves_after: StrictStr | None = Field(default=None,
        description="a temporary part: the stage after which it is taken away")
    group: Line | None = Field(default=None, description="what the set it belongs to is called")


class JointTable(Table):
    """What every joint may say, whatever its kind."""

    kind: Any = None
    start: End = Field(alias="from", description=END_ACCEPTED)
    into: End = Field(description=END_ACCEPTED)
    along: Length = Field(default=0.0, description="where on the `into` place, along it")
    across: Length = Field(default=0.0, description="where on the `into` place, across it")
    turn: Angle = Field(default=0.0, description="how the first part is turned about the joint's axis, degrees")
    from_along: Length = Field(default=0.0, description="where on the `from` place, along it")
    from_across: Length = Field(default=0.0, description="where on the `from` place, across it")
    fit: Fit = Field(default=0.1, description="clearance per side")
    glued: StrictBool | None = Field(default=None, description="true, or false for a dry joint")


SIZE = "size_"
"""The fields that belong to a shape or a kind begin with this; in the file they do not."""


class CurveTable(Table):
    """The curve a mitred ring segment is sawn to."""

    outer_radius: Size = Field(description="of the outside of the curve")
    inner_radius: Size = Field(description="of the inside of the curve")
    after: StrictStr | None = Field(default=None, description="the stage after whose glue-up it is sawn; before any "
                                                              "glue unless given")


class SegmentTable(PartTable):
    """What a mitred board may say beside its sizes."""

    curve: CurveTable | None = Field(default=None, description="a table with outer_radius, inner_radius and after")


class MeshTable(PartTable):
    """What a part out of a mesh file may say."""

    file: Line = Field(description="a mesh file in the folder of this file: .stl, .obj, .ply or .glb")
    file_unit: Literal["mm", "cm", "m", "in", "ft"] | None = Field(
        default=None, description="the unit of the numbers in the mesh file: mm, cm, m, in or ft")
    grain: Grain = Field(default=(1.0, 0.0, 0.0), description=GRAIN_ACCEPTED)


_BASES: dict[str, type[PartTable]] = {"mitred board": SegmentTable, "mesh": MeshTable}


@cache
def part_model(shape: str) -> type[PartTable]:
    """Return the model of a part of a shape."""
    kind = SHAPES[shape]
    base = _BASES.get(shape, PartTable)
    made: type[PartTable] = create_model(f"Part {shape}", __base__=base, **_fields(kind.sizes, {}, kind.required, Size))
    return made


@cache
def joint_model(kind: str) -> type[JointTable]:
    """Return the model of a joint of a kind."""
    found = KINDS[kind]
    fields = _fields(found.sizes, found.words, frozenset(), Length)
    made: type[JointTable] = create_model(f"Joint {kind}", __base__=JointTable, **fields)
    return made


def _fields(sizes: Mapping[str, str], words: Mapping[str, tuple[str, ...]], required: frozenset[str],
            length: Any) -> dict[str, Any]:
    fields: dict[str, Any] = {}
    for key, says in {**{k: f"one of {', '.join(w)}" for k, w in words.items()}, **sizes}.items():
        kind = _kind(key, words, length)
        default = ... if key in required else None
        fields[SIZE + key] = (kind if key in required else kind | None, Field(default, alias=key, description=says))
    return fields


def _kind(key: str, words: Mapping[str, tuple[str, ...]], length: Any) -> Any:
    if key in words:
        return Annotated[StrictStr, AfterValidator(_one_of(words[key]))]
    return Angle if key.endswith("_angle") else length


def _one_of(words: tuple[str, ...]) -> Callable[[str], str]:
    def chosen(word: str) -> str:
        if word not in words:
            raise NotAWord("not one of the words taken here", words)
        return word
    return chosen


def sizes_of(table: PartTable | JointTable) -> dict[str, Any]:
    """Return the sizes given in a part's or a joint's table, by their names in the file."""
    return {name.removeprefix(SIZE): getattr(table, name) for name in table.model_fields_set if name.startswith(SIZE)}
