"""Replay: it passes sound plans and refuses each plan spoilt in one way."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from assembly.placing import Assembly, place
from assembly.plan import Move, Plan, Stage
from assembly.replay import replay
from assembly.stages import plan
from model.design import StageSpec
from model.frames import turn
from model.solids import box
from tests import zoo
from tests.blocks import crossing_braces, drawer, peg_inside, polygon, split_links, standing, tapered_key, tied
from tests.test_order import solid_of


@pytest.mark.parametrize("make", [drawer, tapered_key, split_links, peg_inside, crossing_braces, lambda: polygon(4),
                                  lambda: polygon(6), lambda: polygon(5, plain=2)])
def test_plans_of_small_structures_replay(make: Callable[[], Assembly]) -> None:
    assembly = make()
    assert replay(assembly, plan(assembly, assembly.design.shop)) is None


def spoilt(change: Callable[[Stage], Stage]) -> tuple[Assembly, Plan]:
    """The plan of a trestle with its only stage changed."""
    assembly = place(zoo.trestle())
    found = plan(assembly, assembly.design.shop)
    return assembly, replace(found, stages=(change(found.stages[0]),))


def last(stage: Stage, **change: object) -> Stage:
    return replace(stage, moves=(*stage.moves[:-1], replace(stage.moves[-1], **change)))  # type: ignore[arg-type]


def turned(m: Move) -> tuple[float, float, float]:
    return (-m.direction[0], -m.direction[1], -m.direction[2])


def rail_last(stage: Stage) -> Stage:
    post, rail, other = stage.moves
    return replace(stage, moves=(post, replace(other, onto=post.parts, joints=()),
                                 replace(rail, onto=(*post.parts, *other.parts), joints=(*rail.joints, *other.joints))))


@pytest.mark.parametrize(("change", "why"), [
    (lambda s: last(s, direction=turned(s.moves[-1])), "runs into another"),
    (lambda s: last(s, direction=(0.0, 0.0, 1.0)), "runs into another"),
    (lambda s: last(s, direction=(0.0, 1.0, 0.0)), "runs into another"),
    (rail_last, "runs into another"),
    (lambda s: replace(s, moves=s.moves[:-1]), "no move brings"),
    (lambda s: replace(s, moves=s.moves[::-1]), "not there yet"),
    (lambda s: last(s, joints=()), "is not closed by one move"),
    (lambda s: last(s, parts=("post_9",)), "not at the bench"),
    (lambda s: replace(s, units=(("post_1", "post_2"), ("long_rail_01",))), "only some parts of a unit"),
], ids=["turned round", "upward", "sideways", "rail last", "missing", "backwards", "unclosed", "stranger", "torn"])
def test_a_spoilt_plan_is_refused(change: Callable[[Stage], Stage], why: str) -> None:
    refused = replay(*spoilt(change))
    assert refused is not None
    assert why in refused.why
    assert refused.parts


def test_pieces_drawn_together_at_once_are_played_at_once() -> None:
    """An odd ring drawn together evenly from outside closes, though no piece or group can be last."""
    ring = polygon(5)
    names = ring.names
    inward = {n: (-math.cos(2 * math.pi * i / 5), -math.sin(2 * math.pi * i / 5), 0.0) for i, n in enumerate(names)}
    joints = ring.design.stages[0].joints
    moves = tuple(Move((n,), (), inward[n], 60.0, True, (j,)) for n, j in zip(names, joints, strict=True))
    found = plan(ring, ring.design.shop)
    drawn = replace(found, stages=(replace(found.stages[0], moves=moves),))
    assert replay(ring, drawn) is None
    one_by_one = tuple(replace(m, simultaneous=False, onto=names[:i]) for i, m in enumerate(moves))
    refused = replay(ring, replace(drawn, stages=(replace(found.stages[0], moves=one_by_one),)))
    assert refused is not None and "runs into another" in refused.why


def test_crumbs_of_a_boolean_on_faces_that_only_touch_are_no_wood() -> None:
    """Two blockworks face to face in many planes, found by chance: the plain intersection leaves 3 mm³ of nothing."""
    one = frozenset({(1, 2, 1), (2, 0, 2), (1, 0, 1), (2, 2, 2), (3, 1, 1), (1, 1, 2), (2, 0, 1), (2, 1, 2), (3, 0, 2),
                     (2, 2, 1), (3, 1, 2), (3, 0, 1), (1, 1, 1)})
    two = frozenset({(0, 2, 1), (1, 1, 0), (0, 1, 0), (1, 2, 0), (0, 2, 0), (0, 0, 0), (1, 0, 0), (0, 0, 2), (0, 1, 2),
                     (0, 2, 2), (1, 0, 2), (0, 0, 1), (0, 1, 1)})
    assembly = standing({"one": solid_of(one), "two": solid_of(two)})
    assert replay(assembly, plan(assembly, assembly.design.shop)) is None


# -- nothing slips between two steps ---------------------------------------------------------------


@pytest.mark.parametrize("at", [100.0, 101.3, 102.0, 103.9])
@pytest.mark.parametrize("thick", [0.5, 1.0])
def test_a_pin_between_two_steps_is_run_into(at: float, thick: float) -> None:
    """A slat half a millimetre thick is slid through a pin of the same: at most of the steps, 4 mm apart, they miss."""
    base = box((0, 0, 0), (400, 60, 20)).joined(box((at, 20, 15), (at + thick, 40, 60)))
    slat = box((20, 10, 20), (20 + thick, 50, 80))
    assembly = standing({"base": base, "slat": slat}, [tied("lap", "slat", "base", (20, 30, 20), (-1, 0, 0))],
                        (StageSpec("one", ("lap",)),))
    stage = plan(assembly, assembly.design.shop).stages[0]
    through = replace(stage, moves=(Move(("base",), (), (0.0, 0.0, -1.0), 0.0),
                                    Move(("slat",), ("base",), (-1.0, 0.0, 0.0), 10.0, joints=("lap",))))
    refused = replay(assembly, Plan((through,), plan(assembly, assembly.design.shop).steps))
    assert refused is not None and "runs into another" in refused.why
    away = replace(through, moves=(through.moves[0], replace(through.moves[1], direction=(1.0, 0.0, 0.0))))
    assert replay(assembly, Plan((away,), plan(assembly, assembly.design.shop).steps)) is None


# -- one move altered ------------------------------------------------------------------------------


ALTERED = {name: make for name, make in zoo.SOUND.items() if name in ("frame", "grid", "row", "fence", "gateway_small")}


def tilted(m: Move, degrees: float) -> tuple[float, float, float]:
    """Return a move's direction leaning by an angle, about an axis square to it."""
    way = np.array(m.direction)
    aside = np.cross(way, (0.0, 0.0, 1.0) if abs(way[2]) < 0.9 else (1.0, 0.0, 0.0))
    x, y, z = (turn(aside, math.radians(degrees))[:3, :3] @ way).tolist()
    return x, y, z


