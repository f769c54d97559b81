"""Fit: clearance in every kind of joint against what the glue wants, and silence where it is right."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.checks.fit import fit, plays_of
from assembly.findings import Finding
from assembly.placing import place
from model.as_cut import CutAsCut, PartAsCut
from model.design import Design, Shop
from model.frames import Frame, inverse, move
from model.glues import bridged_at_most, glues, recognised, wanted_fit
from model.recut import recut
from model.recut.cuts import cut_of
from tests import zoo
from tests.strategies import tenoned_pair

GLUES = ("general-purpose aliphatic", "polyurethane", "gap-filling epoxy")


def cut(part: str, joint: str, **what: float) -> PartAsCut:
    """What was measured of one cut."""
    return PartAsCut(part, cuts=(CutAsCut(joint, **what),))


def found(design: Design, glue: str = GLUES[0], **limits: float) -> list[Finding]:
    return fit(place(design), Shop(glue=glue, **limits))


# -- the table ------------------------------------------------------------------------------------


def test_limits_are_those_of_common_practice() -> None:
    """Clearance per side by kind of glue: common practice, no source; polyurethane takes the figures of PVA."""
    told = {glue.name: (glue.least, glue.most) for glue in glues()}
    assert told == {"PVA or aliphatic": (0.05, 0.15), "polyurethane": (0.05, 0.15), "gap-filling epoxy": (0.1, 0.5)}
    assert bridged_at_most() == 0.5


@pytest.mark.parametrize(("name", "kind"), [
    ("general-purpose aliphatic", "PVA or aliphatic"), ("PVA, D3", "PVA or aliphatic"),
    ("White glue from the tin", "PVA or aliphatic"), ("one-part Polyurethane", "polyurethane"),
    ("PUR", "polyurethane"), ("slow-setting epoxy", "gap-filling epoxy"), ("hide", None), ("", None),
    ("purple stuff", None), ("epoxy over PVA", None)])
def test_a_glue_is_known_by_a_whole_word(name: str, kind: str | None) -> None:
    glue = recognised(name)
    assert (glue.name if glue else None) == kind


def test_what_the_shop_says_goes_before_the_table() -> None:
    assert wanted_fit(Shop(glue="hide")) is None
    given_both = wanted_fit(Shop(glue="hide", fit_least=0.02, fit_most=0.2))
    assert given_both is not None and (given_both.least, given_both.most) == (0.02, 0.2)
    higher = wanted_fit(Shop(fit_least=0.3))
    assert higher is not None and (higher.least, higher.most) == (0.3, 0.3)
    lower = wanted_fit(Shop(glue="epoxy", fit_most=0.05))
    assert lower is not None and (lower.least, lower.most) == (0.05, 0.05)


# -- sound designs --------------------------------------------------------------------------------


@pytest.mark.parametrize("name", zoo.SOUND)
def test_the_fit_that_is_drawn_suits_every_glue(name: str) -> None:
    design = zoo.SOUND[name]()
    for glue in (*GLUES, "hide"):
        assert found(design, glue) == []


def test_every_kind_of_joint_with_cheeks_is_measured() -> None:
    kinds = {"blind tenon", "through tenon", "tenon half", "cross lap", "half lap", "housing"}
    for make in zoo.SOUND.values():
        design = make()
        assembly = place(design)
        for joint in design.joints:
            plays = plays_of(assembly, joint)
            assert all(p.side == pytest.approx(joint.fit, abs=1e-4) for p in plays)
            assert plays or joint.kind in ("glued face", "loose tenon")
            if plays:
                kinds.discard(joint.kind)
    assert not kinds


# -- amounts --------------------------------------------------------------------------------------


@settings(max_examples=30, deadline=None)
@given(side=st.floats(0.3, 8.0), on=st.sampled_from(["rail", "post"]))
def test_a_loose_tenon_is_told_by_its_clearance_a_side(side: float, on: str) -> None:
    design = tenoned_pair(thickness=20.0)
    thick = 20.2 - 2 * side if on == "rail" else 20.0 + 2 * side
    (finding,) = found(recut(design, [cut(on, "tie", thickness=thick)]))
    assert (finding.kind, finding.joints, finding.parts) == ("gap", ("tie",), ("rail", "post"))
    assert finding.amount is not None and finding.amount.value == pytest.approx(side, abs=0.002)
    assert finding.severity == ("stop" if side > 0.51 else "warn"), "0.5 mm is the most that any glue bridges"
    assert "across its thickness" in finding.message


@pytest.mark.parametrize("off", [-0.3, 0.15, 0.299])
def test_it_is_the_same_however_the_clearance_is_shared_out(off: float) -> None:
    """A tenon 0.6 mm too thin that lies against one cheek has all its clearance at the other: half of it counts."""
    design = recut(tenoned_pair(), [PartAsCut("rail", cuts=(CutAsCut("tie", thickness=11.6),))])
    shifted = zoo.changed(design, "rail", lambda p: replace(p, features=tuple(
        replace(f, solid=f.solid.moved(_aside(f.frame, off))) if f.role == "tenon" else f for f in p.features)))
    (finding,) = found(shifted)
    assert finding.amount is not None and finding.amount.value == pytest.approx(0.3, abs=0.002)


def _aside(seat: Frame, off: float) -> Frame:
    return seat @ move(y=off) @ inverse(seat)


@pytest.mark.parametrize(("side", "glue", "told"), [
    (0.14, 0, False), (0.159, 0, False), (0.165, 0, True), (0.042, 0, False), (0.035, 0, True), (0.0, 0, True),
    (0.505, 2, False), (0.52, 2, True), (0.095, 2, False), (0.08, 2, True), (0.16, 1, False), (0.2, 1, True)])
def test_limits_count_as_within_and_a_hundredth_beyond(side: float, glue: int, told: bool) -> None:
    design = recut(tenoned_pair(), [cut("post", "tie", thickness=12.0 + 2 * side, width=60.0 + 2 * side)])
    findings = found(design, GLUES[glue])
    assert bool(findings) == told
    assert all(f.severity == "warn" or f.amount.value > 0.51 for f in findings if f.amount)


def test_a_tight_fit_says_how_much_to_take_off() -> None:
    (finding,) = found(recut(tenoned_pair(), [cut("post", "tie", thickness=12.04)]))
    assert (finding.kind, finding.severity) == ("gap", "warn")
    assert finding.amount is not None and finding.amount.value == pytest.approx(0.02, abs=0.002)
    assert "0.05 mm at least" in finding.message and "Take 0.16 mm off rail" in finding.remedy


def test_wood_in_wood_is_not_called_a_tight_fit() -> None:
    assert found(recut(tenoned_pair(), [cut("post", "tie", thickness=11.9)])) == []


def test_a_tenon_too_narrow_is_only_a_warning() -> None:
    """Its ends are end grain in the mortise: they hold little whatever the fit."""
    (finding,) = found(recut(tenoned_pair(), [cut("rail", "tie", width=56.0)]))
    assert finding.severity == "warn" and "across its width" in finding.message
    assert finding.amount is not None and finding.amount.value == pytest.approx(2.1, abs=0.002)


def test_a_loose_tenon_of_its_own_is_one_finding_for_both_its_mortises() -> None:
    design = zoo.ring_loose()
    tenon = next(j.a for j in design.joints if j.of == "ring_1_2")
    (finding,) = found(recut(design, [PartAsCut(tenon, thickness=design.part[tenon].blank.thickness - 1.0)]))
    assert finding.parts == (tenon, "segment_1", "segment_2") and len(finding.joints) == 2
    assert finding.amount is not None and finding.amount.value == pytest.approx(0.6, abs=0.002)


@pytest.mark.parametrize("side", ["a", "b"])
def test_a_lap_too_wide_names_the_piece_that_lies_in_it(side: str) -> None:
    design = zoo.bench()
    joint = next(j for j in design.joints if j.kind == "cross lap")
    part, other = (joint.a, joint.b) if side == "a" else (joint.b, joint.a)
    meant = cut_of(design.part[part], joint)
    assert meant is not None
    (finding,) = found(recut(design, [cut(part, joint.name, width=meant.sizes["width"] + 1.0)]))
    assert finding.parts == (other, part) and finding.severity == "warn"
    assert finding.amount is not None and finding.amount.value == pytest.approx(0.6, abs=0.002)


def test_a_slat_too_narrow_is_loose_in_all_its_housings() -> None:
    design = zoo.fence()
    (finding,) = found(recut(design, [PartAsCut("slat_03", width=design.part["slat_03"].blank.width - 1.0)]))
    assert finding.parts[0] == "slat_03" and len(finding.joints) == 2
    assert finding.amount is not None and finding.amount.value == pytest.approx(0.6, abs=0.002)


def test_a_half_lap_that_stands_off_further_than_drawn_is_told() -> None:
    """Its end meets the other's shoulder on one side only, 0.1 mm off as drawn."""
    design = zoo.ring_straight()
    length = design.part["segment_1"].blank.length
    findings = found(recut(design, [PartAsCut("segment_1", length=length - 1.0)]))
    assert {f.kind for f in findings} == {"gap"} and {f.severity for f in findings} == {"warn"}
    assert all("open on one side" in f.message for f in findings)


def test_a_dry_joint_may_be_as_loose_as_it_likes() -> None:
    design = recut(tenoned_pair(), [cut("post", "tie", thickness=14.0)])
    assert found(replace(design, joints=tuple(replace(j, glued=False) for j in design.joints))) == []


def test_a_glue_nobody_knows_brings_no_finding_unless_the_shop_says_its_limits() -> None:
    design = recut(tenoned_pair(), [cut("post", "tie", thickness=14.0)])
    assert found(design, "hide") == []
    (finding,) = found(design, "hide", fit_least=0.0, fit_most=0.2)
    assert "hide bridges 0.2 mm at most" in finding.message
