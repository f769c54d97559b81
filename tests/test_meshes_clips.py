"""Clips in GLB files, played by code written from the glTF standard alone (`gltf_player`), not by what wrote them.

Also held against the standard's own validator (Khronos, gltf-validator, from the page's development libraries).
"""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from assembly.placing import standing_in
from assembly.plan import Move, Plan, Stage
from assembly.rehearsal import Rehearsal, rehearse
from exports.meshes import write_meshes
from exports.meshes.carrying import BOW, carried, steps
from exports.meshes.clips import stage_clip
from exports.motions import closings
from model.design import Design
from model.draft import Draft
from model.frames import Frame, X, Y, Z, frame_of, move, points, turn
from model.shapes.board import board
from tests import zoo
from tests.gltf_player import Player
from tests.page import PAGE, fetched
from tests.rehearsed import by_hand

UPRIGHT = turn(X, np.pi / 2)
"""Carries the file's world, y up, into the design's, z up."""
HOME = 2e-3
"""Where a part stands to, mm: 32-bit floats have 24 bits, so at 3 m a place is true to 0.0002 mm and a turn, over 3 m,
to about 0.0005 mm."""
SMALL = 1e-4
"""Where a part stands when nothing plays, mm: numbers in the text of the file, of frames rounded to 1e-9."""


@cache
def rehearsed(make: Callable[[], Design]) -> Rehearsal:
    return rehearse(make())


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Rehearsal], Path]:
    known: dict[int, tuple[Rehearsal, Path]] = {}

    def written(rehearsal: Rehearsal) -> Path:
        if id(rehearsal) not in known:
            path = tmp_path_factory.mktemp("meshes")
            write_meshes(rehearsal, path, ["glb"])
            known[id(rehearsal)] = rehearsal, path / "meshes"
        return known[id(rehearsal)][1]

    return written


Written = Callable[[Rehearsal], Path]
SOUND = [zoo.frame, zoo.gateway_small, zoo.ring_on_posts, zoo.gateway_halves]


def frames(player: Player, clip: str | None = None, time: float = 0.0) -> dict[str, Frame | None]:
    """Each node's frame in the design's world, mm; None for one that is not seen."""
    found: dict[str, Frame | None] = {}
    for name, matrix in player.world(clip, time).items():
        at = UPRIGHT @ matrix
        at[:3, 3] *= 1000.0
        size = np.linalg.det(at[:3, :3])
        assert abs(size) < 1e-12 or size == pytest.approx(1.0, abs=1e-5), "seen in full size or not at all"
        found[name] = at if abs(size) > 1e-12 else None
    return found


def strays(rehearsal: Rehearsal, at: dict[str, Frame | None]) -> float:
    """How far any corner of a part that stays is off its home, mm."""
    worst = 0.0
    for name in rehearsal.assembly.names:
        if not rehearsal.design.part[name].temporary:
            seen = at[name]
            assert seen is not None, name
            corners = points(seen, rehearsal.assembly.solid(name).mesh[0])
            worst = max(worst, float(np.abs(corners - rehearsal.assembly.vertices(name)).max()))
    return worst


# -- the whole ------------------------------------------------------------------------------------


@pytest.mark.parametrize("make", SOUND)
def test_at_rest_and_at_the_end_the_work_stands_finished(make: Callable[[], Design], folder: Written) -> None:
    rehearsal = rehearsed(make)
    player = Player(folder(rehearsal) / "whole.glb")
    stays = {n for n in rehearsal.assembly.names if not rehearsal.design.part[n].temporary}
    meshes = {player.name[k] for k, node in enumerate(player.nodes) if node.mesh is not None}
    for clip, time, within in ((None, 0.0, SMALL), ("assembly", player.length("assembly"), HOME),
                               ("assembly", 1e6, HOME)):
        at = frames(player, clip, time)
        assert strays(rehearsal, at) < within
        assert {n for n in meshes if at[n] is not None} == stays


