"""The report: what a rehearsal found, in a woodworker's words.

One text, built once: in colour where the reader's terminal has it, plain otherwise, and
plain again as report.txt. Colour is never the only sign.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from io import StringIO
from typing import TYPE_CHECKING, TextIO

from assembly.findings import Amount, Finding
from assembly.plan import Stage
from exports import steps, words
from exports.findings_json import counts
from exports.names import printable, shown
from exports.pieces import Alike, alike, as_cut, bounds, called, mass, staying
from exports.version import version

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.table import Table

    from assembly.rehearsal import Rehearsal

WIDTH = 100
"""Characters in a line of the plain report."""
CAUTION = ("dryfit is a planning aid: it works out geometry and order, not strength. Local building codes and "
           "licensed practice govern what people walk under or lean on. Cut, lift and clamp with the usual care: "
           "guards on, help for heavy pieces, a trial without glue first.")

_SIGNS = {"stop": ("STOP", "bold #D55E00"), "warn": ("WARN", "bold #E69F00"), "note": ("note", "bold #0072B2")}
_HEADING = "bold"


def report(rehearsal: Rehearsal, *, parts: bool = True, findings: bool = True,
           stages: bool = True) -> list[RenderableType]:
    """Return the report's paragraphs and tables, with the chapters that are asked for."""
    made = _opening(rehearsal)
    if parts:
        made += _parts_list(rehearsal)
    if findings:
        made += _findings(rehearsal)
    if stages:
        made += _stages(rehearsal)
    return [*made, *_closing(rehearsal)]


def plain(paragraphs: Sequence[RenderableType], width: int = WIDTH) -> str:
    """Return the report as plain text without trailing spaces."""
    from rich.console import Console

    page = StringIO()
    Console(file=page, width=width, color_system=None, force_terminal=False, legacy_windows=False,
            highlight=False, emoji=False, markup=False).print(*paragraphs, sep="\n")
    return "\n".join(line.rstrip() for line in page.getvalue().splitlines()).rstrip() + "\n"


def show_on(stream: TextIO, paragraphs: Sequence[RenderableType]) -> None:
    """Write the report on a stream: in colour and as wide as it is where it is a terminal, else plain."""
    if not stream.isatty():
        stream.write(plain(paragraphs))
        return
    from rich.console import Console

    console = Console(file=stream, highlight=False, emoji=False, markup=False)
    console.width = min(console.width, WIDTH + 20)
    console.print(*paragraphs, sep="\n")


def _heading(words_: str) -> RenderableType:
    from rich.text import Text

    return Text(f"\n{words_}\n{'-' * len(words_)}", style=_HEADING)


def _paragraph(said: str, indent: int = 0, hanging: int = 0, style: str = "") -> RenderableType:
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    text = Text(printable(said), style=style)
    if not hanging:
        return Padding(text, (0, 0, 0, indent)) if indent else text
    grid = Table.grid(padding=0)
    grid.add_column(width=hanging, no_wrap=True)
    grid.add_column()
    grid.add_row(Text(printable(said[:hanging])), Text(printable(said[hanging:]), style=style))
    return Padding(grid, (0, 0, 0, indent))


def _opening(rehearsal: Rehearsal) -> list[RenderableType]:
    design, assembly = rehearsal.design, rehearsal.assembly
    low, high = bounds(assembly)
    stay = len(staying(assembly))
    temporary = sum(p.temporary for p in design.parts)
    pieces = words.count(stay, "piece") + (f" and {temporary} that leave again" if temporary else "")
    lines = [_paragraph(f"{shown(design.name)}, rehearsed by dryfit {version()}", style=_HEADING)]
    if design.says:
        lines.append(_paragraph(design.says[:2000]))
    joints = words.count(len(design.joints), "joint")
    lines.append(_paragraph(f"{pieces}, {joints}, {words.weight(mass(assembly), design.unit)}"))
    lines.append(_paragraph(f"{words.size((high - low).tolist(), design.unit)} "
                            "(left to right, front to back, bottom to top)"))
    return lines


def _parts_list(rehearsal: Rehearsal) -> list[RenderableType]:
    from rich import box
    from rich.table import Table

    groups = alike(rehearsal.design)
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False)
    table.add_column("no.", justify="right")
    table.add_column("pieces", min_width=24)
    table.add_column(f"size, {rehearsal.design.unit}", justify="right")
    table.add_column("stock", max_width=32)
    feet = [g.board_feet for g in groups]
    billed = any(f is not None for f in feet)
    if billed:
        table.add_column("board feet", justify="right", no_wrap=True)
    for group in groups:
        _row(table, group, rehearsal.design.unit)
    lines = [_heading("Pieces"), table, _paragraph("Size: length over the tenons × width × thickness.")]
    if billed:
        lines.append(_paragraph(f"{sum(f for f in feet if f):.1f} board feet in all, before waste."))
    return lines


