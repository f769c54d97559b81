"""What pictures call things: pieces, groups of pieces, minutes and hands, in few words."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assembly.alike import marks
from assembly.checks.wording import small
from assembly.findings import Finding
from assembly.placing import Assembly
from assembly.plan import Plan, Stage
from exports.names import runs, shown
from exports.pictures.lettering import legible
from exports.words import area, count, overall, people, volume, weight

MOST_LABELS = 12
AT_LARGE = frozenset({"blocked"})
"""Kinds of finding that are about all their parts and joints together, not about one spot."""
MOST_MARKS = 2
"""A label for pieces of more marks than this shows none."""
LONGEST = 30
"""Characters of a label's line."""


@dataclass(frozen=True)
class Named:
    """A label to be: its lines, the parts it stands for, whether they are temporary, and the marks written on them."""

    lines: tuple[str, ...]
    parts: tuple[str, ...]
    temporary: bool = False
    mark: str = ""


def plain(name: str) -> str:
    """Return a part's name as a label shows it: in letters that can be drawn, with spaces for underscores."""
    return legible(shown(name)).replace("_", " ")


def several(names: Sequence[str], group: str) -> str:
    """Return one short name for parts of a group: "rail 1–12" for numbered ones, else "12 × rail"."""
    if len(names) == 1:
        return plain(names[0])
    unbroken = runs(names)
    if len(unbroken) == 1 and unbroken[0][-1][-1:].isdigit():
        first, last = plain(unbroken[0][0]), plain(unbroken[0][-1])
        return f"{first}–{re.split('[^0-9]', last)[-1]}"
    return f"{len(names)} × {plain(group)}"


def labelled(names: Sequence[str], assembly: Assembly, most: int = MOST_LABELS) -> list[Named]:
    """Return at most `most` labels for parts: one for each while there are few, else one a group."""
    groups: dict[tuple[str, bool], list[str]] = {}
    for name in names:
        part = assembly.part(name)
        groups.setdefault((part.group or name, part.temporary), []).append(name)
    total = len(groups)
    alone: set[tuple[str, bool]] = set()
    for key in sorted(groups, key=lambda k: len(groups[k])):
        if total + len(groups[key]) - 1 <= most and len(groups[key]) <= 4:
            alone.add(key)
            total += len(groups[key]) - 1
    found: list[Named] = []
    for key, members in groups.items():
        sets = [[m] for m in members] if key in alone else [members]
        found += [_named(several(s, key[0]), tuple(s), key[1], assembly) for s in sets]
    return found if len(found) <= most else [*found[: most - 1], _rest(found[most - 1:])]


def called(name: str, assembly: Assembly) -> Named:
    """Return the label of one part."""
    return _named(plain(name), (name,), assembly.part(name).temporary, assembly)


def _named(text: str, parts: tuple[str, ...], temporary: bool, assembly: Assembly) -> Named:
    lines = (shortened(text), "temporary") if temporary else (shortened(text),)
    return Named(lines, parts, temporary, _marked(parts, assembly))


def _marked(parts: Sequence[str], assembly: Assembly) -> str:
    """Return the marks of some parts as a label has room for them: "A", "Ca, Cb", nothing where they are many."""
    known = marks(assembly.design)
    told = list(dict.fromkeys(known[name] for name in parts))
    return ", ".join(sorted(told)) if len(told) <= MOST_MARKS else ""


def _rest(left: Sequence[Named]) -> Named:
    parts = tuple(p for named in left for p in named.parts)
    return Named((f"and {count(len(parts), 'piece')} more",), parts)


def shortened(text: str, longest: int = LONGEST) -> str:
    """Return text cut to what a label can hold."""
    return text if len(text) <= longest else text[: longest - 1].rstrip() + "…"


def earlier(unit: Sequence[str], stage: Stage, plan: Plan) -> Named:
    """Return the label of a group that comes glued to a stage."""
    made = next((s for s in reversed(plan.stages)
                 if s.number < stage.number and any(set(unit) == set(r) for r in s.results)), None)
    if made is None:
        return Named((f"{len(unit)} pieces,", "glued before"), tuple(unit))
    share = "part of " if len(made.results) > 1 else ""
    return Named((shortened(share + plain(made.name)), f"glued in stage {made.number}"), tuple(unit))


def minutes(times: Mapping[str, float]) -> float:
    """Return the minutes a stage needs in all."""
    return float(times["needed"]) if "needed" in times else float(sum(times.values()))


def happens(stage: Stage) -> str:
    """Return one line on what a stage does."""
    if not stage.moves:
        return f"{count(len(stage.parts), 'piece')} at the bench, {count(len(stage.joints), 'joint')}"
    slid = sum(len(m.parts) == 1 and bool(m.onto) for m in stage.moves)
    groups = sum(len(m.parts) > 1 and bool(m.onto) and not m.simultaneous for m in stage.moves)
    once = any(m.simultaneous for m in stage.moves)
    told = [count(slid, "piece") + " one by one"] if slid else []
    told += [count(groups, "group") + " in one go"] if groups else []
    told += ["pieces drawn together all at the same time"] if once else []
    return f"{count(len(stage.joints), 'joint')}: " + ", then ".join(told or ["pieces laid down"])


def effort(stage: Stage, unit: str) -> str:
    """Return one line with the minutes, hands, mass and size of a stage."""
    told = [f"about {max(1, round(minutes(stage.minutes)))} min"] if stage.minutes else []
    told.append(people(stage.hands))
    told += [weight(stage.mass_kg, unit)] if stage.mass_kg >= 1 else []
    told += [overall(stage.size_mm, unit)] if any(stage.size_mm) else []
    return " · ".join(told)


def leaves(stage: Stage, assembly: Assembly) -> str:
    """Return what is taken away after a stage, or nothing."""
    if not stage.takes_away:
        return ""
    groups: dict[str, list[str]] = {}
    for name in stage.takes_away:
        groups.setdefault(assembly.part(name).group or name, []).append(name)
    return "Afterwards come away: " + ", ".join(several(m, g) for g, m in groups.items())


def amount(finding: Finding, unit: str) -> str:
    """Return how much a finding is about, in words; nothing where the number only counts, or there is none of it."""
    if finding.amount is None or not finding.amount.unit or abs(finding.amount.value) < 1e-9:
        return ""
    value, kind = finding.amount.value, finding.amount.unit
    named = {"mm": small(value, unit), "deg": f"{value:.2f}°", "mm2": area(value, unit), "mm3": volume(value, unit)}
    return named.get(kind, f"{value:g} {kind}")
