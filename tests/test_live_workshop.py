"""The process that rebuilds: a newer job breaks off an older one, and no end of it, however sudden, ends the server."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import pytest

from exports.live.rebuilding import RETIRED, Job, Superseded, _Worker
from exports.live.watched import Watched
from exports.live.workshop import Workshop

HERE = Path("/nowhere")


def obedient(pipe: Connection) -> None:
    """Say that each job is done."""
    while True:
        pipe.send((pipe.recv().number, "over"))


def crashing(pipe: Connection) -> None:
    """Fall over the first job, and do every other."""
    while True:
        number = pipe.recv().number
        if number == 1:
            os.kill(os.getpid(), signal.SIGSEGV if sys.platform != "win32" else signal.SIGTERM)
        pipe.send((number, "over"))


def retiring(pipe: Connection) -> None:
    """Do one job, and make room for another."""
    pipe.send((pipe.recv().number, "over"))
    os._exit(RETIRED)


def hanging(pipe: Connection) -> None:
    """Never come back from the first job, as native code may, and do every other."""
    while True:
        number = pipe.recv().number
        pipe.send((number, "said", "begun", 0.0))
        while number == 1:
            time.sleep(10.0)
        pipe.send((number, "over"))


def busy(pipe: Connection) -> None:
    """Work on each job but the third in Python until something else is wanted, as the real process works."""
    class Working(_Worker):
        def _carry_out(self, job: Job) -> None:
            self.running = job.number
            self._say("said", "begun", 0.0)
            while job.number < 3:
                try:
                    sum(range(1000))
                except Exception:
                    continue
            self._say("over")
    Working(pipe).run()


def heard(body: Callable[[Connection], None], act: Callable[[Workshop, list[Any]], Any],
          grace: float = 0.2) -> list[Any]:
    """Return what was said by a process with a body while something was done with it."""
    async def run() -> list[Any]:
        said: list[Any] = []
        workshop = Workshop(body, grace)
        workshop.heard = lambda number, message: said.append((number, *message))
        try:
            await act(workshop, said)
        finally:
            workshop.close()
        assert workshop.process is None or not workshop.process.is_alive()
        return said
    return asyncio.run(run())


async def until(done: Callable[[], bool]) -> None:
    async with asyncio.timeout(60.0):
        while not done():
            await asyncio.sleep(0.01)


def job(number: int) -> Job:
    return Job(number, 2 * number - 1, HERE)


def test_jobs_are_done_one_after_another() -> None:
    async def act(workshop: Workshop, said: list[Any]) -> None:
        for number in (1, 2, 3):
            workshop.want(job(number))
            await until(lambda number=number: (number, "over") in said)
    assert heard(obedient, act) == [(1, "over"), (2, "over"), (3, "over")]


def test_a_crash_is_told_and_the_next_job_is_done() -> None:
    async def act(workshop: Workshop, said: list[Any]) -> None:
        workshop.want(job(1))
        await until(lambda: any(one[1] == "ended" for one in said))
        workshop.want(job(2))
        await until(lambda: (2, "over") in said)
    said = heard(crashing, act)
    assert said[0][:2] == (1, "ended")
    assert said[0][2] == (-signal.SIGSEGV if sys.platform != "win32" else said[0][2])
    assert said[-1] == (2, "over")


def test_a_job_that_never_comes_back_gives_way_to_the_next() -> None:
    async def act(workshop: Workshop, said: list[Any]) -> None:
        workshop.want(job(1))
        await until(lambda: bool(said))
        workshop.want(job(2))
        await until(lambda: (2, "over") in said)
    assert [one[0] for one in heard(hanging, act)] == [1, 2, 2]


def test_a_process_that_has_done_enough_is_followed_by_a_fresh_one() -> None:
    async def act(workshop: Workshop, said: list[Any]) -> None:
        first = workshop.process
        workshop.want(job(1))
        await until(lambda: (1, "over") in said and workshop.process not in (None, first))
        workshop.want(job(2))
        await until(lambda: (2, "over") in said)
    assert heard(retiring, act) == [(1, "over"), (2, "over")]


def test_a_newer_job_breaks_off_the_older_in_the_same_process() -> None:
    pids: list[int] = []

    async def act(workshop: Workshop, said: list[Any]) -> None:
        for number in (1, 2, 3):
            workshop.want(job(number))
            await until(lambda number=number: (number, "said", "begun", 0.0) in said)
            pids.append(workshop.process.pid)
        await until(lambda: (3, "over") in said)
    heard(busy, act, grace=60.0)
    assert len(set(pids)) == 1


def test_breaking_off_is_no_ordinary_error() -> None:
    assert not issubclass(Superseded, Exception)


def test_the_process_goes_when_the_one_that_serves_is_gone() -> None:
    async def act(workshop: Workshop, _said: list[Any]) -> None:
        process = workshop.process
        workshop.closed = True
        workshop.pipe.send(job(1))
        await asyncio.sleep(0.1)
        workshop.pipe.close()
        await asyncio.to_thread(process.join, 30.0)
        assert process.exitcode == 0
    if sys.platform != "linux":
        pytest.skip("closing a pipe under a reader is told only there")
    heard(obedient_until_closed, act)


def obedient_until_closed(pipe: Connection) -> None:
    """Listen as the real process does."""
    _Worker(pipe).run()


# -- what is watched ------------------------------------------------------------------------------


def test_a_design_is_watched_with_what_it_names_beside_it(tmp_path: Path) -> None:
    file = tmp_path / "d.toml"
    file.write_text('measured = "sheet.csv"\n[part.a]\nshape = "mesh"\nfile = "a.stl"\n[part.b]\nfile = "../b.stl"\n'
                    '[part.c]\nfile = "/etc/c.stl"\n[part.d]\nfile = [', encoding="utf-8")
    names = [path.relative_to(tmp_path).as_posix() for path in Watched(file, tmp_path / "given.csv").files()]
    assert names == ["d.toml", "given.csv", "sheet.csv", "a.stl"]


@pytest.mark.parametrize("how", ["written", "renamed over", "removed", "mesh written", "mesh made"])
def test_every_change_shows(tmp_path: Path, how: str) -> None:
    file, mesh = tmp_path / "d.toml", tmp_path / "a.stl"
    file.write_text('[part.a]\nfile = "a.stl"\n', encoding="utf-8")
    if how == "mesh written":
        mesh.write_bytes(b"x")
    watched = Watched(file)
    before = watched.signature()
    assert watched.signature() == before
    if how == "written":
        file.write_text('[part.a]\nfile = "a.stl"\n# more\n', encoding="utf-8")
    elif how == "renamed over":
        (tmp_path / "new").write_text('[part.a]\nfile = "a.stl"\n', encoding="utf-8")
        (tmp_path / "new").replace(file)
    elif how == "removed":
        file.unlink()
    else:
        mesh.write_bytes(b"longer")
    assert watched.signature() != before


def test_a_folder_of_meshes_is_watched_file_by_file(tmp_path: Path) -> None:
    (tmp_path / "a.stl").write_bytes(b"x")
    before = Watched(tmp_path).signature()
    (tmp_path / "b.stl").write_bytes(b"y")
    assert Watched(tmp_path).signature() != before
