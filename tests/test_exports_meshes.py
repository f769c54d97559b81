"""Meshes as other programs see them: byte layouts by the formats' own texts, contents by other libraries.

Layouts: binary STL as its format is commonly described (80 bytes of header, a count, 50 bytes a triangle);
GLB from the glTF 2.0 specification, "GLB File Format Specification" (Khronos Group, 2017; ISO/IEC 12113).
"""

from __future__ import annotations

import json
import re
import string
import struct
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pygltflib
import pytest
import trimesh

from assembly.alike import marks
from assembly.rehearsal import Rehearsal, rehearse
from exports.manifest import manifest
from exports.meshes import FORMATS, write_meshes
from exports.meshes.figure import Figure, of_stage, of_whole
from exports.woods import linear, tone
from model.design import Design
from model.draft import Draft
from model.frames import X, Z, frame_of, identity, points, turn
from model.part import Feature
from model.reader import read
from model.shapes.board import board
from model.solids import box
from tests import zoo
from tests.rehearsed import by_hand

ROOT = Path(__file__).resolve().parent.parent
ZOO = {"trestle": zoo.trestle, "frame": zoo.frame}


@pytest.fixture(scope="module", params=list(ZOO))
def written(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Rehearsal, Path]:
    rehearsal = by_hand(ZOO[request.param]())
    folder = tmp_path_factory.mktemp(request.param)
    write_meshes(rehearsal, folder)
    return rehearsal, folder


def metre(wood: str = "White oak (Quercus alba)", other: str = "Western redcedar") -> Design:
    """A board of 1000 × 90 × 38 mm lying along x, 200 mm up, one of another wood standing on it."""
    draft = Draft("metre")
    draft.add("lying", board(zoo.milled("ring", 38.0, 90.0, other), 1000.0), identity() @ frame_of((0, 0, 200), Z, X))
    draft.add("standing", board(zoo.milled("oak", 20.0, 20.0, wood), 300.0),
              frame_of((500, 0, 219), X, Z))
    draft.join_at("stands", "blind tenon", "standing", "lying", frame_of((500, 0, 219), -Z, X))
    draft.base = "lying"
    return draft.finish()


def chunks(data: bytes) -> list[tuple[int, bytes]]:
    found, at = [], 12
    while at < len(data):
        length, kind = struct.unpack_from("<II", data, at)
        found.append((kind, data[at + 8: at + 8 + length]))
        at += 8 + length
    assert at == len(data)
    return found


def test_every_part_stage_and_the_whole_in_every_format(written: tuple[Rehearsal, Path]) -> None:
    rehearsal, folder = written
    endings = ["stl", "obj", "mtl", "glb"]
    expected = {f"parts/{p.name}" for p in rehearsal.design.parts}
    expected |= {"stages/01-first_two", "stages/02-the_rest", "whole"}
    found = {p.relative_to(folder / "meshes").as_posix() for p in folder.rglob("*") if p.is_file()}
    assert found == {f"{name}.{ending}" for name in expected for ending in endings}


def test_only_the_formats_asked_for(tmp_path: Path) -> None:
    files = write_meshes(by_hand(zoo.trestle()), tmp_path, ["stl"])
    assert {f.suffix for f in files} == {".stl"}
    assert sorted(files) == sorted(p for p in tmp_path.rglob("*") if p.is_file())


# -- STL ------------------------------------------------------------------------------------------


def test_stl_bytes(written: tuple[Rehearsal, Path]) -> None:
    for file in written[1].rglob("*.stl"):
        data = file.read_bytes()
        (count,) = struct.unpack_from("<I", data, 80)
        assert len(data) == 84 + 50 * count
        assert data.startswith(b"dryfit mm ")
        assert data[:5].lower() != b"solid"
        triangles = np.frombuffer(data, np.dtype([("n", "<3f4"), ("v", "<9f4"), ("a", "<u2")]), offset=84)
        a, b, c = triangles["v"].reshape(-1, 3, 3).transpose(1, 0, 2).astype(float)
        normal = np.cross(b - a, c - a)
        normal /= np.linalg.norm(normal, axis=1)[:, None]
        assert np.abs(normal - triangles["n"]).max() < 1e-3
        assert not triangles["a"].any()


