"""A glue-up as it lies in the shop: where its parts stand on bench or floor, z up, and which way its moves go there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from assembly.placing import Assembly, standing_in
from assembly.plan import Direction, Move, Stage
from assembly.rehearsal import Rehearsal
from assembly.standing import boxes
from model.frames import Frame, move
from model.solids import Solid

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Laid:
    """One stage in its shop frame, everything closed; lengths mm.

    `world` is the rehearsal's assembly, `there` the stage's parts alone in the shop; `frame` carries the finished
    work's world into the shop's. Of each part of `names`, in the same order: its solid, its frame (N, 4, 4) and the
    corners of the box around it, `low` and `high` (N, 3).
    """

    stage: Stage
    world: Assembly
    there: Assembly
    frame: Frame
    names: tuple[str, ...]
    solids: tuple[Solid, ...]
    frames: Floats
    low: Floats
    high: Floats

    @cached_property
    def row(self) -> dict[str, int]:
        """The place of each part in `names`."""
        return {name: k for k, name in enumerate(self.names)}

    @cached_property
    def size(self) -> float:
        """The diagonal of the box around the closed work, mm."""
        return float(np.linalg.norm(self.high.max(axis=0) - self.low.min(axis=0))) if self.names else 0.0

    @cached_property
    def masses(self) -> Floats:
        """The mass of each part as it is cut by then, kg."""
        parts = self.world.design.part
        return np.array([s.volume * 1e-9 * parts[n].density for n, s in zip(self.names, self.solids, strict=True)])

    @cached_property
    def moves(self) -> tuple[Move, ...]:
        """The moves of the stage with their directions as the work lies in the shop."""
        return tuple(self.turned(m) for m in self.stage.moves)

    @cached_property
    def closings(self) -> list[list[int]]:
        """The moves by number, those made at the same time together."""
        found: list[list[int]] = []
        for k, one in enumerate(self.stage.moves):
            if found and one.simultaneous and self.stage.moves[k - 1].simultaneous:
                found[-1].append(k)
            else:
                found.append([k])
        return found

    def rows(self, names: Sequence[str]) -> list[int]:
        """Return the places of parts that are there."""
        return [self.row[n] for n in names if n in self.row]

    def way(self, direction: Sequence[float]) -> Direction:
        """Return a direction of the finished work as the work lies in the shop."""
        x, y, z = (np.round(self.frame[:3, :3] @ np.asarray(direction, dtype=np.float64), 12) + 0.0).tolist()
        return x, y, z

    def turned(self, one: Move) -> Move:
        """Return a move with its directions as the work lies in the shop."""
        before = None if one.before is None else self.way(one.before)
        return replace(one, direction=self.way(one.direction), before=before)


def laid(rehearsal: Rehearsal, stage: Stage) -> Laid:
    """Return a stage as it lies in the shop."""
    frame = move(z=stage.rest.blocks) @ stage.rest.frame
    here = standing_in(rehearsal.assembly, stage.name)
    names = tuple(n for n in dict.fromkeys(stage.parts) if n in here.frames)
    stood = np.array([here.frames[n] for n in names], dtype=np.float64).reshape(-1, 4, 4)
    frames = np.round(frame @ stood, 9) + 0.0
    solids = tuple(rehearsal.assembly.solid(n, stage.done) for n in names)
    there = Assembly(rehearsal.design, dict(zip(names, frames, strict=True)))
    return Laid(stage, rehearsal.assembly, there, frame, names, solids, frames, *boxes(solids, frames))
