"""The report: what a rehearsal found, in a woodworker's words.

One text, built once: in colour where the reader's terminal has it, plain otherwise, and
plain again as report.txt. Colour is never the only sign.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from io import StringIO
from typing import TYPE_CHECKING, TextIO

from assembly.checks.wording import small
from assembly.findings import Amount, Finding
from assembly.plan import Stage
from exports import steps, words
from exports.findings_json import counts
from exports.names import printable, shown
from exports.pieces import Alike, alike, as_cut, bounds, mass, staying
from exports.version import version

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.table import Table

    from assembly.rehearsal import Rehearsal
    from model.part import Part

WIDTH = 100
"""Characters in a line of the plain report."""
CAUTION = ("dryfit is a planning aid: it works out geometry and order, not strength. Local building codes and "
           "licensed practice govern what people walk under or lean on. Cut, lift and clamp with the usual care: "
           "guards on, help for heavy pieces, a trial without glue first.")

_SIGNS = {"stop": ("STOP", "bold #D55E00"), "warn": ("WARN", "bold #E69F00"), "note": ("note", "bold #0072B2")}
_HEADING = "bold"


def report(rehearsal: Rehearsal) -> list[RenderableType]:
    """Return the whole report's paragraphs and tables."""
    made = [*_opening(rehearsal), *_parts_list(rehearsal), _heading("What the dry fit found"),
            *findings(rehearsal), _heading("The glue-up, stage by stage"), *_stages(rehearsal)]
    return [*made, *_closing(rehearsal, verdict(rehearsal.findings)), _paragraph(""), _paragraph(CAUTION)]


def only_findings(rehearsal: Rehearsal) -> list[RenderableType]:
    """Return what is wrong, and whether it stops the glue-up."""
    return [*findings(rehearsal), *_closing(rehearsal, verdict(rehearsal.findings))]


def only_plan(rehearsal: Rehearsal) -> list[RenderableType]:
    """Return the stages; of what is wrong, only how much there is of it."""
    found = counts(rehearsal.findings)
    wrong = f"{words.count(found['stop'], 'finding stops', 'findings stop')} the glue-up" if found["stop"] else ""
    said = f"{wrong}: dryfit check says what is wrong." if wrong else verdict(rehearsal.findings)
    return [*_stages(rehearsal), *_closing(rehearsal, said), _paragraph(""), _paragraph(CAUTION)]


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
    lines.append(_paragraph(f"{words.overall((high - low).tolist(), design.unit)} "
                            "(left to right, front to back, bottom to top)"))
    return lines


def _parts_list(rehearsal: Rehearsal) -> list[RenderableType]:
    from rich import box
    from rich.table import Table

    unit, groups = rehearsal.design.unit, alike(rehearsal.design)
    rows: dict[tuple[str, str, bool], list[Alike]] = {}
    for group in groups:
        sizes = words.size(as_cut(group.first), unit).removesuffix(f" {unit}")
        rows.setdefault((sizes, _wood(group.first), group.first.temporary), []).append(group)
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False)
    table.add_column("no.", justify="right")
    table.add_column("pieces", min_width=24)
    table.add_column(f"size, {unit}", justify="right", no_wrap=True)
    table.add_column("stock", max_width=28)
    billed = any(g.board_feet is not None for g in groups)
    if billed:
        table.add_column("board feet", justify="right", no_wrap=True)
    for key, row in rows.items():
        _row(table, key, row)
    lines = [_heading("Pieces"), table, _paragraph("Size: length over the tenons × width × thickness."
             + (" A / parts pieces of one size whose joints are cut differently." if len(rows) < len(groups) else ""))]
    if billed:
        lines.append(_paragraph(f"{sum(g.board_feet or 0.0 for g in groups):.1f} board feet in all, before waste."))
    return lines


def _wood(part: Part) -> str:
    stock = part.blank.stock
    wood = shown(stock.species.name)
    return shown(stock.name) if wood in stock.name else f"{shown(stock.name)}, {wood}"


def _row(table: Table, key: tuple[str, str, bool], row: Sequence[Alike]) -> None:
    from rich.text import Text

    size, wood, temporary = key
    name = " / ".join(words.commas([p.name for p in group.parts], most=6) for group in row)
    feet = [group.board_feet for group in row if group.board_feet is not None]
    cells: list[RenderableType] = [str(sum(len(group.parts) for group in row)),
                                   Text(name + (" (taken away again)" if temporary else "")), size, Text(wood)]
    table.add_row(*[*cells, f"{sum(feet):.1f}" if feet else ""][:len(table.columns)])


