"""What a pydantic model takes: its keys at a location, and in words what a field accepts."""

from __future__ import annotations

import types
import typing
from collections.abc import Iterator, Sequence
from typing import Any, Literal

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from model.units import ANGLE_ACCEPTED, LENGTH_ACCEPTED, Angle, Length, Size

Loc = Sequence[str | int]

_LENGTHS = [typing.get_args(Length)[1], typing.get_args(Size)[1]]
_ANGLES = [typing.get_args(Angle)[1]]
_TYPES = {str: "text in quotes", bool: "true or false", int: "a whole number", float: "a number"}


def keys_at(model: type[BaseModel], loc: Loc) -> tuple[str, ...]:
    """Return the keys a model takes at a location inside it."""
    return tuple(k for m in _models_at(model, loc) for k in _fields(m))


def field_at(model: type[BaseModel], loc: Loc) -> FieldInfo | None:
    """Return the field at a location inside a model; a position in a list counts as the list."""
    names = [i for i, step in enumerate(loc) if isinstance(step, str)]
    if not names:
        return None
    last = names[-1]
    return next((f for m in _models_at(model, loc[:last]) if (f := _fields(m).get(str(loc[last]))) is not None), None)


def accepts(model: type[BaseModel], loc: Loc) -> str:
    """Return in words what the field at a location accepts; its own description where it is of no plain kind."""
    field = field_at(model, loc)
    if field is None:
        return ""
    return _kind(field.annotation, field.metadata) or field.description or ""


Counted = Literal["length", "angle", "count", "number"]
"""What a field can hold that is a number to a person."""


def number_at(model: type[BaseModel], loc: Loc) -> Counted | None:
    """Return what number a field holds, itself or in each place of its list or table; None for words."""
    field = field_at(model, loc)
    if field is None and len(loc) > 1:
        field = field_at(model, loc[:-1])
        if field is None or not any(typing.get_origin(a) is dict for a in (field.annotation, *_inner(field))):
            return None
    return None if field is None else _counted(field.annotation, field.metadata)


def _inner(field: FieldInfo) -> tuple[Any, ...]:
    return typing.get_args(field.annotation)


def _counted(annotation: Any, metadata: Sequence[Any]) -> Counted | None:
    if any(m in _LENGTHS for m in metadata):
        return "length"
    if any(m in _ANGLES for m in metadata):
        return "angle"
    origin, inner = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is typing.Annotated:
        return _counted(inner[0], [*metadata, *inner[1:]])
    if origin is dict:
        return _counted(inner[1], ())
    if origin in (typing.Union, types.UnionType, tuple, list):
        return next((k for a in inner if a not in (type(None), ...) and (k := _counted(a, ()))), None)
    return "count" if annotation is int else "number" if annotation is float else None


def _kind(annotation: Any, metadata: Sequence[Any]) -> str:
    if any(m in _LENGTHS for m in metadata):
        return LENGTH_ACCEPTED
    if any(m in _ANGLES for m in metadata):
        return ANGLE_ACCEPTED
    origin = typing.get_origin(annotation)
    if origin is typing.Annotated:
        inner, *more = typing.get_args(annotation)
        return _kind(inner, [*metadata, *more])
    if origin in (typing.Union, types.UnionType):
        return next((k for a in typing.get_args(annotation) if a is not type(None) and (k := _kind(a, metadata))), "")
    if origin is Literal:
        return ", ".join(str(w) for w in typing.get_args(annotation))
    return _TYPES[annotation] + _bounds(metadata) if annotation in _TYPES else ""


def _bounds(metadata: Sequence[Any]) -> str:
    words = {"gt": " above", "ge": " from", "lt": " below", "le": " up to"}
    return "".join(f"{word} {value:,}" for key, word in words.items() for m in metadata
                   if (value := getattr(m, key, None)) is not None)


def _fields(model: type[BaseModel]) -> dict[str, FieldInfo]:
    return {f.alias or name: f for name, f in model.model_fields.items()}


def _models_at(model: type[BaseModel], loc: Loc) -> list[type[BaseModel]]:
    here = [model]
    for step in loc:
        if isinstance(step, str):
            found = [f for m in here if (f := _fields(m).get(step)) is not None]
            here = [m for f in found for m in _models_in(f.annotation)]
    return here


def _models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if typing.get_origin(annotation) is None and isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in typing.get_args(annotation):
        yield from _models_in(inner)
