"""The README tells the truth: its design is the one in examples/, and its reports are what comes out."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from exports.command import main
from model.families import FAMILIES
from model.joints import KINDS
from model.shapes import SHAPES
from tests.readme import MISTAKEN, README, ROOT, SOUND, block, made, said_of

TEXT = README.read_text(encoding="utf-8")


def shown(mark: str) -> str:
    return block(TEXT, mark)[2]


@pytest.mark.parametrize("mark", ["design", "report", "mistake"])
def test_what_is_shown_is_what_comes_out(mark: str) -> None:
    """After a change that is meant, `python -m tests.readme` brings the README up to date."""
    assert shown(mark) == made()[mark]


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
