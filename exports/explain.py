"""What a kind of finding means in the trade: a text for each kind, with the limits that the checks really use."""

from __future__ import annotations

import difflib
import math
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from importlib.resources import files
from typing import TYPE_CHECKING, get_args

from assembly.findings import Kind
from exports.names import printable
from model.errors import DryfitError
from model.glues import Glue, glues
from model.units import show

if TYPE_CHECKING:
    from rich.console import RenderableType

KINDS: tuple[str, ...] = get_args(Kind)
FIGURE = re.compile(r"\{([\w.]+):([\w.]+)(?: ([\w%]+))?\}")
"""A figure in a text: the module that keeps it, its name there, the unit it is kept in."""
_INDENT = 4


class KindError(DryfitError):
    """A kind of finding that is not there: its name, those there are, the nearest."""


@dataclass(frozen=True)
class Limit:
    """A limit in words, and where it comes from."""

    says: str
    source: str


@dataclass(frozen=True)
class Explanation:
    """What a kind of finding means: in one line, what it is, how it looks at the bench, why it matters, what people
    do about it, the limits dryfit uses, and what it cannot see."""

    kind: str
    line: str
    what: str
    bench: str
    matters: str
    remedy: str
    limits: tuple[Limit, ...]
    blind: tuple[str, ...]


def texts() -> Mapping[str, Mapping[str, object]]:
    """Return the texts as they are kept, by kind, figures not yet filled in."""
    return tomllib.loads((files("exports") / "explanations.toml").read_text(encoding="utf-8"))


def listing() -> str:
    """Return the kinds of finding, one line each."""
    wide = max(map(len, KINDS))
    return "".join(f"{kind:<{wide}}  {texts()[kind]['line']}\n" for kind in KINDS)


def explanation(asked: str) -> Explanation:
    """Return the explanation of a kind; words may be apart, joined by - or _, in any case.

    Raises KindError for a kind that is not there, with the nearest name.
    """
    kind = re.sub(r"[\s_-]+", "-", asked).strip("-").lower()
    if kind not in KINDS:
        near = difflib.get_close_matches(kind[:80], KINDS, n=1, cutoff=0.5)
        hint = f"; did you mean {near[0]!r}?" if near else ""
        raise KindError(f"no such kind of finding: {printable(asked[:80])}; accepted: {', '.join(sorted(KINDS))}{hint}")
    return _filled(kind)


@cache
def _filled(kind: str) -> Explanation:
    told = texts()[kind]
    said: Callable[[str], str] = lambda key: with_figures(str(told[key]))  # noqa: E731
    limits, blind = told.get("limits", []), told["blind"]
    assert isinstance(limits, list) and isinstance(blind, list)
    return Explanation(kind, said("line"), said("is"), said("bench"), said("matters"), said("do"),
                       tuple(Limit(with_figures(one["says"]), one["from"]) for one in limits),
                       tuple(with_figures(one) for one in blind))


def with_figures(text: str) -> str:
    """Return a text with every figure looked up where the check keeps it and written with its unit."""
    return FIGURE.sub(lambda found: written(figure(found[1], found[2]), found[3] or ""), text)


def figure(module: str, name: str) -> float:
    """Return a figure by its module and its name there: a constant, or by steps an entry of a table or a field."""
    value: object = import_module(module)
    for step in name.split("."):
        value = value[step] if isinstance(value, Mapping) else getattr(value, step)
        if callable(value) and not isinstance(value, type):
            value = value()
    assert isinstance(value, int | float), f"{module}.{name} is no figure"
    return float(value)


@cache
def clearances() -> Mapping[str, Glue]:
    """Return the kinds of glue with the clearance they want, each by the first of its words."""
    return {glue.words[0]: glue for glue in glues()}


def written(value: float, unit: str) -> str:
    """Return a figure as a person reads it: lengths in mm, with inches where a tape shows them, angles in degrees."""
    if unit == "rad":
        return f"{math.degrees(value):.3g}°"
    if unit == "%":
        return f"{100.0 * value:.3g} %"
    unit = {"mm2": "mm²"}.get(unit, unit)
    beside = f" ({show(value, 'in')})" if unit == "mm" and value >= 3.0 else ""
    return f"{value:g} {unit}{beside}".strip()


def told(asked: str) -> list[RenderableType]:
    """Return what is to be said of a kind, as paragraphs."""
    from exports.prose import heading, paragraph

    one = explanation(asked)
    lines = [paragraph(f"{one.kind}: {one.line}", style="bold")]
    for title, text in (("What it is", one.what), ("At the bench", one.bench), ("Why it matters", one.matters),
                        ("What people do", one.remedy)):
        lines += [heading(title), paragraph(text)]
    limits = [f"{limit.says} Source: {limit.source}." for limit in one.limits]
    for title, listed in (("Limits", limits or ["No limit of a size: what is found is told."]),
                          ("What dryfit cannot see", one.blind)):
        lines += [heading(title), *(paragraph(f"- {text}", hanging=2) for text in listed)]
    return lines
