"""Sheets of what was measured: written, filled in, read back, and everything a hand or a spreadsheet does to them."""

from __future__ import annotations

import csv
import os
import re
from collections.abc import Callable
from dataclasses import replace
from io import StringIO
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assembly.rehearsal import rehearse
from exports import command
from exports.measure import COLUMNS, SheetError, form_of, sheet
from model.as_cut import CutAsCut, PartAsCut
from model.design import Design
from model.errors import DesignError, Problem
from model.reader import read
from model.reader.sheets import BYTES_MOST, ROWS_MOST

ROOT = Path(__file__).resolve().parent.parent
EXAMPLES = sorted((ROOT / "examples").glob("*.toml"))
RACK = ROOT / "examples" / "net_rack.toml"
HEAD = ",".join(COLUMNS) + "\n"


@pytest.fixture
def given_back(tmp_path: Path) -> Callable[..., Design]:
    """Read the net rack with a sheet of this text, or these bytes."""
    def reads(text: str | bytes, ending: str = "csv") -> Design:
        file = tmp_path / f"sheet.{ending}"
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read(RACK, measured=file)
    return reads


def refused(given_back: Callable[..., Design], text: str | bytes, ending: str = "csv") -> list[Problem]:
    with pytest.raises(DesignError) as found:
        given_back(text, ending)
    assert found.value.file.endswith(f"sheet.{ending}")
    assert all(line.isprintable() and len(line) < 600 for line in found.value.lines())
    return found.value.problems


# -- round trips ----------------------------------------------------------------------------------


@pytest.mark.parametrize("form", ["toml", "csv"])
@pytest.mark.parametrize("file", EXAMPLES, ids=lambda f: f.stem)
def test_a_sheet_with_nothing_filled_in_changes_nothing(file: Path, form: str, tmp_path: Path) -> None:
    written = tmp_path / f"sheet.{form}"
    written.write_text(sheet(read(file), form), encoding="utf-8")
    design = read(file, measured=written)
    assert design.measured == () and design.drawn is None


@pytest.mark.parametrize("form", ["toml", "csv"])
@pytest.mark.parametrize("file", EXAMPLES, ids=lambda f: f.stem)
def test_a_sheet_with_the_drawn_values_filled_in_changes_nothing(file: Path, form: str, tmp_path: Path) -> None:
    text = sheet(read(file), form)
    if form == "toml":
        text = re.sub(r"^# (?=\w+ = )", "", text, flags=re.MULTILINE)
    else:
        rows = list(csv.reader(StringIO(text)))
        filled = StringIO()
        csv.writer(filled).writerows([rows[0], *([*row[:4], row[3]] for row in rows[1:])])
        text = filled.getvalue()
    written = tmp_path / f"sheet.{form}"
    written.write_text(text, encoding="utf-8", newline="")
    assert read(file, measured=written).measured == ()


SECTION = {
    "net_rack": ('[as_cut.parts.left_post]\nlength = "1498 mm"\nthickness = "87.2 mm"\n'
                 '[as_cut.parts.rail_2.joint.left_end_2]\nalong = "-1.5 mm"\nthickness = "9 mm"\n'
                 '[as_cut.boards.plank]\nthickness = "37 mm"\n'),
    "hive_stand": ('[as_cut.parts.leg_back_left]\nlength = "17 15/16 in"\nthickness = "3.48 in"\n'
                   '[as_cut.parts.front_rail.joint.front_left]\nalong = "1/16 in"\ndepth = "1 1/4 in"\n'
                   '[as_cut.boards.rail]\nthickness = "1 7/16 in"\n'),
}
ROWS = {
    "net_rack": [("left_post", "", "length", "1498 mm"), ("left_post", "", "thickness", "87.2"),
                 ("rail_2", "left_end_2", "along", "-1,5 mm"), ("rail_2", "left_end_2", "thickness", "9.0"),
                 ("board plank", "", "thickness", "3.7 cm")],
    "hive_stand": [("leg_back_left", "", "length", "17 15/16"), ("leg_back_left", "", "thickness", "3.48 in"),
                   ("front_rail", "front_left", "along", "0.0625 in"), ("front_rail", "front_left", "depth", '1 1/4"'),
                   ("board rail", "", "thickness", "1 7/16")],
}


