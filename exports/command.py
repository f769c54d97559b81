"""The command dryfit: rehearse, check, plan, walk, measure, export, explain, start.

Exit status: 0 nothing stops the glue-up, 1 at least one finding does, 2 the input cannot be
used or the output not written, 3 dryfit itself failed, 130 interrupted. What was asked for
goes to standard output, progress and errors to standard error.
"""

from __future__ import annotations

import argparse
import io
import os
import shlex
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING, NoReturn

from exports.names import printable
from model.progress import Progress, share

if TYPE_CHECKING:
    from assembly.rehearsal import Rehearsal
    from model.design import Design

    Commands = argparse._SubParsersAction[argparse.ArgumentParser]
    Does = Callable[[argparse.Namespace], int]

FORMATS = ("stl", "obj", "glb")
"""The mesh formats, named here so that the command can speak of them before it loads what writes them."""

FINE, STOPPED, UNUSABLE, FAILED, INTERRUPTED, TERMINATED, UNHEARD = 0, 1, 2, 3, 130, 143, 141
"""Exit statuses; the last three follow the shell: 128 and the number of the signal."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command on its arguments and return its exit status."""
    _open_streams()
    try:
        with _heeding_termination():
            return _carried_out(_arguments().parse_args(argv))
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else FINE
    except KeyboardInterrupt:
        print("dryfit: interrupted", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        _let_output_go()
        return UNHEARD


def _open_streams() -> None:
    """Let the streams take every character, and be there even where the shell has closed them."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, Path(os.devnull).open("w", encoding="utf-8"))  # noqa: SIM115
        elif isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def _let_output_go() -> None:
    """Let what standard output would not take go nowhere, so that ending does not try it once more and fail over it."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _carried_out(asked: argparse.Namespace) -> int:
    from model.errors import DesignError, DryfitError

    try:
        status: int = asked.does(asked)
        sys.stdout.flush()
        return status
    except DesignError as error:
        return _complain(*error.lines())
    except DryfitError as error:
        return _complain(str(error))
    except MemoryError:
        return _complain("the design needs more memory than there is")
    except BrokenPipeError:
        raise
    except OSError as error:
        if error.filename is None:
            _let_output_go()
        return _complain(f"{error.filename or 'standard output'}: {error.strerror or error}")
    except Exception:
        import traceback

        traceback.print_exc()
        print("dryfit: failed, and not over your design: this is a fault of dryfit", file=sys.stderr)
        return FAILED


def _complain(*lines: str) -> int:
    for line in lines:
        print(printable(line), file=sys.stderr)
    return UNUSABLE


@contextmanager
def _heeding_termination() -> Iterator[None]:
    """Let a polite request to end unwind the run, so that nothing half-written stays."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGTERM, _end)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def _end(_number: int, _frame: FrameType | None) -> NoReturn:
    raise SystemExit(TERMINATED)


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="dryfit", description="The dry fit that cannot be done on the bench: rehearses the glue-up of one large "
        "structure of lumber and glue.", epilog="Exit status: 0 nothing stops the glue-up, 1 something does, "
        "2 the input cannot be used.")
    parser.add_argument("--version", action=_Version, nargs=0, help="say which dryfit this is")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")
    rehearse = _command(commands, "rehearse", _rehearse, "everything: findings, plan, pictures, meshes, report")
    rehearse.add_argument("-o", dest="folder", metavar="DIR", type=_path,
                          help="where to write (out/ and the file's name unless given)")
    check = _command(commands, "check", _check, "only what is wrong")
    check.add_argument("--json", action="store_true", help="for other programs")
    plan = _command(commands, "plan", _plan, "only the glue-ups: moves, glue, clamps, hands and minutes of each")
    plan.add_argument("--json", action="store_true", help="for other programs")
    plan.add_argument("-o", dest="folder", metavar="DIR", type=_path,
                      help="write the plan there too, with its graph and its times drawn")
    walk = _command(commands, "walk", _walk, "the page to walk through, in the browser, made anew at every change")
    walk.add_argument("--port", type=_port, default=0, metavar="PORT",
                      help="of this machine; any that is free unless given")
    walk.add_argument("--no-browser", dest="browser", action="store_false", help="only print the address")
    export = _command(commands, "export", _export, "meshes: each part, each stage, the whole")
    export.add_argument("-o", dest="folder", metavar="DIR", type=_path, required=True, help="where to write")
    export.add_argument("--as", dest="formats", metavar="FORMATS", type=_formats, default=FORMATS,
                        help="which formats, with commas between: " + ",".join(FORMATS))
    measure = _command(commands, "measure", _measure, "a sheet of what is worth measuring, to fill in and give back",
                       measured=False)
    measure.add_argument("-o", dest="sheet", metavar="SHEET", type=_path,
                         help="a file that does not exist yet, ending in .toml or .csv; standard output when left out")
    measure.add_argument("--as", dest="form", choices=("toml", "csv"), help="which form")
    explain = commands.add_parser("explain", help="what a kind of finding means in the trade")
    explain.add_argument("kind", nargs="*", metavar="KIND", help="a kind of finding; lists them when left out")
    explain.set_defaults(does=_explain)
    start = commands.add_parser("start", help="a commented design file to begin from")
    start.add_argument("family", nargs="*", metavar="FAMILY", help="a family of structures; lists them when left out")
    start.add_argument("-o", dest="file", metavar="FILE", type=_path, help="a file that does not exist yet")
    start.set_defaults(does=_start)
    return parser


def _command(commands: Commands, name: str, does: Does, says: str, *, measured: bool = True) -> argparse.ArgumentParser:
    parser = commands.add_parser(name, help=says, description=f"{says[0].upper()}{says[1:]}.")
    parser.add_argument("file", metavar="FILE", type=_path, help="a design file" if not measured else
                        "a design file; or parts in place: a GLB, OBJ or 3MF file, or a folder of STL files")
    if measured:
        parser.add_argument("--unit", metavar="UNIT", help="of a mesh file that has none: mm, cm, m, in or ft")
        parser.add_argument("--measured", metavar="SHEET", type=_path,
                            help="a sheet that dryfit measure wrote, filled in: the parts are taken as cut")
    parser.set_defaults(does=does)
    return parser


class _Version(argparse.Action):
    def __call__(self, parser: argparse.ArgumentParser, *_given: object) -> None:
        from exports.version import version

        print(f"dryfit {version()}")
        parser.exit()


def _path(given: str) -> Path:
    if not given:
        raise argparse.ArgumentTypeError("an empty name; accepted: a path")
    return Path(given)


def _port(given: str) -> int:
    if not given.isascii() or not given.isdigit() or not 1 <= int(given[:6]) <= 65_535:
        raise argparse.ArgumentTypeError(f"{given[:20]!r} is no port; accepted: a whole number from 1 to 65535")
    return int(given)


def _formats(given: str) -> tuple[str, ...]:
    asked = [name.strip().lower() for name in given.split(",")]
    for name in asked:
        if name not in FORMATS:
            raise argparse.ArgumentTypeError(f"{name!r} is no format; accepted: {', '.join(FORMATS)}")
    return tuple(name for name in FORMATS if name in asked)


def _rehearsed(asked: argparse.Namespace, said: Progress) -> Rehearsal:
    from assembly.rehearsal import rehearse

    return rehearse(_read(asked, share(said, 0.0, 0.3)), share(said, 0.3, 1.0))


def _read(asked: argparse.Namespace, said: Progress) -> Design:
    from exports.reading import design_in

    return design_in(asked.file, asked.unit, asked.measured, said)


def _status(rehearsal: Rehearsal) -> int:
    return STOPPED if rehearsal.stops else FINE


def _rehearse(asked: argparse.Namespace) -> int:
    from exports.pictures import picture_files
    from exports.progress import progress
    from exports.prose import show_on
    from exports.report import report
    from exports.results import write_everything

    folder = asked.folder or Path("out") / (asked.file.absolute().stem.strip(".") or "design")
    with progress(sys.stderr) as said:
        rehearsal = _rehearsed(asked, share(said, 0.0, 0.4))
        lacks = write_everything(rehearsal, folder, share(said, 0.4, 1.0))
    show_on(sys.stdout, report(rehearsal, picture_files(rehearsal) if lacks.pictures is None else {}))
    if lacks.pictures is not None:
        print(f"No pictures: they cannot be drawn on this machine. This would help:\n  {lacks.pictures}",
              file=sys.stderr)
    if lacks.page is not None:
        print("No walk.html: dryfit was installed without the walk page. In its folder this would help:  " + lacks.page,
              file=sys.stderr)
    print(f"\nWritten to {printable(str(folder))}: " + ("" if lacks.page else "walk.html, ") + "report.txt, "
          "findings.json, plan.json, plan.graphml, manifest.json, meshes/" + ("" if lacks.pictures else ", pictures/"))
    return _status(rehearsal)


def _check(asked: argparse.Namespace) -> int:
    from exports.findings_json import findings_json, text
    from exports.progress import progress
    from exports.prose import show_on
    from exports.report import only_findings

    with progress(sys.stderr) as said:
        rehearsal = _rehearsed(asked, said)
    if asked.json:
        sys.stdout.write(text(findings_json(rehearsal)))
    else:
        show_on(sys.stdout, only_findings(rehearsal))
    return _status(rehearsal)


def _plan(asked: argparse.Namespace) -> int:
    from exports.findings_json import plan_json, text
    from exports.progress import progress
    from exports.prose import show_on
    from exports.report import only_plan
    from exports.results import write_plan

    with progress(sys.stderr) as said:
        rehearsal = _rehearsed(asked, share(said, 0.0, 0.9))
        if asked.folder is not None:
            said("writing the plan", 0.9)
            write_plan(rehearsal, asked.folder)
    if asked.json:
        sys.stdout.write(text(plan_json(rehearsal)))
    else:
        show_on(sys.stdout, only_plan(rehearsal))
    return _status(rehearsal)


def _walk(asked: argparse.Namespace) -> int:
    from exports.live.serving import Asked, serve

    serve(Asked(asked.file, asked.unit, asked.measured, asked.port, asked.browser))
    return FINE


def _export(asked: argparse.Namespace) -> int:
    from exports.progress import progress
    from exports.report import verdict
    from exports.results import write_export

    with progress(sys.stderr) as said:
        rehearsal = _rehearsed(asked, share(said, 0.0, 0.6))
        write_export(rehearsal, asked.folder, asked.formats, share(said, 0.6, 1.0))
    print(f"Meshes ({', '.join(asked.formats)}) and manifest.json written to {printable(str(asked.folder))}.")
    if rehearsal.stops:
        print(verdict(rehearsal.findings), file=sys.stderr)
    return _status(rehearsal)


def _measure(asked: argparse.Namespace) -> int:
    from exports.measure import form_of, sheet
    from exports.progress import progress
    from exports.start import write_new
    from model.reader import read

    form = form_of(asked.sheet, asked.form)
    with progress(sys.stderr) as said:
        said("reading the design", 0.0)
        design = read(asked.file, share(said, 0.0, 0.6))
        said("writing the sheet", 0.6)
        text = sheet(design, form)
    if asked.sheet is None:
        sys.stdout.write(text)
    else:
        write_new(asked.sheet, text)
        file, name = (printable(str(path)) for path in (asked.file, asked.sheet))
        print(f"Written: {name}\nFill it in, then: dryfit check {shlex.quote(file)} --measured {shlex.quote(name)}")
    return FINE


def _explain(asked: argparse.Namespace) -> int:
    from exports.explain import listing, told
    from exports.prose import show_on

    if not asked.kind:
        sys.stdout.write(listing())
    else:
        show_on(sys.stdout, told(" ".join(asked.kind)))
    return FINE


def _start(asked: argparse.Namespace) -> int:
    from exports.start import listing, starter, write_new

    if not asked.family:
        if asked.file is not None:
            return _complain("start -o: which family? " + listing().strip().replace("\n", "; "))
        sys.stdout.write(listing())
        return FINE
    text = starter(" ".join(asked.family))
    if asked.file is None:
        sys.stdout.write(text)
    else:
        write_new(asked.file, text)
        name = printable(str(asked.file))
        print(f"Written: {name}\nRehearse it with: dryfit rehearse {shlex.quote(name)}")
    return FINE
