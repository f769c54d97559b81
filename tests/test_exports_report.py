"""What a person reads and what a program reads of a rehearsal."""

from __future__ import annotations

import io
import json
import math
import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.alike import groups, handed_pairs
from assembly.findings import Amount, Finding
from assembly.plan import Move
from assembly.rehearsal import Rehearsal, rehearse
from exports import steps, words
from exports.findings_json import counts, findings_json, plan_json, text
from exports.names import runs, stretches
from exports.pictures import picture_files
from exports.pieces import board_feet
from exports.prose import plain, show_on
from exports.report import CAUTION, only_findings, only_plan, report, verdict
from model.as_cut import PartAsCut
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
    assert list(read) == ["design", "dryfit", "findings", "counts", "stages", "quality", "replayed", "longest_way",
                          "hours", "elapsed_hours"]
    for stage in read["stages"]:
        assert list(stage) == ["number", "name", "joints", "moves", "minutes", "hands", "mass_kg", "size_mm", "needs",
                               "units", "glue", "clamps", "actions", "rest", "where"]
        for move in stage["moves"]:
            assert list(move) == ["parts", "onto", "direction", "travel", "simultaneous"]
    assert read["stages"][1]["needs"] == [1]
    assert read["stages"][0]["moves"][0]["onto"] == []


def test_a_move_round_a_corner_says_the_way_it_comes_in(sound: Rehearsal) -> None:
    stage = sound.plan.stages[0]
    turned = replace(stage.moves[-1], before=(0.0, 0.0, -1.0))
    plan = replace(sound.plan, stages=(replace(stage, moves=(*stage.moves[:-1], turned)), *sound.plan.stages[1:]))
    read = json.loads(text(plan_json(replace(sound, plan=plan))))
    assert read["stages"][0]["moves"][-1]["before"] == [0.0, 0.0, -1.0]


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
                 "how much: 1.8 mm", "what to do: Cut the tenon to 39 mm or the mortise to 43 mm."):
        assert said in read
    assert read.index("1. STOP") < read.index("Good to know\n  grain\n    2. A joint is glued on end grain. Rely on")
    assert "from the left" in read and "from the front" in read and "from the bottom" in read
    assert "1 finding stops the glue-up" in read


def test_the_report_lists_pieces_and_stages_in_order(sound: Rehearsal) -> None:
    read = plain(report(sound))
    assert "12 pieces, 16 joints" in read
    assert "feet" in next(line for line in read.splitlines() if line.startswith("mark "))
    assert " 4   long_rail_01 to long_rail_04" in read
    assert "1400 × 500 × 700 mm (left to right, front to back, bottom to top)" in read
    assert "Nothing amiss." in read and "Nothing stops the glue-up." in read
    assert read.index("Stage 1: first two") < read.index("Stage 2: the rest, after stage 1")
    assert "1. lay down the group from stage 1 (post_1a and post_2a)" in read
    assert "2-11. slide " in read
    assert "one after another, onto the group from stage 1, 38 mm, → to the right" in " ".join(read.split())
    assert "About 6 min with 2 people in the shop; the heaviest move takes 2 people." in read


def test_the_report_and_the_plan_defer_to_codes_and_practice(sound: Rehearsal) -> None:
    for made in (report, only_plan):
        read = " ".join(plain(made(sound)).split())
        assert " ".join(CAUTION.split()) in read
        assert "Local building codes and licensed practice govern" in read


def test_findings_alone_and_plan_alone(sound: Rehearsal, wrong: Rehearsal) -> None:
    assert plain(only_findings(sound)) == "Nothing amiss.\n\nNothing stops the glue-up.\n"
    read = plain(only_findings(wrong))
    assert read.startswith("1. STOP  interference") and "Stage" not in read and "Pieces" not in read
    read = plain(only_plan(wrong))
    assert "Stage 1" in read and "interference" not in read
    assert "1 finding stops the glue-up: dryfit check says what is wrong." in read


def test_pieces_are_listed_by_their_marks() -> None:
    read = plain(report(by_hand(zoo.frame())))
    assert re.search(r"^mark +no\. +pieces", read, re.MULTILINE)
    rows = dict(re.findall(r"^([A-Z]+[ab]?) +\d+ +(\w+)", read, re.MULTILINE))
    assert rows == {group.mark: group.first for group in groups(zoo.frame())}
    pairs = ", ".join(f"{one.mark} and {other.mark}" for one, other in handed_pairs(zoo.frame()))
    assert pairs and f"Mirror images of each other: {pairs}." in read
    assert "Mirror images" not in plain(report(by_hand(zoo.ring_straight())))


