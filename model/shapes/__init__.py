"""The shapes a blank can have: one file a kind, one line here."""

from __future__ import annotations

from model.shapes.board import BOARD
from model.shapes.shape import Shape

SHAPES: dict[str, Shape] = {s.name: s for s in (BOARD,)}
