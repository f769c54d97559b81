"""What every kind of joint must hold, whatever its sizes, fit and angle."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.rehearsal import rehearse
from model.errors import JointError
from model.frames import move
from model.joints import EVERY_KIND, KINDS
from tests.joined import THICKNESS, WIDTH, boards, facing, home, pair, seats, sound, usual

NAMES = ("blind tenon", "through tenon", "loose tenon", "half lap", "cross lap", "housing", "bridle", "glued face")

widths = st.floats(60.0, 200.0)
thicknesses = st.floats(24.0, 60.0)
fits = st.floats(0.0, 0.3)


def test_the_registry_holds_every_kind() -> None:
    assert set(KINDS) == set(NAMES)
    assert set(EVERY_KIND) == {*NAMES, "tenon half"}
    assert all(kind.says and set(kind.words) <= set(kind.sizes) for kind in KINDS.values())


@pytest.mark.parametrize("kind", NAMES)
def test_the_usual_joint_is_sound_and_says_how_far_it_reaches(kind: str) -> None:
    design = usual(kind)
    sound(design)
    reach = {"blind tenon": 2 / 3 * WIDTH, "through tenon": WIDTH, "loose tenon": 4 * THICKNESS / 3,
             "half lap": THICKNESS, "cross lap": THICKNESS, "housing": THICKNESS / 3, "bridle": WIDTH,
             "glued face": 0.0}
    assert design.joint["j"].travel == pytest.approx(reach[kind], abs=0.02)


@pytest.mark.parametrize("kind", NAMES)
def test_the_travel_is_how_far_two_pieces_reach_past_each_other_along_the_axis(kind: str) -> None:
    design = usual(kind)
    joint = design.joint["j"]
    a, b = home(design, joint)
    way = joint.seat_a[:3, 2]
    lowest = (b.mesh[0] @ way).min()
    highest = (a.mesh[0] @ way).max()
    if kind == "loose tenon":
        a = a.joined(design.part["j_tenon"].finished.moved(design.joint["j_tenon_a"].a_in_b))
        highest = (a.mesh[0] @ way).max()
    assert highest - lowest == pytest.approx(joint.travel, abs=0.02)


@pytest.mark.parametrize("kind", NAMES)
def test_in_the_mirror_nothing_changes(kind: str) -> None:
    design = usual(kind, about=0.0 if kind == "bridle" else 0.3)
    seen = design.in_the_mirror()
    sound(seen)
    for part in design.parts:
        assert seen.part[part.name].finished.volume == pytest.approx(part.finished.volume, rel=1e-12)


@pytest.mark.parametrize("kind", NAMES)
@settings(max_examples=15, deadline=None)
@given(width=widths, thickness=thicknesses, other=widths, fit=fits, about=st.floats(-0.5, 0.5))
def test_any_sizes_and_any_turn_give_whole_parts_that_do_not_bite(kind: str, width: float, thickness: float,
                                                                  other: float, fit: float, about: float) -> None:
    a, b = boards(width, thickness, other)
    if kind not in ("half lap", "cross lap", "glued face", "housing"):
        about = 0.0
    sound(pair(kind, a, b, *seats(kind, a, b, about), fit=fit))


@pytest.mark.parametrize(("kind", "sizes", "key"), [
    ("blind tenon", {"thickness": -5.0}, "thickness"),
    ("blind tenon", {"thickness": 41.0}, "thickness"),
    ("blind tenon", {"width": 0.0}, "width"),
    ("blind tenon", {"width": 141.0}, "width"),
    ("blind tenon", {"depth": 140.0}, "depth"),
    ("blind tenon", {"depth": math.nan}, "depth"),
    ("blind tenon", {"bottom": -1.0}, "bottom"),
    ("blind tenon", {"shift": 600.0}, "shift"),
    ("blind tenon", {"shift": 60.0, "width": 40.0}, "width"),
    ("blind tenon", {"offset": 25.0}, "offset"),
    ("blind tenon", {"offset": 15.0, "thickness": 12.0}, "thickness"),
    ("through tenon", {"depth": 141.0}, "depth"),
    ("through tenon", {"depth": 0.0}, "depth"),
    ("loose tenon", {"length": -1.0}, "length"),
    ("loose tenon", {"length": 290.0}, "depth"),
    ("loose tenon", {"thickness": 45.0}, "thickness"),
    ("loose tenon", {"width": 150.0}, "width"),
    ("loose tenon", {"bottom": -0.5}, "bottom"),
    ("half lap", {"depth": 40.0}, "depth"),
    ("half lap", {"depth": -2.0}, "depth"),
    ("cross lap", {"depth": 100.0}, "depth"),
    ("housing", {"depth": 40.0}, "depth"),
    ("housing", {"depth": -1.0}, "depth"),
    ("bridle", {"thickness": 39.0}, "thickness"),
    ("bridle", {"thickness": 0.0}, "thickness"),
    ("bridle", {"depth": 141.0}, "depth"),
    ("bridle", {"offset": 15.0}, "thickness"),
])
def test_sizes_that_cannot_be_cut_are_refused(kind: str, sizes: dict[str, float], key: str) -> None:
    a, b = boards()
    seat_a, seat_b = seats(kind, a, b)
    if "depth" in sizes and kind in ("half lap", "cross lap", "housing"):
        seat_a, seat_b = a.place("face", 250.0) if kind != "housing" else a.place("end"), facing(b.place("face", 450.0))
        in_a, in_b = KINDS[kind].sink(sizes, a, b, seat_a, seat_b)
        seat_a, seat_b = seat_a @ move(z=-in_a), seat_b @ move(z=in_b)
    with pytest.raises(JointError) as caught:
        pair(kind, a, b, seat_a, seat_b, sizes=sizes)
    assert (caught.value.joint, caught.value.key) == ("j", key)
    assert "mm" in str(caught.value.value) and caught.value.accepted


@pytest.mark.parametrize("kind", NAMES)
@pytest.mark.parametrize("fit", [-0.1, 50.0, math.nan, math.inf])
def test_a_fit_that_is_none_is_refused(kind: str, fit: float) -> None:
    with pytest.raises(JointError) as caught:
        usual(kind, fit=fit)
    assert caught.value.key == "fit"


@pytest.mark.parametrize("kind", [n for n in NAMES if n != "glued face"])
@pytest.mark.parametrize("side", ["a", "b"])
def test_a_joint_beside_the_wood_is_refused(kind: str, side: str) -> None:
    a, b = boards()
    seat_a, seat_b = seats(kind, a, b)
    off = move(2000.0) if side == "a" else move(0.0, 2000.0) @ move(2000.0)
    with pytest.raises(JointError):
        pair(kind, a, b, seat_a @ off if side == "a" else seat_a, seat_b @ off if side == "b" else seat_b)


def test_a_joint_is_cut_alike_wherever_it_lies() -> None:
    """Equal joints give one and the same solid, so that what is worked out per shape is worked out once."""
    for kind in NAMES:
        one, two = usual(kind), usual(kind)
        assert all(one.part[p.name].finished is two.part[p.name].finished for p in one.parts), kind


@pytest.mark.parametrize("kind", NAMES)
def test_a_usual_joint_rehearses_without_a_finding_and_slides_along_its_axis(kind: str) -> None:
    design = usual(kind)
    rehearsal = rehearse(design)
    assert [f for f in rehearsal.findings if f.severity == "stop"] == []
    move_a = next(m for stage in rehearsal.plan.stages for m in stage.moves if m.parts == ("a",))
    assert move_a.direction == pytest.approx(rehearsal.assembly.axis(design.joint["j"]), abs=1e-6)
    assert move_a.travel == pytest.approx(design.joint["j"].travel, abs=0.02)