@pytest.mark.parametrize("name", sorted(ALTERED))
def test_a_plan_with_one_move_altered_is_refused(name: str) -> None:
    """Every move that slides a tenon home: leaning by three degrees, or turned round."""
    assembly = place(ALTERED[name]())
    found = plan(assembly, assembly.design.shop)
    kinds = {j.name: j.kind for j in assembly.design.joints}
    altered = 0
    for s, stage in enumerate(found.stages):
        for k, m in enumerate(stage.moves):
            if not m.onto or m.travel < 10.0 or not all("tenon" in kinds[n] for n in m.joints):
                continue
            for way in (tilted(m, 3.0), turned(m)):
                moves = (*stage.moves[:k], replace(m, direction=way), *stage.moves[k + 1:])
                stages = (*found.stages[:s], replace(stage, moves=moves), *found.stages[s + 1:])
                refused = replay(assembly, replace(found, stages=stages))
                assert refused is not None and refused.stage == stage.name, (stage.name, m)
                altered += 1
    assert altered >= 4


@pytest.mark.parametrize("name", sorted(ALTERED))
def test_a_plan_with_a_move_or_a_joint_left_out_or_out_of_turn_is_refused(name: str) -> None:
    assembly = place(ALTERED[name]())
    found = plan(assembly, assembly.design.shop)
    for s, stage in enumerate(found.stages):
        def spoilt_by(moves: tuple[Move, ...], s: int = s, stage: Stage = stage) -> bool:
            stages = (*found.stages[:s], replace(stage, moves=moves), *found.stages[s + 1:])
            return replay(assembly, replace(found, stages=stages)) is not None

        assert spoilt_by(stage.moves[:-1]) and spoilt_by(stage.moves[::-1])
        assert spoilt_by((*stage.moves[:-1], replace(stage.moves[-1], joints=())))
