"""What goes wrong is told in the unit of the file, in words a maker knows."""

from __future__ import annotations

from pathlib import Path

import pytest

from model.errors import DesignError, Problem
from model.reader import read
from model.reader.problems import LISTED, by_likeness
from model.reader.said import in_unit
from model.stock import species

FILE = """name = "Said"
unit = "in"
base = "a"
[stock]
s = { nominal = "2x4", species = "Western larch" }
[part]
a = { shape = "board", stock = "s", length = 40 }
b = { shape = "board", stock = "s", length = 20 }
[joint]
j = { kind = "blind tenon", from = "b.start", into = "a.face", along = 10 }
"""


def problem_of(folder: Path, text: str) -> Problem:
    file = folder / "said.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(DesignError) as raised:
        read(file)
    (problem,) = raised.value.problems
    return problem


@pytest.mark.parametrize(("said", "mm", "inches"), [
    ("38.10 mm", "38.1 mm", "1 1/2 in"), ("at most 35.10 mm, what", "at most 35.1 mm, what", "at most 1.382 in, what"),
    ("-5.00 mm", "-5 mm", "-0.197 in"),
    ("a, 12.0 x 63.5 mm thick", "a, 12 x 63.5 mm thick", "a, 0.472 x 2 1/2 in thick"),
    ("0 to 3 mm a side", "0 to 3 mm a side", "0 to 0.118 in a side"), ('such as "38 mm"', ) * 3,
    ("2 pieces of 25.4 mm", "2 pieces of 25.4 mm", "2 pieces of 1 in"), ("rail_2 mm", ) * 3, ("12 mmol", ) * 3,
    ("100 m away", ) * 3, ("0.05 mm", "0.05 mm", "0.002 in"), ("-0.001 mm", "0 mm", "0 in")])
def test_lengths_in_a_sentence(said: str, mm: str, inches: str) -> None:
    assert (in_unit(said, "mm"), in_unit(said, "in")) == (mm, inches)


@pytest.mark.parametrize(("key", "message", "found", "accepted"), [
    ("depth = 20", "cannot be cut", "20 in", "at most 1.382 in, a is 1 1/2 in through there"),
    ("depth = -1", "cannot be cut", "-1 in", "more than 0 in"),
    ("thickness = 4", "cannot be cut", "4 in", "more than 0 in and at most 1 1/2 in, what b can give there"),
    ("shift = 30", "cannot be cut: its width would be", "", "less shift or offset"),
    ("across = 30", "cannot be cut: it would lie on a place beside a", "", "a place on the wood of a"),
    ("fit = 3", "not a clearance", "3", "a length from 0 to 0.079 in")])
def test_joints_speak_inches_in_a_file_in_inches(tmp_path: Path, key: str, message: str, found: str,
                                                 accepted: str) -> None:
    problem = problem_of(tmp_path, FILE.replace("along = 10", f"along = 10, {key}"))
    assert problem.message.startswith(message) and problem.value == found and accepted in problem.accepted
    assert "mm" not in f"{problem.message} {problem.value} {problem.accepted}"
    assert problem.line == 10


def test_solids_speak_inches_in_a_file_in_inches(tmp_path: Path) -> None:
    problem = problem_of(tmp_path, FILE.replace("length = 20", "length = 20, width = 9"))
    assert problem.message == "cannot be made: 9 in wide cannot be had from s; accepted: more than 0, at most 3 1/2 in"


@pytest.mark.parametrize(("change", "words"), [
    (("length = 20", "length = 0.001"), "is no piece of wood: 0.001 x"),
    (('nominal = "2x4"', 'thickness = 0.001, width = 3'), "is no piece of wood")])
def test_what_is_too_small_is_no_piece_of_wood(tmp_path: Path, change: tuple[str, str], words: str) -> None:
    file = tmp_path / "said.toml"
    file.write_text(FILE.replace(*change), encoding="utf-8")
    with pytest.raises(DesignError) as raised:
        read(file)
    assert all(words in p.message and p.key.startswith("part.") for p in raised.value.problems)


@pytest.mark.parametrize(("said", "meant"), [
    ("White oak", "White oak (Quercus alba)"), ("western larch", "Western larch"), ("tamarack", "Tamarack (larch)"),
    ("Sitka Spruce", "Sitka spruce"), ("Douglas fir coast", "Douglas-fir, coast")])
def test_a_species_by_the_name_a_yard_has_for_it(tmp_path: Path, said: str, meant: str) -> None:
    file = tmp_path / "said.toml"
    file.write_text(FILE.replace("Western larch", said), encoding="utf-8")
    assert read(file).parts[0].blank.stock.species.name == meant


@pytest.mark.parametrize("said", ["Douglas fir", "fir", "White", "", "Western"])
def test_a_species_that_could_be_several_is_refused(tmp_path: Path, said: str) -> None:
    assert problem_of(tmp_path, FILE.replace("Western larch", said)).key == "stock.s.species"


def test_a_long_list_begins_with_what_is_like_it() -> None:
    names = by_likeness("Douglas fir", tuple(species()))
    assert all("Douglas" in n for n in names[:3]) and sorted(names) == sorted(species())
    assert by_likeness("fir", ("b", "fir", "a")) == ("b", "fir", "a"), f"up to {LISTED} stay as they are"
