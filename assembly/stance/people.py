"""People: how many it takes to lift, by the shop's own figures where it has them."""

from __future__ import annotations

from dataclasses import replace

from assembly.effort import effort, people
from model.shop import Shop

PEOPLE_MOST = 4
"""More people than this cannot lift one piece together safely; it takes a hoist (common practice, no source)."""
MASS_MOST = 100.0
"""Nothing heavier than this is lifted by hand, kg (common practice, no source)."""


def people_for(mass: float, length: float, shop: Shop) -> int:
    """Return how many people lift a piece of this mass, kg, and length, mm: one, two by length alone, or more.

    Rules of thumb of the table `model/data/effort.csv`, or what the shop says that one and two lift; each further
    person adds the same share of what two lift as in the table. Local rules on lifting come first.
    """
    table = effort()
    one, two = _lifted(shop)
    if mass <= one:
        return 2 if length > table.long_piece else 1
    each_more = (table.lift_two - table.lift_one) * two / table.lift_two
    rules = replace(table, lift_one=two - each_more, lift_two=two)
    return max(2, people(mass, length, rules))


def _lifted(shop: Shop) -> tuple[float, float]:
    """Return what one person and two people lift, kg; where the shop says one of them, the other keeps its share."""
    table = effort()
    share = table.lift_two / table.lift_one
    if shop.lift_one is None:
        two = table.lift_two if shop.lift_two is None else shop.lift_two
        return min(table.lift_one, two / share), two
    return shop.lift_one, max(shop.lift_one, shop.lift_one * share if shop.lift_two is None else shop.lift_two)


def by_hand(mass: float, count: int) -> bool:
    """Return whether people can lift it at all, without a hoist."""
    return mass <= MASS_MOST and count <= PEOPLE_MOST
