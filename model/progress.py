"""Progress: how long work says what it is doing and how much of it is behind."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[str, float], None]
"""Called with what is being done and how much of the work is behind (0 to 1)."""


def quiet(_said: str, _behind: float) -> None:
    """Report no progress."""


def share(whole: Progress, start: float, end: float) -> Progress:
    """Return a callback for a piece of the work that takes it from `start` to `end`."""
    return lambda said, behind: whole(said, start + (end - start) * behind)
