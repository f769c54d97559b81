"""Stance and lifting: how work lies, when it falls, what makes room beneath it, who lifts it; worked out by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import atan, atan2, degrees
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.findings import Finding
from assembly.order import order
from assembly.placing import Assembly, place, standing_in
from assembly.plan import Move, Stage
from assembly.stages import plan
from assembly.stance import lifts, people_for, rested
from assembly.stance.body import body
from assembly.stance.choice import OFFERED, room_beneath
from assembly.stance.footing import Lie
from assembly.stance.lying import lyings
from assembly.stance.steadiness import tip
from model.design import Design, Shop
from model.frames import directions, points, turn
from model.reader import read
from model.solids import Solid, box
from tests import zoo
from tests.blocks import standing, tied
from tests.strategies import small_frames

UP = np.array([0.0, 0.0, 1.0])
EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("*.toml"))
RANK = {"stop": 2, "warn": 1, "note": 0}


def stage(moves: Sequence[Move], units: Sequence[tuple[str, ...]] = (), name: str = "glue-up") -> Stage:
    names = units or [m.parts for m in moves]
    return Stage(1, name, tuple(j for m in moves for j in m.joints), tuple(names), tuple(moves), (), frozenset())


def laid(*parts: str) -> Move:
    return Move(parts, (), (0.0, 0.0, -1.0), 0.0)


def to(name: str, onto: str, way: tuple[float, float, float], travel: float = 20.0, joint: str = "") -> Move:
    return Move((name,), (onto,), way, travel, joints=(joint,) if joint else ())


def worst(found: Sequence[Finding]) -> int:
    return max((RANK[f.severity] for f in found), default=-1)


# -- when work falls ------------------------------------------------------------------------------


@settings(deadline=None)
@given(st.floats(20.0, 900.0), st.floats(20.0, 900.0), st.floats(20.0, 900.0))
def test_a_box_falls_when_tilted_by_its_width_over_its_height(b: float, d: float, h: float) -> None:
    """tan = (b / 2) / (h / 2), derived."""
    foot = np.array([(x, y, 0.0) for x in (0.0, b) for y in (0.0, d)])
    found = tip(foot, np.array([b / 2, d / 2, h / 2]), UP)
    assert found.angle == pytest.approx(atan2(min(b, d), h), rel=1e-9)
    assert found.inside == pytest.approx(min(b, d) / 2, rel=1e-9)


def test_a_low_box_lies_as_it_will_stand() -> None:
    found, said = rested(standing({"slab": box((0, 0, 0), (300, 200, 100))}), Shop(), stage([laid("slab")]))
    assert (found.rest.lies, found.rest.on, found.rest.blocks, found.rest.held) == ("as it will stand", "bench", 0.0, 0)
    assert found.rest.tips_at == pytest.approx(atan(200 / 100))
    assert not said


def test_a_tall_box_is_laid_down() -> None:
    """On its end it would fall at atan(1/8), 7.1 degrees; on a side at 45."""
    found, said = rested(standing({"post": box((0, 0, 0), (100, 100, 800))}), Shop(), stage([laid("post")]))
    assert found.rest.tips_at == pytest.approx(atan(1.0))
    assert found.rest.lies != "as it will stand"
    assert not said


def gallows(reach: float) -> Assembly:
    """A post of 40 by 40 by 1000 and an arm on top of it, from its left face `reach` mm to the right."""
    return standing({"post": box((-20, -20, 0), (20, 20, 1000)), "arm": box((-20, -20, 1000), (reach - 20, 20, 1040))})


def upright(assembly: Assembly) -> Lie:
    return Lie(body(assembly, assembly.names, frozenset()), UP)


def test_a_gallows_falls_unless_it_is_held() -> None:
    """Post 1.6, arm 1.28 million mm³: centre 168.9 mm out, 148.9 beyond the foot; the lever to the arm's end is 760."""
    work = gallows(800.0)
    found = upright(work).footing(np.array([True, True]), 0.0)
    out = 1.28 * 380 / 2.88 - 20.0
    mass = float(body(work, work.names, frozenset()).mass.sum())
    assert found.tip.angle == 0.0
    assert found.tip.inside == pytest.approx(-out)
    assert (found.held_at, found.force) == ("arm", pytest.approx(mass * out / 760.0))


