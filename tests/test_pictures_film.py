"""The film of the assembly: pieces on their proven lines, in the frame, in order; a GIF as its own standard has it."""

from __future__ import annotations

import struct
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from io import BytesIO
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from assembly.plan import Move, Plan
from assembly.rehearsal import Rehearsal, rehearse
from exports.pictures import can_draw
from exports.pictures.album import album, film_of
from exports.pictures.camera import Camera, facing, framed
from exports.pictures.film import Picture, _camera, film, named
from exports.pictures.inking import coloured
from exports.pictures.moving import MOST, gif
from exports.pictures.paint import paint
from exports.pictures.palette import PAPER
from exports.pictures.probe import REMEDY, quiet_surroundings
from exports.pictures.reel import BROUGHT, MOST_MOVING, TOO_MANY, Act, acts
from exports.pictures.scene import FINE, Canvas, Piece
from exports.pictures.screen import HIGH, WIDE, WORK, apart, beside
from exports.pictures.sprites import laid_over, packed, placed, sprites
from exports.pictures.whole import standpoint
from exports.pieces import bounds
from model.design import Design
from model.frames import Vector, identity, move
from model.solids import box
from tests import zoo
from tests.rehearsed import by_hand

drawing = pytest.mark.skipif(can_draw() is not None, reason=f"pictures cannot be drawn here: {REMEDY}")
SOUND = [zoo.frame, zoo.gateway_small, zoo.ring_on_posts, zoo.ring, zoo.grid]


@cache
def rehearsed(make: Callable[[], Design]) -> Rehearsal:
    return rehearse(make())


def looking_on(rehearsal: Rehearsal) -> Camera:
    return standpoint(bounds(rehearsal.assembly))


@cache
def played(make: Callable[[], Design]) -> list[Act]:
    return acts(rehearsed(make), looking_on(rehearsed(make)))


@pytest.fixture(scope="module")
def canvas() -> Iterator[Canvas]:
    quiet_surroundings()
    with Canvas((WIDE, HIGH)) as one:
        yield one


@pytest.fixture(scope="module")
def filmed(canvas: Canvas) -> list[Picture]:
    found = rehearsed(zoo.gateway_small)
    return film(found, canvas, paint(found.assembly), looking_on(found))


# -- what happens ---------------------------------------------------------------------------------


@pytest.mark.parametrize("make", SOUND)
def test_every_piece_comes_home_on_its_proven_line(make: Callable[[], Design]) -> None:
    """Once it has been brought to where its way begins, a group is off its home along its move's direction alone (to
    the digits of the plan), ever less, from its travel at least down to nothing."""
    for act in played(make):
        ends: list[Vector] = []
        for body, ways in enumerate(act.ways):
            for n, (closing, way) in enumerate(ways):
                told = np.asarray(way.move.direction)
                rest = sum((w.back for _, w in ways[n + 1:]), np.zeros(3))
                times = act.begins[closing] + act.flight * np.linspace(BROUGHT if n == 0 else 0.0, 1.0, 40)
                if not np.any(way.back):
                    continue
                left = np.array([act.off(float(t))[body] - rest for t in times])
                along = -left @ told
                assert np.linalg.norm(left + along[:, None] * told, axis=1).max() < 1e-4, "beside its line"
                assert (np.diff(along) <= 1e-9).all() and along[0] >= way.move.travel - 1e-6
                assert along[-1] == pytest.approx(0.0, abs=1e-6)
            ends.append(act.off(float(act.last))[body])
        assert np.abs(ends).max() < 1e-9, "all are home in the end"


@pytest.mark.parametrize("make", SOUND)
def test_pieces_arrive_in_the_order_of_the_plan(make: Callable[[], Design]) -> None:
    for act in played(make):
        order = [way.move for closing in act.some for way in closing.ways]
        numbers = [act.stage.moves.index(m) for m in order]
        assert numbers == sorted(numbers)
        assert {m for m in act.stage.moves if m.onto or m.simultaneous} <= set(order)
        assert list(act.begins) == sorted(act.begins)
        assert not act.begins or act.last >= act.begins[-1] + act.flight


