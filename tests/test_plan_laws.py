"""Plans: worked by hand, held to what was pinned, and what more people, minutes and clamps must never do to them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from assembly.placing import Assembly, place
from assembly.plan import Direction, Plan
from assembly.replay import replay
from assembly.stages import plan
from model.design import Design, Pin, StageSpec
from model.frames import MIRROR_X, Z, move, turn
from model.shop import ClampStock, Shop
from model.solids import box
from tests import zoo
from tests.blocks import polygon, standing, tied
from tests.test_rehearsal import renamed

FREE = {name: make for name, make in zoo.SOUND.items() if not any(p.temporary for p in make().parts)
        and not any(f.after for p in make().parts for f in p.features)}
QUICK = ("trestle", "frame", "row", "ring", "ring_triangle")
"""Those that are looked at in every run; the others only in the slow one."""


def loose(design: Design) -> Design:
    """Return the design without stages of its own."""
    return replace(design, stages=())


def ladder(rungs: int) -> Assembly:
    """Two stiles and so many rungs between them, each with a tenon of 20 x 10 x 30 mm at both ends."""
    stiles = {f"stile_{side}": box((x, 0, 0), (x + 60, 40, 200.0 * rungs + 100)) for side, x in (("a", 0), ("b", 460))}
    rails = {}
    joints = []
    for k in range(rungs):
        z = 200.0 * k + 100
        body, tenons = box((60, 0, z), (460, 40, z + 60)), box((30, 15, z + 20), (490, 25, z + 40))
        rails[f"rung_{k}"] = body.joined(tenons)
        stiles = {name: solid.cut(tenons) for name, solid in stiles.items()}
        joints += [tied(f"a_{k}", f"rung_{k}", "stile_a", (60, 20, z + 30), (-1, 0, 0), 30.0),
                   tied(f"b_{k}", f"rung_{k}", "stile_b", (460, 20, z + 30), (1, 0, 0), 30.0)]
    return standing({**stiles, **rails}, joints)


def worse(one: Plan, other: Plan) -> bool:
    """Whether the first plan has more sessions, or more that stops or warns."""
    def told(found: Plan) -> tuple[int, int]:
        count = Counter(f.severity for f in found.findings)
        return count["stop"], count["stop"] + count["warn"]

    return len(one.stages) > len(other.stages) or any(a > b for a, b in zip(told(one), told(other), strict=True))


def worth(found: Plan) -> tuple[object, ...]:
    """Return how good a plan is, free of names, places and directions."""
    solved = found.solved
    assert solved is not None
    return (solved.sessions, solved.bound, solved.optimal, found.replayed,
            Counter((f.kind, f.severity) for f in found.findings if f.severity != "note"))


def carried(found: Plan, motion: NDArray[np.float64]) -> Plan:
    """Return a plan with every direction carried along with the work."""
    def way(direction: Sequence[float]) -> Direction:
        x, y, z = (motion[:3, :3] @ np.array(direction)).tolist()
        return x, y, z

    stages = [replace(s, moves=tuple(replace(m, direction=way(m.direction), before=m.before and way(m.before))
                                     for m in s.moves)) for s in found.stages]
    return replace(found, stages=tuple(stages))


@pytest.mark.parametrize("name", [n if n in QUICK else pytest.param(n, marks=pytest.mark.slow) for n in sorted(FREE)])
def test_a_plan_for_a_design_is_one_for_it_turned_mirrored_and_renamed(name: str) -> None:
    design = loose(FREE[name]())
    found = plan(place(design), Shop())
    assert found.replayed
    motion = move(700.0, -300.0) @ turn(Z, 2.1)
    moved = replace(design, base_frame=motion @ design.base_frame)
    assert replay(place(moved), carried(found, motion)) is None
    assert replay(place(design.in_the_mirror()), carried(found, MIRROR_X)) is None
    order = list(np.random.default_rng(5).permutation(len(design.parts)))
    for other in (moved, design.in_the_mirror(), renamed(design, [int(k) for k in order])):
        assert worth(plan(place(other), Shop())) == worth(found)


@pytest.mark.parametrize("name", ["frame", "row", "ring", *(pytest.param(n, marks=pytest.mark.slow)
                                                           for n in ("grid", "fence"))])
def test_a_hand_a_clamp_or_a_minute_more_never_makes_a_plan_worse(name: str) -> None:
    design = loose(zoo.SOUND[name]())
    assembly = place(design)
    for few in (Shop(people=1, open_minutes=4.0), Shop(people=2, open_minutes=3.0),
                Shop(people=1, open_minutes=8.0, clamps=(ClampStock("bar", 4, 3000.0), ClampStock("band", 1, 9000.0)))):
        now = plan(assembly, few)
        assert not worse(plan(assembly, replace(few, people=few.people + 1)), now)
        assert not worse(plan(assembly, replace(few, open_minutes=few.open_minutes + 1.0)), now)
        if few.clamps:
            bars, bands = few.clamps
            more = (replace(bars, count=bars.count + 1), bands)
            assert not worse(plan(assembly, replace(few, clamps=more)), now)


def test_a_ladder_takes_two_glue_ups_when_the_glue_is_quick() -> None:
    """Eight rungs, two tenons each, one person. By the table: 15 s to take up a joint, 30 s for a hundred square
    centimetres, 20 s to bring a piece, 10 s to close a joint. The last stile closes eight joints at once; the eight
    rungs can be spread in one go before that. So the first rung waits for seven more, for the stile,
    and for a bar across at each rung, 20 s each."""
    assembly = ladder(8)
    area = 30.0 * (20 + 20 + 10 + 10) + 20 * 10 + (40 * 60 - 20 * 10)
    spread = (15.0 + 30.0 * area / 1e4) / 60.0
    rung, stile = (20.0 + 10.0) / 60.0, (20.0 + 8 * 10.0) / 60.0
    last = 8 * spread + stile
    assert 8 * spread + rung < last and spread + 8 * rung < last
    alone = Shop(people=1, glue="any", open_minutes=last + 0.01)
    waits = 7 * rung + last + 8 * 20.0 / 60.0
    assert len(plan(assembly, replace(alone, closed_minutes=waits + 0.01)).stages) == 1
    found = plan(assembly, replace(alone, closed_minutes=waits - 0.01))
    assert len(found.stages) == 2 and found.solved is not None and found.solved.optimal
    assert not [f for f in found.findings if f.kind == "open-time"] and found.replayed


def test_a_ladder_that_nobody_could_close_says_so() -> None:
    found = plan(ladder(8), Shop(people=1, open_minutes=2.0))
    late = [f for f in found.findings if f.kind == "open-time"]
    assert late and late[-1].severity == "stop" and found.stages
    assert "people" in late[-1].remedy or "person" in late[-1].remedy or "stays open" in late[-1].remedy


def test_a_ring_that_closes_only_all_at_once() -> None:
    found = plan(polygon(7), Shop())
    (stage,) = found.stages
    assert sum(m.simultaneous for m in stage.moves) == 6 and found.replayed
    assert not [f for f in found.findings if f.severity == "stop"]


# -- pins ------------------------------------------------------------------------------------------


def pinned(assembly: Assembly, pins: Sequence[Pin]) -> Assembly:
    return replace(assembly, design=replace(assembly.design, pins=tuple(pins)))


def test_this_side_first() -> None:
    first, then = (tuple(f"{side}_{k}" for k in range(4)) for side in "ba")
    assembly = pinned(ladder(4), [Pin("b first", first=first, then=then)])
    found = plan(assembly, Shop(people=2, open_minutes=30.0))
    at = {n: s.number for s in found.stages for n in s.joints}
    assert max(at[f"b_{k}"] for k in range(4)) < min(at[f"a_{k}"] for k in range(4))
    assert found.replayed and not [f for f in found.findings if f.kind == "blocked"]


def test_these_together() -> None:
    quick = Shop(people=1, glue="any", open_minutes=60.0, closed_minutes=4.0)
    free = plan(ladder(8), quick)
    at = {n: s.number for s in free.stages for n in s.joints}
    assert len(free.stages) > 1
    apart = next((a, b) for a in at for b in at if a[0] == b[0] == "a" and at[a] != at[b])
    found = plan(pinned(ladder(8), [Pin("pair", together=apart)]), quick)
    at = {n: s.number for s in found.stages for n in s.joints}
    assert at[apart[0]] == at[apart[1]] and found.replayed


def test_a_pin_that_cannot_be_kept_is_told() -> None:
    frame = loose(zoo.frame())
    free = plan(place(frame), Shop())
    group = next(m.parts for m in free.stages[-1].moves if m.onto and len(m.parts) > 1)
    inside = next(j.name for s in free.stages[:-1] for j in frame.joints if j.name in s.joints
                  and {j.a, j.b} <= set(group))
    outside = next(n for m in free.stages[-1].moves if m.parts == group for n in m.joints)
    assembly = place(replace(frame, pins=(Pin("both", together=(inside, outside)),)))
    found = plan(assembly, Shop())
    told = [f for f in found.findings if f.kind == "blocked"]
    assert told and "both" in told[0].message and found.stages and replay(assembly, found) is None


def test_pins_are_held_against_given_stages() -> None:
    assembly = ladder(2)
    stages = (StageSpec("a", ("a_0", "a_1")), StageSpec("b", ("b_0", "b_1"), ("a",)))
    design = replace(assembly.design, stages=stages, pins=(Pin("b first", first=("b_0",), then=("a_0",)),))
    found = plan(replace(assembly, design=design), Shop())
    assert any("b first" in f.message for f in found.findings if f.kind == "blocked")


def test_a_given_stage_too_slow_is_told_how_it_splits() -> None:
    assembly = ladder(8)
    every = StageSpec("all", tuple(j.name for j in assembly.design.joints))
    given = replace(assembly, design=replace(assembly.design, stages=(every,)))
    quick = Shop(people=1, glue="any", open_minutes=60.0, closed_minutes=4.0)
    (late,) = [f for f in plan(given, quick).findings if f.kind == "open-time"]
    assert "splits into" in late.remedy


# -- clamps ----------------------------------------------------------------------------------------


def test_a_stage_that_fails_for_one_clamp() -> None:
    assembly = ladder(3)
    needed = len(plan(assembly, Shop(people=4, open_minutes=60.0)).stages[-1].clamps)
    assert needed == 3, "one bar across both stiles at each rung presses two joints"
    whole = replace(assembly, design=replace(assembly.design, stages=(
        StageSpec("all", tuple(j.name for j in assembly.design.joints)),)))
    for count, stops in ((3, 0), (2, 1)):
        shop = Shop(people=4, open_minutes=60.0, clamps=(ClampStock("bar", count, 1000.0),))
        found = [f for f in plan(whole, shop).findings if f.kind == "clamps" and f.severity == "stop"]
        assert len(found) == stops
