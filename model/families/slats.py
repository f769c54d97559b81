"""Slats of a post-and-rail frame: flat boards crossing its rails, lapped or housed into them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from model.draft import Draft
from model.errors import DraftError
from model.families.options import PARTS_MOST, stock_for
from model.families.post_and_rail_layout import PostFrame, Rail
from model.frames import Vector, X, Y, Z, frame_of
from model.shapes.board import board
from model.stock import Stock

GAP_LEAST = 2.0
"""Least room beside a slat, mm, so that none rubs on its neighbour (common practice, no source)."""
RAIL_LEFT = 0.5
"""At least this share of a rail, or a slat, stays where one is let into the other (common practice, no source)."""


@dataclass(frozen=True)
class _Bay:
    """A bay between neighbouring posts, mm: from, to, and the rails its slats cross with where along the slat."""

    low: float
    high: float
    crosses: tuple[tuple[float, Rail], ...]


@dataclass(frozen=True)
class _Run:
    """How slats lie: `way` along them, `beside` from one to the next, `out` of the rails they are let into.

    `surface` is the rails' surface and `depth` their size along `out`, `half` half their size
    along `way`, mm.
    """

    way: Vector
    beside: Vector
    out: Vector
    surface: float
    depth: float
    half: float
    bays: tuple[_Bay, ...]


def lay_slats(frame: PostFrame, draft: Draft, stock: Mapping[str, Stock]) -> list[str]:
    """Lay the slats over the rails and return the names of their joints; DraftError where they have no room."""
    o, slat = frame.o, stock_for("slat_stock", frame.o.slat_stock, stock)
    run = {"along": _along, "across": _across, "up": _up}[o.slats_run](frame)
    sink = slat.thickness / 2.0 if o.slat_sink is None else o.slat_sink
    _check(frame, run, slat, sink)
    spots = [(bay, beside) for bay in run.bays for beside in _spread(bay, slat.width, o.slats)]
    names: list[str] = []
    for number, (bay, beside) in enumerate(spots, 1):
        name, line = f"slat_{number:02d}", run.beside * beside
        low = min(at for at, _ in bay.crosses) - run.half - o.slat_overhang
        high = max(at for at, _ in bay.crosses) + run.half + o.slat_overhang
        start = run.way * low + line + run.out * (run.surface - sink + slat.thickness / 2.0)
        draft.add(name, board(slat, high - low), frame_of(start, run.out, run.way), group="slat")
        names += _joints(frame, draft, name, run, bay, line, sink)
    return names


def _joints(frame: PostFrame, draft: Draft, slat: str, run: _Run, bay: _Bay, line: Vector, sink: float) -> list[str]:
    kind = frame.o.slat_joint
    meet = run.surface - (sink / 2.0 if kind == "cross lap" else sink)
    names = [f"{slat}_{number}" for number in range(1, len(bay.crosses) + 1)]
    for name, (at, rail) in zip(names, bay.crosses, strict=True):
        seat = frame_of(run.way * at + line + run.out * meet, -run.out, run.beside)
        draft.join_at(name, kind, slat, rail.name, seat, fit=frame.o.fit)
    return names


def _spread(bay: _Bay, width: float, count: int) -> list[float]:
    gap = (bay.high - bay.low - count * width) / (count + 1)
    return [bay.low + gap * (i + 1) + width * (i + 0.5) for i in range(count)]


def _along(frame: PostFrame) -> _Run:
    top = _top("cross_levels", frame.levels["across"])
    half, y = frame.post.width / 2.0, frame.at_y
    rails = {r.start: r for r in frame.rails if r.way == "across" and r.level == top}
    bays = tuple(
        _Bay(y[j + 1] + half, y[j] - half, tuple((float(x), rails[i, j]) for i, x in enumerate(frame.at_x)))
        for j in range(len(y) - 1))
    return _Run(X, Y, Z, top + frame.rail.width / 2.0, frame.rail.width, frame.rail.thickness / 2.0, bays)


def _across(frame: PostFrame) -> _Run:
    top = _top("long_levels", frame.levels["along"])
    half, x = frame.post.thickness / 2.0, frame.at_x
    rails = {r.start: r for r in frame.rails if r.way == "along" and r.level == top}
    bays = tuple(
        _Bay(x[i] + half, x[i + 1] - half, tuple((float(y), rails[i, j]) for j, y in enumerate(frame.at_y)))
        for i in range(len(x) - 1))
    return _Run(Y, X, Z, top + frame.rail.width / 2.0, frame.rail.width, frame.rail.thickness / 2.0, bays)


def _up(frame: PostFrame) -> _Run:
    _top("long_levels", frame.levels["along"])
    half, x = frame.post.thickness / 2.0, frame.at_x
    bays = tuple(
        _Bay(x[i] + half, x[i + 1] - half,
             tuple((r.level, r) for r in frame.rails if r.way == "along" and r.start == (i, 0)))
        for i in range(len(x) - 1))
    return _Run(Z, X, Y, frame.at_y[0] + frame.rail.thickness / 2.0, frame.rail.thickness, frame.rail.width / 2.0, bays)


def _top(key: str, levels: tuple[float, ...]) -> float:
    if not levels:
        raise DraftError(key, "none", "at least one level of rails for the slats to lie on")
    return max(levels)


def _check(frame: PostFrame, run: _Run, slat: Stock, sink: float) -> None:
    o = frame.o
    if o.slats * len(run.bays) + len(frame.rails) + len(frame.at_x) * len(frame.at_y) > PARTS_MOST:
        raise DraftError("slats", o.slats, f"a frame of at most {PARTS_MOST} parts")
    clear = min(b.high - b.low for b in run.bays)
    most = int((clear - GAP_LEAST) // (slat.width + GAP_LEAST))
    if o.slats > most:
        raise DraftError("slats", o.slats, f"at most {max(most, 0)} slats of {slat.width:.1f} mm between posts "
                         f"{clear:.1f} mm apart")
    left = RAIL_LEFT * min(run.depth, slat.thickness * (1.0 if o.slat_joint == "housing" else 2.0))
    if sink > left + 1e-9:
        raise DraftError("slat_sink", f"{sink:.1f} mm", f"at most {left:.1f} mm for these rails and slats")
