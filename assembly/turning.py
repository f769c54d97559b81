"""Turning: what each part and each sub-assembly could do if it were offered up another way round than drawn.

Every piece is tried at the glue-up it goes into, all others standing as drawn. Where it goes home and
is not the same, what follows is worked out, when that shows, and the mark that rules it out.
A design that gives no stages is taken as one glue-up.

Not looked at: two pieces turned at once; temporary parts; turns that would leave a piece standing more than 20 mm
off its place, which is seen as it is offered up; whether a turned piece can be brought to its place.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from assembly.placing import Assembly
from assembly.turning_follows import Amiss, follows, intruding
from assembly.turning_home import PLAY, Home, Seats, home
from assembly.turning_marks import Marking, marking
from assembly.turning_pieces import Piece, Session, Tie, pieces, sessions
from assembly.turning_units import unit_ways
from assembly.turning_ways import Way, unchanged, ways
from model.frames import Frame, directions, inverse
from model.part import Blank
from model.solids import Solid

THIRD = "rolled over"
"""The half turn that the two others make one after the other: where one of them changes nothing, they settle it."""


@dataclass(frozen=True, eq=False)
class Turning:
    """One piece that would go home another way round, though it is not the same.

    `way` says how it is turned; `turn` (4, 4) carries it in the world at its glue-up `session`, to where it goes home.
    `follows` is what is wrong then. `shows` is the glue-up at which it is noticed first, None where
    nothing ever stops it; `held` the glued joints of its own that have set by then.
    """

    parts: tuple[str, ...]
    session: Session
    way: str
    turn: Frame
    follows: tuple[Amiss, ...]
    shows: Session | None
    held: tuple[str, ...]
    mark: Marking | None

    @property
    def late(self) -> bool:
        """Whether it closes silently and shows only when glue has set."""
        return bool(self.held)


@lru_cache(maxsize=16)
def turnings(assembly: Assembly) -> tuple[Turning, ...]:
    """Return every way round in which a piece would go home and not be the same, in the order the pieces go in."""
    known: dict[bytes, tuple[Piece, list[_Gone]]] = {}
    found: list[Turning] = []
    for piece in pieces(assembly):
        gone = _gone_of_one(piece, known) if len(piece.parts) == 1 else _gone(piece, unit_ways(piece, Seats.of(piece)))
        found += _told(piece, gone, sessions(assembly))
    return tuple(found)


@dataclass(frozen=True, eq=False)
class _Gone:
    """A piece that went home turned, and what follows for its own joints and faces."""

    way: str
    home: Home
    follows: tuple[Amiss, ...]


def _gone(piece: Piece, ways_round: Sequence[Way]) -> list[_Gone]:
    seats = Seats.of(piece)
    gone: list[_Gone] = []
    for way in ways_round:
        there = home(piece, seats, way.turn)
        if there is not None and not any(np.allclose(there.move, g.home.move, atol=PLAY) for g in gone):
            gone.append(_Gone(way.name, there, tuple(follows(piece, seats, there))))
    return gone


def _gone_of_one(piece: Piece, known: dict[bytes, tuple[Piece, list[_Gone]]]) -> list[_Gone]:
    """Work out a single part once for all parts alike in neighbourhoods alike."""
    name, at = piece.parts[0], piece.session.at
    unlike = _unlike(at.part(name).blank, at.solid(name, piece.session.done))
    if not unlike:
        return []
    ties, key = _neighbourhood(piece)
    piece = replace(piece, now=tuple(t for t in ties if t.session is piece.session),
                    later=tuple(t for t in ties if t.session is not piece.session))
    if key not in known:
        frame = at.frames[name]
        known[key] = piece, _gone(piece, [Way(frame @ w.turn @ inverse(frame), w.name) for w in unlike])
    first, gone = known[key]
    return gone if first is piece else [_carried(one, first, piece) for one in gone]


@lru_cache(maxsize=4096)
def _unlike(blank: Blank, solid: Solid) -> tuple[Way, ...]:
    """Return the ways round of a blank that are not symmetries of the part made of it."""
    found = ways(blank)
    keeps = {way.name: unchanged(solid, way.turn) for way in found if way.name != THIRD}
    if keeps["end for end"] or keeps["end over end"]:
        keeps[THIRD] = keeps["end for end"] and keeps["end over end"]
    else:
        keeps[THIRD] = any(unchanged(solid, way.turn) for way in found if way.name == THIRD)
    return tuple(way for way in found if not keeps[way.name])


def _neighbourhood(piece: Piece) -> tuple[list[Tie], bytes]:
    """Return a single part's ties in an order that does not depend on names, and a key to all that matters to it."""
    name, session = piece.parts[0], piece.session
    part = session.at.part(name)
    ties = [(_key(tie), tie) for tie in (*piece.now, *piece.later)]
    ties.sort(key=lambda pair: (pair[1].session.number, pair[0]))
    ranks = {s: k for k, s in enumerate(dict.fromkeys(t.session.number for _, t in ties))}
    own = [part.solid(session.done).key, part.finished.key, part.blank.solid.key,
           *(np.round(f, 6).tobytes() for f in part.blank.places.values())]
    return [t for _, t in ties], b"".join([*own, *(bytes([ranks[t.session.number] % 256]) + k for k, t in ties)])


