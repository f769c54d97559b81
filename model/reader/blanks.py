"""Blanks as the file's parts ask for them: out of their stock, in their shape, sawn to a curve where they say so."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from model.errors import SolidError
from model.frames import Frame, frame_of
from model.part import LEAST_SIZE, Blank, Feature
from model.reader.crossing import crossing
from model.reader.lines import Where
from model.reader.meshes import mesh_of
from model.reader.problems import Problems
from model.reader.schema import CurveTable, MeshTable, PartTable, Refused, SegmentTable, sizes_of
from model.reader.tables import Tables
from model.shapes import SHAPES
from model.shapes.curve import curve_feature
from model.stock import Stock
from model.units import show

LEAST_MESH = 5.0
"""Nor is a mesh whose longest side is shorter than this in the right unit, mm: metres read as millimetres are."""
LEAST_MITRE = math.radians(1.0)
"""A ring segment's ends lean at least this much, rad: a ring of 180 pieces."""


@dataclass(frozen=True, eq=False)
class Sawn:
    """A blank, and the features that belong to no joint."""

    blank: Blank
    features: tuple[Feature, ...] = ()


@dataclass(frozen=True)
class Bench:
    """Where blanks are made: the file's tables, its stocks, its folder."""

    tables: Tables
    stocks: dict[str, Stock]
    folder: Path
    problems: Problems

    def sawn(self, name: str) -> Sawn | None:
        """Return a part's blank, or None with what is wrong noted at its table."""
        table, where = self.tables.parts[name], ("part", name)
        stock = self._stock(where, table)
        if stock is None:
            return None
        try:
            sizes = sizes_of(table)
            if isinstance(table, MeshTable):
                sizes |= mesh_of(table, self.folder, self.tables.unit)
            blank = SHAPES[str(table.shape)].blank(stock, sizes)
            _refuse_size(blank, table)
        except Refused as refused:
            key = (*where, "file") if isinstance(table, MeshTable) else where
            self.problems.add(key, str(refused), getattr(table, "file", None), refused.accepted)
            return None
        except (SolidError, ValueError, ArithmeticError) as error:
            self.problems.add(where, f"cannot be made: {error}")
            return None
        return self._curved(where, table, blank)

    def _stock(self, where: Where, table: PartTable) -> Stock | None:
        name, known, refused = table.stock, self.tables.stocks, self.tables.refused["stock"]
        if name is None and len(known) == 1 and not refused:
            name = next(iter(known))
        if name is None:
            self.problems.add((*where, "stock"), "is missing", accepted="the name of a [stock] table", among=known)
        elif name not in known and name not in refused:
            self.problems.add((*where, "stock"), "no such stock", name, among=known)
        return self.stocks.get(name or "")

    def _curved(self, where: Where, table: PartTable, blank: Blank) -> Sawn | None:
        curve = table.curve if isinstance(table, SegmentTable) else None
        if curve is None:
            return Sawn(blank)
        sizes = sizes_of(table)
        angle = sizes.get("start_angle", 0.0)
        if angle < LEAST_MITRE or abs(angle - sizes.get("end_angle", 0.0)) > 1e-9:
            self.problems.add((*where, "curve"), "needs a ring segment: both ends cut at the same angle",
                              accepted="start_angle and end_angle alike, 1 degree or more")
            return None
        radius = blank.length / (2.0 * math.tan(angle))
        if not self._has_room((*where, "curve"), curve, blank, radius, angle):
            return None
        centre: Frame = frame_of((blank.length / 2, -radius, 0.0), (0, 0, 1), (1, 0, 0))
        feature = curve_feature(blank, centre, curve.outer_radius, curve.inner_radius, 2.0 * angle, after=curve.after)
        return Sawn(blank, (feature,))

    def _has_room(self, where: Where, curve: CurveTable, blank: Blank, radius: float, angle: float) -> bool:
        """Whether the band lies within the board; the middle of the board lies on `radius` (mm) at mid length."""
        most, least = radius + blank.width / 2, (radius - blank.width / 2) / math.cos(angle)
        unit, before = self.tables.unit, len(self.problems)
        if not 0 < curve.inner_radius < curve.outer_radius:
            self.problems.add((*where, "inner_radius"), "leaves no wood", show(curve.inner_radius, unit),
                              f"less than the outer radius, {show(curve.outer_radius, unit)}")
        elif curve.outer_radius > most + 1e-6:
            self.problems.add((*where, "outer_radius"), "runs out of the board", show(curve.outer_radius, unit),
                              f"at most {show(most, unit)}")
        elif curve.inner_radius < least - 1e-6:
            self.problems.add((*where, "inner_radius"), "runs out of the board", show(curve.inner_radius, unit),
                              f"at least {show(least, unit)}")
        return len(self.problems) == before


def _refuse_size(blank: Blank, table: PartTable) -> None:
    """Raise Refused for what is too small, or too tangled, to be a piece of wood."""
    low, high = blank.solid.bounds
    sides = (high - low).tolist()
    told = f"{' x '.join(f'{side:.4g}' for side in sides)} mm"
    if not isinstance(table, MeshTable):
        if min(sides) < LEAST_SIZE:
            raise Refused(f"is no piece of wood: {told}", f"at least {LEAST_SIZE:g} mm in every direction")
        return
    if min(sides) < LEAST_SIZE or max(sides) < LEAST_MESH:
        raise Refused(f"is no piece of wood: {told}", f"at least {LEAST_SIZE:g} mm in every direction and "
                      f'{LEAST_MESH:g} mm in one; file_unit = "m" where the numbers in the file are metres')
    if (spot := crossing(blank.solid)) is not None:
        near = ", ".join(f"{side:.1f}" for side in spot)
        raise Refused(f"crosses itself near {near} mm of its own axes", "a mesh whose faces meet at their edges only")
