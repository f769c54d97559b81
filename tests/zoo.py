"""Sound designs that every test may import, and each with one named mistake.

Sound ones are functions without arguments listed in SOUND; mistaken ones in MISTAKES,
each with the one finding it must bring.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from typing import Any

from model.design import Design, StageSpec
from model.families import FAMILIES
from model.frames import move
from model.part import Feature, Part
from model.shapes.board import board
from model.stock import Stock, nominals, species


def stock(name: str, nominal: str = "2x4", wood: str = "Western redcedar") -> Stock:
    """Return a stock of a nominal size at its dressed size (PS 20)."""
    size = nominals()[nominal]
    return Stock(name, species()[wood], size.thickness, size.width, size)


def milled(name: str, thickness: float, width: float, wood: str = "Western redcedar") -> Stock:
    """Return a stock milled to sizes in mm."""
    return Stock(name, species()[wood], thickness, width)


STOCK = {s.name: s for s in (
    milled("post", 88.9, 88.9), stock("rail", "2x4"), milled("slat", 19.0, 64.0),
    stock("segment", "2x8"), stock("leg", "2x8"), milled("ring", 38.0, 90.0),
)}


def made(family: str, name: str, **options: Any) -> Design:
    """Return a family's design with the zoo's stock, options in mm and degrees."""
    kind = FAMILIES[family]
    draft = kind.draft(name, kind.options.model_validate(options, context={"unit": "mm"}), STOCK)
    return draft.finish()


# -- sound ----------------------------------------------------------------------------------------


@cache
def trestle() -> Design:
    """Two posts and one rail."""
    return made("post and rail", "trestle", posts_across=1, length=900.0, height=500.0, long_levels=[250.0])


@cache
def frame() -> Design:
    """Four posts, two levels of rails each way, blind tenons."""
    return made("post and rail", "frame")


@cache
def frame_through() -> Design:
    """Four posts, through tenons both ways, levels apart."""
    return made("post and rail", "frame through", long_joint="through tenon", cross_joint="through tenon")


@cache
def frame_level() -> Design:
    """Four posts whose rails meet at one level, so that their tenons are short."""
    return made("post and rail", "frame level", long_levels=[350.0], cross_levels=[350.0])


@cache
def grid() -> Design:
    """Three by three posts."""
    return made("post and rail", "grid", posts_along=3, posts_across=3, length=2400.0, width=1600.0)


@cache
def row() -> Design:
    """Four posts in a row, stages left to the plan."""
    return made("post and rail", "row", posts_along=4, posts_across=1, length=3600.0, stages=False)


@cache
def bench() -> Design:
    """Six posts, through tenons, slats cross lapped along the frame."""
    return made("post and rail", "bench", posts_along=3, length=1800.0, height=560.0, long_levels=[250.0],
                cross_levels=[110.0, 400.0], long_joint="through tenon", cross_joint="through tenon", slats=3)


@cache
def fence() -> Design:
    """Three posts in a row, slats upright on the face of the rails, housed."""
    return made("post and rail", "fence", posts_along=3, posts_across=1, length=3000.0, height=1200.0, slats=5,
                slats_run="up", slat_joint="housing")


@cache
def gateway() -> Design:
    """Two nine-segment arches out of one ring of twenty, two spacers, legs leaning 9 degrees, 17 rails."""
    return made("arch gateway", "gateway")


@cache
def gateway_small() -> Design:
    """Two three-segment arches out of one ring of eight: 22.5 degrees of lean, two spacers, five rails."""
    return made("arch gateway", "gateway small", segments_in_ring=8, segments_per_arch=3, band=60.0, radius=500.0,
                leg_length=600.0, leg_rails=1, depth=500.0)


@cache
def gateway_halves() -> Design:
    """Two half rings of six segments each, no spacers, upright legs."""
    return made("arch gateway", "gateway halves", segments_in_ring=12, segments_per_arch=6, band=80.0, leg_rails=2)


@cache
def gateway_two_rings() -> Design:
    """Two arches of seven out of twelve, each in a ring of its own; the legs lean inward."""
    return made("arch gateway", "gateway two rings", segments_in_ring=12, segments_per_arch=7, band=60.0, radius=600.0,
                leg_length=800.0, leg_rails=2)


@cache
def ring() -> Design:
    """Nine segments half lapped, sawn to a curve, lying on the ground."""
    return made("closed ring", "ring")


@cache
def ring_straight() -> Design:
    """Nine segments half lapped, left straight."""
    return made("closed ring", "ring straight", curved=False)


@cache
def ring_triangle() -> Design:
    """Three boards glued into a triangle, left straight."""
    return made("closed ring", "triangle", segments=3, radius=400.0, curved=False, segment_joint="glued face")


@cache
def ring_on_posts() -> Design:
    """Nine segments half lapped, sawn to a curve, on three posts."""
    return made("closed ring", "ring on posts", posts=3, post_stock="rail")


@cache
def ring_loose() -> Design:
    """Eight segments with loose tenons: it closes by two halves."""
    return made("closed ring", "ring loose", segments=8, segment_joint="loose tenon")


SOUND: dict[str, Callable[[], Design]] = {f.__name__: f for f in (
    trestle, frame, frame_through, frame_level, grid, row, bench, fence, gateway, gateway_small, gateway_halves,
    gateway_two_rings, ring, ring_straight, ring_triangle,
    ring_on_posts, ring_loose)}


# -- with one mistake -----------------------------------------------------------------------------


def changed(design: Design, part: str, change: Callable[[Part], Part]) -> Design:
    """Return the design with one part changed."""
    return replace(design, parts=tuple(change(p) if p.name == part else p for p in design.parts))


def refeatured(part: Part, role: str, change: Callable[[Feature], Feature], joint: str | None = None) -> Part:
    """Return the part with its features of a role (and a joint) changed."""
    return replace(part, features=tuple(
        change(f) if f.role == role and joint in (None, f.joint) else f for f in part.features))


def mortise_shifted(mm: float = 2.0) -> Design:
    """The trestle, the mortise of post_1 cut `mm` too high: the tenon runs into its end."""
    return changed(trestle(), "post_1", lambda p: refeatured(
        p, "mortise", lambda f: replace(f, solid=f.solid.moved(move(x=mm)))))


def tenon_long(mm: float = 5.0) -> Design:
    """The trestle, one tenon `mm` too long: it stops `mm` less the 2 mm of room short of home."""
    def longer(f: Feature) -> Feature:
        return replace(f, solid=f.solid.joined(f.solid.moved(move(x=mm))))

    return changed(trestle(), "long_rail_01", lambda p: refeatured(p, "tenon", longer, "long_rail_01_end"))


def mortise_missing() -> Design:
    """The trestle, the mortise of post_2 never cut."""
    return changed(trestle(), "post_2", lambda p: replace(p, features=()))


def rail_short(mm: float = 4.0) -> Design:
    """The frame, one long rail cut `mm` short between its shoulders: its loop of joints does not close."""
    design = frame()
    rail = design.part["long_rail_01"]
    short = board(rail.blank.stock, rail.blank.length - mm)
    back = move(x=-mm)
    joints = tuple(
        replace(j, seat_a=back @ j.seat_a) if j.name == "long_rail_01_end" else j for j in design.joints)
    parts = changed(design, "long_rail_01", lambda p: replace(p, blank=short, features=tuple(
        replace(f, solid=f.solid.moved(back), frame=back @ f.frame) if f.joint == "long_rail_01_end" else f
        for f in p.features)))
    return replace(parts, joints=joints)


def part_loose() -> Design:
    """The trestle and a board that no joint ties to it."""
    design = trestle()
    return replace(design, parts=(*design.parts, Part("stray", board(STOCK["rail"], 300.0))))


def ring_late() -> Design:
    """Five segments with loose tenons, all but one joint glued before: one joint alone cannot close any more."""
    design = made("closed ring", "ring late", segments=5, radius=400.0, segment_joint="loose tenon")
    last = {j.name for j in design.joints if design.joints[-1].of in (j.of, j.name)}
    early = tuple(j.name for j in design.joints if j.name not in last)
    return replace(design, stages=(StageSpec("arc", early), StageSpec("last joint", tuple(last), ("arc",))))


def leg_short(mm: float = 6.0) -> Design:
    """The small gateway, its far left leg sawn `mm` short at the top, mortises where they were on the rest."""
    design, up = gateway_small(), move(x=-mm)
    leg = design.part["far_leg_left"]
    joints = tuple(replace(j, seat_b=up @ j.seat_b) if j.b == leg.name else j for j in design.joints)
    parts = changed(design, leg.name, lambda p: refeatured(
        p, "mortise", lambda f: replace(f, solid=f.solid.moved(up), frame=up @ f.frame)))
    return replace(parts, joints=joints)


def spacer_glued() -> Design:
    """The small gateway, one spacer glued in though it is to be taken away again."""
    design = gateway_small()
    return replace(design, joints=tuple(
        replace(j, glued=True) if j.name == "dry_far_arch_3_spacer_1" else j for j in design.joints))


MISTAKES: dict[str, tuple[Callable[[], Design], str]] = {
    "mortise_shifted": (mortise_shifted, "interference"),
    "tenon_long": (tenon_long, "gap"),
    "mortise_missing": (mortise_missing, "unmatched"),
    "rail_short": (rail_short, "gap"),
    "part_loose": (part_loose, "unmatched"),
    "ring_late": (ring_late, "blocked"),
    "leg_short": (leg_short, "gap"),
    "spacer_glued": (spacer_glued, "blocked"),
}
"""Each mistake by name: the design, and the kind of finding it must bring."""
