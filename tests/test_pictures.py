"""Pictures, drawn: the right size, true to scale, nothing blank, earlier work pale, mistakes marked."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from assembly.findings import Amount, Finding
from assembly.rehearsal import Rehearsal, rehearse
from assembly.shrink import DELTA
from exports.pictures import can_draw, write_pictures
from exports.pictures import probe as probe_module
from exports.pictures.camera import HEIGHT, WIDTH, Camera, facing, framed
from exports.pictures.chosen import MOST, chosen
from exports.pictures.inking import inked, plain
from exports.pictures.moment import moment
from exports.pictures.paint import paint
from exports.pictures.palette import VERMILLION
from exports.pictures.probe import REMEDY, quiet_surroundings
from exports.pictures.scene import FINE, Canvas, Piece
from exports.pictures.sections import cut_open, cutting_plane, open_side, overlap
from exports.pictures.stages import draw_stage, fixed_camera, scenes
from exports.pictures.whole import ROOM, standpoint
from model.frames import identity, move
from model.solids import box
from tests.zoo import frame, mortise_shifted, trestle

FRONT = facing((0.5, 0.8, -0.36))
drawing = pytest.mark.skipif(can_draw() is not None, reason=f"pictures cannot be drawn here: {REMEDY}")


@pytest.fixture(scope="module")
def canvas() -> Iterator[Canvas]:
    quiet_surroundings()
    with Canvas() as one:
        yield one


@pytest.fixture(scope="module")
def mistaken() -> Rehearsal:
    return rehearse(mortise_shifted())


def vermillion(image: Image.Image) -> int:
    """How many pixels are (nearly) the colour that marks what stops the glue-up."""
    at = np.asarray(image.convert("RGB"), dtype=int)
    return int((np.abs(at - np.array(VERMILLION)).max(axis=2) < 12).sum())


def block(name: str, low: tuple[float, float, float], high: tuple[float, float, float]) -> Piece:
    return Piece(name, box(low, high), identity(), (200, 150, 100), (40, 30, 20))


@drawing
def test_a_mistaken_design_gets_all_its_pictures(tmp_path: Path, mistaken: Rehearsal) -> None:
    told: list[float] = []
    written = write_pictures(mistaken, tmp_path, lambda _said, behind: told.append(behind))
    names = [p.name for p in written]
    assert names == ["whole.png", "apart.png", "stage_1_long_rails.png", "stage_1_long_rails_setting.png",
                     "course.png", "minutes.png", "finding_01_interference.png", "assembly.gif"]
    assert sorted(p.name for p in (tmp_path / "pictures").iterdir()) == sorted(names)
    assert told == sorted(told) and told[-1] == 1.0
    for path in written:
        image = Image.open(path)
        assert np.asarray(image.convert("L")).std() > 8.0
        if path.suffix == ".gif":
            continue
        if path.stem in ("course", "minutes"):
            assert image.width == 1600
            continue
        assert image.size == (WIDTH, HEIGHT) == (1600, 1200)
        marked = path.name.startswith(("stage", "finding")) and "setting" not in path.name
        assert (vermillion(image) > 200) == marked


@drawing
def test_a_metre_measures_a_metre_and_hides_what_is_behind(canvas: Canvas) -> None:
    """A cube of 1 m, seen square on beside a smaller one behind it: areas and depths by hand."""
    cube, behind = block("cube", (0, 0, 0), (1000, 1000, 1000)), block("behind", (400, 1500, 400), (600, 1600, 600))
    camera = framed(facing((0, 1, 0)), np.array([[0.0, 0, 0], [1000, 1000, 1000]]), (200, 200, 1400, 1100))
    view = canvas.look([cube, behind], camera)
    across = FINE / camera.mm_per_pixel
    assert (view.piece == 1).sum() == pytest.approx((1000 * across) ** 2, rel=5e-3)
    assert not (view.piece == 2).any()
    seen = view.sees(np.array([[500.0, 0, 500], [500.0, 1000, 500], [500.0, 1500, 500], [5000.0, 0, 0]]), 1.0)
    assert seen.tolist() == [True, False, False, False]
    np.testing.assert_allclose(view.depth[view.piece == 1], camera.depth(np.zeros(3)), atol=0.5)


@drawing
def test_the_same_window_draws_one_picture_after_another(canvas: Canvas) -> None:
    camera = framed(facing((0, 1, -0.4)), np.array([[0.0, 0, 0], [1000, 1000, 1000]]), ROOM)
    first = canvas.look([block("a", (0, 0, 0), (200, 200, 200))], camera)
    second = canvas.look([block("b", (700, 0, 700), (900, 200, 900))], camera)
    again = canvas.look([block("a", (0, 0, 0), (200, 200, 200))], camera)
    assert not ((first.piece > 0) & (second.piece > 0)).any() and (second.piece > 0).any()
    assert (first.piece == again.piece).all()


@drawing
def test_earlier_work_is_pale_and_new_pieces_are_wood(canvas: Canvas) -> None:
    found = rehearse(frame())
    shown = scenes(found, FRONT)
    last, look = shown[-1], paint(found.assembly)
    camera = fixed_camera(shown, standpoint(np.array([[-700.0, -250, 0], [700, 250, 700]])))
    view = canvas.look(last.pieces(look), camera)
    at = np.asarray(inked(view), dtype=float)
    coarse = view.piece[::FINE, ::FINE]
    blank = np.asarray(plain(), dtype=float)
    empty = (view.piece.reshape(HEIGHT, FINE, WIDTH, FINE) == 0).all(axis=(1, 3))
    assert np.abs(at - blank)[empty].max() <= 1.0
    for name in last.stage.parts:
        colour = at[coarse == view.number[name]].mean(axis=0)
        pale = name in last.before
        assert (colour.min() > 165.0) == pale, f"{name} {colour}"
        assert (colour[0] - colour[2] > 30.0) == (not pale), f"{name} {colour}"


@drawing
def test_a_marked_stage_differs_in_more_than_colour(canvas: Canvas, mistaken: Rehearsal) -> None:
    """The ring, sign and number must show in grey as well."""
    shown = scenes(mistaken, FRONT)
    look, box_of_it = paint(mistaken.assembly), np.array([[-450.0, -50, 0], [450, 50, 500]])
    camera = fixed_camera(shown, standpoint(box_of_it))
    numbered, _ = chosen(mistaken.findings, mistaken.assembly)
    with_marks, without = (draw_stage(shown[0], canvas, look, camera, n).convert("L") for n in (numbered, []))
    change = np.abs(np.asarray(with_marks, dtype=int) - np.asarray(without, dtype=int))
    assert 200 < (change > 60).sum() < 40_000


def test_a_part_is_drawn_as_it_is_cut_by_then() -> None:
    """Features cut after a stage show as uncut before it (pieces carry the solid of the stage)."""
    found = rehearse(frame())
    for scene in scenes(found, FRONT):
        for piece in scene.pieces(paint(found.assembly)):
            assert piece.solid is found.assembly.solid(piece.name, scene.stage.done)


def test_what_is_wrong_inside_the_wood_is_cut_open_so_that_its_depth_shows(mistaken: Rehearsal) -> None:
    finding = mistaken.findings[0]
    held, where = moment(mistaken, finding), np.array(finding.where)
    normal = cutting_plane(finding, held)
    joint = mistaken.design.joint["long_rail_01_end"]
    assert abs(float(normal @ held.assembly.axis(joint))) < 1e-6, "the cut must not look along the joint"
    pieces = [Piece(n, held.solid(n), held.frame(n), (0, 0, 0), (0, 0, 0)) for n in finding.parts]
    for piece in cut_open(pieces, where, normal):
        assert float((piece.vertices @ normal).max()) == pytest.approx(float(where @ normal), abs=1e-6)


def test_the_wood_two_parts_both_claim_is_found_without_the_skin_of_touching_faces() -> None:
    """Hand value: the mortise stands 2 mm high with 0.1 mm of fit, so 1.9 mm of a 59.27 x 29.63 mm face is shared,
    less the tolerance by which one of them is shrunk."""
    found = rehearse(mortise_shifted())
    held = moment(found, found.findings[0])
    common = overlap(held, "long_rail_01", "post_1")
    assert common is not None
    size = np.sort(np.ptp(common.mesh[0], axis=0))
    assert size[0] == pytest.approx(1.9 - DELTA, abs=1e-6)
    assert common.volume == pytest.approx(1.9 * 88.9 / 3 * 88.9 * 2 / 3, rel=0.02)
    assert overlap(held, "long_rail_01", "post_2") is None


def test_a_place_on_the_outside_is_looked_at_from_outside_and_one_within_is_not() -> None:
    found = rehearse(trestle())
    held = moment(found, Finding("gap", "warn", ("post_1",), "", "", (0.0, 0.0, 0.0), Amount(1.0, "mm")))
    post = held.vertices("post_1")
    top = np.array([*post.mean(axis=0)[:2], post[:, 2].max()])
    way = open_side(top, held, held.names)
    assert way is not None and way[2] > 0
    assert open_side(top - [0, 0, 60.0], held, held.names) is None


def test_of_many_findings_alike_a_few_are_drawn_and_the_rest_counted(mistaken: Rehearsal) -> None:
    one = mistaken.findings[0]
    other = replace(one, kind="gap", severity="warn")
    unplaced = replace(one, where=None)
    nobody = replace(one, parts=())
    noted = replace(one, severity="note")
    about_the_stage = replace(one, kind="open-time")
    drawn, left = chosen([*[one] * 40, other, unplaced, nobody, noted, about_the_stage], mistaken.assembly)
    assert len(drawn) == MOST and left == 42 - MOST
    assert (41, other) in drawn
    assert [n for n, _ in drawn] == sorted(n for n, _ in drawn)


def test_a_picture_is_written_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from exports.pictures.album import _write

    def broken(self: Image.Image, path: Path, **_: object) -> None:
        Path(path).write_bytes(b"half")
        raise OSError("no space left")

    monkeypatch.setattr(Image.Image, "save", broken)
    with pytest.raises(OSError, match="no space"):
        _write(Image.new("RGB", (4, 4)), tmp_path / "one.png")
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("command", [
    [sys.executable, "-c", "raise SystemExit(3)"],
    [sys.executable, "-c", f"import os; os.kill(os.getpid(), {int(signal.SIGSEGV)})"],
    ["/nonexistent/python", "-c", ""],
])
def test_a_probe_that_fails_dies_or_never_starts_says_no(command: list[str]) -> None:
    assert not probe_module._drew(command)


def test_a_machine_that_cannot_draw_is_told_the_exact_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(probe_module, "_QUESTION", "import os; os.abort()")
    can_draw.cache_clear()
    try:
        assert can_draw() == REMEDY
    finally:
        can_draw.cache_clear()
    assert "libegl1" in REMEDY and "libgl1-mesa-dri" in REMEDY


def test_a_probe_that_hangs_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(probe_module, "PATIENCE", 0.2)
    assert not probe_module._drew([sys.executable, "-c", "import time; time.sleep(60)"])


def test_moving_a_piece_moves_what_the_camera_sees() -> None:
    piece = block("a", (0, 0, 0), (100, 50, 20))
    moved = replace(piece, frame=move(10.0, 20.0, 30.0))
    np.testing.assert_allclose(moved.bounds - piece.bounds, [[10, 20, 30]] * 2)
    camera = Camera(np.array([1.0, 0, 0]), np.array([0, 0, 1.0]), np.array([0, 1.0, 0]), np.zeros(3), 2.0)
    np.testing.assert_allclose(camera.project((20.0, 0, -20.0)), (WIDTH / 2 + 10, HEIGHT / 2 + 10))
