"""Parts in place out of mesh files: what they become, and what is refused before it does harm."""

from __future__ import annotations

import json
import math
import os
import struct
import zipfile
from collections.abc import Callable, Mapping, Sequence
from itertools import product
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from assembly.checks import check
from assembly.contacts import Patch, contacts
from assembly.free import free_ways
from assembly.placing import Assembly, place
from assembly.rehearsal import Rehearsal, rehearse
from assembly.replay import replay
from assembly.seams import seamed
from exports.command import main
from exports.meshes import write_meshes
from model.design import Design
from model.errors import DesignError, Problem
from model.frames import Frame, identity, move, points, turn
from model.reader import read
from model.reader.pieces import pieces
from model.reader.pieces.lying import own_frame
from model.reader.pieces.soundness import UNKNOWN
from model.reader.pieces.through import runs_through
from model.shapes.mesh import imported
from tests import zoo

ROOT = Path(__file__).resolve().parent.parent
Mesh = tuple[NDArray[np.float64], NDArray[np.int64]]


# -- files ----------------------------------------------------------------------------------------


def block(low: Sequence[float], high: Sequence[float]) -> trimesh.Trimesh:
    """A box between two corners."""
    return trimesh.creation.box(bounds=[low, high])


def stack() -> dict[str, trimesh.Trimesh]:
    """Two posts on a sill, and a lintel over both, mm."""
    return {"sill": block((0, 0, 0), (900, 90, 40)), "left": block((0, 0, 40), (90, 90, 700)),
            "right": block((810, 0, 40), (900, 90, 700)), "lintel": block((0, 0, 700), (900, 90, 740))}


def glb(path: Path, parts: Mapping[str, trimesh.Trimesh]) -> Path:
    """Write parts in place (mm, z up) as a GLB in metres, y up."""
    scene = trimesh.Scene()
    scene.graph.update(frame_to="root", matrix=turn((1, 0, 0), -math.pi / 2) @ np.diag([1e-3, 1e-3, 1e-3, 1]))
    for name, mesh in parts.items():
        scene.add_geometry(mesh, node_name=name, geom_name=name, parent_node_name="root")
    path.write_bytes(scene.export(file_type="glb"))
    return path


def obj(path: Path, parts: Mapping[str, trimesh.Trimesh], head: str = "") -> Path:
    """Write parts in place as an OBJ of named objects."""
    text, before = [head], 1
    for name, mesh in parts.items():
        text += [f"o {name}", *("v {:.7f} {:.7f} {:.7f}".format(*v) for v in mesh.vertices),
                 *("f {} {} {}".format(*f) for f in mesh.faces + before)]
        before += len(mesh.vertices)
    path.write_text("\n".join(text) + "\n", encoding="utf-8")
    return path


def stl(path: Path, parts: Mapping[str, trimesh.Trimesh]) -> Path:
    """Write parts in place into a folder, one STL each."""
    path.mkdir()
    for name, mesh in parts.items():
        mesh.export(path / f"{name}.stl")
    return path


def xml(objects: str, build: str, unit: str = "millimeter", head: str = "", space: str = "") -> str:
    """The model of a 3MF."""
    core = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
    return (f'<?xml version="1.0"?>{head}<model unit="{unit}" xmlns="{core}"{space}><resources>{objects}</resources>'
            f"<build>{build}</build></model>")


def mesh_xml(number: int, name: str, mesh: trimesh.Trimesh) -> str:
    """One object of a 3MF with a mesh."""
    corners = "".join('<vertex x="{}" y="{}" z="{}"/>'.format(*v) for v in mesh.vertices.tolist())
    faces = "".join('<triangle v1="{}" v2="{}" v3="{}"/>'.format(*f) for f in mesh.faces.tolist())
    return (f'<object id="{number}" name="{name}" type="model"><mesh><vertices>{corners}</vertices>'
            f"<triangles>{faces}</triangles></mesh></object>")


