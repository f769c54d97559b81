"""Clamps: frames, rings and laps by hand, what there is too little of, and what more clamps must never do."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.findings import Finding
from assembly.placing import Assembly, place
from assembly.plan import Rest, Stage
from assembly.pressure import clamped, demand
from assembly.pressure.cover import Choice, assigned, cover
from assembly.pressure.joints import block_and_rows, clamps_along, covered
from assembly.stages import plan
from model.frames import X, Z, move, turn
from model.joint import Joint
from model.shop import ClampStock, Shop
from model.solids import box
from tests import zoo
from tests.blocks import polygon, standing, tied
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
def test_a_mitred_ring_takes_one_band_as_long_as_it_is_round(sides: int) -> None:
    """A regular polygon is 2 n R sin(180/n) round, R = 300 to its outer corners (derived)."""
    assembly = polygon(sides)
    stage, found = clamped(assembly, Shop(), whole(assembly, Rest(frame=move(z=500.0))))
    (band,) = stage.clamps
    assert band.kind == "band" and set(band.joints) == {j.name for j in assembly.design.joints}
    assert band.opening == pytest.approx(2 * sides * 300.0 * math.sin(math.pi / sides), abs=0.1)
    assert set(band.around) == set(assembly.names) and not found


def test_an_arch_takes_a_band_and_a_stretcher_across_its_open_side() -> None:
    """Half of a ring of twelve, its rim at 300: six sides of 2 x 300 sin 15 degrees, and 600 across. Its pieces are 60
    deep there, so that the stretcher fills 480."""
    ring = polygon(12, tenons=False)
    kept = [f"side_{k}" for k in range(6)]
    arch = standing({n: ring.solid(n) for n in kept}, [j for j in ring.design.joints if {j.a, j.b} <= set(kept)])
    stage, found = clamped(arch, Shop(), whole(arch, Rest(frame=move(z=500.0))))
    (band,) = stage.clamps
    assert band.kind == "band" and len(band.joints) == 5
    assert band.opening == pytest.approx(12 * 300.0 * math.sin(math.radians(15)) + 600.0, abs=0.1)
    (note,) = told(found, "note")
    assert "stretcher" in note.remedy and note.amount is not None
    assert note.amount.value == pytest.approx(480.0, abs=0.1)


@pytest.mark.parametrize(("length", "count", "severity"), [(1900.0, 1, None), (1800.0, 1, "stop"), (1900.0, 0, "stop")])
def test_a_band_too_short_or_none(length: float, count: int, severity: str | None) -> None:
    """The ring of eight is 16 x 300 sin 22.5 degrees = 1836.9 mm round: 37 mm more than 1800."""
    assembly = polygon(8)
    shop = Shop(clamps=(ClampStock("band", count, length), ClampStock("bar", 9, 1000.0)))
    _, found = clamped(assembly, shop, whole(assembly, Rest(frame=move(z=500.0))))
    assert [f.severity for f in found] == ([severity] if severity else [])
    if severity:
        said = found[0].message + found[0].remedy
        assert "1837 mm" in said and ("37 mm too short" in said if count else "there is none" in said)


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
    """A post standing on the floor under its beam: a jaw of 25 mm reaches beneath it."""
    assembly = butt(0.0)
    stage, found = clamped(assembly, Shop(), whole(assembly))
    assert stage.rest.blocks == pytest.approx(25.0, abs=0.1)
    (note,) = told(found, "note")
    assert "25 mm" in note.remedy
    again, clear = clamped(assembly, Shop(), whole(assembly, Rest(blocks=25.0)))
    assert again.rest.blocks == 25.0 and not clear
    assert again.clamps[0].head[2] > again.clamps[0].foot[2], "the screw is above, where there is room"


@pytest.mark.parametrize(("length", "pad", "depth", "count"), [
    (90, 50, 20, 1), (91, 50, 20, 2), (600, 50, 20, 7), (600, 50, 95, 3), (600, 100, 20, 5), (0, 50, 20, 1)])
def test_clamps_in_a_row(length: float, pad: float, depth: float, count: int) -> None:
    """The 45 degree rule (common practice, no source): each covers pad + 2 d; 600 / 90 = 6.7, 600 / 240 = 2.5."""
    assert clamps_along(length, covered(pad, depth)) == count


@pytest.mark.parametrize(("size", "block", "rows"), [
    ((90, 38), 0.0, 1), ((140, 140), 26.0, 1), ((600, 60), 0.0, 1), ((600, 140), 26.0, 1), ((600, 300), 0.0, 4)])
def test_a_block_spreads_the_pressure_of_a_pad(size: tuple[float, float], block: float, rows: int) -> None:
    """Under 19 mm a pad of 50 covers 88: 140 takes a block of (140 - 88) / 2; 300 would take more than a block may be
    thick, so that 300 / 88 = 3.4 rows stand across it."""
    assert block_and_rows((size[0] / 2, size[1] / 2), 50.0, 19.0) == (block, rows)


def boards(length: float, width: float, thick: float = 20.0) -> Assembly:
    """Two boards glued face to face."""
    joint = tied("face", "lower", "upper", (length / 2, width / 2, thick), (0, 0, 1))
    return standing({"lower": box((0, 0, 0), (length, width, thick)),
                     "upper": box((0, 0, thick), (length, width, 2 * thick))}, [joint])


def test_boards_glued_face_to_face_take_a_row_of_bars() -> None:
    """600 x 80 under 20: each covers 90, so that seven stand 600 / 7 apart in the middle of the width."""
    assembly = boards(600.0, 80.0)
    stage, found = clamped(assembly, Shop(), whole(assembly, Rest(frame=move(z=500.0))))
    at = sorted(c.foot[0] for c in stage.clamps)
    assert at == pytest.approx([600.0 * (k + 0.5) / 7 for k in range(7)], abs=0.1)
    assert bars(stage) == [40.0] * 7 and {round(c.foot[1], 3) for c in stage.clamps} == {40.0} and not found


def test_a_wide_glued_face_takes_blocks_under_the_pads() -> None:
    """140 x 140 under 20: a pad covers 90, a block of 25 under it 140. The opening grows by two blocks."""
    assembly = boards(140.0, 140.0)
    stage, found = clamped(assembly, Shop(), whole(assembly, Rest(frame=move(z=500.0))))
    assert bars(stage) == [40.0 + 50.0]
    (note,) = found
    assert note.severity == "note" and "25 mm thick" in note.remedy


def knob() -> Assembly:
    """A knob in the middle of a plate 400 square: a bar beside it needs a throat of 200 and half its own thickness,
    less what its pad may sit beside the middle."""
    joint = tied("stem", "knob", "plate", (0, 0, 0), (0, 0, -1))
    return standing({"plate": box((-200, -200, -30), (200, 200, 0)), "knob": box((-25, -25, 0), (25, 25, 40))}, [joint])


@pytest.mark.parametrize(("reach", "stopped"), [(80.0, True), (190.0, True), (221.0, False), (300.0, False)])
def test_a_throat_too_short(reach: float, stopped: bool) -> None:
    assembly = knob()
    shop = Shop(clamps=(ClampStock("bar", 3, 500.0, reach),))
    stage, found = clamped(assembly, shop, whole(assembly, Rest(frame=move(z=500.0))))
    assert bool(told(found)) == stopped and len(stage.clamps) == 1
    assert not stopped or "its throat has to be 300 mm" in found[0].message


def test_a_pad_on_a_narrow_edge_asks_for_a_block() -> None:
    """A pad of 50 bears on an edge 8 mm wide over a fifth of itself, on one of 30 over seven tenths."""
    said = []
    for wide in (8.0, 30.0):
        fin = box((-200, -wide / 2, 0), (200, wide / 2, 40))
        joint = tied("fin", "fin", "plate", (0, 0, 0), (0, 0, -1))
        assembly = standing({"plate": box((-200, -40, -30), (200, 40, 0)), "fin": fin}, [joint])
        said.append([f.remedy for f in clamped(assembly, Shop(), whole(assembly, Rest(frame=move(z=500.0))))[1]])
    assert "bear on the sound wood" in said[0][0] and not said[1]


def test_epoxy_wants_contact_only() -> None:
    assembly = ladder(1)
    stage, found = clamped(assembly, Shop(glue="slow-setting epoxy"), flat(assembly))
    assert len(stage.clamps) == 1 and ["contact only" in f.message for f in found] == [True]


def test_clamps_go_where_they_fit() -> None:
    """Of three bars needed at 520 one may be longer; a short one is no use, and is not counted."""
    assembly = ladder(3)
    enough = Shop(clamps=(ClampStock("bar", 2, 520.0), ClampStock("bar", 1, 1500.0), ClampStock("bar", 9, 300.0)))
    assert not told(clamped(assembly, enough, flat(assembly))[1])
    short = Shop(clamps=(ClampStock("bar", 2, 520.0), ClampStock("bar", 9, 300.0)))
    (stop,) = told(clamped(assembly, short, flat(assembly))[1])
    assert stop.amount is not None and stop.amount.value == 1.0 and "further stage" in stop.remedy


STOCKS = st.builds(ClampStock, st.sampled_from(["bar", "band"]), st.integers(0, 3),
                   st.sampled_from([45.0, 100.0, 520.0, 1900.0]), st.sampled_from([80.0, 150.0, 300.0]),
                   st.sampled_from([30.0, 50.0, 80.0]))
SHAPES = {"ladder": flat(ladder(3)), "knob": whole(knob(), Rest(frame=move(z=500.0))),
          "ring": whole(polygon(8), Rest(frame=move(z=500.0))), "boards": whole(boards(600.0, 80.0))}
WORK = {"ladder": ladder(3), "knob": knob(), "ring": polygon(8), "boards": boards(600.0, 80.0)}


@settings(deadline=None, max_examples=60)
@given(name=st.sampled_from(sorted(SHAPES)), stock=st.lists(STOCKS, min_size=1, max_size=3), more=STOCKS)
def test_one_clamp_more_never_makes_it_worse(name: str, stock: list[ClampStock], more: ClampStock) -> None:
    def missing(some: Sequence[ClampStock]) -> tuple[int, float]:
        found = clamped(WORK[name], Shop(clamps=tuple(some)), SHAPES[name])[1]
        return len(told(found, "warn")), sum(f.amount.value for f in told(found) if f.amount is not None)

    assert missing([*stock, more]) <= missing(stock)


@st.composite
def covers(draw: st.DrawFn) -> tuple[list[Choice], list[int]]:
    """Up to seven clamps over six targets, and how many of two kinds are owned."""
    kinds = st.frozensets(st.integers(0, 1))
    choices = st.builds(Choice, st.frozensets(st.integers(0, 5), min_size=1), st.integers(1, 9), kinds)
    return draw(st.lists(choices, min_size=1, max_size=7)), [draw(st.integers(0, 2)) for _ in range(2)]


def left_without(choices: Sequence[Choice], taken: Sequence[int], owned: Sequence[int]) -> int:
    """Return for how many of the clamps taken none is left, by trying every order of handing them out."""
    slots = [k for k, count in enumerate(owned) for _ in range(count)] + [-1] * len(taken)
    return min((sum(kind not in choices[c].kinds for c, kind in zip(taken, order, strict=False))
                for order in set(permutations(slots, len(taken)))), default=0)


@settings(deadline=None, max_examples=60)
@given(covers())
def test_the_cover_is_the_best_of_all(case: tuple[list[Choice], list[int]]) -> None:
    """Held against every set of clamps there is."""
    choices, owned = case
    everything = frozenset().union(*(c.presses for c in choices))
    sets = [s for n in range(1, len(choices) + 1) for s in combinations(range(len(choices)), n)
            if frozenset().union(*(choices[c].presses for c in s)) == everything]
    free = cover(choices, None)
    assert frozenset().union(*(choices[c].presses for c in free.taken)) == everything
    assert sum(choices[c].cost for c in free.taken) == min(sum(choices[c].cost for c in s) for s in sets)
    small = [s for s in sets if len(s) <= 4]
    held = cover(choices, owned)
    assert frozenset().union(*(choices[c].presses for c in held.taken)) == everything
    assert not small or len(held.missing) <= min(left_without(choices, s, owned) for s in small)
    if len(held.taken) <= 4:
        assert len(assigned(choices, held.taken, owned).missing) == left_without(choices, held.taken, owned)


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