def test_what_closes_together_moves_together_and_not_beyond_what_is_proven() -> None:
    rehearsal = by_hand(zoo.trestle())
    first = rehearsal.plan.stages[0]
    names = rehearsal.assembly.names
    moves = (Move((names[2],), (), (0.0, 0.0, -1.0), 0.0), Move((names[0],), (names[2],), (1.0, 0.0, 0.0), 40.0, True),
             Move((names[1],), (names[2],), (-1.0, 0.0, 0.0), 20.0, True))
    stage = replace(first, units=((names[2],), (names[0],), (names[1],)), moves=moves)
    (act,) = acts(replace(rehearsal, plan=replace(rehearsal.plan, stages=(stage,))), looking_on(rehearsal))
    (closing,) = act.some
    assert [w.parts for w in closing.ways] == [(names[0],), (names[1],)]
    at = {body.parts[0]: k for k, body in enumerate(act.bodies)}
    for share in np.linspace(BROUGHT, 1.0, 9):
        off = act.off(float(share) * act.flight)
        assert off[at[names[0]]] / 40.0 == pytest.approx(-off[at[names[1]]] / 20.0)
    begun = act.off(BROUGHT * act.flight)
    assert np.linalg.norm(begun[at[names[0]]]) == pytest.approx(40.0)


@pytest.mark.parametrize("make", SOUND)
def test_nothing_leaves_the_frame(make: Callable[[], Design]) -> None:
    found = rehearsed(make)
    camera = _camera(played(make), found, looking_on(found))
    for act in played(make):
        boxes = [np.vstack([act.assembly.vertices(n, act.stage.done) for n in body.parts]) for body in act.bodies]
        for at in np.linspace(0.0, act.last, 25):
            for corners, off in zip(boxes, act.off(float(at)), strict=True):
                pixels = camera.project(corners + off)
                assert (pixels > np.array(WORK[:2]) - 1e-6).all() and (pixels < np.array(WORK[2:]) + 1e-6).all()


def test_many_pieces_take_no_more_pictures_than_few() -> None:
    """A grid of 33 pieces: the moves overlap, and the pictures in which something moves stay near what is set."""
    found = played(zoo.grid)
    assert sum(len(a.some) for a in found) > 20
    assert sum(len(a.beats) for a in found) <= TOO_MANY * MOST_MOVING + len(found)
    assert all(a.gap < a.flight for a in found)


def test_few_pieces_move_one_at_a_time() -> None:
    (act,) = played(zoo.trestle) if len(played(zoo.trestle)) == 1 else (played(zoo.trestle)[0],)
    assert act.gap > act.flight
    for at in np.linspace(0.0, act.last, 60):
        assert len({id(way) for way in act.moving(float(at)).values()}) <= 1


def test_words_name_what_moves() -> None:
    (act, *_) = played(zoo.gateway_small)
    assert named(["far_arch_1"], act) == "far arch 1"
    assert named(["far_arch_1", "far_arch_2", "far_arch_3"], act) == "far arch 1–3"
    assert named(["far_arch_1", "far_arch_3"], act) == "far arch 1 and far arch 3"


# -- what is drawn --------------------------------------------------------------------------------

sizes = st.lists(st.tuples(st.integers(1, 120), st.integers(1, 120)), min_size=1, max_size=30)


@given(sizes)
def test_boxes_on_a_sheet_stand_side_by_side(found: list[tuple[int, int]]) -> None:
    sheets = packed(found, (100, 100))
    assert sorted(k for sheet in sheets for k in sheet) == list(range(len(found)))
    for sheet in sheets:
        at = [(x, y, x + found[k][0], y + found[k][1]) for k, (x, y) in sheet.items()]
        assert not any(a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3] for a, b in combinations(at, 2))
        for x, y, right, bottom in at:
            assert (right <= 100 or x == 0) and (bottom <= 100 or y == 0)


rectangles = st.lists(st.tuples(st.integers(-20, 200), st.integers(-20, 200), st.integers(1, 60), st.integers(1, 60)),
                      max_size=12)


@given(rectangles)
def test_what_changes_is_covered_by_rectangles_that_do_not_meet(found: list[tuple[int, int, int, int]]) -> None:
    changed = np.zeros((160, 160), dtype=int)
    for x, y, wide, high in found:
        changed[max(y, 0):max(y + high, 0), max(x, 0):max(x + wide, 0)] = 1
    counted = np.zeros((160, 160), dtype=int)
    for left, top, right, bottom in apart([(x, y, x + w, y + h) for x, y, w, h in found], (0, 0, 160, 160)):
        assert left % FINE == top % FINE == right % FINE == bottom % FINE == 0
        counted[top:bottom, left:right] += 1
    assert counted.max(initial=0) <= 1 and (counted >= changed).all()