@pytest.mark.parametrize("name", sorted(SECTION))
def test_a_filled_in_sheet_says_what_the_section_of_a_design_file_says(name: str, tmp_path: Path) -> None:
    file = ROOT / "examples" / f"{name}.toml"
    said = tmp_path / "said.toml"
    said.write_text(file.read_text(encoding="utf-8") + "\n" + SECTION[name], encoding="utf-8")
    section = read(said).measured
    assert len(section) >= 3
    drawn = read(file)
    text = sheet(drawn, "toml")
    for header, lines in re.findall(r"(\[.*\]\n)([^\[]*)", SECTION[name]):
        at = text.index(header.strip()) + len(header.strip())
        block = text[at:text.find("\n[", at) if "\n[" in text[at:] else None]
        for line in lines.splitlines():
            block = re.sub(rf"\n# {line.split(' ')[0]} = .*", f"\n{line}", block, count=1)
        text = text[:at] + block + text[text.find("\n[", at) if "\n[" in text[at:] else len(text):]
    filled = tmp_path / "filled.toml"
    filled.write_text(text, encoding="utf-8")
    assert read(file, measured=filled).measured == section
    rows = list(csv.DictReader(StringIO(sheet(drawn, "csv"))))
    for part, joint, what, value in ROWS[name]:
        [row] = [r for r in rows if (r["part"], r["joint"], r["what"]) == (part, joint, what)]
        row["measured"] = value
    page = StringIO()
    out = csv.DictWriter(page, COLUMNS)
    out.writeheader()
    out.writerows(rows)
    by_hand = tmp_path / "filled.csv"
    by_hand.write_text(page.getvalue(), encoding="utf-8", newline="")
    for one, other in zip(read(file, measured=by_hand).measured, section, strict=True):
        assert one.part == other.part and one.cuts == other.cuts
        assert (one.length, one.thickness) == pytest.approx((other.length, other.thickness))


def test_every_part_and_every_joint_of_it_stands_on_the_sheet() -> None:
    design = read(RACK)
    rows = list(csv.DictReader(StringIO(sheet(design, "csv"))))
    parts = list(dict.fromkeys(row["part"] for row in rows if not row["part"].startswith("board ")))
    assert parts == [p.name for p in design.parts], "in the design's order"
    joints = {(row["part"], row["joint"]) for row in rows if row["joint"]}
    assert joints == {(part, j.name) for j in design.joints for part in (j.a, j.b)}
    assert all(row["drawn"].endswith((" mm", " deg")) and row["measured"] == "" for row in rows)


def test_what_was_measured_already_stands_on_the_sheet(tmp_path: Path) -> None:
    said = tmp_path / "said.toml"
    said.write_text(RACK.read_text(encoding="utf-8") + "\n" + SECTION["net_rack"], encoding="utf-8")
    design = read(said)
    text = sheet(design, "csv").removeprefix("\ufeff")
    rows = {(r["part"], r["joint"], r["what"]): r for r in csv.DictReader(StringIO(text))}
    assert rows["left_post", "", "length"]["measured"] == "1498 mm"
    assert rows["left_post", "", "length"]["drawn"] == "1500 mm"
    assert rows["rail_2", "left_end_2", "along"]["measured"] == "\N{MINUS SIGN}1.5 mm", "no formula"
    for form in ("toml", "csv"):
        file = tmp_path / f"again.{form}"
        file.write_text(sheet(design, form), encoding="utf-8")
        assert read(RACK, measured=file).measured == design.measured


# -- what hands and spreadsheets do -----------------------------------------------------------------


def one(design: Design) -> PartAsCut:
    [record] = design.measured
    return record


