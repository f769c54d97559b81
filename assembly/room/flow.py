"""Flow: which stage makes what another stage brings to its bench, and how that is told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from assembly.blocking import Unit
from assembly.placing import Assembly, standing_in
from assembly.plan import Stage
from assembly.room.hull import Hull, hull
from model.part import ALL
from model.units import show


@dataclass(frozen=True, eq=False)
class Flow:
    """The stages in the order they are carried out, by position from 0."""

    assembly: Assembly
    stages: tuple[Stage, ...]

    @cached_property
    def _made(self) -> tuple[frozenset[str], ...]:
        return tuple(frozenset(n for unit in s.results for n in unit) for s in self.stages)

    def maker(self, unit: Unit, before: int) -> int | None:
        """Return the last stage before another that worked on a unit; None where it is a part as it came."""
        return next((k for k in reversed(range(before)) if not self._made[k].isdisjoint(unit)), None)

    def user(self, unit: Unit, after: int) -> int | None:
        """Return the first stage after another that works on what that one made; None where it is finished."""
        parts = frozenset(unit)
        return next((k for k in range(after + 1, len(self.stages)) if not parts.isdisjoint(self.stages[k].parts)), None)

    def finals(self) -> list[tuple[int, Unit]]:
        """Return what no later stage works on, each with the stage that makes it."""
        return [(k, unit) for k, s in enumerate(self.stages) for unit in s.results if self.user(unit, k) is None]

    def body(self, stage: int, unit: Unit) -> Hull:
        """Return the hull of what a stage has made, once it has been cut as it is cut after that."""
        return hull(*self._as(stage, unit))

    def _as(self, stage: int, unit: Unit) -> tuple[Assembly, Unit, frozenset[str]]:
        if self.user(unit, stage) is None:
            return self.assembly, unit, ALL
        one = self.stages[stage]
        return standing_in(self.assembly, one.name), unit, one.done | {one.name}

    def called(self, stage: int, unit: Unit) -> str:
        """Return what a person calls a result of a stage."""
        one = self.stages[stage]
        if self.user(unit, stage) is None and len(self.finals()) == 1:
            return "the finished work"
        if len(unit) == 1:
            return unit[0]
        which = f"{unit[0]} with what is glued to it" if len(one.results) > 1 else f"what stage {one.name} makes"
        return f"{which} ({len(unit)} parts)"


def told(mm: float, unit: str) -> str:
    """Return a length to the nearest millimetre, or sixteenth of an inch."""
    return show(mm, unit) if unit == "in" else show(round(mm) + 0.0, unit)


def sizes(values: Sequence[float], unit: str) -> str:
    """Return lengths as a person writes a size: 2100 x 900 mm."""
    words = [told(v, unit).removesuffix(f" {unit}") for v in values]
    return " x ".join(words) + f" {unit}"
