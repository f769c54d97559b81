"""The report: what a rehearsal found, in a woodworker's words.

One text, built once: in colour where the reader's terminal has it, plain otherwise, and
plain again as report.txt. Colour is never the only sign.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from assembly.findings import Finding
from assembly.plan import Stage
from exports import glue_ups, in_place, steps, words
from exports.findings_json import counts
from exports.found import SIGNS, findings
from exports.names import shown
from exports.parts_list import Entry, entries, notes
from exports.pieces import bounds, mass, staying
from exports.prose import HEADING, heading, paragraph
from exports.version import version

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.table import Table

    from assembly.rehearsal import Rehearsal

CAUTION = ("dryfit is a planning aid: it works out geometry and order, not strength. Local building codes and "
           "licensed practice govern what people walk under or lean on. Cut, lift and clamp with the usual care: "
           "guards on, help for heavy pieces, a trial without glue first.")
NO_PICTURES: Mapping[int, str] = {}


def report(rehearsal: Rehearsal, pictures: Mapping[int, str] = NO_PICTURES) -> list[RenderableType]:
    """Return the whole report's paragraphs and tables; `pictures` gives the files of findings by their number."""
    made = [*_opening(rehearsal), *_parts_list(rehearsal), *_in_place(rehearsal), heading("What the dry fit found"),
            *findings(rehearsal, pictures), heading("The glue-up, stage by stage"), *_stages(rehearsal)]
    return [*made, *_closing(rehearsal, verdict(rehearsal.findings)), paragraph(""), paragraph(CAUTION)]


def only_findings(rehearsal: Rehearsal) -> list[RenderableType]:
    """Return what is wrong, and whether it stops the glue-up."""
    return [*findings(rehearsal, NO_PICTURES), *_closing(rehearsal, verdict(rehearsal.findings))]


def only_plan(rehearsal: Rehearsal) -> list[RenderableType]:
    """Return the stages; of what is wrong, only how much there is of it."""
    found = counts(rehearsal.findings)
    wrong = f"{words.count(found['stop'], 'finding stops', 'findings stop')} the glue-up" if found["stop"] else ""
    said = f"{wrong}: dryfit check says what is wrong." if wrong else verdict(rehearsal.findings)
    return [*_stages(rehearsal), *_closing(rehearsal, said), paragraph(""), paragraph(CAUTION)]


def _opening(rehearsal: Rehearsal) -> list[RenderableType]:
    design, assembly = rehearsal.design, rehearsal.assembly
    low, high = bounds(assembly)
    stay = len(staying(assembly))
    temporary = sum(p.temporary for p in design.parts)
    pieces = words.count(stay, "piece") + (f" and {temporary} that leave again" if temporary else "")
    lines = [paragraph(f"{shown(design.name)}, rehearsed by dryfit {version()}", style=HEADING)]
    if design.says:
        lines.append(paragraph(design.says[:2000]))
    joints = words.count(len(design.joints), "seam" if in_place.of_file(rehearsal) else "joint")
    lines.append(paragraph(f"{pieces}, {joints}, {words.weight(mass(assembly), design.unit)}"))
    lines.append(paragraph(f"{words.overall((high - low).tolist(), design.unit)} "
                            "(left to right, front to back, bottom to top)"))
    return lines


def _parts_list(rehearsal: Rehearsal) -> list[RenderableType]:
    from rich import box
    from rich.table import Table

    unit, listed = rehearsal.design.unit, entries(rehearsal)
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False)
    table.add_column("mark")
    table.add_column("no.", justify="right")
    table.add_column("pieces", min_width=24)
    table.add_column(f"size, {unit}", justify="right", no_wrap=True)
    table.add_column("stock", max_width=24)
    if any(entry.feet is not None for entry in listed):
        table.add_column("board\nfeet", justify="right", no_wrap=True)
    for entry in listed:
        _row(table, entry, unit)
    return [heading("Pieces"), table, *(paragraph(said) for said in notes(rehearsal))]


