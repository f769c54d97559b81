"""OBJ: every object (or, where there is none, every group) is one piece; no unit of its own, z up.

Read here, not by the mesh library: that takes relative indices for absolute ones and cuts faces of more than four
corners as if they were convex. Only corners and faces are read; materials and pictures that a file names are not
looked for. Format: Wavefront's "Object Files (.obj)" as commonly reprinted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import manifold3d
import numpy as np
from numpy.typing import NDArray

from model.frames import identity
from model.progress import Progress
from model.reader.pieces.body import Body, Corners, Refusal
from model.reader.pieces.limits import PIECES_MOST, TOTAL_MOST, whole

ACCEPTED = "a whole OBJ file of corners (v) and faces (f)"
FLAT = 1e-12
"""A face whose doubled area is this share of its size squared or less has no direction."""


@dataclass
class _Gathered:
    """What the lines so far have said. A face is (line, corners counted from 0)."""

    corners: list[tuple[float, float, float]] = field(default_factory=list)
    objects: dict[str, list[tuple[int, tuple[int, ...]]]] = field(default_factory=dict)
    groups: dict[str, list[tuple[int, tuple[int, ...]]]] = field(default_factory=dict)
    object: str = ""
    group: str = ""
    named: bool = False
    count: int = 0

    def take(self, number: int, line: str) -> None:
        key, _, rest = line.partition(" ")
        if key == "v":
            x, y, z = rest.split()[:3]
            self.corners.append((float(x), float(y), float(z)))
        elif key == "f":
            self._face(number, rest.split())
        elif key == "o":
            self.object, self.named = rest.strip(), True
        elif key == "g":
            self.group = rest.strip()

    def _face(self, number: int, words: Sequence[str]) -> None:
        known = len(self.corners)
        given = [int(word.split("/", 1)[0]) for word in words]
        face = tuple(i - 1 if i > 0 else known + i for i in given)
        if len(face) < 3 or min(face) < 0 or 0 in given:
            raise ValueError("a face of too few corners, or of corners that are not there")
        self.count += len(face) - 2
        if self.count > TOTAL_MOST:
            raise Refusal("", f"holds more than {TOTAL_MOST:,} triangles", f"at most {TOTAL_MOST:,}")
        for kept, name in ((self.objects, self.object), (self.groups, self.group)):
            kept.setdefault(name, []).append((number, face))
            if len(kept) > PIECES_MOST and (kept is self.objects or not self.named):
                raise Refusal("", f"holds more than {PIECES_MOST:,} pieces", f"at most {PIECES_MOST:,}")


def bodies(path: Path, progress: Progress) -> tuple[list[Body], str | None]:
    """Return the pieces of an OBJ; it has no unit. Raises Refusal."""
    text = whole(path, ACCEPTED).decode("utf-8", errors="replace").replace("\\\n", " ").replace("\\\r\n", " ")
    lines = text.splitlines()
    gathered = _Gathered()
    for number, line in enumerate(lines, 1):
        if number % 100_000 == 0:
            progress("reading the meshes", 0.8 * number / len(lines))
        try:
            gathered.take(number, " ".join(line.split()))
        except ValueError:
            raise Refusal("", f"line {number} cannot be read as OBJ", ACCEPTED) from None
    corners = np.array(gathered.corners, dtype=np.float64).reshape(-1, 3)
    found = gathered.objects if gathered.named else gathered.groups
    return [_body(name, faces, corners) for name, faces in found.items()], None


def _body(name: str, faces: Sequence[tuple[int, tuple[int, ...]]], corners: Corners) -> Body:
    for number, face in faces:
        if max(face) >= len(corners):
            raise Refusal(name, f"line {number} names corner {max(face) + 1}, of {len(corners)}", ACCEPTED)
    plain = [face for _, face in faces if len(face) == 3]
    cut = [triangle for _, face in faces if len(face) > 3 for triangle in _cut(face, corners)]
    triangles = np.array(plain + cut, dtype=np.int64).reshape(-1, 3)
    own, index = np.unique(triangles, return_inverse=True)
    return Body(name, corners[own], index.reshape(-1, 3), identity(), name)


def _cut(face: tuple[int, ...], corners: Corners) -> list[tuple[int, ...]]:
    """Return the triangles of a flat face of more than three corners, which may be hollow."""
    at = corners[list(face)]
    basis = _basis(at)
    if basis is not None:
        try:
            found = manifold3d.triangulate([np.ascontiguousarray(at @ basis.T)])
        except Exception:  # a face that crosses itself: the fan then shows as what is wrong with the mesh
            found = []
        if len(found) == len(face) - 2:
            return [tuple(face[k] for k in triangle) for triangle in np.asarray(found).tolist()]
    return [(face[0], face[k], face[k + 1]) for k in range(1, len(face) - 1)]


def _basis(at: Corners) -> NDArray[np.float64] | None:
    """Return two unit vectors (2, 3) in the plane of a face, counter-clockwise seen from outside."""
    spread = at - at[0]
    doubled = np.cross(spread, np.roll(spread, -1, axis=0)).sum(axis=0)
    size = float(np.linalg.norm(doubled))
    if not size > FLAT * float((spread ** 2).sum()):
        return None
    normal = doubled / size
    u = np.cross(normal, np.eye(3)[int(np.argmin(np.abs(normal)))])
    u /= np.linalg.norm(u)
    return np.array([u, np.cross(normal, u)])
