"""Home or not: whether a piece that is offered up turned goes home, and what does not go on it afterwards."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.contacts import GAP, touches
from assembly.interference import TOLERANCE, bites
from assembly.standing import Meeting
from assembly.turning_pieces import Laid, Piece, Session, Tie, lies, meeting, turned
from model.frames import Frame, Vector, directions, inverse, move
from model.joint import Joint

Floats = NDArray[np.float64]

NEAR = 20.0
"""Standing off its place by more than this, mm, is seen as a piece is offered up."""
PLAY = 0.5
"""A tenon finds its mortise when it stands off it by no more than the fit and this, mm; then the wood decides."""
ALONG = np.cos(np.radians(1.0))
"""Seats face the same way within a degree."""
MET = 0.5
"""A joint meets when at least this share of the area meets that meets in the drawing."""
FILM = 1e-4
"""What two shapes have in common is rounding between flush faces when it is thinner than this, mm, on the whole."""
ACROSS = 0.45
"""Faces that meet along a joint's axis lean from square to it by no more than about 63 degrees."""

Turns = Mapping[str, Frame]
"""The frame that carries each part of a piece, in its own frame, to where it lies turned."""


@dataclass(frozen=True, eq=False)
class Seats:
    """The N seats of a piece in the world at one glue-up, as drawn: places (N, 3), ways out of the piece (N, 3).

    A place is the middle of what is cut there, on the seat's plane. `ties` says whose they are; `cut` (N,) which of
    them turn with the wood; `like` which are cut alike.
    """

    ties: tuple[Tie, ...]
    places: Floats
    ways: Floats
    cut: NDArray[np.bool_]
    like: NDArray[np.int64]

    @staticmethod
    def of(piece: Piece) -> Seats:
        """Return the seats of a piece, those of its own glue-up first."""
        ties = (*piece.now, *piece.later)
        frames = np.array([piece.session.at.frames[t.own] @ t.seat @ t.middle for t in ties])
        kinds = {k: n for n, k in enumerate(sorted({t.cut_as for t in ties}))}
        return Seats(ties, frames[:, :3, 3], frames[:, :3, 2] * np.array([[t.outward] for t in ties]),
                     np.array([t.cut for t in ties]), np.array([kinds[t.cut_as] for t in ties]))

    def off(self, turn: Frame) -> Floats:
        """Return how far (N,) each seat stands from the nearest like seat after a turn of the world; inf: none faces
        its way."""
        places = self.places @ turn[:3, :3].T + turn[:3, 3]
        ways = directions(turn, self.ways)
        facing = (self.ways @ ways.T > ALONG) & self.cut[None, :] & (self.like[:, None] == self.like[None, :])
        away = np.linalg.norm(self.places[:, None] - places[None], axis=2)
        nearest: Floats = np.where(facing, away, np.inf).min(axis=1, initial=np.inf)
        return nearest

    def found(self, off: Floats) -> NDArray[np.bool_]:
        """Return which seats (N,) find what goes with them when they stand `off` (N,) like seats, or need not."""
        loose = np.array([t.joint.fit + PLAY for t in self.ties])
        found: NDArray[np.bool_] = (off <= loose) | ~self.cut
        return found

    def shifts(self, turn: Frame, now: int) -> list[Floats]:
        """Return the ways (3,) to move a turned piece, least first, that bring its seats of now onto like seats."""
        first = next((i for i in range(now) if self.cut[i]), None)
        if first is None:
            return [np.zeros(3)]
        places = self.places @ turn[:3, :3].T + turn[:3, 3]
        ways = directions(turn, self.ways)
        facing = (ways @ self.ways[first] > ALONG) & self.cut & (self.like == self.like[first])
        found: list[Floats] = [np.zeros(3)]
        found.extend(self.places[first] - places[facing])
        near = [s for s in found if float(np.linalg.norm(s)) <= NEAR]
        return sorted(near, key=lambda s: (round(float(np.linalg.norm(s)), 3), str(np.round(s, 3) + 0.0)))


@dataclass(frozen=True, eq=False)
class Home:
    """How a piece lies that went home turned: `move` carries it in the world, `shift` (mm) is how far off its place."""

    move: Frame
    shift: Floats
    turns: Turns


