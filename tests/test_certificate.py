"""Certificates: what holds pieces together, where it shows, and what frees them, each held against its own account."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.blocking import blocking
from assembly.certificate import certificate, smallest
from assembly.glue_up import blocked
from assembly.locks import Lock
from assembly.order import Order, order
from assembly.placing import Assembly, place
from assembly.velocities import contacts_among
from model.frames import Frame
from model.solids import box
from tests import zoo
from tests.blocks import dumbbell, links, polygon, sliding_three, standing, tied
from tests.instances.kinds import loose, pegged
from tests.strategies import rigid_frames


def singly(assembly: Assembly) -> Order:
    return order(assembly, [(n,) for n in assembly.names])


def only(found: Order) -> Lock:
    (lock,) = found.locks
    return lock


def ring_with_the_last_left_over() -> tuple[Assembly, list[tuple[str, ...]]]:
    """Seven segments, six of them glued up already; the seventh and its two loose tenons come last."""
    assembly = place(zoo.made("closed ring", "ring", segments=7, radius=400.0, segment_joint="loose tenon"))
    last = ("segment_7", "ring_6_7_tenon", "ring_7_1_tenon")
    return assembly, [tuple(n for n in assembly.names if n not in last), *((n,) for n in last)]


# -- what holds, and nothing of it can be spared --------------------------------------------------


@pytest.mark.parametrize("sides", [3, 4, 5])
def test_every_joint_of_a_ring_of_leaning_tongues_is_needed(sides: int) -> None:
    lock = only(singly(polygon(sides, lean=0.15)))
    assert set(lock.joints) == {f"joint_{i}" for i in range(sides)}
    assert lock.sure and not lock.doubt
    for i in range(sides):
        assert not singly(polygon(sides, lean=0.15, plain=i)).locks, "by its own solids, made anew"


def test_pieces_that_have_no_part_in_a_lock_are_not_named() -> None:
    assembly, cause = pegged(loose(polygon(11)))
    assert set(only(singly(assembly)).parts) <= cause
    plates = dumbbell()
    assert set(only(singly(plates)).parts) in ({"bar", "plate_0"}, {"bar", "plate_1"})


def test_two_locks_apart_are_two_certificates() -> None:
    near = polygon(3, lean=0.15)
    far = near.moved(np.array([[1.0, 0, 0, 2000], [0, 1, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]]))
    both = standing({**{n: near.solid(n) for n in near.names},
                     **{f"far_{n}": far.solid(n).moved(far.frames[n]) for n in far.names}})
    assert sorted(len(lock.parts) for lock in singly(both).locks) == [3, 3]


@given(st.sets(st.integers(0, 30), min_size=1, max_size=5), st.integers(12, 31))
@settings(max_examples=60, deadline=None)
def test_what_is_left_when_all_is_spared_that_can_be_is_what_holds(needed: set[int], count: int) -> None:
    needed = {n % count for n in needed}

    def locked(some: object) -> list[int] | None:
        here = list(some)  # type: ignore[call-overload]
        return here if needed <= set(here) else None

    few, least = smallest(range(count), locked, 10_000)
    assert set(few) == needed and least


def test_where_trying_takes_too_long_it_is_said() -> None:
    few, least = smallest(range(50), lambda some: list(some) if 49 in some else None, 60)
    assert not least and 49 in few


# -- where it shows -------------------------------------------------------------------------------


@pytest.mark.parametrize("make", [lambda: polygon(3, lean=0.15), lambda: polygon(5, lean=0.15), dumbbell, links,
                                  lambda: sliding_three(hooked=True)])
def test_the_first_part_moved_on_along_the_witness_runs_into_the_second(make) -> None:  # type: ignore[no-untyped-def]
    assembly = make()
    lock = only(singly(assembly))
    assert lock.witness is not None
    one, other = lock.witness.parts
    way = np.array(lock.witness.direction)
    assert np.linalg.norm(way) == pytest.approx(1.0)
    assert {one, other} <= set(lock.parts)
    reach = max(np.ptp(assembly.solid(n).bounds, axis=0).max() for n in (one, other))
    step = np.eye(4)
    runs = []
    for far in np.linspace(0.5, reach, 60):
        step[:3, 3] = way * far
        runs.append(assembly.solid(one).moved(step).kept(assembly.solid(other)).volume)
    assert max(runs) > 1.0


def test_the_witness_lies_on_both_parts() -> None:
    assembly = polygon(5, lean=0.15)
    found = only(singly(assembly)).witness
    assert found is not None
    for name in found.parts:
        around = box(np.array(found.point) - 0.2, np.array(found.point) + 0.2)
        inside = assembly.solid(name).kept(around).volume / around.volume
        assert 0.01 < inside < 0.99, "its surface runs through there"


def test_pressures_that_hold_a_ring_are_forces_in_balance() -> None:
    """Gordan's theorem (1873): rigid at the first instant means that contact forces, all of them felt, balance."""
    assembly = polygon(5, lean=0.15)
    held = blocking(assembly, [(n,) for n in assembly.names])
    found = certificate(held, tuple(range(5)))
    assert found.rigid and found.least
    rows = contacts_among(held, range(5)).rows()
    spread = np.linalg.matrix_rank(rows, tol=1e-6)
    assert spread == 3 * 5 - 3, "only all five together can move"


