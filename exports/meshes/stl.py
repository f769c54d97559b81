"""Binary STL: one triangle soup, millimetres, z up. The format has no names, colours or units of its own."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from exports.meshes.figure import Figure
from exports.names import safe
from model.frames import points

HEADER = 80
"""Bytes of free text at the start of a binary STL file; it must not begin with "solid"."""


class _Stl:
    name = "stl"
    says = "binary STL, mm"

    def write(self, figure: Figure, path: Path) -> list[Path]:
        import trimesh
        from trimesh.exchange.stl import export_stl

        corners, triangles, before = [], [], 0
        for piece in figure.pieces:
            vertices, faces = piece.solid.mesh
            corners.append(points(piece.frame, vertices))
            triangles.append(faces + before)
            before += len(vertices)
        mesh = trimesh.Trimesh(np.vstack(corners), np.vstack(triangles), process=False)
        file = path.parent / f"{path.name}.stl"
        mark = f"mark {figure.pieces[0].mark} " if len(figure.pieces) == 1 and figure.pieces[0].mark else ""
        header = f"dryfit mm {mark}{safe(figure.name)}".encode("ascii", "replace")[:HEADER].ljust(HEADER, b"\0")
        file.write_bytes(header + export_stl(mesh)[HEADER:])
        return [file]


STL = _Stl()