@pytest.mark.parametrize("make", SOUND)
def test_there_is_a_clip_for_all_and_one_for_each_stage(make: Callable[[], Design], folder: Written) -> None:
    rehearsal = rehearsed(make)
    whole = Player(folder(rehearsal) / "whole.glb")
    names = [stage_clip(s) for s in rehearsal.plan.stages]
    assert list(whole.animations) == ["assembly", *names]
    for name, file in zip(names, sorted((folder(rehearsal) / "stages").glob("*.glb")), strict=True):
        assert list(Player(file).animations) == [name]
    assert whole.length("assembly") > max(whole.length(n) for n in names)


@pytest.mark.parametrize("make", SOUND)
def test_parts_come_into_sight_in_the_order_of_the_plan_and_stay(make: Callable[[], Design], folder: Written) -> None:
    rehearsal = rehearsed(make)
    player = Player(folder(rehearsal) / "whole.glb")
    for stage in rehearsal.plan.stages:
        clip = stage_clip(stage)
        here, seen = set(stage.parts), {}
        for time in np.linspace(0.0, player.length(clip), 120):
            at = frames(player, clip, float(time))
            there = {n.split(" (")[0] for n, f in at.items() if f is not None} & set(rehearsal.design.part)
            assert there <= here, "nothing of another stage is in sight"
            for name in there:
                seen.setdefault(name, float(time))
        assert set(seen) == here
        first: dict[str, int] = {}
        for k, one in enumerate(stage.moves):
            for name in one.parts:
                first.setdefault(name, k)
        order = sorted(seen, key=lambda n: seen[n])
        assert [first[n] for n in order] == sorted(first[n] for n in order)


# -- the moves ------------------------------------------------------------------------------------


@pytest.mark.parametrize("make", [zoo.frame, zoo.gateway_small, zoo.ring_on_posts, zoo.ring])
def test_each_group_goes_home_along_its_proven_line(make: Callable[[], Design], folder: Written) -> None:
    """Played in a stage's own file, which stands as the stage does. Seen from what it goes onto, a group is at every
    time on the straight line of its move, and in the end it has come by the proven travel at least."""
    rehearsal = rehearsed(make)
    for stage, file in zip(rehearsal.plan.stages, sorted((folder(rehearsal) / "stages").glob("*.glb")), strict=True):
        player, clip = Player(file), stage_clip(stage)
        homes = standing_in(rehearsal.assembly, stage.name).frames
        times = np.linspace(0.0, player.length(clip), 240)
        played = [frames(player, clip, float(t)) for t in times]
        for one in (m for m in stage.moves if m.onto):
            way, far = np.asarray(one.direction), 0.0
            for at in played:
                mover, rest = at[one.parts[0]], at[one.onto[0]]
                if mover is None or rest is None:
                    continue
                off = (mover[:3, 3] - homes[one.parts[0]][:3, 3]) - (rest[:3, 3] - homes[one.onto[0]][:3, 3])
                if not gone(stage, at) and last_move(stage, one):
                    assert np.linalg.norm(off - way * (off @ way)) < HOME, "beside its line"
                    assert off @ way < HOME, "past its home"
                    far = max(far, -float(off @ way))
                    assert np.abs(mover[:3, :3] - homes[one.parts[0]][:3, :3]).max() < 1e-6, "a slide does not turn"
            if last_move(stage, one):
                assert far >= one.travel - 0.1 * one.travel


def last_move(stage: Stage, one: Move) -> bool:
    """Whether the two sides of a move have no other motion against each other in the stage."""
    return not any(m is not one and m.onto and {one.parts[0], one.onto[0]} & set(m.parts)
                   and not {one.parts[0], one.onto[0]} <= set(m.parts) for m in stage.moves)


def gone(stage: Stage, at: dict[str, Frame | None]) -> bool:
    """Whether the parts of a stage have begun to part again: from the first temporary one that leaves on."""
    return bool(stage.takes_away)


def three(second: tuple[Move, ...]) -> Rehearsal:
    """Three blocks in a row along x; the middle one lies, the plan of the rest is given."""
    draft = Draft("three")
    for k in range(3):
        draft.add(f"b{k}", board(zoo.STOCK["rail"], 100.0), frame_of((100.0 * k, 0, 0), Z, X))
    draft.join_at("j0", "glued face", "b0", "b1", frame_of((100.0, 0, 0), X, Z))
    draft.join_at("j1", "glued face", "b2", "b1", frame_of((200.0, 0, 0), -X, Z))
    draft.base = "b1"
    found = by_hand(draft.finish())
    stage = replace(found.plan.stages[0], units=(("b1",), ("b0",), ("b2",)),
                    moves=(Move(("b1",), (), (0.0, 0.0, -1.0), 0.0), *second))
    return replace(found, plan=replace(found.plan, stages=(stage,)))


