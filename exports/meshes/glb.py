"""Binary glTF 2.0: metres, y up; whole > group > part by name; parts alike share one mesh.

In the file the design's x stays x, up (z) becomes y, and away from the viewer (y) becomes -z.
The turn stands in the root node alone; below it every node stands as the part's frame, in metres.
Where the figure has clips they are animations of these nodes; what only a clip shows (a temporary part, a part before
a cut) is a node below `ASIDE`, of size 0 as long as nothing plays.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from exports.meshes.channels import METRES, Node, animate, nodes
from exports.meshes.figure import Figure, Group, Piece
from exports.woods import linear, tone
from model.frames import Frame, X, turn

BASE = "\0scene"
"""The scene graph's own base, which no part can be called; it is not written."""
ASIDE = "only while it plays"
"""The group of what is seen in clips alone."""
CORNERS, TRIANGLES = 34962, 34963
"""What the standard calls buffers of corners, and of the numbers of corners."""
ROUGHNESS = 0.75
"""How dull planed wood looks, 0 to 1 (by eye)."""


class _Glb:
    name = "glb"
    says = "binary glTF with names and hierarchy, m, y up"

    def write(self, figure: Figure, path: Path) -> list[Path]:
        clips = figure.played()
        all_nodes = nodes(figure, clips)
        scene = _scene(figure, all_nodes)
        pieces = [node.piece for node in all_nodes]
        file = path.parent / f"{path.name}.glb"
        file.write_bytes(scene.export(file_type="glb", include_normals=False,
                                      buffer_postprocessor=partial(animate, all_nodes, clips) if clips else None,
                                      tree_postprocessor=partial(_finished, {p.name: p.mark for p in pieces})))
        return [file]


def _scene(figure: Figure, all_nodes: Sequence[Node]) -> Any:
    import trimesh

    aside = [node.piece for node in all_nodes if not node.shown]
    taken = {*(g.name for g in figure.groups), *(node.piece.name for node in all_nodes)}
    groups = [*figure.groups, *([Group(_free(ASIDE, taken), tuple(aside))] if aside else [])]
    scene = trimesh.Scene(base_frame=BASE)
    root = _free(figure.name, {*taken, *(g.name for g in groups)})
    scene.graph.update(frame_to=root, frame_from=BASE, matrix=turn(X, -np.pi / 2))
    scene.geometry.update(_shapes([node.piece for node in all_nodes]))
    for group in groups:
        above = root
        if group.name:
            above = group.name
            scene.graph.update(frame_to=above, frame_from=root, matrix=np.eye(4))
        for piece in group.pieces:
            scene.graph.update(frame_to=piece.name, frame_from=above, matrix=in_metres(piece.frame),
                               geometry=_shape_name(piece))
    return scene


def in_metres(frame: Frame) -> Frame:
    """Return a frame with its origin in metres instead of millimetres."""
    out = np.array(frame, dtype=np.float64)
    out[:3, 3] *= METRES
    return out


def _free(name: str, taken: set[str]) -> str:
    while name in taken:
        name += " (whole)"
    return name


def _shape_name(piece: Piece) -> str:
    return f"{piece.solid.key.hex()} {piece.species}"


def _shapes(pieces: Sequence[Piece]) -> dict[str, Any]:
    import trimesh

    made: dict[str, Any] = {}
    for piece in pieces:
        if _shape_name(piece) not in made:
            vertices, faces = piece.solid.mesh
            made[_shape_name(piece)] = trimesh.Trimesh(vertices * METRES, np.array(faces), process=False,
                                                       metadata={"first": piece.name, "species": piece.species})
    return made


def _finished(marks: Mapping[str, str], tree: dict[str, Any]) -> None:
    """Say who wrote the file, call meshes after the first part of their shape, give them wood, and parts marks.

    Buffers of meshes are told as corners and as triangles, as the standard would have it. The materials
    are put in here because the library's own writer takes two woods of one tone for one.
    """
    tree["asset"]["generator"] = "dryfit"
    woods: list[str] = []
    for mesh in tree["meshes"]:
        about = mesh.pop("extras")
        mesh["name"] = about["first"]
        if about["species"] not in woods:
            woods.append(about["species"])
        for primitive in mesh["primitives"]:
            primitive["material"] = woods.index(about["species"])
            for accessor, target in ((primitive["attributes"]["POSITION"], CORNERS), (primitive["indices"], TRIANGLES)):
                tree["bufferViews"][tree["accessors"][accessor]["bufferView"]]["target"] = target
    for node in tree["nodes"]:
        if "mesh" in node and marks.get(node["name"]):
            node["extras"] = {"mark": marks[node["name"]]}
    tree["materials"] = [_material(wood) for wood in woods]


def _material(wood: str) -> dict[str, Any]:
    return {"name": wood, "pbrMetallicRoughness": {
        "baseColorFactor": [*linear(tone(wood)), 1.0], "metallicFactor": 0.0, "roughnessFactor": ROUGHNESS}}


GLB = _Glb()
