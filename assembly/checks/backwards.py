"""Backwards: pieces that are the wrong way round, and pieces that could go in so without a sound."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from assembly.checks.backwards_wording import consequences, marks, named_unit, put_right, seen, time, ways
from assembly.checks.wording import listed, place, small
from assembly.facets import facets
from assembly.findings import Amount, Finding
from assembly.placing import Assembly, as_drawn
from assembly.turning import Turning, turnings
from assembly.turning_back import Backward, wrong_way_round
from model.design import Shop
from model.frames import points
from model.solids import Solid


def backwards(assembly: Assembly, shop: Shop) -> list[Finding]:
    """Find pieces as cut the wrong way round (stop), and those that could go home another way round (note).

    Wrong as cut: the part is the drawn one carried by a half or quarter turn of its blank, within 0.02 mm, and not
    the same; or, in the drawing itself, a part with misfits for which one turn alone lets all
    its joints close. Could: see `turnings`, one note for alike pieces in alike neighbourhoods, for one kind of
    consequence. Turns that change nothing, or that do not go home, are no findings. A face counts as off
    from 0.1 mm. Not promised: two neighbours both the wrong way round where no drawing tells; a part that was turned
    and has other errors of cutting, where its turn was not noted down; a stick with six or eight sides turned by less
    than a quarter; and all that `turnings` does not look at.
    """
    return [*(_wrong(assembly, one) for one in wrong_way_round(assembly)), *(f for f, _ in could(as_drawn(assembly)))]


def _wrong(assembly: Assembly, one: Backward) -> Finding:
    unit = assembly.design.unit
    off = "" if one.mm is None else f" It is up to {small(one.mm, unit)} off."
    away = f" What is cut on it for {listed(one.away)} faces away." if one.away else ""
    instead = f", or turn {listed(one.instead)} instead: the drawing does not tell which" if one.instead else ""
    return Finding(
        "backwards", "stop", (one.part, *one.instead),
        f"{one.part} is the wrong way round as cut.{away}{off}",
        f"{put_right(one.part, one.way)} before it goes in{instead}.",
        place(points(assembly.frames[one.part], assembly.solid(one.part).centroid)),
        None if one.mm is None else Amount(round(one.mm, 3), "mm"), one.joints)


@lru_cache(maxsize=16)
def could(assembly: Assembly) -> tuple[tuple[Finding, Turning], ...]:
    """Return the notes on pieces of a drawing that could go home another way round, each with the first turn it tells
    of."""
    groups: dict[tuple[object, ...], list[list[Turning]]] = {}
    for alike in _by_consequence(turnings(assembly)):
        groups.setdefault(_signature(alike), []).append(alike)
    return tuple((_note(assembly, group), group[0][0]) for group in groups.values())


def _by_consequence(found: Sequence[Turning]) -> list[list[Turning]]:
    """Return the turns of each piece that bring the same kind of consequence at the same time."""
    alike: dict[tuple[object, ...], list[Turning]] = {}
    for one in found:
        alike.setdefault((one.parts, one.session.number, *_kind(one)), []).append(one)
    return list(alike.values())


def _kind(one: Turning) -> tuple[object, ...]:
    shows = -1 if one.shows is None else one.shows.number
    return (shows, one.late, *sorted({(a.what, a.place) for a in one.follows}))


def _signature(alike: Sequence[Turning]) -> tuple[object, ...]:
    """Return what tells one group of pieces from another: their shapes, the turns, what follows and when."""
    first = alike[0]
    shapes = tuple(sorted(_shape(first.session.at.solid(n, first.session.done)) for n in first.parts))
    mark = None if first.mark is None else (first.mark.place, first.mark.towards)
    follows = tuple(sorted((a.what, a.place, round(a.mm or 0.0, 2)) for one in alike for a in one.follows))
    return (shapes, tuple(sorted(one.way for one in alike)), _kind(first), mark, follows)


@lru_cache(maxsize=4096)
def _shape(solid: Solid) -> tuple[float, ...]:
    """Return what shapes of one sort have in common, mirror images too: their volume and the areas of their faces."""
    return (round(solid.volume, -1), *np.sort(np.round(facets(solid).areas)).tolist())


def _note(assembly: Assembly, group: list[list[Turning]]) -> Finding:
    first, lead = group[0], group[0][0]
    names = [named_unit(alike[0].parts) for alike in group]
    turned = ways([one.way for one in first], whole=len(lead.parts) > 1)
    sessions = list(dict.fromkeys(alike[0].session.name for alike in group))
    when = f" when {listed(sessions)} {'is' if len(sessions) == 1 else 'are'} glued" if sessions[0] else ""
    could = "could go in" if len(group) == 1 else "could each go in"
    said = consequences(assembly, first)
    of = "Then" if len(group) == 1 else f"With {lead.parts[0]},"
    mm = max((a.mm for one in first for a in one.follows if a.mm is not None), default=None)
    where = np.mean([points(assembly.frames[n], assembly.solid(n).centroid) for n in lead.parts], axis=0)
    return Finding(
        "backwards", "note", tuple(n for alike in group for n in alike[0].parts),
        f"{listed(names)} {could} {turned}: nothing stops {'it' if len(group) == 1 else 'them'}{when}. "
        f"{of} {said}. {time(lead)}",
        marks(group), place(where), None if mm is None else Amount(round(mm, 3), "mm"),
        tuple(dict.fromkeys(a.joint for alike in group for one in alike for a in one.follows if a.joint)),
        stage=seen(lead), late=lead.late)
