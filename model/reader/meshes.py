"""Mesh files beside a design: found inside its folder only, weighed before they are loaded, read by trimesh.

STL, OBJ and PLY carry no unit: their numbers are in the file's unit unless the part says
otherwise, in the axes of the part. A GLB is in metres with y up, as glTF 2.0 has it; it is
turned so that z is up.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from model.reader.beside import inside
from model.reader.glb import geometry_only
from model.reader.schema import MeshTable, Refused
from model.units import UNITS

BYTES_MOST = 20_000_000
"""A mesh file may not be larger than this."""
TRIANGLES_MOST = 200_000
"""Nor hold more triangles than this: it holds up every comparison of parts."""
ENDINGS = (".stl", ".obj", ".ply", ".glb")
ACCEPTED = "a file inside the folder of the design, ending in " + ", ".join(ENDINGS)
Y_UP = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])
"""Carries glTF's axes (y up) into ours (z up)."""

Mesh = tuple[NDArray[np.float64], NDArray[np.int64]]


def mesh_of(table: MeshTable, folder: Path, unit: str) -> dict[str, Any]:
    """Return the vertices (mm), faces and grain of a part's mesh file. Raises Refused for whatever cannot be used."""
    path = inside(folder, table.file, ENDINGS, BYTES_MOST, "mesh file")
    raw = _bytes(path)
    ending = path.suffix.lower()
    if ending == ".glb" and table.file_unit not in (None, "m"):
        raise Refused("a GLB file is in metres by its standard", 'no file_unit, or "m"')
    vertices, faces = loaded(raw, ending)
    scale = UNITS["m" if ending == ".glb" else table.file_unit or unit]
    return {"vertices": vertices * scale, "faces": faces, "grain": np.array(table.grain)}


def _bytes(path: Path) -> bytes:
    try:
        with path.open("rb") as opened:
            raw = opened.read(BYTES_MOST + 1)
    except OSError as error:
        raise Refused(f"cannot be read ({error.strerror})", ACCEPTED) from None
    if not raw:
        raise Refused("is empty", ACCEPTED)
    if len(raw) > BYTES_MOST:
        raise Refused("is too large", f"at most {BYTES_MOST:,} bytes")
    return raw


def _weigh(raw: bytes, ending: str) -> None:
    """Refuse a mesh by what its bytes announce, before anything is allocated for it."""
    weigh = _WEIGHED.get(ending)
    count = weigh(raw) if weigh else 0
    if count > TRIANGLES_MOST:
        raise Refused(f"announces {count:,} triangles", f"at most {TRIANGLES_MOST:,}")


def _in_stl(raw: bytes) -> int:
    if len(raw) >= 84:
        count: int = struct.unpack_from("<I", raw, 80)[0]
        if len(raw) == 84 + 50 * count:
            return count
    text = raw.count(b"endfacet")
    if not text:
        raise Refused("is no STL file: its length fits no number of triangles", "binary or text STL, whole")
    return text


def _in_obj(raw: bytes) -> int:
    return sum(max(0, len(line.split()) - 3) for line in raw.splitlines() if line.lstrip().startswith(b"f"))


def _in_ply(raw: bytes) -> int:
    header = raw[:100_000].split(b"end_header", 1)[0]
    counts = [int(n[:18]) for n in re.findall(rb"element\s+\S+\s+(\d+)", header)]
    if not counts or len(counts) > 8:
        raise Refused("is no PLY file of corners and faces", "PLY, whole")
    return max(counts)


_WEIGHED: dict[str, Callable[[bytes], int]] = {".stl": _in_stl, ".obj": _in_obj, ".ply": _in_ply}
"""A GLB is weighed by its own header (model.reader.glb)."""


def loaded(raw: bytes, ending: str) -> Mesh:
    """Return vertices and faces as the file has them, corners at one spot made one. Raises Refused."""
    import trimesh

    _weigh(raw, ending)
    try:
        if ending == ".glb":
            scene = trimesh.load_scene(BytesIO(geometry_only(raw, TRIANGLES_MOST)), file_type="glb", process=False)
            mesh = scene.to_mesh()
        else:
            extra = {"skip_materials": True} if ending == ".obj" else {}
            mesh = trimesh.load_mesh(BytesIO(raw), file_type=ending[1:], process=False, **extra)
        vertices = np.array(mesh.vertices, dtype=np.float64).reshape(-1, 3)
        faces = np.array(mesh.faces, dtype=np.int64).reshape(-1, 3)
    except Refused:
        raise
    except Exception:  # whatever a broken file makes a reader stumble over
        raise Refused(f"cannot be read as {ending[1:].upper()}", "a whole file of that kind") from None
    return welded(vertices @ Y_UP.T if ending == ".glb" else vertices, faces)


def welded(vertices: NDArray[np.float64], faces: NDArray[np.int64]) -> Mesh:
    """Return a mesh with corners at one spot made one and without flat triangles; Refused when it has a hole."""
    if not len(faces) or faces.min() < 0 or faces.max() >= len(vertices):
        raise Refused("holds no triangles, or triangles without corners", "a closed mesh")
    if len(faces) > TRIANGLES_MOST:
        raise Refused(f"holds {len(faces):,} triangles", f"at most {TRIANGLES_MOST:,}")
    if not np.all(np.isfinite(vertices)):
        raise Refused("has a corner that is no number", "finite numbers")
    corners, index = np.unique(vertices, axis=0, return_inverse=True)
    welded = index.reshape(-1)[faces]
    flat = (welded[:, 0] == welded[:, 1]) | (welded[:, 1] == welded[:, 2]) | (welded[:, 2] == welded[:, 0])
    _refuse_open(corners, welded[~flat])
    return corners, welded[~flat]


def _refuse_open(corners: NDArray[np.float64], faces: NDArray[np.int64]) -> None:
    """Refuse a mesh with an edge that has a triangle on one side only, and say where the first one is."""
    edges = np.sort(faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    found, times = np.unique(edges, axis=0, return_counts=True)
    open_edges = found[times == 1]
    if len(open_edges):
        near = ", ".join(f"{at:g}" for at in corners[open_edges[0]].mean(axis=0))
        raise Refused(f"has a hole: {len(open_edges):,} edges with a triangle on one side only, the first near {near} "
                      "in the numbers of the file", "a closed mesh")