def test_stl_volume_is_that_of_the_part(written: tuple[Rehearsal, Path]) -> None:
    rehearsal, folder = written
    for part in rehearsal.design.parts:
        mesh = trimesh.load_mesh(folder / f"meshes/parts/{part.name}.stl")
        assert mesh.is_watertight
        assert mesh.volume == pytest.approx(part.finished.volume, rel=1e-5)


# -- OBJ ------------------------------------------------------------------------------------------


def test_obj_names_materials_and_volumes(written: tuple[Rehearsal, Path]) -> None:
    rehearsal, folder = written
    text = (folder / "meshes/whole.obj").read_text()
    names = [line[2:] for line in text.splitlines() if line.startswith("o ")]
    assert sorted(names) == sorted(rehearsal.assembly.names)
    scene = trimesh.load(folder / "meshes/whole.obj", split_objects=True, group_material=False)
    assert isinstance(scene, trimesh.Scene)
    assert scene.bounds == pytest.approx(_bounds(rehearsal), abs=1e-5)
    volumes = {name: mesh.volume for name, mesh in scene.geometry.items()}
    for part in rehearsal.design.parts:
        assert volumes[part.name] == pytest.approx(part.finished.volume, rel=1e-7)
    first = rehearsal.assembly.names[0]
    wood = trimesh.load_mesh(folder / f"meshes/parts/{first}.obj").visual.material
    assert wood.name == "Western_redcedar"
    assert tuple(wood.diffuse[:3]) == tone("Western redcedar")


def test_obj_has_one_material_a_species(tmp_path: Path) -> None:
    write_meshes(by_hand(metre()), tmp_path, ["obj"])
    library = (tmp_path / "meshes/whole.mtl").read_text()
    text = (tmp_path / "meshes/whole.obj").read_text()
    made = [line.split()[1] for line in library.splitlines() if line.startswith("newmtl ")]
    used = [line.split()[1] for line in text.splitlines() if line.startswith("usemtl ")]
    assert sorted(made) == sorted(used) == ["Western_redcedar", "White_oak_Quercus_alba"]
    assert "mtllib whole.mtl" in text.splitlines()


def test_two_woods_of_one_tone_stay_two(tmp_path: Path) -> None:
    woods = ("Douglas-fir, coast", "Douglas-fir, interior north")
    assert tone(woods[0]) == tone(woods[1])
    write_meshes(by_hand(metre(*woods)), tmp_path)
    assert (tmp_path / "meshes/whole.mtl").read_text().count("newmtl Douglas-fir") == 2
    file = pygltflib.GLTF2().load(str(tmp_path / "meshes/whole.glb"))
    assert sorted(m.name for m in file.materials) == sorted(woods)
    assert len({p.material for m in file.meshes for p in m.primitives}) == 2


# -- GLB ------------------------------------------------------------------------------------------


def test_glb_header_and_chunks(written: tuple[Rehearsal, Path]) -> None:
    for file in written[1].rglob("*.glb"):
        data = file.read_bytes()
        magic, version, length = struct.unpack_from("<4sII", data)
        assert (magic, version, length) == (b"glTF", 2, len(data))
        (kind, tree), (binary_kind, binary) = chunks(data)
        assert kind == 0x4E4F534A and binary_kind == 0x004E4942
        assert len(tree) % 4 == 0 and len(binary) % 4 == 0
        head = json.loads(tree)
        assert head["asset"]["version"] == "2.0"
        assert head["buffers"][0]["byteLength"] <= len(binary) < head["buffers"][0]["byteLength"] + 4


def test_a_metre_reads_one(tmp_path: Path) -> None:
    write_meshes(by_hand(metre()), tmp_path, ["glb"])
    part = trimesh.load(tmp_path / "meshes/parts/lying.glb")
    assert part.extents[0] == pytest.approx(1.0, abs=1e-6)
    whole = trimesh.load(tmp_path / "meshes/whole.glb")
    low, high = whole.bounds
    assert high[0] - low[0] == pytest.approx(1.0, abs=1e-6)
    assert low[1] == pytest.approx(0.181, abs=1e-6)
    assert high[1] == pytest.approx(0.519, abs=1e-6), "up is +y"
    assert (low[2], high[2]) == pytest.approx((-0.045, 0.045), abs=1e-6)


