"""What was measured, as the design file says it: which entry counts, and whose sizes change."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from model.as_cut import CutAsCut, PartAsCut
from model.design import Design, Flush, Shop
from model.errors import DesignError, Problem
from model.reader import read

Reads = Callable[[str], Design]
Refuses = Callable[[str], list[Problem]]

LADDER = """name = "Ladder"
unit = "{unit}"
[stock]
beam = {{ thickness = "80 mm", width = "80 mm", species = "Western larch" }}
lath = {{ thickness = "30 mm", width = "60 mm", species = "Western larch" }}
[part]
left = {{ shape = "board", stock = "beam", length = "1000 mm" }}
right = {{ shape = "board", stock = "beam", length = "1000 mm" }}
foot = {{ shape = "board", stock = "beam", length = "400 mm", width = "70 mm" }}
rung = {{ shape = "board", stock = "lath", length = "400 mm" }}
[joint]
rung_left = {{ kind = "blind tenon", from = "rung.start", into = "left.face", along = "250 mm" }}
rung_right = {{ kind = "blind tenon", from = "rung.end", into = "right.back", along = "250 mm" }}
stand = {{ kind = "blind tenon", from = "left.start", into = "foot.face", along = "200 mm" }}
[pattern.rungs]
part = "rung"
count = 2
step = "300 mm"
"""


@pytest.fixture
def reads(tmp_path: Path) -> Reads:
    def read_text(section: str, unit: str = "mm") -> Design:
        file = tmp_path / "design.toml"
        file.write_text(LADDER.format(unit=unit) + section, encoding="utf-8")
        return read(file)
    return read_text


@pytest.fixture
def refuses(reads: Reads) -> Refuses:
    def problems(section: str) -> list[Problem]:
        with pytest.raises(DesignError) as refused:
            reads(section)
        return refused.value.problems
    return problems


def measured(design: Design) -> dict[str, PartAsCut]:
    return {record.part: record for record in design.measured}


def test_nothing_measured_is_the_drawing(reads: Reads) -> None:
    for section in ("", "[as_cut]\n", "[as_cut.parts]\n", "[as_cut.parts.left]\n[as_cut.boards.beam]\n",
                    "[as_cut.parts.left.joint.stand]\n"):
        design = reads(section)
        assert design.measured == () and design.drawn is None


@pytest.mark.parametrize(("key", "value", "what"), [
    ("length", '"998 mm"', 998.0), ("length", "998", 998.0), ("width", '"3 in"', 76.2), ("thickness", "79.5", 79.5),
    ("start_angle", "0.5", math.radians(0.5)), ("end_angle", '"-0.25 deg"', math.radians(-0.25)),
    ("turned", '"end for end"', "end for end"), ("turned", '"rolled over"', "rolled over"), ("mirrored", "true", True),
])
def test_every_size_of_a_part_is_read(reads: Reads, key: str, value: str, what: Any) -> None:
    design = reads(f"[as_cut.parts.left]\n{key} = {value}\n")
    [record] = design.measured
    assert record == PartAsCut("left", **{key: what})
    assert design.drawn is not None and design.drawn.measured == ()


@pytest.mark.parametrize(("key", "value", "what"), [
    ("along", "2", 2.0), ("along", '"-1/16 in"', -1.5875), ("across", "-3", -3.0), ("width", '"30 mm"', 30.0),
    ("thickness", "9.5", 9.5), ("depth", "25", 25.0), ("left_out", "true", True),
])
def test_every_size_of_a_cut_is_read(reads: Reads, key: str, value: str, what: Any) -> None:
    [record] = reads(f"[as_cut.parts.rung_1.joint.rung_left_1]\n{key} = {value}\n").measured
    assert record == PartAsCut("rung_1", cuts=(CutAsCut("rung_left_1", **{key: what}),))


def test_bare_numbers_are_in_the_unit_of_the_file(reads: Reads) -> None:
    [record] = reads("[as_cut.parts.left]\nlength = 39\n", "in").measured
    assert record.length == pytest.approx(990.6)


def test_parts_that_change_places(reads: Reads) -> None:
    design = reads('[as_cut.parts.left]\nexchanged_with = "right"\n')
    assert measured(design)["left"].exchanged_with == "right"


def test_a_board_goes_for_its_parts_that_have_its_size(reads: Reads) -> None:
    found = measured(reads("[as_cut.boards.beam]\nthickness = 79\nwidth = 78\n"))
    sizes = {name: (r.thickness, r.width) for name, r in found.items()}
    assert sizes == {"left": (79.0, 78.0), "right": (79.0, 78.0), "foot": (79.0, None)}, "the foot is ripped narrower"


def test_the_more_particular_wins_size_by_size(reads: Reads) -> None:
    found = measured(reads("""[as_cut.boards.beam]
