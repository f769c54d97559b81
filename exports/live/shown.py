"""What the page is to show: the last good data, what is wrong in the file, what is being done; told as it changes."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from typing import Any

QUIET = 15.0
"""Seconds of silence after which a stream of events says that it is still there."""
STREAMS_MOST = 32
"""More pages than this are not told of changes."""

Json = dict[str, Any]


@dataclass
class Shown:
    """The state of the page, and who waits to be told of its changes."""

    data: bytes
    """The walk as JSON."""
    words: str = ""
    """What is shown without a script, and printed."""
    version: int = 0
    problems: list[Json] = field(default_factory=list)
    rebuilding: str = ""
    ended: bool = False
    streams: int = 0
    _changed: asyncio.Event = field(default_factory=asyncio.Event)

    def tell(self, **changes: Any) -> None:
        """Change what is shown, and let everybody know."""
        for name, value in changes.items():
            setattr(self, name, value)
        self._changed.set()
        self._changed = asyncio.Event()

    def state(self) -> str:
        """Return what a page is told of the state; the data it fetches when the version is another."""
        return json.dumps({"version": self.version, "problems": self.problems, "rebuilding": self.rebuilding})

    async def events(self) -> AsyncIterator[str]:
        """Yield the state as server-sent events, whenever it changes, until the end."""
        said = ""
        self.streams += 1
        try:
            while not self.ended:
                changed, now = self._changed, self.state()
                yield ": still here\n\n" if now == said else f"data: {now}\n\n"
                said = now
                try:
                    await asyncio.wait_for(changed.wait(), QUIET)
                except TimeoutError:
                    continue
        finally:
            self.streams -= 1


def nothing_yet(file: str, version: str) -> Json:
    """Return a walk with nothing in it, for a page that is opened before the design could be read."""
    step = {"id": "end", "kind": "stands", "stage": None, "title": "Nothing to see yet",
            "says": ["The work stands here as soon as its file has been read."], "glue": [], "glued": [], "parts": [],
            "moves": [], "minutes": None, "people": 0, "hands": [], "leaves": [], "changes": [], "findings": []}
    return {
        "format": 1, "title": file, "says": "", "unit": "mm", "file": file, "version": version, "about": [],
        "verdict": {"said": "", "stop": 0, "warn": 0, "note": 0}, "cautions": [], "quality": [],
        "box": [[-500.0, -500.0, 0.0], [500.0, 500.0, 1000.0]], "facing": [0.0, 1.0, 0.0], "shapes": [], "parts": [],
        "stages": [], "steps": [step], "findings": [], "planned": False, "live": {"version": 0, "numbers": []},
    }
