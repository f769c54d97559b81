"""The list of pieces: what is cut, how many of each mark, out of which stock, and what is to be said of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.alike import groups, handed_pairs
from exports import in_place, words
from exports.names import shown
from exports.pieces import as_cut, board_feet
from exports.sub_assemblies import sentences

if TYPE_CHECKING:
    from assembly.rehearsal import Rehearsal
    from model.part import Part

NAMES_MOST = 6


@dataclass(frozen=True)
class Entry:
    """The pieces of one mark: how many, their names in words, their size, their stock, and the board feet billed for
    all of them, None where their stock has no nominal size."""

    mark: str
    number: int
    names: str
    size: str
    stock: str
    feet: float | None


def entries(rehearsal: Rehearsal) -> list[Entry]:
    """Return the pieces by their marks, as the drawing has them."""
    drawn = rehearsal.design.drawn or rehearsal.design
    return [_entry(group.mark, [drawn.part[name] for name in group.parts], drawn.unit) for group in groups(drawn)]


def _entry(mark: str, parts: list[Part], unit: str) -> Entry:
    names = words.commas([p.name for p in parts], most=NAMES_MOST)
    stocks = dict.fromkeys(wood(p) for p in parts)
    return Entry(mark, len(parts), names + (" (taken away again)" if parts[0].temporary else ""),
                 words.size(as_cut(parts[0]), unit), " / ".join(stocks), board_feet(parts))


def wood(part: Part) -> str:
    """Return a part's stock and species in words."""
    stock = part.blank.stock
    species = shown(stock.species.name)
    return shown(stock.name) if species in stock.name else f"{shown(stock.name)}, {species}"


def notes(rehearsal: Rehearsal) -> list[str]:
    """Return what is to be said below the list, each a paragraph."""
    drawn = rehearsal.design.drawn or rehearsal.design
    size = "of the box around it, its length along its widest faces" if in_place.of_file(rehearsal) else \
        "length over the tenons × width × thickness"
    lines = [f"Size: {size}. Write the mark on each piece as it is cut: pieces of one mark can change places."]
    pairs = [f"{one.mark} and {other.mark}" for one, other in handed_pairs(drawn)]
    if pairs:
        lines.append(f"Mirror images of each other: {', '.join(pairs)}.")
    lines += [words.sentence(said, {s.name for s in rehearsal.plan.stages}) for said in sentences(rehearsal)]
    if rehearsal.design.measured:
        names = list(dict.fromkeys(m.part for m in rehearsal.design.measured))
        lines.append(f"Sizes are those of the drawing; measured otherwise: {words.several(names, most=6)}.")
    feet = [entry.feet for entry in entries(rehearsal) if entry.feet is not None]
    if feet:
        lines.append(f"{sum(feet):.1f} board feet in all, before waste.")
    return lines