def test_a_t_falls_at_a_tilt_worked_out_by_hand() -> None:
    """Centre (1.6 * 500 + 1.28 * 1020) / 2.88 = 731.1 mm high over a foot of 40 mm: atan(20 / 731.1), 1.6 degrees."""
    work = standing({"post": box((-20, -20, 0), (20, 20, 1000)), "bar": box((-400, -20, 1000), (400, 20, 1040))})
    found = upright(work).footing(np.array([True, True]), 0.0)
    assert found.tip.angle == pytest.approx(atan(20.0 / (2105.6 / 2.88)))
    assert found.force > 0
    lying, said = rested(work, Shop(), stage([laid("post"), to("bar", "post", (0, 0, -1))]))
    assert lying.rest.held == 0 and lying.rest.lies.startswith("flat")
    assert worst(said) <= 0


def test_what_hangs_over_is_packed_up() -> None:
    """A block of 100 with a bar of 600 by 20 let into it 40 mm above the face: packing of 40 mm under the bar's end."""
    work = standing({"block": box((0, 0, 0), (100, 100, 100)), "bar": box((100, 40, 40), (1100, 60, 60))})
    found = upright(work).footing(np.array([True, True]), 0.0)
    assert (found.packing, found.packed, found.force) == (40.0, ("bar",), 0.0)


# -- which way up ---------------------------------------------------------------------------------


def table(travel: float = 30.0) -> tuple[Assembly, Stage]:
    legs = {f"leg_{k}": box((x, y, 0), (x + 50, y + 50, 700))
            for k, (x, y) in enumerate([(0, 0), (950, 0), (0, 550), (950, 550)])}
    work = standing({"top": box((0, 0, 700), (1000, 600, 740)), **legs})
    return work, stage([laid("top"), *(to(n, "top", (0, 0, 1), travel) for n in legs)])


def test_a_table_is_made_upside_down() -> None:
    found, said = rested(*_with_shop(table()))
    assert (found.rest.lies, found.rest.blocks, found.rest.held) == ("upside down", 0.0, 0)
    carried = directions(found.rest.frame, UP)
    assert carried == pytest.approx([0, 0, -1])
    assert (found.rest.frame @ np.array([0, 0, 740.0, 1]))[2] == pytest.approx(0.0)
    assert not said


def _with_shop(made: tuple[Assembly, Stage], shop: Shop | None = None) -> tuple[Assembly, Shop, Stage]:
    return made[0], shop or Shop(), made[1]


@pytest.mark.parametrize(("leg", "knob", "blocks", "lies"), [
    (60.0, 200.0, 60.0 + OFFERED, "as it will stand"), (60.0, 20.0, 20.0 + OFFERED, "upside down")])
def test_what_comes_from_beneath_needs_blocks_of_its_travel_and_the_room_to_offer_it_up(
        leg: float, knob: float, blocks: float, lies: str) -> None:
    """A wide board with a foot pushed up from below and a knob from above: one of them comes from beneath."""
    work = standing({"board": box((0, 0, 30), (1000, 1000, 60)), "foot": box((450, 450, 0), (550, 550, 30)),
                     "knob": box((450, 450, 60), (550, 550, 90))})
    moves = [laid("board"), to("foot", "board", (0, 0, 1), leg), to("knob", "board", (0, 0, -1), knob)]
    found, said = rested(work, Shop(), stage(moves))
    assert (found.rest.blocks, found.rest.held) == (pytest.approx(blocks), 0)
    assert found.rest.lies == f"{lies}, on 30 mm of packing under board"
    assert [(f.kind, f.severity, f.amount and f.amount.value) for f in said] == [("stance", "note", blocks)]
    assert f"{blocks:g} mm" in said[0].remedy


