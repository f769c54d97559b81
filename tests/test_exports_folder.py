"""Folders appear whole or not at all, and nothing is written outside them or over anybody else's files."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from exports.folder import MANIFEST, FolderError, inventory, kept, listed, whole
from exports.names import safe, safe_names, shown, shown_names

OWNED = ("report.txt", "meshes", MANIFEST)


def write(target: Path, files: dict[str, str], owned: tuple[str, ...] = OWNED) -> None:
    with whole(target, owned) as fresh:
        for name, text in files.items():
            (fresh / name).parent.mkdir(parents=True, exist_ok=True)
            (fresh / name).write_text(text)
        names = sorted({*files, MANIFEST, *kept(target, owned)})
        (fresh / MANIFEST).write_text(json.dumps({"dryfit": "0", "files": names}))


def contents(folder: Path) -> dict[str, str]:
    return {name: (folder / name).read_text() for name in inventory(folder) if name != MANIFEST}


def test_a_new_folder_with_its_parents(tmp_path: Path) -> None:
    write(tmp_path / "a/b/c", {"report.txt": "1", "meshes/x.stl": "2"})
    assert contents(tmp_path / "a/b/c") == {"report.txt": "1", "meshes/x.stl": "2"}
    assert [p.name for p in (tmp_path / "a/b").iterdir()] == ["c"]
    assert (tmp_path / "a/b/c").stat().st_mode & 0o777 == (tmp_path / "a/b").stat().st_mode & 0o777


@pytest.mark.parametrize("wrong", [KeyboardInterrupt, ValueError, SystemExit])
@pytest.mark.parametrize("before", [False, True])
def test_an_interrupted_run_leaves_everything_as_it_was(tmp_path: Path, wrong: type[BaseException],
                                                        before: bool) -> None:
    target = tmp_path / "deep/out"
    if before:
        write(target, {"report.txt": "old", "meshes/old.stl": "old"})
        (target / "mine.txt").write_text("mine")
    now = inventory(tmp_path)
    with pytest.raises(wrong), whole(target, OWNED) as fresh:
        (fresh / "meshes").mkdir()
        (fresh / "meshes/half.stl").write_text("half")
        raise wrong
    assert inventory(tmp_path) == now
    assert list(tmp_path.iterdir()) == ([tmp_path / "deep"] if before else [])


def test_a_failure_while_files_are_moved_is_undone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(tmp_path / "out", {"report.txt": "old", "meshes/a.stl": "old", "meshes/b.stl": "old"})
    (tmp_path / "out/mine.txt").write_text("mine")
    was = {name: (tmp_path / "out" / name).read_bytes() for name in inventory(tmp_path / "out")}
    real, calls = Path.replace, 0

    for broken in range(1, 9):
        calls = 0

        def replace(self: Path, to: Path, broken: int = broken) -> Path:
            nonlocal calls
            calls += 1
            if calls == broken:
                raise OSError(28, "No space left on device")
            return real(self, to)

        monkeypatch.setattr(Path, "replace", replace)
        with pytest.raises(FolderError, match="No space left"):
            write(tmp_path / "out", {"report.txt": "new", "meshes/b.stl": "new", "meshes/deep/c.stl": "new"})
        monkeypatch.setattr(Path, "replace", real)
        assert {n: (tmp_path / "out" / n).read_bytes() for n in inventory(tmp_path / "out")} == was
        assert not (tmp_path / "out/meshes/deep").exists()
    assert broken == 8, "four files to move away and four to move in"


def test_an_earlier_run_is_replaced_and_strangers_are_kept(tmp_path: Path) -> None:
    write(tmp_path, {"report.txt": "old", "meshes/old.stl": "old", "meshes/deep/gone.stl": "old"})
    (tmp_path / "meshes/mine.txt").write_text("mine")
    write(tmp_path, {"report.txt": "new", "meshes/new.stl": "new"})
    assert contents(tmp_path) == {"report.txt": "new", "meshes/new.stl": "new", "meshes/mine.txt": "mine"}
    assert not (tmp_path / "meshes/deep").exists()


def test_what_a_run_does_not_make_anew_stays_and_stays_listed(tmp_path: Path) -> None:
    write(tmp_path, {"report.txt": "old", "meshes/old.stl": "old"})
    write(tmp_path, {"meshes/new.stl": "new"}, ("meshes", MANIFEST))
    assert contents(tmp_path) == {"report.txt": "old", "meshes/new.stl": "new"}
    assert set(listed(tmp_path)) == {"report.txt", "meshes/new.stl", MANIFEST}
    write(tmp_path, {"meshes/newest.stl": "new"})
    assert contents(tmp_path) == {"meshes/newest.stl": "new"}


@pytest.mark.parametrize("name", ["report.txt", MANIFEST])
def test_a_file_of_somebody_else_is_never_replaced(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text('{"files": ["report.txt"]}')
    with pytest.raises(FolderError, match=f"{name}.*no run of dryfit's"):
        write(tmp_path, {"report.txt": "ours"})
    assert inventory(tmp_path) == [name]


def test_a_manifest_cannot_point_out_of_its_folder(tmp_path: Path) -> None:
    out, outside = tmp_path / "out", tmp_path / "precious"
    out.mkdir()
    outside.mkdir()
    (outside / "file").write_text("precious")
    (out / "meshes").symlink_to(outside)
    names = ["../precious/file", str(outside / "file"), "meshes/file", "meshes/../../precious/file", "", ".", 7, None]
    (out / MANIFEST).write_text(json.dumps({"dryfit": "0", "files": [*names, MANIFEST]}))
    assert set(listed(out)) <= {"meshes/file", MANIFEST}
    with pytest.raises(FolderError, match="meshes"):
        write(out, {"meshes/a.stl": "ours"})
    write(out, {"report.txt": "ours"})
    assert (outside / "file").read_text() == "precious"
    assert [p.name for p in outside.iterdir()] == ["file"]


@pytest.mark.parametrize("text", ["", "[]", "{", "[" * 100_000, '{"dryfit": 1, "files": ["report.txt"]}',
                                  '{"dryfit": "0", "files": "report.txt"}', "\udcff"])
def test_a_broken_manifest_lists_nothing(tmp_path: Path, text: str) -> None:
    (tmp_path / MANIFEST).write_bytes(text.encode("utf-8", "surrogateescape"))
    assert listed(tmp_path) == ()


def test_places_that_cannot_be(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    for target in (tmp_path / "file", tmp_path / "file/below", tmp_path / "loop/below", tmp_path / ("n" * 300)):
        with pytest.raises(FolderError, match=str(target)[-40:]), whole(target, OWNED):
            pytest.fail("was let in")
    assert inventory(tmp_path) == ["file", "loop"]


@pytest.mark.skipif(sys.platform == "win32" or os.geteuid() == 0, reason="the superuser may write anywhere")
def test_a_folder_that_may_not_be_written(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(FolderError, match="denied"), whole(tmp_path / "out", OWNED):
        pytest.fail("was let in")


def test_a_folder_in_the_way_of_a_file(tmp_path: Path) -> None:
    (tmp_path / "report.txt").mkdir()
    with pytest.raises(FolderError, match=r"report\.txt"):
        write(tmp_path, {"report.txt": "ours"})


# -- names ----------------------------------------------------------------------------------------

HOSTILE = ["../../etc/passwd", "/root/x", "a\\b", "..", ".", "", "con", "NUL.txt", "a\0b", "\x1b[2J", "x" * 10_000,
           "é" * 10_000, "\U0001f332" * 300, "a b", "A b", "a:b", " lead", "trail. ", "-o", "\u202egpj.exe", "\udcff"]


def test_hostile_names_are_harmless_and_differ(tmp_path: Path) -> None:
    made = safe_names(HOSTILE)
    assert len({name.casefold() for name in made.values()}) == len(HOSTILE)
    for name in made.values():
        (tmp_path / f"{name}.stl").write_text("x")
        assert not set(name) & set('/\\:\0\x1b "\u202e')
        assert not name.startswith(".")
    assert len(inventory(tmp_path)) == len(HOSTILE)
    assert all("/" not in name for name in inventory(tmp_path))


@given(st.lists(st.text(max_size=80), unique=True, max_size=12))
def test_any_names_are_harmless_and_differ(names: list[str]) -> None:
    made = safe_names(names)
    assert list(made) == names
    assert len({n.casefold() for n in made.values()}) == len(names)
    for name in made.values():
        assert name and Path(name).name == name and len(f"02-{name}.stl".encode()) <= 255
        assert name.isprintable()
    assert all(n.isprintable() and n for n in shown_names(names).values())


def test_ordinary_names_stay_as_they_are() -> None:
    names = ["rail_1", "left-leg", "Bogen 3".replace(" ", "_"), "größe", "v1.2"]
    assert [safe(n) for n in names] == names
    assert [shown(n) for n in names] == names
