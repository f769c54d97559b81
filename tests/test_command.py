"""The command as a shell sees it: exit statuses, the two streams, files whole or not at all."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest

from assembly.findings import Finding
from assembly.rehearsal import Rehearsal
from exports import command
from exports.meshes import FORMATS
from exports.walk import html
from model.errors import DesignError, JointError, Problem
from model.families import FAMILIES
from tests import zoo
from tests.rehearsed import CLASH, GRAIN, by_hand

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture
def finds(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[..., None]]:
    """Let every design file be the zoo's trestle, with the findings given, and the walk page a script of one line."""
    monkeypatch.setattr("exports.pictures.can_draw", lambda: "one exact line")
    built = tmp_path_factory.mktemp("built")
    (built / "walk.js").write_text("let page = 1;\n")
    (built / "walk.css").write_text("main { margin: 0 }\n")
    monkeypatch.setattr(html, "_BUILT", built)
    html.bundle.cache_clear()

    def given(*findings: Finding) -> None:
        def rehearsed(_file: Path, said: Callable[[str, float], None]) -> Rehearsal:
            said("working", 0.5)
            return by_hand(zoo.trestle(), findings)

        monkeypatch.setattr(command, "_rehearsed", rehearsed)

    given()
    yield given
    html.bundle.cache_clear()


def fails(monkeypatch: pytest.MonkeyPatch, error: BaseException) -> None:
    def rehearsed(_file: Path, _said: object) -> Rehearsal:
        raise error

    monkeypatch.setattr(command, "_rehearsed", rehearsed)


# -- exit status ----------------------------------------------------------------------------------


@pytest.mark.parametrize("words", [["check", "x.toml"], ["check", "x.toml", "--json"], ["plan", "x.toml"],
                                   ["plan", "x.toml", "--json"], ["export", "x.toml", "-o", "made", "--as", "stl"],
                                   ["rehearse", "x.toml"]])
