"""Folders that appear whole or not at all.

Everything is written into a fresh hidden folder beside its place and moved there at the
end. Where the folder is new this is one rename. Where it stands already, only files that an
earlier run of ours lists in its manifest are replaced or taken away; files of anybody else
are kept, and one that stands in the way stops the run before anything is touched. What
goes wrong while files are moved is undone. Not promised: undoing after the power fails
or the process is killed outright between two renames; each file is then still whole.
"""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from model.errors import DryfitError

MANIFEST = "manifest.json"
"""The file that lists, relative to the folder, everything a run has written."""
_LARGEST = 64_000_000
"""A manifest of more bytes than this is none of ours."""


class FolderError(DryfitError):
    """A folder or file that cannot be written: which, and why."""


@contextmanager
def whole(target: Path, owned: Sequence[str]) -> Iterator[Path]:
    """Give a fresh folder to write into; on leaving it undisturbed its files stand in `target`.

    `owned` names the files and folders directly inside `target` that this run makes anew:
    what an earlier run left there is replaced or taken away. Other files that earlier runs
    list stay. Raises FolderError; on any exception nothing of this run is left behind.
    """
    place = _resolved(target)
    made = _parents(place)
    try:
        with _failures(target):
            fresh = Path(tempfile.mkdtemp(prefix=".dryfit-", dir=place if place.is_dir() else place.parent))
            try:
                yield fresh
                _publish(fresh, place, tuple(owned))
            finally:
                shutil.rmtree(fresh, ignore_errors=True)
    except BaseException:
        for folder in made:
            with suppress(OSError):
                folder.rmdir()
        raise


def listed(folder: Path) -> tuple[str, ...]:
    """Return the files that the manifest in a folder lists, as harmless relative paths; none without a manifest."""
    path = folder / MANIFEST
    try:
        if path.stat().st_size > _LARGEST:
            return ()
        read = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return ()
    files = read.get("files") if isinstance(read, dict) and isinstance(read.get("dryfit"), str) else None
    return tuple(f for f in files if isinstance(f, str) and _harmless(f)) if isinstance(files, list) else ()


def kept(folder: Path, owned: Sequence[str]) -> list[str]:
    """Return the files that earlier runs list in a folder and a run that makes `owned` anew leaves alone."""
    return [f for f in listed(folder) if PurePosixPath(f).parts[0] not in owned and _stands_inside(folder, f)]


def inventory(folder: Path) -> list[str]:
    """Return every file in a folder, relative to it, sorted."""
    return sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if not p.is_dir())


@contextmanager
def _failures(target: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise FolderError(f"{target}: cannot be written: {error.strerror or error}") from error
    except RuntimeError as error:
        if "Symlink loop" not in str(error):
            raise
        raise FolderError(f"{target}: cannot be written: its links run in a circle") from error


def _resolved(target: Path) -> Path:
    with _failures(target):
        place = target.resolve()
        if place.exists() and not place.is_dir():
            raise FolderError(f"{target}: is a file; accepted: a folder, or a name where nothing stands yet")
    return place


def _parents(place: Path) -> list[Path]:
    """Make the folders above a place; return those that were made, deepest first."""
    with _failures(place):
        blocked = next((p for p in place.parents if p.exists() and not p.is_dir()), None)
        if blocked is not None:
            raise FolderError(f"{place}: cannot be written: {blocked} is a file; accepted: a folder there")
        missing = [p for p in place.parents if not p.exists()]
        place.parent.mkdir(parents=True, exist_ok=True)
    return missing


def _stands_inside(folder: Path, name: str) -> bool:
    """Whether a listed file stands in the folder itself, reached through no link."""
    above = [folder / a for a in PurePosixPath(name).parents if a.parts]
    return (folder / name).is_file() and not any(a.is_symlink() for a in above)


def _harmless(name: str) -> bool:
    path = PurePosixPath(name)
    return bool(path.parts) and not path.is_absolute() and ".." not in path.parts and "\0" not in name


@dataclass
class _Moves:
    """Renames made so far, so that they can be undone."""

    back: list[tuple[Path, Path]] = field(default_factory=list)

    def move(self, source: Path, to: Path) -> None:
        to.parent.mkdir(parents=True, exist_ok=True)
        self.back.append((to, source))
        source.replace(to)

    def undo(self) -> None:
        for now, before in reversed(self.back):
            with suppress(OSError):
                now.replace(before)


def _publish(fresh: Path, place: Path, owned: tuple[str, ...]) -> None:
    if not place.exists():
        fresh.chmod(0o777 & ~_umask())
        fresh.rename(place)
        return
    new = inventory(fresh)
    earlier = [f for f in listed(place) if _stands_inside(place, f)]
    ours = [f for f in earlier if PurePosixPath(f).parts[0] in owned]
    _refuse_strangers(place, new, set(earlier))
    moves, old = _Moves(), Path(tempfile.mkdtemp(prefix="old-", dir=fresh))
    try:
        for name in ours:
            moves.move(place / name, old / name)
        for name in new:
            moves.move(fresh / name, place / name)
    except BaseException:
        moves.undo()
        _tidy(place, new)
        raise
    _tidy(place, ours)


def _refuse_strangers(place: Path, new: Sequence[str], ours: set[str]) -> None:
    for name in new:
        path = place / name
        for above in path.relative_to(place).parents:
            if (place / above).is_symlink() or ((place / above).exists() and not (place / above).is_dir()):
                raise FolderError(f"{place / above}: stands where a folder of ours should; move it away")
        if (path.exists() or path.is_symlink()) and (name not in ours or path.is_dir()):
            raise FolderError(f"{path}: stands there and no run of dryfit's wrote it; "
                              "move it away or choose another folder with -o")


def _tidy(place: Path, gone: Sequence[str]) -> None:
    """Take away folders of ours that are empty now."""
    folders = {place / above for name in gone for above in PurePosixPath(name).parents if above.parts}
    for folder in sorted(folders, key=lambda f: len(f.parts), reverse=True):
        with suppress(OSError):
            folder.rmdir()


def _umask() -> int:
    now = os.umask(0)
    os.umask(now)
    return now