def test_the_report_says_which_sub_assemblies_are_the_same_and_which_mirror_images() -> None:
    read = plain(report(rehearse(zoo.gateway_small())))
    assert "\nFar side and near side are the same.\n" in read
    assert "\nThe 5 parts with far_arch_1 and the 5 parts with near_arch_3 are the same.\n" in read
    assert " are the same" not in plain(report(rehearse(zoo.ring_straight())))


def test_pieces_as_cut_are_listed_as_drawn_and_named() -> None:
    drawn = zoo.trestle()
    cut = replace(drawn, drawn=drawn, measured=(PartAsCut("long_rail_01", length=820.0),))
    assert "measured otherwise: long_rail_01." in plain(report(by_hand(cut)))


def test_the_report_speaks_the_designs_unit() -> None:
    read = plain(report(by_hand(replace(zoo.trestle(), unit="in"), [CLASH])))
    assert "1 1/2 in, → to the right" in read
    assert "how much: 0.071 in" in read, "a sixteenth would hide it"
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


@pytest.mark.parametrize(("kind", "joints", "amount", "said"), [
    ("hands", ("j",), Amount(18.0, ""), "18 people"), ("hands", (), Amount(1.0, ""), "one person"),
    ("blocked", ("j", "k"), Amount(2.0, ""), "2 joints"), ("blocked", (), Amount(3.0, ""), "3 pieces"),
    ("gap", (), Amount(0.25, "deg"), "0.25°"), ("open-time", (), Amount(293.4, "min"), "293 min"),
    ("grain", (), Amount(1290.32, "mm2"), "12.9 cm²"), ("mass", (), Amount(3.0, "kg"), "3.0 kg")])
def test_how_much_in_words(kind: str, joints: tuple[str, ...], amount: Amount, said: str) -> None:
    found = replace(GRAIN, severity="warn", kind=kind, joints=joints, amount=amount)
    assert f"how much: {said}\n" in plain(report(by_hand(zoo.trestle(), [found])))


def test_many_notes_do_not_drown_the_report(sound: Rehearsal) -> None:
    notes = [replace(GRAIN, parts=(n,), message=f"{n} could go in turned.", kind="backwards")
             for n in sound.assembly.names[:9]]
    read = plain(only_findings(replace(sound, findings=(CLASH, *notes, GRAIN))))
    assert read.count("could go in turned.") == 5 and "and 4 more of this kind, in findings.json" in read
    assert read.count("  grain\n") == 1 and "    11. A joint is glued on end grain." in read
    assert len(read.splitlines()) < 24
    read = plain(only_findings(replace(sound, findings=(GRAIN,))))
    assert read.startswith("Nothing amiss.\n\nGood to know\n  grain\n    1. A joint")


def test_a_finding_says_when_it_shows_unless_its_message_does(sound: Rehearsal) -> None:
    def said(**changes: object) -> str:
        return plain(only_findings(replace(sound, findings=(replace(CLASH, **changes),))))  # type: ignore[arg-type]

    assert "when:" not in said()
    assert "when: it shows in stage 2, the rest\n" in said(stage="the rest")
    assert "when: it shows in stage 2, the rest, only after the glue has set\n" in said(stage="the rest", late=True)
    assert "when: it shows only after the glue has set\n" in said(late=True)
    assert "when:" not in said(stage="the rest", message="In the rest, once the glue has set, it shows.", late=True)


def test_findings_point_to_their_pictures_where_there_are_any(wrong: Rehearsal) -> None:
    files = picture_files(wrong)
    assert files == {1: "pictures/finding_01_interference.png"}
    assert "picture: pictures/finding_01_interference.png\n" in plain(report(wrong, files))
    assert "picture:" not in plain(report(wrong))


def test_findings_are_whole_sentences() -> None:
    assert words.sentence("stage a: too slow") == "Stage a: too slow."
    assert words.sentence("post_1, with a lean, is off.", {"post_1"}) == "post_1, with a lean, is off."
    assert words.sentence("") == ""


# -- words ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("direction", "said"), [
    ((1, 0, 0), "to the right"), ((-1, 0, 0), "to the left"), ((0, 1, 0), "away from you"),
    ((0, -1, 0), "toward you"), ((0, 0, 1), "up"), ((0, 0, -2), "down"), ((0, 0.01, -1), "down"),
    ((0, 0, 0), "nowhere"),
    ((math.cos(math.radians(18)), 0, math.sin(math.radians(18))), "to the right and 18° up"),
    ((0.1, -1, -0.2), "toward you and 13° off, down and to the right"),
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
    rails = [f"rail_{n}" for n in range(1, 20)]
    assert words.several(["post", *rails, "sill", "cap"]) == "post, rail_1 to rail_19 and 2 more"
    assert words.in_order(["r4", "r3", "r2", "r1", "r5", "r6", "r7"]) == ("r4 to r1, then r5 to r7", True)
    assert words.in_order(["r1", "r2", "r3"]) == ("r1 to r3", False)


