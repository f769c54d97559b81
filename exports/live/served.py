"""The server's answers: the page, its data, its events, and numbers written back. All of it out of memory."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from starlette.datastructures import Headers
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response, StreamingResponse
from starlette.types import Receive, Scope, Send

from exports.live.editing import Change, Outdated, Read, Refused, Unwritable, changed, replace_bytes
from exports.live.guard import HEADERS, Guard
from exports.live.numbers import numbers
from exports.live.shown import STREAMS_MOST, Shown
from model.errors import DesignError
from model.reader.text import text_of

BODY_MOST = 4_000
"""A request may not bring more than this, bytes."""
BODY_WAIT = 5.0
"""Nor take longer to, seconds."""
_POLICY = "Content-Security-Policy"

Answer = Callable[[Request], Awaitable[Response]]


class _Wrong(Exception):
    def __init__(self, status: int, said: str, **more: Any) -> None:
        self.status, self.told = status, {"said": said, **more}


@dataclass
class Server:
    """The application: one page behind one token. `page` gives its HTML and policy, `read` holds a changed text."""

    guard: Guard
    shown: Shown
    page: Callable[[bytes], tuple[str, str]]
    file: Path | None
    """The design file that numbers are written to; None where there is none."""
    read: Read
    wrote: Callable[[], None]
    _writing: asyncio.Lock = field(default_factory=asyncio.Lock)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            return
        answer = await self._answer(Request(scope, receive))
        for name, value in HEADERS.items():
            answer.headers.setdefault(name, value)
        await answer(scope, receive, send)

    async def _answer(self, request: Request) -> Response:
        asked = self.guard.at(request.scope.get("raw_path") or b"")
        headers = {k.lower(): v for k, v in _single(request.headers).items()}
        if not self.guard.admits(headers, writing=request.method not in ("GET", "HEAD"), opening=asked == ""):
            return _said(403, "not from here")
        found = None if asked is None or request.scope["query_string"] else self._routes().get(asked)
        if found is None:
            return _said(404, "there is nothing here")
        methods, does = found
        if request.method not in methods:
            return Response(status_code=405, headers={"Allow": ", ".join(methods)})
        try:
            return await does(request)
        except _Wrong as wrong:
            return _json(wrong.status, wrong.told)

    def _routes(self) -> dict[str, tuple[tuple[str, ...], Answer]]:
        return {"": (("GET", "HEAD"), self._page), "data.json": (("GET", "HEAD"), self._data),
                "events": (("GET",), self._events), "numbers": (("POST",), self._number)}

    async def _page(self, _request: Request) -> Response:
        text, policy = await asyncio.to_thread(self.page, self.shown.data)
        return Response(text.encode("utf-8", "replace"), media_type="text/html",
                        headers={_POLICY: f"{policy}; frame-ancestors 'none'"})

    async def _data(self, _request: Request) -> Response:
        return Response(self.shown.data, media_type="application/json")

    async def _events(self, _request: Request) -> Response:
        if self.shown.streams >= STREAMS_MOST:
            raise _Wrong(503, "too many pages are open")
        return StreamingResponse(self.shown.events(), media_type="text/event-stream")

    async def _number(self, request: Request) -> Response:
        """Write a number back: 200, with what is said where it is no value; 409 where the file has changed since."""
        change = _change(await _body(request))
        if self.file is None:
            raise _Wrong(404, "there is no design file to write to")
        async with self._writing:
            try:
                await asyncio.to_thread(self._write, self.file, change)
            except Outdated as error:
                raise _Wrong(409, str(error), text=_text_now(self.file, change.key)) from error
            except Refused as error:
                return _json(200, {"said": error.said, "accepted": error.accepted})
            except (Unwritable, DesignError, OSError) as error:
                raise _Wrong(409, str(error)) from error
        self.wrote()
        return _json(200, {"text": _text_now(self.file, change.key)})

    def _write(self, file: Path, change: Change) -> None:
        text_of(file)
        before = file.read_bytes()
        after = changed(before, change, self.read)
        if after != before:
            replace_bytes(file, before, after)


def _text_now(file: Path, key: str) -> str | None:
    try:
        text_of(file)
        return next((one.text for one in numbers(file.read_bytes()) if one.key == key), None)
    except (DesignError, OSError):
        return None


def _single(headers: Headers) -> dict[str, str]:
    """Return headers by name; one that is given twice is joined, so that it is none that we know."""
    return {name: ", ".join(headers.getlist(name)) for name in headers}


async def _body(request: Request) -> bytes:
    """Return what a request brings, refused as soon as it is too much or too slow."""
    if request.headers.get("content-type", "").partition(";")[0].strip().lower() != "application/json":
        raise _Wrong(415, "only JSON is taken")
    body = b""
    try:
        async with asyncio.timeout(BODY_WAIT):
            async for piece in request.stream():
                body += piece
                if len(body) > BODY_MOST:
                    raise _Wrong(413, f"at most {BODY_MOST:,} bytes are taken")
    except TimeoutError:
        raise _Wrong(408, "too slow") from None
    except ClientDisconnect:
        raise _Wrong(400, "broken off") from None
    return body


def _change(body: bytes) -> Change:
    try:
        given = json.loads(body.decode("utf-8"))
    except (ValueError, RecursionError):
        raise _Wrong(400, "not JSON in UTF-8") from None
    wanted = {"key", "was", "text"}
    if not isinstance(given, dict) or set(given) != wanted or not all(isinstance(v, str) for v in given.values()):
        raise _Wrong(400, "accepted: key, was and text, each a text")
    try:
        "".join(given.values()).encode()
    except UnicodeEncodeError:
        raise _Wrong(400, "not text that can be written") from None
    return Change(**given)


def _said(status: int, said: str) -> Response:
    return Response(said + "\n", status, media_type="text/plain")


def _json(status: int, told: dict[str, Any]) -> Response:
    return Response(json.dumps(told), status, media_type="application/json")
