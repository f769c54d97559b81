"""The server of the live walk: who may ask, for what, how much; asked directly, with paths and headers as they come."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from assembly.rehearsal import fitted
from exports.live.guard import Guard
from exports.live.served import BODY_MOST, Server
from exports.live.shown import STREAMS_MOST, Shown, nothing_yet
from exports.walk import walk_data
from model.reader import read_text
from tests import zoo

TOKEN = "a-token-of-some-length"
HERE = "127.0.0.1:4321"
OWN = {"host": HERE, "origin": f"http://{HERE}", "sec-fetch-site": "same-origin", "content-type": "application/json"}
GATE = (Path(__file__).resolve().parent.parent / "examples" / "orchard_gate.toml").read_bytes()


@dataclass
class Answer:
    status: int = 0
    headers: dict[str, str] = field(default_factory=dict)
    body: bytes = b""


def ask(server: Server, path: str, method: str = "GET", headers: Mapping[str, str] | None = None, *,
        body: bytes = b"", query: bytes = b"", pieces: int = 1) -> Answer:
    """Return what the server answers to one request whose path came as it stands here."""
    return asyncio.run(asked(server, path, method, headers, body=body, query=query, pieces=pieces))


async def asked(server: Server, path: str, method: str = "GET", headers: Mapping[str, str] | None = None, *,
                body: bytes = b"", query: bytes = b"", pieces: int = 1) -> Answer:
    given = OWN if headers is None else headers
    twice = [(b"host", b"evil.example")] if "second host" in given else []
    size = max(1, -(-len(body) // pieces))
    coming = [body[at:at + size] for at in range(0, len(body), size)] or [b""]
    answer = Answer()

    async def receive() -> dict[str, Any]:
        if not coming:
            return {"type": "http.disconnect"}
        piece = coming.pop(0)
        return {"type": "http.request", "body": piece, "more_body": bool(coming)}

    async def send(message: Any) -> None:
        if message["type"] == "http.response.start":
            answer.status = message["status"]
            answer.headers = {k.decode().lower(): v.decode() for k, v in message["headers"]}
        else:
            answer.body += message.get("body", b"")

    await server({"type": "http", "method": method, "path": path, "raw_path": path.encode(), "query_string": query,
                  "headers": [(k.encode(), v.encode()) for k, v in given.items()] + twice}, receive, send)
    return answer


@pytest.fixture
def server(tmp_path: Path) -> Server:
    file = tmp_path / "gate.toml"
    file.write_bytes(GATE)
    shown = Shown(json.dumps(nothing_yet("gate.toml", "0")).encode())
    return Server(Guard(4321, TOKEN), shown, lambda _data: ("<!DOCTYPE html>the page", "default-src 'none'"), file,
                  lambda text: read_text(text, file), lambda: None)


def number(key: str = "family.leg_rails", was: str = "8", text: str = "9", **more: object) -> bytes:
    return json.dumps({"key": key, "was": was, "text": text, **more}).encode()


def test_the_page_and_its_data_come_with_every_header(server: Server) -> None:
    for path, kind in (("", "text/html"), ("data.json", "application/json")):
        answer = ask(server, f"/{TOKEN}/{path}")
        assert answer.status == 200
        assert answer.headers["content-type"].startswith(kind)
        assert answer.headers["content-security-policy"].startswith("default-src 'none'")
        assert "frame-ancestors 'none'" in answer.headers["content-security-policy"]
        assert answer.headers["cache-control"] == "no-store"
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["referrer-policy"] == "no-referrer"
        assert answer.headers["cross-origin-resource-policy"] == "same-origin"
    assert json.loads(ask(server, f"/{TOKEN}/data.json").body)["steps"][0]["id"] == "end"


@pytest.mark.parametrize("path", [
    "/", "", "/data.json", "//", f"/{TOKEN}", f"//{TOKEN}/", f"/{TOKEN}//", f"/{TOKEN}/../{TOKEN}/", f"/{TOKEN}/./",
    f"/{TOKEN}/%2e%2e/data.json", f"/{TOKEN}/%2e/", f"/{TOKEN}/..%2fdata.json", f"/{TOKEN}/../../etc/passwd",
    f"/{TOKEN}//data.json", f"/{TOKEN}/data.json/", f"/{TOKEN}/data%2ejson", f"/{TOKEN}/DATA.JSON",
    f"/{TOKEN}/data.json\0", f"/{TOKEN}/gate.toml", f"/{TOKEN}\\data.json", f"/{TOKEN[:-1]}/data.json",
    f"/{TOKEN}x/data.json", f"/{TOKEN.upper()}/data.json", f"http://{HERE}/{TOKEN}/data.json", f"/%61{TOKEN[1:]}/",
    "/é/data.json"])
def test_nothing_else_is_there(server: Server, path: str) -> None:
    answer = ask(server, path)
    assert answer.status == 404
    assert b"gate" not in answer.body and answer.headers["cache-control"] == "no-store"


def test_a_question_behind_the_path_is_refused(server: Server) -> None:
    assert ask(server, f"/{TOKEN}/data.json", query=b"x=1").status == 404


@pytest.mark.parametrize("host", [
    "", "evil.example", "evil.example:4321", "127.0.0.1", "127.0.0.1:80", "127.0.0.1:43210", "localhost", "[::1]:4321",
    "0.0.0.0:4321", "127.0.0.1:4321.evil.example", f"{HERE}, evil.example", "127.1:4321", "2130706433:4321",
    "LOCALHOST:4321", "user@127.0.0.1:4321"])
def test_another_host_is_refused(server: Server, host: str) -> None:
    assert ask(server, f"/{TOKEN}/", headers={"host": host}).status == 403
    assert ask(server, f"/{TOKEN}/data.json", headers={**OWN, "host": host}).status == 403


def test_no_host_and_two_hosts_are_refused(server: Server) -> None:
    assert ask(server, f"/{TOKEN}/", headers={}).status == 403
    assert ask(server, f"/{TOKEN}/", headers={"host": HERE, "second host": ""}).status == 403


@pytest.mark.parametrize("headers", [
    {"host": HERE, "content-type": "application/json"},
    {**OWN, "origin": "http://evil.example"}, {**OWN, "origin": "null"}, {**OWN, "origin": "http://127.0.0.1:9"},
    {**OWN, "origin": f"https://{HERE}"}, {**OWN, "origin": "http://localhost:4321"},
    {**OWN, "origin": f"http://{HERE}.evil.example"}, {**OWN, "sec-fetch-site": "cross-site"},
    {**OWN, "sec-fetch-site": "same-site"}, {**OWN, "sec-fetch-site": "none"}])
def test_another_origin_does_not_write(server: Server, headers: dict[str, str]) -> None:
    assert ask(server, f"/{TOKEN}/numbers", "POST", headers, body=number()).status == 403
    assert server.file is not None and server.file.read_bytes() == GATE


def test_another_page_does_not_read_but_a_link_to_the_page_opens_it(server: Server) -> None:
    other = {"host": HERE, "sec-fetch-site": "cross-site"}
    assert ask(server, f"/{TOKEN}/data.json", headers=other).status == 403
    assert ask(server, f"/{TOKEN}/data.json", headers={**other, "sec-fetch-mode": "navigate"}).status == 403
    assert ask(server, f"/{TOKEN}/", headers=other).status == 403
    assert ask(server, f"/{TOKEN}/", headers={**other, "sec-fetch-mode": "navigate"}).status == 200
    assert ask(server, f"/{TOKEN}/", headers={"host": "localhost:4321", "sec-fetch-site": "none"}).status == 200


@pytest.mark.parametrize(("path", "method"), [
    ("", "POST"), ("data.json", "DELETE"), ("data.json", "PUT"), ("events", "POST"), ("events", "HEAD"),
    ("numbers", "GET"), ("numbers", "PUT"), ("", "OPTIONS"), ("numbers", "OPTIONS"), ("", "TRACE"), ("", "BREW")])
def test_other_methods_are_refused(server: Server, path: str, method: str) -> None:
    answer = ask(server, f"/{TOKEN}/{path}", method)
    assert answer.status == 405
    assert method not in answer.headers["allow"].split(", ")


# -- numbers --------------------------------------------------------------------------------------


def test_a_number_is_written_and_said(server: Server) -> None:
    wrote: list[bool] = []
    server.wrote = lambda: wrote.append(True)
    answer = ask(server, f"/{TOKEN}/numbers", "POST", body=number(), pieces=7)
    assert (answer.status, json.loads(answer.body)) == (200, {"text": "9"})
    assert server.file is not None and server.file.read_bytes() == GATE.replace(b"leg_rails = 8", b"leg_rails = 9")
    assert wrote == [True]


def test_a_value_that_is_none_is_told_with_what_is_accepted(server: Server) -> None:
    answer = ask(server, f"/{TOKEN}/numbers", "POST", body=number(text="many"))
    told = json.loads(answer.body)
    assert answer.status == 200
    assert "text" not in told and told["said"] and told["accepted"] == "a whole number from 0 up to 180"
    assert server.file is not None and server.file.read_bytes() == GATE


def test_what_changed_meanwhile_is_told_with_what_stands_there(server: Server) -> None:
    assert server.file is not None
    server.file.write_bytes(GATE.replace(b"leg_rails = 8", b"leg_rails = 7"))
    answer = ask(server, f"/{TOKEN}/numbers", "POST", body=number())
    assert (answer.status, json.loads(answer.body)["text"]) == (409, "7")
    assert b"leg_rails = 7" in server.file.read_bytes()


@pytest.mark.parametrize("body", [
    b"", b"{", b"[]", b"null", b"1", b'"text"', b"\xff\xfe{}", number(more="x"), b'{"key": "family.leg_rails"}',
    b'{"key": 1, "was": "8", "text": "9"}', b'{"key": "family.leg_rails", "was": "8", "text": null}',
    b'{"key": "family.leg_rails", "was": "8", "text": "\\ud800"}', b"[" * 3000,
    number().decode().encode("utf-16")])
def test_what_is_not_asked_in_the_right_way_is_refused(server: Server, body: bytes) -> None:
    assert ask(server, f"/{TOKEN}/numbers", "POST", body=body).status == 400
    assert server.file is not None and server.file.read_bytes() == GATE


def test_an_unknown_key_is_not_written(server: Server) -> None:
    for key in ("family.nothing", "../gate", "__class__", "", "name", "family"):
        assert ask(server, f"/{TOKEN}/numbers", "POST", body=number(key=key)).status == 409
    assert server.file is not None and server.file.read_bytes() == GATE


def test_too_much_is_refused_before_it_is_all_there(server: Server) -> None:
    body = number(text="9" * BODY_MOST)
    assert ask(server, f"/{TOKEN}/numbers", "POST", body=body, pieces=50).status == 413
    assert ask(server, f"/{TOKEN}/numbers", "POST", {**OWN, "content-type": "text/plain"}, body=number()).status == 415


def test_a_file_that_is_gone_or_no_text_is_told(server: Server) -> None:
    assert server.file is not None
    server.file.write_bytes(b"\xff\xfe\x00")
    assert ask(server, f"/{TOKEN}/numbers", "POST", body=number()).status == 409
    server.file.unlink()
    assert ask(server, f"/{TOKEN}/numbers", "POST", body=number()).status == 409
    server.file = None
    assert ask(server, f"/{TOKEN}/numbers", "POST", body=number()).status == 404


# -- events ---------------------------------------------------------------------------------------


def test_events_tell_the_state_each_time_it_changes_and_end_with_the_server(server: Server) -> None:
    async def followed() -> list[Any]:
        events = server.shown.events()
        told = [await anext(events)]
        server.shown.tell(version=3, rebuilding="")
        told.append(await anext(events))
        server.shown.tell(problems=[{"line": 4, "key": "unit", "said": "</script>\n\ndata: x"}])
        told.append(await anext(events))
        server.shown.tell(ended=True)
        return [*told, *[event async for event in events]]

    told = asyncio.run(followed())
    assert all(event.startswith("data: ") and event.endswith("\n\n") and event.count("\n") == 2 for event in told)
    states = [json.loads(event[6:]) for event in told]
    assert [state["version"] for state in states] == [0, 3, 3]
    assert states[2]["problems"][0]["line"] == 4
    assert server.shown.streams == 0


def test_streams_are_few(server: Server) -> None:
    server.shown.streams = STREAMS_MOST
    assert ask(server, f"/{TOKEN}/events").status == 503


def test_a_page_with_nothing_yet_has_the_shape_of_every_other() -> None:
    nothing = nothing_yet("gate.toml", "0")
    walk = walk_data(fitted(zoo.frame()), planned=False, live={"version": 1, "numbers": []})
    assert nothing.keys() == walk.keys()
    assert nothing["verdict"].keys() == walk["verdict"].keys()
    assert nothing["steps"][0].keys() == walk["steps"][-1].keys()
    assert (nothing["steps"][0]["id"], nothing["steps"][0]["kind"]) == (walk["steps"][-1]["id"], "stands")
    assert nothing["format"] == walk["format"]
