"""The minutes, drawn: who does what in each glue-up and how long the glue then waits, and the days of the whole.

Above, a row for each glue-up with a lane for each person, from the first glue to the last clamp; beside it how long
a joint lies open, and waits closed for its clamp, of what the glue allows. Below, when the steps of each glue-up fall
in the time of the whole. A longer plan makes a higher picture.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from PIL import Image

from assembly.plan import Action, Plan, Stage
from exports import words
from exports.glue_ups import DAY, HOUR, span
from exports.names import shown
from exports.pictures.lettering import SMALL, shortened, width_of
from exports.pictures.palette import (
    BLUE,
    GREEN,
    GROUND,
    INK,
    ORANGE,
    PAPER,
    SKY,
    SOFT_INK,
    VERMILLION,
    WHITE,
    Colour,
    mixed,
)
from exports.pictures.sheet import RULE, Sheet

WORK: dict[str, tuple[str, Colour, bool]] = {
    "spread": ("spread glue", SKY, False), "bring": ("bring a piece", GROUND, False),
    "close": ("close joints", BLUE, False), "clamp": ("set clamps", ORANGE, True),
    "hold": ("hold the work", SOFT_INK, True)}
"""What is done: its words, its colour, whether it is hatched."""
STEPS: dict[str, tuple[str, Colour, bool]] = {
    "cut": ("cut", SOFT_INK, False), "carry": ("carry, take away", BLUE, False), "glue": ("glue up", VERMILLION, False),
    "wait": ("clamps on", ORANGE, True), "cure": ("cure", GREEN, False)}
"""The steps of the whole, likewise."""
LEFT, RIGHT, SIDE, EDGE = 300.0, 1130.0, 1180.0, 1552.0
"""Where bars begin and end, where what the glue allows begins, and where everything ends, pixels."""
TOP, ROW, LOW_ROW, AXIS = 232.0, 84.0, 46.0, 150.0
"""Where the rows begin, how high one is above and below, and what is between above and below, pixels."""
ROWS_MOST = 60
"""Glue-ups that are drawn; the rest is counted."""
TICKS = (1, 2, 5, 10, 15, 20, 30, 60, 120, 240, 480, 720, 1440, 2880, 5760, 10080, 20160, 40320, 80640)
"""Minutes between two ticks of a scale that read well."""
MOST_TICKS = 12
IN_DAYS = 3 * DAY
"""A scale longer than this counts days."""
NEAR = 0.8
"""From this share of what the glue allows it is tight."""


@dataclass(frozen=True)
class _Scale:
    """Minutes along the sheet from LEFT to `right`."""

    most: float
    right: float

    def x(self, minutes: float) -> float:
        return LEFT + (self.right - LEFT) * minutes / self.most

    @property
    def tick(self) -> float:
        least = DAY if self.most > IN_DAYS else 0.0
        return next((float(t) for t in TICKS if t >= least and self.most / t <= MOST_TICKS), self.most / MOST_TICKS)

    @property
    def unit(self) -> tuple[str, float]:
        """Its name and its minutes."""
        return ("days", DAY) if self.tick >= DAY else ("h", HOUR) if self.tick >= HOUR else ("min", 1.0)


def draw_minutes(plan: Plan, title: str) -> Image.Image:
    """Return the picture of the times, 1600 pixels wide and as high as the plan is long."""
    stages = [s for s in plan.stages if s.actions][:ROWS_MOST]
    whole = plan.stages[:ROWS_MOST] if plan.starts else ()
    end = TOP + ROW * len(stages)
    sheet = Sheet(Image.new("RGB", (4, 3), PAPER), round(end + AXIS + LOW_ROW * len(whole) + 110.0))
    told = ["Above, each glue-up from its first glue, a lane for each person; beside it the longest that a joint lies "
            "open, and waits closed for its clamp. Below, the whole; nights are not counted."]
    if len(plan.stages) > ROWS_MOST:
        told.append(f"{words.count(len(plan.stages) - ROWS_MOST, 'more glue-up')}: see plan.json.")
    sheet.heading(f"{title}: the time it takes", told)
    _glue_ups(sheet, stages)
    if whole:
        _whole(sheet, plan, whole, end + AXIS)
    return sheet.finish()


def _glue_ups(sheet: Sheet, stages: Sequence[Stage]) -> None:
    if not stages:
        return
    x = LEFT
    for what, (said, colour, hatched) in WORK.items():
        if any(a.what == what for s in stages for a in s.actions):
            x = sheet.keyed((x, TOP - 54.0), said, colour, INK, WHITE if hatched else None)
    sheet.text((SIDE, TOP - 45.0), "what the glue allows", SMALL, SOFT_INK, anchor="lm")
    scale = _Scale(1.02 * max(1.0, *(a.end for s in stages for a in s.actions)), RIGHT)
    _axis(sheet, scale, TOP, TOP + ROW * len(stages))
    people = max(_people(s) for s in stages)
    for k, stage in enumerate(stages):
        top, bottom = TOP + k * ROW + 6.0, TOP + (k + 1) * ROW - 12.0
        _name(sheet, f"{stage.number}. {shown(stage.name)}", (top + bottom) / 2)
        lane = (bottom - top) / people
        for line in range(people + 1):
            sheet.line([(LEFT, top + line * lane), (RIGHT, top + line * lane)], RULE, 1.0)
        for action in stage.actions:
            _, colour, hatched = WORK[action.what]
            high, low = (bottom - action.people * lane, bottom) if action.what == "hold" else (
                top, top + action.people * lane)
            _block(sheet, (scale.x(action.start), high, scale.x(action.end), low), colour, hatched)
        if stage.spreads:
            _allowed(sheet, stage, top, bottom)


def _people(stage: Stage) -> int:
    """Return how many are busy at once at most."""
    def busy(what: bool) -> list[Action]:
        return [a for a in stage.actions if (a.what == "hold") == what]

    return max([a.people for a in busy(False)], default=0) + max([a.people for a in busy(True)], default=0)


def _allowed(sheet: Sheet, stage: Stage, top: float, bottom: float) -> None:
    """Draw how much is used of what the glue allows, open and closed."""
    for said, y in (("open", top), ("closed", (top + bottom) / 2)):
        used, most = stage.minutes.get(f"{said} used", 0.0), stage.minutes.get(said, 0.0)
        if most <= 0:
            continue
        share = used / most
        colour = VERMILLION if share > 1 else ORANGE if share > NEAR else BLUE
        low = y + (bottom - top) / 2 - 6.0
        end = SIDE + 120.0
        sheet.polygon([(SIDE, y), (end, y), (end, low), (SIDE, low)], WHITE, SOFT_INK, 1.2)
        if used > 0:
            _block(sheet, (SIDE, y, SIDE + 120.0 * min(1.0, share), low), colour, share > 1)
        much = f"{used:.0f}" if used >= 1 else "under 1"
        told = f"{said} {much} of {most:.0f} min{': too long' * (share > 1)}"
        sheet.text((end + 10.0, (y + low) / 2), shortened(told, SMALL - 1, EDGE - end - 10.0, share > 1), SMALL - 1,
                   INK, bold=share > 1, anchor="lm")


def _whole(sheet: Sheet, plan: Plan, stages: Sequence[Stage], top_most: float) -> None:
    x, y = LEFT, top_most - 54.0
    for said, colour, hatched in STEPS.values():
        x = sheet.keyed((x, y), said, colour, INK, WHITE if hatched else None)
    sheet.polygon([(x + 2, y), (x + 28, y), (x + 28, y + 18), (x + 2, y + 18)], WHITE, INK, 4.0)
    sheet.text((x + 38, y + 9), "thick: the longest way", SMALL, SOFT_INK, anchor="lm")
    elapsed = plan.elapsed * HOUR
    scale = _Scale(1.02 * max(1.0, elapsed), EDGE)
    bottom = top_most + LOW_ROW * len(stages)
    _axis(sheet, scale, top_most, bottom)
    critical = set(plan.critical)
    row = {s.number: k for k, s in enumerate(stages)}
    for k, stage in enumerate(stages):
        _name(sheet, f"{stage.number}. {shown(stage.name)}", top_most + (k + 0.5) * LOW_ROW - 2.0)
    for name, data in sorted(plan.steps.nodes(data=True), key=lambda node: node[0] in critical):
        if data["stage"] in row and data["minutes"] > 0:
            kind = _kind(str(name), str(data["kind"]))
            top = top_most + row[data["stage"]] * LOW_ROW + (12.0 if kind == "cure" else 4.0)
            high = LOW_ROW - (28.0 if kind == "cure" else 12.0)
            start = plan.starts.get(name, 0.0)
            left, right = scale.x(start), scale.x(start + data["minutes"])
            _block(sheet, (left, top, right, top + high), *STEPS[kind][1:], thick=name in critical)
    sheet.line([(scale.x(elapsed), top_most - 8.0), (scale.x(elapsed), bottom + 6.0)], INK, 3.0)
    sheet.text((scale.x(elapsed), bottom + 42.0), f"standing, {span(elapsed)} after the first cut", SMALL, INK,
               bold=True, anchor="ra")


def _kind(name: str, kind: str) -> str:
    if kind == "wait":
        return "cure" if name.startswith("let ") else "wait"
    return kind if kind in STEPS else "carry"


def _name(sheet: Sheet, said: str, y: float) -> None:
    sheet.text((LEFT - 18.0, y), shortened(said, SMALL, LEFT - 70.0), SMALL, INK, anchor="rm")


def _block(sheet: Sheet, box: tuple[float, float, float, float], colour: Colour, hatched: bool,
           thick: bool = False) -> None:
    """Draw a bar from left to right, top to bottom; one too short to see is as wide as its outline."""
    left, top, right, bottom = box
    right = max(right, left + (7.0 if thick else 2.0))
    sheet.polygon([(left, top), (right, top), (right, bottom), (left, bottom)], colour,
                  INK if thick else mixed(INK, colour, 0.3), 3.2 if thick else 0.9)
    if hatched and bottom - top > 8.0:
        for k in range(1, math.floor((right - left) / 12.0)):
            foot = left + 12.0 * k
            sheet.line([(foot, bottom - 4.0), (min(right - 3.0, foot + 7.0), top + 4.0)], WHITE, 2.0)


def _axis(sheet: Sheet, scale: _Scale, top: float, bottom: float) -> None:
    unit, share = scale.unit
    room = scale.right - width_of(unit, SMALL) - 30.0
    for k in range(math.floor(scale.most / scale.tick) + 1):
        x = scale.x(k * scale.tick)
        sheet.line([(x, top), (x, bottom + 6.0)], RULE, 1.2)
        said = f"{k * scale.tick / share:g}"
        if x + width_of(said, SMALL) / 2 < room:
            sheet.text((x, bottom + 10.0), said, SMALL, SOFT_INK, anchor="ma")
    sheet.line([(LEFT, bottom + 4.0), (scale.right, bottom + 4.0)], SOFT_INK, 1.4)
    sheet.text((scale.right, bottom + 10.0), unit, SMALL, SOFT_INK, anchor="ra")
