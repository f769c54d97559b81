"""Wrong wood: parts as cut that are the mirror image of what is drawn, or what is drawn for another part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from assembly.alike import groups
from assembly.placing import Assembly
from assembly.symmetry import maps
from model.design import Design
from model.part import Part
from model.solids import Solid

CRUMB = 1.0
"""Less wood than this, mm³, is rounding along faces that lie on each other."""


@dataclass(frozen=True)
class WrongWood:
    """A part whose wood is not what is drawn in its place.

    `how`: it is the mirror image of what is drawn, or what is drawn for another part. `serves`: the parts for which
    its shape is the drawn one, in the design's order; `swap`: the one of them whose wood is this part's, "" where none.
    """

    part: str
    how: Literal["mirrored", "another's"]
    serves: tuple[str, ...]
    swap: str = ""


@lru_cache(maxsize=16)
def wrong_wood(assembly: Assembly) -> tuple[WrongWood, ...]:
    """Return the parts as cut that are mirrored or another's, in the design's order.

    A part within the tolerance of its drawn shape, or that shape turned, is none of them; neither is one that fits no
    drawn shape, or one that only lacks a cut. Stock and grain are not compared: only shapes. Told by the solids alone.
    """
    drawn = assembly.design.drawn
    if drawn is None:
        return ()
    shapes = _shapes(drawn)
    found = [one for part in assembly.design.parts if part.name in drawn.part
             and (one := _wrong(drawn, part, shapes)) is not None]
    told = [_with_swap(one, found, drawn) for one in found]
    return tuple(one for one in told
                 if one.how == "mirrored" or one.swap or not _lacks_a_cut(drawn, assembly, one.part))


def _lacks_a_cut(drawn: Design, assembly: Assembly, name: str) -> bool:
    """Whether all wood drawn is there and what is more lies in the blank: a cut never made, whatever it now is like."""
    part = drawn.part[name]
    own, cut = part.finished.manifold, assembly.part(name).finished.manifold
    more = cut - own
    return bool((own - cut).volume() < CRUMB and (more - part.blank.solid.manifold).volume() < CRUMB < more.volume())


def _shapes(drawn: Design) -> dict[Solid, list[str]]:
    """Return the shapes of a drawing, one for each group, with the parts that have it."""
    shapes: dict[Solid, list[str]] = {}
    for group in groups(drawn):
        shapes.setdefault(drawn.part[group.first].finished, []).extend(group.parts)
    return shapes


def _wrong(drawn: Design, part: Part, shapes: dict[Solid, list[str]]) -> WrongWood | None:
    own, cut = drawn.part[part.name].finished, part.finished
    if own == cut or maps(own, cut):
        return None
    serves = [name for shape, names in shapes.items() if maps(shape, cut) for name in names]
    if maps(own, cut, mirrored=True):
        return WrongWood(part.name, "mirrored", _in_order(serves, drawn))
    return WrongWood(part.name, "another's", _in_order(serves, drawn)) if serves else None


def _in_order(names: Sequence[str], drawn: Design) -> tuple[str, ...]:
    wanted = set(names)
    return tuple(p.name for p in drawn.parts if p.name in wanted)


def _with_swap(one: WrongWood, found: Sequence[WrongWood], drawn: Design) -> WrongWood:
    """Return a wrong part with the one it has changed places with: the first pairing in the design's order."""
    for early, late in _swaps(found):
        if one.part in (early, late):
            return WrongWood(one.part, one.how, one.serves, late if one.part == early else early)
    return one


def _swaps(found: Sequence[WrongWood]) -> list[tuple[str, str]]:
    taken: set[str] = set()
    pairs = []
    for k, one in enumerate(found):
        other = next((o for o in found[k + 1:] if o.part not in taken and one.part not in taken
                      and o.part in one.serves and one.part in o.serves), None)
        if other is not None:
            taken |= {one.part, other.part}
            pairs.append((one.part, other.part))
    return pairs