@pytest.mark.parametrize("text", [
    HEAD + "left_foot,,length,700 mm,698 mm\n",
    HEAD.replace(",", ";") + "left_foot;;length;700 mm;698 mm\n",
    HEAD.replace(",", "\t") + "left_foot\t\tlength\t700 mm\t698 mm\n",
    "sep=;\n" + HEAD.replace(",", ";") + "left_foot;;length;700 mm;698,0 mm\n",
    "\ufeff" + HEAD + "left_foot,,length,700 mm,698 mm\n",
    (HEAD + "left_foot,,length,700 mm,698 mm\n").replace("\n", "\r\n"),
    (HEAD + "left_foot,,length,700 mm,698 mm\n").replace("\n", "\r"),
    HEAD + ",,,,\n\nleft_foot,,length,700 mm,698 mm,,,\n,,\n",
    HEAD + '"left_foot","","length","700 mm","698 mm"\n',
    HEAD + '"left_foot",,length,700 mm,"698,0 mm"\n',
    "What,Measured,Joint,Remarks,Part\nlength, 698\u00a0mm ,,\"looks, fine\",left_foot\n",
    HEAD + "left_foot,,length,700 mm,69.8 cm\n", HEAD + "left_foot,,length,700 mm,698\n",
    HEAD + "left_foot,,length,700 mm,'+698 mm\n",
    HEAD + "left_foot,,length,700 mm,698 mm\nleft_foot,,width,88.9 mm,88.9 mm\nno_such,,nothing,,\n",
])
def test_whatever_a_spreadsheet_makes_of_a_sheet_is_read(given_back: Callable[..., Design], text: str) -> None:
    assert one(given_back(text)) == PartAsCut("left_foot", length=698.0)


@pytest.mark.parametrize(("value", "mm"), [
    ("698,5", 698.5), ("698,25 mm", 698.25), ("0,125 in", 3.175), (",5 in", 12.7), ("-1,5", -1.5),
    ("\N{MINUS SIGN}1.5 mm", -1.5), ("1 1/2 in", 38.1), ('1 1/2"', 38.1), ("698,1234", 698.1234)])
def test_decimal_commas_and_other_hands(given_back: Callable[..., Design], value: str, mm: float) -> None:
    page = StringIO()
    csv.writer(page).writerow(["left_post", "left_end_1", "along", "0 mm", value])
    [cut] = one(given_back(HEAD + page.getvalue())).cuts
    assert cut == CutAsCut("left_end_1", along=pytest.approx(mm))


@pytest.mark.parametrize(("word", "truth"), [("yes", True), ("TRUE", True), ("x", True), ("no", False), ("No", False)])
def test_yes_and_no(given_back: Callable[..., Design], word: str, truth: bool) -> None:
    design = given_back(HEAD + f"left_foot,,mirrored,,{word}\nleft_foot,left_stand,left_out,no,{word}\n")
    assert [(m.mirrored, m.cuts[0].left_out) for m in design.measured] == [(True, True)] * truth


def test_words_are_no_lengths(given_back: Callable[..., Design]) -> None:
    assert one(given_back(HEAD + "left_foot,,turned,,end for end\n")).turned == "end for end"
    assert one(given_back(HEAD + "left_foot,,exchanged_with,,right_foot\n")).exchanged_with == "right_foot"


def test_patterns_may_stand_in_a_sheet(given_back: Callable[..., Design]) -> None:
    design = given_back(HEAD + "rail_*,*_end_*,along,,2\nrail_3,,length,,1370\n")
    assert [(m.part, m.length, len(m.cuts)) for m in design.measured] == [
        (f"rail_{i}", 1370.0 if i == 3 else None, 2) for i in range(1, 6)]


