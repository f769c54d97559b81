"""The course of the work, drawn: a row for each glue-up, what comes before it and after it, and the longest way.

Boxes gather the steps of one kind at one glue-up. Lines run to the right within a row; what a
glue-up makes goes down to the row that needs it along the left edge, and to the finished work
along the right one. A longer plan makes a higher picture.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import networkx as nx
from PIL import Image

from assembly.plan import Plan
from assembly.steps import STANDING
from exports import words
from exports.glue_ups import HOUR, span
from exports.names import shown
from exports.pictures.lettering import LINE, SMALL, shortened, wrapped
from exports.pictures.palette import BLUE, GREEN, INK, ORANGE, PAPER, SOFT_INK, VERMILLION, WHITE, Colour, mixed
from exports.pictures.sheet import Sheet

COLUMNS = (("cut", "carry"), ("glue",), ("wait",), ("take away",), ("later cut",), ("cure",))
"""Kinds of boxes from left to right, those of one column above each other; a column nothing is in is left out."""
SIGN: dict[str, tuple[str, Colour]] = {
    "cut": ("CUT", SOFT_INK), "carry": ("CARRY", BLUE), "glue": ("GLUE UP", VERMILLION), "wait": ("CLAMPS ON", ORANGE),
    "take away": ("TAKE AWAY", BLUE), "later cut": ("CUT AGAIN", SOFT_INK), "cure": ("CURE", GREEN)}
TOP, LEFT, RIGHT = 146.0, 132.0, 1500.0
ROW, ROOM, BETWEEN = 152.0, 34.0, 8.0
"""How high a row is, how much of that lies free for lines, and what is free between two boxes of one column, pixels."""
ACROSS = 34.0
"""Room between two boxes of a row, pixels."""
END = 64.0
"""How high the box of the finished work is, pixels."""
ROWS_MOST = 60
"""Glue-ups that are drawn; the rest is counted."""
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
    """Return the picture of the course of the work, 1600 pixels wide and as high as the plan is long."""
    rows = [s.number for s in plan.stages][:ROWS_MOST]
    end = TOP + ROW * len(rows)
    sheet = Sheet(Image.new("RGB", (4, 3), PAPER), round(end + END + 60.0))
    told = f"{words.count(len(plan.stages), 'glue-up')}; {span(plan.hours * HOUR)} from the first cut until the work "
    told += "may be loaded. Thick: the longest way, which sets that time."
    if len(plan.stages) > len(rows):
        told += f" {words.count(len(plan.stages) - len(rows), 'more glue-up')}: see plan.graphml."
    sheet.heading(f"{title}: the course of the work", [told])
    web = _gathered(plan)
    boxes = _laid_out(plan, web, rows)
    _connect(sheet, web, boxes)
    for box in boxes.values():
        _draw(sheet, box)
    return sheet.finish()


def _gathered(plan: Plan) -> nx.DiGraph:
    """Return the graph of steps with those of one kind at one glue-up gathered; nodes (stage, kind)."""
    key = {name: (0, STANDING) if name == STANDING else (int(data["stage"]), _kind(plan, str(name), str(data["kind"])))
           for name, data in plan.steps.nodes(data=True)}
    web = nx.DiGraph()
    for name, where in key.items():
        web.add_node(where)
        web.nodes[where].setdefault("steps", []).append(name)
    critical = set(pairwise(plan.critical))
    for a, b in plan.steps.edges:
        if key[a] != key[b]:
            thick = web.edges[key[a], key[b]]["thick"] if web.has_edge(key[a], key[b]) else False
            web.add_edge(key[a], key[b], thick=thick or (a, b) in critical)
    kept = nx.transitive_reduction(web)
    web.remove_edges_from([e for e in web.edges if not kept.has_edge(*e) and not web.edges[e]["thick"]])
    return web


def _kind(plan: Plan, name: str, kind: str) -> str:
    """Return the kind of box a step goes into: cuts into glued work and curing stand in columns of their own."""
    if kind == "cut" and plan.steps.in_degree(name) > 0:
        return "later cut"
    return "cure" if kind == "wait" and name.startswith("let ") else kind


def _laid_out(plan: Plan, web: nx.DiGraph, rows: Sequence[int]) -> dict[Key, _Box]:
    used = [c for c in COLUMNS if any((row, kind) in web for row in rows for kind in c)]
    wide = (RIGHT - LEFT) / max(1, len(used))
    found: dict[Key, _Box] = {}
    for r, row in enumerate(rows):
        top, bottom = TOP + r * ROW + 8.0, TOP + (r + 1) * ROW + 8.0 - ROOM
        for c, column in enumerate(used):
            here = [(row, kind) for kind in column if (row, kind) in web]
            each = (bottom - top + BETWEEN) / max(1, len(here))
            left, right = LEFT + c * wide, LEFT + (c + 1) * wide - ACROSS
            for k, key in enumerate(here):
                at = (left, top + k * each, right, top + (k + 1) * each - BETWEEN)
                lines = _said(plan, web, key, right - left - 30.0, at[3] - at[1])
                found[key] = _Box(key, lines, _longest(plan, web, key), *at)
    if (0, STANDING) in web:
        top = TOP + len(rows) * ROW + 8.0
        lines = (f"standing: may be loaded after {span(plan.hours * HOUR)}",)
        found[0, STANDING] = _Box((0, STANDING), lines, True, RIGHT - 620.0, top, RIGHT - ACROSS, top + END)
    return found


def _longest(plan: Plan, web: nx.DiGraph, key: Key) -> bool:
    critical = set(plan.critical)
    return any(name in critical for name in web.nodes[key]["steps"])


def _said(plan: Plan, web: nx.DiGraph, key: Key, wide: float, high: float) -> tuple[str, ...]:
    """Return the lines of a box: how long it takes, and of what."""
    steps, nodes = web.nodes[key]["steps"], plan.steps.nodes
    minutes = span(sum(nodes[n]["minutes"] for n in steps))
    parts = list(dict.fromkeys(p for n in steps for p in nodes[n]["parts"]))
    stage = next(s for s in plan.stages if s.number == key[0])
    if key[1] == "glue":
        of = f"{stage.number}. {shown(stage.name)}, {words.count(len(stage.joints), 'joint')}"
    elif key[1] == "take away":
        of = words.several(parts, most=2)
    else:
        of = "" if key[1] in ("wait", "cure") else words.count(len(parts), "piece")
    if high < 80.0:
        return (f"{minutes}, {of}" if of else minutes,)
    return (minutes, *wrapped(of, SMALL, wide)[:2])


def _connect(sheet: Sheet, web: nx.DiGraph, boxes: dict[Key, _Box]) -> None:
    """Draw what waits for what; thick lines last, so that they lie on top."""
    edges = sorted((e for e in web.edges if e[0] in boxes and e[1] in boxes), key=lambda e: (web.edges[e]["thick"], e))
    lanes = _lanes(boxes, [e for e in edges if e[1][0] not in (0, e[0][0])])
    for a, b in edges:
        one, other, thick = boxes[a], boxes[b], web.edges[a, b]["thick"]
        if b[0] == 0:
            x = RIGHT + (0.0 if thick else 24.0)
            way = [(one.right, one.middle), (x, one.middle), (x, other.middle), (other.right, other.middle)]
        elif a[0] != b[0]:
            x, low = lanes[b], one.bottom + 12.0
            foot = one.left + 0.6 * (one.right - one.left)
            way = [(foot, one.bottom), (foot, low), (x, low), (x, other.middle), (other.left, other.middle)]
        elif _between(boxes.values(), one, other):
            above = one.top - 8.0
            way = [(one.right - 30.0, one.top), (one.right - 30.0, above), (other.left + 40.0, above),
                   (other.left + 40.0, other.top)]
        else:
            half = (one.right + other.left) / 2 - 4.0
            way = [(one.right, one.middle), (half, one.middle), (half, other.middle), (other.left, other.middle)]
        _way(sheet, way, thick)


def _between(boxes: Iterable[_Box], one: _Box, other: _Box) -> bool:
    """Whether boxes stand in the way straight from one to another of the same row."""
    return any(b.left > one.right and b.right < other.left and b.top < one.middle < b.bottom for b in boxes)


def _lanes(boxes: dict[Key, _Box], edges: Sequence[tuple[Key, Key]]) -> dict[Key, float]:
    """Return where along the left edge the lines into a box run down (x): those that would meet stand apart."""
    spans: dict[Key, tuple[float, float]] = {}
    for a, b in edges:
        top, end = spans.get(b, (boxes[b].middle, boxes[b].middle))
        spans[b] = min(top, boxes[a].bottom), max(end, boxes[a].bottom)
    free: list[float] = []
    lane: dict[Key, int] = {}
    for key, (top, end) in sorted(spans.items(), key=lambda item: item[1]):
        lane[key] = next((k for k, until in enumerate(free) if until < top), len(free))
        free[lane[key]:lane[key] + 1] = [end]
    step = min(16.0, (LEFT - 50.0) / max(1, len(free)))
    return {key: LEFT - 22.0 - step * k for key, k in lane.items()}


def _way(sheet: Sheet, points: Sequence[tuple[float, float]], thick: bool) -> None:
    """Draw a line through points with an arrow's head at its end."""
    colour, width, size = (INK, THICK, 13.0) if thick else (SOFT_INK, THIN, 9.0)
    at = [p for k, p in enumerate(points) if k == 0 or p != points[k - 1]]
    (x0, y0), (x, y) = at[-2], at[-1]
    length = max(abs(x - x0), abs(y - y0))
    ux, uy = (x - x0) / length, (y - y0) / length
    back = (x - ux * size * 1.4, y - uy * size * 1.4)
    sheet.line([*at[:-1], back], colour, width)
    sheet.polygon([(x, y), (back[0] - uy * size * 0.8, back[1] + ux * size * 0.8),
                   (back[0] + uy * size * 0.8, back[1] - ux * size * 0.8)], colour)