def test_away_from_the_viewer_becomes_minus_z(tmp_path: Path) -> None:
    draft = Draft("deep")
    draft.add("deep", board(zoo.STOCK["ring"], 1000.0), frame_of((0, 0, 0), Z, (0, 1, 0)))
    write_meshes(by_hand(draft.finish()), tmp_path, ["glb"])
    low, high = trimesh.load(tmp_path / "meshes/whole.glb").bounds
    assert (low[2], high[2]) == pytest.approx((-1.0, 0.0), abs=1e-6)


def test_glb_hierarchy_is_whole_stage_part(written: tuple[Rehearsal, Path]) -> None:
    rehearsal, folder = written
    file = pygltflib.GLTF2().load(str(folder / "meshes/whole.glb"))
    nodes = file.nodes
    (root,) = _roots(file)
    assert nodes[root].name == rehearsal.design.name
    stages = [nodes[i] for i in nodes[root].children]
    assert [s.name for s in stages] == ["stage 1: first two", "stage 2: the rest"]
    parts = [nodes[i].name for s in stages for i in s.children]
    assert tuple(parts) == rehearsal.assembly.names
    assert all(nodes[i].mesh is not None for s in stages for i in s.children)


def test_glb_shares_one_mesh_between_parts_alike(written: tuple[Rehearsal, Path]) -> None:
    rehearsal, folder = written
    file = pygltflib.GLTF2().load(str(folder / "meshes/whole.glb"))
    assert len(file.meshes) == len({p.finished.key for p in rehearsal.design.parts})
    assert len(file.meshes) < len(rehearsal.design.parts) or rehearsal.design.name == "trestle"
    by_mesh: dict[int, set[bytes]] = {}
    for node in file.nodes:
        if node.mesh is not None:
            by_mesh.setdefault(node.mesh, set()).add(rehearsal.design.part[node.name].finished.key)
    assert all(len(keys) == 1 for keys in by_mesh.values())


def test_glb_woods_in_linear_light(tmp_path: Path) -> None:
    write_meshes(by_hand(metre()), tmp_path, ["glb"])
    file = pygltflib.GLTF2().load(str(tmp_path / "meshes/whole.glb"))
    woods = {m.name: m.pbrMetallicRoughness for m in file.materials}
    assert set(woods) == {"Western redcedar", "White oak (Quercus alba)"}
    for name, wood in woods.items():
        assert wood.baseColorFactor[:3] == pytest.approx(linear(tone(name)), abs=0.003)
        assert wood.metallicFactor == 0.0


def test_glb_parts_stand_where_the_assembly_puts_them(written: tuple[Rehearsal, Path]) -> None:
    rehearsal, folder = written
    scene = trimesh.load(folder / "meshes/whole.glb")
    for name in rehearsal.assembly.names:
        frame, shape = scene.graph[name]
        found = trimesh.transform_points(scene.geometry[shape].vertices, frame)
        x, y, z = (rehearsal.assembly.vertices(name) / 1000.0).T
        assert _sorted(found) == pytest.approx(_sorted(np.column_stack([x, z, -y])), abs=2e-6)
        assert scene.geometry[shape].volume * 1e9 == pytest.approx(rehearsal.design.part[name].finished.volume, 1e-5)


# -- steps ----------------------------------------------------------------------------------------


