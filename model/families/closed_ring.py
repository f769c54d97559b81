"""Closed ring: straight segments joined in a circle, sawn to a curve or left straight, on posts or not."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from pydantic import BaseModel

from model.design import StageSpec
from model.draft import Draft
from model.errors import DraftError
from model.families.closed_ring_options import ClosedRingOptions
from model.families.options import starter_text, stock_for
from model.families.ring import Ring, SawnRing, StraightRing
from model.families.ring_tenons import COVER_LEAST, loose_tenon
from model.families.tenon_room import WALL, Section
from model.frames import Frame, X, Y, Z, frame_of, inverse, move, turn
from model.joints.tenons import SHOULDER_LEAST, WIDTH_MOST
from model.part import Feature
from model.shapes.board import board
from model.solids import box
from model.stock import Stock

LAP_SHARE = 0.4
"""A half lap reaches by default at most this share of half a segment past its joint (common practice, no source)."""
LAP_MOST = 0.6
"""And never more than this share, so that the laps at both ends leave whole wood between them."""
LAP_LEAST = 10.0
"""A half lap shorter than this, mm, holds nothing (common practice, no source)."""
STEEPEST = math.radians(60.0)
"""No segment reaches farther than this to either side of its middle, rad."""


@dataclass(frozen=True)
class _Closed:
    """A closed ring's options and stock."""

    o: ClosedRingOptions
    segment: Stock
    post: Stock | None

    @cached_property
    def ring(self) -> Ring:
        """The ring, sawn or left straight."""
        o, stock = self.o, self.segment
        if not o.curved:
            return StraightRing(count=o.segments, stock=stock, thickness=stock.thickness, radius=o.radius,
                                lap=self._lap(stock.width))
        lap = self._lap(self._band(self._lap(stock.width)))
        band = o.band if o.band is not None else self._band(lap)
        return SawnRing(count=o.segments, stock=stock, thickness=stock.thickness, lap=lap,
                        outer=o.radius + band / 2.0, inner=o.radius - band / 2.0)

    def _lap(self, band: float) -> float:
        """Return how far a segment runs past its joints, rad."""
        half = math.pi / self.o.segments
        if self.o.segment_joint != "half lap":
            return 0.0
        if self.o.lap is None:
            return min(max(band, LAP_LEAST) / (2.0 * self.o.radius), LAP_SHARE * half, max(0.0, STEEPEST - half))
        lap = self.o.lap / (2.0 * self.o.radius)
        most = 2.0 * self.o.radius * LAP_MOST * half
        if not LAP_LEAST <= self.o.lap <= most + 1e-9:
            raise DraftError("lap", f"{self.o.lap:.1f} mm", f"{LAP_LEAST:g} to {most:.1f} mm on this ring")
        return lap

    def _band(self, lap: float) -> float:
        """Return the widest band that the stock holds, less the allowance, mm."""
        cosine = math.cos(math.pi / self.o.segments + lap)
        return 2.0 * (self.segment.width - self.o.allowance - self.o.radius * (1.0 - cosine)) / (1.0 + cosine)

    @cached_property
    def standing(self) -> tuple[int, ...]:
        """The segments that stand on posts, counted from 0."""
        n, given = self.o.segments, self.o.post_segments
        if given is None:
            return tuple(i * n // self.o.posts for i in range(self.o.posts))
        return tuple(s - 1 for s in given)

    @cached_property
    def post_tenon(self) -> Section:
        """The section of the posts' tenons: across the band, along it."""
        if self.post is None:
            return Section(0.0, 0.0)
        thick = min(self.ring.band / 3.0, self.post.thickness - 2.0 * SHOULDER_LEAST)
        wide = min(self.post.width - 2.0 * max(SHOULDER_LEAST, thick / 4.0), WIDTH_MOST * thick)
        ring = self.ring
        return Section(thick, min(wide, ring.widest(thick, self.o.fit)) if isinstance(ring, SawnRing) else wide)

    @property
    def sizes(self) -> dict[str, float]:
        """The sizes of the joints between segments that are not left to the kind."""
        if self.o.segment_joint != "loose tenon":
            return {}
        opening = 2.0 * self.o.fit if self.standing else 0.0
        wide, thick = self.post_tenon.width + opening, self.post_tenon.thickness + opening
        key = "post_stock" if self.standing else "segments"
        return loose_tenon(self.ring, self.ring.room_beside(wide, thick), key)

    def place(self, number: int) -> Frame:
        """Return where a segment lies, counted from 0."""
        height = self.segment.thickness / 2.0 + (self.o.post_height if self.standing else 0.0)
        frame: Frame = move(z=height) @ self.ring.place(2.0 * number * self.ring.mitre)
        return frame


def _refuse(c: _Closed) -> None:
    o, ring = c.o, c.ring
    if not o.curved and o.band is not None:
        raise DraftError("band", f"{o.band:.1f} mm", "no band where curved is false")
    lapped = o.segment_joint == "half lap"
    if ring.reach > STEEPEST + 1e-9 or (lapped and 2.0 * ring.lap * o.radius < LAP_LEAST - 1e-6):
        raise DraftError("segments", o.segments, "more segments or shorter laps, at least 4 segments for half laps: "
                         "these ends would be too steep")
    if isinstance(ring, SawnRing) and not 20.0 <= ring.band <= ring.middle:
        raise DraftError("radius", f"{o.radius:.1f} mm", "a radius larger than the band, which is at least 20 mm "
                         f"({ring.band:.1f} mm here): wider segments, more of them, or another radius")
    if isinstance(ring, SawnRing):
        ring.refuse_narrow("segment_stock")
    ring.refuse_wide("segment_stock")
    different = len(set(c.standing)) == len(c.standing) == o.posts
    if o.post_segments is not None and not (different and all(0 <= i < o.segments for i in c.standing)):
        raise DraftError("post_segments", list(o.post_segments), f"{o.posts} different numbers, one for each post, "
                         f"from 1 to {o.segments}")
    if o.posts > o.segments:
        raise DraftError("posts", o.posts, f"at most one for each segment ({o.segments})")
    if c.post is not None:
        _refuse_posts(c, c.post)


def _refuse_posts(c: _Closed, post: Stock) -> None:
    ring, size, opening = c.ring, c.post_tenon, 2.0 * c.o.fit
    if post.thickness > ring.band + 1e-6 or size.thickness <= 0:
        raise DraftError("post_stock", f"{post.name}, {post.thickness:.1f} mm thick",
                         f"more than {2 * SHOULDER_LEAST:g} mm and at most the band's width, {ring.band:.1f} mm")
    cover = ring.cover(size.width + opening, size.thickness + opening)
    whole = (ring.middle - size.thickness / 2.0) * math.tan(ring.mitre - ring.lap) - size.width / 2.0 - c.o.fit
    if size.width < size.thickness / 2.0 or cover < COVER_LEAST or whole < WALL:
        raise DraftError("post_stock", f"{post.name}, {post.thickness:.1f} x {post.width:.1f} mm",
                         "narrower posts, a wider band, shorter laps or fewer segments: a segment has no room for "
                         "their tenon")


def _trims(ring: Ring) -> tuple[Feature, ...]:
    """Return the cuts that bring a lapped segment's ends level with its neighbours' outer edges."""
    w, length = ring.stock.width, ring.segment.length
    beyond = box((-2 * w, w / 2, -2 * w - ring.thickness), (length + 2 * w, 4 * w, 2 * w + ring.thickness))
    features = []
    for word, way in (("end", 1.0), ("start", -1.0)):
        neighbour = ring.centre @ turn(Z, -way * 2.0 * ring.mitre) @ inverse(ring.centre)
        features.append(Feature(f"trim of the {word}", "cut", beyond.moved(neighbour), "mitre", frame=neighbour))
    return tuple(features)


def _lay_segments(c: _Closed, draft: Draft) -> list[str]:
    ring, n, kind = c.ring, c.o.segments, c.o.segment_joint
    trims = _trims(ring) if kind == "half lap" else ()
    for i in range(n):
        draft.add(f"segment_{i + 1}", ring.segment, c.place(i), group="segment")
        for feature in (*trims, *((ring.curve("ring"),) if isinstance(ring, SawnRing) else ())):
            draft.feature(f"segment_{i + 1}", feature)
    seats = [_laid(s) if kind == "half lap" else s for s in (ring.seat(ring.mitre), ring.seat(-ring.mitre))]
    names = []
    for i in range(n):
        a, b = i + 1, (i + 1) % n + 1
        names.append(f"ring_{a}_{b}")
        draft.join(names[-1], kind, f"segment_{a}", f"segment_{b}", seats[0], seats[1], fit=c.o.fit, sizes=c.sizes)
    return names


def _laid(seat: Frame) -> Frame:
    """Return the seat of a lap where that of an end lies: z down onto the next segment, x outward."""
    return frame_of(seat[:3, 3], -Z, seat[:3, 0])


def _lay_posts(c: _Closed, draft: Draft, post: Stock) -> list[str]:
    blank, names = board(post, c.o.post_height), []
    into = c.ring.spot(0.0, c.ring.middle) @ move(z=-c.segment.thickness / 2.0)
    sizes: dict[str, Any] = {"thickness": c.post_tenon.thickness, "width": c.post_tenon.width}
    for number, segment in enumerate(c.standing, 1):
        stands = c.place(segment) @ into
        foot = stands[:3, 3] - Z * c.o.post_height
        draft.add(f"post_{number}", blank, frame_of(foot, stands[:3, 1], Z), group="post")
        draft.join(f"post_{number}_top", c.o.post_joint, f"post_{number}", f"segment_{segment + 1}",
                   frame_of((c.o.post_height, 0, 0), X, Y), into, fit=c.o.fit, sizes=sizes)
        names.append(f"post_{number}_top")
    return names


@dataclass(frozen=True)
class _ClosedRing:
    name: str = "closed ring"
    says: str = "straight segments joined in a circle, sawn to a curve or left straight, lying level, on posts or not"
    options: type[BaseModel] = ClosedRingOptions

    @property
    def starter(self) -> str:
        return starter_text("closed_ring")

    def draft(self, name: str, options: BaseModel, stock: Mapping[str, Stock]) -> Draft:
        if not isinstance(options, ClosedRingOptions):
            raise TypeError("not the options of a closed ring")
        post = stock_for("post_stock", options.post_stock, stock) if options.posts else None
        closed = _Closed(options, stock_for("segment_stock", options.segment_stock, stock), post)
        _refuse(closed)
        draft = Draft(name)
        draft.stages = [StageSpec("ring", tuple(_lay_segments(closed, draft)))]
        if post is not None:
            draft.stages.append(StageSpec("posts", tuple(_lay_posts(closed, draft, post)), ("ring",)))
        draft.base = "post_1" if post is not None else "segment_1"
        return draft


CLOSED_RING = _ClosedRing()
