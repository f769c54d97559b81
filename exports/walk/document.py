"""The static words of the walk page: what is read without a script, without WebGL 2, and in print.

HTML of our own making: all text of the design stands in it as text, there is no script and no style attribute.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from html import escape

from assembly.rehearsal import Rehearsal
from exports import glue_ups, in_place, parts_list, words
from exports.found import NOTES
from exports.names import printable, safe
from exports.pictures.chosen import chosen, picture_name
from exports.walk.book import Json
from exports.walk.data import walk_data
from exports.walk.stills import Still, stills

Stills = Mapping[str, Still]
NO_PICTURES: Mapping[str, bytes] = {}
NAMED = 4
"""So many pieces are named in the words for a picture."""


def document(rehearsal: Rehearsal, pictures: Mapping[str, bytes] = NO_PICTURES, walk: Json | None = None) -> str:
    """Return the inside of `<main id="words">`.

    `pictures`: those of the run as PNG, by their files' names ("whole.png"); `walk`: what `walk_data` gave, where it is
    there already, for the same words stand in both.
    """
    told = walk_data(rehearsal) if walk is None else walk
    small = stills(pictures)
    return "\n".join([*_opening(told, small), *_findings(told, rehearsal, small), *_pieces(rehearsal, small),
                      *_in_place(rehearsal), *_stages(told, rehearsal, small), *_closing(told, small)])


# -- the whole ------------------------------------------------------------------------------------


def _opening(told: Json, small: Stills) -> list[str]:
    title, about = told["title"], told["about"]
    lines = ['<header class="sheet-head">', _tag("h1", title), *([_tag("p", told["says"])] if told["says"] else []),
             *(_tag("p", said) for said in about), _tag("p", told["verdict"]["said"], "sheet-verdict"), "</header>"]
    seen = f"{title} as it stands when it is finished, seen from its front and a little from above, with its sizes."
    apart = f"{title} drawn apart along the ways its pieces come together, with their names and marks."
    return [*lines, *_figure(small, "whole", seen, "The finished work."),
            *_figure(small, "apart", apart, "Drawn apart.")]


def _in_place(rehearsal: Rehearsal) -> list[str]:
    """Return, for parts out of a mesh file, what it does not say and which way each can leave the whole."""
    if not in_place.of_file(rehearsal):
        return []
    return [_section("What the file does not say", [_tag("p", said) for said in in_place.not_known(rehearsal)]),
            _section("Which way each part can leave the whole as it stands, alone and in one straight line",
                     _listed("ul", in_place.leaving(rehearsal)))]


def _closing(told: Json, small: Stills) -> list[str]:
    quality = [_tag("p", said) for said in told["quality"]]
    quality += _figure(small, "course", "The glue-ups and what waits for what, as boxes joined by arrows, those on the "
                       "longest way marked.", "The order of everything that happens.")
    quality += _figure(small, "minutes", "For each glue-up a bar for each person: when they spread, bring, close and "
                       "clamp, and when the glue's time is up.", "Who does what when.")
    cautions = [_tag("p", said) for said in told["cautions"]]
    return [*([_section("How good this order is", quality)] if quality else []),
            _section("Cautions", cautions, "sheet-cautions"),
            f"<footer>{_tag('p', _made(told))}</footer>"]


def _made(told: Json) -> str:
    source = f" from {told['file']}" if told["file"] else ""
    return f"Rehearsed by dryfit {told['version']}{source}."


# -- what was found -------------------------------------------------------------------------------


def _findings(told: Json, rehearsal: Rehearsal, small: Stills) -> list[str]:
    found: list[Json] = told["findings"]
    drawn = {n: picture_name(n, f) for n, f in chosen(rehearsal.findings, rehearsal.assembly)[0]}
    grave = [f for f in found if f["severity"] != "note"]
    notes = [f for f in found if f["severity"] == "note"]
    inside = [] if grave else [_tag("p", "Nothing amiss.")]
    inside += [line for f in grave for line in _grave(f, told, drawn.get(f["number"], ""), small)]
    return [_section("What the dry fit found", [*inside, *_notes(notes)], "sheet-found")]


def _grave(finding: Json, told: Json, picture: str, small: Stills) -> list[str]:
    stage = told["stages"][finding["stage"]]["title"] if finding["stage"] is not None else ""
    facts = {"when": stage, "where": finding["spot"], "how much": finding["amount"], "what to do": finding["remedy"]}
    pencil = finding["pencil"]
    if pencil is not None:
        part = told["parts"][pencil["part"]]
        facts["its mark"] = f"{part['name']}: {part['pencil'][pencil['mark']]['says']}"
    title = f"{finding['number']}. {finding['sign']} {finding['title']}"
    seen = f"Close-up of finding {finding['number']}, {finding['title']}: the spot ringed, the parts around it pale"
    seen += f", {finding['amount']} amiss." if finding["amount"] else "."
    return [f'<article class="sheet-finding sheet-{escape(finding["severity"])}" id="finding={finding["number"]}">',
            _tag("h3", title), _tag("p", finding["message"]), *_facts(facts),
            *_figure(small, picture, seen, ""), "</article>"]


def _notes(notes: Sequence[Json]) -> list[str]:
    """Return notes briefly, gathered by kind; of many of one kind the rest is counted."""
    kinds: dict[str, list[Json]] = {}
    for note in notes:
        kinds.setdefault(note["kind"], []).append(note)
    lines = [_tag("h3", "Good to know")] if notes else []
    for kind, some in kinds.items():
        shown = some if len(some) <= NOTES else some[:NOTES - 1]
        lines += [_tag("h4", words.sentence(kind).rstrip(".")), '<ol class="sheet-notes">']
        lines += [f'<li value="{n["number"]}" id="finding={n["number"]}">{_text(_brief(n))}</li>' for n in shown]
        lines.append("</ol>")
        if len(some) > len(shown):
            lines.append(_tag("p", f"And {len(some) - len(shown)} more of this kind, in findings.json."))
    return lines


def _brief(note: Json) -> str:
    return " ".join(s for s in (note["message"], note["remedy"]) if s)


# -- the pieces -----------------------------------------------------------------------------------


def _pieces(rehearsal: Rehearsal, small: Stills) -> list[str]:
    listed, unit = parts_list.entries(rehearsal), rehearsal.design.unit
    billed = any(entry.feet is not None for entry in listed)
    heads = ["mark", "number", "pieces", f"size, {unit}", "stock", *(["board feet"] if billed else [])]
    rows = []
    for entry in listed:
        cells = [str(entry.number), entry.names, entry.size.removesuffix(f" {unit}"), entry.stock]
        cells += [("" if entry.feet is None else f"{entry.feet:.1f}")] if billed else []
        rows.append(f'<tr><th scope="row">{_text(entry.mark)}</th>{"".join(_tag("td", cell) for cell in cells)}</tr>')
    head = "".join(f'<th scope="col">{_text(h)}</th>' for h in heads)
    caption = f"{words.count(sum(e.number for e in listed), 'piece')} of {words.count(len(listed), 'mark')}"
    table = [f'<table><caption>{_text(caption)}</caption><thead><tr>{head}</tr></thead>',
             "<tbody>", *rows, "</tbody></table>"]
    marks = _figure(small, "marks", "One piece of each kind that could be turned, lying with its marked face to the "
                    "front; the pencil mark is drawn on it.", "Pencil marks against turning.")
    notes = [_tag("p", said) for said in parts_list.notes(rehearsal)]
    return [_section("Pieces", [*table, *notes, *marks], "sheet-pieces")]


# -- the stages -----------------------------------------------------------------------------------


def _stages(told: Json, rehearsal: Rehearsal, small: Stills) -> list[str]:
    if not told["stages"]:
        return [_section("The glue-up", [_tag("p", "There is no order of glue-up to show.")])]
    lines = ['<section class="sheet-order">', _tag("h2", "The glue-up, stage by stage")]
    planned = [s for s in rehearsal.plan.stages if s.parts]
    for k, stage in enumerate(told["stages"]):
        name = f"stage_{stage['number']}_{safe(planned[k].name)}"
        times = glue_ups.time(planned[k], stage["people"])
        lines += _stage(stage, told, name, times, small)
    last = told["steps"][-1]
    return [*lines, '<section class="sheet-stage" id="step=end">', _tag("h3", last["title"]),
            *(_tag("p", said) for said in last["says"]), "</section>", "</section>"]


def _stage(stage: Json, told: Json, name: str, times: Sequence[str], small: Stills) -> list[str]:
    title, steps = stage["title"], told["steps"][stage["first"]:stage["end"]]
    names = words.several([told["parts"][piece["part"]]["name"] for piece in stage["pieces"]], most=NAMED)
    before = f"{title}: {names} before they come together, drawn back along the ways they come in, with arrows."
    setting = f"{title}: {names} closed, lying on the {stage['on']} while the glue sets, under their clamps."
    return ['<section class="sheet-stage">', '<div class="sheet-stage-head">', _tag("h3", title),
            *(_tag("p", t) for t in times), *_figure(small, name, before, "Before it closes."), "</div>",
            '<ol class="sheet-steps">', *(_step(step) for step in steps), "</ol>",
            *_figure(small, f"{name}_setting", setting, "While its glue sets."), "</section>"]


def _step(step: Json) -> str:
    inside = [_tag("h4", step["title"]), *_lines(step["says"]), *_listed("ul", step["glue"])]
    if step["minutes"] is not None:
        start, end = (_minute(t) for t in step["minutes"])
        who = f", {words.people(step['people'])}" if step["people"] else ""
        inside.insert(1, _tag("p", f"minute {start} to {end}{who}", "sheet-time"))
    return f'<li id="step={_text(step["id"])}">{"".join(inside)}</li>'


def _minute(minutes: float) -> str:
    return f"{minutes:.1f}".removesuffix(".0")


# -- HTML -----------------------------------------------------------------------------------------


def _text(said: str) -> str:
    return escape(printable(said), quote=True)


def _tag(name: str, said: str, kind: str = "") -> str:
    return f'<{name} class="{kind}">{_text(said)}</{name}>' if kind else f"<{name}>{_text(said)}</{name}>"


def _listed(name: str, said: Iterable[str]) -> list[str]:
    items = [_tag("li", one) for one in said]
    return [f"<{name}>", *items, f"</{name}>"] if items else []


def _lines(said: Sequence[str]) -> list[str]:
    """Return sentences as paragraphs; those that begin with a dash as a list below the one before."""
    found: list[str] = []
    items: list[str] = []
    for line in (*said, ""):
        if line.startswith("- "):
            items.append(line.removeprefix("- "))
            continue
        found += _listed("ul", items)
        items = []
        found += [_tag("p", line)] if line else []
    return found


def _facts(facts: Mapping[str, str]) -> list[str]:
    told = [f"<div>{_tag('dt', what)}{_tag('dd', said)}</div>" for what, said in facts.items() if said]
    return ['<dl class="sheet-facts">', *told, "</dl>"] if told else []


def _section(title: str, inside: Iterable[str], kind: str = "") -> str:
    opened = f'<section class="{kind}">' if kind else "<section>"
    return "\n".join([opened, _tag("h2", title), *inside, "</section>"])


def _figure(small: Stills, name: str, seen: str, caption: str) -> list[str]:
    still = small.get(name)
    if still is None:
        return []
    said = [_tag("figcaption", caption)] if caption else []
    return [f'<figure><img src="{still.source}" width="{still.width}" height="{still.height}" alt="{_text(seen)}">',
            *said, "</figure>"]