@pytest.mark.parametrize(("row", "column", "value", "words", "accepted"), [
    ("left_foot,,length,,6x8", "measured (left_foot, length)", '"6x8"', "not a length", "a length such as"),
    ("left_foot,,length,,-3", "measured (left_foot, length)", '"-3"', "more than nothing", "a length"),
    ('left_foot,,length,,"1,250 mm"', "measured (left_foot, length)", '"1,250 mm"', "1.250 or 1250", "1.250 mm"),
    ('left_foot,,length,,"1.250,5 mm"', "measured (left_foot, length)", '"1.250,5 mm"', "not a length", "a length"),
    ("left_foot,,length,,3-Apr", "measured (left_foot, length)", '"3-Apr"', "is a date", "3/4 in"),
    ("left_foot,,length,,Jan-02", "measured (left_foot, length)", '"Jan-02"', "is a date", "3/4 in"),
    ("left_foot,,length,,2026-03-04", "measured (left_foot, length)", '"2026-03-04"', "is a date", "3/4 in"),
    ("left_foot,,length,,#REF!", "measured (left_foot, length)", '"#REF!"', "not a length", "a length"),
    ("left_foot,,end_angle,,400", "measured (left_foot, end_angle)", '"400"', "not an angle", "degrees"),
    ("left_foot,,turned,,round", "measured (left_foot, turned)", '"round"', "not one of the words", "end for end"),
    ("left_foot,,mirrored,,maybe", "measured (left_foot, mirrored)", '"maybe"', "yes or no", "yes or no"),
    ("left_fot,,length,,700", "part (left_fot)", '"left_fot"', "no such part", "left_foot"),
    ("left_foot,left_end_1,along,,7", "joint (left_foot, left_end_1)", '"left_end_1"', "no such joint", "left_stand"),
    ("left_foot,,lenght,,700", "what", '"lenght"', "no such size of a part", "length"),
    ("left_foot,left_stand,length,,700", "what", '"length"', "no such size of a joint", "depth"),
    ("left_foot,,joint,,700", "what", '"joint"', "no such size of a part", "length"),
    ("board beam,,length,,700", "what", '"length"', "no such size of a board", "thickness"),
    ("board bean,,width,,70", "part (bean)", '"bean"', "no part is made from such a stock", "beam"),
    (",,length,,700", "part", "", "is missing", "the name of a part"),
    ("left_foot,,,,700", "what", "", "is missing", "thickness"),
    ("left_foot,,length,,698,5 mm", "", '"5 mm"', "6 cells, the heading 5", "quotes"),
    ("left_foot,,exchanged_with,,rite_foot", "measured (left_foot, exchanged_with)", '"rite_foot"', "no such part",
     "right_foot"),
])
def test_what_is_wrong_in_a_row_is_told_by_line_and_column(given_back: Callable[..., Design], row: str, column: str,
                                                           value: str, words: str, accepted: str) -> None:
    [problem] = refused(given_back, HEAD + f"right_foot,,length,,\n{row}\n")
    assert (problem.line, problem.key, problem.value) == (3, f"column {column}" if column else "", value)
    assert words in problem.message and accepted in problem.accepted


def test_all_that_is_wrong_is_told_at_once(given_back: Callable[..., Design]) -> None:
    found = refused(given_back, HEAD + "left_foot,,length,,6x8\nleft_fot,,length,,700\nleft_foot,,width,,1\n"
                                       "left_foot,,width,,2\nleft_foot,,turnd,,1\nboard bean,,width,,3\n")
    assert [p.line for p in found] == [2, 3, 5, 6, 7]
    assert found[2].message == "is measured twice, first on line 4"


@pytest.mark.parametrize(("heading", "words"), [
    ("part,joint,what,drawn", "missing"), ("part,joint,what,mesured", "missing"),
    ("part,joint,what,measured,measured", "twice"), ("1,2,3", "missing")])
def test_a_sheet_needs_its_heading(given_back: Callable[..., Design], heading: str, words: str) -> None:
    [problem] = refused(given_back, heading + "\nleft_foot,,length,,700\n")
    assert problem.line == 1 and words in problem.message and "part, joint, what, measured" in problem.accepted


def test_a_quote_that_is_never_closed_swallows_nothing(given_back: Callable[..., Design]) -> None:
    [problem] = refused(given_back, HEAD + 'left_foot,,length,,"698\nright_foot,,length,,6x8\n')
    assert "cannot be read as CSV" in problem.message and problem.line == 2


@pytest.mark.parametrize(("raw", "words"), [
    (b"", "empty"), (b"\n\n", "empty"), (b"\x00\x01", "not text"), (b"\xff\xfep\x00a\x00", "not text"),
    (b"part,joint\xe9", "not UTF-8"), (b"\x89PNG\r\n", "not UTF-8"), (b"x" * (BYTES_MOST + 1), "too large"),
    (b"PK\x03\x04\x14\x00", "not text"), (b'"' + b"x" * 200_000 + b'"\n', "cannot be read as CSV")])
def test_what_is_no_sheet(given_back: Callable[..., Design], raw: bytes, words: str) -> None:
    found = refused(given_back, raw)
    assert words in found[0].message and "design" not in found[0].message


def test_more_rows_than_anyone_measures(given_back: Callable[..., Design]) -> None:
    rows = "".join(f"p{i},,length,,1\n" for i in range(ROWS_MOST + 1))
    found = refused(given_back, HEAD + rows)
    assert "says too much" in found[0].message and found[0].line == ROWS_MOST + 2