def _key(tie: Tie) -> bytes:
    at, done = tie.session.at, tie.session.done
    near = inverse(at.frames[tie.own]) @ at.frames[tie.other]
    said = f"{tie.joint.kind} {tie.outward} {tie.joint.fit:.6f} {tie.cut} {tie.joint.of is None}".encode()
    return b"".join([said, at.solid(tie.own, done).key, at.solid(tie.other, done).key,
                     (np.round(near[:3], 6) + 0.0).tobytes(), (np.round(tie.seat[:3], 6) + 0.0).tobytes()])


def _carried(one: _Gone, first: Piece, piece: Piece) -> _Gone:
    """Return what happened to one part, told of another that is alike in a neighbourhood alike."""
    name, was = piece.parts[0], first.parts[0]
    frame = piece.session.at.frames[name]
    own = one.home.turns[was]
    turn = frame @ own @ inverse(frame)
    shift = directions(frame @ inverse(first.session.at.frames[was]), one.home.shift)
    ties = {a.joint.name: b for a, b in zip((*first.now, *first.later), (*piece.now, *piece.later), strict=True)}
    return _Gone(one.way, Home(turn, shift, {name: own}), tuple(_renamed(a, name, ties) for a in one.follows))


def _renamed(amiss: Amiss, name: str, ties: Mapping[str, Tie]) -> Amiss:
    if not amiss.joint:
        return replace(amiss, own=name)
    tie = ties[amiss.joint]
    return replace(amiss, own=name, other=tie.other, joint=tie.joint.name, session=tie.session)


def _told(piece: Piece, gone: Sequence[_Gone], plan: Sequence[Session]) -> list[Turning]:
    """Return the turns that matter, with the time at which they show and the mark that rules all of them out."""
    bad = []
    for one in gone:
        amiss = (*one.follows, *intruding(piece, one.home, plan))
        if amiss:
            bad.append((one, amiss))
    if not bad:
        return []
    mark = marking(piece, [one.home.move for one, _ in bad], [one.way for one, _ in bad])
    held = tuple(t.joint.name for t in piece.now if t.joint.glued)
    out = []
    for one, amiss in bad:
        shows = min((a.session for a in amiss if a.session is not None), key=lambda s: s.number, default=None)
        set_by_then = held if shows is None or shows.number > piece.session.number else ()
        out.append(Turning(piece.parts, piece.session, one.way, one.home.move, amiss, shows, set_by_then, mark))
    return out
