"""Turned as cut: which parts are the wrong way round already, and the turn that puts them right."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.contacts import contacts
from assembly.interference import overlaps
from assembly.placing import Assembly, as_drawn, place
from assembly.standing import standing
from assembly.symmetry import carries
from assembly.turning_follows import follows
from assembly.turning_home import Home, Seats, clash, met_over, own_turns
from assembly.turning_pieces import Laid, lies, meeting, pieces
from assembly.turning_ways import Way, any_way, called, unchanged
from model.design import Design
from model.frames import Frame, directions, inverse
from model.joint import Joint
from model.part import ALL, Part
from model.recut.wood import carried
from model.solids import Solid

Floats = NDArray[np.float64]

SUSPECTS_MOST = 60
"""Where more parts than this have misfits, only so many are tried turned: it is not one part that is at fault."""


@dataclass(frozen=True, eq=False)
class Backward:
    """One part that is the wrong way round.

    `turn` (4, 4) carries its wood, in its own frame, to where it should lie, and `way` says how; `joints` are
    those it is wrong for, `away` the parts that what is cut for them faces away from. `mm`: how far
    its worst cut or face is off, None where something faces away. `instead`: parts that might be
    turned in its place, where nothing tells which of them is wrong.
    """

    part: str
    turn: Frame
    way: str
    joints: tuple[str, ...] = ()
    away: tuple[str, ...] = ()
    mm: float | None = None
    instead: tuple[str, ...] = ()


@lru_cache(maxsize=16)
def wrong_way_round(assembly: Assembly) -> tuple[Backward, ...]:
    """Return the parts that are the wrong way round: as cut against the drawing, or in the drawing itself."""
    drawn = as_drawn(assembly)
    found = [] if drawn is assembly else _against(assembly, drawn)
    return (*found, *_in_drawing(drawn))


def _against(assembly: Assembly, drawn: Assembly) -> list[Backward]:
    """Return the parts that are the drawn ones turned."""
    found = []
    measured = {m.part: m for m in assembly.design.measured}
    for name in drawn.names:
        cut, meant = assembly.design.part.get(name), drawn.part(name)
        if cut is None or cut is meant or cut.finished == meant.finished:
            continue
        noted = measured.get(name)
        way = _turn_between(meant, cut, None if noted is None else noted.turned)
        if way is not None:
            found.append(_told(drawn, name, way))
    return found


def _turn_between(meant: Part, cut: Part, noted: str | None) -> Way | None:
    """Return the turn that made the drawn part the one as cut, None where it is no turn or changes nothing.

    Where other sizes were measured too the two are never one shape: then the turn that was noted counts.
    """
    own, there = meant.finished, cut.finished
    if carries(np.eye(4), own, there):
        return None
    turns = any_way(meant.blank)
    fitting = sorted((w for w in turns if carries(w.turn, own, there)), key=lambda w: w.name != noted)
    noted_too = [w for w in any_way(cut.blank) if w.name == noted and not unchanged(cut.finished, w.turn)]
    return next(iter(fitting or noted_too), None)


def _told(right: Assembly, name: str, way: Way) -> Backward:
    """Return what a part that was turned `way` is wrong for: as it stands in the work put right."""
    back = inverse(way.turn)
    bare = Backward(name, back, called(back))
    piece = next((p for p in pieces(right) if p.parts == (name,)), None)
    if piece is None:
        return bare
    seats = Seats.of(piece)
    frame = right.frames[name] if name not in piece.session.at.frames else piece.session.at.frames[name]
    moved = frame @ way.turn @ inverse(frame)
    off = seats.off(moved)
    wrong = [k for k, tie in enumerate(seats.ties) if tie.cut and off[k] > 0.02]
    away = tuple(dict.fromkeys(seats.ties[k].other for k in wrong if np.isinf(off[k])))
    faces = [a.mm for a in follows(piece, seats, Home(moved, np.zeros(3), own_turns(piece, moved))) if a.mm is not None]
    mm = None if away else max([float(off[k]) for k in wrong] + faces, default=None)
    return replace(bare, joints=tuple(seats.ties[k].joint.name for k in wrong), away=away, mm=mm)


def _in_drawing(assembly: Assembly) -> list[Backward]:
    """Return the parts of a drawing that have misfits, all of which one turn alone puts right."""
    misfits = _misfits(assembly)
    if not misfits:
        return []
    suspects = [n for n in assembly.names if any(n in pair for pair in misfits)][:SUSPECTS_MOST]
    cures = {n: way for n in suspects if (way := _cure(assembly, n)) is not None}
    left, found = set(misfits), []
    for name in sorted(cures, key=lambda n: (-sum(n in pair for pair in misfits), assembly.part(n).finished.volume)):
        cured = {pair for pair in left if name in pair}
        if cured:
            left -= cured
            instead = tuple(n for n in suspects if n in cures and n != name
                            and {pair for pair in misfits if n in pair} == {pair for pair in misfits if name in pair})
            right = place(put_right(assembly.design, {name: cures[name].turn}))
            told = _told(right, name, Way(inverse(cures[name].turn), cures[name].name))
            found.append(replace(told, instead=instead))
    return found


def _misfits(assembly: Assembly) -> set[frozenset[str]]:
    """Return the pairs of parts that are in each other, and those joined that stop short, do not touch, or whose tenon
    is not in its mortise."""
    deep = {frozenset((o.a, o.b)) for o in overlaps(assembly)}
    touching = {frozenset((p.a, p.b)) for p in contacts(assembly)}
    there = set(assembly.there())
    joints = [j for j in assembly.design.joints if {j.a, j.b} <= there]
    apart = {frozenset((j.a, j.b)) for j in joints} - touching
    astray = {frozenset((j.a, j.b)) for j in joints if not _mated(assembly.part(j.a), assembly.part(j.b), j)}
    short = {frozenset((j.a, j.b)) for j in joints if j.name in assembly.standoffs}
    return deep | apart | astray | short


def _mated(a: Part, b: Part, joint: Joint) -> bool:
    """Whether the tenon of a joint lies where its mortise is, were its seats brought together; True where it has not
    both."""
    tenon = _span(a, joint, "tenon", joint.seat_a)
    mortise = _span(b, joint, "mortise", joint.seat_b)
    if tenon is None or mortise is None:
        return True
    off = np.abs(tenon.mean(axis=0) - mortise.mean(axis=0))[:2]
    aside = bool(np.any(off > joint.fit + (mortise[1] - mortise[0])[:2] / 4.0))
    return not aside and bool(tenon[1, 2] > 0.0 and mortise[1, 2] > 0.0)


def _span(part: Part, joint: Joint, role: str, seat: Frame) -> Floats | None:
    """Return the box (2, 3) in its seat of what a part has of a role for a joint, None where it has nothing."""
    boxes = [_box(f.solid, seat.tobytes()) for f in part.features if f.joint == joint.name and f.role == role]
    return np.array([np.min(boxes, axis=0)[0], np.max(boxes, axis=0)[1]]) if boxes else None


@lru_cache(maxsize=8192)
def _box(solid: Solid, seat: bytes) -> Floats:
    return solid.bounds_in(np.frombuffer(seat, dtype=np.float64).reshape(4, 4))


def _cure(assembly: Assembly, name: str) -> Way | None:
    """Return the one turn of a part with which all its joints close and it is in no other part, None where none does
    or several do."""
    part = assembly.part(name)
    curing: list[Way] = []
    for way in any_way(part.blank):
        alike = any(unchanged(part.finished, inverse(w.turn) @ way.turn) for w in curing)
        if not alike and not unchanged(part.finished, way.turn) and _cures(assembly, name, way.turn):
            curing.append(way)
    return curing[0] if len(curing) == 1 else None


def _cures(assembly: Assembly, name: str, turn: Frame) -> bool:
    """Whether a turned part closes all its joints, each looked at with its seats together, and is in no other part."""
    part, frame = assembly.part(name), assembly.frames[name]
    own = Laid(part.finished, frame @ turn)
    about = set(assembly.there())
    joints = [j for j in assembly.design.joints if name in (j.a, j.b) and {j.a, j.b} <= about]
    for joint in joints:
        other, near = (joint.b, joint.b_in_a) if name == joint.a else (joint.a, joint.a_in_b)
        there = Laid(assembly.part(other).finished, frame @ near)
        axis = directions(frame, joint.seat(name)[:3, 2])
        if clash(meeting(own, there)[0]) or met_over(own, there, joint, axis) <= 0.0:
            return False
    parts = dict(assembly.design.part) | {name: carried(part, turn)}
    return (all(_mated(parts[j.a], parts[j.b], j) for j in joints)
            and not any(clash(meeting(own, lies(assembly, n, ALL))[0])
                        for n in _near(assembly, name) if not any(n in (j.a, j.b) for j in joints)))


def _near(assembly: Assembly, name: str) -> list[str]:
    """Return the other parts that a part could be in however it is turned about the middle of its box."""
    stand = standing(assembly)
    k = stand.index[name]
    reach = float(np.linalg.norm(stand.high[k] - stand.low[k])) / 2.0
    middle = (stand.low[k] + stand.high[k]) / 2.0
    near = np.all((stand.low <= middle + reach) & (stand.high >= middle - reach), axis=1)
    return [n for n, close in zip(stand.names, near, strict=True) if close and n != name]


def put_right(design: Design, turns: Mapping[str, Frame]) -> Design:
    """Return a design with the wood of some parts carried by turns in their own frames."""
    return replace(design, parts=tuple(carried(p, turns[p.name]) if p.name in turns else p for p in design.parts))
