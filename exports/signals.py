"""Requests to end: obeyed at once, except where a library does not survive it; there, at the next moment it does."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

from model.progress import Progress

ENDING = (signal.SIGINT, signal.SIGTERM)
"""What a person, or the system, sends to end a run."""


@contextmanager
def held_back(progress: Progress) -> Iterator[Progress]:
    """Hold back requests to end while the body runs; give a progress that lets them through, and so does the end.

    VTK ends the process without a word when one reaches it while it loads or draws, and what
    was half-written would stay.
    """
    if threading.current_thread() is not threading.main_thread():
        yield progress
        return
    asked: list[int] = []

    def note(number: int, _frame: FrameType | None) -> None:
        asked.append(number)

    before = {number: signal.signal(number, note) for number in ENDING}

    def heeding(said: str, behind: float) -> None:
        progress(said, behind)
        _obey(asked, before)

    try:
        yield heeding
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
    _obey(asked, before)


def _obey(asked: list[int], before: dict[signal.Signals, Callable[[int, FrameType | None], Any] | int | None]) -> None:
    """Do what would have been done at once."""
    for number in asked:
        handler = before[signal.Signals(number)]
        if callable(handler):
            handler(number, None)
