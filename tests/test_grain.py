"""Grain: joints of end grain, short grain in curves, crossing grain that moves, and sound work left in peace."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.checks.grain import MOVES_WARN, WIDE_NOTE, WIDE_WARN, grain
from assembly.findings import Finding
from assembly.grain import band_centre, run_outs, shares
from assembly.grain_crossing import Crossing, crossings
from assembly.placing import place
from model.design import Design, Shop
from model.draft import Draft
from model.families import FAMILIES
from model.frames import snapped
from model.part import Part
from model.reader import read
from model.shapes.board import board
from model.shapes.curved_band import curved_band
from model.stock import species
from model.timber import movement, strength_left
from tests import zoo
from tests.joined import facing, pair
from tests.strategies import lengths, rigid_frames
from tests.zoo import SOUND, milled

EXAMPLES = ("orchard_gate", "quay_bench", "lantern_ring", "hive_stand", "net_rack")
ROOM = Path(__file__).parents[1] / "examples"


@cache
def example(name: str) -> Design:
    return read(ROOM / f"{name}.toml")


def found(design: Design, shop: Shop | None = None) -> list[Finding]:
    return grain(place(design), shop or design.shop)


# -- sound work ----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SOUND)
def test_sound_work_is_not_warned_of(name: str) -> None:
    assert {f.severity for f in found(SOUND[name]())} <= {"note"}


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_examples_are_not_warned_of(name: str) -> None:
    assert {f.severity for f in found(example(name))} <= {"note"}


@pytest.mark.parametrize("family", FAMILIES)
def test_what_people_start_from_is_not_warned_of(family: str, tmp_path: Path) -> None:
    file = tmp_path / "start.toml"
    file.write_text(FAMILIES[family].starter, encoding="utf-8")
    assert {f.severity for f in found(read(file))} <= {"note"}


# -- end grain -----------------------------------------------------------------------------------


def butted(tenon: float = 0.0, width: float = 140.0) -> Design:
    """A board of 140 by 40 mm end on against a post, with a tenon 10 mm thick so many mm deep, or none."""
    a, b = board(milled("plank", 40.0, 140.0), 500.0), board(milled("post", 140.0, 140.0), 900.0)
    seats = a.place("end"), facing(b.place("face", 450.0))
    sizes = {"width": width, "thickness": 10.0, "depth": tenon, "bottom": 2.0}
    return pair("blind tenon", a, b, *seats, fit=0.0, sizes=sizes) if tenon else pair("glued face", a, b, *seats)


def test_a_butt_joint_is_warned_of() -> None:
    (finding,) = found(butted())
    assert (finding.kind, finding.severity, finding.parts, finding.joints) == ("grain", "warn", ("a", "b"), ("j",))
    assert "none of the glued area" in finding.message and "tenon" in finding.remedy
    assert finding.amount is not None and (finding.amount.value, finding.amount.unit) == (0.0, "mm2")


@pytest.mark.parametrize(("depth", "severity"), [(5.0, "warn"), (5.7, "warn"), (5.9, "note"), (18.0, "note"),
                                                 (18.5, None)])
def test_a_short_tenon_by_its_share(depth: float, severity: str | None) -> None:
    """Cheeks 2 x 50 d long grain; edges 2 x 10 d and a shoulder of 5600 - 500 mm² end grain: 10 % at 5.80 mm, 25 % at
    18.21 mm."""
    design = butted(depth, 50.0)
    share = 100.0 * depth / (120.0 * depth + 5100.0)
    (measured,) = shares(place(design))
    assert measured.share == pytest.approx(share, abs=1e-6)
    assert [f.severity for f in found(design)] == ([severity] if severity else [])
    for finding in found(design):
        assert f"only {100 * share:.0f} %" in finding.message


def test_a_dry_joint_of_end_grain_is_none_of_its_business() -> None:
    design = butted()
    assert found(replace(design, joints=tuple(replace(j, glued=False) for j in design.joints))) == []


def test_a_spacer_is_none_of_its_business() -> None:
    design = butted()
    assert found(zoo.changed(design, "a", lambda p: replace(p, leaves_after="glue-up"))) == []


def test_a_tenon_beside_a_butt_joint_makes_it_good() -> None:
    """Two joints declared between the same two parts hold together."""
    design = butted(40.0, 100.0)
    twice = replace(design, joints=(*design.joints, replace(design.joints[0], name="face", kind="glued face")))
    assert [f for f in found(twice) if "long grain" in f.message] == []


# -- short grain ---------------------------------------------------------------------------------


def ring(segments: int, joint: str = "loose tenon", **options: object) -> Design:
    radius = 400.0 if segments < 7 else 900.0
    return zoo.made("closed ring", "ring", segments=segments, segment_joint=joint, radius=radius, band=60.0, **options)


@pytest.mark.parametrize(("segments", "severity"), [(4, "warn"), (6, "note"), (8, "note"), (10, None), (16, None)])
def test_grain_runs_out_by_half_a_segment(segments: int, severity: str | None) -> None:
    """Every segment's ends are 180/n degrees from its grain."""
    design = ring(segments)
    for run_out in run_outs(place(design)):
        assert math.degrees(run_out.angle) == pytest.approx(180.0 / segments, abs=1e-6)
    findings = [f for f in found(design) if "runs out" in f.message]
    assert [f.severity for f in findings] == ([severity] if severity else [])
    for finding in findings:
        assert len(finding.parts) == segments and finding.amount is not None
        assert (finding.amount.value, finding.amount.unit) == (pytest.approx(180.0 / segments), "deg")
        assert f"{100 * strength_left(math.pi / segments):.0f} %" in finding.message


