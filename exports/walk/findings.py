"""The findings of the walk: what is wrong, where to look, how it is drawn apart, and how it is right."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from assembly.causes import CAUSES
from assembly.checks.backwards_wording import ways
from assembly.findings import Finding
from assembly.rehearsal import Rehearsal
from assembly.turning import Turning
from exports import found as told
from exports import words
from exports.names import printable, shown
from exports.pictures.pencilling import Row
from exports.pictures.ways_round import Cause, Stands, as_cut, could_be
from exports.pieces import bounds
from exports.walk.alike import side_by_side
from exports.walk.book import Book, Json, rows, vector
from exports.walk.openings import opening
from exports.walk.pencil import marked, number_of
from exports.walk.scenes import Offsets, Scene, among_joined, finished, padded, scene
from model.frames import Frame, inverse, points
from model.solids import Solid

AS_CUT = {"backwards": ("as it is cut: the wrong way round", "as it should lie"),
          "handed": ("as it is cut: the wrong hand", "as it is drawn"),
          "look-alike": ("as it is cut: another's wood", "as it is drawn")}
"""What is said of a piece as cut that is wrong, and of the same put right."""
TURNED_MOST = 120
"""Of a group that is turned as one no more parts are shown turning."""
MOVED = 0.6
"""A part that is drawn from the spot stays in view with this share of what is looked at."""


@dataclass(frozen=True, eq=False)
class _Look:
    """How a finding is looked at: its scene, how it opens, and the pieces as they stand wrong and right, with words."""

    scene: Scene
    apart: Offsets
    pieces: tuple[Stands, ...] = ()
    says: tuple[str, str] = ("", "")


def findings(rehearsal: Rehearsal, book: Book) -> list[Json]:
    """Return the findings, worst first, numbered as in the report: `Finding` of walk.ts."""
    known = marked(rehearsal)
    return [_finding(n, f, rehearsal, book, known) for n, f in enumerate(rehearsal.findings, 1)]


def _finding(number: int, finding: Finding, rehearsal: Rehearsal, book: Book, known: Mapping[str, list[Row]]) -> Json:
    unit, names = rehearsal.design.unit, told.names_of(finding)
    look = _look(finding, rehearsal)
    seen, known_parts = look.scene, rehearsal.design.part
    when = words.sentence(told.when(finding, rehearsal))
    box = _in_view(look)
    return {
        "number": number, "kind": finding.kind.replace("-", " "), "severity": finding.severity,
        "sign": told.SIGNS[finding.severity][0], "title": told.about(finding),
        "message": printable(" ".join(s for s in (words.sentence(finding.message, names), when) if s)),
        "remedy": printable(words.sentence(finding.remedy, names)),
        "amount": "" if finding.amount is None else told.amount(finding, finding.amount, unit),
        "spot": "" if finding.where is None else words.spot(finding.where, bounds(rehearsal.assembly), unit),
        "parts": book.known(seen.finding.parts), "stage": seen.stage,
        "shown": _shown({n: piece for n, piece in seen.pieces.items() if n in known_parts}, book),
        "at": None if seen.at is None else vector(seen.at), "box": [vector(box[0]), vector(box[1])],
        "apart": [{"part": book.part(n), "by": vector(by)} for n, by in look.apart.items() if n in known_parts],
        "turned": _turned(look, book), "pencil": _pencil(finding, rehearsal, book, known)}


def _shown(pieces: Mapping[str, tuple[Frame, Solid]], book: Book) -> list[Json]:
    at = rows(np.array([frame for frame, _ in pieces.values()]).reshape(-1, 4, 4))
    return [{"part": book.part(n), "at": one, "shape": book.shape(solid)}
            for (n, (_, solid)), one in zip(pieces.items(), at, strict=True)]


def _look(finding: Finding, rehearsal: Rehearsal) -> _Look:
    cause = as_cut(finding, rehearsal)
    if cause is not None:
        return _of_cause(finding, cause)
    turning = could_be(finding, rehearsal)
    if turning is not None:
        return _of_turning(finding, turning, rehearsal)
    beside = side_by_side(rehearsal, finding) if finding.kind in CAUSES else None
    if beside is not None:
        return _Look(beside, beside.apart)
    seen = scene(rehearsal, finding)
    return _Look(seen, opening(seen))


def _of_cause(finding: Finding, cause: Cause) -> _Look:
    """Return what is wrong as cut among the work put right, opened so that its cuts show."""
    names = [one.name for one in cause.pieces]
    seen = among_joined(finished(cause.right, names), finding, None, names)
    pieces = dict(seen.pieces) | {one.name: (one.wrong, one.wrong_solid) for one in cause.pieces}
    wrong, right = AS_CUT[finding.kind]
    seen = replace(seen, pieces=pieces)
    return _Look(seen, opening(seen, names), cause.pieces, (f"{shown(names[0])} {wrong}", right))


def _of_turning(finding: Finding, turning: Turning, rehearsal: Rehearsal) -> _Look:
    """Return a piece that could go in turned, as it would stand then, in the glue-up at which that shows."""
    seen = scene(rehearsal, finding, turning.parts)
    at = seen.held.assembly
    names = [n for n in turning.parts if n in seen.pieces and n in turning.session.at.frames]
    if not names:
        return _Look(seen, opening(seen, turning.parts))
    carry = at.frames[names[0]] @ inverse(turning.session.at.frames[names[0]])
    turn = carry @ turning.turn @ inverse(carry)
    pieces = tuple(Stands(n, turn @ seen.pieces[n][0], seen.pieces[n][0], seen.pieces[n][1], seen.pieces[n][1])
                   for n in names)
    said = f"{shown(names[0])} {ways([turning.way], whole=len(names) > 1)}: it goes in, and is wrong"
    return _Look(seen, opening(seen, turning.parts), pieces, (said, "as it should stand"))


def _in_view(look: _Look) -> np.ndarray:
    """Return the box to fly to: that of the scene, and where what is looked at goes as it opens."""
    seen = look.scene
    boxes = [seen.box, *([] if seen.at is None else [np.array([seen.at, seen.at])])]
    own = set(seen.own[:2])
    if seen.at is not None and not look.pieces and not seen.apart:
        half = MOVED * (seen.box[1] - seen.box[0]) / 2.0
        boxes += [np.array([seen.at + by - half, seen.at + by + half]) for n, by in look.apart.items() if n in own]
    boxes += [np.array([at, at]) for at in _ends(look)]
    for one in look.pieces:
        for frame, solid in ((one.wrong, one.wrong_solid), (one.right, one.right_solid)):
            at = points(frame, solid.mesh[0])
            boxes.append(padded(np.array([at.min(axis=0), at.max(axis=0)])))
    return np.array([np.min([b[0] for b in boxes], axis=0), np.max([b[1] for b in boxes], axis=0)])


def _ends(look: _Look) -> list[np.ndarray]:
    """Return where the joints of the pieces drawn back from those that stand wrong and right come to lie."""
    at, core = look.scene.held.assembly, {one.name for one in look.pieces}
    ties = [(j, j.b if j.a in core else j.a) for j in at.design.joints if (j.a in core) != (j.b in core)]
    return [at.seat(j)[:3, 3] + look.apart[other] for j, other in ties if other in look.apart and j.b in at.frames]


def _turned(look: _Look, book: Book) -> Json | None:
    if not look.pieces:
        return None
    first, *others = [_stands(one, book) for one in look.pieces[:TURNED_MOST]]
    return {**first, "wrongSays": look.says[0], "rightSays": look.says[1], "others": others}


def _stands(one: Stands, book: Book) -> Json:
    return {"part": book.part(one.name), "wrong": rows(one.wrong), "right": rows(one.right),
            "wrongShape": book.shape(one.wrong_solid), "rightShape": book.shape(one.right_solid)}


def _pencil(finding: Finding, rehearsal: Rehearsal, book: Book, known: Mapping[str, list[Row]]) -> Json | None:
    """Return the part and its mark that would keep a piece from going in turned."""
    if finding.kind != "backwards":
        return None
    turning = could_be(finding, rehearsal)
    if turning is not None and turning.mark is not None:
        number = number_of(turning.mark, known)
        return None if number is None else {"part": book.part(turning.mark.part), "mark": number}
    return next(({"part": book.part(n), "mark": 0} for n in finding.parts if known.get(n)), None)
