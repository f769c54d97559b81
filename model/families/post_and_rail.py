"""Post and rail: posts in a row or a grid, rails between neighbours at several levels, slats lapped over them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from pydantic import BaseModel

from model.design import StageSpec
from model.draft import Draft
from model.errors import DraftError
from model.families.options import PARTS_MOST, starter_text, stock_for
from model.families.post_and_rail_layout import END_MARGIN, PostFrame, Rail
from model.families.post_and_rail_options import PostAndRailOptions
from model.families.slats import lay_slats
from model.frames import X, Y, Z, frame_of
from model.joints.tenons import SHOULDER_LEAST
from model.shapes.board import board
from model.stock import Stock


def _check(frame: PostFrame) -> None:
    o = frame.o
    count = o.posts_along * o.posts_across + len(frame.rails)
    if count > PARTS_MOST:
        raise DraftError("posts_along", o.posts_along, f"a frame of at most {PARTS_MOST} parts, this one has {count}")
    if frame.rail.thickness > min(frame.post.thickness, frame.post.width):
        raise DraftError("rail_stock", frame.rail.name, "a stock no thicker than the posts are thick and wide")
    most = min(frame.rail.thickness, min(frame.post.thickness, frame.post.width) - 2 * SHOULDER_LEAST)
    if o.tenon_thickness is not None and o.tenon_thickness > most:
        raise DraftError("tenon_thickness", f"{o.tenon_thickness:.1f} mm", f"at most {most:.1f} mm with this stock")
    _check_levels("long_levels", frame.levels["along"], frame.section("along").width, frame)
    _check_levels("cross_levels", frame.levels["across"], frame.section("across").width, frame)
    for key, size, gap in (("length", o.length, np.diff(frame.at_x) - frame.post.thickness),
                           ("width", o.width, -np.diff(frame.at_y) - frame.post.width)):
        if len(gap) and gap.min() <= max(frame.post.thickness, frame.post.width):
            raise DraftError(key, f"{size:.1f} mm", "more room for rails between the posts than the posts are wide")


def _check_levels(key: str, levels: tuple[float, ...], tenon: float, frame: PostFrame) -> None:
    low, high = frame.rail.width / 2.0, frame.o.height - tenon / 2.0 - END_MARGIN / 2.0
    for z in levels:
        if not low - 1e-6 <= z <= high + 1e-6:
            raise DraftError(key, f"{z:.1f} mm", f"heights from {low:.1f} to {high:.1f} mm for these rails and posts")
    steps = np.diff(np.sort(levels))
    if len(steps) and steps.min() < frame.rail.width:
        raise DraftError(key, f"{steps.min():.1f} mm apart", "levels at least the width of a rail "
                         f"apart ({frame.rail.width:.1f} mm)")


def _posts(frame: PostFrame, draft: Draft) -> None:
    blank = board(frame.post, frame.o.height)
    for j, y in enumerate(frame.at_y):
        for i, x in enumerate(frame.at_x):
            draft.add(frame.name((i, j)), blank, frame_of((x, y, 0.0), -X, Z), group="post")


def _rails(frame: PostFrame, draft: Draft) -> dict[str, list[str]]:
    """Lay the rails between the posts; return their joints by the stage that closes them."""
    closes: dict[str, list[str]] = {}
    for rail in frame.rails:
        stage = "long rails" if rail.way == "along" else f"frame {rail.start[0] + 1}"
        closes.setdefault(stage, []).extend(_rail(frame, draft, rail))
    return closes


def _rail(frame: PostFrame, draft: Draft, rail: Rail) -> tuple[str, str]:
    ends = [np.array([frame.at_x[i], frame.at_y[j], rail.level]) for i, j in (rail.start, rail.end)]
    way = X if rail.way == "along" else -Y
    clear = frame.through(rail.way) / 2.0
    start, length = ends[0] + way * clear, float((ends[1] - ends[0]) @ way) - 2.0 * clear
    draft.add(rail.name, board(frame.rail, length), frame_of(start, np.cross(way, Z), way), group=rail.name[:-3])
    for word, post, at, out in (("start", rail.start, start, -way), ("end", rail.end, start + way * length, way)):
        kind, sizes = frame.tenon(rail.way, rail.level, post)
        draft.join_at(f"{rail.name}_{word}", kind, rail.name, frame.name(post), frame_of(at, out, Z), fit=frame.o.fit,
                      sizes=sizes)
    return f"{rail.name}_start", f"{rail.name}_end"


def _stages(closes: dict[str, list[str]], slats: list[str], draft: Draft) -> None:
    before = tuple(s for s in closes if s != "long rails")
    draft.stages = [StageSpec(s, tuple(closes[s])) for s in before]
    if "long rails" in closes:
        draft.stages.append(StageSpec("long rails", tuple(closes["long rails"]), before))
    if slats:
        draft.stages.append(StageSpec("slats", tuple(slats), tuple(s.name for s in draft.stages)))


@dataclass(frozen=True)
class _PostAndRail:
    name: str = "post and rail"
    says: str = "posts in a row or a grid, rails tenoned between them at several levels, slats lapped over the rails"
    options: type[BaseModel] = PostAndRailOptions

    @property
    def starter(self) -> str:
        return starter_text("post_and_rail")

    def draft(self, name: str, options: BaseModel, stock: Mapping[str, Stock]) -> Draft:
        if not isinstance(options, PostAndRailOptions):
            raise TypeError("not the options of a post-and-rail frame")
        frame = PostFrame(options, stock_for("post_stock", options.post_stock, stock),
                       stock_for("rail_stock", options.rail_stock, stock))
        _check(frame)
        draft = Draft(name)
        _posts(frame, draft)
        closes = _rails(frame, draft)
        slats = lay_slats(frame, draft, stock) if options.slats else []
        if options.stages:
            _stages(closes, slats, draft)
        draft.base = frame.name((0, 0))
        return draft


POST_AND_RAIL = _PostAndRail()
