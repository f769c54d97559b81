"""Glues: how much clearance each kind wants in a joint.

The figures stand in `model/data/glues.csv`, each with its status.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from model.design import Shop


@dataclass(frozen=True)
class Glue:
    """A kind of glue: the words it is known by, the least and the most clearance per side it wants, mm."""

    name: str
    words: tuple[str, ...]
    least: float
    most: float


@dataclass(frozen=True)
class Fit:
    """The clearance per side that a shop's glue wants, mm, and whose figures they are."""

    least: float
    most: float
    of: str


@cache
def glues() -> tuple[Glue, ...]:
    """Return every kind of glue of the table."""
    text = (files("model") / "data" / "glues.csv").read_text(encoding="utf-8")
    return tuple(Glue(r["glue"], tuple(r["words"].split(";")), float(r["least_mm"]), float(r["most_mm"]))
                 for r in csv.DictReader(text.splitlines()))


def recognised(name: str) -> Glue | None:
    """Return the kind of glue that a name says, by whole words; None where it says none, or more than one."""
    found = [glue for glue in glues() if says(name, glue.words)]
    return found[0] if len(found) == 1 else None


def says(name: str, words: Iterable[str]) -> bool:
    """Return whether the name of a glue has one of some words in it, whole."""
    said = f" {' '.join(re.findall(r'[a-z0-9]+', name.lower()))} "
    return any(f" {word} " in said for word in words)


def wanted_fit(shop: Shop) -> Fit | None:
    """Return the clearance a shop's glue wants: what the shop says, else the table; None where neither tells.

    What the shop says of the one limit moves the other where they would cross.
    """
    glue = recognised(shop.glue)
    if glue is None and shop.fit_least is None and shop.fit_most is None:
        return None
    least, most = (0.0, math.inf) if glue is None else (glue.least, glue.most)
    if shop.fit_least is not None:
        least, most = shop.fit_least, max(most, shop.fit_least)
    if shop.fit_most is not None:
        least, most = min(least, shop.fit_most), shop.fit_most
    return Fit(least, most, shop.glue if glue is None else glue.name)


def bridged_at_most() -> float:
    """Return the widest clearance per side that any glue of the table bridges, mm."""
    return max(glue.most for glue in glues())
