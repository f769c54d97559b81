"""Lateness: what does not wait for the work, by how much, and what would help.

Ways out are tried before they are offered: more people, a slower glue, a cooler room.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from assembly.effort import rules
from assembly.findings import Amount, Finding
from assembly.placing import Assembly
from assembly.plan import Stage
from assembly.timing.session import HAIR, Windows, at_once, glued_areas, loads_of, windows
from assembly.timing.stage import people_each, times_of
from model.design import Shop
from model.glue_times import AT, glue_times

HELP_MOST = 4
"""More helpers than this are not offered as a way out."""
SLOWER_MOST = 10
"""A glue that stays open for more times as long than this is not offered."""


def slow(assembly: Assembly, shop: Shop, stage: Stage) -> list[Finding]:
    """Return what does not wait for the work: glue that dries before a joint closes, or before its clamp is on.

    A stage whose one closing is too slow by itself cannot be split: it stops. Ways out are tried before they are
    offered. A room colder than the glue sets at is told too.
    """
    hands = people_each(assembly, shop, stage)
    times = times_of(assembly, shop, stage, hands)
    glued = list(glued_areas(assembly, stage.joints))
    found = _cold(shop, stage) if glued else []
    if times.fits or not glued:
        return found
    splits = all(w.fits for w in _one_by_one(assembly, shop, stage, hands))
    single = "" if splits else "; one closing alone is too slow, so that splitting the stage does not help"
    used, why = _why(assembly, shop, stage, hands, times)
    message = (f"stage {stage.name}: {len(glued)} joints cannot be closed in time: {why}{single} (times by rule of "
               "thumb; the glue's data sheet governs)")
    return [*found, Finding("open-time", "warn" if splits else "stop", stage.parts, message,
                            ways_out(assembly, shop, stage, hands, splits), None, Amount(round(used, 2), "min"),
                            tuple(stage.joints), stage=stage.name)]


def _one_by_one(assembly: Assembly, shop: Shop, stage: Stage, hands: Sequence[int]) -> list[Windows]:
    """Return the times of each closing of a stage by itself, before any clamp."""
    needed = iter(hands)
    return [windows(assembly, shop, some, [next(needed) for _ in some], 0, stage.rest.held)
            for some in at_once(stage.moves)]


def _why(assembly: Assembly, shop: Shop, stage: Stage, hands: Sequence[int], times: Windows) -> tuple[float, str]:
    """Return the minutes that are too many, and what is said of them."""
    over, waits = times.open_used - times.open, times.closed_used - times.closed
    if over > HAIR:
        name = _longest_open(assembly, shop, stage, hands, times)
        return times.open_used, (f"joints lie spread for up to {times.open_used:.1f} min before they close, {name} the "
                                 f"longest, and the glue stays open for {times.open:.1f}: {_too_long(over)}")
    first = next(names for names in map(list, _names(assembly, stage)) if names)
    return times.closed_used, (f"{first[0]}, which closes first, waits {times.closed_used:.1f} min until all clamps "
                               f"are on, and the glue allows {times.closed:.1f}: {_too_long(waits)}")


def _too_long(minutes: float) -> str:
    return f"{minutes:.1f} min too long" if minutes >= 1.0 else f"{math.ceil(60.0 * minutes)} s too long"


def _names(assembly: Assembly, stage: Stage) -> list[list[str]]:
    """Return for each closing the joints that get glue, as its load counts them."""
    return [[n for m in some for n in glued_areas(assembly, m.joints)] for some in at_once(stage.moves)]


def _longest_open(assembly: Assembly, shop: Shop, stage: Stage, hands: Sequence[int], times: Windows) -> str:
    """Return the joint that lies open for the longest as the moves are batched."""
    free = max(1, shop.people - stage.rest.held)
    loads, names = loads_of(assembly, stage.moves, hands, rules(shop)), _names(assembly, stage)
    waits: list[tuple[float, str]] = []
    first = 0
    for size in times.batches:
        left, longest = 0.0, 0.0
        for k in reversed(range(first, first + size)):
            close = sum(load.close for load in loads[first:k + 1])
            for spread, name in reversed(list(zip(loads[k].spread, names[k], strict=True))):
                left, longest = left + spread, max(longest, spread)
                waits.append((round(max(left / free, longest) + close, 6), name))
        first += size
    return max(reversed(waits), key=lambda one: one[0])[1]


def _cold(shop: Shop, stage: Stage) -> list[Finding]:
    least = glue_times(shop).least
    if shop.temperature >= least:
        return []
    return [Finding("open-time", "stop", stage.parts, f"stage {stage.name}: at {shop.temperature:.0f} °C {shop.glue} "
                    f"does not set; it wants {least:.0f} °C at least in wood, glue and room (common practice; the data "
                    "sheet governs)", f"Warm shop, wood and glue to {least:.0f} °C, or take a glue for the cold", None,
                    Amount(round(least - shop.temperature, 1), "°C"), tuple(stage.joints), stage=stage.name)]


def ways_out(assembly: Assembly, shop: Shop, stage: Stage, hands: Sequence[int], splits: bool) -> str:
    """Return what would help, each tried: more people, a cooler room, a slower glue; `splits`: a split may help too."""
    def fits(other: Shop) -> bool:
        return times_of(assembly, other, stage, hands).fits

    offers = []
    more = next((n for n in range(1, HELP_MOST + 1) if fits(replace(shop, people=shop.people + n))), None)
    if more is not None:
        offers.append(f"have {more} more {'person' if more == 1 else 'people'} help")
    if shop.temperature > AT and fits(replace(shop, temperature=AT)):
        offers.append(f"work at {AT:.0f} °C")
    offers += _slower(shop, fits)
    if splits:
        offers.append("split the stage")
    if not offers:
        return (f"Let fewer joints close at once: neither {HELP_MOST} more people nor a glue {SLOWER_MOST} times as "
                "slow would do")
    return " or ".join(offers)[0].upper() + " or ".join(offers)[1:]


def _slower(shop: Shop, fits: Callable[[Shop], bool]) -> list[str]:
    """Return the quickest slower glue that would do, to whole minutes, if any.

    Where the shop says how long joints may wait closed, one that is slower in that alone is tried first; otherwise
    both its times are longer in the same measure.
    """
    if shop.closed_minutes is not None:
        closed = _fewest(shop.closed_minutes, lambda minutes: fits(replace(shop, closed_minutes=minutes)))
        if closed is not None:
            return [f"take a glue that lets a joint wait closed for {closed} min"]

    def slower(minutes: float) -> Shop:
        both = None if shop.closed_minutes is None else shop.closed_minutes * minutes / shop.open_minutes
        return replace(shop, open_minutes=minutes, closed_minutes=both)

    minutes = _fewest(shop.open_minutes, lambda minutes: fits(slower(minutes)))
    if minutes is None:
        return []
    closed = math.ceil(glue_times(replace(slower(minutes), temperature=AT)).closed - HAIR)
    return [f"take a glue that stays open for {minutes} min and lets a joint wait closed for {closed}"]


def _fewest(now: float, enough: Callable[[float], bool]) -> int | None:
    """Return the fewest whole minutes above those now that are enough; None where SLOWER_MOST times is not.

    More minutes never make a stage worse, so halving finds them.
    """
    few, many = math.floor(now), math.ceil(SLOWER_MOST * now)
    if not enough(many):
        return None
    while many - few > 1:
        middle = (few + many) // 2
        few, many = (few, middle) if enough(middle) else (middle, many)
    return many