def _in_place(rehearsal: Rehearsal) -> list[RenderableType]:
    """Return, for parts out of a mesh file, what it does not say and which way each can leave the whole."""
    if not in_place.of_file(rehearsal):
        return []
    return [heading("What the file does not say"), *(paragraph(said) for said in in_place.not_known(rehearsal)),
            heading("Which way each part can leave the whole as it stands, alone and in one straight line"),
            *(paragraph(said, indent=4, hanging=2) for said in in_place.leaving(rehearsal))]


def _row(table: Table, entry: Entry, unit: str) -> None:
    from rich.text import Text

    cells: list[RenderableType] = [
        entry.mark, str(entry.number), Text(entry.names), entry.size.removesuffix(f" {unit}"), Text(entry.stock),
        "" if entry.feet is None else f"{entry.feet:.1f}"]
    table.add_row(*cells[:len(table.columns)])


def _stages(rehearsal: Rehearsal) -> list[RenderableType]:
    plan = rehearsal.plan
    if not plan.stages:
        return [paragraph("There is no order of glue-up to show.")]
    lines = [paragraph(words.CONVENTION), paragraph(glue_ups.caution(rehearsal))]
    for stage in plan.stages:
        lines += _stage(stage, rehearsal)
    return [*lines, paragraph(""), *(paragraph(said) for said in glue_ups.quality(plan))]


def _stage(stage: Stage, rehearsal: Rehearsal) -> list[RenderableType]:
    design = rehearsal.design
    unit, parts, called = design.unit, design.part, steps.units(stage, rehearsal.plan)
    lines = [paragraph(""), paragraph(_title(stage), style=HEADING)]
    if stage.actions:
        ready = {group: name.onto for group, name in called.items()}
        lines += [paragraph(said, indent=4, hanging=2) for said in (
            glue_ups.lying(stage, unit), glue_ups.laid_out(stage, design, ready)) if said]
    told = steps.lines(stage.moves, called, unit, lambda name: parts[name].group or name,
                       any(clamp.kind == "band" for clamp in stage.clamps))
    wide = max((len(line.number) for line in told), default=0)
    lines += [paragraph(f"{line.number:>{wide}} {line.said}", indent=4, hanging=wide + 1) for line in told]
    for said in (*glue_ups.glue(stage, design), *glue_ups.clamps(stage, unit, rehearsal.findings)):
        lines.append(paragraph(said, indent=4, hanging=2))
    if afterwards := steps.afterwards(stage, design):
        lines.append(paragraph(afterwards, indent=4))
    lines += [paragraph(said, indent=4, hanging=2) for said in glue_ups.time(stage, design.shop.people)]
    bench = f"{words.weight(stage.mass_kg, unit)}, {words.overall(stage.size_mm, unit)}"
    lines.append(paragraph(f"It then weighs {bench}.", indent=4))
    return lines


def _title(stage: Stage) -> str:
    numbered = f"Stage {stage.number}"
    title = numbered if stage.name == f"glue-up {stage.number}" else f"{numbered}: {shown(stage.name)}"
    if not stage.needs:
        return title
    return f"{title}, after stage{'s' * (len(stage.needs) > 1)} {words.several([str(n) for n in stage.needs], most=9)}"


def _closing(rehearsal: Rehearsal, said: str) -> list[RenderableType]:
    return [paragraph(""), paragraph(said, style=SIGNS["stop"][1] if rehearsal.stops else "bold #009E73")]


def verdict(noticed: Iterable[Finding]) -> str:
    """Return the closing line: whether anything stops the glue-up."""
    found = counts(noticed)
    if found["stop"]:
        said = words.count(found["stop"], "finding stops", "findings stop")
        return f"{said} the glue-up: put right what is marked STOP and rehearse again."
    if found["warn"]:
        return f"Nothing stops the glue-up; look at {words.count(found['warn'], 'warning')} first."
    return "Nothing stops the glue-up."