@pytest.mark.parametrize(("names", "said"), [
    (["rail_1", "rail_2", "rail_3"], "rail_1 to rail_3"), (["rail_08", "rail_09", "rail_10"], "rail_08 to rail_10"),
    (["rail_1", "rail_3", "rail_4"], "rail_1, rail_3, rail_4"), (["a\n1", "a\n2", "a\n3"], "a 1 to a 3"),
    (["a1", "b2", "a3"], "a1, b2, a3"), (["r3", "r2", "r1"], "r1 to r3"), (["", "7"], "(no name), 7"), (["leg"], "leg"),
    ([f"left_{n}" for n in (1, 2, 3)] + [f"right_{n}" for n in (5, 6, 7)], "left_1 to left_3, right_5 to right_7"),
    ([f"arch_{n}_{n + 1}_tenon" for n in range(1, 9)], "arch_1_2_tenon to arch_8_9_tenon"),
    (["post_1a", "post_2a", "post_3a", "post_1b", "post_2b"], "post_1a to post_3a, post_1b, post_2b"),
    (["a_1_1", "a_1_2", "a_2_2", "a_3_2"], "a_1_1, a_1_2, a_2_2, a_3_2"),
    ([f"p{n}" for n in (1, 2, 4, 8, 16, 32)], "p1, p2, p4, 3 more"),
    (["0" * 5000 + "1", "0" * 5000 + "2", "x" * 200], f"{'0' * 59}…, {'0' * 59}…, {'x' * 59}…"),
])
def test_what_parts_are_called_together(names: list[str], said: str) -> None:
    assert words.commas(names, most=4) == said


@given(st.lists(st.from_regex(r"[a-c]{0,2}[0-9]{0,2}", fullmatch=True), max_size=12))
def test_runs_keep_every_name_once(names: list[str]) -> None:
    assert sorted(n for run in runs(names) for n in run) == sorted(set(names))
    assert [n for run in stretches(names) for n in run] == names


def test_board_feet_are_those_of_nominal_stock() -> None:
    rails = [p for p in zoo.frame().parts if p.group == "long_rail"]
    assert len(rails) == 4
    # 2x4 holds 2/3 board foot a foot (144 cubic inches, nominal): PS 20's definition of the board foot.
    assert board_feet(rails) == pytest.approx(4 * rails[0].cut_length / 304.8 * 2 / 3)
    assert board_feet([p for p in zoo.frame().parts if p.group == "post"]) is None


def test_moves_in_words() -> None:
    group = {frozenset({"b", "c"}): steps.Group("the group from stage 1 (b and c)", "the group from stage 1")}
    away = (0.0, 1.0, 0.0)
    assert steps.step(Move(("a",), (), away, 0.0), group, "mm") == "lay down a"
    assert steps.step(Move(("b", "c"), ("a",), away, 38.0), group, "mm") == (
        "slide the group from stage 1 (b and c) onto a, 38 mm, ⊗ away from you")
    assert steps.step(Move(("a",), ("b", "c", "d"), away, 38.0), group, "mm") == (
        "slide a onto the group from stage 1 and d, 38 mm, ⊗ away from you")
    assert steps.step(Move(("a",), ("b",), away, 0.0), group, "mm") == "lay a against b, moving it ⊗ away from you"
    assert steps.step(Move(("a", "e"), ("d",), away, 38.0), group, "mm") == (
        "slide a and e, held together, onto d, 38 mm, ⊗ away from you")
    assert steps.step(Move(("a", "e"), ("d",), away, 0.0), group, "mm") == (
        "lay a and e, held together, against d, moving them ⊗ away from you")
    assert steps.step(Move(("a",), ("d",), away, 38.0, before=(0.0, 0.0, -1.0)), group, "mm") == (
        "bring in a ↓ down until in line, then slide it onto d, 38 mm, ⊗ away from you")


