"""The version of dryfit that is running."""

from __future__ import annotations

from functools import cache
from pathlib import Path


@cache
def version() -> str:
    """Return the installed version; that of the checkout where dryfit runs from one; "unknown" otherwise."""
    from importlib import metadata

    try:
        return metadata.version("dryfit")
    except metadata.PackageNotFoundError:
        return _of_checkout(Path(__file__).parents[1] / "pyproject.toml")


def _of_checkout(project: Path) -> str:
    import tomllib

    try:
        with project.open("rb") as file:
            found = tomllib.load(file).get("project", {})
    except (OSError, ValueError):
        return "unknown"
    return str(found.get("version", "unknown")) if found.get("name") == "dryfit" else "unknown"
