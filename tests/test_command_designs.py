"""The command on real files, from the file to the exit status, with nothing put in between."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from exports import command
from exports.folder import inventory
from model.families import FAMILIES

ROOT = Path(__file__).resolve().parent.parent
BAD = sorted((ROOT / "tests/bad").glob("*.toml"))


@pytest.mark.parametrize("family", sorted(FAMILIES))
def test_a_started_file_rehearses_cleanly(family: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "begun.toml"
    assert command.main(["start", family, "-o", str(file)]) == 0
    capsys.readouterr()
    assert command.main(["plan", str(file), "--json"]) == 0
    read = json.loads(capsys.readouterr().out)
    assert read["counts"]["stop"] == 0
    assert read["stages"] and all(stage["moves"] for stage in read["stages"])


@pytest.mark.parametrize("file", BAD, ids=lambda f: f.stem)
def test_a_bad_file_is_2_one_line_a_problem_and_nothing_else(file: Path, tmp_path: Path,
                                                             capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["check", "--json"], ["rehearse", "-o", str(tmp_path / "out")]):
        assert command.main([*words, str(file)]) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert err.strip() and all(line.startswith(str(file)) for line in err.splitlines())
    assert inventory(tmp_path) == []


@pytest.mark.parametrize("content", [b"", b"\0\1\2" * 100, b"\xff\xfe", b"[" * 100_000, b"name = ", b"x" * 20_000_000],
                         ids=["empty", "binary", "no text", "deep", "cut short", "enormous"])
def test_rubbish_is_2(content: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "rubbish.toml"
    file.write_bytes(content)
    assert command.main(["plan", str(file)]) == 2
    out, err = capsys.readouterr()
    assert out == "" and str(file) in err and "Traceback" not in err


def test_files_that_are_none(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for file in (tmp_path / "missing.toml", tmp_path, tmp_path / ("n" * 300), Path("/dev/null")):
        assert command.main(["check", str(file)]) == 2
        out, err = capsys.readouterr()
        assert out == "" and str(file) in err and "Traceback" not in err
