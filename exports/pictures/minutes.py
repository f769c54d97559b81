"""The minutes, drawn: who does what in each glue-up against what the glue allows, and the days of the whole.

Above, a row for each glue-up: blocks from the first glue to the last clamp; a post stands where
the glue of the first joint would have dried, had it waited. Below, when each glue-up, its
clamps and its curing fall in the time of the whole.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from PIL import Image

from assembly.plan import Plan, Stage
from exports import words
from exports.glue_ups import DAY, HOUR
from exports.names import shown
from exports.pictures.lettering import SMALL, shortened, width_of
from exports.pictures.palette import BLUE, GREEN, GROUND, INK, ORANGE, PAPER, SKY, SOFT_INK, VERMILLION, WHITE, Colour
from exports.pictures.sheet import Sheet

WORK: dict[str, tuple[str, Colour, bool]] = {
    "spread": ("spread glue", SKY, False), "bring": ("bring a piece", GROUND, False),
    "close": ("close joints", BLUE, False), "clamp": ("set clamps", ORANGE, True), "hold": ("hold the work", SOFT_INK, True)}
"""What is done: its words, its colour, whether it is hatched."""
LEFT, RIGHT, TOP, MIDDLE, BOTTOM = 330.0, 1520.0, 215.0, 700.0, 1130.0
ROWS_MOST = 9
"""Glue-ups that have room on one sheet."""
TICKS = (1, 2, 5, 10, 15, 20, 30, 60, 120, 240, 480, 720, 1440, 2880, 5760, 10080, 20160)
"""Minutes between two ticks of a scale that read well."""


@dataclass(frozen=True)
class _Scale:
    """Minutes along the sheet."""

    most: float

    def x(self, minutes: float) -> float:
        return LEFT + (RIGHT - LEFT) * minutes / self.most

    @property
    def tick(self) -> float:
        return next((float(t) for t in TICKS if self.most / t <= 12), self.most / 10)


def draw_minutes(plan: Plan, title: str) -> Image.Image:
    """Return the picture of the times."""
    sheet = Sheet(Image.new("RGB", (4, 3), PAPER))
    stages = [s for s in plan.stages if s.actions][:ROWS_MOST]
    told = ["Above, the minutes of each glue-up from its first glue, with how long that glue stays open. Below, the "
            "whole, nights not counted."]
    if len(plan.stages) > len(stages):
        told.append(f"{words.count(len(plan.stages) - len(stages), 'more glue-up')}: see plan.json.")
    sheet.heading(f"{title}: the time it takes", told)
    x = LEFT
    for what in WORK:
        if any(a.what == what for s in stages for a in s.actions):
            said, colour, hatched = WORK[what]
            x = sheet.keyed((x, 165.0), said, colour, INK, WHITE if hatched else None)
    end = _glue_ups(sheet, stages)
    _whole(sheet, plan, stages, end + 150.0)
    return sheet.finish()


def _glue_ups(sheet: Sheet, stages: list[Stage]) -> float:
    """Draw the minutes of every glue-up; return how far down they reach."""
    longest = max((s.minutes.get("needed", 0.0) for s in stages), default=1.0)
    opened = max((s.minutes.get("open", 0.0) for s in stages if s.spreads), default=0.0)
    scale = _Scale(1.04 * max(longest, min(opened, 2.5 * longest), 1.0))
    high = min(96.0, (MIDDLE - TOP - 60.0) / max(1, len(stages)))
    end = TOP + high * len(stages)
    _axis(sheet, scale, TOP, end, "min")
    for k, stage in enumerate(stages):
        top = TOP + k * high + 6.0
        bottom = top + high - 14.0
        _name(sheet, f"{stage.number}. {shown(stage.name)}", (top + bottom) / 2)
        for action in stage.actions:
            if action.what == "hold":
                _block(sheet, scale, action.start, action.end, bottom - 7.0, bottom, SOFT_INK, True)
            else:
                low = bottom - 9.0 if stage.rest.held else bottom
                _, colour, hatched = WORK[action.what]
                _block(sheet, scale, action.start, action.end, top, low, colour, hatched)
        limit = stage.minutes.get("open", 0.0)
        if stage.spreads and limit <= scale.most:
            sheet.line([(scale.x(limit), top - 6.0), (scale.x(limit), bottom + 6.0)], VERMILLION, 3.0)
            said = f"open {limit:.0f} min"
            sheet.text((scale.x(limit) - 8.0, top + 2.0), said, SMALL - 4.0, VERMILLION, bold=True, anchor="ra",
                       halo=2.0)
    return end


def _whole(sheet: Sheet, plan: Plan, stages: list[Stage], top_most: float) -> None:
    if not plan.starts:
        return
    scale = _Scale(1.04 * max(1.0, plan.elapsed * HOUR))
    high = min(60.0, (BOTTOM - top_most - 40.0) / max(1, len(stages)))
    x = sheet.keyed((LEFT, top_most - 50.0), "cut", SOFT_INK, INK)
    x = sheet.keyed((x, top_most - 50.0), "glue up", VERMILLION, INK)
    x = sheet.keyed((x, top_most - 50.0), "clamps on", ORANGE, INK, WHITE)
    sheet.keyed((x, top_most - 50.0), "cure", GREEN, INK)
    _axis(sheet, scale, top_most, top_most + high * len(stages), "h" if scale.tick < DAY else "days")
    for k, stage in enumerate(stages):
        top = top_most + k * high + 5.0
        bottom = top + high - 10.0
        _name(sheet, f"{stage.number}. {shown(stage.name)}", (top + bottom) / 2)
        for name, data in plan.steps.nodes(data=True):
            if data["stage"] == stage.number and data["minutes"] > 0:
                colour, hatched = _kind(str(name), str(data["kind"]))
                start = plan.starts.get(name, 0.0)
                _block(sheet, scale, start, start + data["minutes"], top, bottom, colour, hatched)


def _kind(name: str, kind: str) -> tuple[Colour, bool]:
    if kind == "wait":
        return (GREEN, False) if name.startswith("let ") else (ORANGE, True)
    return (VERMILLION, False) if kind == "glue" else (SOFT_INK, False)


def _name(sheet: Sheet, said: str, y: float) -> None:
    sheet.text((LEFT - 18.0, y), shortened(said, SMALL, LEFT - 70.0), SMALL, INK, anchor="rm")


def _block(sheet: Sheet, scale: _Scale, start: float, end: float, top: float, bottom: float, colour: Colour,
           hatched: bool) -> None:
    left, right = scale.x(start), max(scale.x(end), scale.x(start) + 2.0)
    sheet.polygon([(left, top), (right, top), (right, bottom), (left, bottom)], colour, INK, 0.8)
    if hatched:
        for k in range(1, math.floor((right - left) / 12.0)):
            foot = left + 12.0 * k
            sheet.line([(foot, bottom - 3.0), (min(right - 2.0, foot + 7.0), top + 3.0)], WHITE, 2.0)


def _axis(sheet: Sheet, scale: _Scale, top: float, bottom: float, unit: str) -> None:
    share = {"min": 1.0, "h": HOUR, "days": DAY}[unit]
    for k in range(math.floor(scale.most / scale.tick) + 1):
        x = scale.x(k * scale.tick)
        sheet.line([(x, top), (x, bottom + 6.0)], GROUND, 1.2)
        said = f"{k * scale.tick / share:g}"
        if x < RIGHT - width_of(unit, SMALL) - 40.0:
            sheet.text((x, bottom + 10.0), said, SMALL, SOFT_INK, anchor="ma")
    sheet.line([(LEFT, bottom + 4.0), (RIGHT, bottom + 4.0)], SOFT_INK, 1.4)
    sheet.text((RIGHT, bottom + 10.0), unit, SMALL, SOFT_INK, anchor="ra")