# -- what frees -----------------------------------------------------------------------------------


def test_any_tongue_left_off_frees_a_ring_of_leaning_ones() -> None:
    lock = only(singly(polygon(5, lean=0.15)))
    assert set(lock.freed_by) == set(lock.joints)
    assert {w.joint for w in lock.ways_out if w.kind == "leave out"} == set(lock.joints)
    said = blocked("ring", lock)
    assert said.joints == lock.joints and said.where == lock.witness.point  # type: ignore[union-attr]
    assert "Leave the tenon of joint_" in said.remedy and "Tried" in said.remedy


def without(assembly: Assembly, gone: set[str]) -> Assembly:
    design = replace(assembly.design, parts=tuple(p for p in assembly.design.parts if p.name not in gone),
                     joints=tuple(j for j in assembly.design.joints if not gone & {j.a, j.b}))
    return Assembly(design, {n: f for n, f in assembly.frames.items() if n not in gone})


def test_of_two_loose_tenons_that_come_last_both_have_to_go() -> None:
    """By hand: along the tenon that stays, the segment runs into the mitre at its other end; with none it drops out."""
    assembly, units = ring_with_the_last_left_over()
    lock = only(order(assembly, units))
    assert set(lock.joints) == {"ring_6_7", "ring_7_1"} and not lock.freed_by
    tenons = {"ring_6_7_tenon", "ring_7_1_tenon"}
    for gone in ({t} for t in tenons):
        assert order(without(assembly, gone), [u for u in units if u[0] not in gone]).locks
    assert not order(without(assembly, tenons), [u for u in units if u[0] not in tenons]).locks
    both, *others = lock.ways_out
    assert both.kind == "leave out" and not both.alone and all(n in both.says for n in lock.joints)
    assert [w.kind for w in others] in ([], ["open"])


def rail_between(opened: bool) -> Assembly:
    """A rail with a tenon at each end, its posts one piece with their sill; or the posts slotted from the front."""
    rail = box((60, 20, 100), (340, 40, 130)).joined(box((40, 25, 105), (61, 35, 125)), box((339, 25, 105),
                                                                                          (360, 35, 125)))
    frame = box((0, 0, 0), (400, 60, 300)).cut(box((60, -1, 40), (340, 61, 301)))
    slots = [box((40, -1 if opened else 25, 105), (61, 35, 125)), box((339, -1 if opened else 25, 105), (360, 35, 125))]
    return standing({"frame": frame.cut(*slots), "rail": rail},
                    (tied("left", "rail", "frame", (60, 30, 115), (-1, 0, 0), 20.0),
                     tied("right", "rail", "frame", (340, 30, 115), (1, 0, 0), 20.0)))


def test_both_mortises_opened_let_a_rail_drop_in() -> None:
    lock = only(singly(rail_between(opened=False)))
    assert not lock.freed_by, "one tenon left off leaves the other stuck behind the shoulder"
    (way,) = lock.ways_out
    assert way.kind == "open" and "left" in way.says and "right" in way.says
    assert not singly(rail_between(opened=True)).locks, "by its own solids, made anew"


def test_a_through_tenon_made_loose_is_driven_in_from_outside() -> None:
    """The same rail, its left tenon right through the post: as a key of its own it goes in last, from the end."""
    frame, rail = (rail_between(opened=False).solid(n) for n in ("frame", "rail"))
    through = box((-1, 25, 105), (61, 35, 125))
    joints = (tied("left", "rail", "frame", (60, 30, 115), (-1, 0, 0), 60.0),)
    square = standing({"frame": frame.cut(through).joined(box((339, 24, 104), (360, 36, 126))),
                       "rail": rail.joined(box((0, 25, 105), (61, 35, 125))).cut(box((340, 0, 0), (400, 60, 300)))},
                      joints)
    lock = only(singly(square))
    assert {w.kind for w in lock.ways_out} >= {"leave out", "make loose"}


def test_hooks_without_a_joint_are_offered_nothing_that_was_not_tried() -> None:
    lock = only(singly(links()))
    assert lock.joints == () and lock.ways_out == ()
    said = blocked("chain", lock)
    assert "hook into each other" in said.message and said.remedy.startswith("Cut away one of the hooks")


# -- laws -----------------------------------------------------------------------------------------


@given(rigid_frames())
@settings(max_examples=8, deadline=None)
def test_a_certificate_is_that_of_the_work_moved(frame: Frame) -> None:
    assembly = polygon(3, lean=0.15)
    was, now = only(singly(assembly)), only(singly(assembly.moved(frame)))
    assert set(now.parts) == set(was.parts) and set(now.joints) == set(was.joints)
    assert set(now.freed_by) == set(was.freed_by) and now.sure == was.sure
    assert {(w.kind, w.joint) for w in now.ways_out if w.kind == "leave out"} == \
        {(w.kind, w.joint) for w in was.ways_out if w.kind == "leave out"}