def test_where_blocks_would_be_too_high_it_is_held_on_edge_or_else_that_is_a_warning() -> None:
    """Upside down it takes 850 mm; on edge, 30 mm thick, one holds it and one brings the next piece."""
    work = standing({"board": box((0, 0, 30), (1000, 1000, 60)), "foot": box((450, 450, 0), (550, 550, 30)),
                     "knob": box((450, 450, 60), (550, 550, 90))})
    made = stage([laid("board"), to("foot", "board", (0, 0, 1), 900.0), to("knob", "board", (0, 0, -1), 800.0)])
    found, said = rested(work, Shop(), made)
    assert (found.rest.blocks, found.rest.held, worst(said)) == (0.0, 1, 0)
    found, said = rested(work, Shop(people=1), made)
    assert (found.rest.blocks, found.rest.held) == (pytest.approx(850.0), 0)
    assert [(f.kind, f.severity, f.amount and f.amount.value) for f in said] == [("stance", "warn", 850.0)]


def test_a_piece_that_comes_in_two_straight_moves_needs_room_for_both() -> None:
    """It comes up from beneath past its own 30 mm, and then slides level: 30 and the room to offer it up."""
    work = standing({"board": box((0, 0, 0), (1000, 1000, 60)), "key": box((450, 450, 0), (550, 550, 30))})
    key = Move(("key",), ("board",), (1.0, 0.0, 0.0), 80.0, before=(0.0, 0.0, 1.0))
    lie = upright(work)
    need, beneath = room_beneath(lie, lyings(stage([laid("board"), key])))
    assert (need, beneath) == (pytest.approx(30.0 + OFFERED), key)


# -- who holds it ---------------------------------------------------------------------------------


def screen() -> tuple[Assembly, Stage]:
    """A panel on edge, 40 mm thick, with a rail of 900 mm pushed into it from each side: it cannot lie flat."""
    work = standing({"panel": box((-20, 0, 0), (20, 600, 600)), "left": box((-920, 250, 0), (-20, 350, 40)),
                     "right": box((20, 250, 0), (920, 350, 40))})
    return work, stage([laid("panel"), to("left", "panel", (1, 0, 0)), to("right", "panel", (-1, 0, 0))])


def test_a_panel_on_edge_is_held_until_the_first_rail_is_on() -> None:
    found, said = rested(*_with_shop(screen()))
    assert (found.rest.held, found.rest.blocks) == (1, 0.0)
    assert found.rest.tips_at == pytest.approx(atan(40 / 600))
    assert [(f.kind, f.severity) for f in said] == [("stance", "note")]
    assert "panel" in said[0].message and "left is on" in said[0].message
    assert f"{degrees(atan(40 / 600)):.0f} degrees" in said[0].message


def test_one_person_cannot_hold_it_and_bring_the_rail() -> None:
    _, said = rested(*_with_shop(screen(), Shop(people=1)))
    assert [(f.kind, f.severity, f.amount and f.amount.value) for f in said] == [("hands", "stop", 2.0)]
    assert "there are 1" in said[0].message and "1 more" in said[0].remedy


@settings(max_examples=20, deadline=None)
@given(small_frames(), st.integers(1, 3))
def test_more_people_never_make_it_worse(design: Design, people: int) -> None:
    work, made = glued(design)
    few, many = (rested(work, replace(design.shop, people=n), made)[1] for n in (people, people + 1))
    assert worst(many) <= worst(few)


# -- what lies where ------------------------------------------------------------------------------


def test_groups_made_up_beside_lie_in_places_of_their_own() -> None:
    moves = [laid("a"), to("b", "a", (0, 0, -1)), laid("c"), to("d", "c", (0, 0, -1)),
             Move(("c", "d"), ("b",), (0.0, 0.0, -1.0), 20.0)]
    one, = lyings(stage(moves, [("a",), ("b",), ("c",), ("d",)]))
    assert [sorted(g.parts) for g in one.growths] == [["a"], ["a", "b"], ["a", "b", "c", "d"]]
    assert [[sorted(g.parts) for g in group.growths] for group in one.brought] == [[["c"], ["c", "d"]]]


