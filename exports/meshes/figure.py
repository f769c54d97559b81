"""Figures: what one mesh file shows, as pieces in named groups, before any format is chosen."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from assembly.alike import marks
from assembly.placing import standing_in
from assembly.plan import Stage
from exports.meshes.clips import Clip, clips_of_stage, clips_of_whole
from exports.names import shown, shown_names
from model.frames import Frame, identity
from model.part import ALL
from model.solids import Solid

if TYPE_CHECKING:
    from assembly.rehearsal import Rehearsal


@dataclass(frozen=True, eq=False)
class Piece:
    """One part as it is shown: its name, its solid in its own frame (mm), where it stands, its species, its mark."""

    name: str
    solid: Solid
    frame: Frame
    species: str
    mark: str = ""


@dataclass(frozen=True, eq=False)
class Group:
    """Pieces that belong together: a stage, or a group glued earlier."""

    name: str
    pieces: tuple[Piece, ...]


@dataclass(frozen=True, eq=False)
class Figure:
    """What one file shows. Names of groups and pieces are printable and differ from each other."""

    name: str
    groups: tuple[Group, ...]
    played: Callable[[], Sequence[Clip]] = tuple
    """What gives its clips, for a format that can carry them."""

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Every piece, in the order of the groups."""
        return tuple(piece for group in self.groups for piece in group.pieces)


def of_part(rehearsal: Rehearsal, name: str) -> Figure:
    """Return one finished part in its own frame: x along the grain, z through the thickness."""
    part = rehearsal.design.part[name]
    piece = Piece(shown(name), part.finished, identity(), part.blank.stock.species.name, marks(rehearsal.design)[name])
    return Figure(piece.name, (Group("", (piece,)),))


def of_stage(rehearsal: Rehearsal, stage: Stage) -> Figure:
    """Return a stage as it is glued: its parts where they stand, with only the cuts made by then."""
    groups = {f"group {n}" if len(unit) > 1 else "": unit for n, unit in enumerate(stage.units, 1) if len(unit) > 1}
    alone = tuple(unit[0] for unit in stage.units if len(unit) == 1)
    figure = _figure(rehearsal, f"stage {stage.number}: {shown(stage.name)}", {**groups, "": alone}, stage.done,
                     standing(rehearsal, stage))
    return replace(figure, played=partial(clips_of_stage, rehearsal, stage))


def of_whole(rehearsal: Rehearsal) -> Figure:
    """Return the finished work without its temporary parts, gathered by the stage each part comes to."""
    groups: dict[str, tuple[str, ...]] = {}
    left = {n: None for n in rehearsal.assembly.names if not rehearsal.design.part[n].temporary}
    for stage in rehearsal.plan.stages:
        new = tuple(name for name in stage.parts if name in left)
        if new:
            groups[f"stage {stage.number}: {shown(stage.name)}"] = new
        for name in new:
            del left[name]
    figure = _figure(rehearsal, shown(rehearsal.design.name), {**groups, "": tuple(left)}, ALL,
                     rehearsal.assembly.frames)
    return replace(figure, played=partial(clips_of_whole, rehearsal))


def standing(rehearsal: Rehearsal, stage: Stage) -> Mapping[str, Frame]:
    """Return where each part of a stage stands in it: as its own joints hold it where the design gives the stage.

    What is glued together and parted later (two arches out of one ring) stands here as it is glued.
    """
    return standing_in(rehearsal.assembly, stage.name).frames


def _figure(rehearsal: Rehearsal, name: str, groups: Mapping[str, Iterable[str]], done: frozenset[str],
            frames: Mapping[str, Frame]) -> Figure:
    called = shown_names([p.name for p in rehearsal.design.parts])
    taken = set(called.values())
    made = []
    for group, parts in groups.items():
        pieces = tuple(_piece(rehearsal, part, called[part], done, frames[part]) for part in parts if part in frames)
        if pieces:
            made.append(Group(f"{group} (group)" if group in taken else group, pieces))
    return Figure(name, tuple(made))


def _piece(rehearsal: Rehearsal, name: str, called: str, done: frozenset[str], frame: Frame) -> Piece:
    part = rehearsal.design.part[name]
    return Piece(called, part.solid(done), frame, part.blank.stock.species.name, marks(rehearsal.design)[name])
