"""Wavefront OBJ with its material library: named objects, one material a species, millimetres, z up.

Written here, not by the mesh library: its writer names instances after their shape and takes
two woods of one tone for one. Format: Wavefront's "Object Files (.obj)" and "MTL material
format" as commonly reprinted.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from exports.meshes.figure import Figure
from exports.names import safe_names
from exports.woods import tone
from model.frames import points

DIGITS = 7
"""Digits behind the point of a coordinate, mm."""


class _Obj:
    name = "obj"
    says = "OBJ with names and wood materials, mm"

    def write(self, figure: Figure, path: Path) -> list[Path]:
        woods = safe_names(piece.species for piece in figure.pieces)
        scene, library = path.parent / f"{path.name}.obj", path.parent / f"{path.name}.mtl"
        with scene.open("w", encoding="utf-8", newline="\n") as file:
            file.write(f"# dryfit: millimetres, z up\nmtllib {library.name}\n")
            called = safe_names(piece.name for piece in figure.pieces)
            before = 1
            for piece in figure.pieces:
                vertices, faces = piece.solid.mesh
                mark = f"# mark {piece.mark}\n" if piece.mark else ""
                file.write(f"{mark}o {called[piece.name]}\nusemtl {woods[piece.species]}\n")
                file.writelines(_lines("v", f"%.{DIGITS}f", points(piece.frame, vertices)))
                file.writelines(_lines("f", "%d", faces + before))
                before += len(vertices)
        library.write_text("".join(_material(called, tone(wood)) for wood, called in woods.items()), encoding="utf-8")
        return [scene, library]


def _lines(key: str, form: str, rows: NDArray[np.float64] | NDArray[np.int64]) -> Iterator[str]:
    pattern = f"{key} {form} {form} {form}\n"
    return (pattern % tuple(row) for row in rows.tolist())


def _material(name: str, shade: tuple[int, int, int]) -> str:
    red, green, blue = (value / 255.0 for value in shade)
    return (f"newmtl {name}\nKa {red:.5f} {green:.5f} {blue:.5f}\nKd {red:.5f} {green:.5f} {blue:.5f}\n"
            "Ks 0.02 0.02 0.02\nNs 10\nd 1\nillum 2\n")


OBJ = _Obj()