def test_work_that_stays_apart_lies_apart() -> None:
    moves = [laid("a"), to("b", "a", (0, 0, -1)), laid("c"), to("d", "c", (0, 0, -1))]
    assert [sorted(x.parts) for x in lyings(stage(moves, [("a",), ("b",), ("c",), ("d",)]))] == [["a", "b"], ["c", "d"]]


def test_what_closes_at_the_same_time_is_one_moment() -> None:
    way = (1.0, 0.0, 0.0)
    moves = [laid("a"), Move(("b",), ("a",), way, 20.0, True), Move(("c",), ("b",), way, 20.0, True)]
    one, = lyings(stage(moves))
    assert [sorted(g.parts) for g in one.growths] == [["a"], ["a", "b", "c"]]


def test_a_stage_in_which_nothing_goes_together_is_left_alone() -> None:
    made = stage([], [("a",), ("b",)])
    assert rested(gallows(800.0), Shop(), made) == (made, [])


# -- lifting --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("kg", "mm", "people"), [
    (1, 500, 1), (20, 2400, 1), (20.1, 500, 2), (1, 2401, 2), (35, 500, 2), (35.1, 500, 3), (50, 500, 3),
    (50.1, 500, 4)])
def test_people_by_the_table(kg: float, mm: float, people: int) -> None:
    """20 kg one, 35 kg two, 15 kg each more, two from 2.4 m: common practice, no source."""
    assert people_for(kg, mm, Shop()) == people


@pytest.mark.parametrize(("shop", "kg", "people"), [
    (Shop(lift_one=25.0), 25.0, 1), (Shop(lift_one=25.0), 43.75, 2), (Shop(lift_two=50.0), 50.0, 2),
    (Shop(lift_two=50.0), 20.1, 2), (Shop(lift_one=10.0, lift_two=18.0), 18.1, 3), (Shop(lift_two=14.0), 8.0, 1),
    (Shop(lift_two=14.0), 8.1, 2), (Shop(lift_one=30.0, lift_two=20.0), 30.1, 3)])
def test_people_by_what_the_shop_says(shop: Shop, kg: float, people: int) -> None:
    assert people_for(kg, 500.0, shop) == people


@given(st.floats(0.1, 300.0), st.floats(5.0, 60.0), st.floats(5.0, 90.0), st.floats(0.0, 30.0))
def test_stronger_people_are_never_more(kg: float, one: float, two: float, more: float) -> None:
    assert people_for(kg, 500.0, Shop(lift_one=one + more, lift_two=two)) <= people_for(
        kg, 500.0, Shop(lift_one=one, lift_two=two))
    assert people_for(kg, 500.0, Shop(lift_two=two + more)) <= people_for(kg, 500.0, Shop(lift_two=two))


def lump(kg: float) -> Solid:
    """A cube of so many kg."""
    side = (kg / zoo.species()["Western redcedar"].density * 1e9) ** (1 / 3)
    return box((0, 0, 100), (side, side, 100 + side))


def brought(kg: float) -> tuple[Assembly, Stage]:
    work = standing({"bed": box((0, 0, 0), (900, 900, 100)), "lump": lump(kg)})
    return work, stage([laid("bed"), to("lump", "bed", (0, 0, -1))])


@pytest.mark.parametrize(("kg", "people", "said"), [
    (5.0, 2, []), (40.0, 3, []), (40.0, 2, [("hands", "warn", 3.0)]), (20.1, 1, [("hands", "warn", 2.0)]),
    (60.0, 3, [("hands", "warn", 4.0)]), (66.0, 5, [("mass", "warn", 66.0)]), (101.0, 9, [("mass", "warn", 101.0)])])
def test_what_people_can_lift(kg: float, people: int, said: list[tuple[str, str, float]]) -> None:
    found = lifts(*_with_shop(brought(kg), Shop(people=people)))
    told = [(f.kind, f.severity, f.amount and f.amount.value) for f in found]
    assert told == [(kind, severity, pytest.approx(value)) for kind, severity, value in said]
    assert all("local rules on lifting come first" in f.message for f in found)


