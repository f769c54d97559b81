"""The README tells the truth: its design is the one in examples/, and its reports are what comes out."""

from __future__ import annotations

import math
import re
import subprocess
import sys
from pathlib import Path
from typing import get_args

import pytest

from assembly.findings import Kind
from assembly.rehearsal import rehearse
from exports.command import main
from model.families import FAMILIES
from model.joints import KINDS
from model.reader import read
from model.shapes import SHAPES
from model.stock import species
from tests.readme import MISTAKEN, README, ROOT, SOUND, block, made, said_of

TEXT = README.read_text(encoding="utf-8")


def shown(mark: str) -> str:
    return block(TEXT, mark)[2]


@pytest.mark.parametrize("mark", ["design", "report", "mistake", "measured"])
def test_what_is_shown_is_what_comes_out(mark: str) -> None:
    """After a change that is meant, `python -m tests.readme` brings the README up to date."""
    assert shown(mark) == made()[mark]


def test_the_leaning_leg_shown_leans_and_goes_home(tmp_path: Path) -> None:
    file = tmp_path / "leg.toml"
    head = 'name = "leg"\nbase = "top"\n[stock]\nbeam = { nominal = "4x4", species = "white oak" }\n[part]\n'
    file.write_text(head + shown("lean"), encoding="utf-8")
    rehearsal = rehearse(read(file))
    assert [f.message for f in rehearsal.findings if f.severity != "note"] == []
    down = rehearsal.assembly.frames["leg"][:3, 0]
    assert math.degrees(math.acos(-down[2])) == pytest.approx(10.0, abs=1e-6)


def test_every_species_is_named() -> None:
    words = " ".join(TEXT.split())
    assert [name for name in species() if name not in words] == []


def test_the_design_shown_rehearses_and_the_mistake_stops_it(tmp_path: Path) -> None:
    file = tmp_path / "shown.toml"
    file.write_text(shown("design"), encoding="utf-8")
    assert main(["check", str(file)]) == 0
    assert SOUND in shown("design")
    mistaken = shown("design").replace(SOUND, MISTAKEN)
    file.write_text(mistaken, encoding="utf-8")
    assert main(["check", str(file)]) == 1
    assert said_of(mistaken).count("STOP  interference") == 4


def test_every_kind_there_is_stands_in_the_readme() -> None:
    for name in (*KINDS, *SHAPES, *FAMILIES):
        assert f"`{name}`" in TEXT, name


def test_every_kind_of_finding_stands_in_the_readme() -> None:
    for kind in get_args(Kind):
        assert f"`{kind}`" in TEXT, kind


def test_every_command_there_is_stands_in_the_readme() -> None:
    done = subprocess.run([sys.executable, "-m", "exports", "--help"], cwd=ROOT, capture_output=True, text=True,
                          check=True)
    commands = re.findall(r"^    (\w+)\s", done.stdout, re.MULTILINE)
    assert {"rehearse", "check", "plan", "export", "start"} <= set(commands)
    for command in commands:
        assert f"`dryfit {command} " in TEXT, command


def test_what_the_readme_points_to_is_there() -> None:
    for target in re.findall(r"\]\((?!https?:)([^)#]+)\)", TEXT):
        assert (ROOT / target).is_file(), target
