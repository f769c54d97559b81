"""Scenes: what is there when a finding is looked at, where it stands then, and where to look.

A scene is in the coordinates it is shown in: a stage's shop frame, or the finished work's world.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.findings import Finding
from assembly.placing import Assembly
from assembly.plan import Stage
from assembly.rehearsal import Rehearsal
from assembly.standing import standing
from exports.pictures.captions import AT_LARGE
from exports.pictures.chosen import EVERYWHERE
from exports.pictures.closeups import AMONG
from exports.pictures.moment import Moment, in_stage, moment
from exports.pictures.shots import place_of, shown_round
from model.frames import Frame, Vector, move, points
from model.part import ALL
from model.solids import Solid

PLANNED = AMONG | EVERYWHERE
"""Kinds of finding about a plan: their stage is shown whole."""
NEAR, NEAR_MOST = 3.0, 36
"""Around a spot parts are shown that come within so many times what is looked at; the nearest so many of them."""
WHOLE_MOST = 240
"""Of a stage shown whole no more parts than this: those of the finding and the nearest to them."""
ASIDE = 0.12
"""A part that has no place in the work is laid beside it, as far off as this share of the work's length."""
PADDED = 0.08
"""What is shown whole has this share of its diagonal around it."""

Offsets = Mapping[str, Vector]
Box = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Scene:
    """What is there: each part with its frame and its solid, in the coordinates it is shown in, mm.

    `held` is the moment in the same coordinates; `finding` the finding with its place in them. `stage`: the stage it
    is, counted from 0, None for the finished work. `at`: the spot itself; `box` (2, 3): what to have in view.
    """

    held: Moment
    finding: Finding
    pieces: Mapping[str, tuple[Frame, Solid]]
    stage: int | None
    at: Vector | None
    box: Box
    apart: Offsets = field(default_factory=dict)
    """How parts are drawn apart where the scene itself says so."""

    @property
    def own(self) -> list[str]:
        """The parts of the finding that are there."""
        return [n for n in self.finding.parts if n in self.pieces]


def scene(rehearsal: Rehearsal, finding: Finding, focus: Sequence[str] = ()) -> Scene:
    """Return the scene of a finding; with `focus`, of these parts whole and what is joined to them."""
    finding = with_parts(finding, rehearsal)
    if not any(n in rehearsal.assembly.frames for n in finding.parts):
        return _astray(rehearsal, finding)
    held = _held(rehearsal, finding)
    stage = _number(rehearsal, held.stage)
    if stage is not None and held.stage is not None:
        turned = shop(held.stage)
        held = Moment(_moved(held.assembly, turned.tobytes()), held.done, held.names, held.stage)
        finding = _turned(finding, turned)
    if focus:
        return among_joined(held, finding, stage, focus)
    return _whole(held, finding, stage) if finding.kind in PLANNED else _near(held, finding, stage)


def with_parts(finding: Finding, rehearsal: Rehearsal) -> Finding:
    """Return a finding that names only joints, or none, with the parts of these joints, else of its stage."""
    known = rehearsal.design.joint
    if finding.parts:
        return finding
    parts = tuple(dict.fromkeys(n for j in finding.joints if j in known for n in (known[j].a, known[j].b)))
    stage = next((s for s in rehearsal.plan.stages if s.name == finding.stage), None)
    return replace(finding, parts=parts or (stage.parts if stage is not None else ()))


def shop(stage: Stage) -> Frame:
    """Return the frame that carries the finished work's world into the shop frame of a stage."""
    frame: Frame = move(z=stage.rest.blocks) @ stage.rest.frame
    return frame


def shown_stages(rehearsal: Rehearsal) -> list[Stage]:
    """Return the stages that the walk has, in its order."""
    return [s for s in rehearsal.plan.stages if s.parts]


def _number(rehearsal: Rehearsal, stage: Stage | None) -> int | None:
    return next((k for k, s in enumerate(shown_stages(rehearsal)) if s is stage), None)


def _held(rehearsal: Rehearsal, finding: Finding) -> Moment:
    """Return the moment of a finding: that of its stage where it is about a plan, else as the pictures have it."""
    stage = next((s for s in shown_stages(rehearsal) if s.name == finding.stage), None)
    if finding.kind in PLANNED and stage is not None:
        return in_stage(rehearsal.assembly, stage)
    return moment(rehearsal, finding)


@lru_cache(maxsize=32)
def _moved(assembly: Assembly, frame: bytes) -> Assembly:
    return assembly.moved(np.frombuffer(frame, dtype=np.float64).reshape(4, 4))


def _turned(finding: Finding, frame: Frame) -> Finding:
    if finding.where is None:
        return finding
    x, y, z = points(frame, np.asarray(finding.where, dtype=np.float64)).tolist()
    return replace(finding, where=(x, y, z))


