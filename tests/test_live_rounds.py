"""What becomes of a rebuild on the page: its word, its data, its problems, and its end however it came."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from exports.live import rounds as kept
from exports.live.rebuilding import Job
from exports.live.rounds import Rounds
from exports.live.shown import Shown, nothing_yet
from exports.live.watched import Watched

DATA = b'{"format": 1}'


class Bench:
    """A workshop that only takes note of what is wanted."""

    def __init__(self) -> None:
        self.jobs: list[Job] = []
        self.busy = 0

    def want(self, job: Job) -> None:
        self.jobs.append(job)
        self.busy = job.number


def made(file: Path) -> tuple[Rounds, Bench]:
    bench = Bench()
    shown = Shown(json.dumps(nothing_yet(file.name, "0")).encode())
    rounds: Any = Rounds(file, Watched(file), None, shown, bench)  # type: ignore[arg-type]
    return rounds, bench


def on(file: Path, act: Callable[[Rounds, Bench], None]) -> tuple[Rounds, Bench]:
    """Return the rounds of a file after something was done while they ran."""
    async def run() -> tuple[Rounds, Bench]:
        rounds, bench = made(file)
        running = asyncio.create_task(rounds.run())
        async with asyncio.timeout(60.0):
            while not bench.jobs:
                await asyncio.sleep(0.01)
            act(rounds, bench)
            await asyncio.sleep(0.0)
        running.cancel()
        return rounds, bench
    return asyncio.run(run())


@pytest.fixture
def file(tmp_path: Path) -> Path:
    (tmp_path / "d.toml").write_text("name = 'x'\n", encoding="utf-8")
    return tmp_path / "d.toml"


def test_data_comes_in_two_stages_and_is_told_in_one_line(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def act(rounds: Rounds, _bench: Bench) -> None:
        rounds.heard(1, ("made", 1, False, [0, 0, 0], DATA, ""))
        assert (rounds.shown.version, rounds.shown.data, rounds.shown.words) == (1, DATA, "")
        assert capsys.readouterr().err == ""
        rounds.heard(1, ("made", 2, True, [1, 1, 3], DATA, "<p>words</p>"))
    rounds, bench = on(file, act)
    assert [job.version for job in bench.jobs] == [1]
    assert (rounds.shown.version, rounds.shown.words, rounds.shown.rebuilding) == (2, "<p>words</p>", "")
    said = capsys.readouterr().err
    assert "d.toml rebuilt in " in said and said.endswith("1 stop, 1 warning, 3 notes\n") and said.count("\n") == 1


def test_problems_leave_the_last_good_state(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def act(rounds: Rounds, _bench: Bench) -> None:
        rounds.heard(1, ("made", 1, False, [0, 0, 0], DATA, ""))
        rounds.heard(1, ("wrong", [{"line": 3, "key": "unit", "said": "not a unit\x1b[31m"},
                                   {"line": None, "key": "", "said": "more"}]))
    shown = on(file, act)[0].shown
    assert shown.data == DATA and [p["line"] for p in shown.problems] == [3, None]
    said = capsys.readouterr().err
    assert "not rebuilt: unit: not a unit" in said and "(line 3), and 1 more" in said and "\x1b" not in said


def test_good_data_takes_the_problems_away(file: Path) -> None:
    def act(rounds: Rounds, _bench: Bench) -> None:
        rounds.heard(1, ("wrong", [{"line": 3, "key": "unit", "said": "not a unit"}]))
        rounds.heard(2, ("made", 3, False, [0, 0, 0], DATA, ""))
    assert on(file, act)[0].shown.problems == []


@pytest.mark.parametrize(("exitcode", "how"), [(-11, "(signal 11)"), (3, "(status 3)"), (None, "without a word while")])
def test_a_crash_is_said_as_a_fault_of_our_own(file: Path, exitcode: int | None, how: str) -> None:
    def act(rounds: Rounds, _bench: Bench) -> None:
        rounds.heard(1, ("said", "checking the fit", 0.2))
        rounds.heard(1, ("ended", exitcode))
    problem, = on(file, act)[0].shown.problems
    assert how in problem["said"] and "while checking the fit" in problem["said"]
    assert "a fault of dryfit" in problem["said"]


def test_a_failure_leaves_its_trace_where_the_server_runs(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def act(rounds: Rounds, _bench: Bench) -> None:
        rounds.heard(1, ("failed", "Traceback: ..."))
    problem, = on(file, act)[0].shown.problems
    assert "Traceback" not in problem["said"] and "Traceback" in capsys.readouterr().err


def test_silence_is_said(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "SILENT", 0.0)

    async def run() -> Shown:
        rounds, _bench = made(file)
        running = asyncio.create_task(rounds.run())
        async with asyncio.timeout(60.0):
            while not rounds.shown.rebuilding.startswith("still reading the design"):
                await asyncio.sleep(0.01)
        running.cancel()
        return rounds.shown
    assert "0 min by now" in asyncio.run(run()).rebuilding


def test_each_change_is_one_job_and_none_is_none(file: Path) -> None:
    async def run() -> Bench:
        rounds, bench = made(file)
        running = asyncio.create_task(rounds.run())
        async with asyncio.timeout(60.0):
            while not bench.jobs:
                await asyncio.sleep(0.01)
            rounds.at_once()
            await asyncio.sleep(0.3)
            assert len(bench.jobs) == 1, "nothing has changed"
            file.write_text("name = 'another'\n", encoding="utf-8")
            while len(bench.jobs) < 2:
                await asyncio.sleep(0.01)
            file.write_text("name = 'written by ourselves'\n", encoding="utf-8")
            rounds.at_once()
            while len(bench.jobs) < 3:
                await asyncio.sleep(0.01)
        running.cancel()
        return bench
    jobs = asyncio.run(run()).jobs
    assert [(job.number, job.version) for job in jobs] == [(1, 1), (2, 3), (3, 5)]