def test_a_stage_shows_only_the_cuts_made_by_then(tmp_path: Path) -> None:
    design = zoo.changed(zoo.trestle(), "post_1", lambda p: replace(p, features=(*p.features, Feature(
        "later", "cut", box((-1, -50, -50), (20, 50, 50)), "curve", after="first two"))))
    rehearsal = by_hand(design)
    write_meshes(rehearsal, tmp_path, ["glb", "stl"])
    lengths = []
    for place in ("stages/01-first_two", "stages/02-the_rest", "whole"):
        scene = trimesh.load(tmp_path / f"meshes/{place}.glb")
        lengths.append(round(float(scene.geometry[scene.graph["post_1"][1]].extents[0]), 6))
    assert lengths == [0.5, 0.48, 0.48]
    first = trimesh.load_mesh(tmp_path / "meshes/stages/01-first_two.stl")
    done = rehearsal.plan.stages[0].done
    assert first.volume == pytest.approx(
        sum(design.part[n].solid(done).volume for n in rehearsal.plan.stages[0].parts), rel=1e-5)


def test_temporary_and_loose_parts_stay_out_of_the_whole(tmp_path: Path) -> None:
    stray = zoo.part_loose()
    design = zoo.changed(stray, "long_rail_01", lambda p: replace(p, leaves_after="the rest"))
    rehearsal = by_hand(design)
    write_meshes(rehearsal, tmp_path, ["obj"])
    text = (tmp_path / "meshes/whole.obj").read_text()
    assert {line[2:] for line in text.splitlines() if line.startswith("o ")} == {"post_1", "post_2"}
    assert "o long_rail_01" in (tmp_path / "meshes/stages/02-the_rest.obj").read_text()
    assert (tmp_path / "meshes/parts/stray.obj").is_file()


# -- manifest -------------------------------------------------------------------------------------


def test_manifest_against_a_second_library(written: tuple[Rehearsal, Path]) -> None:
    rehearsal, folder = written
    files = [p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()]
    listed = manifest(rehearsal, files)
    total, moment = 0.0, np.zeros(3)
    for entry in listed["parts"]:
        vertices, faces = rehearsal.design.part[entry["name"]].finished.mesh
        mesh = trimesh.Trimesh(vertices, faces, process=False)
        assert entry["volume_mm3"] == pytest.approx(mesh.volume, rel=1e-9)
        assert entry["centre_of_mass_mm"] == pytest.approx(mesh.center_mass, abs=1e-5)
        density = rehearsal.design.part[entry["name"]].density
        assert entry["mass_kg"] == pytest.approx(mesh.volume * 1e-9 * density, abs=1e-6)
        assert {Path(f).suffix for f in entry["files"]} == {".stl", ".obj", ".mtl", ".glb"}
        total += entry["mass_kg"]
        frame = rehearsal.assembly.frames[entry["name"]]
        moment += entry["mass_kg"] * trimesh.transform_points([mesh.center_mass], frame)[0]
    whole = listed["whole"]
    assert whole["mass_kg"] == pytest.approx(total, abs=1e-5)
    assert whole["centre_of_mass_mm"] == pytest.approx(moment / total, abs=1e-3)
    assert whole["size_mm"] == pytest.approx(np.ptp(_bounds(rehearsal), axis=0))
    assert sorted(f for entry in (*listed["parts"], *listed["stages"], whole) for f in entry["files"]) == sorted(files)


def test_every_format_carries_the_marks(written: tuple[Rehearsal, Path]) -> None:
    rehearsal, folder = written
    known = marks(rehearsal.design)
    file = pygltflib.GLTF2().load(str(folder / "meshes/whole.glb"))
    assert {n.name: n.extras["mark"] for n in file.nodes if n.mesh is not None} == {
        n: known[n] for n in rehearsal.assembly.names}
    text = (folder / "meshes/whole.obj").read_text(encoding="utf-8")
    assert dict(re.findall(r"^# mark (\w+)\no (\S+)$", text, re.MULTILINE)).keys() == set(known.values())
    name = rehearsal.assembly.names[0]
    header = (folder / f"meshes/parts/{name}.stl").read_bytes()[:80]
    assert header.startswith(f"dryfit mm mark {known[name]} {name}".encode())


