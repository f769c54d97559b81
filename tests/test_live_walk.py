"""`dryfit walk` as a person uses it: served, changed by an editor and by the page, broken and mended, ended."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest

from exports import command
from exports.walk import html
from tests.page import bundled

ROOT = Path(__file__).resolve().parent.parent
PATIENCE = 120.0
BROKEN = "[family]\nkind = \"post and rail\"\nheight = 'tall'\n"
SOUND = """name = "Stool"
[stock.post]
thickness = "45 mm"
width = "45 mm"
species = "White oak (Quercus alba)"
[stock.rail]
thickness = "20 mm"
width = "60 mm"
species = "White oak (Quercus alba)"
[family]
kind = "post and rail"
length = "400 mm"   # along the wall
width = "300 mm"
height = "450 mm"
long_levels = ["200 mm"]
cross_levels = ["300 mm"]
"""
"""A stool's frame: four posts, four rails."""


@pytest.fixture(scope="module")
def page() -> None:
    bundled()


class Walked:
    """One running `dryfit walk`."""

    def __init__(self, file: Path, *more: str) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "exports", "walk", str(file), "--no-browser", *more], cwd=ROOT, text=True,
            stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        assert self.process.stdout is not None and self.process.stderr is not None
        self.said: list[str] = []
        self.listener = threading.Thread(target=lambda: self.said.extend(self.process.stderr or []), daemon=True)
        self.listener.start()
        self.address = self.process.stdout.readline().strip()

    def get(self, path: str = "data.json") -> bytes:
        with urllib.request.urlopen(self.address + path, timeout=PATIENCE) as answer:
            found: bytes = answer.read()
        return found

    def walk(self) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self.get())
        return found

    def write(self, key: str, was: str, text: str) -> dict[str, Any]:
        origin = self.address.rsplit("/", 2)[0]
        request = urllib.request.Request(
            self.address + "numbers", json.dumps({"key": key, "was": was, "text": text}).encode(),
            {"Content-Type": "application/json", "Origin": origin}, method="POST")
        with urllib.request.urlopen(request, timeout=PATIENCE) as answer:
            found: dict[str, Any] = json.loads(answer.read())
        return found

    @contextlib.contextmanager
    def states(self) -> Iterator[Callable[[Callable[[dict[str, Any]], bool]], dict[str, Any]]]:
        """Give a function that waits, along one stream of events, for a state of a kind."""
        with urllib.request.urlopen(self.address + "events", timeout=PATIENCE) as stream:
            def until(wanted: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
                for line in stream:
                    if line.startswith(b"data: ") and wanted(state := json.loads(line[6:])):
                        return dict(state)
                raise AssertionError("the stream ended")
            yield until

    def end(self, number: int) -> int:
        self.process.send_signal(number)
        return self.process.wait(PATIENCE)

    def kill(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait(PATIENCE)


@contextlib.contextmanager
def walked(file: Path, *more: str) -> Iterator[Walked]:
    one = Walked(file, *more)
    try:
        yield one
    finally:
        one.kill()


def planned(state: dict[str, Any]) -> bool:
    return state["version"] > 0 and state["version"] % 2 == 0 and not state["rebuilding"]


@pytest.mark.usefixtures("page")
def test_a_design_is_broken_mended_and_changed_while_it_is_walked(tmp_path: Path) -> None:
    file = tmp_path / "stool.toml"
    file.write_text(BROKEN, encoding="utf-8")
    with walked(file) as walk, walk.states() as until:
        wrong = until(lambda s: bool(s["problems"]))["problems"]
        assert any(p["line"] == 3 and p["key"] == "family.height" and "length" in p["said"] for p in wrong)
        assert walk.walk()["parts"] == [] and b"<!DOCTYPE html>" in walk.get("")

        (tmp_path / "stool.toml.new").write_text(SOUND, encoding="utf-8")
        (tmp_path / "stool.toml.new").replace(file)
        assert until(planned)["problems"] == []
        first = walk.walk()
        assert first["title"] == "Stool" and first["planned"] and len(first["parts"]["rows"] if "sent" in first
                                                                       else first["parts"]) == 8
        assert {"key": "family.length", "says": "length", "group": "family", "text": "400 mm", "kind": "length",
                "line": 12}.items() <= next(n for n in first["live"]["numbers"] if n["key"] == "family.length").items()

        assert walk.write("family.length", "400 mm", "500 mm") == {"text": "500 mm"}
        assert file.read_text(encoding="utf-8") == SOUND.replace("400 mm", "500 mm")
        fitted = until(lambda s: s["version"] > first["live"]["version"])
        assert fitted["version"] % 2 == 1
        until(planned)
        longer = walk.walk()
        assert longer["box"][1][0] - longer["box"][0][0] == pytest.approx(500.0, abs=0.01)

        file.write_text(SOUND.replace("kind", "kinds"), encoding="utf-8")
        wrong = until(lambda s: bool(s["problems"]) and not s["rebuilding"])
        assert wrong["version"] == longer["live"]["version"], "the last good state stays"
        assert walk.walk() == longer

        file.unlink()
        until(lambda s: any("no such file" in p["said"] for p in s["problems"]))
        assert walk.process.poll() is None


@pytest.mark.usefixtures("page")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_it_ends_at_once_with_a_stream_open_and_work_going_on(tmp_path: Path, number: int) -> None:
    file = tmp_path / "stool.toml"
    file.write_text(SOUND, encoding="utf-8")
    with walked(file) as walk, walk.states() as until:
        until(lambda s: bool(s["rebuilding"]))
        child = children(walk.process.pid)
        assert walk.end(number) == {signal.SIGINT: 130, signal.SIGTERM: 143}[number]
        walk.listener.join(PATIENCE)
        assert not any("Traceback" in line for line in walk.said)
        port = urlsplit(walk.address).port
        with socket.socket() as again:
            again.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            again.bind(("127.0.0.1", port))
        deadline = time.monotonic() + PATIENCE
        while any(alive(pid) for pid in child) and time.monotonic() < deadline:
            time.sleep(0.05)
        assert not any(alive(pid) for pid in child)


def children(pid: int) -> list[int]:
    """Return the processes that a process has begun, where the system tells."""
    told = Path(f"/proc/{pid}/task/{pid}/children")
    return [int(one) for one in told.read_text().split()] if told.exists() else []


def alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
        return "\nState:\tZ" not in Path(f"/proc/{pid}/status").read_text()
    except (ProcessLookupError, FileNotFoundError):
        return False


@pytest.mark.usefixtures("page")
def test_the_port_asked_for_is_had_and_where_it_is_taken_that_is_said(tmp_path: Path) -> None:
    file = tmp_path / "stool.toml"
    file.write_text(SOUND, encoding="utf-8")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    with walked(file, "--port", str(port)) as walk:
        assert urlsplit(walk.address).port == port
        assert urlsplit(walk.address).hostname == "127.0.0.1"
        with pytest.raises(urllib.error.HTTPError):
            urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=PATIENCE)
        second = run("walk", str(file), "--port", str(port), "--no-browser")
        assert second.returncode == 2 and f"--port {port}: cannot be had" in second.stderr


def run(*given: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "exports", *given], cwd=ROOT, capture_output=True, text=True,
                          timeout=PATIENCE)


def test_a_file_that_is_not_there_ends_it(tmp_path: Path) -> None:
    gone = run("walk", str(tmp_path / "none.toml"), "--no-browser")
    assert gone.returncode == 2 and "there is no such file" in gone.stderr and gone.stdout == ""


@pytest.mark.parametrize("port", ["0", "-1", "65536", "http", "٣", "1" * 5000])
def test_no_port_is_refused(port: str) -> None:
    refused = run("walk", "x.toml", f"--port={port}")
    assert refused.returncode == 2 and "is no port" in refused.stderr


def test_without_the_bundle_it_says_what_would_help(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "stool.toml"
    file.write_text(SOUND, encoding="utf-8")
    monkeypatch.setattr(html, "_BUILT", tmp_path)
    html.bundle.cache_clear()
    assert command.main(["walk", str(file), "--no-browser"]) == 2
    said = capsys.readouterr()
    assert "the walk page is not there" in said.err and said.out == ""
