"""The course of the work, drawn: a row for each glue-up, what comes before it and after it, and the longest way.

Boxes gather the steps of one kind at one glue-up. Lines run to the right within a row; what a
glue-up makes goes down to the row that needs it along the left edge, and to the finished work
along the right one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import networkx as nx
from PIL import Image

from assembly.plan import Plan
from assembly.steps import STANDING
from exports import words
from exports.glue_ups import HOUR, span
from exports.names import shown
from exports.pictures.lettering import SMALL, shortened, width_of, wrapped
from exports.pictures.palette import BLUE, GREEN, INK, ORANGE, PAPER, SOFT_INK, VERMILLION, WHITE, Colour
from exports.pictures.sheet import Sheet

COLUMNS = (("cut", "carry"), ("glue",), ("wait",), ("take away",), ("later cut",), ("cure",))
"""Kinds of boxes from left to right, those of one column above each other; a column nothing is in is left out."""
SIGN: dict[str, tuple[str, Colour]] = {
    "cut": ("CUT", SOFT_INK), "carry": ("CARRY", BLUE), "glue": ("GLUE UP", VERMILLION), "wait": ("CLAMPS ON", ORANGE),
    "take away": ("TAKE AWAY", BLUE), "later cut": ("CUT AGAIN", SOFT_INK), "cure": ("CURE", GREEN)}
TOP, BOTTOM, LEFT, RIGHT = 150.0, 1120.0, 120.0, 1500.0
ROWS_MOST = 8
"""Glue-ups that have room on one sheet."""
THICK, THIN = 6.0, 2.0
LEAST = 15.0
"""Letters in narrow boxes shrink no further, pixels."""
Key = tuple[int, str]


@dataclass(frozen=True)
class _Box:
    key: Key
    lines: tuple[str, ...]
    longest: bool
    left: float
    top: float
    right: float
    bottom: float

    @property
    def middle(self) -> float:
        return (self.top + self.bottom) / 2


def draw_course(plan: Plan, title: str) -> Image.Image:
    """Return the picture of the course of the work; plans too long for a sheet end with what is left out."""
    sheet = Sheet(Image.new("RGB", (4, 3), PAPER))
    rows = [s.number for s in plan.stages][:ROWS_MOST]
    left_out = len(plan.stages) - len(rows)
    told = [f"{words.count(len(plan.stages), 'glue-up')}; {span(plan.hours * HOUR)} from the first cut until the work "
            "may be loaded. The thick line is the longest way."]
    if left_out:
        told.append(f"{words.count(left_out, 'more glue-up')}: see plan.graphml.")
    sheet.heading(f"{title}: the course of the work", told)
    web = _gathered(plan)
    boxes = _laid_out(plan, web, rows)
    _connect(sheet, web, boxes)
    for box in boxes.values():
        _draw(sheet, box)
    return sheet.finish()


def _gathered(plan: Plan) -> nx.DiGraph:
    """Return the graph of steps with those of one kind at one glue-up gathered; nodes (stage, kind)."""
    key: dict[str, Key] = {}
    for name, data in plan.steps.nodes(data=True):
        kind = str(data["kind"])
        if kind == "cut" and any(plan.steps.nodes[b]["kind"] != "cut" for b in plan.steps.predecessors(name)):
            kind = "later cut"
        if kind == "wait" and str(name).startswith("let "):
            kind = "cure"
        key[name] = (0, STANDING) if name == STANDING else (int(data["stage"]), kind)
    web = nx.DiGraph()
    for name, where in key.items():
        web.add_node(where)
        web.nodes[where].setdefault("steps", []).append(name)
    for a, b in plan.steps.edges:
        if key[a] != key[b]:
            thick = web.edges[key[a], key[b]]["thick"] if web.has_edge(key[a], key[b]) else False
            web.add_edge(key[a], key[b], thick=thick or _follow(plan.critical, a, b))
    kept = nx.transitive_reduction(web)
    web.remove_edges_from([edge for edge in web.edges if not kept.has_edge(*edge)])
    return web


def _follow(way: Sequence[str], one: str, other: str) -> bool:
    return any(a == one and b == other for a, b in pairwise(way))


def _laid_out(plan: Plan, web: nx.DiGraph, rows: Sequence[int]) -> dict[Key, _Box]:
    used = [c for c in COLUMNS if any((row, kind) in web for row in rows for kind in c)]
    wide = (RIGHT - LEFT) / max(1, len(used))
    high = min(200.0, (BOTTOM - TOP - 90.0) / max(1, len(rows)))
    found: dict[Key, _Box] = {}
    for r, row in enumerate(rows):
        top, bottom = TOP + r * high + 8.0, TOP + (r + 1) * high - 26.0
        for c, column in enumerate(used):
            here = [(row, kind) for kind in column if (row, kind) in web]
            each = (bottom - top + 8.0) / max(1, len(here))
            for k, key in enumerate(here):
                left, right = LEFT + c * wide + 4.0, LEFT + (c + 1) * wide - 34.0
                at = (left, top + k * each, right, top + (k + 1) * each - 8.0)
                lines = _said(plan, web, key, at[2] - at[0] - 24.0, at[3] - at[1])
                found[key] = _Box(key, lines, _longest(plan, web, key), *at)
    if (0, STANDING) in web:
        top = TOP + len(rows) * high + 8.0
        lines = (f"standing: may be loaded after {span(plan.hours * HOUR)}",)
        found[0, STANDING] = _Box((0, STANDING), lines, True, RIGHT - 554.0, top, RIGHT - 34.0, top + 64.0)
    return found


def _longest(plan: Plan, web: nx.DiGraph, key: Key) -> bool:
    return any(name in plan.critical for name in web.nodes[key]["steps"])


def _said(plan: Plan, web: nx.DiGraph, key: Key, wide: float, high: float) -> tuple[str, ...]:
    steps = web.nodes[key]["steps"]
    nodes = plan.steps.nodes
    minutes = sum(nodes[n]["minutes"] for n in steps)
    parts = list(dict.fromkeys(p for n in steps for p in nodes[n]["parts"]))
    stage = next(s for s in plan.stages if s.number == key[0])
    said = {
        "cut": words.count(len(parts), "piece"), "carry": words.count(len(parts), "piece"),
        "glue": f"{stage.number}. {shown(stage.name)}: {words.count(len(stage.joints), 'joint')}",
        "wait": "", "cure": "", "take away": words.several(parts, most=2), "later cut": words.count(len(parts), "piece"),
    }[key[1]]
    most = max(1, int((high - 30.0) // (SMALL * 1.3)))
    lines = [*(wrapped(said, SMALL, wide) if said else []), span(minutes)]
    if len(lines) <= most:
        return tuple(lines)
    return (*lines[:most - 1], ", ".join([said, span(minutes)]) if most == 1 and said else lines[-1])


def _connect(sheet: Sheet, web: nx.DiGraph, boxes: dict[Key, _Box]) -> None:
    down = [(a, b) for a, b in web.edges if a in boxes and b in boxes and a[0] != b[0] and b[0] != 0]
    out = [(a, b) for a, b in web.edges if a in boxes and b in boxes and b[0] == 0]
    for a, b in web.edges:
        if a in boxes and b in boxes and a[0] == b[0]:
            one, other = boxes[a], boxes[b]
            _way(sheet, [(one.right, one.middle), (other.left, other.middle)], web.edges[a, b]["thick"])
    for k, (a, b) in enumerate(sorted(down, key=lambda e: (web.edges[e]["thick"], e))):
        one, other = boxes[a], boxes[b]
        x, low = LEFT - 14.0 - 12.0 * (k % 6), one.bottom + 5.0 + 4.0 * (k % 3)
        foot = one.left + 0.6 * (one.right - one.left)
        _way(sheet, [(foot, one.bottom), (foot, low), (x, low), (x, other.middle), (other.left, other.middle)],
             web.edges[a, b]["thick"])
    for a, b in sorted(out, key=lambda e: (web.edges[e]["thick"], e)):
        one, other = boxes[a], boxes[b]
        thick = web.edges[a, b]["thick"]
        x = RIGHT + (0.0 if thick else 22.0)
        _way(sheet, [(one.right, one.middle), (x, one.middle), (x, other.middle), (other.right, other.middle)],
             thick)


def _way(sheet: Sheet, points: list[tuple[float, float]], thick: bool) -> None:
    colour, width = (INK, THICK) if thick else (SOFT_INK, THIN)
    sheet.line(points, colour, width)
    (x0, _), (x, y) = points[-2], points[-1]
    size, sign = (14.0 if thick else 9.0), 1.0 if x > x0 else -1.0
    sheet.polygon([(x, y), (x - sign * size * 1.4, y - size * 0.8), (x - sign * size * 1.4, y + size * 0.8)], colour)


def _draw(sheet: Sheet, box: _Box) -> None:
    edge = INK if box.longest else SOFT_INK
    corners = [(box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom)]
    sheet.polygon(corners, WHITE, edge, 4.0 if box.longest else 1.4)
    if box.key[1] in SIGN:
        word, colour = SIGN[box.key[1]]
        inner = box.left + 9.0
        sheet.polygon([(box.left, box.top), (inner, box.top), (inner, box.bottom), (box.left, box.bottom)], colour)
        sheet.text((box.left + 18.0, box.top + 6.0), word, SMALL - 4.0, SOFT_INK, bold=True)
        y = box.top + 28.0
        for line in box.lines:
            size = _size(line, box.right - box.left - 24.0)
            sheet.text((box.left + 18.0, y), shortened(line, size, box.right - box.left - 24.0), size, INK)
            y += SMALL * 1.3
    else:
        sheet.text(((box.left + box.right) / 2, box.middle), box.lines[0], SMALL, INK, bold=True, anchor="mm")


def _size(line: str, most: float) -> float:
    """Return the letter size at which a line fits, no smaller than LEAST."""
    return max(LEAST, min(SMALL, SMALL * most / max(1.0, width_of(line, SMALL))))