def test_five_to_a_ring_are_warned_of() -> None:
    """36 degrees, more than the limit of 32; six to a ring are 30."""
    assert [f.severity for f in found(ring(5)) if "runs out" in f.message] == ["warn"]


def test_a_lap_holds_the_ends_beyond_its_middle() -> None:
    """Nine segments: 20 degrees at the middle of the lap, though each reaches farther."""
    for run_out in run_outs(place(zoo.ring())):
        assert math.degrees(run_out.angle) == pytest.approx(20.0, abs=1e-3)


@pytest.mark.parametrize("degrees", [30.0, 50.0, 70.0])
def test_a_curved_band_runs_out_by_half_its_angle(degrees: float) -> None:
    band = curved_band(milled("wide", 40.0, 400.0), 900.0, 800.0, math.radians(degrees))
    draft = Draft("band")
    draft.add("band", band)
    design = draft.finish()
    (run_out,) = run_outs(place(design))
    assert math.degrees(run_out.angle) == pytest.approx(degrees / 2.0, abs=1e-6)
    centre = band_centre(design.part["band"])
    assert centre is not None
    assert np.hypot(*(np.array(run_out.where) - centre[:3, 3])[:2]) == pytest.approx(850.0, abs=2.0)


def test_straight_segments_have_no_short_grain() -> None:
    assert list(run_outs(place(zoo.ring_straight()))) == []


# -- crossing grain ------------------------------------------------------------------------------


def crossed(width: float, about: float = 90.0, wood: str = "Douglas-fir, coast", other: str | None = None) -> Design:
    """Two boards `width` mm wide, glued face to back, their grains crossing at an angle."""
    a, b = (board(milled("plank", 20.0, width, w), 900.0) for w in (wood, other or wood))
    seats = a.place("face", 450.0), facing(b.place("back", 450.0), math.radians(about))
    return pair("glued face", a, b, *seats, fit=0.0)


def worst(design: Design, moisture: tuple[float, float] = (8.0, 16.0), least: float = 10.0) -> Crossing:
    (crossing,) = crossings(place(design), *moisture, least)
    return crossing