def test_a_piece_lifted_alone_that_the_equation_thinks_too_heavy_is_a_note() -> None:
    """19 kg and 383 mm deep: 23 * 250/441.5 * 0.775 * 0.88 * 0.9 = 8.0 kg from the floor, derived."""
    found, = lifts(*_with_shop(brought(19.0)))
    assert (found.kind, found.severity) == ("mass", "note")
    assert "8 kg from the floor" in found.message


def test_work_that_stays_where_it_was_glued_need_not_be_carried() -> None:
    work = standing({"bed": lump(120.0), "more": box((0, 0, 100), (10, 10, 110)),
                     "knob": box((0, 0, 90), (50, 50, 100))})
    first = stage([laid("bed"), to("more", "bed", (0, 0, -1))], name="first")
    second = stage([laid("bed", "more"), to("knob", "bed", (0, 0, -1))], [("bed", "more"), ("knob",)], name="second")
    assert [(f.kind, f.severity) for f in lifts(work, Shop(), second, [first])] == [("mass", "note")]
    tipped = replace(first, rest=replace(first.rest, frame=turn((1, 0, 0), np.pi)))
    assert [(f.kind, f.severity) for f in lifts(work, Shop(), second, [tipped])] == [("mass", "warn")]


def hung(count: int, way: tuple[float, float, float]) -> tuple[Assembly, Stage]:
    """A beam with pegs pushed up into it, lifted onto a bed while their glue is wet."""
    pegs = {f"peg_{k}": box((100 * k, 0, 100), (100 * k + 80, 50, 200)) for k in range(count)}
    beam = box((0, 0, 200), (1000, 50, 250))
    joints = [tied(f"j_{n}", n, "beam", (0, 0, 200), way, 20.0) for n in pegs]
    work = standing({"bed": box((0, 0, 0), (1000, 1000, 100)), "beam": beam, **pegs}, joints)
    moves = [laid("bed"), laid("beam"), *(to(n, "beam", way, joint=f"j_{n}") for n in pegs),
             Move(("beam", *pegs), ("bed",), (0.0, 0.0, -1.0), 20.0)]
    return work, stage(moves, [("bed",), ("beam",), *((n,) for n in pegs)])


@pytest.mark.parametrize(("count", "people", "severity"), [
    (1, 1, "note"), (3, 2, "note"), (3, 1, "warn"), (4, 2, "warn")])
def test_what_hangs_on_wet_joints_needs_a_hand_under_each(count: int, people: int, severity: str) -> None:
    found, = lifts(*_with_shop(hung(count, (0, 0, 1)), Shop(people=people)))
    assert (found.kind, found.severity) == ("stance", severity)
    assert found.parts == tuple(f"peg_{k}" for k in range(count))
    assert "still wet" in found.message and "drop out" in found.message


def test_wet_joints_from_the_side_are_a_note() -> None:
    found, = lifts(*_with_shop(hung(4, (0, 1, 0)), Shop(people=1)))
    assert (found.kind, found.severity) == ("stance", "note")
    assert "drop out" not in found.message


def test_a_loose_tenon_in_its_piece_is_no_group() -> None:
    """40 by 20 by 20 mm in a beam of 2.5 litres."""
    beam, tenon = box((0, 0, 200), (1000, 50, 250)), box((-20, 10, 210), (20, 30, 230))
    joint = tied("j", "tenon", "beam", (0, 20, 220), (1, 0, 0), 20.0)
    work = standing({"bed": box((-900, 0, 0), (0, 1000, 300)), "beam": beam, "tenon": tenon}, [joint])
    moves = [laid("bed"), laid("beam"), to("tenon", "beam", (1, 0, 0), joint="j"),
             Move(("beam", "tenon"), ("bed",), (-1.0, 0.0, 0.0), 20.0)]
    assert not lifts(work, Shop(), stage(moves, [("bed",), ("beam",), ("tenon",)]))


def test_what_stands_on_the_group_does_not_hang() -> None:
    """Lying upside down the pegs stand on the beam."""
    work, made = hung(4, (0, 0, 1))
    over = replace(made, rest=replace(made.rest, frame=turn((1, 0, 0), np.pi)))
    found, = lifts(work, Shop(people=1), over)
    assert (found.severity, "drop out" in found.message) == ("note", False)


