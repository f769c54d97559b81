"""What follows when a piece has gone home turned: joints that do not go on it, faces that are off, wood in the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from assembly.facets import facets
from assembly.standing import standing
from assembly.turning_home import NEAR, PLAY, Home, Seats, closes, in_the_way
from assembly.turning_pieces import Piece, Session, Tie
from assembly.turning_units import box_off
from assembly.turning_ways import unchanged
from model.frames import points
from model.part import ALL, Part

Floats = NDArray[np.float64]

SEEN = 0.1
"""A face that is off by less, mm, is not seen, and lost in the next pass of the plane."""

What = Literal["away", "shifted", "shut", "in", "face", "cut"]


@dataclass(frozen=True)
class Amiss:
    """One thing that follows. `mm`: how far off, None where it has no measure; `session` the glue-up at which it shows.

    away: the cut for `joint` faces away from `other`; shifted: it stands `mm` off it; shut: the joint
    does not close on `other` though what is cut for it is there, or nothing is; in: the piece would be `mm` in
    `other`; face: the face `place` of `own` is `mm` off; cut: something cut on `own` (`place` says what) is elsewhere.
    """

    what: What
    own: str
    other: str = ""
    joint: str = ""
    place: str = ""
    mm: float | None = None
    session: Session | None = None


def follows(piece: Piece, seats: Seats, went: Home) -> list[Amiss]:
    """Return what follows for the joints and the faces of a piece, whoever else is about."""
    off = seats.off(went.move)
    later = zip(piece.later, off[len(piece.now):].tolist(), seats.found(off)[len(piece.now):].tolist(), strict=True)
    found = [_joint(tie, mm) for tie, mm, there in later if not (there and closes(piece, went.turns, tie))]
    faces = _faces(piece, went) if len(piece.parts) == 1 else _outline(piece, went)
    return [*found, *faces] or _cuts(piece, went)


def _joint(tie: Tie, off: float) -> Amiss:
    what: What = "shut" if not tie.cut or off <= tie.joint.fit + PLAY else "away" if np.isinf(off) else "shifted"
    mm = off if what == "shifted" else None
    return Amiss(what, tie.own, tie.other, tie.joint.name, mm=mm, session=tie.session)


def _faces(piece: Piece, went: Home) -> list[Amiss]:
    """Return the named faces of a part that do not lie where the drawing has them."""
    name = piece.parts[0]
    part, turn = piece.session.at.part(name), went.turns[name]
    corners = points(turn, part.blank.solid.mesh[0])
    turned = {n: turn @ f for n, f in part.blank.places.items()}
    found = []
    for place, frame in part.blank.places.items():
        if not _stays(part, place):
            continue
        there = max(turned.values(), key=lambda f: float(f[:3, 2] @ frame[:3, 2]))
        on = np.abs((corners - there[:3, 3]) @ there[:3, 2]) < 1e-3
        off = np.abs((corners[on] - frame[:3, 3]) @ frame[:3, 2]).max(initial=0.0)
        if off > SEEN:
            found.append(Amiss("face", name, place=place, mm=float(off)))
    return found


def _stays(part: Part, place: str) -> bool:
    """Whether some of a named face is still there in the finished part."""
    return free(part, place, ALL) > 0.0


def free(part: Part, place: str, done: frozenset[str]) -> float:
    """Return how much of a named face a part has with some stages behind it, mm²."""
    frame = part.blank.places[place]
    flat = facets(part.solid(done))
    level = (flat.normals @ frame[:3, 2] > 1.0 - 1e-6) & (np.abs(flat.offsets - frame[:3, 3] @ frame[:3, 2]) < 1e-2)
    return float(flat.areas[level].sum())


def _outline(piece: Piece, went: Home) -> list[Amiss]:
    """Return by how much the outline of a sub-assembly is off."""
    off = box_off(piece, went.move)
    return [Amiss("face", piece.parts[0], mm=off)] if off > SEEN else []


def _cuts(piece: Piece, went: Home) -> list[Amiss]:
    """Return what is cut for no joint and does not come to lie where it is drawn."""
    found = []
    for name in piece.parts if len(piece.parts) == 1 else ():
        for f in piece.session.at.part(name).features:
            early = f.after is None or piece.session.done is ALL or f.after in piece.session.done
            if f.joint is None and early and not unchanged(f.solid, went.turns[name]):
                found.append(Amiss("cut", name, place=f.role))
    return found


def intruding(piece: Piece, went: Home, plan: Sequence[Session]) -> list[Amiss]:
    """Return the parts that no joint ties to a piece and that it would be in, in the finished work."""
    at = plan[-1].at
    tied = {t.other for t in (*piece.now, *piece.later)} | set(piece.parts)
    stand = standing(at, ALL)
    rows = [stand.index[n] for n in piece.parts if n in stand.index]
    low, high = stand.low[rows].min(axis=0) - NEAR, stand.high[rows].max(axis=0) + NEAR
    near = np.all((stand.low <= high) & (stand.high >= low), axis=1)
    others = [n for n, close in zip(stand.names, near, strict=True) if close and n not in tied]
    finished = Session(plan[-1].number, "", at, ALL, (), ())
    return [Amiss("in", piece.parts[0], other, mm=mm, session=_there(other, piece, plan))
            for other, mm in in_the_way(piece, went.turns, finished, others)]


def _there(other: str, piece: Piece, plan: Sequence[Session]) -> Session:
    """Return the first glue-up, from that of a piece on, at which another part is about."""
    first = next((s for s in plan if any(other in unit for unit in s.units)), plan[-1])
    return first if first.number > piece.session.number else piece.session
