"""What hypothesis draws from: rigid frames, boxes, tenoned pairs, small frames; and parts set down by hand.

Sizes stay where a workshop's sizes are: pieces of 5 to 400 mm, placed within a few metres.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from hypothesis import strategies as st
from hypothesis.strategies import SearchStrategy

from assembly.placing import Assembly
from model.design import Design
from model.draft import Draft
from model.frames import Frame, frame_of, identity, move, snapped, turn
from model.part import Blank, Part
from model.shapes.board import board, board_places
from model.solids import Solid, box
from model.stock import Stock, species

WOOD = species()["Western redcedar"]
POST = Stock("post", WOOD, 90.0, 90.0)
RAIL = Stock("rail", WOOD, 40.0, 90.0)


def lengths(low: float, high: float) -> SearchStrategy[float]:
    """Lengths in mm, to a tenth, as they are measured."""
    return st.integers(round(low * 10), round(high * 10)).map(lambda n: n / 10)


@st.composite
def rigid_frames(draw: st.DrawFn, reach: float = 3000.0) -> Frame:
    """A turn about any axis and a move of up to `reach` mm each way."""
    axis = np.array([draw(st.integers(-5, 5)) for _ in range(3)], dtype=np.float64)
    axis = axis if np.any(axis) else np.array([0.0, 0.0, 1.0])
    angle = draw(st.integers(-180, 180)) * np.pi / 180.0
    return snapped(move(*(draw(lengths(-reach, reach)) for _ in range(3))) @ turn(axis, angle))


@st.composite
def boxes(draw: st.DrawFn, least: float = 5.0, most: float = 400.0) -> Solid:
    """A box with one corner at the origin."""
    return box((0, 0, 0), tuple(draw(lengths(least, most)) for _ in range(3)))


def piece(name: str, solid: Solid) -> Part:
    """A part of any solid, its grain along x."""
    length, width, thickness = (float(v) for v in solid.bounds[1] - solid.bounds[0])
    stock = Stock("piece", WOOD, thickness, width)
    return Part(name, Blank("board", solid, length, width, thickness, stock, board_places(length, width, thickness)))


def set_down(pieces: Mapping[str, tuple[Solid, Frame]]) -> Assembly:
    """Solids set down by hand, no joints between them."""
    parts = tuple(piece(name, solid) for name, (solid, _) in pieces.items())
    return Assembly(Design("set down", parts, (), parts[0].name), {n: f for n, (_, f) in pieces.items()})


def side_by_side(one: Solid, other: Solid, frame: Frame) -> Assembly:
    """Two solids, the second carried by a frame."""
    return set_down({"one": (one, identity()), "other": (other, frame)})


def reordered(design: Design, order: Sequence[int]) -> Design:
    """The same design with its parts told in another order."""
    return replace(design, parts=tuple(design.parts[k] for k in order))


def upright(x: float, y: float) -> Frame:
    """The frame of a post that stands on the ground, its grain along the world's z."""
    return frame_of((x, y, 0.0), (0, 1, 0), (0, 0, 1))


@st.composite
def tenoned_pairs(draw: st.DrawFn) -> Design:
    """A post and a rail with one blind tenon, its sizes and its fit drawn."""
    sizes = {"thickness": draw(lengths(6, 20)), "width": draw(lengths(20, 70)), "depth": draw(lengths(10, 60))}
    return tenoned_pair(**sizes, fit=draw(st.sampled_from([0.0, 0.1, 0.25])))


def tenoned_pair(*, thickness: float = 12.0, width: float = 60.0, depth: float = 30.0, fit: float = 0.1) -> Design:
    """A post of 90 mm and a rail of 40 by 90 mm with one blind tenon: every figure known."""
    draft = Draft("pair")
    draft.add("post", board(POST, 800.0), upright(0.0, 0.0))
    draft.add("rail", board(RAIL, 500.0), frame_of((45.0, 0.0, 400.0), (0, 1, 0), (1, 0, 0)))
    draft.join_at("tie", "blind tenon", "rail", "post", frame_of((45.0, 0.0, 400.0), (-1, 0, 0), (0, 0, 1)), fit=fit,
                  sizes={"thickness": thickness, "width": width, "depth": depth})
    return draft.finish()


@st.composite
def small_frames(draw: st.DrawFn) -> Design:
    """Two to four posts in a row, tied by rails at one or two levels."""
    posts = draw(st.integers(2, 4))
    spans = [draw(lengths(200, 900)) for _ in range(posts - 1)]
    levels = draw(st.lists(st.sampled_from([150.0, 330.0, 550.0]), min_size=1, max_size=2, unique=True))
    return row_of_posts(spans, levels, depth=draw(lengths(12, 40)), fit=draw(st.sampled_from([0.0, 0.1])))


def row_of_posts(spans: Sequence[float], levels: Sequence[float], *, depth: float = 25.0, fit: float = 0.1) -> Design:
    """Posts in a row, `spans` mm apart from middle to middle, tied by tenoned rails at the levels."""
    draft = Draft("row")
    at = np.concatenate([[0.0], np.cumsum(spans)])
    for k, x in enumerate(at):
        draft.add(f"post_{k}", board(POST, 700.0), upright(float(x), 0.0))
    for k, (left, right) in enumerate(pairwise(at.tolist())):
        for n, level in enumerate(levels):
            rail, start, end = f"rail_{k}_{n}", left + 45.0, right - 45.0
            draft.add(rail, board(RAIL, end - start), frame_of((start, 0, level), (0, 1, 0), (1, 0, 0)))
            for side, x, way, post in (("start", start, -1, k), ("end", end, 1, k + 1)):
                draft.join_at(f"{rail}_{side}", "blind tenon", rail, f"post_{post}",
                              frame_of((x, 0, level), (way, 0, 0), (0, 0, 1)), fit=fit,
                              sizes={"thickness": 12.0, "width": 60.0, "depth": depth})
    return draft.finish()