def _row(table: Table, group: Alike, unit: str) -> None:
    from rich.text import Text

    part, stock, feet = group.first, group.first.blank.stock, group.board_feet
    name = called(group.parts) + (" (leaves again)" if part.temporary else "")
    wood = shown(stock.species.name)
    out_of = shown(stock.name) if wood in stock.name else f"{shown(stock.name)}, {wood}"
    size = words.size(as_cut(part), unit).removesuffix(f" {unit}")
    cells: list[RenderableType] = [str(len(group.parts)), Text(name), size, Text(out_of)]
    table.add_row(*[*cells, "" if feet is None else f"{feet:.1f}"][:len(table.columns)])


def _findings(rehearsal: Rehearsal) -> list[RenderableType]:
    found = rehearsal.findings
    lines = [_heading("What the dry fit found")]
    if not found:
        return [*lines, _paragraph("Nothing amiss.")]
    box = bounds(rehearsal.assembly)
    for finding in found:
        lines += _finding(finding, box, rehearsal.design.unit)
    return lines


def _finding(finding: Finding, box: words.Box, unit: str) -> list[RenderableType]:
    sign, style = _SIGNS[finding.severity]
    about = words.several(finding.parts or finding.joints, most=6)
    lines = [_paragraph(f"{sign}  {finding.kind}: {about}", style=style),
             _paragraph(finding.message, indent=6)]
    if finding.where is not None:
        lines.append(_paragraph(f"where: {words.spot(finding.where, box, unit)}", indent=6))
    if finding.amount is not None:
        lines.append(_paragraph(f"how much: {_amount(finding.amount, unit)}", indent=6))
    if finding.remedy:
        lines.append(_paragraph(f"what to do: {finding.remedy}", indent=6))
    return lines


def _amount(amount: Amount, unit: str) -> str:
    value = amount.value
    named = {"mm": words.fine(value, unit), "deg": f"{value:.2f}°", "kg": words.weight(value, unit),
             "min": f"{value:.1f} min", "mm2": f"{value / 100:.1f} cm²", "mm3": f"{value / 1000:.1f} cm³"}
    return named.get(amount.unit, f"{value:g} {printable(amount.unit)}".rstrip())


def _stages(rehearsal: Rehearsal) -> list[RenderableType]:
    lines = [_heading("The glue-up, stage by stage")]
    stages = rehearsal.plan.stages
    if not stages:
        return [*lines, _paragraph("There is no order of glue-up to show.")]
    lines.append(_paragraph(words.CONVENTION))
    for stage in stages:
        lines += _stage(stage, rehearsal)
    return lines


def _stage(stage: Stage, rehearsal: Rehearsal) -> list[RenderableType]:
    unit = rehearsal.design.unit
    title = f"Stage {stage.number}: {shown(stage.name)}"
    if stage.needs:
        title += f", after stage{'s' * (len(stage.needs) > 1)} {words.several([str(n) for n in stage.needs], most=9)}"
    lines = [_paragraph(""), _paragraph(title, style=_HEADING)]
    called = steps.units(stage, rehearsal.plan)
    for number, move in enumerate(stage.moves, 1):
        lines.append(_paragraph(f"{number:>3}. {steps.step(move, called, unit)}", indent=2, hanging=5))
    if stage.takes_away:
        lines.append(_paragraph(f"Once the glue has set, take away {words.several(stage.takes_away, most=6)}.", 2))
    lines.append(_paragraph(f"{_time(stage.minutes)}, {words.count(stage.hands, 'pair')} of hands.", 2))
    bench = f"{words.weight(stage.mass_kg, unit)}, {words.size(stage.size_mm, unit)}"
    lines.append(_paragraph(f"On the bench: {bench}.", indent=2))
    return lines


def _time(minutes: Mapping[str, float]) -> str:
    spent = f"{minutes.get('needed', 0.0):.1f} of the {minutes.get('open', 0.0):g} minutes that the glue stays open"
    return f"{spent} ({minutes.get('spread', 0.0):.1f} to spread, {minutes.get('close', 0.0):.1f} to close)"


def _closing(rehearsal: Rehearsal) -> list[RenderableType]:
    style = _SIGNS["stop"][1] if rehearsal.stops else "bold #009E73"
    return [_paragraph(""), _paragraph(verdict(rehearsal.findings), style=style), _paragraph(""), _paragraph(CAUTION)]


def verdict(findings: Iterable[Finding]) -> str:
    """Return the closing line: whether anything stops the glue-up."""
    found = counts(findings)
    if found["stop"]:
        said = words.count(found["stop"], "finding stops", "findings stop")
        return f"{said} the glue-up: put right what is marked STOP and rehearse again."
    if found["warn"]:
        return f"Nothing stops the glue-up; look at {words.count(found['warn'], 'warning')} first."
    return "Nothing stops the glue-up."
