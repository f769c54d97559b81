"""The process that rebuilds, as the server sees it: the newest job handed over, what is said heard, its end noticed."""

from __future__ import annotations

import asyncio
import multiprocessing
import threading
from collections.abc import Callable
from contextlib import suppress
from multiprocessing.connection import Connection
from typing import Any

from exports.live.rebuilding import RETIRED, Job, work

GRACE = 4.0
"""Seconds that a superseded job has to let go, before its process is ended and another begun."""
LEAVE = 1.0
"""Seconds that the process has to go when all is over, before it is killed."""

Heard = Callable[[int, tuple[Any, ...]], None]
"""Takes what is said of a job: its number and the message."""


class Workshop:
    """One process at a time, begun when there is work, and begun anew where it ended or does not let go of a job."""

    heard: Heard
    """Set before the first job is handed over."""

    def __init__(self, body: Callable[[Connection], None] = work, grace: float = GRACE) -> None:
        self.body, self.grace = body, grace
        self.loop = asyncio.get_running_loop()
        self.job: Job | None = None
        self.busy = 0
        """The number of the job that the process is at; 0 while it is idle."""
        self.closed = False
        self.process: Any = None
        self._awake = False
        self._late: asyncio.TimerHandle | None = None
        self._begin()

    def want(self, job: Job) -> None:
        """Hand over a job; what the process is at is no longer wanted."""
        self.job = job
        if self.process is None:
            self._begin()
        if self.busy and self._awake and self._late is None:
            self._late = self.loop.call_later(self.grace, self._lost_patience, self.process)
        self._send(job)

    def close(self) -> None:
        """End the process, and wait until it is gone."""
        self.closed = True
        self._forget_time()
        if self.process is None:
            return
        self.process.terminate()
        self.process.join(LEAVE)
        if self.process.exitcode is None:
            self.process.kill()
            self.process.join(LEAVE)
        self.listener.join(LEAVE)

    def _begin(self) -> None:
        context = multiprocessing.get_context("spawn")
        self.pipe, theirs = context.Pipe()
        self.process = context.Process(target=self.body, args=(theirs,), daemon=True, name="dryfit-walk")
        self.process.start()
        theirs.close()
        self.busy, self._awake = 0, False
        self.listener = threading.Thread(target=self._listen, args=(self.process, self.pipe), daemon=True)
        self.listener.start()

    def _send(self, job: Job) -> None:
        self.busy = self.busy or job.number
        with suppress(OSError, ValueError):
            self.pipe.send(job)

    def _listen(self, process: Any, pipe: Connection) -> None:
        with suppress(EOFError, OSError, TypeError, ValueError):
            while True:
                number, *message = pipe.recv()
                self._in_the_loop(self._take, process, number, tuple(message))
        process.join()
        pipe.close()
        self._in_the_loop(self._ended, process)

    def _in_the_loop(self, does: Callable[..., None], *given: object) -> None:
        with suppress(RuntimeError):  # the loop is closed
            self.loop.call_soon_threadsafe(does, *given)

    def _take(self, process: Any, number: int, message: tuple[Any, ...]) -> None:
        if process is not self.process or self.closed:
            return
        self._awake = True
        if self.job is None or number != self.job.number:
            return
        self._forget_time()
        self.busy = 0 if message[0] == "over" else number
        self.heard(number, message)

    def _forget_time(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None

    def _lost_patience(self, process: Any) -> None:
        """End a process that does not let go, and give the newest job to another."""
        self._late = None
        if process is self.process and not self.closed and self.job is not None:
            process.kill()
            self._begin()
            self._send(self.job)

    def _ended(self, process: Any) -> None:
        """Take note that the process ended: a job that it never came to is given to another, else its end is told."""
        if process is not self.process or self.closed:
            return
        self._forget_time()
        job, busy, self.process, self.busy = self.job, self.busy, None, 0
        retired = process.exitcode == RETIRED
        if job is not None and busy and (retired or busy != job.number):
            self._begin()
            self._send(job)
        elif job is not None and busy:
            self.heard(job.number, ("ended", process.exitcode))
        elif retired:
            self._begin()
