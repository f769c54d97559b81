"""Stages: given ones verified, others found; steps, times, hands; and what a mistaken set of stages brings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import networkx as nx
import pytest

from assembly.effort import effort, people
from assembly.findings import Finding
from assembly.placing import Assembly, place
from assembly.plan import Plan
from assembly.replay import replay
from assembly.stages import plan
from model.design import Design, Shop, StageSpec
from model.part import Feature
from model.solids import box
from tests import zoo
from tests.blocks import drawer, polygon, standing, tied


def planned(assembly: Assembly, shop: Shop | None = None) -> Plan:
    return plan(assembly, shop or assembly.design.shop)


def told(found: Plan, kind: str = "blocked") -> list[Finding]:
    return [f for f in found.findings if f.kind == kind]


def with_stages(design: Design, stages: Sequence[StageSpec]) -> Assembly:
    return place(replace(design, stages=tuple(stages)))


# -- sound ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("make", zoo.SOUND.values(), ids=zoo.SOUND)
def test_sound_designs_have_a_plan_that_replays(make) -> None:  # type: ignore[no-untyped-def]
    assembly = place(make())
    found = planned(assembly)
    assert not told(found)
    assert replay(assembly, found) is None
    closed = [n for s in found.stages for n in s.joints]
    assert sorted(closed) == sorted(j.name for j in assembly.design.joints)


@pytest.mark.parametrize("make", zoo.SOUND.values(), ids=zoo.SOUND)
def test_steps_are_a_graph_without_circles_in_which_cut_comes_before_glue(make) -> None:  # type: ignore[no-untyped-def]
    assembly = place(make())
    found = planned(assembly)
    assert nx.is_directed_acyclic_graph(found.steps)
    kinds = nx.get_node_attributes(found.steps, "kind")
    assert set(kinds.values()) <= {"cut", "glue", "carry", "take away", "wait", "set up"}
    cut = [p for _, data in found.steps.nodes(data=True) if data["kind"] == "cut" for p in data["parts"]]
    assert set(cut) == set(assembly.names)
    glue = [n for n, kind in kinds.items() if kind == "glue"]
    for before, after in pairwise(glue):
        assert not nx.has_path(found.steps, after, before)


def test_stages_are_carried_out_in_the_order_they_need_each_other() -> None:
    given = place(zoo.frame())
    turned = replace(given.design, stages=given.design.stages[::-1])
    found = planned(place(turned))
    assert [s.name for s in found.stages][-1] == "long rails"
    assert not told(found)
    for stage in found.stages:
        assert all(n < stage.number for n in stage.needs)
    last = found.stages[-1]
    assert last.done == {"frame 1", "frame 2"}
    assert len(last.results) == 1 and len(last.results[0]) == len(given.names)
    assert sorted(len(u) for u in last.units) == [1, 1, 1, 1, 4, 4]


def test_without_stages_groups_that_move_as_one_get_their_own() -> None:
    found = planned(with_stages(zoo.frame(), ()))
    assert not told(found)
    assert len(found.stages) == 2
    assert found.stages[1].needs == (1,)
    groups = [set(u) for u in found.stages[1].units if len(u) > 1]
    assert groups and all(any(g <= set(r) for r in found.stages[0].results) for g in groups)
    assert found.solved is not None and found.solved.optimal and found.solved.bound == 2 and found.replayed


def test_one_piece_alone_needs_no_stage() -> None:
    found = planned(standing({"only": box((0, 0, 0), (10, 10, 10))}))
    assert found.stages == () and found.findings == ()


# -- mistakes -------------------------------------------------------------------------------------


def test_a_closed_odd_ring_closes_all_at_once() -> None:
    found = planned(polygon(9))
    assert not told(found) and found.replayed
    (stage,) = found.stages
    assert [m.simultaneous for m in stage.moves] == [False] + 8 * [True]
    assert sorted(n for m in stage.moves for n in m.joints) == sorted(stage.joints)


def test_an_odd_ring_with_one_plain_joint_is_not_a_finding() -> None:
    assert not told(planned(polygon(9, plain=4)))


def test_an_odd_ring_closed_in_two_stages_is_blocked_in_the_second() -> None:
    ring = polygon(5)
    stages = (StageSpec("arcs", ("joint_0", "joint_1", "joint_3")),
              StageSpec("closing", ("joint_2", "joint_4"), ("arcs",)))
    found = planned(replace(ring, design=replace(ring.design, stages=stages)))
    (stop,) = told(found)
    assert "stage closing" in stop.message
    assert len(stop.parts) == 5
    assert [len(s.moves) for s in found.stages] == [5, 0]


def test_a_rail_left_for_after_its_posts_is_blocked() -> None:
    """Both posts glued to a sill first: the rail tenoned into both cannot follow."""
    sill, posts = box((0, 0, 0), (500, 60, 40)), {"left": box((0, 0, 40), (60, 60, 400)), "right": box(
        (440, 0, 40), (500, 60, 400))}
    rail = box((60, 15, 200), (440, 45, 260)).joined(box((35, 22, 210), (465, 38, 250)))
    joints = [tied("sill_left", "left", "sill", (30, 30, 40), (0, 0, -1)),
              tied("sill_right", "right", "sill", (470, 30, 40), (0, 0, -1)),
              tied("rail_left", "rail", "left", (60, 30, 230), (-1, 0, 0), 25.0),
              tied("rail_right", "rail", "right", (440, 30, 230), (1, 0, 0), 25.0)]
    solids = {"sill": sill, **{n: p.cut(rail) for n, p in posts.items()}, "rail": rail}
    late = (StageSpec("feet", ("sill_left", "sill_right")), StageSpec("rail", ("rail_left", "rail_right"), ("feet",)))
    (stop,) = told(planned(standing(solids, joints, late)))
    assert {"left", "right", "rail", "sill"} == set(stop.parts)
    assert stop.joints == ("rail_left", "rail_right")
    assert "before" in stop.remedy and "rail_left" in stop.remedy and "rail_right" in stop.remedy
    early = (StageSpec("all", tuple(j.name for j in joints)),)
    assert not told(planned(standing(solids, joints, early)))


def test_a_joint_in_no_stage_is_noticed() -> None:
    stages = [replace(s, joints=tuple(n for n in s.joints if n != "cross_rail_01_start")) for s in zoo.frame().stages]
    (stop,) = told(planned(with_stages(zoo.frame(), stages)))
    assert stop.joints == ("cross_rail_01_start",)
    assert "is closed in no stage" in stop.message


def test_a_joint_that_closes_by_itself_before_its_stage_is_noticed() -> None:
    first, second, last = zoo.frame().stages
    moved = replace(last, joints=(*last.joints, second.joints[0]))
    found = planned(with_stages(zoo.frame(), [first, replace(second, joints=second.joints[1:]), moved]))
    messages = [f.message for f in told(found)]
    assert any("held together before" in m or "slide home last" in m for m in messages)


@pytest.mark.parametrize(("stages", "said"), [
    ([StageSpec("a", ("no_such",))], "does not have"),
    ([StageSpec("a", ("long_rail_01_start", "long_rail_01_end")), StageSpec("b", ("long_rail_01_end",))], "twice"),
    ([StageSpec("a", ("long_rail_01_start",), ("b",)), StageSpec("b", ("long_rail_01_end",), ("a",))], "in a circle"),
    ([StageSpec("a", ("long_rail_01_start", "long_rail_01_end"), ("nowhere",))], "closes nothing"),
])
def test_stages_that_contradict_themselves_are_noticed(stages: list[StageSpec], said: str) -> None:
    found = planned(with_stages(zoo.trestle(), stages))
    assert any(said in f.message for f in told(found))
    assert all(f.remedy for f in found.findings)


def test_a_mortise_cut_after_its_own_joint_closes_is_noticed() -> None:
    late = zoo.changed(zoo.trestle(), "post_1",
                       lambda p: zoo.refeatured(p, "mortise", lambda f: replace(f, after="glue")))
    stages = (StageSpec("glue", ("long_rail_01_start", "long_rail_01_end")),)
    found = planned(with_stages(late, stages))
    assert any("is cut only after stage glue" in f.message for f in told(found))


def test_a_cut_that_waits_for_no_stage_is_noticed() -> None:
    whim = Feature("curve of post_1", "cut", box((0, 0, 0), (5, 5, 5)), "curve", after="never")
    late = zoo.changed(zoo.trestle(), "post_1", lambda p: replace(p, features=(*p.features, whim)))
    found = planned(place(late))
    assert any("after stage never" in f.message for f in told(found))


# -- temporary parts ------------------------------------------------------------------------------


def spread(*, tongue: float = 0.0, glued: bool = False, leaves: str = "ring") -> Assembly:
    """Two uprights glued to a base, with a block between them that is taken away again."""
    block = box((40, 0, 100), (160, 40, 140))
    if tongue:
        block = block.joined(box((40 - tongue, 10, 110), (160 + tongue, 30, 130)))
    solids = {"base": box((0, 0, 0), (200, 40, 30)), "left": box((0, 0, 30), (40, 40, 200)).cut(block),
              "right": box((160, 0, 30), (200, 40, 200)).cut(block), "block": block}
    joints = [tied("foot_left", "left", "base", (20, 20, 30), (0, 0, -1)),
              tied("foot_right", "right", "base", (180, 20, 30), (0, 0, -1)),
              tied("block_left", "block", "left", (40, 20, 120), (-1, 0, 0), tongue, glued=glued),
              tied("block_right", "block", "right", (160, 20, 120), (1, 0, 0), tongue, glued=False)]
    return standing(solids, joints, (StageSpec("ring", tuple(j.name for j in joints)),), {"block": leaves})


def test_a_block_is_taken_away_after_the_glue_has_set() -> None:
    assembly = spread()
    found = planned(assembly)
    assert not told(found)
    assert found.stages[0].takes_away == ("block",)
    assert [set(r) for r in found.stages[0].results] == [{"base", "left", "right"}]
    (step,) = [data for _, data in found.steps.nodes(data=True) if data["kind"] == "take away"]
    assert step["parts"] == ("block",)
    assert [m.parts for m in step["moves"]] == [("block",)]
    assert replay(assembly, found) is None


def test_a_block_held_by_tongues_cannot_leave_again() -> None:
    found = planned(spread(tongue=10.0))
    stops = told(found)
    assert any("once its glue has set" in f.message and "block" in f.parts for f in stops)


@pytest.mark.parametrize(("change", "said"), [({"glued": True}, "glues it in"),
                                              ({"leaves": "tomorrow"}, "no such stage")])
def test_temporary_parts_that_cannot_leave_are_noticed(change: dict[str, object], said: str) -> None:
    found = planned(spread(**change))  # type: ignore[arg-type]
    assert any(said in f.message for f in told(found))


# -- later cuts -----------------------------------------------------------------------------------


def test_a_later_cut_comes_between_its_stage_and_the_next() -> None:
    sawn = Feature("curve", "cut", box((-1, -50, 20), (60, 50, 60)), "curve", after="frame 1")
    design = zoo.changed(zoo.frame(), "post_1a", lambda p: replace(p, features=(*p.features, sawn)))
    found = planned(place(design))
    (later,) = [n for n, data in found.steps.nodes(data=True) if data["kind"] == "cut" and "curve" in n]
    assert nx.has_path(found.steps, "glue frame 1", later)
    assert nx.has_path(found.steps, later, "glue long rails")


# -- effort ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(("kg", "mm", "count"), [(5, 500, 1), (20, 2000, 1), (20.1, 500, 2), (35, 500, 2), (36, 500, 3),
                                                 (50, 500, 3), (5, 2401, 2), (80, 500, 5)])
def test_people_for_a_piece(kg: float, mm: float, count: int) -> None:
    """One person 20 kg, two 35 kg, 15 kg more for each further one; over 2.4 m two: common practice, no source."""
    assert people(kg, mm) == count


def test_every_rule_of_thumb_in_the_table_is_used() -> None:
    assert min(vars(effort()).values()) > 0


def test_glue_that_sets_too_soon_and_too_few_people_are_noticed() -> None:
    assembly = place(zoo.grid())
    short = planned(assembly, Shop(open_minutes=1.0, people=1))
    late = told(short, "open-time")
    assert {f.severity for f in late} <= {"warn", "stop"}
    assert len(late) == len(short.stages)
    assert not told(short, "hands")
    easy = planned(assembly, Shop(open_minutes=600.0, people=8))
    assert not told(easy, "open-time") and not told(easy, "hands")


def test_a_piece_too_long_for_one_person_is_noticed() -> None:
    assembly = place(zoo.made("post and rail", "tall", posts_across=1, length=900.0, height=2600.0,
                              long_levels=[250.0]))
    (found,) = told(planned(assembly, Shop(people=1)), "hands")
    assert found.severity == "warn"
    assert found.amount is not None and found.amount.value == 2
    assert "post" in found.parts[0]
    assert not told(planned(assembly, Shop(people=2)), "hands")


def test_mass_of_a_stage_is_that_of_what_leaves_it() -> None:
    assembly = place(zoo.frame())
    last = planned(assembly).stages[-1]
    assert last.mass_kg == pytest.approx(sum(p.mass for p in assembly.design.parts))
    assert last.size_mm == pytest.approx((1400.0, 500.0, 700.0), abs=0.01)


def test_a_structure_without_joints_still_gets_an_order() -> None:
    found = planned(drawer())
    assert not told(found)
    assert [m.parts for m in found.stages[0].moves] == [("case",), ("drawer",)]
