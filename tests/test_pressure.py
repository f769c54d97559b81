"""Clamps: frames, rings and laps by hand, what there is too little of, and what more clamps must never do."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest

from assembly.findings import Finding
from assembly.placing import Assembly, place
from assembly.plan import Rest, Stage
from assembly.pressure import clamped, demand
from assembly.pressure.joints import side_by_side
from assembly.stages import plan
from model.frames import X, Z, move, turn
from model.joint import Joint
from model.shop import ClampStock, Shop
from model.solids import box
from tests import zoo
from tests.blocks import standing, tied
from tests.test_plan_laws import ladder


def whole(assembly: Assembly, rest: Rest | None = None) -> Stage:
    """Return one stage that closes every joint of the work."""
    return Stage(1, "all", tuple(j.name for j in assembly.design.joints), tuple((n,) for n in assembly.names), (), (),
                 frozenset(), rest=rest or Rest())


def bars(stage: Stage) -> list[float]:
    return sorted(round(c.opening, 3) for c in stage.clamps if c.kind == "bar")


def told(found: Sequence[Finding], severity: str = "stop") -> list[Finding]:
    return [f for f in found if f.kind == "clamps" and f.severity == severity]


def flat(assembly: Assembly) -> Stage:
    """Return the one stage, the work lying high and flat on trestles, y up."""
    return whole(assembly, Rest(frame=move(z=500.0) @ turn(X, math.pi / 2)))


def test_a_ladder_takes_one_bar_at_each_rung_as_wide_as_it_is() -> None:
    """Two stiles of 60 and 400 between them: each bar opens 520 and presses both joints of its rung."""
    assembly = ladder(3)
    stage, found = clamped(assembly, Shop(), flat(assembly))
    assert bars(stage) == [520.0, 520.0, 520.0]
    assert sorted(sorted(c.joints) for c in stage.clamps) == [[f"a_{k}", f"b_{k}"] for k in range(3)]
    assert {frozenset(c.pads) for c in stage.clamps} == {frozenset({"stile_a", "stile_b"})} and not told(found)


@pytest.mark.parametrize(("count", "opening", "short"), [(3, 520.0, 0), (2, 520.0, 1), (3, 519.0, 3), (0, 520.0, 3)])
def test_a_clamp_too_few_or_too_short(count: int, opening: float, short: int) -> None:
    assembly = ladder(3)
    shop = Shop(clamps=(ClampStock("bar", count, opening), ClampStock("band", 1, 100.0)))
    _, found = clamped(assembly, shop, flat(assembly))
    stops = told(found)
    assert len(stops) == (short > 0)
    if short:
        assert stops[0].amount is not None and stops[0].amount.value == short
        assert "520 mm" in stops[0].message and f"{short} bar clamp" in stops[0].remedy


def test_no_clamps_said_none_missed() -> None:
    assembly = ladder(3)
    assert not told(clamped(assembly, Shop(), flat(assembly))[1])


@pytest.mark.parametrize("sides", [5, 8, 12])
def test_a_ring_takes_one_band_as_long_as_it_is_round(sides: int) -> None:
    """The hull of a regular polygon is 2 n R sin(180/n) round, R to its outer corners (derived)."""
    assembly = place(zoo.made("closed ring", "ring", segments=sides, radius=500.0, segment_joint="loose tenon"))
    stage, found = clamped(assembly, Shop(), whole(assembly, Rest(frame=move(z=500.0))))
    (band,) = [c for c in stage.clamps if c.kind == "band"]
    assert not bars(stage) and not told(found)
    assert len(band.joints) == sides
    corners = max(math.hypot(x, y) for n in assembly.names for x, y, _ in assembly.vertices(n, frozenset()).tolist())
    assert band.opening == pytest.approx(2 * sides * corners * math.sin(math.pi / sides), rel=2e-3)


def butt(lean: float, run: float = 400.0) -> Assembly:
    """A post under a beam whose top is sawn at an angle, joined by a stub tenon."""
    beam = box((0, 0, 300), (run, 60, 500)).split_at((run / 2, 0, 400), (math.sin(lean), 0.0, -math.cos(lean)))
    tenon = box((run / 2 - 20, 20, 300), (run / 2 + 20, 40, 330))
    post = box((run / 2 - 40, 0, 0), (run / 2 + 40, 60, 300)).joined(tenon)
    head = tied("head", "post", "beam", (run / 2, 30, 300), (0, 0, 1), 30.0)
    return standing({"beam": beam.cut(tenon), "post": post}, [head])


@pytest.mark.parametrize(("degrees", "said"), [(0, ""), (4, ""), (12, "Cut a caul"), (29, "Cut a caul"), (40, "ears")])
def test_a_face_that_leans_takes_a_caul_or_cannot_be_clamped(degrees: float, said: str) -> None:
    assembly = butt(math.radians(degrees))
    shop = Shop(clamps=(ClampStock("bar", 4, 2000.0),))
    stage, found = clamped(assembly, shop, flat(assembly))
    assert len(stage.clamps) == (degrees < 30)
    remedies = [f.remedy for f in found if f.kind == "clamps"]
    assert any(said in r for r in remedies) if said else not remedies
    assert bool(told(found, "warn")) == (degrees > 30)


def test_the_pad_does_not_sit_on_the_end_of_a_through_tenon() -> None:
    """The tenon is 40 wide and comes out flush at the far side: the pad goes beside it, 20 and half a pad from the
    middle at least."""
    tenon = box((80, 20, 300), (120, 40, 400))
    post = box((60, 0, 0), (140, 60, 300)).joined(tenon)
    beam = box((0, 0, 300), (400, 60, 400)).cut(tenon)
    assembly = standing({"beam": beam, "post": post}, [tied("head", "post", "beam", (100, 30, 300), (0, 0, 1), 100.0)])
    stage, found = clamped(assembly, Shop(), flat(assembly))
    (clamp,) = stage.clamps
    assert abs(clamp.head[0] - 100.0) >= 20.0 or abs(clamp.head[1] - 30.0) >= 10.0
    assert not told(found)


def test_work_that_lies_too_low_is_blocked_up() -> None:
    """A post standing on the floor under its beam: a jaw of 25 mm reaches beneath it, with half a bar's thickness."""
    assembly = butt(0.0)
    stage, found = clamped(assembly, Shop(), whole(assembly))
    assert stage.rest.blocks == pytest.approx(25.0 + 20.0, abs=0.1)
    (note,) = told(found, "note")
    assert "45 mm" in note.remedy
    again, clear = clamped(assembly, Shop(), whole(assembly, Rest(blocks=45.0)))
    assert again.rest.blocks == 45.0 and not clear


