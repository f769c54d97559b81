"""Progress on standard error: a bar on a terminal, a line now and then anywhere else."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TextIO

from model.progress import Progress

PATIENCE = 1.0
"""Seconds before the first line, and between lines, where the stream is no terminal."""

_COLOUR = "#0072B2"
"""Blue, after Okabe & Ito (2008)."""


@contextmanager
def progress(stream: TextIO) -> Iterator[Progress]:
    """Give a callback that shows on a stream what is being done and how much is behind (0 to 1)."""
    if not stream.isatty():
        yield _Lines(stream)
        return
    from rich.console import Console
    from rich.progress import BarColumn, TaskProgressColumn, TextColumn
    from rich.progress import Progress as Bar

    columns = (BarColumn(bar_width=24, complete_style=_COLOUR, finished_style=_COLOUR),
               TaskProgressColumn(), TextColumn("{task.description}", markup=False))
    with Bar(*columns, console=Console(file=stream), transient=True, redirect_stdout=False) as bar:
        task = bar.add_task("", total=1.0)
        yield lambda said, behind: bar.update(task, description=said, completed=behind)


class _Lines:
    def __init__(self, stream: TextIO) -> None:
        self.stream = stream
        self.last = time.monotonic()
        self.said = ""

    def __call__(self, said: str, behind: float) -> None:
        now = time.monotonic()
        if now - self.last >= PATIENCE and said != self.said:
            self.last, self.said = now, said
            self.stream.write(f"{behind:4.0%}  {said}\n")
            self.stream.flush()