@settings(max_examples=25, deadline=None)
@given(lengths(20.0, 300.0))
def test_square_crossing_moves_by_its_width(width: float) -> None:
    crossing, fir = worst(crossed(width)), species()["Douglas-fir, coast"]
    assert crossing.width == pytest.approx(width, abs=1e-6)
    assert crossing.movement == pytest.approx(movement(fir, width, 8.0, 16.0), rel=1e-9)
    assert crossing.radial == pytest.approx(movement(fir, width, 8.0, 16.0, tangential=False), rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(st.integers(25, 90), lengths(40.0, 150.0))
def test_oblique_crossing_moves_by_the_square_of_the_sine(degrees: int, width: float) -> None:
    """The lap is a rhombus; along one board's grain it reaches width (1 + cos) / sin, or less where the boards end."""
    crossing, fir = worst(crossed(width, degrees)), species()["Douglas-fir, coast"]
    t = math.radians(degrees)
    assert crossing.angle == pytest.approx(t, abs=1e-6)
    assert crossing.width == pytest.approx(width * (1.0 + math.cos(t)) / math.sin(t), rel=1e-6)
    whole = movement(fir, crossing.width, 8.0, 16.0)
    assert whole is not None and crossing.movement == pytest.approx(whole * math.sin(t) ** 2, rel=1e-6)


def test_grain_that_runs_along_does_not_move_apart() -> None:
    assert list(crossings(place(crossed(140.0, 0.0)), 8.0, 16.0, 10.0)) == []
    assert list(crossings(place(crossed(140.0, 10.0)), 8.0, 16.0, 10.0)) == []


@pytest.mark.parametrize(("width", "severity"), [(70.0, None), (WIDE_NOTE, None), (90.0, "note"), (WIDE_WARN, "note"),
                                                 (120.0, "note"), (140.0, "warn"), (200.0, "warn")])
def test_by_width_and_movement(width: float, severity: str | None) -> None:
    """Coast Douglas-fir from 8 to 16 % moves 2.15 % of its width: 2.8 mm are 130 mm."""
    findings = found(crossed(width))
    assert [f.severity for f in findings] == ([severity] if severity else [])
    for finding in findings:
        assert finding.amount is not None and finding.amount.unit == "mm"
        assert finding.amount.value == pytest.approx(0.021463 * width, abs=1e-3)
        assert (finding.severity == "warn") == (finding.amount.value >= MOVES_WARN)


def test_the_moisture_of_the_shop_counts() -> None:
    assert found(crossed(140.0), Shop(moisture=(10.0, 12.0))) == []
    (dry,) = found(crossed(140.0), Shop(moisture=(7.0, 13.0)))
    assert dry.amount is not None and dry.amount.value == pytest.approx(140.0 * 0.00267 * 6.0, abs=1e-4)
    assert "shrinkage from green" not in dry.message


def test_a_species_without_figures_is_passed_over() -> None:
    assert found(crossed(200.0, wood="Douglas-fir, interior south")) == []


def test_the_one_that_moves_more_is_named() -> None:
    assert worst(crossed(140.0, 90.0, "Western redcedar", "White oak (Quercus alba)")).moves == "b"
    assert worst(crossed(140.0, 90.0, "White oak (Quercus alba)", "Western redcedar")).moves == "a"


def test_a_wide_tenon_moves_by_its_width() -> None:
    """A tenon 130 mm wide and 60 deep, its cheeks across the post's grain."""
    a = board(milled("plank", 40.0, 150.0, "Western larch"), 500.0)
    b = board(milled("post", 140.0, 140.0, "Western larch"), 900.0)
    design = pair("blind tenon", a, b, a.place("end"), facing(b.place("face", 450.0)),
                  sizes={"width": 130.0, "thickness": 13.0, "depth": 60.0})
    crossing = worst(design)
    assert (crossing.moves, crossing.held_by, crossing.width) == ("a", "b", pytest.approx(130.0))
    (finding,) = found(design)
    assert finding.severity == "warn" and finding.parts == ("a", "b")


def test_two_tenons_of_one_piece_count_as_wide_as_they_reach() -> None:
    """Two tenons 40 mm wide, 60 mm apart in one board: the wood between them is held too, unless one is left dry."""
    a = board(milled("plank", 40.0, 170.0, "Western larch"), 500.0)
    b = board(milled("post", 140.0, 140.0, "Western larch"), 900.0)
    draft = Draft("twin")
    draft.add("a", a)
    draft.add("b", b)
    for name, x in (("one", -50.0), ("two", 50.0)):
        draft.join(name, "blind tenon", "a", "b", a.place("end"), facing(b.place("face", 450.0)),
                   sizes={"width": 40.0, "thickness": 13.0, "depth": 60.0, "shift": x})
    twin = draft.finish()
    assert worst(twin).width == pytest.approx(140.0)
    dry = replace(twin, joints=tuple(replace(j, glued=j.name == "one") for j in twin.joints))
    assert list(crossings(place(dry), 8.0, 16.0, 65.0)) == []


# -- wherever it stands ----------------------------------------------------------------------------


@settings(max_examples=15, deadline=None)
@given(rigid_frames(), st.booleans(), st.sampled_from(["bench", "ring", "gateway_small", "fence"]))
def test_standing_elsewhere_or_in_the_mirror_changes_nothing(frame: np.ndarray, mirror: bool, name: str) -> None:
    here = SOUND[name]()
    there = replace(here, base_frame=snapped(frame @ here.base_frame))
    there = there.in_the_mirror() if mirror else there
    assert told(found(there)) == told(found(here))


def told(findings: list[Finding]) -> list[tuple[object, ...]]:
    amounts = [round(f.amount.value, 2) if f.amount else None for f in findings]
    return sorted((f.severity, tuple(sorted(f.parts)), mm) for f, mm in zip(findings, amounts, strict=True))


def test_reordering_parts_changes_nothing() -> None:
    design = zoo.bench()
    turned: tuple[Part, ...] = design.parts[::-1]
    assert told(found(replace(design, parts=turned))) == told(found(design))
