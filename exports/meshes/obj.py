"""Wavefront OBJ with its material library: named objects, one material a species, millimetres, z up."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from exports.meshes.figure import Figure, Piece
from exports.names import safe_names
from exports.woods import tone

DIGITS = 7
"""Digits behind the point of a coordinate, mm."""


class _Obj:
    name = "obj"
    says = "OBJ with names and wood materials, mm"

    def write(self, figure: Figure, path: Path) -> list[Path]:
        import trimesh
        from trimesh.exchange.obj import export_obj

        called = safe_names(piece.name for piece in figure.pieces)
        woods = _materials(figure)
        scene = trimesh.Scene()
        for piece in figure.pieces:
            mesh = _mesh(piece, woods[piece.species])
            scene.add_geometry(mesh, geom_name=called[piece.name], node_name=called[piece.name], transform=piece.frame)
        library = f"{path.name}.mtl"
        text, files = export_obj(scene, include_normals=False, return_texture=True, digits=DIGITS, mtl_name=library,
                                 header="dryfit: millimetres, z up")
        written = [path.parent / f"{path.name}.obj", path.parent / library]
        written[0].write_text(text + "\n", encoding="utf-8")
        written[1].write_bytes(files[library] + b"\n")
        return written


def _materials(figure: Figure) -> dict[str, Any]:
    from trimesh.visual.material import SimpleMaterial

    species = sorted({piece.species for piece in figure.pieces})
    called = safe_names(species)
    return {wood: SimpleMaterial(name=called[wood], diffuse=[*tone(wood), 255], ambient=[*tone(wood), 255],
                                 specular=[20, 20, 20, 255], glossiness=10.0) for wood in species}


def _mesh(piece: Piece, material: Any) -> Any:
    import trimesh
    from trimesh.visual import TextureVisuals

    vertices, faces = piece.solid.mesh
    return trimesh.Trimesh(np.array(vertices), np.array(faces), process=False,
                           visual=TextureVisuals(material=material))


OBJ = _Obj()