@drawing
def test_sprites_laid_over_each_other_look_like_one_scene(canvas: Canvas) -> None:
    """Three blocks, one slid before another and one half behind: the same as if the scene were drawn at once."""
    off = [np.zeros(3), np.array([130.0, -220.0, 40.0]), np.array([-60.0, 300.0, 150.0])]
    pieces = [Piece(f"b{k}", box((0, 0, 0), (300, 120 + 60 * k, 200)), move(120.0 * k, 0, 30.0 * k),
                    (200, 150, 90 + 20 * k), (40, 30, 20)) for k in range(3)]
    camera = framed(facing((0.5, 0.8, -0.4)), np.array([[-200.0, -300, -50], [700, 700, 500]]), WORK)
    made = sprites([[p] for p in pieces], canvas, camera, (WIDE, HIGH))
    shown = laid_over(list(zip(made, off, strict=True)), camera, (0, 0, WIDE * FINE, HIGH * FINE))
    slid = [replace(p, frame=move(*o.tolist()) @ p.frame) for p, o in zip(pieces, off, strict=True)]
    view = canvas.look(slid, camera)
    at_once = coloured(view)
    at_once[view.piece == 0] = PAPER
    unlike = np.abs(np.asarray(shown, dtype=int) - at_once).max(axis=2) > 12
    assert unlike.sum() < 0.02 * (view.piece > 0).sum(), "but for lines shifted by a part of a pixel"
    assert (view.piece > 0).sum() > 50_000


@drawing
def test_a_moving_body_is_marked_by_form_as_well(canvas: Canvas) -> None:
    """Its rim shows in grey: the body with it takes more room all round, and is darker there than the paper."""
    camera = framed(facing((0.5, 0.8, -0.4)), np.array([[0.0, 0, 0], [300, 200, 100]]), WORK)
    piece = Piece("b", box((0, 0, 0), (300, 200, 100)), identity(), (210, 180, 140), (60, 40, 30))
    (body,) = sprites([[piece]], canvas, camera, (WIDE, HIGH))
    marked = body.rimmed
    one, other = placed((body, np.zeros(3)), camera), placed((marked, np.zeros(3)), camera)
    assert other[0] < one[0] and other[1] < one[1] and other[2] > one[2] and other[3] > one[3]
    frame = (0, 0, WIDE * FINE, HIGH * FINE)
    grey = [np.asarray(laid_over([(s, np.zeros(3))], camera, frame).convert("L"), dtype=int) for s in (body, marked)]
    assert ((grey[0] - grey[1]) > 80).sum() > 2000


def test_an_arrow_stands_beside_its_piece_and_points_its_way() -> None:
    arrow = beside((400 * FINE, 200 * FINE, 500 * FINE, 240 * FINE), (60.0, 0.0), (450.0, 400.0))
    assert arrow.end[0] > arrow.start[0] and arrow.end[1] == pytest.approx(arrow.start[1]) and arrow.end[1] < 200.0
    below = beside((400 * FINE, 100 * FINE, 500 * FINE, 110 * FINE), (60.0, 0.0), (450.0, 400.0))
    assert below.start[1] > 110.0, "above there is no room beside the words"


# -- the film -------------------------------------------------------------------------------------


@drawing
def test_a_film_lasts_as_long_as_one_looks_and_loops_without_a_jolt(filmed: list[Picture]) -> None:
    assert 15_000 <= sum(p.stands for p in filmed) <= 40_000
    assert {p.image.size for p in filmed} == {(WIDE, HIGH)}
    work = [np.asarray(p.image.crop((0, 92, WIDE, HIGH - 46)), dtype=np.int16)[::2, ::2] for p in filmed]
    steps = [float(np.abs(a - b).mean()) for a, b in zip(work, [*work[1:], work[0]], strict=True)]
    end = max(range(len(filmed)), key=lambda k: filmed[k].stands)
    assert steps[-1] < 0.5 * float(np.abs(work[end] - work[0]).mean()), "it fades back to its beginning"
    assert max(steps) < 12.0