# -- sound designs, and the same work otherwise ---------------------------------------------------


@pytest.mark.parametrize("make", [*zoo.SOUND.values(), *(lambda p=p: read(p) for p in EXAMPLES)],
                         ids=[*zoo.SOUND, *(p.stem for p in EXAMPLES)])
def test_sound_designs_are_neither_stopped_nor_warned(make) -> None:  # type: ignore[no-untyped-def]
    design = make()
    assembly = place(design)
    before: list[Stage] = []
    for one in plan(assembly, design.shop).stages:
        here = standing_in(assembly, one.name)
        lying, said = rested(here, design.shop, one)
        said += lifts(here, design.shop, lying, before)
        before.append(lying)
        assert not [f for f in said if f.severity != "note"]
        assert lying.rest.tips_at > 0
        works = lyings(one)
        if len(works) == 1:
            corners = np.concatenate([here.vertices(n, one.done) for n in works[0].parts])
            assert points(lying.rest.frame, corners)[:, 2].min() == pytest.approx(0.0, abs=1e-6)
            assert np.linalg.det(lying.rest.frame[:3, :3]) == pytest.approx(1.0)


def glued(design: Design) -> tuple[Assembly, Stage]:
    assembly = place(design)
    return assembly, stage(order(assembly, [(n,) for n in assembly.names]).moves, [(n,) for n in assembly.names])


def verdict(work: Assembly, made: Stage, shop: Shop) -> tuple[object, ...]:
    lying, said = rested(work, shop, made)
    said += lifts(work, shop, lying)
    rest = lying.rest
    told = sorted((f.kind, f.severity, round(f.amount.value, 1) if f.amount else 0.0) for f in said)
    return rest.on, round(rest.blocks, 2), rest.held, round(rest.tips_at, 4), told


def carried(made: Stage, frame: np.ndarray) -> Stage:
    def way(at: tuple[float, float, float]) -> tuple[float, float, float]:
        x, y, z = directions(frame, at).tolist()
        return x, y, z

    return replace(made, moves=tuple(replace(m, direction=way(m.direction), before=m.before and way(m.before))
                                     for m in made.moves))


@settings(max_examples=25, deadline=None)
@given(small_frames(), st.floats(-180.0, 180.0))
def test_turned_about_the_vertical_it_is_the_same(design: Design, angle: float) -> None:
    work, made = glued(design)
    about = turn((0, 0, 1), np.radians(angle))
    assert verdict(work.moved(about), carried(made, about), design.shop) == verdict(work, made, design.shop)


@settings(max_examples=25, deadline=None)
@given(small_frames())
def test_mirrored_it_is_the_same(design: Design) -> None:
    work, made = glued(design)
    mirror = np.diag([-1.0, 1.0, 1.0, 1.0])
    assert verdict(place(design.in_the_mirror()), carried(made, mirror), design.shop) == verdict(
        work, made, design.shop)


@settings(max_examples=25, deadline=None)
@given(small_frames(), st.randoms(use_true_random=False))
def test_reordered_and_renamed_it_is_the_same(design: Design, chance) -> None:  # type: ignore[no-untyped-def]
    work, made = glued(design)
    names = list(work.names)
    chance.shuffle(names)
    new = {n: f"z{k:02d}" for k, n in enumerate(names)}
    parts = [replace(design.part[n], name=new[n]) for n in names]
    joints = tuple(replace(j, a=new[j.a], b=new[j.b]) for j in design.joints)
    other = Assembly(replace(design, parts=tuple(parts), joints=joints, base=new[design.base]),
                     {new[n]: f for n, f in work.frames.items()})
    moves = tuple(replace(m, parts=tuple(new[n] for n in m.parts), onto=tuple(new[n] for n in m.onto))
                  for m in made.moves)
    same = replace(made, moves=moves, units=tuple((new[n],) for n in names))
    assert verdict(other, same, design.shop) == verdict(work, made, design.shop)