def test_as_many_empty_rows_as_a_large_design_has(given_back: Callable[..., Design]) -> None:
    rows = "left_foot,,length,700 mm,\n" * 230_000
    assert one(given_back(HEAD + rows + "left_foot,,length,700 mm,698\n")).length == 698.0
    lines = '# length = "700 mm"\n' * 230_000
    assert one(given_back(f"[as_cut.parts.left_foot]\n{lines}length = 698\n", "toml")).length == 698.0


@pytest.mark.parametrize(("text", "words"), [
    ("[as_cut.parts.a]\n" * (ROWS_MOST + 1), "says too much"), ("a = [\n" + ("1," * 4000 + "\n") * 30, "says too much"),
    ("a = [" + "1," * 6000, "too long a line"), ("a" + ".a" * 100 + " = 1\n", "too many dots"),
    ("a = [" + ("[" * 9000 + "\n") * 9, "nested too deep")], ids=range(5))
def test_a_toml_sheet_that_no_hand_has_filled_in(given_back: Callable[..., Design], text: str, words: str) -> None:
    [problem] = refused(given_back, text, "toml")
    assert words in problem.message


def test_a_toml_sheet_holds_the_section_and_nothing_else(given_back: Callable[..., Design]) -> None:
    assert given_back("# nothing\n", "toml").measured == ()
    assert one(given_back("[as_cut.parts.left_foot]\nlength = 698\n", "toml")) == PartAsCut("left_foot", length=698.0)
    [problem] = refused(given_back, "[as_cut]\n[part.x]\nlength = 3\n", "toml")
    assert (problem.line, problem.key) == (2, "part")
    [problem] = refused(given_back, "[as_cut.parts.left_foot]\nlength = '6,5 mm'\n", "toml")
    assert (problem.line, problem.key) == (2, "as_cut.parts.left_foot.length")
    [problem] = refused(given_back, "[as_cut.parts.left_fot]\nlength = 3\n", "toml")
    assert problem.nearest == "left_foot"
    assert "not TOML" in refused(given_back, "[as_cut\n", "toml")[0].message


def test_a_sheet_is_known_by_its_ending(given_back: Callable[..., Design]) -> None:
    [problem] = refused(given_back, HEAD, "xlsx")
    assert ".toml or .csv" in problem.accepted


CELLS = ["left_foot", "rail_*", "board beam", "left_stand", "*", "length", "along", "turned", "left_out", "698", "1,5",
         "x", '"', "'=1", "\x1b[2J", "", "joint", "e" * 300]


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(cells=st.lists(st.lists(st.sampled_from(CELLS) | st.text(max_size=8), max_size=7), max_size=8))
def test_any_cells_are_read_or_refused(given_back: Callable[..., Design], cells: list[list[str]]) -> None:
    page = StringIO()
    csv.writer(page).writerows(cells)
    raw = (HEAD + page.getvalue()).encode("utf-8", "replace")
    try:
        given_back(raw)
    except DesignError as error:
        assert error.problems and all(line.isprintable() for line in error.lines())


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(raw=st.binary(max_size=300), ending=st.sampled_from(["csv", "toml"]))
def test_any_bytes_are_read_or_refused(given_back: Callable[..., Design], raw: bytes, ending: str) -> None:
    try:
        assert given_back(raw, ending).measured == ()
    except DesignError as error:
        assert error.problems and all(line.isprintable() for line in error.lines())


# -- hostile names --------------------------------------------------------------------------------

HOSTILE = ['=HYPERLINK("http://x")', "+1", "-1", "@SUM(A1)", "\t=1", "a\r\n=1", 'a"b', "a,b;c", "a\x1b[2Jb", "a\nb",
           "é_1", "a\u202eb", "\ud800x", "a.b]\nx = 1"]


def hostile(name: str) -> Design:
    design = read(RACK)
    part = replace(design.parts[0], name=name)
    joints = [replace(j, a=name if j.a == "left_foot" else j.a, b=name if j.b == "left_foot" else j.b)
              for j in design.joints]
    return replace(design, parts=(part, *design.parts[1:]), joints=tuple(joints), base=name, name=name)