@drawing
def test_temporary_parts_leave_and_the_curve_is_sawn(canvas: Canvas, filmed: list[Picture]) -> None:
    """In the acts after the first there is no hatching left, and the blanks' points are gone."""
    found = rehearsed(zoo.gateway_small)
    ring, *later = played(zoo.gateway_small)
    assert {"spacer_1", "spacer_2"} <= set(ring.stage.takes_away)
    assert all("spacer_1" not in body.parts for act in later for body in act.bodies)

    def hatched(pictures: list[Picture]) -> int:
        sky = np.array([86, 180, 233], dtype=np.int16)
        return max(int((np.abs(np.asarray(p.image, dtype=np.int16) - sky).max(axis=2) < 14).sum()) for p in pictures)

    assert hatched(filmed[:5]) > 20 and hatched(filmed[-12:-5]) < 8
    assert found.plan.stages[0].name == "ring"


@drawing
def test_a_gif_shows_the_pictures_it_is_made_of(filmed: list[Picture]) -> None:
    """Read back by another decoder: the same pictures, as long, in colours of one palette; alike ones are one."""
    data = gif(filmed)
    assert len(data) <= MOST
    image = Image.open(BytesIO(data))
    assert image.info["loop"] == 0 and image.size == (WIDE, HIGH)
    total, at, k = 0, 0, 0
    for number in range(image.n_frames):  # type: ignore[attr-defined]
        image.seek(number)
        if number % 5 == 0:
            off = np.abs(np.asarray(image.convert("RGB"), dtype=np.int16) - np.asarray(filmed[k].image, dtype=np.int16))
            assert off.mean() < 3.0 and (off.max(axis=2) > 60).mean() < 2e-3
        at += image.info["duration"]
        while k < len(filmed) and total + filmed[k].stands <= at:
            total += filmed[k].stands
            k += 1
        assert total == at
    assert k == len(filmed)


@drawing
def test_a_gif_is_laid_out_as_its_standard_says(filmed: list[Picture]) -> None:
    """CompuServe, "Graphics Interchange Format, version 89a" (1990), blocks 17 to 27, and the looping extension that
    browsers share; read from memory of both."""
    data = gif(filmed)
    magic, wide, high, packing = struct.unpack_from("<6sHHB", data)
    assert (magic, wide, high) == (b"GIF89a", WIDE, HIGH) and packing & 0x80
    at, images, waits, loops = 13 + 3 * 2 ** ((packing & 7) + 1), 0, [], False
    while data[at] != 0x3B:
        if data[at] == 0x21:
            loops |= data[at + 3:at + 14] == b"NETSCAPE2.0"
            if data[at + 1] == 0xF9:
                waits.append(struct.unpack_from("<H", data, at + 4)[0])
            at += 2
        else:
            left, top, across, down, flags = struct.unpack_from("<HHHHB", data, at + 1)
            assert data[at] == 0x2C and left + across <= WIDE and top + down <= HIGH and across and down
            assert not flags & 0x80, "one palette for all"
            images += 1
            at += 11
        while data[at]:
            at += 1 + data[at]
        at += 1
    assert at == len(data) - 1 and loops and images == len(waits) and min(waits) >= 2
    assert sum(waits) * 10 == sum(p.stands for p in filmed)


@drawing
def test_a_film_that_would_be_too_large_becomes_smaller(filmed: list[Picture]) -> None:
    usual = gif(filmed[:8])
    small = gif(filmed[:8], len(usual) // 2)
    assert len(small) <= len(usual) // 2
    assert Image.open(BytesIO(small)).size < (WIDE, HIGH)


@drawing
def test_without_stages_there_is_no_film(tmp_path: Path) -> None:
    found = by_hand(zoo.trestle())
    bare = replace(found, plan=Plan((), found.plan.steps))
    assert film_of(bare) == b""
    written = album(bare, tmp_path, lambda _said, _behind: None)
    assert [p.suffix for p in written] == [".png"] * len(written)


@drawing
def test_a_film_says_how_far_it_is_and_bears_any_name(canvas: Canvas) -> None:
    found = by_hand(zoo.trestle())
    stages = tuple(replace(s, name=name) for s, name in zip(found.plan.stages, ("<b>\x1b[2J\n" + "x" * 10_000, ""),
                                                           strict=True))
    told: list[float] = []
    made = film(replace(found, plan=replace(found.plan, stages=stages)), canvas, paint(found.assembly),
                looking_on(found), lambda _said, behind: told.append(behind))
    assert made and told == sorted(told) and told[-1] == 1.0
