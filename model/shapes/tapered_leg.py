"""A straight leg that gets narrower, or wider, from its start to its end, alike on both sides."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from model.errors import SolidError
from model.frames import Frame, X, Y, frame_of
from model.part import Blank
from model.shapes.board import ripped
from model.solids import hull
from model.stock import Stock


def tapered_leg(stock: Stock, length: float, end_width: float | None = None, end_thickness: float | None = None, *,
                width: float | None = None, thickness: float | None = None) -> Blank:
    """Return a leg `length` mm long with its own width and thickness at each end; what is not given stays as it is."""
    w, t = ripped(stock, width, thickness)
    w_end, t_end = ripped(stock, w if end_width is None else end_width, t if end_thickness is None else end_thickness)
    if not length > 0:
        raise SolidError(f"a leg needs a length, not {length:.2f} mm")
    corners = [(x, i * a / 2, j * b / 2) for x, a, b in ((0.0, w, t), (length, w_end, t_end))
               for i in (-1, 1) for j in (-1, 1)]
    return Blank("tapered leg", hull(corners), length, max(w, w_end), max(t, t_end), stock,
                 _places(length, w, t, w_end, t_end))


def _places(length: float, w: float, t: float, w_end: float, t_end: float) -> dict[str, Frame]:
    """Return the six faces, the sloping ones with x down the slope from the middle of the start."""
    along_edge = np.array([length, (w_end - w) / 2, 0.0])
    along_face = np.array([length, 0.0, (t_end - t) / 2])
    flip_y, flip_z = np.array([1.0, -1.0, 1.0]), np.array([1.0, 1.0, -1.0])
    edge_out = np.array([-along_edge[1], length, 0.0])
    face_out = np.array([-along_face[2], 0.0, length])
    return {
        "start": frame_of((0, 0, 0), -X, Y),
        "end": frame_of((length, 0, 0), X, Y),
        "face": frame_of((0, 0, t / 2), face_out, along_face),
        "back": frame_of((0, 0, -t / 2), face_out * flip_z, along_face * flip_z),
        "edge": frame_of((0, w / 2, 0), edge_out, along_edge),
        "far_edge": frame_of((0, -w / 2, 0), edge_out * flip_y, along_edge * flip_y),
    }


@dataclass(frozen=True)
class _TaperedLeg:
    name: str = "tapered leg"
    says: str = "a straight leg that gets narrower from its start to its end, alike on both sides"
    sizes: Mapping[str, str] = field(default_factory=lambda: {
        "length": "along its middle, from start to end",
        "width": "at the start; its stock's unless given",
        "thickness": "at the start; its stock's unless given",
        "end_width": "at the end; as at the start unless given",
        "end_thickness": "at the end; as at the start unless given",
    })
    required: frozenset[str] = frozenset({"length"})

    def blank(self, stock: Stock, sizes: Mapping[str, Any]) -> Blank:
        return tapered_leg(stock, sizes["length"], sizes.get("end_width"), sizes.get("end_thickness"),
                           width=sizes.get("width"), thickness=sizes.get("thickness"))


TAPERED_LEG = _TaperedLeg()
