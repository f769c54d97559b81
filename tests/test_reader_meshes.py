"""Mesh files beside a design: what they become, and what is refused before it does harm."""

from __future__ import annotations

import json
import os
import re
import struct
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assembly.placing import place
from model.design import Design
from model.errors import DesignError, Problem
from model.reader import read
from model.reader.crossing import crossing
from model.reader.meshes import BYTES_MOST, TRIANGLES_MOST
from model.solids import polyhedron

Reads = Callable[..., Design]


@pytest.fixture
def reads(tmp_path: Path) -> Reads:
    def read_part(file: str, more: str = "", unit: str = "mm") -> Design:
        design = tmp_path / "design.toml"
        design.write_text(f"""name = "Cap"
unit = "{unit}"
[stock.oak]
thickness = 100
width = 100
species = "White oak (Quercus alba)"
[part.cap]
shape = "mesh"
file = '{file}'
{more}
""", encoding="utf-8")
        return read(design)
    return read_part


def refused(reads: Reads, *args: Any) -> Problem:
    with pytest.raises(DesignError) as found:
        reads(*args)
    [problem] = found.value.problems
    return problem


def wedge() -> trimesh.Trimesh:
    """A wedge 120 long, 80 wide, 60 high at its start, running out to an edge."""
    corners = [(0, 0, 0), (120, 0, 0), (120, 80, 0), (0, 80, 0), (0, 0, 60), (0, 80, 60)]
    return trimesh.convex.convex_hull(np.array(corners, dtype=float))


VOLUME = 120 * 80 * 60 / 2


@pytest.mark.parametrize("kind", ["stl", "stl_ascii", "obj", "ply", "ply_ascii"])
def test_a_mesh_comes_in_at_its_size(reads: Reads, tmp_path: Path, kind: str) -> None:
    ending, _, text = kind.partition("_")
    ascii_ply = {"encoding": "ascii"} if kind == "ply_ascii" else {}
    raw = wedge().export(file_type="stl_ascii" if kind == "stl_ascii" else ending, **ascii_ply)
    name = f"cap.{ending.upper() if text else ending}"
    (tmp_path / name).write_bytes(raw if isinstance(raw, bytes) else raw.encode())
    design = reads(name)
    [cap] = design.parts
    assert cap.finished.volume == pytest.approx(VOLUME, rel=1e-6)
    assert (cap.blank.length, cap.blank.width, cap.blank.thickness) == pytest.approx((120, 80, 60), abs=1e-4)
    assert set(cap.blank.places) == {"start", "end", "face", "back", "edge", "far_edge"}
    assert not place(design).loose


@pytest.mark.parametrize(("unit", "said", "scale"), [
    ("mm", "", 1.0), ("in", "", 25.4), ("mm", 'file_unit = "cm"', 10.0), ("in", 'file_unit = "mm"', 1.0),
])
def test_its_numbers_are_in_the_files_unit_or_the_one_said(reads: Reads, tmp_path: Path, unit: str, said: str,
                                                           scale: float) -> None:
    wedge().export(tmp_path / "cap.stl")
    [cap] = reads("cap.stl", said, unit).parts
    assert cap.blank.length == pytest.approx(120 * scale, rel=1e-6)


@pytest.mark.parametrize(("said", "grain"), [
    ("", (1, 0, 0)), ('grain = "z"', (0, 0, 1)), ("grain = [3, 4, 0]", (0.6, 0.8, 0)), ('grain = "y"', (0, 1, 0)),
])
def test_its_grain(reads: Reads, tmp_path: Path, said: str, grain: tuple[float, ...]) -> None:
    wedge().export(tmp_path / "cap.stl")
    assert reads("cap.stl", said).parts[0].blank.grain == pytest.approx(grain)


