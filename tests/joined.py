"""Two pieces joined on their own: how joints are tried without a whole structure around them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from model.design import Design
from model.draft import Draft
from model.frames import Frame, X, Z, move, turn
from model.joint import Joint
from model.joints import KINDS
from model.part import Blank
from model.shapes.board import board
from model.solids import Solid
from tests.zoo import milled

WIDTH, THICKNESS = 140.0, 40.0


def facing(frame: Frame, about: float = 0.0) -> Frame:
    """Return the seat of part b at a place: z into the wood, turned about it by an angle (rad)."""
    seat: Frame = frame @ turn(X, math.pi) @ turn(Z, about)
    return seat


def pair(kind: str, a: Blank, b: Blank, seat_a: Frame, seat_b: Frame, *, fit: float = 0.1,
         sizes: Mapping[str, Any] | None = None) -> Design:
    """Return a design of two parts "a" and "b" and the joint "j" between them."""
    draft = Draft("pair")
    draft.add("a", a)
    draft.add("b", b)
    draft.join("j", kind, "a", "b", seat_a, seat_b, fit=fit, sizes=sizes)
    return draft.finish()


def home(design: Design, joint: Joint) -> tuple[Solid, Solid]:
    """Return both finished parts of a joint where they stand when it is home, in a's frame."""
    return design.part[joint.a].finished, design.part[joint.b].finished.moved(joint.b_in_a)


def bite(one: Solid, other: Solid) -> float:
    """Return how deep two solids run into each other, mm: the thickness of the thickest piece they share.

    Thickness of a piece: twice its volume over its surface, right for thin ones.
    """
    shared = one.manifold ^ other.manifold
    return max((2.0 * piece.volume() / piece.surface_area() for piece in shared.decompose()
                if piece.surface_area() > 1e-9), default=0.0)


def sound(design: Design) -> None:
    """Assert that every part is one piece and that no two joined parts run into each other."""
    for part in design.parts:
        assert part.finished.pieces == 1, f"{part.name} is {part.finished.pieces} pieces"
    for joint in design.joints:
        deep = bite(*home(design, joint))
        assert deep < 1e-6, f"{joint.name}: {deep} mm deep"


def boards(width: float = WIDTH, thickness: float = THICKNESS, other: float | None = None) -> tuple[Blank, Blank]:
    """Return two boards, 500 and 900 mm long."""
    return (board(milled("a", thickness, width), 500.0),
            board(milled("b", thickness, width if other is None else other), 900.0))


def seats(kind: str, a: Blank, b: Blank, about: float = 0.0) -> tuple[Frame, Frame]:
    """Return seats for two boards joined as the kind usually is, moved into the wood as it asks."""
    if kind in ("half lap", "cross lap"):
        seat_a, seat_b = a.place("face", 250.0), facing(b.place("face", 450.0), math.pi / 2 + about)
    elif kind == "glued face":
        seat_a, seat_b = a.place("face", 250.0), facing(b.place("back", 450.0), about)
    elif kind == "housing":
        seat_a, seat_b = a.place("end"), facing(b.place("face", 450.0), math.pi / 2 + about)
    else:
        seat_a, seat_b = a.place("end"), facing(b.place("edge", 450.0), about)
    in_a, in_b = KINDS[kind].sink({}, a, b, seat_a, seat_b)
    return seat_a @ move(z=-in_a), seat_b @ move(z=in_b)


def usual(kind: str, *, fit: float = 0.1, about: float = 0.0, **sizes: object) -> Design:
    """Return the usual pair of boards joined by a kind."""
    a, b = boards()
    return pair(kind, a, b, *seats(kind, a, b, about), fit=fit, sizes=sizes)
