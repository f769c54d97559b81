"""Side by side: parts that are taken for one another laid alike, and sub-assemblies drawn apart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from assembly.alike import marks
from assembly.alike_cuts import laid_best
from assembly.alike_looks import lying
from assembly.alike_units import given_sub_assemblies
from assembly.findings import Finding
from assembly.placing import Assembly, as_drawn
from assembly.rehearsal import Rehearsal
from exports.pictures.moment import Moment
from exports.pictures.ways_round import wide
from exports.walk.scenes import Scene, finished, padded, standing_pieces
from model.frames import Frame, Vector, identity, inverse, points
from model.part import Part
from model.solids import Solid

KINDS_MOST = 6
"""So many kinds of parts that look alike are laid side by side."""
SIDEWAYS = 0.9
"""Parts are rather laid above each other than beside each other, and never one behind the other if it can be helped."""
GAP = 0.7
"""Room between two parts laid side by side, in their widths; and between two sub-assemblies, of their length."""


def side_by_side(rehearsal: Rehearsal, finding: Finding) -> Scene | None:
    """Return the scene of parts, or sub-assemblies, that are taken for one another; None where there are not two.

    Drawn together they lie in each other, so that what differs stands out.
    """
    drawn = as_drawn(rehearsal.assembly)
    return _units(drawn, finding) or _parts(drawn, finding)


def _parts(drawn: Assembly, finding: Finding) -> Scene | None:
    mark = marks(drawn.design)
    kinds = list({mark.get(n, n): n for n in reversed(finding.parts) if n in drawn.design.part}.values())[::-1]
    if len(kinds) < 2:
        return None
    first, others = drawn.part(kinds[0]), [drawn.part(n) for n in kinds[1:KINDS_MOST]]
    frame = drawn.frames.get(first.name, identity())
    pieces = {first.name: (frame, first.finished)}
    pieces |= {other.name: (frame @ inverse(_laid(first, other)), other.finished) for other in others}
    way, step = _aside(first, frame), GAP * wide(first)
    apart: dict[str, Vector] = {}
    edge = float((_corners(pieces[first.name]) @ way).max())
    for other in others:
        across = _corners(pieces[other.name]) @ way
        apart[other.name] = way * (edge + step - float(across.min()))
        edge += step + float(np.ptp(across))
    at = np.vstack([_corners(p) + apart.get(n, np.zeros(3)) for n, p in pieces.items()])
    box = padded(np.array([at.min(axis=0), at.max(axis=0)]))
    return Scene(finished(drawn), finding, pieces, None, _spot(finding, box), box, apart)


def _spot(finding: Finding, box: Vector) -> Vector | None:
    """Return the spot of a finding, None where it lies on none of what is shown in a box (2, 3)."""
    at = None if finding.where is None else np.asarray(finding.where, dtype=np.float64)
    return None if at is None or (at < box[0]).any() or (at > box[1]).any() else at


def _laid(one: Part, other: Part) -> Frame:
    """Return the frame that lays one part on another with most of it alike."""
    found = lying(one, other)
    if found is None:
        found = laid_best(one, other)
    return identity() if found is None else found


def _aside(part: Part, frame: Frame) -> Vector:
    """Return the way, square to its grain, in which others are laid beside a part: up before sideways."""
    grain = part.blank.grain
    across = [frame[:3, k] for k in range(3) if abs(float(grain[k])) < 0.7]
    way = max(across, key=lambda w: round(abs(float(w[2])) + SIDEWAYS * abs(float(w[0])), 6))
    seen = float(way[2] + SIDEWAYS * way[0])
    return np.asarray(way if seen >= 0 else -way)


def _corners(piece: tuple[Frame, Solid]) -> Vector:
    return points(piece[0], piece[1].mesh[0])


def _units(drawn: Assembly, finding: Finding) -> Scene | None:
    """Return two sub-assemblies where they stand in the finished work, drawn away from each other."""
    if not finding.stage:
        return None
    laid = next((s for s in given_sub_assemblies(drawn)
                 if tuple(dict.fromkeys((*s.one.parts, *s.other.parts))) == finding.parts), None)
    if laid is None:
        return None
    held = finished(drawn)
    one, other = ([n for n in unit.parts if n in held.names] for unit in (laid.one, laid.other))
    pieces = standing_pieces(held, list(dict.fromkeys((*one, *other))))
    return _drawn_apart(held, finding, pieces, one, other) if one and other else None


def _drawn_apart(held: Moment, finding: Finding, pieces: Mapping[str, tuple[Frame, Solid]], one: Sequence[str],
                 other: Sequence[str]) -> Scene:
    here, there = (np.vstack([_corners(pieces[n]) for n in names]) for names in (one, other))
    between = there.mean(axis=0) - here.mean(axis=0)
    k = int(np.argmax(np.abs(between)))
    way = np.eye(3)[k] * (1.0 if between[k] >= 0 else -1.0)
    step = max(float((here @ way).max() - (there @ way).min()), 0.0) + GAP / 2 * float(np.ptp(here, axis=0).min())
    apart = {n: way * step for n in other if n not in set(one)}
    at = np.vstack([here, there + way * step])
    box = padded(np.array([at.min(axis=0), at.max(axis=0)]))
    return Scene(held, finding, pieces, None, _spot(finding, box), box, apart)
