"""What a person reads and what a program reads of a rehearsal."""

from __future__ import annotations

import io
import json
import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.findings import Amount, Finding
from assembly.plan import Move
from assembly.rehearsal import Rehearsal
from exports import steps, words
from exports.findings_json import counts, findings_json, plan_json, text
from exports.pieces import alike, called
from exports.report import CAUTION, plain, report, show_on, verdict
from model.part import Feature, Part
from model.shapes.board import board
from model.solids import box
from tests import zoo
from tests.rehearsed import CLASH, GRAIN, by_hand


@pytest.fixture(scope="module")
def sound() -> Rehearsal:
    return by_hand(zoo.frame())


@pytest.fixture(scope="module")
def wrong() -> Rehearsal:
    return by_hand(zoo.trestle(), [GRAIN, CLASH])


# -- JSON: the shape is a promise to other programs -----------------------------------------------


def test_findings_have_exactly_these_keys(wrong: Rehearsal) -> None:
    read = json.loads(text(findings_json(wrong)))
    assert list(read) == ["design", "dryfit", "findings", "counts"]
    assert read["counts"] == {"stop": 1, "warn": 0, "note": 1}
    for finding in read["findings"]:
        assert list(finding) == ["kind", "severity", "parts", "joints", "where", "amount", "message", "remedy"]
    clash, grain = read["findings"]
    assert clash["where"] == [850.0, 0.0, 250.0]
    assert clash["amount"] == {"value": 1.8, "unit": "mm"}
    assert clash["joints"] == ["long_rail_01_end"]
    assert grain["where"] is None and grain["amount"] is None


def test_stages_have_exactly_these_keys(sound: Rehearsal) -> None:
    read = json.loads(text(plan_json(sound)))
    assert list(read) == ["design", "dryfit", "findings", "counts", "stages"]
    for stage in read["stages"]:
        assert list(stage) == ["number", "name", "joints", "moves", "minutes", "hands", "mass_kg", "size_mm", "needs"]
        for move in stage["moves"]:
            assert list(move) == ["parts", "onto", "direction", "travel", "simultaneous"]
    assert read["stages"][1]["needs"] == [1]
    assert read["stages"][0]["moves"][0]["onto"] == []


@given(st.floats(), st.floats())
def test_numbers_are_finite_whatever_is_found(value: float, place: float) -> None:
    odd = replace(CLASH, where=(place, 0.0, -0.0), amount=Amount(value, "mm"))
    rehearsal = replace(_TRESTLE, findings=(odd,))
    read = json.loads(text(findings_json(rehearsal)), parse_constant=pytest.fail)
    found = read["findings"][0]["amount"]["value"]
    assert found is None if not math.isfinite(value) else found == pytest.approx(value, abs=1e-4)


_TRESTLE = by_hand(zoo.trestle())


# -- the report -----------------------------------------------------------------------------------


def test_the_report_says_what_where_how_much_and_what_to_do(wrong: Rehearsal) -> None:
    read = plain(report(wrong))
    for said in ("STOP  interference: long_rail_01 and post_2", "long_rail_01 runs 1.8 mm into post_2.",
                 "how much: 1.80 mm", "what to do: Cut the tenon to 39 mm or the mortise to 43 mm."):
        assert said in read
    assert read.index("STOP") < read.index("note  grain")
    assert "from the left" in read and "from the front" in read and "from the bottom" in read
    assert "1 finding stops the glue-up" in read


def test_the_report_lists_pieces_and_stages_in_order(sound: Rehearsal) -> None:
    read = plain(report(sound))
    assert "12 pieces, 16 joints" in read
    assert "board feet" in next(line for line in read.splitlines() if line.startswith("no."))
    assert " 4   long_rail_01 to long_rail_04" in read
    assert "1400 × 500 × 700 mm (left to right, front to back, bottom to top)" in read
    assert "Nothing amiss." in read and "Nothing stops the glue-up." in read
    assert read.index("Stage 1: first two") < read.index("Stage 2: the rest, after stage 1")
    assert "1. lay down the group from stage 1 (post_1a and post_2a)" in read
    assert "2. slide post_1b onto the group from stage 1, 38 mm, to the right" in read
    assert "6.5 of the 10 minutes that the glue stays open (4.0 to spread, 2.5 to close), 2 pairs of hands." in read


