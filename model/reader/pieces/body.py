"""Bodies: closed meshes as a file places them, before they are known to be sound."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from model.frames import Frame

Corners = NDArray[np.float64]
Triangles = NDArray[np.int64]

NAME_MOST = 60
"""A name longer than this many characters is cut short."""
PLAIN = 1e-6
"""A shape that a placing stretches by no more than this is not stretched: matrices kept in single precision."""


@dataclass(frozen=True, eq=False)
class Body:
    """One mesh in place: corners (N, 3) and triangles (M, 3) in its own numbers, and the 4x4 that places it.

    All numbers are the file's own. The 4x4 may turn, move, stretch and mirror. `shape`: equal for bodies of the
    same corners and triangles.
    """

    name: str
    corners: Corners
    triangles: Triangles
    placing: Frame
    shape: Hashable


class Refusal(Exception):
    """One thing wrong with a file of pieces: in which piece ("" where it is the file), what, what would be accepted."""

    def __init__(self, piece: str, message: str, accepted: str) -> None:
        self.piece, self.accepted = piece, accepted
        super().__init__(message)


def stretched(body: Body) -> tuple[Corners, Triangles, Frame, bytes]:
    """Return a body's corners stretched and mirrored as it is placed, and the rigid frame that then places it.

    The placing is a turn times a stretch (polar decomposition), so that what is merely turned keeps its corners. The
    last value is equal for equal stretches.
    """
    linear = body.placing[:3, :3]
    u, sizes, v = np.linalg.svd(linear)
    turn, stretch = u @ v, (v.T * sizes) @ v
    mirrored = np.linalg.det(turn) < 0
    if mirrored:
        turn, stretch = -turn, -stretch
    frame = np.eye(4)
    frame[:3, :3], frame[:3, 3] = turn, body.placing[:3, 3]
    if np.abs(stretch - np.eye(3)).max() <= PLAIN:
        return body.corners, body.triangles, frame, b""
    triangles = body.triangles[:, ::-1] if mirrored else body.triangles
    return body.corners @ stretch.T, triangles, frame, np.round(stretch, 9).tobytes()


def apart(names: Iterable[str]) -> list[str]:
    """Return names as they can be printed: one line, not too long, none twice (a-2, a-3 …), none empty."""
    taken: set[str] = set()
    given = []
    for number, name in enumerate(names, 1):
        stem = free = _clean(name) or f"part {number}"
        more = 1
        while free.casefold() in taken:
            more += 1
            free = f"{stem}-{more}"
        taken.add(free.casefold())
        given.append(free)
    return given


def _clean(name: str) -> str:
    text = " ".join(name[:4 * NAME_MOST].split())
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)[:NAME_MOST].strip()


def low_high(bodies: Sequence[Body]) -> NDArray[np.float64]:
    """Return the box around all bodies in the file's numbers (2, 3)."""
    low, high = np.full(3, np.inf), np.full(3, -np.inf)
    for body in bodies:
        if len(body.corners):
            at = body.corners @ body.placing[:3, :3].T + body.placing[:3, 3]
            low, high = np.minimum(low, at.min(axis=0)), np.maximum(high, at.max(axis=0))
    return np.array([low, high])