def test_what_closes_together_moves_together(tmp_path: Path) -> None:
    """By hand: 40 mm from the left and 20 mm from the right, each with the same share of its way behind it."""
    both = (Move(("b0",), ("b1",), (1.0, 0.0, 0.0), 40.0, True), Move(("b2",), ("b1",), (-1.0, 0.0, 0.0), 20.0, True))
    rehearsal = three(both)
    write_meshes(rehearsal, tmp_path, ["glb"])
    player = Player(tmp_path / "meshes/whole.glb")
    shares = []
    for time in np.linspace(0.0, player.length("stage 1: first two"), 100):
        at = frames(player, "stage 1: first two", float(time))
        if at["b0"] is None:
            assert at["b2"] is None
            continue
        assert at["b2"] is not None
        left, right = -at["b0"][0, 3], at["b2"][0, 3] - 200.0
        assert left / 40.0 == pytest.approx(right / 20.0, abs=1e-4)
        shares.append(left / 40.0)
    assert shares == sorted(shares, reverse=True) and shares[0] > 0.9 and shares[-1] == pytest.approx(0.0, abs=1e-5)
    assert any(0.1 < s < 0.9 for s in shares)


def test_a_piece_with_a_corner_in_its_way_turns_its_travel_from_home(tmp_path: Path) -> None:
    rehearsal = three((Move(("b0",), ("b1",), (1.0, 0.0, 0.0), 40.0, before=(0.0, 1.0, 0.0)),
                       Move(("b2",), ("b1",), (-1.0, 0.0, 0.0), 20.0)))
    write_meshes(rehearsal, tmp_path, ["glb"])
    player = Player(tmp_path / "meshes/whole.glb")
    found = player.keys("stage 1: first two", "b0", "translation")
    assert found is not None
    at = found[1] * 1000.0
    assert at[1:4] == pytest.approx(np.array([[-40.0, 0, 0], [0, 0, 0], [0, 0, 0]])[: len(at) - 1], abs=1e-4)
    assert at[0][0] == pytest.approx(-40.0, abs=1e-4) and at[0][1] <= -59.9 and at[0][2] == 0.0


# -- what leaves, what is cut ---------------------------------------------------------------------


def test_temporary_parts_are_seen_in_their_stage_and_then_no_more(folder: Written) -> None:
    rehearsal = rehearsed(zoo.gateway_small)
    player = Player(folder(rehearsal) / "whole.glb")
    times = np.linspace(0.0, player.length("assembly"), 200)
    seen = [frames(player, "assembly", float(t))["spacer_1"] is not None for t in times]
    assert seen[0] or any(seen), "seen while it is needed"
    last = max(k for k, s in enumerate(seen) if s)
    first = seen.index(True)
    assert all(seen[first:last + 1]) and not any(seen[last + 1:]) and last < len(seen) / 2
    assert frames(player)["spacer_1"] is None


def test_a_piece_is_its_blank_until_its_curve_is_sawn(folder: Written) -> None:
    """One of its two nodes is seen at any time from when the piece comes: the blank first, then the finished one."""
    rehearsal = rehearsed(zoo.gateway_small)
    player = Player(folder(rehearsal) / "whole.glb")
    curved = [p.name for p in rehearsal.design.parts if any(f.after for f in p.features)]
    assert curved
    for name in curved:
        told = []
        for time in np.linspace(0.0, player.length("assembly"), 200):
            at = frames(player, "assembly", float(time))
            blank, cut = at[f"{name} (uncut)"] is not None, at[name] is not None
            assert not (blank and cut)
            told += ["blank"] if blank and told[-1:] != ["blank"] else ["cut"] if cut and told[-1:] != ["cut"] else []
        assert told == ["blank", "cut"]
        mesh = {n.name: n.mesh for n in player.nodes}
        assert mesh[name] != mesh[f"{name} (uncut)"]


