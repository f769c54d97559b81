"""The README tells the truth: its design is the one in examples/, and its report is what comes out."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

from assembly.rehearsal import rehearse
from exports.command import main
from exports.report import plain, report
from model.families import FAMILIES
from model.joints import KINDS
from model.reader import read
from model.shapes import SHAPES

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DESIGN = ROOT / "examples" / "net_rack.toml"


def block(mark: str) -> str:
    found = re.search(rf"<!-- {mark} -->\n```\w+\n(.*?)```", README, re.DOTALL)
    assert found is not None, mark
    return found[1]


def test_the_design_shown_is_the_one_in_examples() -> None:
    assert block("design") == DESIGN.read_text(encoding="utf-8")


def rehearsed(text: str, folder: Path) -> tuple[str, int]:
    """Return what the report on a design says, and the exit status of the command."""
    file = folder / "net_rack.toml"
    file.write_text(text, encoding="utf-8")
    return plain(report(rehearse(read(file)))), main(["check", str(file)])


def test_the_report_shown_is_what_the_rehearsal_says(tmp_path: Path) -> None:
    said, status = rehearsed(block("design"), tmp_path)
    assert block("report") in said
    assert status == 0


def test_the_mistake_shown_is_found(tmp_path: Path) -> None:
    said, status = rehearsed(block("design").replace("step = 260", "step = 80"), tmp_path)
    assert block("mistake") in said
    assert said.count("STOP  interference") == 4
    assert status == 1


def test_every_kind_there_is_stands_in_the_readme() -> None:
    for name in (*KINDS, *SHAPES, *FAMILIES):
        assert f"`{name}`" in README, name


def test_every_command_there_is_stands_in_the_readme() -> None:
    done = subprocess.run([sys.executable, "-m", "exports", "--help"], cwd=ROOT, capture_output=True, text=True,
                          check=True)
    commands = re.findall(r"^    (\w+)\s", done.stdout, re.MULTILINE)
    assert {"rehearse", "check", "plan", "export", "start"} <= set(commands)
    for command in commands:
        assert f"`dryfit {command} " in README, command


def test_what_the_readme_points_to_is_there() -> None:
    for target in re.findall(r"\]\((?!https?:)([^)#]+)\)", README):
        assert (ROOT / target).is_file(), target