thickness = 79
width = 78
[as_cut.parts."*t"]
thickness = 78.5
[as_cut.parts.right]
thickness = 78.1
length = 999
"""))
    assert [found[n].thickness for n in ("left", "right", "foot")] == [78.5, 78.1, 78.5]
    assert [found[n].width for n in ("left", "right", "foot")] == [78.0, 78.0, None]
    assert [found[n].length for n in ("left", "right", "foot")] == [None, 999.0, None]


def test_a_full_name_that_says_as_drawn_takes_its_part_out(reads: Reads) -> None:
    found = measured(reads("[as_cut.boards.beam]\nthickness = 79\n[as_cut.parts.left]\nthickness = 80\n"))
    assert set(found) == {"right", "foot"}


def test_joints_by_pattern_and_by_name(reads: Reads) -> None:
    found = measured(reads("""[as_cut.parts."rung_*".joint."*_left_*"]
depth = 20
along = 1
[as_cut.parts."rung_*".joint.rung_left_2]
depth = 21
[as_cut.parts.rung_1.joint."*"]
along = 0
"""))
    assert found["rung_1"].cuts == (CutAsCut("rung_left_1", depth=20.0),)
    assert found["rung_2"].cuts == (CutAsCut("rung_left_2", along=1.0, depth=21.0),)


def test_records_stand_in_the_designs_order(reads: Reads) -> None:
    design = reads("[as_cut.parts.rung_2]\nlength = 399\n[as_cut.parts.left]\nlength = 999\n")
    assert [record.part for record in design.measured] == ["left", "rung_2"]


def test_two_patterns_that_agree_are_no_problem(reads: Reads) -> None:
    found = measured(reads('[as_cut.parts."l*"]\nwidth = 79\n[as_cut.parts."*t"]\nwidth = 79\n'))
    assert found["left"].width == 79.0


@pytest.mark.parametrize(("section", "key", "nearest"), [
    ("[as_cut.parts.rigth]\nlength = 399\n", "as_cut.parts.rigth", "right"),
    ("[as_cut.parts.left.joint.stnd]\nalong = 3\n", "as_cut.parts.left.joint.stnd", "stand"),
    ("[as_cut.boards.baem]\nwidth = 3\n", "as_cut.boards.baem", "beam"),
    ("[as_cut.parts.left]\nexchanged_with = 'rihgt'\n", "as_cut.parts.left.exchanged_with", "right"),
    ("[as_cut.parts.left]\nturned = 'end to end'\n", "as_cut.parts.left.turned", "end for end"),
    ("[as_cut.part.left]\nlength = 399\n", "as_cut.part", "parts"),
    ("[as_cutt.parts.left]\nlength = 399\n", "as_cutt", "as_cut"),
    ("[[flush]]\nfaces = ['left.fase', 'right.face']\n", "flush[1].faces[1]", "face"),
])
def test_a_misspelt_name_brings_the_nearest(refuses: Refuses, section: str, key: str, nearest: str) -> None:
    [problem] = refuses(section)
    assert (problem.key, problem.nearest) == (key, nearest)
    assert problem.line is not None and problem.line > LADDER.count("\n")


def test_the_name_of_a_pattern_is_told_how_to_name_its_copies(refuses: Refuses) -> None:
    [problem] = refuses("[as_cut.parts.rung]\nlength = 399\n")
    assert problem.accepted == 'rung_1 and the like, or "rung_*" for all 2'


def test_a_board_that_no_part_has_the_size_of(tmp_path: Path) -> None:
    file = tmp_path / "design.toml"
    ripped = LADDER.format(unit="mm").replace('"lath", length', '"lath", width = 50, length')
    file.write_text(ripped + "[as_cut.boards.lath]\nwidth = 58\nthickness = 29\n", encoding="utf-8")
    with pytest.raises(DesignError) as refused:
        read(file)
    [problem] = refused.value.problems
    assert problem.key == "as_cut.boards.lath.width" and "has the width of its board" in problem.message


def test_faces_meant_to_be_flush(reads: Reads) -> None:
    design = reads('[[flush]]\nfaces = ["left.edge", "right.edge"]\n[[flush]]\nfaces = ["foot.edge", "left.edge"]\n')
    assert design.flush == (Flush("left", "edge", "right", "edge"), Flush("foot", "edge", "left", "edge"))


@pytest.mark.parametrize(("lines", "shop"), [
    ("", Shop()), ("fit_least = 0.05", Shop(fit_least=0.05)), ('fit_most = "0.01 in"', Shop(fit_most=0.254)),
    ("fit_least = 0.1\nfit_most = 0.1", Shop(fit_least=0.1, fit_most=0.1)),
    ("moisture_low = 5", Shop(moisture=(5.0, 16.0))), ("moisture_high = 12.5", Shop(moisture=(8.0, 12.5))),
    ("moisture_low = 0\nmoisture_high = 30", Shop(moisture=(0.0, 30.0)))])
def test_limits_of_the_shop(reads: Reads, lines: str, shop: Shop) -> None:
    assert reads(f"[shop]\n{lines}\n").shop == shop


@pytest.mark.parametrize(("lines", "key", "accepted"), [
    ("fit_least = 0.3\nfit_most = 0.2", "fit_least", "at most 0.2 mm"), ("fit_most = 3", "fit_most", "from 0 to 2 mm"),
    ("fit_least = -0.1", "fit_least", "from 0 to 2 mm"),
    ("moisture_low = 12\nmoisture_high = 12", "moisture_low", "12 %"),
    ("moisture_high = 7", "moisture_high", "above 8 %"), ("moisture_high = 31", "moisture_high", "number"),
    ("moisture_low = -1", "moisture_low", "number"), ('moisture_low = "dry"', "moisture_low", "number"),
    ("moisture_low = nan", "moisture_low", "number")])
def test_limits_that_leave_nothing(refuses: Refuses, lines: str, key: str, accepted: str) -> None:
    [problem] = refuses(f"[shop]\n{lines}\n")
    assert problem.key == f"shop.{key}" and accepted in problem.accepted


@pytest.mark.parametrize(("section", "key", "value", "words"), [
    ("[as_cut.parts.left]\nend_angle = 85\n", "as_cut.parts.left.end_angle", "85 degrees", "no part can have this"),
    ("[as_cut.parts.left]\nend_angle = 70\nlength = 20\n", "as_cut.parts.left.length", "20 mm", "can have this"),
    ("[as_cut.parts.left.joint.rung_left_1]\ndepth = 8\nthickness = 1\nwidth = 1\n", None, None, None),
    ("[as_cut.parts.rung_1.joint.rung_left_1]\nalong = 500\n", "as_cut.parts.rung_1.joint.rung_left_1.along", "500 mm",
     "no part can have this"),
    ("[as_cut.parts.left.joint.rung_left_1]\nthickness = 300\ndepth = 200\n", "as_cut.parts.left.joint.rung_left_1", "",
     "cannot be cut as measured: its cuts leave 2 separate pieces of it"),
    ('[as_cut.parts."rung_*".joint."*_left_*"]\nalong = 500\n', "as_cut.parts.rung_*.joint.*_left_*.along", "500 mm",
     "rung_1: no part can have this"),
    ('[as_cut.parts.left]\nexchanged_with = "right"\n[as_cut.parts.right]\nexchanged_with = "foot"\n',
     "as_cut.parts.right.exchanged_with", "foot", "no part can have this"),
])
def test_what_no_part_can_have(reads: Reads, refuses: Refuses, section: str, key: str | None, value: str,
                               words: str) -> None:
    if key is None:
        assert reads(section).measured
        return
    problem = refuses(section)[0]
    assert (problem.key, problem.value) == (key, value) and words in problem.message
    assert problem.line is not None and problem.line > LADDER.count("\n")


def test_every_part_that_cannot_be_had_is_told_at_once(refuses: Refuses) -> None:
    found = refuses("""[as_cut.parts.left]
