"""Pulling pieces back along the motions that bring them home, so that each can be seen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from assembly.placing import Assembly, standing_in
from assembly.plan import Move, Stage
from assembly.rehearsal import Rehearsal
from exports.pictures.camera import Camera
from exports.pictures.crowding import Gap, crowding, outlines
from model.frames import Vector, directions, inverse
from model.joint import Joint

Offsets = Mapping[str, Vector]
"""How far each part is drawn from its home, mm in the world (3,)."""

CLEAR = 0.075
"""A piece is pulled clear of its joint by this share of the whole's diagonal."""
LATER = 0.12
"""Drawn apart, each later stage is pulled back further by this share, so that groups stand apart."""
GROWTH = 1.75
"""Long chains of pieces are pulled less, so that the picture grows by no more than this."""
SHARES = (1.0, 0.8, 0.65, 0.5, 0.4, 0.3, 0.22, 0.15, 0.1)
"""Shares of the full clearance that are tried."""
GROUPS, ENOUGH = 2.5, 0.65
"""Groups that move as one stand clear by so many times the share that single pieces do, up to what is enough: there
are few of them, and their gap tells the groups."""


def diagonal(assembly: Assembly, names: Iterable[str], offsets: Offsets | None = None) -> float:
    """Return the diagonal of the box around parts, at home or off it, mm."""
    off = offsets or {}
    at = [assembly.vertices(n) + off.get(n, np.zeros(3)) for n in names]
    return float(np.linalg.norm(np.ptp(np.vstack(at), axis=0))) if at else 0.0


def pulled(stage: Stage, assembly: Assembly, clear: float, camera: Camera) -> dict[str, Vector]:
    """Return the offsets of every part of a stage before its moves are made.

    `assembly` says where the parts stand in that stage. Each move's parts stand back by the
    move's travel plus up to `clear` mm: from their homes where every joint is then seen open,
    else from what they slide onto, which may itself stand back (a chain along one line). Which
    of the two, and how far, is what the camera sees best: pieces that hide each other little
    and joints that stand visibly open, in a picture that need not grow smaller for it.
    """
    return best_pulled(stage, assembly, clear, camera)[0]


def best_pulled(stage: Stage, assembly: Assembly, clear: float, camera: Camera) -> tuple[dict[str, Vector], float]:
    """Return the offsets that `pulled` gives, and the share of the clearance (of SHARES) that they were made with."""
    tried = [(_pulled(stage, assembly, clear, share, chained), share) for chained in (False, True) for share in SHARES]
    most = GROWTH * diagonal(assembly, stage.parts)
    small = [one for one in tried if diagonal(assembly, stage.parts, one[0]) <= most] or tried[-1:]
    if len(small) == 1 or not any(m.onto or m.simultaneous for m in stage.moves):
        return small[0]
    seen, gaps = outlines(assembly, stage.units, camera), _gaps(stage, assembly)
    return min(small, key=lambda one: round(crowding(seen, gaps, one[0]), 4))


def stand_off(move: Move, clear: float, share: float) -> float:
    """Return how far before its travel what a move brings stands, mm: groups farther than single pieces."""
    return clear * (share if len(move.parts) == 1 else min(GROUPS * share, max(share, ENOUGH)))


def _pulled(stage: Stage, assembly: Assembly, most: float, share: float, chained: bool) -> dict[str, Vector]:
    offsets: dict[str, Vector] = {name: np.zeros(3) for name in stage.parts}
    for move in stage.moves:
        clear = stand_off(move, most, share)
        if move.simultaneous:
            _burst(move, stage, assembly, clear, offsets)
        elif move.onto:
            back = -np.asarray(move.direction) * (move.travel + clear)
            if chained:
                back = back + _carried(move, assembly, offsets)
            if move.before is not None:
                back = back - np.asarray(move.before) * clear
            for name in move.parts:
                offsets[name] = offsets.get(name, np.zeros(3)) + back
    return offsets


def _gaps(stage: Stage, assembly: Assembly) -> list[Gap]:
    """Return the joints that the moves of a stage close."""
    return [Gap(mover, rest, np.asarray(move.direction, dtype=np.float64), move.travel)
            for move in stage.moves if not move.simultaneous
            for _, mover, rest in sides(move, assembly) if {mover, rest} <= set(stage.parts)]


def sides(move: Move, assembly: Assembly) -> list[tuple[Joint, str, str]]:
    """Return each joint a move closes with the part that moves and the part that waits."""
    moving = set(move.parts)
    joints = [assembly.design.joint[n] for n in move.joints if n in assembly.design.joint]
    placed = [j for j in joints if j.a in assembly.frames and j.b in assembly.frames]
    return [(j, j.a, j.b) if j.a in moving else (j, j.b, j.a) for j in placed if (j.a in moving) != (j.b in moving)]


def _carried(move: Move, assembly: Assembly, offsets: Offsets) -> Vector:
    """Return how far the pieces a move slides onto stand from their home, on average over its joints."""
    partners = [rest for _, _, rest in sides(move, assembly)]
    known = [offsets[p] for p in partners or move.onto if p in offsets]
    return np.mean(known, axis=0) if known else np.zeros(3)


def _burst(move: Move, stage: Stage, assembly: Assembly, clear: float, offsets: dict[str, Vector]) -> None:
    """Move pieces that close all at once straight out from the middle of them all."""
    moving = set(move.parts)
    units = [unit for unit in stage.units if moving & set(unit)]
    spots = [assembly.vertices(n).mean(axis=0) for unit in stage.units for n in unit
             if n in moving or n in move.onto]
    middle = np.mean(spots, axis=0)
    for unit in units:
        out = np.mean([assembly.vertices(n).mean(axis=0) for n in unit], axis=0) - middle
        length = float(np.linalg.norm(out))
        way = out / length if length > 1.0 else -np.asarray(move.direction, dtype=np.float64)
        for name in unit:
            offsets[name] = offsets[name] + way * (move.travel + 1.5 * clear)


def balanced(offsets: Offsets, group: Sequence[str]) -> dict[str, Vector]:
    """Return the offsets of a group shifted so that its middle stays at home."""
    middle = np.mean([offsets[n] for n in group], axis=0)
    return {n: offsets[n] - middle for n in group}


def spread(rehearsal: Rehearsal, camera: Camera) -> dict[str, Vector]:
    """Return the offsets that draw the whole apart along the motions of its stages."""
    home = rehearsal.assembly
    clear = CLEAR * diagonal(home, home.names)
    offsets: dict[str, Vector] = {name: np.zeros(3) for name in home.names}
    for place, stage in enumerate(rehearsal.plan.stages):
        there = standing_in(home, stage.name)
        own = {n: directions(home.frames[n] @ inverse(there.frames[n]), back)
               for n, back in pulled(stage, there, clear * (1.0 + LATER * place), camera).items()}
        for result in stage.results or (stage.parts,):
            own |= balanced(own, [n for n in result if n in own])
        for name, back in own.items():
            offsets[name] = offsets[name] + back
    return offsets
