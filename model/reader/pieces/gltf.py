"""GLB: binary glTF 2.0, metres with y up by its standard; every node that has a mesh is one piece."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import numpy as np

from model.frames import identity
from model.progress import Progress
from model.reader.glb import geometry_only, node_names
from model.reader.meshes import Y_UP
from model.reader.pieces.body import Body, Refusal
from model.reader.pieces.limits import TOTAL_MOST, whole
from model.reader.schema import Refused

ACCEPTED = "a whole binary glTF 2.0 file"
UNIT = "m"


def bodies(path: Path, progress: Progress) -> tuple[list[Body], str | None]:
    """Return the pieces of a GLB, turned so that z is up, and its unit. Raises Refusal.

    Nothing outside the file is looked at; materials, pictures and animations are left out, and so are nodes scaled to
    nothing: the standard hides by that what only an animation shows.
    """
    import trimesh

    raw = whole(path, ACCEPTED)
    progress("reading the meshes", 0.2)
    try:
        names = node_names(raw)
        scene = trimesh.load_scene(BytesIO(geometry_only(raw, TOTAL_MOST)), file_type="glb", process=False,
                                   merge_primitives=True)
        placed = [(int(node), *scene.graph[node]) for node in scene.graph.nodes_geometry]
        meshes = {name: (np.array(mesh.vertices, dtype=np.float64).reshape(-1, 3),
                         np.array(mesh.faces, dtype=np.int64).reshape(-1, 3))
                  for name, mesh in scene.geometry.items()}
    except Refused as refused:
        raise Refusal("", str(refused), refused.accepted) from None
    except Exception:  # whatever a broken file makes a reader stumble over
        raise Refusal("", "cannot be read as GLB", ACCEPTED) from None
    upright = identity()
    upright[:3, :3] = Y_UP
    return [Body(names[node], *meshes[mesh], upright @ np.array(matrix, dtype=np.float64), mesh)
            for node, matrix, mesh in sorted(placed, key=lambda one: one[0]) if np.any(np.array(matrix)[:3, :3])], UNIT