# -- carried as one -------------------------------------------------------------------------------


@pytest.mark.parametrize("make", [zoo.gateway_small, zoo.ring_on_posts])
def test_between_glue_ups_the_work_is_carried_without_coming_apart(make: Callable[[], Design], folder: Written) -> None:
    """All that is seen of the last stage's parts: while it turns, distances between far corners stay what they are."""
    rehearsal = rehearsed(make)
    player = Player(folder(rehearsal) / "whole.glb")
    names = [n for n in rehearsal.plan.stages[-1].parts if not rehearsal.design.part[n].temporary]
    spots = {n: rehearsal.assembly.solid(n).mesh[0][0] for n in names}
    home = np.array([points(rehearsal.assembly.frames[n], spots[n]) for n in names])
    apart = np.linalg.norm(home[:, None] - home[None], axis=2)
    turned = 0
    for time in np.linspace(player.length("assembly") - 3.6, player.length("assembly"), 80):
        at = frames(player, "assembly", float(time))
        there = np.array([points(f, spots[n]) for n in names if (f := at[n]) is not None])
        assert len(there) == len(names)
        assert np.abs(np.linalg.norm(there[:, None] - there[None], axis=2) - apart).max() < 2 * BOW
        turned += not np.allclose(there - there[0], home - home[0], atol=5.0)
    assert turned > 5, "it stands up at last"


def test_a_turn_is_cut_so_fine_that_nothing_bows() -> None:
    """By hand: an arc of radius r cut into equal chords of angle a bows by r (1 - cos a/2)."""
    assert steps(0.0, 4000.0) == 1
    for angle, reach in ((np.pi, 3000.0), (np.pi / 2, 500.0), (0.1, 8000.0)):
        number = steps(angle, reach)
        assert reach * (1 - np.cos(angle / number / 2)) <= BOW + 1e-9
    start = {"a": move(1000.0, 0, 0), "b": move(-1000.0, 0, 500.0)}
    motion = move(5.0, 6.0, 7.0) @ turn(Y, 2.0)
    end = {n: motion @ f for n, f in start.items()}
    way = list(carried(start, end))
    assert [s for s, _ in way] == sorted(s for s, _ in way) and way[-1][0] == 1.0
    for _, at in way:
        assert np.linalg.norm(at["a"][:3, 3] - at["b"][:3, 3]) == pytest.approx(np.hypot(2000.0, 500.0))
    assert np.allclose(way[-1][1]["a"], end["a"])


# -- as the standard has it -----------------------------------------------------------------------


@pytest.mark.parametrize("make", SOUND)
def test_animations_keep_the_rules_of_the_standard(make: Callable[[], Design], folder: Written) -> None:
    """3.11: no target twice, no matrix on a target; times rise, start at 0 or later and say their least and most;
    as many values as times; unit quaternions. 3.6: everything on four bytes."""
    for file in sorted(folder(rehearsed(make)).rglob("*.glb")):
        player = Player(file)
        assert len(set(player.name)) == len(player.name)
        assert len({a.name for a in player.file.animations}) == len(player.file.animations)
        for animation in player.file.animations:
            targets = [(c.target.node, c.target.path) for c in animation.channels]
            assert len(set(targets)) == len(targets)
            assert all(player.nodes[node].matrix is None for node, _ in targets)
            for channel in animation.channels:
                sampler = animation.samplers[channel.sampler]
                times, values = player.values(sampler.input)[:, 0], player.values(sampler.output)
                about = player.file.accessors[sampler.input]
                assert times[0] >= 0 and (np.diff(times) > 0).all() and len(times) == len(values)
                assert about.min == [times[0]] and about.max == [times[-1]]
                assert sampler.interpolation == ("STEP" if channel.target.path == "scale" else "LINEAR")
                if channel.target.path == "rotation":
                    assert np.linalg.norm(values, axis=1) == pytest.approx(1.0, abs=1e-6)
                    assert (np.einsum("ij,ij->i", values[1:], values[:-1]) > 0).all(), "the short way round"
        for view in player.file.bufferViews:
            assert (view.byteOffset or 0) % 4 == 0


