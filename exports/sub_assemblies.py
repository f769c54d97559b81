"""What the report says of sub-assemblies: which are the same, which are mirror images."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from assembly.alike_units import SubAssembly, sub_assemblies
from assembly.placing import as_drawn
from exports.names import shown

if TYPE_CHECKING:
    from assembly.rehearsal import Rehearsal

SAID = {"same": "are the same", "mirror": "are mirror images of each other",
        "alike": "are alike but for some of their cuts"}
MOST = 8
"""Of more sentences than this the rest is counted."""


def sentences(rehearsal: Rehearsal) -> list[str]:
    """Return a sentence for each kind of likeness between what the stages glue up, in the order of the stages."""
    laid = sub_assemblies(as_drawn(rehearsal.assembly), rehearsal.plan)
    crowded = _crowded([s for one in laid for s in (one.one, one.other)])
    sets: dict[tuple[SubAssembly, str], list[SubAssembly]] = {}
    for one in laid:
        sets.setdefault((one.one, one.how), [one.one]).append(one.other)
    told = [f"{_listed([_called(s, crowded) for s in members])} {SAID[how]}." for (_, how), members in sets.items()]
    return told if len(told) <= MOST else [*told[:MOST - 1], f"And {len(told) - MOST + 1} more likenesses."]


def _crowded(found: Sequence[SubAssembly]) -> frozenset[str]:
    """Return the stages that glue up several of the sets."""
    parts: dict[str, set[tuple[str, ...]]] = {}
    for one in found:
        parts.setdefault(one.stage, set()).add(tuple(one.parts))
    return frozenset(stage for stage, sets in parts.items() if len(sets) > 1)


def _called(one: SubAssembly, crowded: frozenset[str]) -> str:
    return f"the {len(one.parts)} parts with {shown(one.parts[0])}" if one.stage in crowded else shown(one.stage)


def _listed(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]])
