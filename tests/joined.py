"""Two pieces joined on their own: how joints are tried without a whole structure around them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from model.design import Design
from model.draft import Draft
from model.frames import Frame, X, Z, turn
from model.joint import Joint
from model.part import Blank
from model.solids import Solid


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