def threemf(path: Path, model: str, entry: str = "3D/3dmodel.model") -> Path:
    """Write a 3MF with a model."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr(entry, model)
    return path


def whole_3mf(path: Path, parts: Mapping[str, trimesh.Trimesh], unit: str = "millimeter") -> Path:
    """Write parts in place as a 3MF."""
    numbered = list(enumerate(parts.items(), 1))
    return threemf(path, xml("".join(mesh_xml(k, name, mesh) for k, (name, mesh) in numbered),
                             "".join(f'<item objectid="{k}"/>' for k, _ in numbered), unit))


def in_place(design: Design) -> dict[str, trimesh.Trimesh]:
    """The finished parts of a design where they stand."""
    assembly = place(design)
    return {name: trimesh.Trimesh(assembly.vertices(name), assembly.solid(name).mesh[1], process=False)
            for name in assembly.names}


def refused(path: Path, unit: str | None = None) -> list[Problem]:
    with pytest.raises(DesignError) as found:
        pieces(path, unit)
    assert all(p.accepted for p in found.value.problems)
    return found.value.problems


def said(path: Path, unit: str | None = None) -> str:
    return "\n".join(f"{p.key}: {p.message}" for p in refused(path, unit))


def areas(patches: Sequence[Patch]) -> dict[frozenset[str], float]:
    found: dict[frozenset[str], float] = {}
    for p in patches:
        found[frozenset((p.a, p.b))] = found.get(frozenset((p.a, p.b)), 0.0) + p.area
    return found


def standing(path: Path, unit: str | None = None) -> Assembly:
    return place(seamed(pieces(path, unit)))


# -- there and back ---------------------------------------------------------------------------------


def _example(name: str) -> Design:
    return read(ROOT / "examples" / f"{name}.toml")


SAME: dict[str, Callable[[], Design]] = {
    "trestle": zoo.trestle, "frame": zoo.frame, "ring_loose": zoo.ring_loose, "gateway_small": zoo.gateway_small,
    "net_rack": lambda: _example("net_rack"), "hive_stand": lambda: _example("hive_stand")}


def _written(kind: str, design: Design, folder: Path) -> Path:
    if kind == "stl":
        return stl(folder / "parts", in_place(design))
    if kind == "3mf":
        return whole_3mf(folder / "whole.3mf", in_place(design))
    rehearsal = Rehearsal(design, place(design), (), (), rehearse(design).plan)
    write_meshes(rehearsal, folder, (kind,))
    return folder / "meshes" / f"whole.{kind}"


@pytest.mark.parametrize(("name", "kind"), [
    *product(("trestle", "net_rack"), ("glb", "obj", "stl", "3mf")), ("frame", "glb"), ("ring_loose", "stl"),
    ("gateway_small", "glb"), ("hive_stand", "obj"), ("hive_stand", "stl")])
def test_what_is_written_and_read_back_fits_touches_and_goes_together(name: str, kind: str, tmp_path: Path) -> None:
    design = SAME[name]()
    drawn = areas(contacts(place(design)))
    found = rehearse(pieces(_written(kind, design, tmp_path), "mm" if kind in ("obj", "stl") else None))
    assert {p.name for p in found.design.parts} == {p.name for p in design.parts if not p.temporary}
    assert not [f for f in found.findings if f.severity == "stop"]
    assert not [f for f in found.findings if f.kind in ("interference", "unmatched", "blocked")]
    read_back = areas(found.patches)
    assert set(read_back) == set(drawn)
    assert all(read_back[pair] == pytest.approx(area, rel=1e-4) for pair, area in drawn.items())
    assert found.plan.stages and found.plan.replayed
    assert replay(found.assembly, found.plan) is None
    assert {n for s in found.plan.stages for n in s.parts} == {p.name for p in found.design.parts}


@pytest.mark.parametrize("kind", ["glb", "obj", "stl", "3mf"])
def test_a_seeded_overlap_is_found_with_its_depth(kind: str, tmp_path: Path) -> None:
    parts = in_place(zoo.trestle())
    parts["post_1"].apply_translation((0.5, 0.0, 0.0))
    write = {"glb": glb, "obj": obj, "stl": stl, "3mf": whole_3mf}[kind]
    found = check(standing(write(tmp_path / f"shifted.{kind}", parts), "mm" if kind in ("obj", "stl") else None),
                  zoo.trestle().shop)
    [clash] = [f for f in found if f.kind == "interference"]
    assert set(clash.parts) == {"post_1", "long_rail_01"} and clash.severity == "stop"
    assert clash.amount is not None and clash.amount.value == pytest.approx(0.5, abs=0.02)


def test_a_tenth_of_a_millimetre_is_found_and_a_hundredth_is_not(tmp_path: Path) -> None:
    for mm, wanted in ((0.1, 1), (0.01, 0)):
        parts = stack()
        parts["lintel"].apply_translation((0, 0, -mm))
        found = check(standing(obj(tmp_path / f"{mm}.obj", parts), "mm"), zoo.trestle().shop)
        assert sum(f.kind == "interference" for f in found) == 2 * wanted


def test_a_piece_that_touches_nothing_is_told_with_the_gap(tmp_path: Path) -> None:
    parts = stack()
    parts["lintel"].apply_translation((0, 0, 0.8))
    [finding] = check(standing(glb(tmp_path / "gap.glb", parts)), zoo.trestle().shop)
    assert (finding.kind, finding.severity, finding.parts[0]) == ("unmatched", "stop", "lintel")
    assert finding.amount is not None and finding.amount.value == pytest.approx(0.8, abs=0.002)
    parts["lintel"].apply_translation((0, 0, 500))
    [finding] = check(standing(glb(tmp_path / "far.glb", parts)), zoo.trestle().shop)
    assert "there is nothing" in finding.message and finding.amount is None


def test_pieces_that_lock_each_other_are_told_as_blocked(tmp_path: Path) -> None:
    """A square frame whose four pieces each have a tenon caught by a hook: none can leave, in any direction."""
    peg = block((-50, -20, -20), (50, 20, 20))
    case = trimesh.boolean.difference([block((-100, -100, -100), (100, 100, 100)), peg])
    found = rehearse(pieces(obj(tmp_path / "shut.obj", {"case": case, "peg": peg}), "mm"))
    assert [f.kind for f in found.findings if f.severity == "stop"] == ["blocked"]
    assert set(next(f for f in found.findings if f.kind == "blocked").parts) == {"case", "peg"}
    assert free_ways(found.assembly) == {"case": (), "peg": ()}


# -- which way each can leave -------------------------------------------------------------------------


def test_free_directions_are_those_seen_by_hand(tmp_path: Path) -> None:
    free = free_ways(standing(obj(tmp_path / "stack.obj", stack()), "mm"))
    ways = {name: {tuple(round(v) for v in way) for way in found} for name, found in free.items()}
    level = {(1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0)}
    assert ways == {"sill": {(0, 0, -1)} | level, "left": level - {(1, 0, 0)}, "right": level - {(-1, 0, 0)},
                    "lintel": {(0, 0, 1)} | level}


def test_a_rail_between_posts_is_held(tmp_path: Path) -> None:
    free = free_ways(standing(glb(tmp_path / "trestle.glb", in_place(zoo.trestle()))))
    assert free["long_rail_01"] == ()
    assert [tuple(round(v) for v in way) for way in free["post_1"]] == [(-1, 0, 0)]


# -- formats ------------------------------------------------------------------------------------------


def box_of(assembly: Assembly) -> list[float]:
    corners = np.concatenate([assembly.vertices(n) for n in assembly.names])
    return [float(v) for v in (*corners.min(axis=0), *corners.max(axis=0))]


def test_a_glb_is_metres_and_turned_so_that_z_is_up(tmp_path: Path) -> None:
    assembly = standing(glb(tmp_path / "stack.glb", stack()))
    assert box_of(assembly) == pytest.approx([0, 0, 0, 900, 90, 740], abs=1e-3)
    assert "y up" in assembly.design.says and "500 kg" in assembly.design.says
    assert assembly.design.part["sill"].mass == pytest.approx(0.9 * 0.09 * 0.04 * 500.0, rel=1e-6)


@pytest.mark.parametrize(("unit", "mm"), [("mm", 1.0), ("cm", 10.0), ("m", 1000.0), ("in", 25.4), ("ft", 304.8)])
def test_a_unit_asked_for_is_taken(unit: str, mm: float, tmp_path: Path) -> None:
    parts = stack()
    for mesh in parts.values():
        mesh.apply_scale(1.0 / mm)
    design = pieces(obj(tmp_path / "stack.obj", parts), unit)
    assert box_of(place(design)) == pytest.approx([0, 0, 0, 900, 90, 740], abs=1e-3)
    assert design.unit == ("in" if unit in ("in", "ft") else "mm")


@pytest.mark.parametrize(("unit", "mm"), [("millimeter", 1.0), ("centimeter", 10.0), ("meter", 1000.0),
                                          ("inch", 25.4), ("foot", 304.8), ("micron", 0.001)])
def test_a_3mf_has_its_own_unit(unit: str, mm: float, tmp_path: Path) -> None:
    parts = stack()
    for mesh in parts.values():
        mesh.apply_scale(1.0 / mm)
    assert box_of(standing(whole_3mf(tmp_path / "a.3mf", parts, unit))) == pytest.approx(
        [0, 0, 0, 900, 90, 740], abs=1e-3)


@pytest.mark.parametrize("write", [obj, stl])
def test_without_a_unit_it_is_asked_for_with_the_size_in_each(write: Callable[..., Path], tmp_path: Path) -> None:
    [problem] = refused(write(tmp_path / "stack.obj", stack()))
    assert problem.key == "--unit" and problem.accepted == "--unit mm, cm, m, in or ft"
    for size in ("mm: 900 × 90 × 740 mm", "m: 900 × 90 × 740 m", "in: 22.86 × 2.286 × 18.8 m"):
        assert size in problem.message


def test_a_unit_that_is_none_contradicts_or_makes_no_sense_is_refused(tmp_path: Path) -> None:
    text, binary = obj(tmp_path / "stack.obj", stack()), glb(tmp_path / "stack.glb", stack())
    assert "'yd' is no unit" in said(text, "yd")
    assert "this GLB is in m" in said(binary, "mm")
    assert pieces(binary, "m").parts
    assert "in m the whole would be 900 × 90 × 740 m" in said(text, "m")
    parts = stack()
    for mesh in parts.values():
        mesh.apply_scale(0.001)
    assert "in mm the whole would be 0.9 × 0.09 × 0.74 mm" in said(obj(tmp_path / "m.obj", parts), "mm")


def test_nodes_that_share_a_mesh_are_parts_of_their_own_scaled_and_mirrored_too(tmp_path: Path) -> None:
    wedge = trimesh.convex.convex_hull(np.array([(0, 0, 0), (.3, 0, 0), (0, .2, 0), (0, 0, .1)]))
    scene = trimesh.Scene({"wedge": wedge})
    scene.graph.clear()
    for name, matrix in (("plain", identity()), ("moved", move(1.0)), ("large", np.diag([2.0, 2, 2, 1])),
                         ("mirror", np.diag([-1.0, 1, 1, 1])), ("long", np.diag([3.0, 1, 1, 1]))):
        scene.graph.update(frame_to=name, matrix=matrix, geometry="wedge")
    path = tmp_path / "wedges.glb"
    path.write_bytes(scene.export(file_type="glb"))
    part = pieces(path).part
    assert part["plain"].finished is part["moved"].finished
    assert {n: round(p.finished.volume / 1e6, 3) for n, p in part.items()} == {
        "plain": 1.0, "moved": 1.0, "large": 8.0, "mirror": 1.0, "long": 3.0}
    at = place(pieces(path))
    assert at.vertices("mirror").min(axis=0) == pytest.approx((-300, -100, 0), abs=1e-3)


def test_faces_of_one_node_in_several_materials_are_one_part(tmp_path: Path) -> None:
    mesh, other = block((0, 0, 0), (.2, .1, .1)), block((.2, 0, 0), (.4, .1, .1))
    scene = trimesh.Scene({"one": mesh, "two": other})
    tree = scene.export(file_type="glb")
    length = struct.unpack_from("<I", tree, 12)[0]
    header = json.loads(tree[20:20 + length])
    first = header["meshes"][0]["primitives"][0]
    index = header["accessors"][first["indices"]]
    half = {**index, "count": 18}
    header["accessors"] += [half, {**half, "byteOffset": 18 * 4}]
    count = len(header["accessors"])
    header["meshes"][0]["primitives"] = [{**first, "indices": count - 2}, {**first, "indices": count - 1}]
    text = json.dumps(header).encode()
    text += b" " * (-len(text) % 4)
    body = struct.pack("<II", len(text), 0x4E4F534A) + text + tree[20 + length:]
    path = tmp_path / "two.glb"
    path.write_bytes(struct.pack("<III", 0x46546C67, 2, 12 + len(body)) + body)
    assert [p.name for p in pieces(path).parts] == ["one", "two"]


def test_obj_by_groups_with_relative_corners_and_hollow_faces(tmp_path: Path) -> None:
    """An L of one hollow six-sided face, drawn up, and a block beside it; no objects, relative indices."""
    flat = [(0, 0), (200, 0), (200, 50), (50, 50), (50, 150), (0, 150)]
    text = ["mtllib ../../../etc/passwd", "g ell"]
    text += [f"v {x} {y} {z}" for z in (0, 40) for x, y in flat]
    text += ["f -7 -8 -9 -10 -11 -12", "usemtl gold", "f -6 -5 -4 -3 -2 -1"]
    text += [f"f {k + 1}/{k + 1}/1 {(k + 1) % 6 + 1}// {(k + 1) % 6 + 7} {k + 7}" for k in range(6)]
    text += ["g block"] + [f"v {x} {y} {z}" for z in (40, 90) for x, y in ((0, 0), (50, 0), (50, 50), (0, 50))]
    text += ["f -5 -6 -7 -8", "f -4 -3 -2 -1", *(f"f {13 + k} {13 + (k + 1) % 4} \\\n{17 + (k + 1) % 4} {17 + k}"
                                                 for k in range(4))]
    path = tmp_path / "ell.obj"
    path.write_text("\n".join(text), encoding="utf-8")
    part = pieces(path, "mm").part
    assert {n: round(p.finished.volume) for n, p in part.items()} == {
        "ell": (200 * 50 + 50 * 100) * 40, "block": 50 * 50 * 50}


def test_3mf_places_objects_made_of_objects(tmp_path: Path) -> None:
    bar = mesh_xml(1, "bar", block((0, 0, 0), (100, 10, 10)))
    pair = ('<object id="2"><components><component objectid="1"/><component objectid="1" '
            'transform="0 1 0 -1 0 0 0 0 1 0 10 0"/></components></object>')
    path = threemf(tmp_path / "pair.3mf", xml(bar + pair, '<item objectid="2" transform="1 0 0 0 1 0 0 0 1 5 6 7"/>'))
    at = place(pieces(path))
    assert at.names == ("bar", "bar-2")
    assert at.part("bar").finished is at.part("bar-2").finished
    assert at.vertices("bar").min(axis=0) == pytest.approx((5, 6, 7))
    assert at.vertices("bar-2").max(axis=0) == pytest.approx((5, 116, 17))


def test_files_of_a_folder_come_in_the_order_of_their_numbers(tmp_path: Path) -> None:
    parts = {f"rail_{k}": block((0, 0, 20 * k), (300, 50, 20 * k + 20)) for k in (1, 2, 10)}
    folder = stl(tmp_path / "rails", parts)
    (folder / "notes.txt").write_text("not a mesh", encoding="utf-8")
    (folder / ".hidden.stl").write_text("nor is this", encoding="utf-8")
    (folder / "inner").mkdir()
    design = pieces(folder, "mm")
    assert [p.name for p in design.parts] == ["rail_1", "rail_2", "rail_10"]
    assert {p.group for p in design.parts} == {"rail"}


# -- broken meshes ------------------------------------------------------------------------------------


def broken() -> dict[str, trimesh.Trimesh]:
    sound = block((0, 0, 0), (100, 50, 20))
    hole = trimesh.Trimesh(sound.vertices, sound.faces[1:], process=False)
    inside_out = trimesh.Trimesh(sound.vertices, sound.faces[:, ::-1], process=False)
    mixed = trimesh.Trimesh(sound.vertices, np.vstack([sound.faces[:1, ::-1], sound.faces[1:]]), process=False)
    two = trimesh.util.concatenate([sound, block((200, 0, 0), (300, 50, 20))])
    flat = block((0, 0, 0), (100, 50, 0.01))
    return {"good": sound, "hole": hole, "inside_out": inside_out, "mixed": mixed, "two": two, "flat": flat,
            "bow": bow()}


def bow() -> trimesh.Trimesh:
    """A bar bent into a bow whose ends go through each other: closed, one piece, all of one hand."""
    line = np.array([(0, 0), (300, 300), (300, 400), (0, 400), (0, 300), (300, 0)], dtype=float)
    sides = []
    for k, at in enumerate(line):
        way = line[min(k + 1, len(line) - 1)] - line[max(k - 1, 0)]
        aside = np.array([-way[1], way[0]]) / np.linalg.norm(way) * 15
        sides.append([(*(at + s * aside), z) for s, z in ((1, 0), (-1, 0), (-1, 30), (1, 30))])
    corners, faces = np.array(sides).reshape(-1, 3), []
    for k in range(len(line) - 1):
        for j in range(4):
            a, b = 4 * k + j, 4 * k + (j + 1) % 4
            faces += [(a, b + 4, b), (a, a + 4, b + 4)]
    last = 4 * (len(line) - 1)
    faces += [(0, 1, 2), (0, 2, 3), (last, last + 2, last + 1), (last, last + 3, last + 2)]
    mesh = trimesh.Trimesh(corners, faces, process=False)
    return mesh if mesh.volume > 0 else trimesh.Trimesh(corners, np.array(faces)[:, ::-1], process=False)


@pytest.mark.parametrize("write", [obj, glb, stl, whole_3mf])
def test_every_broken_mesh_is_named_in_one_go(write: Callable[..., Path], tmp_path: Path) -> None:
    path = write(tmp_path / f"broken.{ {glb: 'glb', obj: 'obj', stl: 'stl', whole_3mf: '3mf'}[write] }", broken())
    told = {p.key: p.message for p in refused(path, "mm" if write in (obj, stl) else None)}
    assert set(told) == set(broken()) - {"good"}
    assert "a hole" in told["hole"] and "3 edges" in told["hole"]
    assert "inside out" in told["inside_out"]
    assert "face one way" in told["mixed"]
    assert "2 separate pieces" in told["two"]
    assert "only 0.01 mm across" in told["flat"]
    assert "runs through itself" in told["bow"]


def test_a_part_of_too_many_triangles_or_none_is_refused(tmp_path: Path) -> None:
    fine = trimesh.creation.icosphere(7, 200.0)
    assert len(fine.faces) > 200_000
    assert "fine: " in said(stl(tmp_path / "many", {"fine": fine, "good": block((0, 0, 0), (9, 9, 9))}), "mm")
    path = threemf(tmp_path / "none.3mf", xml('<object id="1" name="nothing"><mesh/></object>'
                                              + mesh_xml(2, "good", block((0, 0, 0), (9, 9, 9))),
                                              '<item objectid="1"/><item objectid="2"/>'))
    assert said(path).startswith("nothing: is empty")


def test_a_single_part_is_refused_in_words(tmp_path: Path) -> None:
    one = {"post": block((0, 0, 0), (90, 90, 900))}
    for path, unit in ((obj(tmp_path / "a.obj", one), "mm"), (stl(tmp_path / "a", one), "mm"),
                       (glb(tmp_path / "a.glb", one), None)):
        assert "single part, post: there is nothing to put together" in said(path, unit)
    assert "holds a single part" in said(tmp_path / "a" / "post.stl")


def test_empty_folders_files_and_scenes_are_refused(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    assert "holds no STL files" in said(tmp_path / "empty", "mm")
    for name in ("a.glb", "a.obj", "a.3mf"):
        (tmp_path / name).write_bytes(b"")
        assert "is empty" in said(tmp_path / name, "mm")
    (tmp_path / "b.obj").write_text("# nothing\n", encoding="utf-8")
    assert "holds no parts" in said(tmp_path / "b.obj", "mm")
    assert "cannot be read" in said(tmp_path / "missing.glb")


# -- hostile files ------------------------------------------------------------------------------------


def test_names_become_printable_and_differ(tmp_path: Path) -> None:
    names = ["../../etc/passwd", "rail\x1b[31m", "rail", "RAIL", "", "[bold]post[/bold]", "x" * 500, "con", "a/b",
             "\u202egnp"]
    scene = trimesh.Scene()
    for k, _ in enumerate(names):
        scene.add_geometry(block((0, 0, 20 * k), (300, 50, 20 * k + 20)), node_name=f"n{k}", geom_name=f"g{k}")
    raw = scene.export(file_type="glb")
    length = struct.unpack_from("<I", raw, 12)[0]
    header = json.loads(raw[20:20 + length])
    for node in header["nodes"]:
        if "mesh" in node:
            node["name"] = names[int(node["name"][1:])]
    header["meshes"] = [{**m, "name": ""} for m in header["meshes"]]
    text = json.dumps(header).encode()
    text += b" " * (-len(text) % 4)
    path = tmp_path / "hostile.glb"
    path.write_bytes(struct.pack("<IIIII", 0x46546C67, 2, 0, len(text), 0x4E4F534A) + text + raw[20 + length:])
    parts = pieces(scaled(path)).parts
    called = [p.name for p in parts]
    assert len({n.casefold() for n in called}) == len(names) and all(n and n.isprintable() for n in called)
    assert max(map(len, called)) <= 63 and "rail-2" in [n.casefold() for n in called]
    out = tmp_path / "out"
    assert main(["export", str(path), "-o", str(out), "--as", "stl"]) in (0, 1)
    assert {p.name for p in tmp_path.iterdir()} == {"hostile.glb", "out"}
    assert len(list((out / "meshes" / "parts").iterdir())) == len(names)


def scaled(path: Path) -> Path:
    """Give every mesh of a GLB in metres the size it was meant to have in millimetres."""
    raw = path.read_bytes()
    length = struct.unpack_from("<I", raw, 12)[0]
    header = json.loads(raw[20:20 + length])
    for node in header["nodes"]:
        if "mesh" in node:
            node["scale"] = [0.001] * 3
            node.pop("matrix", None)
    text = json.dumps(header).encode()
    text += b" " * (-len(text) % 4)
    path.write_bytes(raw[:12] + struct.pack("<II", len(text), 0x4E4F534A) + text + raw[20 + length:])
    return path


def test_hostile_names_do_no_harm_in_the_report(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    parts = {"[bold]left[/bold]\x07": block((0, 0, 0), (90, 90, 600)), "$(id)": block((0, 0, 600), (300, 90, 640))}
    path = obj(tmp_path / "odd.obj", parts)
    assert main(["plan", str(path), "--unit", "mm"]) == 0
    out = capsys.readouterr().out
    assert "[bold]left[/bold]" in out and "$(id)" in out and "\x07" not in out


def test_links_out_of_the_folder_are_not_followed(tmp_path: Path) -> None:
    secret = stl(tmp_path / "elsewhere", {"secret": block((0, 0, 0), (90, 90, 90))}) / "secret.stl"
    folder = stl(tmp_path / "parts", dict(stack()))
    (folder / "linked.stl").symlink_to(secret)
    (folder / "round.stl").symlink_to(folder / "round.stl")
    os.mkfifo(folder / "pipe.stl")
    (folder / "dir.stl").mkdir()
    told = {p.key: p.message for p in refused(folder, "mm")}
    assert set(told) == {"linked", "round", "pipe", "dir"}
    assert "link out of the folder" in told["linked"]
    assert "ordinary file" in told["pipe"] and "ordinary file" in told["dir"]


def test_a_glb_with_data_outside_itself_is_refused(tmp_path: Path) -> None:
    raw = glb(tmp_path / "a.glb", stack()).read_bytes()
    length = struct.unpack_from("<I", raw, 12)[0]
    header = json.loads(raw[20:20 + length])
    header["buffers"].append({"uri": "file:///etc/passwd", "byteLength": 12})
    header["bufferViews"][0]["buffer"] = 1
    text = json.dumps(header).encode()
    text += b" " * (-len(text) % 4)
    (tmp_path / "a.glb").write_bytes(raw[:12] + struct.pack("<II", len(text), 0x4E4F534A) + text + raw[20 + length:])
    assert "outside the file" in said(tmp_path / "a.glb")


def test_3mf_that_blows_up_is_refused(tmp_path: Path) -> None:
    bomb = tmp_path / "bomb.3mf"
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as package, package.open(
            "3D/3dmodel.model", "w", force_zip64=True) as entry:
        for _ in range(450):
            entry.write(b" " * 1_000_000)
    assert bomb.stat().st_size < 2_000_000
    assert "unpacks to 450,000,000 bytes" in said(bomb)


def test_3mf_with_entities_is_refused(tmp_path: Path) -> None:
    lol = '<!DOCTYPE m [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    assert "entities" in said(threemf(tmp_path / "a.3mf", xml("", "", head=lol)))
    outside = '<!DOCTYPE m SYSTEM "file:///etc/passwd">'
    assert "entities" in said(threemf(tmp_path / "b.3mf", xml("", "", head=outside)))


def test_3mf_made_of_itself_doubling_or_in_further_files_is_refused(tmp_path: Path) -> None:
    bar = mesh_xml(1, "bar", block((0, 0, 0), (100, 10, 10)))
    own = '<object id="2"><components><component objectid="2"/></components></object>'
    assert "made of itself" in said(threemf(tmp_path / "a.3mf", xml(own, '<item objectid="2"/>')))
    twice = "".join(f'<object id="{k}"><components>{f"<component objectid={chr(34)}{k - 1}{chr(34)}/>" * 2}'
                    "</components></object>" for k in range(2, 30))
    assert "more than 5,000 pieces" in said(threemf(tmp_path / "b.3mf", xml(bar + twice, '<item objectid="29"/>')))
    space = ' xmlns:p="http://schemas.microsoft.com/3dmanufacturing/production/2015/06"'
    item = '<item objectid="1" p:path="/3D/other.model"/>'
    assert "further files" in said(threemf(tmp_path / "c.3mf", xml(bar, item, space=space)))
    assert "not there" in said(threemf(tmp_path / "d.3mf", xml(bar, '<item objectid="7"/>')))


@pytest.mark.parametrize("junk", [b"\x00" * 100, b"solid", b"PK\x03\x04 no zip", b"glTF\x02\x00\x00\x00",
                                  b"v 1 2\nf 1 2 3\n", b"f 1 2 3\n", b"v nan 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n"])
@pytest.mark.parametrize("ending", ["glb", "obj", "3mf"])
def test_junk_is_refused_in_words(junk: bytes, ending: str, tmp_path: Path) -> None:
    path = tmp_path / f"junk.{ending}"
    path.write_bytes(junk)
    assert refused(path, "mm")


@given(st.binary(max_size=300), st.sampled_from(["glb", "obj", "3mf"]))
@settings(max_examples=60, deadline=None)
def test_random_bytes_never_end_in_a_traceback(tmp_path_factory: pytest.TempPathFactory, raw: bytes, ending: str
                                               ) -> None:
    path = tmp_path_factory.mktemp("random") / f"random.{ending}"
    path.write_bytes({"glb": b"glTF\x02\x00\x00\x00", "obj": b"v 0 0 0\n", "3mf": b"PK"}[ending] + raw)
    assert refused(path, "mm")


# -- the command --------------------------------------------------------------------------------------


def test_the_command_asks_for_the_unit_and_ends_with_two(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = obj(tmp_path / "stack.obj", stack())
    assert main(["check", str(path)]) == 2
    told = capsys.readouterr().err
    assert "--unit" in told and "900 × 90 × 740 mm" in told
    assert main(["check", str(path), "--unit", "mm"]) == 0
    assert main(["check", str(path), "--unit", "mm", "--measured", "x.csv"]) == 2
    assert main(["check", str(ROOT / "examples" / "net_rack.toml"), "--unit", "mm"]) == 2


def test_json_tells_free_directions_and_what_is_not_known(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = stl(tmp_path / "stack", stack())
    assert main(["plan", str(path), "--unit", "mm", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {one["part"]: len(one["directions"]) for one in told["free"]} == {
        "sill": 5, "left": 3, "right": 3, "lintel": 5}
    assert any("grain" in line for line in told["not_known"])
    assert sorted(j for s in told["stages"] for j in s["joints"]) == [
        "left/lintel", "left/sill", "lintel/right", "right/sill"]
    assert told["replayed"]


def test_everything_is_written_for_a_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = stl(tmp_path / "stack", stack())
    assert main(["export", str(folder), "--unit", "mm", "-o", str(tmp_path / "out"), "--as", "glb"]) == 0
    again = pieces(tmp_path / "out" / "meshes" / "whole.glb")
    assert {p.name for p in again.parts} == set(stack())


# -- laws ---------------------------------------------------------------------------------------------


@st.composite
def motions(draw: st.DrawFn) -> Frame:
    angle, axis = draw(st.floats(-3, 3)), draw(st.sampled_from([(0, 0, 1), (1, 0, 0), (1, 2, 3), (3, -1, 1)]))
    shift = draw(st.tuples(*[st.floats(-2000, 2000)] * 3))
    moved: Frame = move(*shift) @ turn(axis, angle)
    return moved


@given(motions())
@settings(max_examples=15, deadline=None)
def test_where_the_whole_stands_changes_nothing(tmp_path_factory: pytest.TempPathFactory, motion: Frame) -> None:
    folder = tmp_path_factory.mktemp("moved")
    parts = in_place(zoo.trestle())
    still = areas(contacts(standing(obj(folder / "still.obj", parts), "mm")))
    for mesh in parts.values():
        mesh.apply_transform(motion)
    moved = standing(obj(folder / "moved.obj", parts), "mm")
    assert areas(contacts(moved)) == {pair: pytest.approx(area, rel=1e-4) for pair, area in still.items()}
    assert not check(moved, zoo.trestle().shop)
    assert sum(map(len, free_ways(moved).values())) == 2


@given(motions(), st.floats(20, 2000), st.floats(15, 19), st.floats(2, 9))
@settings(max_examples=40, deadline=None)
def test_a_boards_own_frame_does_not_depend_on_how_it_lies(motion: Frame, length: float, width: float, thick: float
                                                           ) -> None:
    mesh = block((0, 0, 0), (length, width, thick))
    corners = points(motion, mesh.vertices)
    frame = own_frame(corners, mesh.faces)
    own = (corners - frame[:3, 3]) @ frame[:3, :3]
    assert np.ptp(own, axis=0) == pytest.approx((length, width, thick), abs=1e-3)
    assert own.min(axis=0) == pytest.approx((0, -width / 2, -thick / 2), abs=1e-3)
    assert np.linalg.det(frame[:3, :3]) == pytest.approx(1.0)


@given(motions(), st.floats(-300, 300), st.floats(-60, 60), st.floats(-40, 40))
@settings(max_examples=60, deadline=None)
def test_meshes_that_run_through_themselves_are_told_and_no_others(motion: Frame, x: float, y: float, z: float) -> None:
    """Two boxes: as one heap of triangles they cross where their surfaces do; as a union they never do."""
    one, other = block((0, 0, 0), (200, 50, 20)), block((x, y, z), (x + 150, y + 70, z + 30))
    heap = trimesh.util.concatenate([one, other])
    union = trimesh.boolean.union([one, other])
    sides = np.minimum(one.bounds[1], other.bounds[1]) - np.maximum(one.bounds[0], other.bounds[0])
    inside = bool(np.all(other.bounds[0] > one.bounds[0]) and np.all(other.bounds[1] < one.bounds[1]))
    assert runs_through(points(motion, union.vertices), union.faces) is None
    if sides.min() < -0.1:
        assert runs_through(points(motion, heap.vertices), heap.faces) is None
    elif sides.min() > 1.0 and not inside and _clear_of_planes(one, other):
        assert runs_through(points(motion, heap.vertices), heap.faces) is not None


def _clear_of_planes(one: trimesh.Trimesh, other: trimesh.Trimesh) -> bool:
    """Whether no two parallel faces nearly lie in one plane."""
    return bool(np.abs(one.bounds[:, None] - other.bounds[None, :]).min() > 0.1)


def test_unknown_wood_is_a_mesh_blank_like_any_other() -> None:
    mesh = block((0, 0, 0), (100, 50, 20))
    blank = imported(UNKNOWN, mesh.vertices, mesh.faces)
    assert blank.stock.species.density == 500.0 and blank.stock.species.tangential_change is None
