"""The shapes a blank can have: one file a kind, one line here."""

from __future__ import annotations

from model.shapes.board import BOARD
from model.shapes.curved_band import CURVED_BAND
from model.shapes.mesh import MESH
from model.shapes.mitred_board import MITRED_BOARD
from model.shapes.shape import Shape
from model.shapes.tapered_leg import TAPERED_LEG

SHAPES: dict[str, Shape] = {s.name: s for s in (BOARD, MITRED_BOARD, CURVED_BAND, TAPERED_LEG, MESH)}