def home(piece: Piece, seats: Seats, turn: Frame) -> Home | None:
    """Return how a piece goes home turned (`turn` of the world at its glue-up), or None where it does not.

    It may be moved up to NEAR to bring tenons and mortises together. It goes home when it is in no
    part it is joined to there, and every joint of that glue-up has at least MET of its faces meet.
    """
    now = len(piece.now)
    for shift in seats.shifts(turn, now):
        carried = move(*(float(s) for s in shift)) @ turn
        if np.all(seats.found(seats.off(carried))[:now]):
            turns = own_turns(piece, carried)
            if all(closes(piece, turns, tie) for tie in piece.now):
                return Home(carried, shift, turns)
    return None


def own_turns(piece: Piece, carried: Frame) -> Turns:
    """Return what a motion of the world does to each part of a piece in its own frame."""
    frames = piece.session.at.frames
    return {n: inverse(frames[n]) @ carried @ frames[n] for n in piece.parts}


def closes(piece: Piece, turns: Turns, tie: Tie) -> bool:
    """Whether a joint of a piece closes with the piece turned: clear of the other part, and face to face with it."""
    session = tie.session
    other = lies(session.at, tie.other, session.done)
    axis = (session.at.frames[tie.own] @ tie.seat)[:3, 2]
    wanted = met_over(lies(session.at, tie.own, session.done), other, tie.joint, axis)
    found = 0.0
    for own in _near(piece, turns, session, other):
        met, _ = meeting(own, other)
        if clash(met):
            return False
        found += met_over(own, other, tie.joint, axis)
    return found >= MET * wanted


@lru_cache(maxsize=20_000)
def clash(met: Meeting) -> bool:
    """Whether two shapes are in the same wood; plain cases are told by the wood in common alone.

    What is in common is at least twice its volume over its surface wide in every direction.
    """
    common = met.a.manifold ^ met.b.manifold.transform(np.ascontiguousarray(met.frame[:3]))
    if common.is_empty():
        return False
    wide = 2.0 * float(common.volume()) / float(common.surface_area())
    return wide > 2.0 * TOLERANCE or (wide > FILM and bool(bites(met)))


def _near(piece: Piece, turns: Turns, session: Session, other: Laid) -> list[Laid]:
    """Return the parts of a turned piece that come near another part."""
    low, high = other.box
    found = []
    for name in piece.parts:
        own = turned(session.at, name, turns[name], piece.session.done, session.done)
        own_low, own_high = own.box
        if np.all(own_low <= high + 1.0) and np.all(low <= own_high + 1.0):
            found.append(own)
    return found


def met_over(own: Laid, other: Laid, joint: Joint, axis: Vector) -> float:
    """Return over what area, mm², two parts meet as a joint of theirs has to: along its axis (3,) of the world, half a
    loose tenon by its cheeks."""
    met, frame = meeting(own, other)
    across = np.round(directions(inverse(frame), axis), 6) + 0.0
    return _area(met, joint.fit, across.tobytes(), joint.of is not None)


@lru_cache(maxsize=20_000)
def _area(met: Meeting, fit: float, across: bytes, cheeks: bool) -> float:
    found = touches(met, GAP + fit)
    if cheeks:
        return float(found.areas.sum())
    square = np.abs(found.normals @ np.frombuffer(across, dtype=np.float64)) >= ACROSS
    return float(found.areas[square & (np.abs(found.gaps) <= GAP)].sum())


def in_the_way(piece: Piece, turns: Turns, session: Session, others: Sequence[str]) -> list[tuple[str, float]]:
    """Return which other parts a turned piece would be in, and how deep, mm; what stands in the way as drawn is left
    out."""
    found = []
    for name in others:
        other = lies(session.at, name, session.done)
        deep = max((b.depth for own in _near(piece, turns, session, other) for b in bites(meeting(own, other)[0])),
                   default=0.0)
        if deep > 0.0:
            drawn = (lies(session.at, n, session.done) for n in piece.parts)
            if not any(clash(meeting(own, other)[0]) for own in drawn):
                found.append((name, deep))
    return found