@pytest.mark.parametrize("name", HOSTILE)
def test_no_cell_is_a_formula_and_no_character_does_anything(name: str) -> None:
    text = sheet(hostile(name), "csv")
    assert all(c.isprintable() or c in "\n\ufeff" for c in text)
    rows = list(csv.reader(StringIO(text.removeprefix("\ufeff"))))
    assert {len(row) for row in rows} == {5}
    assert not [cell for row in rows for cell in row if cell.startswith(("=", "+", "-", "@"))]
    assert text.startswith("\ufeff") == (not text.isascii())


@pytest.mark.parametrize("name", HOSTILE)
def test_a_toml_sheet_holds_any_name(name: str) -> None:
    import tomllib

    text = sheet(hostile(name), "toml")
    assert all(c.isprintable() or c == "\n" for c in text)
    parts = tomllib.loads(text)["as_cut"]["parts"]
    assert name.replace("\ud800", "?") in parts and set(parts[name.replace("\ud800", "?")]) == {"joint"}


# -- the key of the design file ---------------------------------------------------------------------


@pytest.fixture
def rack(tmp_path: Path) -> Callable[[str], Path]:
    def written(name: str) -> Path:
        file = tmp_path / "here" / "rack.toml"
        file.parent.mkdir(exist_ok=True)
        text = RACK.read_text(encoding="utf-8")
        file.write_text(text.replace("unit =", f"measured = '{name}'\nunit =", 1), encoding="utf-8")
        return file
    return written


def test_a_design_names_its_sheet(rack: Callable[[str], Path]) -> None:
    file = rack("rack_measured.csv")
    (file.parent / "rack_measured.csv").write_text(HEAD + "left_foot,,length,,698\nright_foot,,length,,697\n")
    assert [m.length for m in read(file).measured] == [698.0, 697.0]
    asked = file.parent / "asked.toml"
    asked.write_text("[as_cut.parts.left_foot]\nlength = 699\n")
    assert [m.length for m in read(file, measured=asked).measured] == [699.0, 697.0], "the sheet asked for counts more"
    asked.write_text("[as_cut.parts.left_foot]\nlength = 700\n")
    assert [m.part for m in read(file, measured=asked).measured] == ["right_foot"], "measured anew, and as drawn"


def test_what_is_wrong_in_a_named_sheet_is_told_with_its_name(rack: Callable[[str], Path]) -> None:
    file = rack("rack_measured.csv")
    (file.parent / "rack_measured.csv").write_text(HEAD + "left_foot,,length,,6x8\n")
    with pytest.raises(DesignError) as found:
        read(file)
    assert found.value.file == str(file.parent / "rack_measured.csv")


@pytest.mark.parametrize(("name", "words"), [
    ("../outside.csv", "outside"), ("/etc/passwd.csv", "outside"), ("sub/../../outside.csv", "outside"),
    ("link.csv", "outside"), ("none.csv", "no such file"), ("folder.csv", "not an ordinary file"),
    ("pipe.csv", "not an ordinary file"), ("sheet.txt", "not a kind of sheet"), ("a\\b.csv", "outside"),
    ("", "not a kind"), ("large.csv", "too large"), ("long" * 75 + ".csv", "cannot be read")])
def test_a_sheet_lies_beside_its_design(rack: Callable[[str], Path], name: str, words: str, tmp_path: Path) -> None:
    file = rack(name)
    here = file.parent
    (tmp_path / "outside.csv").write_text(HEAD)
    (here / "sub").mkdir()
    (here / "link.csv").symlink_to(tmp_path / "outside.csv")
    (here / "folder.csv").mkdir()
    os.mkfifo(here / "pipe.csv")
    with (here / "large.csv").open("wb") as large:
        large.truncate(BYTES_MOST + 1)
    with pytest.raises(DesignError) as found:
        read(file)
    [problem] = found.value.problems
    assert (problem.key, problem.line) == ("measured", 2 + RACK.read_text().split("unit =")[0].count("\n") - 1)
    assert words in problem.message


