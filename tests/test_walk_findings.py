"""Findings of the walk page: what is shown agrees with what is told, drawn apart it lies open, right is right."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, get_args

import networkx as nx
import numpy as np
import pytest

from assembly.bites import bites
from assembly.findings import Amount, Finding, Kind
from assembly.meeting import meeting
from assembly.placing import place
from assembly.plan import Plan
from assembly.rehearsal import Rehearsal, rehearse
from exports.walk.book import Book
from exports.walk.findings import findings
from exports.walk.pencil import pencils
from exports.walk.scenes import PLANNED, shop, shown_stages
from model.design import Design
from model.frames import Frame, inverse, move, points, snapped, turn
from model.part import Feature
from model.solids import Solid
from tests import zoo
from tests.seeded.mistake import wrong
from tests.seeded.planters import PLANTERS, planted
from tests.seeded.test_mistakes import small_designs
from tests.test_pictures_kinds import exchanged, mirrored, rolled_over

Told = dict[str, Any]
PLANNED_KINDS = sorted(PLANNED)
QUARTER = turn([0.0, 0.0, 1.0], math.pi / 2)


class Kept(Book):
    """A book that keeps the solids, so that they can be looked at by their numbers."""

    def __init__(self, rehearsal: Rehearsal) -> None:
        super().__init__(rehearsal)
        self.solids: dict[int, Solid] = {}

    def shape(self, solid: Solid) -> int:
        number = super().shape(solid)
        self.solids[number] = solid
        return number


@dataclass(frozen=True, eq=False)
class Looked:
    """A rehearsal with the findings as the page has them."""

    rehearsal: Rehearsal
    found: list[Told]
    solids: Mapping[int, Solid]

    @property
    def names(self) -> list[str]:
        return [p.name for p in self.rehearsal.design.parts]

    def of(self, kind: str, severity: str = "") -> tuple[Finding, Told]:
        """The first finding of a kind, as it was noticed and as it is shown."""
        return next((f, t) for f, t in zip(self.rehearsal.findings, self.found, strict=True)
                    if f.kind == kind and severity in ("", f.severity))

    def shown(self, told: Told) -> dict[str, tuple[Frame, Solid]]:
        """What is shown, by name, where it stands before it is drawn apart."""
        return {self.names[s["part"]]: (frame_of(s["at"]), self.solids[s["shape"]]) for s in told["shown"]}

    def opened(self, told: Told) -> dict[str, tuple[Frame, Solid]]:
        """What is shown, drawn apart."""
        by = {self.names[a["part"]]: np.array(a["by"]) for a in told["apart"]}
        return {n: (move(*by.get(n, np.zeros(3))) @ frame, solid) for n, (frame, solid) in self.shown(told).items()}


def looked(rehearsal: Rehearsal) -> Looked:
    book = Kept(rehearsal)
    return Looked(rehearsal, findings(rehearsal, book), book.solids)


@cache
def mistake(name: str) -> Looked:
    return looked(rehearse(zoo.MISTAKES[name][0]()))


@cache
def cause(kind: str) -> Looked:
    made = {"backwards": rolled_over, "handed": mirrored, "look-alike": exchanged}
    return looked(rehearse(made[kind]()))


def frame_of(rows: Sequence[float]) -> Frame:
    return np.vstack([np.array(rows, dtype=np.float64).reshape(3, 4), [0.0, 0.0, 0.0, 1.0]])


def depth(one: tuple[Frame, Solid], other: tuple[Frame, Solid]) -> float:
    """How deep two pieces are in each other, mm; 0 where they are not."""
    found = bites(meeting(one[1], other[1], inverse(one[0]) @ other[0]))
    return max((b.depth for b in found), default=0.0)


def deepest(pieces: Mapping[str, tuple[Frame, Solid]], name: str) -> float:
    return max((depth(pieces[name], other) for n, other in pieces.items() if n != name), default=0.0)


def sound(told: Told, look: Looked) -> None:
    """Hold what must be true of every finding that is shown."""
    json.dumps(told, allow_nan=False)
    count, there = len(look.names), [s["part"] for s in told["shown"]]
    assert len(set(there)) == len(there), "each part stands in one place"
    for number in (*told["parts"], *there, *(a["part"] for a in told["apart"])):
        assert 0 <= number < count
    assert {a["part"] for a in told["apart"]} <= set(there), "only what is there is drawn apart"
    low, high = np.array(told["box"])
    assert (high - low > 1.0).all(), "the box to fly to has room in it"
    assert all(0 <= s["shape"] < len(look.solids) for s in told["shown"])
    for shown in told["shown"]:
        turned = frame_of(shown["at"])[:3, :3]
        np.testing.assert_allclose(turned @ turned.T, np.eye(3), atol=1e-6)
        assert np.linalg.det(turned) > 0
    assert told["title"] and told["message"] and told["sign"] in ("STOP", "WARN", "note")
    if told["at"] is not None and told["stage"] is None:
        at = np.array(told["at"])
        assert (low - 1e-3 <= at).all() and (at <= high + 1e-3).all(), "the spot is in view"
    if told["pencil"] is not None:
        marks = pencils(look.rehearsal)[look.names[told["pencil"]["part"]]]
        assert 0 <= told["pencil"]["mark"] < len(marks)


# -- every mistake of the zoo ---------------------------------------------------------------------


@pytest.mark.parametrize("name", sorted(zoo.MISTAKES))
def test_a_mistake_is_shown_with_its_parts_at_its_place(name: str) -> None:
    look = mistake(name)
    finding, told = look.of(zoo.MISTAKES[name][1])
    for one in look.found:
        sound(one, look)
    assert [look.names[k] for k in told["parts"]] == [n for n in finding.parts if n in look.names]
    assert {look.names[k] for k in told["parts"]} <= look.shown(told).keys(), "its parts are there"
    assert told["number"] == look.rehearsal.findings.index(finding) + 1
    if finding.where is not None and told["stage"] is None:
        np.testing.assert_allclose(told["at"], finding.where, atol=1e-3)
    if name != "part_loose":
        assert told["apart"], "it is drawn apart"


@pytest.mark.parametrize("name", sorted(zoo.MISTAKES))
def test_shown_parts_stand_where_they_stand_at_that_moment(name: str) -> None:
    look = mistake(name)
    home = look.rehearsal.assembly
    for told in look.found:
        if told["stage"] is None and told["kind"] not in ("handed", "look alike", "unmatched"):
            for part, (frame, _) in look.shown(told).items():
                np.testing.assert_allclose(frame, home.frames[part], atol=1e-3)


def test_an_interference_is_one_where_it_stands_and_none_drawn_apart() -> None:
    look = mistake("mortise_shifted")
    finding, told = look.of("interference")
    assert finding.amount is not None
    a, b = finding.parts
    here, there = look.shown(told), look.opened(told)
    assert depth(here[a], here[b]) == pytest.approx(finding.amount.value, abs=0.01)
    assert depth(there[a], there[b]) == 0.0
    axis = look.rehearsal.assembly.axis(look.rehearsal.design.joint["long_rail_01_start"])
    (by,) = [np.array(one["by"]) for one in told["apart"]]
    assert abs(float(by @ axis)) == pytest.approx(float(np.linalg.norm(by)), rel=1e-6), "along the joint"


def deeper(feature: Feature) -> Feature:
    """A tenon, or a mortise, 20 mm longer."""
    along = feature.frame @ move(z=20.0) @ inverse(feature.frame)
    return replace(feature, solid=feature.solid.joined(feature.solid.moved(along)))


def test_two_tenons_that_meet_inside_a_post_are_drawn_out_of_it() -> None:
    """At one level all tenons and mortises are 20 mm longer: tenons run into each other that no joint ties."""
    design = zoo.frame_level()
    for part in design.parts:
        for role in ("tenon", "mortise"):
            design = zoo.changed(design, part.name, lambda p, role=role: zoo.refeatured(p, role, deeper))
    look = looked(checked(design))
    pairs = [(f, t) for f, t in zip(look.rehearsal.findings, look.found, strict=True)
             if f.kind == "interference" and {p.split("_rail")[0] for p in f.parts} == {"long", "cross"}]
    assert pairs
    for finding, told in pairs:
        sound(told, look)
        a, b = finding.parts
        here, there = look.shown(told), look.opened(told)
        assert depth(here[a], here[b]) > 0.025 and depth(there[a], there[b]) == 0.0


@pytest.mark.parametrize("name", ["tenon_long", "rail_short", "leg_short"])
def test_an_open_joint_is_drawn_apart_along_its_axis(name: str) -> None:
    look = mistake(name)
    finding, told = look.of("gap")
    design = look.rehearsal.design
    joint = next(design.joint[n] for n in finding.joints if {design.joint[n].a, design.joint[n].b} <= {*finding.parts})
    there = look.shown(told)
    axis = (there[joint.b][0] @ joint.seat_b)[:3, 2]
    by = {look.names[a["part"]]: np.array(a["by"]) for a in told["apart"]}
    opened = by.get(joint.b, np.zeros(3)) - by.get(joint.a, np.zeros(3))
    assert float(opened @ axis) > joint.travel, "the tenon comes right out"
    assert float(np.linalg.norm(np.cross(opened, axis))) < 1e-2 * float(np.linalg.norm(opened))
    apart = look.opened(told)
    assert depth(apart[joint.a], apart[joint.b]) == 0.0


def test_a_part_without_a_place_lies_beside_the_work() -> None:
    look = mistake("part_loose")
    _, told = look.of("unmatched")
    shown = look.shown(told)
    stray = points(shown["stray"][0], shown["stray"][1].mesh[0])
    work = np.vstack([points(f, s.mesh[0]) for n, (f, s) in shown.items() if n != "stray"])
    assert stray[:, 0].min() > work[:, 0].max() + 50.0
    assert stray[:, 2].min() == pytest.approx(work[:, 2].min())


# -- wrong and right ------------------------------------------------------------------------------


def test_a_piece_cut_the_wrong_way_round_clashes_wrong_and_fits_right() -> None:
    look = cause("backwards")
    _, told = look.of("backwards", "stop")
    sound(told, look)
    way = told["turned"]
    name = look.names[way["part"]]
    assert name == "far_leg_left" and "wrong" in way["wrongSays"] and way["others"] == []
    around = {n: p for n, p in look.shown(told).items() if n != name}
    assert around, "what it is joined to is there"
    wrong_there = (frame_of(way["wrong"]), look.solids[way["wrongShape"]])
    right_there = (frame_of(way["right"]), look.solids[way["rightShape"]])
    assert deepest({**around, name: wrong_there}, name) > 1.0
    assert deepest({**around, name: right_there}, name) == 0.0
    np.testing.assert_allclose(look.shown(told)[name][0], wrong_there[0], atol=1e-6)
    assert told["pencil"] is not None, "its mark would have prevented it"


@pytest.mark.parametrize("kind", ["handed", "look-alike"])
def test_a_piece_of_the_wrong_hand_or_in_anothers_place_is_shown_both_ways(kind: str) -> None:
    look = cause(kind)
    finding, told = look.of(kind, "stop")
    sound(told, look)
    way = told["turned"]
    assert look.names[way["part"]] == finding.parts[0]
    assert way["wrongShape"] != way["rightShape"] and way["wrong"] == way["right"]
    assert {look.names[o["part"]] for o in way["others"]} == set(finding.parts[1:])
    for one in (way, *way["others"]):
        name = look.names[one["part"]]
        around = {n: p for n, p in look.shown(told).items() if n not in finding.parts}
        assert deepest({**around, name: (frame_of(one["right"]), look.solids[one["rightShape"]])}, name) == 0.0


def test_pieces_that_could_go_in_turned_fit_right_and_are_wrong_turned() -> None:
    """Of every note of the small gateway the right way round is in nothing; turned, rails find no mortise."""
    look = looked(rehearse(zoo.gateway_small()))
    notes = [(f, t) for f, t in zip(look.rehearsal.findings, look.found, strict=True) if f.kind == "backwards"]
    assert len(notes) >= 3
    for finding, told in notes:
        sound(told, look)
        way, shown = told["turned"], look.shown(told)
        turned = [way, *way["others"]]
        names = [look.names[one["part"]] for one in turned]
        assert names[0] == finding.parts[0] and told["pencil"] is not None
        around = {n: p for n, p in shown.items() if n not in names}
        right = {look.names[o["part"]]: (frame_of(o["right"]), look.solids[o["rightShape"]]) for o in turned}
        bad = {look.names[o["part"]]: (frame_of(o["wrong"]), look.solids[o["wrongShape"]]) for o in turned}
        assert all(depth(right[n], p) == 0.0 for n in names for p in around.values())
        assert any(depth(bad[n], p) > 1.0 for n in names for p in around.values())
        opened = look.opened(told)
        assert all(depth(opened[n], p) == 0.0 for n in names for m, p in opened.items() if m not in names), \
            "what it is joined to is drawn right off it"


def test_parts_that_look_alike_lie_in_each_other_and_side_by_side_drawn_apart() -> None:
    for name, kind in (("mortise_shifted", "look-alike"), ("rail_short", "handed")):
        look = mistake(name)
        finding, told = look.of(kind)
        shown, opened = look.shown(told), look.opened(told)
        assert len(shown) == 2 and set(shown) <= set(finding.parts)
        one, other = shown
        assert depth(shown[one], shown[other]) > 10.0, "laid on each other"
        assert depth(opened[one], opened[other]) == 0.0
        low, high = np.array(told["box"])
        at = np.vstack([points(f, s.mesh[0]) for f, s in opened.values()])
        assert (at.min(axis=0) >= low).all() and (at.max(axis=0) <= high).all(), "both are in view"


# -- plans ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", PLANNED_KINDS)
def test_a_finding_about_a_plan_shows_its_stage_whole_as_it_lies(kind: str) -> None:
    plain = rehearse(zoo.frame())
    stage = shown_stages(plain)[-1]
    joint = stage.joints[0]
    parts = () if kind == "clamps" else stage.parts[:2]
    finding = Finding(kind, "warn", parts, "It is so.", "Do this.", None, Amount(3.0, "min"),  # type: ignore[arg-type]
                      (joint,), stage=stage.name)
    look = looked(replace(plain, findings=(finding,)))
    (told,) = look.found
    sound(told, look)
    assert told["stage"] == len(shown_stages(plain)) - 1
    shown = look.shown(told)
    assert set(shown) == set(stage.parts)
    for name, (frame, _) in shown.items():
        np.testing.assert_allclose(frame, shop(stage) @ plain.assembly.frames[name], atol=1e-3)
    assert told["parts"], "one that names joints alone is shown with their parts"


@pytest.mark.parametrize("kind", get_args(Kind))
def test_every_kind_gives_something_whatever_it_names(kind: Kind) -> None:
    """One part, two, all, none; with a place and without; a stage that there is and one that there is not."""
    plain = rehearse(zoo.trestle())
    names = tuple(p.name for p in plain.design.parts)
    stage = shown_stages(plain)[0].name
    made = [Finding(kind, severity, parts, "It is so.", "Do this.", where, amount, joints, stage=which)  # type: ignore[arg-type]
            for severity in ("stop", "note") for parts in (names[:1], names[1:3], names, (), ("nobody",))
            for where, amount in ((None, None), ((0.0, 0.0, 250.0), Amount(0.12, "mm")))
            for joints, which in (((), ""), (("long_rail_01_end", "nobody"), stage), ((), "nowhere"))]
    look = looked(replace(plain, findings=tuple(made)))
    assert len(look.found) == len(made)
    for told in look.found:
        sound(told, look)


# -- laws -----------------------------------------------------------------------------------------


def checked(design: Design) -> Rehearsal:
    """A rehearsal of a design without its plan: quick, for findings of fit."""
    return Rehearsal(design, place(design), (), wrong(design), Plan((), nx.DiGraph()))


@pytest.mark.parametrize("name", sorted(zoo.MISTAKES))
@pytest.mark.parametrize("carry", [move(1234.0, -777.0, 50.0), move(10.0, 20.0) @ QUARTER], ids=["moved", "turned"])
def test_moving_the_whole_moves_what_is_shown_with_it(name: str, carry: Frame) -> None:
    design = zoo.MISTAKES[name][0]()
    one = looked(checked(design))
    other = looked(checked(replace(design, base_frame=snapped(carry @ design.base_frame))))
    key = [(t["kind"], t["parts"]) for t in one.found]
    assert sorted(map(str, key)) == sorted(str((t["kind"], t["parts"])) for t in other.found)
    for told in one.found:
        if told["kind"] in ("look alike", "handed", "unmatched"):  # laid side by side as the eye likes it best
            continue
        same = next(t for t in other.found if (t["kind"], t["parts"]) == (told["kind"], told["parts"]))
        np.testing.assert_allclose(same["at"], points(carry, np.array(told["at"])), atol=2e-3)
        by = {a["part"]: a["by"] for a in told["apart"]}
        again = {a["part"]: a["by"] for a in same["apart"]}
        assert by.keys() == again.keys()
        for part, way in by.items():
            np.testing.assert_allclose(again[part], carry[:3, :3] @ np.array(way), atol=2e-2)


@pytest.mark.parametrize("planter", PLANTERS, ids=lambda p: p.name)
def test_planted_mistakes_are_shown(planter: Any) -> None:
    for _, planted_one in planted(small_designs(), 1, 77, [planter]):
        look = looked(checked(planted_one.design))
        assert look.found
        for finding, told in zip(look.rehearsal.findings, look.found, strict=True):
            sound(told, look)
            if finding.kind == "interference" and finding.severity == "stop":
                a, b = finding.parts[:2]
                opened = look.opened(told)
                assert depth(opened[a], opened[b]) == 0.0
