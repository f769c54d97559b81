"""Parts in place without a design file, in words and as data: what is not known of them, which way each can leave."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from assembly.checks.wording import small
from assembly.contacts import GAP
from assembly.free import free_ways
from assembly.seams import FIT
from exports import words

if TYPE_CHECKING:
    from assembly.rehearsal import Rehearsal

WAYS_MOST = 4
"""Directions of one part told before the rest is counted."""


def of_file(rehearsal: Rehearsal) -> bool:
    """Return whether the parts stand where a mesh file has them."""
    return bool(rehearsal.design.standing)


def not_known(rehearsal: Rehearsal) -> list[str]:
    """Return what a mesh file does not say, and what was taken instead or left out."""
    shop = rehearsal.design.shop
    near = small(GAP + FIT, rehearsal.design.unit)
    return [
        f"Joints and glue faces are not in the file. Every two parts that lie on each other, to within {near}, share "
        "a seam, named after both and glued over all that touches: more glue, clamps and minutes than needed where "
        "faces were meant to stay dry.",
        "How the grain runs is not in the file either; pictures show it along each part. Not looked at, for want of "
        "joints, grain and a drawing: gaps and fit in joints, cuts without a mate, walls round mortises, flush faces, "
        "glue on end grain or across it, pieces turned the wrong way round.",
        f"The shop is taken as where nobody says: {words.people(shop.people)}, {shop.glue}.",
    ]


def leaving(rehearsal: Rehearsal) -> list[str]:
    """Return which way each part can leave the whole, those that can leave alike together."""
    alike: dict[tuple[str, ...], list[str]] = {}
    for name, ways in free_ways(rehearsal.assembly).items():
        told = tuple(sorted(dict.fromkeys(words.way(way) for way in ways), key=lambda said: (len(said), said)))
        alike.setdefault(told, []).append(name)
    held = alike.pop((), [])
    lines = [f"{words.several(names, most=6)}: {_told(ways)}." for ways, names in alike.items()]
    if held:
        lines.append(f"Held until others have left: {words.several(held, most=6)}.")
    return lines


def _told(ways: tuple[str, ...]) -> str:
    few = [*ways[:WAYS_MOST]]
    return "; ".join([*few, f"{len(ways) - len(few)} more ways"] if len(ways) > len(few) else few)


def free_json(rehearsal: Rehearsal) -> list[dict[str, Any]]:
    """Return for each part the directions (unit, world) tried along which it can leave the whole by itself."""
    return [{"part": name, "directions": [list(way) for way in ways]}
            for name, ways in free_ways(rehearsal.assembly).items()]