def glb(tmp_path: Path) -> Path:
    """The wedge as glTF has it: metres, y up; inside a node of its own that moves and turns it."""
    mesh = wedge()
    mesh.apply_scale(0.001)
    mesh.apply_transform([[1, 0, 0, 0], [0, 0, 1, 0], [0, -1, 0, 0], [0, 0, 0, 1]])
    mesh.visual.vertex_colors = [200, 100, 50, 255]
    scene = trimesh.Scene()
    scene.add_geometry(mesh, transform=trimesh.transformations.translation_matrix([1.0, 2.0, 3.0]))
    file = tmp_path / "cap.glb"
    file.write_bytes(scene.export(file_type="glb", include_normals=True))
    return file


def test_a_glb_is_in_metres_with_y_up(reads: Reads, tmp_path: Path) -> None:
    glb(tmp_path)
    [cap] = reads("cap.glb", "", "in").parts
    assert cap.finished.volume == pytest.approx(VOLUME, rel=1e-5)
    # x stays, y up becomes z up: (1, 2, 3) m stands at (1000, -3000, 2000) mm (glTF 2.0, 3.4: +Y up, metres)
    assert cap.finished.bounds[0] == pytest.approx([1000, -3000, 2000], abs=1e-3)
    assert np.diff(cap.finished.bounds, axis=0)[0] == pytest.approx([120, 80, 60], abs=1e-3)
    assert refused(reads, "cap.glb", 'file_unit = "mm"').key == "part.cap.file"


def test_a_mesh_part_is_joined_like_any_other(reads: Reads, tmp_path: Path) -> None:
    wedge().export(tmp_path / "cap.stl")
    design = reads("cap.stl", """
[part.post]
shape = "board"
length = 700
width = 90
thickness = 90
[joint.on]
kind = "blind tenon"
from = "post.end"
into = "cap.back"
along = -40
depth = 20
width = 30
thickness = 30
""")
    assembly = place(design)
    assert not assembly.loose
    assert "mortise" in {f.role for f in design.part["cap"].features}


@pytest.mark.parametrize("name", [
    "../cap.stl", "/etc/cap.stl", "sub/../../cap.stl", "..\\\\cap.stl", "link.stl", "links/cap.stl", "~/cap.stl", "cap",
    "cap.step", "none.stl", "", ".", "pipe.stl", "sub.stl", "loop.stl", "a" * 300 + ".stl",
])
def test_nothing_outside_the_folder_is_read(reads: Reads, tmp_path_factory: pytest.TempPathFactory, tmp_path: Path,
                                            name: str) -> None:
    outside = tmp_path_factory.mktemp("outside")
    wedge().export(outside / "cap.stl")
    wedge().export(tmp_path.parent / "cap.stl")
    (tmp_path / "sub").mkdir()
    (tmp_path / "sub.stl").mkdir()
    (tmp_path / "link.stl").symlink_to(outside / "cap.stl")
    (tmp_path / "links").symlink_to(outside)
    (tmp_path / "loop.stl").symlink_to(tmp_path / "loop.stl")
    os.mkfifo(tmp_path / "pipe.stl")
    problem = refused(reads, name)
    assert (problem.key, problem.line) == ("part.cap.file", 9)


def test_a_link_that_stays_inside_is_followed(reads: Reads, tmp_path: Path) -> None:
    (tmp_path / "sub").mkdir()
    wedge().export(tmp_path / "sub" / "cap.stl")
    (tmp_path / "here.stl").symlink_to(tmp_path / "sub" / "cap.stl")
    assert reads("here.stl").parts[0].blank.length == reads("sub/cap.stl").parts[0].blank.length


def with_a_hole() -> bytes:
    mesh = wedge()
    return bytes(trimesh.Trimesh(mesh.vertices, mesh.faces[1:], process=False).export(file_type="stl"))


def two_pieces() -> bytes:
    apart = wedge()
    apart.apply_translation([500, 0, 0])
    return bytes(trimesh.util.concatenate([wedge(), apart]).export(file_type="stl"))


def inside_out() -> bytes:
    mesh = wedge()
    mesh.invert()
    return bytes(mesh.export(file_type="stl"))


def stl_of(count: int) -> bytes:
    return b" " * 80 + struct.pack("<I", count)