end_angle = 85
[as_cut.parts.right]
start_angle = -85
[as_cut.parts."rung_*".joint."*_left_*"]
along = 500
[as_cut.parts.foot]
length = 390
""")
    assert [p.key.removeprefix("as_cut.parts.") for p in found] == [
        "left.end_angle", "right.start_angle", "rung_*.joint.*_left_*.along", "rung_*.joint.*_left_*.along"]


LOOSE = """name = "Loose"
[stock]
beam = { thickness = "80 mm", width = "80 mm", species = "Western larch" }
[part]
post = { shape = "board", stock = "beam", length = "1000 mm" }
foot = { shape = "board", stock = "beam", length = "400 mm" }
[joint]
stand = { kind = "loose tenon", from = "post.start", into = "foot.face", along = "200 mm" }
"""


def test_a_loose_tenon_and_its_mortises_are_measured_under_their_joint(tmp_path: Path) -> None:
    file = tmp_path / "loose.toml"
    file.write_text(LOOSE + """[as_cut.parts.stand_tenon]
length = "50 mm"
[as_cut.parts.post.joint.stand]
depth = "20 mm"
[as_cut.boards.beam]
thickness = "79 mm"
""", encoding="utf-8")
    found = measured(read(file))
    assert found["stand_tenon"] == PartAsCut("stand_tenon", length=50.0), "no board of beam, though cut from its wood"
    assert found["post"] == PartAsCut("post", thickness=79.0, cuts=(CutAsCut("stand", depth=20.0),))
    file.write_text(LOOSE + "[as_cut.parts.post.joint.stand_tenon_a]\nalong = 2\n", encoding="utf-8")
    with pytest.raises(DesignError) as refused:
        read(file)
    [problem] = refused.value.problems
    assert problem.accepted == "stand"


def test_a_star_takes_loose_tenons_only_where_it_fits_nothing_else(tmp_path: Path) -> None:
    file = tmp_path / "loose.toml"
    for word, length, parts in (("*", 390, {"post", "foot"}), ("*t*", 390, {"post", "foot"}),
                                ("stand_*", 50, {"stand_tenon"})):
        file.write_text(LOOSE + f'[as_cut.parts."{word}"]\nlength = {length}\n', encoding="utf-8")
        assert set(measured(read(file))) == parts


def test_an_inch_file_tells_inches(tmp_path: Path) -> None:
    file = tmp_path / "design.toml"
    file.write_text(LADDER.format(unit="in") + '[as_cut.parts.left]\nend_angle = 70\nlength = 1\n', encoding="utf-8")
    with pytest.raises(DesignError) as refused:
        read(file)
    assert refused.value.problems[0].value == "1 in" and "mm" not in str(refused.value).replace(str(tmp_path), "")
