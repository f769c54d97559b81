"""The server and the rounds, side by side, until the process is asked to end."""

from __future__ import annotations

import asyncio
import json
import secrets
import signal
import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from types import FrameType
from typing import Any

import uvicorn

from exports.live.guard import Guard
from exports.live.rounds import Rounds
from exports.live.served import Server
from exports.live.serving import Asked
from exports.live.shown import Shown, nothing_yet
from exports.live.watched import Watched
from exports.live.workshop import Workshop
from exports.names import printable
from exports.signals import ENDING
from exports.version import version
from exports.walk.html import bundle, page, policy
from model.reader import read_text
from model.reader.pieces import holds_pieces

TOKEN = 24
"""Bytes of chance in the token."""
STREAMS_END = 1
"""Seconds that open connections have to end when the server stops."""


async def kept_up(asked: Asked, listener: socket.socket, workshop: Workshop, say: Callable[[str], None]) -> list[int]:
    """Serve the page and keep it up to date until the process is asked to end; return the signals that asked.

    `say` is given the address.

    Raises PageMissing.
    """
    bundle()
    guard = Guard(listener.getsockname()[1], secrets.token_urlsafe(TOKEN))
    shown = Shown(json.dumps(nothing_yet(printable(asked.file.name), version())).encode())
    rounds = Rounds(asked.file, Watched(asked.file, asked.measured), asked.unit, shown, workshop)
    workshop.heard = rounds.heard
    file = None if holds_pieces(asked.file) else asked.file
    server = _Server(_config(Server(guard, shown, _page(shown), file, _reader(asked), rounds.at_once)), shown)
    watching = asyncio.create_task(rounds.run())
    serving = asyncio.create_task(server.serve(sockets=[listener]))
    try:
        await server.ready(serving)
        if not serving.done():
            say(guard.address)
        await asyncio.wait((serving, watching), return_when=asyncio.FIRST_COMPLETED)
        if watching.done():
            watching.result()
        await serving
        return server.asked
    finally:
        shown.tell(ended=True)
        watching.cancel()
        with suppress(asyncio.CancelledError):
            await watching


def _config(application: Server) -> uvicorn.Config:
    return uvicorn.Config(
        application, log_config=None, access_log=False, lifespan="off", ws="none", http="h11", loop="asyncio",
        server_header=False, proxy_headers=False, limit_concurrency=200, timeout_graceful_shutdown=STREAMS_END,
        h11_max_incomplete_event_size=16_384)


class _Server(uvicorn.Server):
    """A server that lets go of open streams of events as soon as it is asked to end."""

    def __init__(self, config: uvicorn.Config, shown: Shown) -> None:
        super().__init__(config)
        self.shown = shown
        self.asked: list[int] = []
        """The signals that asked for the end. They are obeyed once all is put away."""

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Take the system's and a person's requests to end as requests to the server."""
        before = {number: signal.signal(number, self._note) for number in ENDING}
        try:
            yield
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)

    def _note(self, number: int, frame: FrameType | None) -> None:
        self.asked.append(number)
        self.handle_exit(number, frame)

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