def test_manifest_says_what_is_cut_alike() -> None:
    listed = manifest(by_hand(zoo.frame()), [])
    groups: dict[str, set[str]] = {}
    for entry in listed["parts"]:
        groups.setdefault(entry["same_as"], set()).add(entry["name"])
    for first, names in groups.items():
        assert first in names
        assert len({round(zoo.frame().part[n].finished.volume, 3) for n in names}) == 1
    assert sorted(map(len, groups.values())) == [2, 2, 4, 4], "posts of two corners turned round are one; two rails"
    posts = {(e["mark"], e["hand"]) for e in listed["parts"] if e["group"] == "post"}
    assert len(posts) == 2 and {hand for _, hand in posts} == {"a", "b"}, "the others are their mirror images"


def test_every_format_says_what_it_is() -> None:
    assert all(kind.name == name and kind.says for name, kind in FORMATS.items())


def _bounds(rehearsal: Rehearsal) -> np.ndarray:
    corners = np.vstack([rehearsal.assembly.vertices(n) for n in rehearsal.assembly.names])
    return np.array([corners.min(axis=0), corners.max(axis=0)])


def _roots(file: pygltflib.GLTF2) -> list[int]:
    return list(file.scenes[file.scene].nodes)


def _sorted(points: np.ndarray) -> np.ndarray:
    return np.array(sorted(np.round(points, 5).tolist()))


def test_the_turn_to_y_up() -> None:
    assert turn(X, -np.pi / 2)[:3, :3] @ Z == pytest.approx((0, 1, 0))


def test_a_ring_that_parts_later_stands_whole_in_the_stage_that_glues_it() -> None:
    rehearsal = rehearse(read(ROOT / "examples/orchard_gate.toml"))
    ring = next(s for s in rehearsal.plan.stages if s.name == "ring")
    assert {"spacer_1", "spacer_2"} <= set(ring.takes_away)
    thick = rehearsal.design.part["far_arch_1"].blank.thickness
    wide, deep, high = np.ptp(_corners(of_stage(rehearsal, ring)), axis=0)
    assert deep == pytest.approx(thick), "all in one plane, though the arches stand far apart in the finished work"
    assert wide == pytest.approx(high, rel=1e-6), "a whole ring of twenty segments is as wide as high"
    assert np.ptp(_corners(of_whole(rehearsal)), axis=0)[1] > 10 * thick


def _corners(figure: Figure) -> np.ndarray:
    return np.vstack([points(p.frame, p.solid.mesh[0]) for p in figure.pieces])


HOSTILE = ["../../../escape", "/abs", "a\nb\no fake", "\x1b[2J", "x" * 10_000, "con", "", "scene", "Trestle",
           "stage 1: first two", "world"]


def test_hostile_names_stay_in_the_folder_and_in_their_fields(tmp_path: Path) -> None:
    draft = Draft("Trestle")
    rail = board(zoo.STOCK["rail"], 300.0)
    for n, name in enumerate(HOSTILE):
        draft.add(name, rail, frame_of((0, 0, 100.0 * n), Z, X))
    for n, (one, other) in enumerate(pairwise(HOSTILE)):
        draft.join_at(f"j{n}", "glued face", other, one, draft.layout[one])
    rehearsal = by_hand(draft.finish())
    assert rehearsal.assembly.names == tuple(HOSTILE)
    folder = tmp_path / "in/side"
    written = write_meshes(rehearsal, folder)
    assert sorted(p for p in tmp_path.rglob("*") if p.is_file()) == sorted(written)
    assert all(folder in p.resolve().parents for p in written)
    text = (folder / "meshes/whole.obj").read_text()
    assert sum(line.startswith("o ") for line in text.splitlines()) == len(HOSTILE)
    assert set(text) <= set(string.printable) - set("\x1b")
    file = pygltflib.GLTF2().load(str(folder / "meshes/whole.glb"))
    assert sum(node.mesh is not None for node in file.nodes) == len(HOSTILE)
    assert len({node.name for node in file.nodes}) == len(file.nodes)
    assert len(_roots(file)) == 1
    listed = manifest(rehearsal, [p.relative_to(folder).as_posix() for p in written])
    assert [entry["name"] for entry in listed["parts"]] == HOSTILE
    assert all(len(entry["files"]) == 4 for entry in listed["parts"])