def _near(held: Moment, finding: Finding, stage: int | None) -> Scene:
    """Return the parts of a finding and those near its spot."""
    at, radius = place_of(finding, held), shown_round(finding, held.assembly)
    away = _away(held, at)
    own = [n for n in finding.parts if n in held.names][:WHOLE_MOST]
    others = sorted((n for n in held.names if n not in set(own) and away[n] < NEAR * radius), key=lambda n: away[n])
    names = [*own, *others[:max(NEAR_MOST - len(own), NEAR_MOST // 3)]]
    box = np.array([at - radius, at + radius])
    if finding.kind in AT_LARGE and len(own) > 2:
        box = padded(_box(held, own))
    return Scene(held, finding, standing_pieces(held, names), stage, at, box)


def finished(at: Assembly, also: Sequence[str] = ()) -> Moment:
    """Return the moment at which the work is finished; `also` are parts that may have left by then."""
    stay = at.there(ALL)
    return Moment(at, ALL, (*stay, *(n for n in dict.fromkeys(also) if n in at.frames and n not in stay)))


def among_joined(held: Moment, finding: Finding, stage: int | None, focus: Sequence[str]) -> Scene:
    """Return some parts whole among all that is joined to them and what else is nearest."""
    inside = [n for n in focus if n in held.names][:WHOLE_MOST]
    core = set(inside)
    joined = dict.fromkeys(n for j in held.assembly.design.joints if (j.a in core) != (j.b in core)
                           for n in (j.a, j.b) if n not in core)
    beside = [n for n in joined if n in held.names][:WHOLE_MOST]
    box = _box(held, inside)
    away = _away(held, (box[0] + box[1]) / 2.0)
    near = sorted((n for n in held.names if n not in core and n not in joined), key=lambda n: away[n])
    near = near[:max(NEAR_MOST // 3 - len(beside), 0)] if len(inside) == 1 else []
    at = None if finding.where is None else np.asarray(finding.where, dtype=np.float64)
    return Scene(held, finding, standing_pieces(held, [*inside, *beside, *near]), stage, at, padded(box))


def _whole(held: Moment, finding: Finding, stage: int | None) -> Scene:
    """Return all that is there, with the spot where the finding has one."""
    at = None if finding.where is None else np.asarray(finding.where, dtype=np.float64)
    names: Sequence[str] = held.names
    if len(names) > WHOLE_MOST:
        away = _away(held, place_of(finding, held))
        own = set(finding.parts)
        names = sorted(names, key=lambda n: (n not in own, away[n]))[:WHOLE_MOST]
    return Scene(held, finding, standing_pieces(held, names), stage, at, padded(_box(held, names)))


def _astray(rehearsal: Rehearsal, finding: Finding) -> Scene:
    """Return parts that have no place in the work beside the work, one behind the other on the ground."""
    home = rehearsal.assembly
    held = Moment(home, ALL, home.there(ALL))
    names = held.names[:WHOLE_MOST]
    work = _box(held, names) if names else np.zeros((2, 3))
    pieces = dict(standing_pieces(held, names))
    corner = np.array([work[1, 0] + max(ASIDE * float(np.ptp(work[:, 0])), 100.0), work[0, 1], work[0, 2]])
    boxes = []
    for name in (n for n in finding.parts[:WHOLE_MOST] if n in home.design.part):
        solid = home.part(name).finished
        low, high = solid.bounds
        pieces[name] = move(*(corner - low)), solid
        boxes.append([corner, corner + (high - low)])
        corner = corner + np.array([0.0, 1.6 * float(high[1] - low[1]), 0.0])
    own = np.array(boxes).reshape(-1, 3) if boxes else work
    at = (own.min(axis=0) + own.max(axis=0)) / 2.0
    every = np.vstack([own, work])
    return Scene(held, finding, pieces, None, at, padded(np.array([every.min(axis=0), every.max(axis=0)])))


def standing_pieces(held: Moment, names: Sequence[str]) -> dict[str, tuple[Frame, Solid]]:
    """Return parts as they stand at a moment, as cut by then."""
    return {n: (held.frame(n), held.solid(n)) for n in names}


def _away(held: Moment, at: Vector) -> Mapping[str, float]:
    """Return how far a point lies outside the box of each part, mm."""
    stand = standing(held.assembly, held.done, held.names)
    off = np.linalg.norm(at - np.clip(at, stand.low, stand.high), axis=1)
    return dict(zip(stand.names, off.tolist(), strict=True))


def _box(held: Moment, names: Sequence[str]) -> Box:
    stand = standing(held.assembly, held.done, held.names)
    rows = [stand.index[n] for n in names]
    return np.array([stand.low[rows].min(axis=0), stand.high[rows].max(axis=0)])


def padded(box: Box) -> Box:
    """Return a box with some room around it."""
    room = PADDED * float(np.linalg.norm(box[1] - box[0]))
    return np.array([box[0] - room, box[1] + room])

