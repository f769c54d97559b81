"""Colours: wood tones for the work, one colour-blind-safe palette for meaning.

The palette for meaning is that of Okabe & Ito, "Color Universal Design" (2008). It is never
the only sign: hatching, dashes, rings, numbers and words say the same again.
"""

from __future__ import annotations

from collections.abc import Iterable

from exports.woods import tone
from model.part import Part

Colour = tuple[int, int, int]

ORANGE: Colour = (230, 159, 0)
SKY: Colour = (86, 180, 233)
BLUE: Colour = (0, 114, 178)
VERMILLION: Colour = (213, 94, 0)
GREEN: Colour = (0, 158, 115)

INK: Colour = (44, 36, 30)
SOFT_INK: Colour = (92, 84, 76)
PAPER: Colour = (250, 248, 244)
GROUND: Colour = (232, 227, 218)
WHITE: Colour = (255, 255, 255)

PALE: Colour = (240, 237, 231)
"""Work that was glued before: opaque and pale."""
PALE_EDGE: Colour = (146, 138, 128)
WOOD_EDGE: Colour = (58, 38, 24)
TEMPORARY: Colour = (222, 239, 250)
TEMPORARY_EDGE: Colour = (0, 84, 140)

SEVERITY: dict[str, Colour] = {"stop": VERMILLION, "warn": ORANGE, "note": BLUE}

_STEPS = (0.34, 0.0, -0.24, 0.17, -0.36, 0.50)
"""How far the groups of one wood, the bulkiest first, are darkened (minus) or lightened: far enough apart for grey."""


def tones(parts: Iterable[Part]) -> dict[str, Colour]:
    """Return a tone for each part: its wood's, stepped by set, and a shade of its own as boards of a stack differ."""
    bulk: dict[str, float] = {}
    listed = list(parts)
    for part in listed:
        if not part.temporary:
            bulk[_set(part)] = bulk.get(_set(part), 0.0) + part.finished.volume
    rank = {group: i for i, group in enumerate(sorted(bulk, key=lambda g: -round(bulk[g])))}
    found: dict[str, Colour] = {}
    for index, part in enumerate(listed):
        step = _STEPS[rank.get(_set(part), 0) % len(_STEPS)]
        own = 0.04 * ((index * 7 % 5) - 2) / 2.0
        found[part.name] = shifted(shifted(tone(part.blank.stock.species.name), step), own)
    return found


def _set(part: Part) -> str:
    """Return what shares a part's tone: its group, or where it stands alone, what is sawn from the same stock."""
    return part.group if part.group not in ("", part.name) else f"stock {part.blank.stock.name}"


def shifted(colour: Colour, step: float) -> Colour:
    """Return a colour lightened (step up to 1) or darkened (down to -1)."""
    return mixed(colour, (255, 246, 230), step) if step > 0 else mixed(colour, (70, 38, 20), -step)


def mixed(one: Colour, other: Colour, share: float) -> Colour:
    """Return `one` with a share (0 to 1) of `other` in it."""
    r, g, b = (round(p + (q - p) * share) for p, q in zip(one, other, strict=True))
    return r, g, b
