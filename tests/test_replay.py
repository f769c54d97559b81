"""Replay: it passes sound plans and refuses each plan spoilt in one way."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from assembly.placing import Assembly, place
from assembly.plan import Move, Plan, Stage
from assembly.replay import replay
from assembly.stages import plan
from tests import zoo
from tests.blocks import crossing_braces, drawer, peg_inside, polygon, split_links, standing, tapered_key
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