@pytest.mark.parametrize(("findings", "status"), [((), 0), ((GRAIN,), 0), ((GRAIN, CLASH), 1)])
def test_status_says_whether_anything_stops(finds: Callable[..., None], words: list[str], findings: Sequence[Finding],
                                            status: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    finds(*findings)
    assert command.main(words) == status


@pytest.mark.parametrize("words", [
    [], ["glue", "x.toml"], ["check"], ["export", "x.toml"], ["export", "x.toml", "-o", "d", "--as", "stl,dwg"],
    ["export", "x.toml", "-o", ""], ["check", "--yaml", "x.toml"], ["start", "no such thing"], ["start", "-o", "f"]])
def test_usage_errors_are_2(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(words) == 2
    out, err = capsys.readouterr()
    assert out == "" and err


def test_a_misspelt_format_names_those_there_are(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["export", "x.toml", "-o", "d", "--as", "stl,dwg"]) == 2
    assert "'dwg' is no format; accepted: stl, obj, glb" in capsys.readouterr().err


def test_the_commands_formats_are_those_that_can_be_written() -> None:
    assert set(command.FORMATS) == set(FORMATS)


def test_one_line_a_problem(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    problems = [Problem("no such stock", line=7, key="part.a.stock", value="\x1b[2Jok", nearest="oak"),
                Problem("is no length", line=3, key="part.b.length", value="nan")]
    fails(monkeypatch, DesignError("x.toml", problems))
    assert command.main(["check", "x.toml", "--json"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.splitlines() == ["x.toml:3: part.b.length: is no length (found nan)",
                                "x.toml:7: part.a.stock: no such stock (found ?[2Jok); did you mean 'oak'?"]


def test_errors_on_purpose_are_2_and_our_own_faults_3(monkeypatch: pytest.MonkeyPatch,
                                                      capsys: pytest.CaptureFixture[str]) -> None:
    for error, status, said in ((JointError("j", "depth", 3, "less"), 2, "joint j: depth = 3; accepted: less\n"),
                                (MemoryError(), 2, "memory"), (ValueError("?"), 3, "fault of dryfit"),
                                (RecursionError(), 3, "fault of dryfit"), (KeyboardInterrupt(), 130, "interrupted"),
                                (PermissionError(13, "Permission denied", "x.toml"), 2, "x.toml: Permission denied")):
        fails(monkeypatch, error)
        assert command.main(["plan", "x.toml"]) == status
        out, err = capsys.readouterr()
        assert out == "" and said in err
        assert ("Traceback" in err) == (status == 3)


# -- streams --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("words", "keys"), [
    ("check", ["design", "dryfit", "findings", "counts"]),
    ("plan", ["design", "dryfit", "findings", "counts", "stages", "quality", "replayed", "longest_way", "hours",
              "elapsed_hours"])])
def test_json_is_alone_on_standard_output(finds: Callable[..., None], words: str, keys: list[str],
                                          capsys: pytest.CaptureFixture[str]) -> None:
    finds(CLASH)
    command.main([words, "x.toml", "--json"])
    assert list(json.loads(capsys.readouterr().out)) == keys


def test_check_tells_findings_and_plan_tells_stages(finds: Callable[..., None],
                                                    capsys: pytest.CaptureFixture[str]) -> None:
    finds(CLASH)
    command.main(["check", "x.toml"])
    out = capsys.readouterr().out
    assert "STOP  interference" in out and "Stage 1" not in out
    command.main(["plan", "x.toml"])
    out = capsys.readouterr().out
    assert "STOP" not in out and "Stage 1" in out and "1 finding stops the glue-up" in out


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("dryfit 0.")


def test_help_loads_nothing_heavy() -> None:
    code = ("import sys\nfrom exports.command import main\nassert main(['--help']) == 0\n"
            "print([m for m in ('numpy', 'trimesh', 'vtk', 'pyvista', 'scipy', 'pydantic', 'networkx', 'rich')"
            " if m in sys.modules])")
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
    assert "rehearse" in done.stdout


# -- files ----------------------------------------------------------------------------------------


def test_rehearse_writes_everything_below_out(finds: Callable[..., None], tmp_path: Path,
                                              monkeypatch: pytest.MonkeyPatch,
                                              capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.chdir(tmp_path)
    assert command.main(["rehearse", "designs/quay.toml"]) == 0
    folder = tmp_path / "out/quay"
    assert {p.name for p in folder.iterdir()} == {"report.txt", "findings.json", "plan.json", "plan.graphml",
                                                  "manifest.json", "meshes", "walk.html"}
    out, err = capsys.readouterr()
    assert (folder / "report.txt").read_text() in out
    assert "one exact line" in err, "what would let pictures be drawn"
    assert "walk.html" in out.splitlines()[-1]
    assert "let page = 1" in (folder / "walk.html").read_text()
    assert list(json.loads((folder / "plan.json").read_text())) == [
        "design", "dryfit", "findings", "counts", "stages", "quality", "replayed", "longest_way", "hours",
        "elapsed_hours"]
    listed = json.loads((folder / "manifest.json").read_text())["files"]
    assert sorted(listed) == sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file())
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_rehearse_without_the_page_goes_on_and_says_so(finds: Callable[..., None], tmp_path: Path,
                                                       capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "out"
    assert command.main(["rehearse", "x.toml", "-o", str(folder)]) == 0
    (html._BUILT / "walk.js").unlink()
    html.bundle.cache_clear()
    capsys.readouterr()
    assert command.main(["rehearse", "x.toml", "-o", str(folder)]) == 0
    out, err = capsys.readouterr()
    assert not (folder / "walk.html").exists(), "that of the run before is taken away"
    assert "walk.html" not in out
    (said,) = [line for line in err.splitlines() if "walk.html" in line]
    assert html.REMEDY in said
    (tmp_path / "x.toml").write_text("\n")
    assert command.main(["walk", str(tmp_path / "x.toml"), "--no-browser"]) == 2
    assert html.REMEDY in capsys.readouterr().err


def test_rehearse_again_and_export_into_the_same_folder(finds: Callable[..., None], tmp_path: Path) -> None:
    folder = tmp_path / "out"
    for _ in range(2):
        assert command.main(["rehearse", "x.toml", "-o", str(folder)]) == 0
    assert command.main(["export", "x.toml", "-o", str(folder), "--as", "GLB"]) == 0
    assert {p.suffix for p in (folder / "meshes").rglob("*") if p.is_file()} == {".glb"}
    assert (folder / "report.txt").is_file(), "an export makes only the meshes anew"
    assert "report.txt" in json.loads((folder / "manifest.json").read_text())["files"]
    assert command.main(["rehearse", "x.toml", "-o", str(folder)]) == 0


@pytest.mark.parametrize("error", [KeyboardInterrupt(), OSError(28, "No space left on device"), ValueError("bug")])
@pytest.mark.parametrize("words", [["rehearse"], ["export"]])
def test_a_run_that_ends_midway_leaves_nothing(finds: Callable[..., None], words: list[str], error: BaseException,
                                               tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
                                               capsys: pytest.CaptureFixture[str]) -> None:
    def broken(_self: object, _figure: object, path: Path) -> list[Path]:
        path.with_name("half.glb").write_bytes(b"glTF")
        raise error

    monkeypatch.setattr(type(FORMATS["glb"]), "write", broken)
    status = command.main([*words, "x.toml", "-o", str(tmp_path / "deep/out")])
    assert status == {KeyboardInterrupt: 130, OSError: 2, ValueError: 3}[type(error)]
    assert not list(tmp_path.iterdir())
    err = capsys.readouterr().err
    assert ("Traceback" in err) == (status == 3)
    if status == 2:
        assert f"{tmp_path / 'deep/out'}: cannot be written: No space left on device" in err


def test_a_file_where_the_folder_should_be(finds: Callable[..., None], tmp_path: Path,
                                           capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "out").write_text("mine")
    assert command.main(["rehearse", "x.toml", "-o", str(tmp_path / "out")]) == 2
    assert "is a file; accepted: a folder" in capsys.readouterr().err
    assert (tmp_path / "out").read_text() == "mine"


def test_a_file_where_a_folder_above_should_be(finds: Callable[..., None], tmp_path: Path,
                                               capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "mine").write_text("mine")
    for below in ("mine/out", "mine/deep/out"):
        assert command.main(["export", "x.toml", "-o", str(tmp_path / below)]) == 2
        assert f"{tmp_path / 'mine'} is a file; accepted: a folder there" in capsys.readouterr().err
    assert [p.name for p in tmp_path.iterdir()] == ["mine"]


# -- start ----------------------------------------------------------------------------------------


def test_start_lists_families_one_line_each(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["start"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == len(FAMILIES)
    assert all(any(line.startswith(name) and f.says in line for name, f in FAMILIES.items()) for line in lines)


@pytest.mark.parametrize("asked", [["post and rail"], ["post", "and", "rail"], ["Post-and-Rail"], ["post_and_rail"]])
def test_start_writes_the_familys_file(asked: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["start", *asked]) == 0
    assert capsys.readouterr().out == FAMILIES["post and rail"].starter


def test_start_never_overwrites(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "new.toml"
    assert command.main(["start", "post and rail", "-o", str(file)]) == 0
    assert file.read_text() == FAMILIES["post and rail"].starter
    file.write_text("mine")
    assert command.main(["start", "post and rail", "-o", str(file)]) == 2
    assert file.read_text() == "mine"
    assert "stands there already" in capsys.readouterr().err
    assert command.main(["start", "post and rail", "-o", str(tmp_path / "no/such/f.toml")]) == 2
    assert [p.name for p in tmp_path.iterdir()] == ["new.toml"]


@pytest.mark.parametrize(("asked", "meant"), [("post and rial", "post and rail"), ("rail", "post and rail"),
                                              ("arch", "arch gateway"), ("rings", "closed ring")])
def test_a_misspelt_family_names_the_nearest(asked: str, meant: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["start", asked]) == 2
    assert f"did you mean '{meant}'?" in capsys.readouterr().err


def test_a_family_that_is_none_names_those_there_are(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["start", "wind\x1b[2Jmill"]) == 2
    assert capsys.readouterr().err == f"no such family: wind?[2Jmill; accepted: {', '.join(sorted(FAMILIES))}\n"


# -- as a process ---------------------------------------------------------------------------------

posix = pytest.mark.skipif(sys.platform == "win32", reason="signals and pipes of POSIX")
PATIENT = """
import sys, time
from pathlib import Path
from exports import command, results
from tests import zoo
from tests.rehearsed import by_hand
command._rehearsed = lambda file, said: by_hand(zoo.trestle())
def slow(rehearsal, fresh, formats, progress):
    (fresh / "half.stl").write_text("half")
    print("ready", flush=True)
    time.sleep(60)
results.write_meshes = slow
sys.exit(command.main(["export", "x.toml", "-o", sys.argv[1]]))
"""


@posix
@pytest.mark.parametrize(("number", "status"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
def test_a_signal_leaves_nothing_and_no_traceback(number: int, status: int, tmp_path: Path) -> None:
    run = subprocess.Popen([sys.executable, "-c", PATIENT, str(tmp_path / "a/b")], cwd=ROOT, text=True,
                           stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert run.stdout is not None
    assert run.stdout.readline() == "ready\n"
    run.send_signal(number)
    _, err = run.communicate(timeout=30)
    assert run.returncode == status
    assert "Traceback" not in err
    assert not list(tmp_path.iterdir())


@posix
def test_a_reader_who_stops_reading_is_no_error() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    run = subprocess.run([sys.executable, "-m", "exports", "start", "post and rail"], cwd=ROOT, stdout=writing,
                         stderr=subprocess.PIPE, text=True, check=False)
    os.close(writing)
    assert (run.returncode, run.stderr) == (141, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a device that is always full")
def test_a_full_disk_under_standard_output_is_2() -> None:
    with Path("/dev/full").open("w") as full:
        run = subprocess.run([sys.executable, "-m", "exports", "start", "post and rail"], cwd=ROOT, stdout=full,
                             stderr=subprocess.PIPE, text=True, check=False)
    assert run.returncode == 2
    assert run.stderr == "standard output: No space left on device\n"


@posix
@pytest.mark.parametrize("closed", [">&-", "2>&-", ">&- 2>&-", "<&- >&- 2>&-"])
def test_streams_that_the_shell_has_closed_are_no_fault(closed: str) -> None:
    run = subprocess.run(f"exec {sys.executable} -m exports start 'post and rail' {closed}", shell=True, cwd=ROOT,
                         capture_output=True, text=True, check=False)
    assert (run.returncode, run.stderr) == (0, "")


HELD = """
import os, signal, sys
from exports.command import _heeding_termination
from exports.signals import held_back
number = getattr(signal, sys.argv[1])
try:
    with _heeding_termination(), held_back(lambda said, behind: print(said)) as said:
        os.kill(os.getpid(), number)
        print("goes on")
        if sys.argv[2] == "midway":
            said("safe again", 0.5)
            print("never")
        print("to the end")
except (KeyboardInterrupt, SystemExit) as end:
    print(type(end).__name__)
"""


@posix
@pytest.mark.parametrize(("number", "raised"), [("SIGINT", "KeyboardInterrupt"), ("SIGTERM", "SystemExit")])
@pytest.mark.parametrize(("when", "lines"), [("midway", ["goes on", "safe again"]), ("end", ["goes on", "to the end"])])
def test_a_request_to_end_waits_until_it_can_be_heeded(number: str, raised: str, when: str, lines: list[str]) -> None:
    run = subprocess.run([sys.executable, "-c", HELD, number, when], cwd=ROOT, capture_output=True, text=True,
                         check=True)
    assert run.stdout.split("\n")[:-1] == [*lines, raised]


def test_words_beyond_ascii_reach_a_terminal_that_knows_only_ascii() -> None:
    surroundings = {**os.environ, "PYTHONIOENCODING": "ascii"}
    code = ("from exports import command\nfrom tests import zoo\nfrom tests.rehearsed import by_hand\n"
            "command._rehearsed = lambda file, said: by_hand(zoo.trestle())\n"
            "raise SystemExit(command.main(['plan', 'x.toml']))")
    run = subprocess.run([sys.executable, "-c", code], cwd=ROOT, env=surroundings, capture_output=True, check=False)
    assert run.returncode == 0, run.stderr.decode()
    assert b"Stage 1" in run.stdout