def findings(rehearsal: Rehearsal) -> list[RenderableType]:
    """Return the findings, worst first."""
    if not rehearsal.findings:
        return [_paragraph("Nothing amiss.")]
    box = bounds(rehearsal.assembly)
    return [line for finding in rehearsal.findings for line in _finding(finding, box, rehearsal.design.unit)]


def _finding(finding: Finding, box: words.Box, unit: str) -> list[RenderableType]:
    sign, style = _SIGNS[finding.severity]
    about = words.several(finding.parts or finding.joints, most=6)
    names = {*finding.parts, *finding.joints}
    lines = [_paragraph(f"{sign}  {finding.kind.replace('-', ' ')}: {about}", style=style),
             _paragraph(words.sentence(finding.message, names), indent=6)]
    if finding.where is not None:
        lines.append(_paragraph(f"where: {words.spot(finding.where, box, unit)}", indent=6))
    if finding.amount is not None:
        lines.append(_paragraph(f"how much: {_amount(finding, finding.amount, unit)}", indent=6))
    if finding.remedy:
        lines.append(_paragraph(f"what to do: {words.sentence(finding.remedy, names)}", indent=6))
    return lines


def _amount(finding: Finding, amount: Amount, unit: str) -> str:
    value, whole = amount.value, round(amount.value)
    if not amount.unit and value == whole:
        thing = "joint" if finding.joints else "piece"
        return words.people(whole) if finding.kind == "hands" else words.count(whole, thing)
    named = {"mm": small(value, unit), "deg": f"{value:.3g}°", "kg": words.weight(value, unit),
             "min": f"{value:.0f} min", "mm2": words.area(value, unit), "mm3": words.volume(value, unit)}
    return named.get(amount.unit, f"{value:g} {printable(amount.unit)}".rstrip())


def _stages(rehearsal: Rehearsal) -> list[RenderableType]:
    stages = rehearsal.plan.stages
    if not stages:
        return [_paragraph("There is no order of glue-up to show.")]
    lines = [_paragraph(words.CONVENTION)]
    for stage in stages:
        lines += _stage(stage, rehearsal)
    return lines


def _stage(stage: Stage, rehearsal: Rehearsal) -> list[RenderableType]:
    unit, parts = rehearsal.design.unit, rehearsal.design.part
    lines = [_paragraph(""), _paragraph(_title(stage), style=_HEADING)]
    told = steps.lines(stage.moves, steps.units(stage, rehearsal.plan), unit, lambda name: parts[name].group or name)
    wide = max((len(line.number) for line in told), default=0)
    lines += [_paragraph(f"{line.number:>{wide}} {line.said}", indent=4, hanging=wide + 1) for line in told]
    if afterwards := steps.afterwards(stage, rehearsal.design):
        lines.append(_paragraph(afterwards, indent=4))
    lines.append(_paragraph(f"{_time(stage.minutes)}. Takes {words.people(stage.hands)}.", 4))
    bench = f"{words.weight(stage.mass_kg, unit)}, {words.overall(stage.size_mm, unit)}"
    lines.append(_paragraph(f"On the bench: {bench}.", indent=4))
    return lines


def _title(stage: Stage) -> str:
    numbered = f"Stage {stage.number}"
    title = numbered if stage.name == f"glue-up {stage.number}" else f"{numbered}: {shown(stage.name)}"
    if not stage.needs:
        return title
    return f"{title}, after stage{'s' * (len(stage.needs) > 1)} {words.several([str(n) for n in stage.needs], most=9)}"


def _time(minutes: Mapping[str, float]) -> str:
    """Return the minutes as a rule of thumb deserves: whole ones."""
    whole = max(1, round(minutes.get("needed", 0.0)))
    spread = min(whole, round(minutes.get("spread", 0.0)))
    shared = f" ({spread} to spread, {whole - spread} to close)" if 0 < spread < whole else ""
    return f"About {whole} min{shared}; the glue stays open for {minutes.get('open', 0.0):g} min"


def _closing(rehearsal: Rehearsal, said: str) -> list[RenderableType]:
    return [_paragraph(""), _paragraph(said, style=_SIGNS["stop"][1] if rehearsal.stops else "bold #009E73")]


def verdict(findings: Iterable[Finding]) -> str:
    """Return the closing line: whether anything stops the glue-up."""
    found = counts(findings)
    if found["stop"]:
        said = words.count(found["stop"], "finding stops", "findings stop")
        return f"{said} the glue-up: put right what is marked STOP and rehearse again."
    if found["warn"]:
        return f"Nothing stops the glue-up; look at {words.count(found['warn'], 'warning')} first."
    return "Nothing stops the glue-up."