@pytest.mark.parametrize(("ending", "raw", "words"), [
    ("stl", b"", "is empty"),
    ("stl", with_a_hole(), "has a hole"),
    ("stl", two_pieces(), "2 separate pieces"),
    ("stl", inside_out(), "cannot be made"),
    ("stl", stl_of(0xffffffff), "is no STL file"),
    ("stl", stl_of(0), "no triangles"),
    ("stl", stl_of(TRIANGLES_MOST + 1) + bytes(50 * (TRIANGLES_MOST + 1)), "announces 200,001 triangles"),
    ("stl", b"\0" * (BYTES_MOST + 1), "is too large"),
    ("stl", wedge().export(file_type="stl")[:-7], "is no STL file"),
    ("stl", stl_of(4) + struct.pack("<12fH", *[float("nan")] * 12, 0) * 4, "a corner that is no number"),
    ("obj", b"not an obj", ""),
    ("obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n", ""),
    ("obj", b"v 0 0 0\n" + b"f 1 1 1\n" * (TRIANGLES_MOST + 1), "announces"),
    ("obj", b"f" + b" 1" * (TRIANGLES_MOST + 9), "announces"),
    ("ply", b"ply\nformat ascii 1.0\nelement vertex 4000000000\nproperty float x\nend_header\n", "announces 4,000"),
    ("ply", b"ply\nformat binary_little_endian 1.0\nend_header\n", "is no PLY"),
    ("ply", b"ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nelement face 1\nend_header\n0\n", ""),
    ("glb", b"glTF", "is no GLB"),
    ("glb", b"\0" * 64, "is no GLB"),
], ids=range(19))
def test_a_mesh_that_cannot_be_used(reads: Reads, tmp_path: Path, ending: str, raw: bytes, words: str) -> None:
    (tmp_path / f"cap.{ending}").write_bytes(raw)
    problem = refused(reads, f"cap.{ending}")
    assert words in problem.message
    assert problem.key in ("part.cap.file", "part.cap") and problem.line in (7, 9)


def test_a_hole_is_said_where_it_is(reads: Reads, tmp_path: Path) -> None:
    (tmp_path / "cap.stl").write_bytes(with_a_hole())
    problem = refused(reads, "cap.stl")
    assert re.search(r"3 edges with a triangle on one side only, the first near -?[\d.]+, -?[\d.]+, ", problem.message)
    assert problem.accepted == "a closed mesh"


def pushed_through() -> trimesh.Trimesh:
    """A ball whose top is pushed down through its bottom: closed, in one piece, and crossing itself."""
    ball = trimesh.creation.icosphere(3, radius=40.0)
    corners = ball.vertices.copy()
    corners[corners[:, 2] > 38.0] -= (0.0, 0.0, 100.0)
    return trimesh.Trimesh(corners, ball.faces, process=False)


def test_a_mesh_that_crosses_itself_is_refused(reads: Reads, tmp_path: Path) -> None:
    (tmp_path / "cap.stl").write_bytes(bytes(pushed_through().export(file_type="stl")))
    assert "crosses itself near" in refused(reads, "cap.stl").message


@pytest.mark.parametrize("sound", [
    trimesh.creation.box((100, 50, 20)), trimesh.creation.icosphere(4, radius=40.0), trimesh.creation.torus(50, 20),
    trimesh.creation.annulus(20, 40, 10), trimesh.creation.icosphere(2, radius=0.3)])
def test_a_sound_mesh_does_not_cross_itself(sound: trimesh.Trimesh) -> None:
    assert crossing(polyhedron(sound.vertices, sound.faces)) is None


@pytest.mark.parametrize(("size", "words"), [
    ((2.0, 0.14, 0.038), "is no piece of wood: 2 x 0.14 x 0.04 mm"), ((2.0, 0.2, 0.2), "is no piece of wood"),
    ((200.0, 100.0, 0.05), "is no piece of wood")])
def test_a_mesh_too_small_for_wood_is_asked_for_its_unit(reads: Reads, tmp_path: Path, size: tuple[float, ...],
                                                         words: str) -> None:
    (tmp_path / "cap.stl").write_bytes(bytes(trimesh.creation.box(size).export(file_type="stl")))
    problem = refused(reads, "cap.stl")
    assert words in problem.message and 'file_unit = "m"' in problem.accepted