@pytest.mark.parametrize(("area", "pad", "depth", "count"), [
    (90 * 38, 50, 89, 1), (140 * 140, 50, 19, 3), (140 * 140, 50, 45, 1), (600 * 60, 50, 20, 5), (0, 50, 20, 1)])
def test_bars_side_by_side(area: float, pad: float, depth: float, count: int) -> None:
    """The 45 degree rule (common practice, no source): a bar covers pad + 2 d each way. 140 x 140 under 19 mm: 88 x 88
    of 19,600 is a 2.53rd; 600 x 60 under 20: cover 90, 36,000 / 8,100 = 4.4."""
    assert side_by_side(area, pad, depth) == count


def test_what_a_joint_takes_before_its_stage_is_known() -> None:
    found = demand(ladder(3), Shop(), "a_1")
    assert found is not None and (found.kind, found.count, round(found.opening)) == ("bar", 1, 520)
    assert found.joints == {"a_1", "b_1"}


def test_dry_joints_take_no_clamps() -> None:
    assembly = ladder(2)
    dry: list[Joint] = [replace(j, glued=False) for j in assembly.design.joints]
    loose = replace(assembly, design=replace(assembly.design, joints=tuple(dry)))
    assert clamped(loose, Shop(), flat(loose))[0].clamps == ()


@pytest.mark.parametrize("name", ["frame", "grid", "ring_loose", "gateway_small", "bench"])
def test_turned_and_mirrored_work_takes_the_same_clamps(name: str) -> None:
    design = zoo.SOUND[name]()

    def taken(other: Assembly) -> list[list[tuple[str, int]]]:
        return [sorted((c.kind, round(c.opening)) for c in s.clamps) for s in plan(other, Shop()).stages]

    own = taken(place(design))
    assert own == taken(place(replace(design, base_frame=move(99.0, 7.0) @ turn(Z, 0.7) @ design.base_frame)))
    assert own == taken(place(design.in_the_mirror()))


@pytest.mark.parametrize("name", sorted(zoo.SOUND))
def test_sound_designs_bring_nothing_but_notes(name: str) -> None:
    assert {f.severity for f in plan(place(zoo.SOUND[name]()), Shop()).findings if f.kind == "clamps"} <= {"note"}
