"""The rounds of the live walk: a change noticed, a rebuild asked for, and what comes of it put on the page."""

from __future__ import annotations

import asyncio
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from exports.live.rebuilding import Job
from exports.live.shown import Json, Shown
from exports.live.watched import Watched, looked, pause
from exports.live.workshop import Workshop
from exports.names import printable
from exports.words import count

SILENT = 60.0
"""Seconds without a word from a rebuild after which that is said on the page, and each time again."""


@dataclass
class Rounds:
    """Watches the files and keeps what is shown up to date."""

    path: Path
    watched: Watched
    unit: str | None
    shown: Shown
    workshop: Workshop
    jobs: int = 0
    version: int = 0
    """The version that the next job's first result gets."""
    begun: float = 0.0
    doing: str = ""
    heard_at: float = 0.0
    _soon: asyncio.Event = field(default_factory=asyncio.Event)

    def at_once(self) -> None:
        """Look at the files now: they were written by ourselves, whole."""
        self._soon.set()

    async def run(self) -> None:
        """Look at the files again and again; ask for a rebuild when they have changed and come to rest."""
        last, took = await asyncio.to_thread(looked, self.watched)
        self._rebuild()
        built = last
        while True:
            whole = await self._waited(pause(took))
            now, took = await asyncio.to_thread(looked, self.watched)
            if now != built and (now == last or whole):
                built = now
                self._rebuild()
            last = now
            self._mind_silence()

    async def _waited(self, seconds: float) -> bool:
        try:
            await asyncio.wait_for(self._soon.wait(), seconds)
        except TimeoutError:
            return False
        self._soon.clear()
        return True

    def _rebuild(self) -> None:
        self.jobs += 1
        job = Job(self.jobs, self.version + 1, self.path, self.unit, self.watched.sheet)
        self.version += 2
        self.begun = self.heard_at = time.monotonic()
        self.doing = "reading the design"
        self.shown.tell(rebuilding=self.doing)
        self.workshop.want(job)

    def heard(self, _number: int, message: tuple[Any, ...]) -> None:
        """Put on the page what is said of the newest rebuild."""
        self.heard_at = time.monotonic()
        match message:
            case ("said", str() as said, float() | int()):
                self.doing = said
                self.shown.tell(rebuilding=said)
            case ("made", int() as version, bool() as planned, counts, bytes() as data, str() as words):
                self._made(version, planned, counts, data, words)
            case ("wrong", list() as problems):
                self._wrong(problems)
            case ("failed", str() as trace):
                print(trace, file=sys.stderr)
                self._wrong([_told("dryfit failed over it, and that is a fault of dryfit; what it said stands where it "
                                   "was started. The last good state stays")])
            case ("ended", exitcode):
                self._wrong([_told(f"the rebuild ended without a word{_how(exitcode)} while {self.doing}: a fault of "
                                   "dryfit, not of your file. The last good state stays; the next change is tried "
                                   "anew")])
            case ("over",):
                self.shown.tell(rebuilding="")

    def _made(self, version: int, planned: bool, counts: list[int], data: bytes, words: str) -> None:
        more = {"words": words, "rebuilding": ""} if planned else {}
        self.shown.tell(data=data, version=version, problems=[], **more)
        if planned:
            stop, warn, note = counts
            said = f"{stop} stop, {count(warn, 'warning')}, {count(note, 'note')}"
            self._say(f"rebuilt in {time.monotonic() - self.begun:.1f} s: {said}")

    def _wrong(self, problems: list[Json]) -> None:
        self.shown.tell(problems=problems, rebuilding="")
        first = problems[0]
        line = f" (line {first['line']})" if first["line"] is not None else ""
        key = f"{first['key']}: " if first["key"] else ""
        more = f", and {len(problems) - 1} more" if len(problems) > 1 else ""
        self._say(f"not rebuilt: {key}{first['said']}{line}{more}")

    def _mind_silence(self) -> None:
        silent = time.monotonic() - self.heard_at
        if self.workshop.busy and silent >= SILENT:
            self.heard_at = time.monotonic()
            minutes = (time.monotonic() - self.begun) / 60.0
            self.shown.tell(rebuilding=f"still {self.doing}, {minutes:.0f} min by now")
            self._say(f"still {self.doing}, {minutes:.0f} min by now")

    def _say(self, said: str) -> None:
        clock = time.strftime("%H:%M:%S")
        print(printable(f"{clock}  {self.path.name} {said}"), file=sys.stderr, flush=True)


def _told(said: str) -> Json:
    return {"line": None, "key": "", "said": said}


def _how(exitcode: int | None) -> str:
    if exitcode is None:
        return ""
    return f" (signal {-exitcode})" if exitcode < 0 else f" (status {exitcode})"
