"""Which segments make up a ring: two arches with spacers between them, or one arch and spacers.

The spacers complete the ring with dry joints while it is glued, and leave afterwards.
"""

from __future__ import annotations

from dataclasses import dataclass

from model.draft import Draft
from model.families.arch_gateway_layout import Gateway

SIDES = ("far", "near")


@dataclass(frozen=True)
class RingGlueUp:
    """One glue-up: its stage, the segments in their order clockwise, whether they close a ring, which are spacers."""

    stage: str
    segments: tuple[str, ...]
    closed: bool
    spacers: frozenset[str]


def segment_name(g: Gateway, side: str, number: int) -> str:
    """Return the name of an arch's segment, counted from 0 clockwise; people count both sides from the left."""
    return f"{side}_arch_{number + 1 if side == 'far' else g.o.segments_per_arch - number}"


def glue_ups(g: Gateway) -> tuple[RingGlueUp, ...]:
    """Return the rings: two arches and the rest spacers, in two groups as equal as may be, or an arch and spacers each.

    Where two arches leave no room for a spacer on both sides, each arch is glued up by itself.
    """
    n, k = g.o.segments_in_ring, g.o.segments_per_arch
    arch = {side: tuple(segment_name(g, side, i) for i in range(k)) for side in SIDES}
    spare = n - 2 * k
    if spare in (0, 1):
        return tuple(RingGlueUp(f"{side} arch", arch[side], False, frozenset()) for side in SIDES)
    if spare > 0:
        spacers = tuple(f"spacer_{i + 1}" for i in range(spare))
        first = (spare + 1) // 2
        order = (*arch["far"], *spacers[:first], *arch["near"], *spacers[first:])
        return (RingGlueUp("ring", order, True, frozenset(spacers)),)
    rings = []
    for side in SIDES:
        spacers = tuple(f"{side}_spacer_{i + 1}" for i in range(n - k))
        rings.append(RingGlueUp(f"{side} ring", (*arch[side], *spacers), True, frozenset(spacers)))
    return tuple(rings)


def lay_ring(g: Gateway, draft: Draft, glue_up: RingGlueUp) -> list[str]:
    """Lay a ring's segments and declare its joints; return their names."""
    for name in glue_up.segments:
        spacer = name in glue_up.spacers
        draft.add(name, g.ring.segment, group="spacer" if spacer else "segment",
                  leaves_after=glue_up.stage if spacer else None)
        if not spacer:
            draft.feature(name, g.ring.curve(glue_up.stage))
    after = glue_up.segments[1:] + (glue_up.segments[:1] if glue_up.closed else ())
    pairs = zip(glue_up.segments, after, strict=False)
    return [_joint(g, draft, a, b, dry=bool({a, b} & glue_up.spacers)) for a, b in pairs]


def _joint(g: Gateway, draft: Draft, a: str, b: str, *, dry: bool) -> str:
    seats = g.ring.seat(g.ring.mitre), g.ring.seat(-g.ring.mitre)
    if dry:
        name = f"dry_{a}_{b}"
        draft.join(name, "glued face", a, b, *seats, fit=g.o.fit, glued=False)
        return name
    stem, first = a.rsplit("_", 1)
    low, high = sorted((int(first), int(b.rsplit("_", 1)[1])))
    name = f"{stem}_{low}_{high}"
    sizes = g.segment_tenon if g.o.segment_joint == "loose tenon" else {}
    draft.join(name, g.o.segment_joint, a, b, *seats, fit=g.o.fit, sizes=sizes)
    return name