def test_the_standards_own_validator_finds_nothing(folder: Written, tmp_path: Path) -> None:
    fetched()
    script = tmp_path / "validate.mjs"
    validator = (PAGE / "node_modules/gltf-validator/module.mjs").as_uri()
    script.write_text(f"""import {{ validateBytes }} from "{validator}";
import {{ readFileSync }} from "node:fs";
for (const file of process.argv.slice(2))
  console.log(JSON.stringify((await validateBytes(new Uint8Array(readFileSync(file)))).issues));
""")
    files = [str(f) for make in SOUND for f in sorted(folder(rehearsed(make)).rglob("*.glb")) if "parts" not in f.parts]
    done = subprocess.run(["node", str(script), *files], capture_output=True, text=True, check=True)
    told = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(told) == len(files)
    assert not [(f, t["messages"]) for f, t in zip(files, told, strict=True) if t["messages"]]


def test_without_a_plan_there_is_nothing_to_play(tmp_path: Path) -> None:
    found = by_hand(zoo.trestle())
    write_meshes(replace(found, plan=Plan((), found.plan.steps)), tmp_path, ["glb"])
    assert not Player(tmp_path / "meshes/whole.glb").animations


def test_closings_are_those_of_the_plan() -> None:
    for stage in rehearsed(zoo.gateway_small).plan.stages:
        some = closings(stage, 100.0)
        assert [w.move for c in some for w in c.ways] == list(stage.moves)
        for way in (w for c in some for w in c.ways if w.move.onto):
            assert way.at(1.0) == pytest.approx(np.zeros(3))
            assert np.linalg.norm(way.at(0.0)) == pytest.approx(way.move.travel + 100.0)
            assert way.at(0.5) == pytest.approx(way.back / 2)


def test_a_general_viewer_brings_everything_home(folder: Written, tmp_path: Path) -> None:
    """Played by three.js, the library behind many glTF viewers: loaded, mixed to the end of the clip, and each node's
    place in the world read off. What is seen there stands at home; what is not has no size."""
    fetched()
    modules = (PAGE / "node_modules/three").as_uri()
    script = tmp_path / "play.mjs"
    script.write_text(f"""import {{ GLTFLoader }} from "{modules}/examples/jsm/loaders/GLTFLoader.js";
import * as THREE from "{modules}/build/three.module.js";
import {{ readFileSync }} from "node:fs";
globalThis.self = globalThis;
const data = readFileSync(process.argv[2]);
new GLTFLoader().parse(data.buffer.slice(data.byteOffset, data.byteOffset + data.byteLength), "", (gltf) => {{
  const mixer = new THREE.AnimationMixer(gltf.scene);
  const clip = gltf.animations[0];
  const action = mixer.clipAction(clip);
  action.setLoop(THREE.LoopOnce);
  action.clampWhenFinished = true;
  action.play();
  for (const at of [0.3 * clip.duration, clip.duration + 1]) mixer.setTime(at);
  gltf.scene.updateMatrixWorld(true);
  const found = [];
  gltf.scene.traverse((n) => {{ if (n.isMesh) found.push([n.userData.name ?? n.name, n.matrixWorld.elements]); }});
  console.log(JSON.stringify({{ clips: gltf.animations.map((c) => c.name), found }}));
}}, (error) => {{ throw error; }});
""")
    rehearsal = rehearsed(zoo.gateway_small)
    done = subprocess.run(["node", str(script), str(folder(rehearsal) / "whole.glb")], capture_output=True, text=True,
                          check=False)
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["clips"] == ["assembly", *(stage_clip(s) for s in rehearsal.plan.stages)]
    at = {name: UPRIGHT @ np.array(values).reshape(4, 4).T for name, values in told["found"]}
    for name in rehearsal.assembly.names:
        size = np.linalg.det(at[name][:3, :3])
        if rehearsal.design.part[name].temporary:
            assert abs(size) < 1e-12
            continue
        assert size == pytest.approx(1.0, abs=1e-5)
        spots = rehearsal.assembly.solid(name).mesh[0]
        off = points(at[name], spots / 1000.0) * 1000.0 - rehearsal.assembly.vertices(name)
        assert np.abs(off).max() < HOME
    assert all(abs(np.linalg.det(m[:3, :3])) < 1e-12 for n, m in at.items() if n not in rehearsal.assembly.names)
