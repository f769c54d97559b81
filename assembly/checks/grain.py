"""Grain: joints that hold by end grain, short grain across a curve, glue across grain that tears itself apart."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import degrees, radians

from assembly.checks.wording import listed, place, small, spot
from assembly.findings import Amount, Finding
from assembly.grain import RunOut, Share, run_outs, shares
from assembly.grain_crossing import Crossing, crossings
from assembly.placing import Assembly
from model.design import Shop
from model.timber import LINEAR, strength_left

END_GRAIN_WARN, END_GRAIN_NOTE = 0.10, 0.25
"""Least share of long grain in a joint. End-grain butt joints cannot meet ordinary service; with special techniques
they reach about 25 % of the strength along the grain (Wood Handbook, FPL-GTR-190, chapter 10): a joint with a quarter
of long grain has as much from that alone. A tenth: common practice, no source."""
RUN_OUT_WARN, RUN_OUT_NOTE = radians(32.0), radians(20.0)
"""Grain steeper to a curve than this: five segments or fewer to a ring, nine or fewer (common practice, no source)."""
WIDE_WARN, WIDE_NOTE = 100.0, 75.0
"""Widest glued face across the grain outdoors, mm (common practice, no source)."""
MOVES_WARN, MOVES_NOTE = 2.8, 1.0
"""What such a face may move, mm, before it tears the glue or the wood. The bottom rail of an oak door, 150 mm wide,
moves 2.7 mm with 5 % of moisture indoors and is glued whole; what moves more is split in two (common practice, no
source)."""
ROUNDING = 1e-6
"""What is on a limit counts as reaching it."""


def grain(assembly: Assembly, shop: Shop) -> list[Finding]:
    """Find joints of mostly end grain, curved parts of short grain, and glue across grain that moves apart.

    In the finished work, since what is sawn off later holds nothing. Between two parts that
    are glued: the share of the area where both show long grain (within 45 degrees), below 10 %
    a warning, below 25 % a note. Of a curved part: the angle between its grain and the tangent
    of its curve at its ends, from 20 degrees a note, above 32 a warning, with what Hankinson's
    formula leaves of its strength. Of long grain glued across long grain: how far the two move
    apart between the driest and the wettest the wood will be (`moisture` of the shop), the
    width tangential, as in a flat-sawn board, the worse: above 100 mm wide and 2.8 mm
    a warning, above 75 mm and 1 mm a note. Exact on the faceted solids.
    Not promised: movement of species whose figures are not in the table; what wood gives or creeps;
    knots, and grain that does not run straight; whether a joint is strong enough.
    """
    return [*_end_grain(assembly), *_short_grain(assembly), *_crossing(assembly, shop)]


def _end_grain(assembly: Assembly) -> Iterator[Finding]:
    alike: dict[object, list[Share]] = {}
    for share in shares(assembly):
        if share.share < END_GRAIN_NOTE - ROUNDING:
            alike.setdefault((assembly.part(share.a).group, assembly.part(share.b).group, round(share.share, 3),
                              share.share < END_GRAIN_WARN - ROUNDING), []).append(share)
    for same in alike.values():
        yield _mostly_end(same)


def _mostly_end(same: Sequence[Share]) -> Finding:
    first = same[0]
    parts = tuple(dict.fromkeys(n for s in same for n in (s.a, s.b)))
    more = f", and between {len(same) - 1} more pairs like them," if len(same) > 1 else ""
    part = f"only {100 * first.share:.0f} %" if first.share >= 0.005 else "none"
    return Finding(
        "grain", "warn" if first.share < END_GRAIN_WARN - ROUNDING else "note", parts,
        f"Between {first.a} and {first.b}{more} {part} of the glued area is long grain on both sides; end grain does "
        f"not hold glue in ordinary service.",
        "Give the joint faces along the grain of both: a tenon, a loose tenon, a lap or a spline.",
        place(first.where), Amount(round(first.long, 1), "mm2"), tuple(j for s in same for j in s.joints))


def _short_grain(assembly: Assembly) -> Iterator[Finding]:
    alike: dict[object, list[RunOut]] = {}
    for found in run_outs(assembly):
        if found.angle >= RUN_OUT_NOTE - ROUNDING:
            alike.setdefault((assembly.part(found.part).group, round(found.angle, 4)), []).append(found)
    for same in alike.values():
        yield _runs_out(assembly, same)


def _runs_out(assembly: Assembly, same: Sequence[RunOut]) -> Finding:
    first, names = same[0], tuple(f.part for f in same)
    angle, left = degrees(first.angle), 100.0 * strength_left(first.angle)
    return Finding(
        "grain", "warn" if first.angle > RUN_OUT_WARN + ROUNDING else "note", names,
        f"The grain of {listed(names)} runs out of the curve at {angle:.1f} degrees, "
        f"{spot(assembly, first.part, first.where)}: about {left:.0f} % of the strength along the grain is left there.",
        "Make the curve of more, shorter pieces, or of two layers whose joints do not lie over each other.",
        place(first.where), Amount(round(angle, 4), "deg"))


def _crossing(assembly: Assembly, shop: Shop) -> Iterator[Finding]:
    alike: dict[object, list[Crossing]] = {}
    for found in crossings(assembly, *shop.moisture, WIDE_NOTE):
        if found.width > WIDE_NOTE + ROUNDING and found.movement >= MOVES_NOTE - ROUNDING:
            groups = assembly.part(found.moves).group, assembly.part(found.held_by).group
            alike.setdefault((*groups, round(found.movement, 2), round(found.width, 1)), []).append(found)
    for same in alike.values():
        yield _moves(assembly, shop, same)


def _moves(assembly: Assembly, shop: Shop, same: Sequence[Crossing]) -> Finding:
    first, unit = same[0], assembly.design.unit
    parts = tuple(dict.fromkeys(n for c in same for n in (c.moves, c.held_by)))
    severe = first.width > WIDE_WARN + ROUNDING and first.movement >= MOVES_WARN - ROUNDING
    dry, wet = shop.moisture
    more = f" ({len(same)} such joints)" if len(same) > 1 else ""
    radial = "" if first.radial is None else f", {small(first.radial, unit)} if it is quarter-sawn"
    rule = "" if dry >= LINEAR[0] and wet <= LINEAR[1] else ", reckoned by shrinkage from green"
    return Finding(
        "grain", "warn" if severe else "note", parts,
        f"{first.moves} is glued across the grain of {first.held_by} over {small(first.width, unit)}{more}: from "
        f"{dry:g} to {wet:g} % moisture it grows {small(first.movement, unit)} there{radial}{rule}, and the other does "
        f"not.",
        f"Glue no more than {small(WIDE_NOTE, unit)} across the grain: make it narrower, split it in two with dry wood "
        f"between, or leave one side dry.",
        place(first.where), Amount(round(first.movement, 4), "mm"),
        tuple(dict.fromkeys(j for c in same for j in c.joints)))
