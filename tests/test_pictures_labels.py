"""Labels: whatever they name and wherever, they keep off each other, off marks, and inside the picture."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.alike import marks
from assembly.placing import place
from exports.pictures.captions import MOST_LABELS, labelled, several, shortened
from exports.pictures.labels import GAP, Wanted, arranged, busy
from exports.pictures.lettering import LABEL, label_size, mark_width, width_of, wrapped
from exports.pictures.measures import bar_length
from tests.zoo import frame, trestle

FRAME = (28.0, 170.0, 1572.0, 1108.0)
POINTS = st.tuples(st.floats(0.0, 1600.0), st.floats(0.0, 1200.0))
WANTED = st.lists(st.builds(Wanted, st.floats(30.0, 420.0), st.floats(24.0, 70.0), POINTS), max_size=MOST_LABELS)


def meet(one: tuple[float, ...], two: tuple[float, ...], gap: float = 0.0) -> bool:
    return one[0] < two[2] + gap and one[2] > two[0] - gap and one[1] < two[3] + gap and one[3] > two[1] - gap


@settings(max_examples=12, deadline=None)
@given(WANTED, st.lists(POINTS, max_size=3))
def test_labels_never_collide_and_never_leave_the_frame(wanted: list[Wanted], marks: list[tuple[float, float]]) -> None:
    taken = [(x, y, x + 120.0, y + 100.0) for x, y in marks]
    placed = arranged(wanted, FRAME, None, taken)
    assert len({p.index for p in placed}) == len(placed)
    for p in placed:
        left, top, right, bottom = p.box
        assert FRAME[0] <= left and right <= FRAME[2] + 1e-6 and FRAME[1] <= top and bottom <= FRAME[3] + 1e-6
        assert abs(right - left - wanted[p.index].width) < 1e-6
        assert abs(bottom - top - wanted[p.index].height) < 1e-6
        assert p.anchor == wanted[p.index].anchor
        assert left - 1e-6 <= p.start[0] <= right + 1e-6 and top - 1e-6 <= p.start[1] <= bottom + 1e-6
        assert not any(meet(p.box, box) for box in taken)
    assert not any(meet(p.box, q.box, GAP - 1e-6) for p, q in combinations(placed, 2))


@settings(max_examples=4, deadline=None)
@given(WANTED)
def test_the_same_labels_stand_in_the_same_places(wanted: list[Wanted]) -> None:
    assert arranged(wanted, FRAME) == arranged(wanted, FRAME)


def test_a_dozen_labels_of_usual_size_all_find_room() -> None:
    wanted = [Wanted(180.0, 36.0, (400.0 + 60.0 * i, 600.0)) for i in range(MOST_LABELS)]
    assert len(arranged(wanted, FRAME)) == MOST_LABELS


def test_a_label_too_large_for_the_frame_is_left_out_and_the_others_stand() -> None:
    placed = arranged([Wanted(5000.0, 40.0, (800.0, 600.0)), Wanted(120.0, 40.0, (800.0, 600.0))], FRAME)
    assert [p.index for p in placed] == [1]


def test_labels_keep_off_the_work_where_there_is_free_paper() -> None:
    mask = np.zeros((300, 400), dtype=bool)
    mask[100:200, 100:300] = True
    work = busy(mask, 4.0)
    placed = arranged([Wanted(150.0, 40.0, (800.0, 420.0)), Wanted(150.0, 40.0, (1180.0, 700.0))], FRAME, work)
    assert len(placed) == 2
    assert not any(meet(p.box, (400.0, 400.0, 1200.0, 800.0)) for p in placed)


def test_the_share_of_a_box_over_the_work_is_its_area() -> None:
    mask = np.zeros((300, 400), dtype=bool)
    mask[100:200, 100:300] = True
    boxes = np.array([[400.0, 400.0, 800.0, 600.0], [0.0, 0.0, 200.0, 200.0], [200.0, 400.0, 600.0, 800.0]])
    assert busy(mask, 4.0).share(boxes).tolist() == [1.0, 0.0, 0.5]


def test_numbered_pieces_are_called_by_their_range_and_others_by_their_count() -> None:
    assert several([f"rail_{n:02d}" for n in range(1, 13)], "rail") == "rail 01–12"
    assert several(["rail_1", "rail_2", "rail_4"], "rail") == "3 × rail"
    assert several(["left_leg"], "leg") == "left leg"
    assert several(["bug\x07_1"], "bug").isprintable()


def test_no_picture_gets_more_labels_than_it_can_hold() -> None:
    from assembly.placing import place

    for design in (trestle(), frame()):
        for most in (1, 2, 5, MOST_LABELS):
            found = labelled([p.name for p in design.parts], place(design), most)
            assert 1 <= len(found) <= most
            told = [n for named in found for n in named.parts]
            assert sorted(told) == sorted(p.name for p in design.parts)


@given(st.text(max_size=300), st.floats(60.0, 600.0))
@settings(max_examples=40, deadline=None)
def test_wrapped_lines_fit_their_width(text: str, width: float) -> None:
    assert all(width_of(line, LABEL) <= width or len(line) == 1 for line in wrapped(text, LABEL, width))


def test_a_label_is_as_large_as_what_is_written_in_it() -> None:
    wide, tall = label_size(("post 1a", "temporary"))
    assert wide > width_of("temporary", LABEL) and tall > label_size(("post 1a",))[1]
    assert len(shortened("x" * 200)) <= 30


@given(st.floats(0.005, 50.0))
def test_a_scale_bar_is_a_round_length_of_readable_size(pixels_per_mm: float) -> None:
    for unit in ("mm", "in"):
        assert 90.0 < bar_length(pixels_per_mm, unit) * pixels_per_mm < 400.0


def test_labels_carry_the_marks_of_what_they_name() -> None:
    found = place(frame())
    known = marks(found.design)
    for named in labelled(found.names, found):
        assert named.mark == ", ".join(sorted({known[n] for n in named.parts}))
    wide, _ = label_size(("rail 1–8",), "Ca, Cb")
    assert wide == label_size(("rail 1–8",))[0] + mark_width("Ca, Cb") and mark_width("") == 0.0
