"""3MF: a zip with one model in XML, its own unit, z up; every mesh that the build places is one piece.

Read here with what Python brings along, not by the mesh library: that needs another library for XML, and neither
bounds what a zip blows up to. The XML may define no entities. Format: 3MF Core Specification 1.3, 3MF Consortium.
"""

from __future__ import annotations

import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path
from typing import NoReturn
from xml.parsers import expat

import numpy as np

from model.frames import Frame, identity
from model.progress import Progress
from model.reader.pieces.body import Body, Refusal
from model.reader.pieces.limits import PIECES_MOST, TOTAL_MOST, whole

ACCEPTED = "a whole 3MF file with one model in it"
XML_MOST = 400_000_000
"""The model in the zip may not be larger than this when it is unpacked, bytes."""
CHUNK = 1 << 20
DEEP = 32
"""Objects made of objects no deeper than this."""
UNITS = {"millimeter": "mm", "centimeter": "cm", "inch": "in", "foot": "ft", "meter": "m", "micron": "micron"}
MODEL = "3d/3dmodel.model"
SPACE = " "
CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"


@dataclass
class _Object:
    name: str
    kind: str
    corners: list[tuple[float, float, float]] = field(default_factory=list)
    triangles: list[tuple[int, int, int]] = field(default_factory=list)
    made_of: list[tuple[str, Frame]] = field(default_factory=list)


@dataclass
class _Model:
    """What the XML has said so far."""

    unit: str = "millimeter"
    objects: dict[str, _Object] = field(default_factory=dict)
    build: list[tuple[str, Frame, str]] = field(default_factory=list)
    open: _Object | None = None
    triangles: int = 0

    def start(self, tag: str, said: Mapping[str, str]) -> None:
        space, _, word = tag.rpartition(SPACE)
        takes = getattr(self, f"_{word}", None) if space == CORE and word in _TAKEN else None
        if takes is not None:
            takes(said)

    def _model(self, said: Mapping[str, str]) -> None:
        self.unit = said.get("unit", self.unit)

    def _object(self, said: Mapping[str, str]) -> None:
        self.open = _Object(said.get("name", ""), said.get("type", "model"))
        self.objects[said["id"]] = self.open
        if len(self.objects) > 2 * PIECES_MOST:
            raise Refusal("", f"holds more than {2 * PIECES_MOST:,} objects", f"at most {2 * PIECES_MOST:,}")

    def _vertex(self, said: Mapping[str, str]) -> None:
        if self.open is not None:
            self.open.corners.append((float(said["x"]), float(said["y"]), float(said["z"])))
            if len(self.open.corners) > 3 * TOTAL_MOST:
                raise Refusal(self.open.name, "holds more corners than triangles need", f"at most {3 * TOTAL_MOST:,}")

    def _triangle(self, said: Mapping[str, str]) -> None:
        if self.open is not None:
            self.open.triangles.append((int(said["v1"]), int(said["v2"]), int(said["v3"])))
            self.triangles += 1
            if self.triangles > TOTAL_MOST:
                raise Refusal("", f"holds more than {TOTAL_MOST:,} triangles", f"at most {TOTAL_MOST:,}")

    def _component(self, said: Mapping[str, str]) -> None:
        if self.open is not None:
            self.open.made_of.append((_own(said), _placing(said.get("transform", ""))))

    def _item(self, said: Mapping[str, str]) -> None:
        self.build.append((_own(said), _placing(said.get("transform", "")), said.get("partnumber", "")))


_TAKEN = frozenset({"model", "object", "vertex", "triangle", "component", "item"})


def bodies(path: Path, progress: Progress) -> tuple[list[Body], str | None]:
    """Return the pieces of a 3MF and its unit. Raises Refusal."""
    model = _parsed(whole(path, ACCEPTED), progress)
    if model.unit not in UNITS:
        raise Refusal("", f"has the unit {model.unit[:40]!r}", ", ".join(UNITS))
    found: list[Body] = []
    for number, placing, called in model.build:
        for name, one, frame, key in _expanded(model, number, placing, ()):
            if len(found) == PIECES_MOST:
                raise Refusal("", f"holds more than {PIECES_MOST:,} pieces", f"at most {PIECES_MOST:,}")
            corners = np.array(one.corners, dtype=np.float64).reshape(-1, 3)
            triangles = np.array(one.triangles, dtype=np.int64).reshape(-1, 3)
            found.append(Body(name or called, corners, triangles, frame, key))
    return found, UNITS[model.unit]


def _expanded(model: _Model, number: str, placing: Frame, above: tuple[str, ...]
              ) -> Iterator[tuple[str, _Object, Frame, str]]:
    """Give the meshes that an object consists of, in place: their names, themselves, where, and their numbers."""
    one = model.objects.get(number)
    if one is None or number in above or len(above) >= DEEP:
        raise Refusal("", f"places object {number[:40]!r}, which is not there or made of itself", ACCEPTED)
    if one.kind in ("support", "solidsupport", "other"):
        return
    if one.triangles or not one.made_of:
        yield one.name, one, placing, number
    for inner, inside in one.made_of:
        yield from _expanded(model, inner, placing @ inside, (*above, number))


def _own(said: Mapping[str, str]) -> str:
    if any(name.rpartition(SPACE)[2] == "path" for name in said):
        raise Refusal("", "has objects in further files of the package", "3MF with all objects in one model")
    return said["objectid"]


def _placing(text: str) -> Frame:
    """Return the 4x4 for twelve numbers, which carry rows of coordinates: the last three are the shift."""
    if not text:
        return identity()
    rows = np.array([float(word) for word in text.split()[:13]]).reshape(4, 3)
    frame = np.eye(4)
    frame[:3] = rows.T
    return frame


def _parsed(raw: bytes, progress: Progress) -> _Model:
    model = _Model()
    parser = expat.ParserCreate(namespace_separator=SPACE)
    parser.StartElementHandler = model.start
    parser.StartDoctypeDeclHandler = _no_doctype
    try:
        with zipfile.ZipFile(BytesIO(raw)) as package:
            entry = _entry(package)
            if entry.file_size > XML_MOST:
                raise Refusal("", f"unpacks to {entry.file_size:,} bytes", f"at most {XML_MOST:,}")
            with package.open(entry) as text:
                _feed(parser, text, max(1, entry.file_size), progress)
    except Refusal:
        raise
    except Exception:  # whatever a broken file makes zip and XML stumble over
        raise Refusal("", "cannot be read as 3MF", ACCEPTED) from None
    return model


def _feed(parser: expat.XMLParserType, text: object, size: int, progress: Progress) -> None:
    unpacked = 0
    while chunk := text.read(CHUNK):  # type: ignore[attr-defined]
        unpacked += len(chunk)
        if unpacked > XML_MOST:
            raise Refusal("", "unpacks to more than it announces", f"at most {XML_MOST:,} bytes")
        parser.Parse(chunk, False)
        progress("reading the meshes", min(0.9, 0.9 * unpacked / size))
    parser.Parse(b"", True)


def _entry(package: zipfile.ZipFile) -> zipfile.ZipInfo:
    models = [e for e in package.infolist() if e.filename.lower().endswith(".model")]
    first = [e for e in models if e.filename.lower().lstrip("/") == MODEL]
    if len(first or models) != 1:
        raise Refusal("", f"holds {len(models)} models", ACCEPTED)
    return (first or models)[0]


def _no_doctype(*_said: object) -> NoReturn:
    raise Refusal("", "defines entities of its own", "XML without a document type")
