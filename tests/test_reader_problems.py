"""Bad design files: every problem of every file, at its line, under its key, and nothing else.

The files in tests/bad/ say themselves what is wrong with them (see tables.toml).
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from model.errors import DesignError, Problem
from model.reader import read
from model.reader.problems import LISTED, MOST, nearest, shown

BAD = sorted((Path(__file__).parent / "bad").glob("*.toml"))
MARK = re.compile(r"#(!!?)\s*([^:#]*?)\s*:\s*([^#\n]*)")


def expected(file: Path) -> list[tuple[int | None, str, str]]:
    found = []
    for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), 1):
        if not line.startswith("#"):
            found += [(number if mark == "!" else None, key, words.strip()) for mark, key, words in MARK.findall(line)]
    return found


def problems_of(file: Path) -> list[Problem]:
    with pytest.raises(DesignError) as refused:
        read(file)
    assert refused.value.file == str(file)
    return refused.value.problems


@pytest.mark.parametrize("file", BAD, ids=lambda f: f.stem)
def test_every_problem_stands_at_its_line(file: Path) -> None:
    left = expected(file)
    assert left, "a bad file says what is wrong with it"
    for problem in problems_of(file):
        match = next((e for e in left if e[:2] == (problem.line, problem.key) and e[2] in problem.message), None)
        assert match is not None, f"not expected: {problem}"
        left.remove(match)
    assert not left


@pytest.mark.parametrize("file", BAD, ids=lambda f: f.stem)
def test_what_is_shown_is_one_printable_line_and_says_what_to_do(file: Path) -> None:
    for line, problem in zip(DesignError(file.name, problems_of(file)).lines(), problems_of(file), strict=True):
        assert line.isprintable() and len(line) < 600
        assert problem.value or problem.accepted or ":" in problem.message or "stages" in problem.message


def written(folder: Path, text: str) -> Path:
    file = folder / "design.toml"
    file.write_text(text, encoding="utf-8")
    return file


GOOD = """name = "Post and foot"
[stock]
beam = { nominal = "4x4", species = "Western larch" }
[part]
post = { shape = "board", length = 1000 }
foot = { shape = "board", length = 500 }
[joint]
stand = { kind = "blind tenon", from = "post.start", into = "foot.face", along = 250 }
"""


@pytest.mark.parametrize(("right", "wrong", "meant"), [
    ("Western larch", "Western lrach", "Western larch"),
    ("Western larch", "Western lach", "Western larch"),
    ("4x4", "4 x 4", "4x4"),
    ("4x4", "4x40", "4x4"),
    ("blind tenon", "blind tennon", "blind tenon"),
    ("blind tenon", "Blind Tenon", "blind tenon"),
    ('"board", length = 500', '"bored", length = 500', "board"),
    ("foot.face", "foot.fase", "face"),
    ("post.start", "pst.start", "post"),
    ("length = 500", "lenght = 500", "length"),
    ("along", "allong", "along"),
    ("[joint]", "[joints]", "joint"),
    ("[joint]", "[[stage]]\nname = 'a'\njoints = 'stnd'\n[joint]", "stand"),
    ("[joint]", "[[stage]]\nname = 'one'\njoints = []\n[[stage]]\nname = 'b'\njoints='stand'\nafter='ome'\n[joint]",
     "one"),
])
def test_a_misspelt_name_brings_the_nearest(tmp_path: Path, right: str, wrong: str, meant: str) -> None:
    assert meant in {p.nearest for p in problems_of(written(tmp_path, GOOD.replace(right, wrong)))}


def test_the_sound_file_behind_these_is_sound(tmp_path: Path) -> None:
    assert len(read(written(tmp_path, GOOD)).parts) == 2


def test_nothing_near_is_nothing_offered() -> None:
    names = ["face", "back", "edge"]
    assert nearest("zzzz", names) == nearest("", names) == nearest("f" * 10_000, names) == ""


def test_more_problems_than_anyone_reads_are_counted(tmp_path: Path) -> None:
    text = 'name = "x"\n' + "\n".join(f"k{i} = {i}" for i in range(500))
    found = problems_of(written(tmp_path, text))
    assert len(found) == MOST + 1
    assert str(500 - MOST + 1) in found[-1].message or str(500 - MOST) in found[-1].message


def test_long_lists_and_values_are_cut_short(tmp_path: Path) -> None:
    found = problems_of(written(tmp_path, GOOD.replace("Western larch", "L" * 100_000)))
    assert found[0].accepted.count('", "') == LISTED - 1 and "27 in all" in found[0].accepted
    assert len(found[0].value) < 80


@pytest.mark.parametrize("value", ["a\nb", "\x1b[31m", "\u202egnirts", 10**5000, -(10**5000), {"a": 1},
                                   [1] * 1000, 0.1], ids=range(8))
def test_any_value_shows_as_one_short_printable_line(value: object) -> None:
    assert shown(value).isprintable() and len(shown(value)) < 80


@pytest.mark.parametrize(("text", "line", "words"), [
    ("name = \"x\"\nunit = 'mm\nbase = 'a'\n", 2, "not TOML at column 11"),
    ("name = \"x\"\n\n\nsays = \n", 4, "not TOML at column 8"),
    ("name = \"x\"\n[part.rail\nshape = 'board'\n", 2, "not TOML at column 11"),
    ("name = \"x\"\nsays = \"a\\qb\"\n", 2, "not TOML at column"),
    ("name = \"x\"\nparts = [1,\n2\n", 2, "not TOML"),
    ("name = \"x\"\nbase = 'a' unit = 'mm'\n", 2, "not TOML at column 12"),
    ("name = \"x\"\nname.a = 1\n", 2, "not TOML"),
    ("name = \"x\"\na.b = 1\na = {c = 1}\n", 3, "not TOML"),
    ("name = \"x\"\r\nbase = 'a' unit = 'mm'\r\n", 2, "not TOML at column 12"),
])
def test_broken_toml_names_line_and_column(tmp_path: Path, text: str, line: int, words: str) -> None:
    [found] = problems_of(written(tmp_path, text))
    assert words in found.message
    assert found.line is not None and abs(found.line - line) <= (1 if "parts" in text else 0)
