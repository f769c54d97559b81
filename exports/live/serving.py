"""The live walk from beginning to end: a port on this machine, the page behind its token, the file watched."""

from __future__ import annotations

import asyncio
import os
import signal
import socket
import sys
import threading
import webbrowser
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from exports.live.workshop import Workshop
from exports.names import printable
from model.errors import DesignError, DryfitError, Problem


class PortTaken(DryfitError):
    """The port asked for cannot be had."""


@dataclass(frozen=True)
class Asked:
    """What the command was asked: the file, what it is read with, the port (0: any that is free), and the browser."""

    file: Path
    unit: str | None = None
    measured: Path | None = None
    port: int = 0
    browser: bool = True


def serve(asked: Asked) -> None:
    """Serve the walk of a file until the process is asked to end; print its address, and open it.

    Raises DesignError where there is no such file, PageMissing, and PortTaken.
    """
    from exports.walk.html import bundle

    _look(asked)
    bundle()
    with _listening(asked.port) as listener:
        ended_by = asyncio.run(_served(asked, listener))
    for number in ended_by[:1]:
        signal.raise_signal(number)


async def _served(asked: Asked, listener: socket.socket) -> list[int]:
    workshop = Workshop()  # before all that this process loads, so that both load at the same time
    try:
        from exports.live.keeping import kept_up

        return await kept_up(asked, listener, workshop, lambda address: _announce(address, asked))
    finally:
        workshop.close()


def _look(asked: Asked) -> None:
    """Refuse what can never be shown: a file that is not there is no file in the making."""
    for file in (asked.file, asked.measured):
        if file is not None and not file.exists():
            raise DesignError(printable(str(file)), [Problem("there is no such file")])


def _listening(port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if sys.platform != "win32":
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind(("127.0.0.1", port))
    except OSError as error:
        listener.close()
        raise PortTaken(f"--port {port}: cannot be had ({error.strerror}); accepted: a port that is free, or no --port "
                        "for any that is") from error
    return listener


def _announce(address: str, asked: Asked) -> None:
    print(address, flush=True)
    print(f"The walk of {printable(asked.file.name)} is at this address, on this machine alone. Ctrl-C ends it.",
          file=sys.stderr, flush=True)
    if asked.browser:
        threading.Thread(target=_open, args=(address,), daemon=True).start()


def _open(address: str) -> None:
    """Open the address in a browser with windows, where there is one; one in the terminal would take it over."""
    if sys.platform not in ("win32", "darwin") and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        return
    with suppress(webbrowser.Error, OSError):
        webbrowser.open(address)