def test_what_closes_at_the_same_time_is_one_line() -> None:
    ways = [(math.cos(k * math.tau / 5), math.sin(k * math.tau / 5), 0.0) for k in range(5)]
    ring = [Move((f"s{k}",), (), (-x, -y, 0.0), 60.0, simultaneous=True) for k, (x, y, _) in enumerate(ways)]
    told = steps.lines([Move(("base",), (), DOWN, 0.0), *ring], {}, "mm", str, band=True)
    assert [(t.number, t.said) for t in told] == [
        ("1.", "lay down base"),
        ("2-6.", "all at the same time, with a band: draw s0 to s4 home, each 60 mm inward")]
    two = [Move(("a",), ("c",), DOWN, 20.0, simultaneous=True), Move(("b",), ("c",), AWAY, 30.0, simultaneous=True)]
    assert _moves(*two) == [("1-2.", "all at the same time: draw home to c, which stays: a 20 mm, ↓ down; "
                                     "b 30 mm, ⊗ away from you")]


@pytest.mark.parametrize(("way", "arrow"), [
    ((1, 0, 0), "→"), ((-1, 0, 0), "←"), ((0, 0, 1), "↑"), ((0, 0, -1), "↓"), ((0, 1, 0), "⊗"), ((0, -1, 0), "⊙"),
    ((1, 0, 1), "↗"), ((-1, 0, 1), "↖"), ((-1, 0, -1), "↙"), ((1, 0, -1), "↘"), ((0.9, 0.3, 0.1), "→"),
    ((0.1, -0.9, 0.3), "⊙"), ((0, 0, 0), "·")])
def test_arrows_are_seen_from_the_front(way: tuple[float, float, float], arrow: str) -> None:
    assert words.arrow(way) == arrow


def _moves(*moves: Move) -> list[tuple[str, str]]:
    return [(line.number, line.said) for line in steps.lines(moves, {}, "mm", lambda name: name.rstrip("0123456789"))]


DOWN, AWAY = (0.0, 0.0, -1.0), (0.0, 1.0, 0.0)


def test_like_moves_are_told_in_one_line() -> None:
    slats = [Move((f"slat{n}",), ("rail",), DOWN, 9.5) for n in (3, 2, 1, 4, 5, 6)]
    assert _moves(Move(("rail",), (), AWAY, 0.0), *slats, Move(("cap",), ("rail",), DOWN, 9.5)) == [
        ("1.", "lay down rail"),
        ("2-8.", "slide slat3 to slat1, then slat4 to slat6, then cap, onto rail, 9.5 mm, ↓ down")]
    assert _moves(*(Move((f"s{n}",), ("rail",), DOWN, 0.0) for n in (1, 2, 3))) == [
        ("1-3.", "lay s1 to s3, one after another, against rail, moving each ↓ down")]
    assert _moves(Move(("a",), (), AWAY, 0.0), Move(("b",), (), AWAY, 0.0)) == [("1-2.", "lay down a and b")]


@pytest.mark.parametrize("other", [
    Move(("b",), ("post",), DOWN, 9.5), Move(("b",), ("rail",), AWAY, 9.5), Move(("b",), ("rail",), DOWN, 12.0),
    Move(("b", "c"), ("rail",), DOWN, 9.5), Move(("b",), ("rail",), DOWN, 9.5, simultaneous=True),
    Move(("b",), ("rail",), DOWN, 9.5, before=AWAY)])
def test_unlike_moves_are_told_apart(other: Move) -> None:
    assert [number for number, _ in _moves(Move(("a",), ("rail",), DOWN, 9.5), other)] == ["1.", "2."]


def test_many_moves_that_differ_in_their_way_alone_are_told_in_one_line() -> None:
    ring = [Move((f"s{n}",), (f"s{n - 1}",), (math.sin(n), math.cos(n), 0.0), 40.0) for n in range(2, 14)]
    assert _moves(Move(("s1",), (), AWAY, 0.0), *ring) == [
        ("1.", "lay down s1"),
        ("2-13.", "slide on, one after another, each onto the piece it meets, 40 mm straight along its joint: "
                  "s2 to s13")]
    assert len(_moves(*ring[:7])) == 7, "a few are told one by one"
    assert len(_moves(*(replace(m, parts=(f"{'abcdefghijkl'[n]}",)) for n, m in enumerate(ring)))) == 12, "not alike"


def test_what_is_cut_and_taken_away_after_the_glue_is_said() -> None:
    ring = zoo.ring()
    after = {f.after for part in ring.parts for f in part.features} - {None}
    assert len(after) == 1, "every segment is sawn after one stage"
    stage = replace(by_hand(ring).plan.stages[1], name=after.pop())
    assert steps.afterwards(stage, ring) == "Once the glue has set, saw the curve of segment_1 to segment_9."
    assert steps.afterwards(replace(stage, takes_away=("segment_5",)), ring) == (
        "Once the glue has set, take away segment_5, then saw the curve of segment_1 to segment_4 and segment_6 to "
        "segment_9.")
    assert steps.afterwards(replace(stage, name="another"), ring) == ""
