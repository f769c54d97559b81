"""The rebuilding of the page's data, in a process of its own that stays warm.

Jobs come through a pipe; only the newest counts, and one that is superseded is broken off where it stands. What comes
back, each with the number of its job: ("said", text, share), ("made", version, planned, counts, JSON, words),
("wrong", problems), ("failed", text), and at last ("over",). Native code that ends the process, or never comes back,
ends only this process.
"""

from __future__ import annotations

import _thread
import gc
import json
import os
import signal
import threading
import time
import traceback
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from types import FrameType
from typing import Any

from exports.names import printable
from model.errors import DesignError, DryfitError, Problem

JOBS_MOST = 100
"""After so many rebuilds a fresh process takes over: what is remembered of each, about 10 MB, would add up."""
RETIRED = 0
"""The status with which a process ends that has done enough."""
SPOKEN = 0.1
"""Seconds between two words of progress, at least."""


@dataclass(frozen=True)
class Job:
    """One rebuild: its number, the version its first result gets, and what is read, as the command was asked."""

    number: int
    version: int
    path: Path
    unit: str | None = None
    measured: Path | None = None


class Superseded(BaseException):
    """The job is no longer wanted."""


def work(pipe: Connection) -> None:
    """Carry out the jobs that come through the pipe until it closes. The body of the process."""
    _Worker(pipe).run()


class _Worker:
    def __init__(self, pipe: Connection) -> None:
        self.pipe = pipe
        self.newest: Job | None = None
        self.came = threading.Event()
        self.running = 0
        self.done = 0
        self.jobs = 0
        self.speaking = False
        self.spoken = 0.0

    def run(self) -> None:
        signal.signal(signal.SIGINT, self._called)
        threading.Thread(target=self._listen, daemon=True).start()
        _warm()
        gc.freeze()  # what is loaded stays, and need not be looked through again and again
        while True:
            with suppress(Superseded):
                self._work()

    def _work(self) -> None:
        while True:
            self.running = 0
            self.came.wait()
            self.came.clear()
            job = self.newest
            if job is not None and job.number > self.done:
                self.done = job.number
                self._carry_out(job)
                self.jobs += 1
                if self.jobs >= JOBS_MOST:
                    os._exit(RETIRED)

    def _listen(self) -> None:
        """Take up jobs; the end of the pipe is the end of the process, whatever it is at."""
        try:
            while True:
                self.newest = self.pipe.recv()
                self.came.set()
                if self.running:
                    _thread.interrupt_main(signal.SIGINT)
        except (EOFError, OSError):
            os._exit(0)

    def _called(self, _number: int, _frame: FrameType | None) -> None:
        """Break off what is superseded; a person's interrupt is for the process that serves, not for this one."""
        if not self.speaking:
            self._heed()

    def _heed(self) -> None:
        if self.running and self.newest is not None and self.newest.number > self.running:
            self.came.set()
            raise Superseded

    def _say(self, *message: object) -> None:
        self.speaking = True
        try:
            self.pipe.send((self.running, *message))
        except OSError:
            os._exit(0)
        finally:
            self.speaking = False
        self._heed()

    def _progress(self, said: str, behind: float) -> None:
        self._heed()
        now = time.monotonic()
        if now - self.spoken >= SPOKEN:
            self.spoken = now
            self._say("said", said, behind)

    def _carry_out(self, job: Job) -> None:
        self.running, self.spoken = job.number, 0.0
        try:
            self._rebuild(job)
        except DryfitError as error:
            self._say("wrong", wrong(error))
        except MemoryError:
            self._say("wrong", [{"line": None, "key": "", "said": "the design needs more memory than there is"}])
        except Exception:
            self._say("failed", traceback.format_exc())
        self._say("over")

    def _rebuild(self, job: Job) -> None:
        from assembly.rehearsal import fitted, planned
        from exports.live.numbers import told_of
        from exports.reading import design_in
        from model.progress import share

        shown = told_of(job.path)
        design = design_in(job.path, job.unit, job.measured, share(self._progress, 0.0, 0.1))
        rehearsal = fitted(design, share(self._progress, 0.1, 0.3))
        self._made(rehearsal, job.version, False, shown)
        rehearsal = planned(rehearsal, share(self._progress, 0.3, 0.9))
        self._progress("drawing up the page", 0.9)
        self._made(rehearsal, job.version + 1, True, shown)

    def _made(self, rehearsal: Any, version: int, planned: bool, shown: list[dict[str, Any]]) -> None:
        from exports.walk import walk_data
        from exports.walk.document import document
        from exports.walk.sent import sent

        data = walk_data(rehearsal, planned=planned, live={"version": version, "numbers": shown})
        counts = [sum(f.severity == kind for f in rehearsal.findings) for kind in ("stop", "warn", "note")]
        told = json.dumps(sent(data), allow_nan=False, separators=(",", ":")).encode()
        words = document(rehearsal, walk=data) if planned else ""
        self._say("made", version, planned, counts, told, words)


def wrong(error: Exception) -> list[dict[str, Any]]:
    """Return what is wrong, as the page is told it: line, key, and what a person reads."""
    problems = error.problems if isinstance(error, DesignError) else [Problem(str(error))]
    return [{"line": p.line, "key": printable(p.key), "said": printable(_said(p))} for p in problems]


def _said(p: Problem) -> str:
    said = p.message + (f" (found {p.value})" if p.value else "")
    said += f"; accepted: {p.accepted}" if p.accepted else ""
    return said + (f"; did you mean “{p.nearest}”?" if p.nearest else "")


def _warm() -> None:
    """Load beforehand what the first job would have to."""
    import exports.live.numbers
    import exports.reading
    import exports.walk.document  # noqa: F401