def rewritten(raw: bytes, change: Callable[[dict[str, Any]], None]) -> bytes:
    length = struct.unpack_from("<I", raw, 12)[0]
    header = json.loads(raw[20:20 + length])
    change(header)
    text = json.dumps(header).encode()
    text += b" " * (-len(text) % 4)
    body = struct.pack("<II", len(text), 0x4E4F534A) + text + raw[20 + length:]
    return raw[:8] + struct.pack("<I", 12 + len(body)) + body


def _count(h: dict[str, Any]) -> None:
    h["accessors"][0]["count"] = 10**9


def _no_view(h: dict[str, Any]) -> None:
    for accessor in h["accessors"]:
        del accessor["bufferView"]
        accessor["count"] = 10**10


def _outside(h: dict[str, Any]) -> None:
    h["buffers"].append({"uri": "/etc/passwd", "byteLength": 10})
    h["bufferViews"][0]["buffer"] = 1


def _circle(h: dict[str, Any]) -> None:
    h["nodes"][0]["children"] = [0]


def _many(h: dict[str, Any]) -> None:
    first = len(h["nodes"])
    h["nodes"] += [{"mesh": 0}] * 100_000
    h["scenes"][h.get("scene", 0)]["nodes"] += list(range(first, first + 100_000))


def _stride(h: dict[str, Any]) -> None:
    h["bufferViews"][h["accessors"][h["meshes"][0]["primitives"][0]["attributes"]["POSITION"]]["bufferView"]][
        "byteStride"] = 10**6


def _points(h: dict[str, Any]) -> None:
    h["meshes"][0]["primitives"][0]["mode"] = 0


def _negative(h: dict[str, Any]) -> None:
    h["scenes"][0]["nodes"] = [-1]


def _nothing(h: dict[str, Any]) -> None:
    h.clear()


@pytest.mark.parametrize("change", [_count, _no_view, _outside, _circle, _many, _stride, _points, _negative, _nothing])
def test_a_glb_that_lies_is_refused(reads: Reads, tmp_path: Path, change: Callable[[dict[str, Any]], None]) -> None:
    file = glb(tmp_path)
    file.write_bytes(rewritten(file.read_bytes(), change))
    assert refused(reads, "cap.glb").key == "part.cap.file"


def test_pictures_and_addresses_in_a_glb_are_left_alone(reads: Reads, tmp_path: Path) -> None:
    def dress(h: dict[str, Any]) -> None:
        h["images"] = [{"uri": "file:///etc/passwd"}, {"uri": "http://192.0.2.1/x.png"}]
        h["textures"] = [{"source": 0}]
        h["materials"] = [{"pbrMetallicRoughness": {"baseColorTexture": {"index": 0}}}]
        h["extensionsRequired"] = ["X_unheard_of"]
        h["meshes"][0]["primitives"][0]["material"] = 0

    file = glb(tmp_path)
    file.write_bytes(rewritten(file.read_bytes(), dress))
    assert reads("cap.glb").parts[0].finished.volume == pytest.approx(VOLUME, rel=1e-5)


@settings(max_examples=80, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data(), ending=st.sampled_from(["stl", "obj", "ply", "glb"]))
def test_any_damage_to_a_mesh_is_read_or_refused(reads: Reads, tmp_path: Path, data: st.DataObject,
                                                 ending: str) -> None:
    made = glb(tmp_path).read_bytes() if ending == "glb" else wedge().export(file_type=ending)
    raw = bytearray(made if isinstance(made, bytes) else made.encode())
    for _ in range(data.draw(st.integers(1, 5))):
        raw[data.draw(st.integers(0, len(raw) - 1))] = data.draw(st.integers(0, 255))
    (tmp_path / f"cap.{ending}").write_bytes(bytes(raw[:data.draw(st.integers(len(raw) // 2, len(raw)))]))
    try:
        design = reads(f"cap.{ending}")
    except DesignError as error:
        assert error.problems[0].line is not None
    else:
        assert design.parts[0].finished.volume > 0