def test_the_report_defers_to_codes_and_practice(sound: Rehearsal) -> None:
    for chapters in ({}, {"parts": False, "stages": False}):
        read = " ".join(plain(report(sound, **chapters)).split())
        assert " ".join(CAUTION.split()) in read
        assert "Local building codes and licensed practice govern" in read


def test_the_report_speaks_the_designs_unit() -> None:
    read = plain(report(by_hand(replace(zoo.trestle(), unit="in"), [CLASH])))
    assert "1 1/2 in, to the right" in read
    assert "5/64 in (1.80 mm)" in read, "a sixteenth would hide it"
    assert " lb)" in read


def test_plain_text_is_narrow_and_bare(sound: Rehearsal) -> None:
    stream = io.StringIO()
    show_on(stream, report(sound))
    assert stream.getvalue() == plain(report(sound))
    assert "\x1b" not in stream.getvalue()
    assert all(len(line) <= 100 and line == line.rstrip() for line in stream.getvalue().splitlines())


def test_a_terminal_gets_colour_and_the_same_words(wrong: Rehearsal, monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    stream = Terminal()
    show_on(stream, report(wrong))
    assert "\x1b[" in stream.getvalue()
    assert "STOP" in stream.getvalue()


def test_hostile_names_cannot_reach_the_terminal() -> None:
    name = "\x1b[2J[bold red]\n:smile:" + "x" * 10_000
    design = zoo.trestle()
    design = replace(design, name=name, says=name, parts=tuple(
        replace(p, group=name) for p in design.parts))
    bad = Finding("gap", "stop", (name,), name, name, joints=(name,))
    read = plain(report(by_hand(design, [bad])))
    assert "\x1b" not in read
    assert "[bold red]" in read and ":smile:" in read, "shown as they are, never interpreted"


def test_verdicts() -> None:
    assert verdict([]) == "Nothing stops the glue-up."
    assert verdict([GRAIN]) == "Nothing stops the glue-up."
    assert "1 warning first" in verdict([replace(GRAIN, severity="warn")])
    assert verdict([CLASH, CLASH, GRAIN]).startswith("2 findings stop")
    assert counts([]) == {"stop": 0, "warn": 0, "note": 0}


# -- words ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("direction", "said"), [
    ((1, 0, 0), "to the right"), ((-1, 0, 0), "to the left"), ((0, 1, 0), "away from you"),
    ((0, -1, 0), "toward you"), ((0, 0, 1), "up"), ((0, 0, -2), "down"), ((0, 0.01, -1), "down"),
    ((0, 0, 0), "nowhere"),
    ((math.cos(math.radians(18)), 0, math.sin(math.radians(18))), "to the right and up, 18° off straight right"),
    ((0.1, -1, -0.2), "toward you, down and to the right, 13° off straight toward you"),
])
def test_directions(direction: tuple[float, float, float], said: str) -> None:
    assert words.way(direction) == said


@given(st.tuples(*[st.floats(-1, 1).filter(lambda x: abs(x) > 0.2)] * 3))
def test_the_mirror_turns_right_into_left(direction: tuple[float, float, float]) -> None:
    x, y, z = direction
    swapped = words.way((-x, y, z)).replace("left", "?").replace("right", "left").replace("?", "right")
    assert swapped == words.way(direction)


def test_names_in_a_row() -> None:
    assert words.several(["a"]) == "a"
    assert words.several(["a", "b"]) == "a and b"
    assert words.several(["a", "b", "c"]) == "a, b and c"
    assert words.several(list("abcdef")) == "a, b and 4 more"
    assert words.several([]) == "nothing"