def test_the_section_shown_in_the_readme_is_read(tmp_path: Path) -> None:
    from tests.readme import README, block

    file = tmp_path / "shown.toml"
    section = block(README.read_text(encoding="utf-8"), "as cut")[2]
    file.write_text(RACK.read_text(encoding="utf-8") + section, encoding="utf-8")
    found = {m.part: m for m in read(file).measured}
    assert set(found) == {"left_post", "left_foot", *(f"rail_{i}" for i in range(1, 6))}
    assert found["rail_4"].thickness == 37.2 and found["rail_4"].length == pytest.approx((4 * 12 + 5 + 15 / 16) * 25.4)
    assert found["left_foot"].cuts == (CutAsCut("left_stand", along=-2.0, depth=58.0),)


def test_the_example_sheet_says_to_what_the_legs_must_be_ripped() -> None:
    """By hand: segments and legs were 2 1/2 in thick; segments of 2 7/16 in leave 1/16 in, 1.5875 mm, at the back."""
    examples = ROOT / "examples"
    rehearsal = rehearse(read(examples / "orchard_gate.toml", measured=examples / "orchard_gate_measured.csv"))
    [finding] = [f for f in rehearsal.findings if f.severity != "note"]
    legs = {"far_leg_left", "far_leg_right", "near_leg_left", "near_leg_right"}
    assert (finding.kind, finding.severity) == ("proud", "warn") and legs < set(finding.parts)
    assert finding.amount is not None and finding.amount.value == pytest.approx(1.5875, abs=0.02)
    assert "2 7/16 in" in finding.remedy and all(leg in finding.remedy for leg in legs)


# -- the command ------------------------------------------------------------------------------------


def test_measure_writes_a_sheet_that_check_reads_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for form in ("toml", "csv"):
        file = tmp_path / f"a sheet.{form}"
        assert command.main(["measure", str(RACK), "-o", str(file)]) == 0
        out = capsys.readouterr().out
        assert f"--measured '{file}'" in out and "dryfit check" in out
        assert command.main(["measure", str(RACK), "--as", form]) == 0
        assert capsys.readouterr().out == file.read_text(encoding="utf-8")
        assert command.main(["check", str(RACK), "--measured", str(file)]) == 0
        capsys.readouterr()
    assert command.main(["measure", str(RACK)]) == 0
    assert capsys.readouterr().out.startswith("# Net rack: its parts as cut\n")


def test_measure_never_overwrites(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "sheet.csv"
    file.write_text("mine")
    assert command.main(["measure", str(RACK), "-o", str(file)]) == 2
    assert file.read_text() == "mine" and "stands there already" in capsys.readouterr().err


@pytest.mark.parametrize("words", [
    ["-o", "sheet.xlsx"], ["-o", "sheet"], ["-o", "sheet.csv", "--as", "toml"], ["--as", "xlsx"], ["-o", ""],
    ["--measured", "sheet.csv"]])
def test_a_sheet_that_could_not_be_read_back_is_not_written(words: list[str], tmp_path: Path,
                                                            monkeypatch: pytest.MonkeyPatch,
                                                            capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.chdir(tmp_path)
    assert command.main(["measure", str(RACK), *words]) == 2
    out, err = capsys.readouterr()
    assert out == "" and err and not list(tmp_path.iterdir())


def test_the_form_of_a_sheet() -> None:
    assert [form_of(None, None), form_of(None, "csv"), form_of(Path("A.CSV"), None)] == ["toml", "csv", "csv"]
    with pytest.raises(SheetError, match=r"accepted: a name ending in \.toml"):
        form_of(Path("a.csv"), "toml")


@pytest.mark.parametrize("words", [["check"], ["plan"], ["rehearse", "-o", "out"], ["export", "-o", "out"]])
def test_every_command_takes_a_sheet_and_refuses_a_bad_one(words: list[str], tmp_path: Path,
                                                           monkeypatch: pytest.MonkeyPatch,
                                                           capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bad.csv").write_text(HEAD + "left_foot,,length,,6x8\n")
    for name, said in (("bad.csv", "bad.csv:2: column measured (left_foot, length): not a length"),
                       ("none.csv", "none.csv: there is no such file")):
        assert command.main([*words, str(RACK), "--measured", name]) == 2
        out, err = capsys.readouterr()
        assert out == "" and said in err and "Traceback" not in err
    assert [p.name for p in tmp_path.iterdir()] == ["bad.csv"]