def _draw(sheet: Sheet, box: _Box) -> None:
    corners = [(box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom)]
    edge, width = (INK, 4.0) if box.longest else (SOFT_INK, 1.4)
    if box.key[1] not in SIGN:
        sheet.polygon(corners, WHITE, edge, width)
        sheet.text(((box.left + box.right) / 2, box.middle), box.lines[0], LINE, INK, bold=True, anchor="mm")
        return
    word, colour = SIGN[box.key[1]]
    head = box.top + (28.0 if box.bottom - box.top > 80.0 else 23.0)
    sheet.polygon(corners, WHITE)
    sheet.polygon([(box.left, box.top), (box.right, box.top), (box.right, head), (box.left, head)],
                  mixed(colour, WHITE, 0.72))
    sheet.polygon([(box.left, box.top), (box.left + 10.0, box.top), (box.left + 10.0, box.bottom),
                   (box.left, box.bottom)], colour)
    sheet.line([*corners, corners[0]], edge, width)
    sheet.text((box.left + 20.0, (box.top + head) / 2 + 1.0), word, SMALL - 3.0, INK, bold=True, anchor="lm")
    room, wide = box.bottom - head, box.right - box.left - 30.0
    step = min(30.0, (room - 6.0) / len(box.lines))
    first = head + (room - step * len(box.lines)) / 2 + step / 2
    for k, line in enumerate(box.lines):
        large = k == 0 and room > LINE * 2
        _text(sheet, (box.left + 20.0, first + k * step), line, LINE if large else SMALL, wide, k == 0)


def _text(sheet: Sheet, at: tuple[float, float], line: str, size: float, wide: float, bold: bool) -> None:
    """Write a line into a box, in smaller letters where it is too long for it."""
    while size > LEAST and shortened(line, size, wide, bold) != line:
        size -= 1.0
    sheet.text(at, shortened(line, size, wide, bold), size, INK, bold=bold, anchor="lm")