@pytest.mark.parametrize(("names", "said"), [
    (["rail_1", "rail_2", "rail_3"], "rail_1 to rail_3"), (["rail_08", "rail_09", "rail_10"], "rail_08 to rail_10"),
    (["rail_1", "rail_3", "rail_4"], "rail_1, rail_3, rail_4"), (["a\n1", "a\n2", "a\n3"], "a 1 to a 3"),
    (["a1", "b2", "a3"], "a1, a3, b2"), (["r3", "r2", "r1"], "r1 to r3"), (["", "7"], "(no name), 7"), (["leg"], "leg"),
    ([f"left_{n}" for n in (1, 2, 3)] + [f"right_{n}" for n in (5, 6, 7)], "left_1 to left_3, right_5 to right_7"),
    ([f"p{n}" for n in (1, 2, 4, 8, 16, 32)], "p1, p2, p4, p8, p16 and 1 more"),
])
def test_what_parts_alike_are_called(names: list[str], said: str) -> None:
    assert called([Part(name, board(zoo.STOCK["rail"], 300.0)) for name in names]) == said


def test_one_shape_by_two_recipes_is_alike_and_a_hair_more_is_not() -> None:
    rail = board(zoo.STOCK["rail"], 300.0)

    def cut(name: str, low: tuple[float, ...], high: tuple[float, ...]) -> Part:
        return Part(name, rail, (Feature("lap", "cut", box(low, high), "lap"),))

    short = cut("short", (100, -100, 0), (140, 100, 50))
    long = cut("long", (100, -2000, 0), (140, 900, 70))
    wider = cut("wider", (100, -100, 0), (140.1, 100, 50))
    mirrored = cut("mirrored", (160, -100, 0), (200, 100, 50))
    assert short.finished.key != long.finished.key
    design = replace(zoo.trestle(), parts=(short, wider, long, mirrored))
    assert [[p.name for p in g.parts] for g in alike(design)] == [["short", "long"], ["wider"], ["mirrored"]]


def test_parts_alike_share_solid_stock_and_stay() -> None:
    groups = alike(zoo.frame())
    assert sum(len(g.parts) for g in groups) == len(zoo.frame().parts)
    rails = next(g for g in groups if g.first.group == "long_rail")
    assert len(rails.parts) == 4
    # 2x4 holds 2/3 board foot a foot (144 cubic inches, nominal): PS 20's definition of the board foot.
    feet = 4 * rails.first.cut_length / 304.8 * 2 / 3
    assert rails.board_feet == pytest.approx(feet)


def test_moves_in_words() -> None:
    group = {frozenset({"b", "c"}): steps.Group("the group from stage 1 (b and c)", "the group from stage 1")}
    away = (0.0, 1.0, 0.0)
    assert steps.step(Move(("a",), (), away, 0.0), group, "mm") == "lay down a"
    assert steps.step(Move(("b", "c"), ("a",), away, 38.0), group, "mm") == (
        "slide the group from stage 1 (b and c) onto a, 38 mm, away from you")
    assert steps.step(Move(("a",), ("b", "c", "d"), away, 38.0), group, "mm") == (
        "slide a onto the group from stage 1 and d, 38 mm, away from you")
    assert steps.step(Move(("a",), ("b",), away, 0.0), group, "mm") == "lay a against b, moving it away from you"
    assert steps.step(Move(("a", "e"), ("d",), away, 38.0), group, "mm") == (
        "slide a and e, held together, onto d, 38 mm, away from you")
    assert steps.step(Move(("a", "e"), ("d",), away, 0.0), group, "mm") == (
        "lay a and e, held together, against d, moving them away from you")
    assert steps.step(Move(("a",), ("d",), away, 38.0, before=(0.0, 0.0, -1.0)), group, "mm") == (
        "bring in a down until in line, then slide it onto d, 38 mm, away from you")
    assert steps.step(Move(("a",), (), away, 20.0, simultaneous=True), group, "mm") == (
        "at the same time as the moves beside this one, draw a home to the others, 20 mm, away from you")
