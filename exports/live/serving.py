"""The live walk from beginning to end: a port on this machine, the page behind its token, the file watched."""

from __future__ import annotations

import asyncio
import json
import os
import secrets
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import uvicorn

from exports.live.guard import Guard
from exports.live.rounds import Rounds
from exports.live.served import Server
from exports.live.shown import Shown, nothing_yet
from exports.live.watched import Watched
from exports.live.workshop import Workshop
from exports.names import printable
from exports.version import version
from exports.walk.html import bundle, page, policy
from model.errors import DesignError, DryfitError, Problem
from model.reader import read_text
from model.reader.pieces import holds_pieces

STREAMS_END = 1.0
"""Seconds that open connections have to end when the server stops."""
TOKEN = 24
"""Bytes of chance in the token."""


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
    bundle()
    _look(asked)
    with _listening(asked.port) as listener:
        guard = Guard(listener.getsockname()[1], secrets.token_urlsafe(TOKEN))
        asyncio.run(_served(asked, listener, guard))


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


async def _served(asked: Asked, listener: socket.socket, guard: Guard) -> None:
    name = printable(asked.file.name)
    shown = Shown(json.dumps(nothing_yet(name, version())).encode())
    real = asked.file.resolve()
    rounds = Rounds(asked.file, Watched(asked.file, asked.measured), asked.unit, shown)
    file = None if holds_pieces(asked.file) else real
    application = Server(guard, shown, _page(shown), file, _reader(asked), rounds.at_once)
    server = _Server(uvicorn.Config(
        application, log_config=None, access_log=False, lifespan="off", ws="none", http="h11", loop="asyncio",
        server_header=False, proxy_headers=False, limit_concurrency=200, timeout_graceful_shutdown=int(STREAMS_END),
        h11_max_incomplete_event_size=16_384), shown)
    rounds.workshop = Workshop(rounds.heard)
    watching = asyncio.create_task(rounds.run())
    serving = asyncio.create_task(server.serve(sockets=[listener]))
    try:
        await server.ready(serving)
        if not serving.done():
            _announce(guard.address, asked)
        await serving
    finally:
        shown.ended = True
        watching.cancel()
        with suppress(asyncio.CancelledError):
            await watching
        rounds.workshop.close()


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


class _Server(uvicorn.Server):
    """A server that lets go of open streams of events as soon as it is asked to end."""

    def __init__(self, config: uvicorn.Config, shown: Shown) -> None:
        super().__init__(config)
        self.shown = shown

    async def ready(self, serving: asyncio.Task[None]) -> None:
        """Wait until requests are taken, or the server has ended before that."""
        while not self.started and not serving.done():
            await asyncio.sleep(0.01)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """End the streams, then the rest."""
        self.shown.tell(ended=True)
        await super().shutdown(sockets)


def _page(shown: Shown) -> Callable[[bytes], tuple[str, str]]:
    def made(data: bytes) -> tuple[str, str]:
        return page(json.loads(data), shown.words, live=True), policy(live=True)
    return made


def _reader(asked: Asked) -> Callable[[str], Any]:
    return lambda text: read_text(text, asked.file, measured=asked.measured)
