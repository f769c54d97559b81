"""What the dry fit found, in words: what stops first, then what warns, then briefly what is good to know."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from assembly.checks.wording import small
from assembly.findings import Amount, Finding
from exports import words
from exports.names import printable, shown
from exports.pieces import bounds
from exports.prose import HEADING, paragraph

if TYPE_CHECKING:
    from rich.console import RenderableType

    from assembly.rehearsal import Rehearsal

SIGNS = {"stop": ("STOP", "bold #D55E00"), "warn": ("WARN", "bold #E69F00"), "note": ("note", "bold #0072B2")}
NOTES = 6
"""Of more notes of one kind than this the rest is counted; findings.json and --json have them all."""
MORE = "dryfit explain KIND tells what a kind of finding means in the trade, and what dryfit cannot see of it."
Numbered = tuple[int, Finding]


def findings(rehearsal: Rehearsal, pictures: Mapping[int, str]) -> list[RenderableType]:
    """Return the findings, worst first and numbered as in the pictures; `pictures` gives their files by number."""
    if not rehearsal.findings:
        return [paragraph("Nothing amiss.")]
    numbered = list(enumerate(rehearsal.findings, 1))
    grave = [nf for nf in numbered if nf[1].severity != "note"]
    lines = [line for n, f in grave for line in _grave(n, f, rehearsal, pictures.get(n))]
    notes = [nf for nf in numbered if nf[1].severity == "note"]
    return [*lines, *(_notes(notes, rehearsal, bool(grave)) if notes else []), paragraph(""), paragraph(MORE)]


def _grave(number: int, finding: Finding, rehearsal: Rehearsal, picture: str | None) -> list[RenderableType]:
    sign, style = SIGNS[finding.severity]
    unit, box = rehearsal.design.unit, bounds(rehearsal.assembly)
    lines = [paragraph(f"{number}. {sign}  {about(finding)}", style=style),
             paragraph(words.sentence(finding.message, names_of(finding)), indent=4)]
    told = {
        "when": when(finding, rehearsal),
        "where": words.spot(finding.where, box, unit) if finding.where is not None else "",
        "how much": amount(finding, finding.amount, unit) if finding.amount is not None else "",
        "what to do": words.sentence(finding.remedy, names_of(finding)) if finding.remedy else "",
        "picture": picture or "",
    }
    return [*lines, *(paragraph(f"{what}: {said}", indent=4) for what, said in told.items() if said)]


def about(finding: Finding) -> str:
    """Return what a finding is called: its kind, and what it is about."""
    named = words.several(finding.parts or finding.joints, most=6)
    return f"{finding.kind.replace('-', ' ')}: {named}"


def names_of(finding: Finding) -> set[str]:
    """Return the names that a finding's words may begin with."""
    return {*finding.parts, *finding.joints}


def when(finding: Finding, rehearsal: Rehearsal) -> str:
    """Return when a finding shows, where its message does not say so already."""
    told = []
    if finding.stage and finding.stage not in finding.message:
        numbers = [s.number for s in rehearsal.plan.stages if s.name == finding.stage]
        which = f"stage {numbers[0]}" if numbers else "stage"
        named = numbers and finding.stage == f"glue-up {numbers[0]}"
        told.append(f"it shows in {which}" if named else f"it shows in {which}, {shown(finding.stage)}")
    if finding.late and not any(said in finding.message for said in ("has set", "have set")):
        told.append("only after the glue has set" if told else "it shows only after the glue has set")
    return ", ".join(told)


def amount(finding: Finding, much: Amount, unit: str) -> str:
    """Return how much a finding is about, in the design's unit."""
    value, whole = much.value, round(much.value)
    if not much.unit and value == whole:
        thing = "joint" if finding.joints else "piece"
        return words.people(whole) if finding.kind == "hands" else words.count(whole, thing)
    named = {"mm": small(value, unit), "deg": f"{value:.3g}°", "kg": words.weight(value, unit),
             "min": f"{value:.0f} min", "mm2": words.area(value, unit), "mm3": words.volume(value, unit)}
    return named.get(much.unit, f"{value:g} {printable(much.unit)}".rstrip())


def _notes(notes: Sequence[Numbered], rehearsal: Rehearsal, after: bool) -> list[RenderableType]:
    """Return notes briefly, gathered by kind."""
    kinds: dict[str, list[Numbered]] = {}
    for number, finding in notes:
        kinds.setdefault(finding.kind, []).append((number, finding))
    lines = [*([] if after else [paragraph("Nothing amiss.")]), paragraph(""), paragraph("Good to know", style=HEADING)]
    for kind, told in kinds.items():
        lines.append(paragraph(kind.replace("-", " "), indent=2, style=SIGNS["note"][1]))
        wide = len(f"{told[-1][0]}. ")
        most = told if len(told) <= NOTES else told[:NOTES - 1]
        lines += [paragraph(f"{f'{n}.':<{wide}}{_brief(f, rehearsal)}", indent=4, hanging=wide) for n, f in most]
        if len(told) > len(most):
            lines.append(paragraph(f"and {len(told) - len(most)} more of this kind, in findings.json", indent=4 + wide))
    return lines


def _brief(finding: Finding, rehearsal: Rehearsal) -> str:
    names = names_of(finding)
    said = [words.sentence(finding.message, names), words.sentence(when(finding, rehearsal)),
            words.sentence(finding.remedy, names)]
    return " ".join(s for s in said if s)
