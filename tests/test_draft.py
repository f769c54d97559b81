"""The drafting table: joints alike are worked out once, and are none the worse for it."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from model.draft import Draft
from model.frames import X, Z, move, turn
from model.joint import Joint
from model.joints import KINDS
from model.shapes.board import board
from tests.zoo import milled


def rack(rails: int, *, each_its_own: bool = False) -> Draft:
    """Return a post with rails on both sides, tenoned and glued in turn, several on one spot: alike in all but name."""
    post, rail = board(milled("post", 90.0, 90.0), 200.0 * (rails + 1)), board(milled("rail", 40.0, 90.0), 600.0)
    draft = Draft("rack")
    draft.add("post", post)
    for i in range(rails):
        for side in ("face", "back"):
            name = f"{side}_{i}"
            draft.add(name, replace(rail) if each_its_own else rail)
            kind, sizes = (("blind tenon", {"depth": 20.0}), ("glued face", {}))[i % 2]
            seat = post.place(side, along=200.0 * (i // 6 + 1)) @ turn(X, math.pi)
            draft.join(f"joint_{name}", kind, name, "post", rail.place("start"), seat, sizes=sizes)
    return draft


def test_joints_alike_give_the_parts_they_would_give_alone() -> None:
    together, alone = rack(12).finish(), rack(12, each_its_own=True).finish()
    for one, other in zip(together.parts, alone.parts, strict=True):
        assert one.finished == other.finished
        assert [(f.name, f.joint, f.role) for f in one.features] == [(f.name, f.joint, f.role) for f in other.features]
    for one, other in zip(together.joints, alone.joints, strict=True):
        assert (one.name, one.a, one.b, one.travel) == (other.name, other.a, other.b, other.travel)


def test_every_feature_names_its_own_joint() -> None:
    design = rack(12).finish()
    for joint in design.joints:
        if joint.kind != "glued face":
            assert [f.joint for f in design.part[joint.a].features if f.role == "tenon"] in ([joint.name], [])
            assert sum(f.joint == joint.name for f in design.part["post"].features) == 1


def test_joints_that_differ_in_one_size_are_not_taken_for_alike() -> None:
    post, rail = board(milled("post", 90.0, 90.0), 1000.0), board(milled("rail", 40.0, 90.0), 600.0)
    draft = Draft("two depths")
    draft.add("post", post)
    for name, depth, fit in (("short", 20.0, 0.1), ("long", 30.0, 0.1), ("loose", 20.0, 0.3)):
        draft.add(name, rail)
        draft.join(name, "blind tenon", name, "post", rail.place("start"),
                   post.place("face", along=500.0) @ turn(X, math.pi), fit=fit, sizes={"depth": depth})
    design = draft.finish()
    assert [round(j.travel) for j in design.joints] == [20, 30, 20]
    assert len({f.solid.key for f in design.part["post"].features}) == 3


def test_a_loose_tenon_is_a_part_of_its_own_every_time() -> None:
    post, rail = board(milled("post", 90.0, 90.0), 1000.0), board(milled("rail", 40.0, 90.0), 600.0)
    draft = Draft("loose")
    draft.add("post", post)
    for i in range(2):
        draft.add(f"rail_{i}", rail)
        draft.join(f"joint_{i}", "loose tenon", f"rail_{i}", "post", rail.place("start"),
                   post.place("face", along=500.0) @ turn(X, math.pi))
    design = draft.finish()
    assert len({p.name for p in design.parts}) == len(design.parts) == 5


@pytest.mark.parametrize("name", sorted(KINDS))
def test_every_kind_names_its_features_by_role_and_joint(name: str) -> None:
    """What `Work.alike` counts on."""
    long, kind = board(milled("long", 40.0, 90.0), 1000.0), KINDS[name]
    place_a = long.place("face", along=500.0) if "lap" in name else long.place("end")
    seat_b = long.place("face", along=500.0) @ turn(X, math.pi) @ turn(Z, math.pi / 2 if "lap" in name else 0.0)
    in_a, in_b = kind.sink({}, long, long, place_a, seat_b)
    work = kind.work(Joint("its_name", name, "a", "b", place_a @ move(z=-in_a), seat_b @ move(z=in_b)), long, long)
    for feature in (*work.a, *work.b):
        assert (feature.name, feature.joint) == (f"{feature.role} of its_name", "its_name")
