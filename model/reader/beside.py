"""Files that a design names: found inside the design's own folder only, links followed, never too large."""

from __future__ import annotations

import stat
from collections.abc import Sequence
from pathlib import Path

from model.reader.schema import Refused


def inside(folder: Path, name: str, endings: Sequence[str], bytes_most: int, what: str) -> Path:
    """Return the real path of a file in the folder; Refused when it lies elsewhere or is no small ordinary file.

    `what` names the kind of file in what would be accepted; `endings` are those it may have, with their dot.
    """
    accepted = "a file inside the folder of the design, ending in " + ", ".join(endings)
    if Path(name).suffix.lower() not in endings:
        raise Refused(f"not a kind of {what} that is read", accepted)
    try:
        home = folder.resolve(strict=True)
        path = (home / name).resolve()
        if Path(name).is_absolute() or "\\" in name or not path.is_relative_to(home):
            raise Refused("lies outside the folder of the design", accepted)
        found = path.stat()
    except FileNotFoundError:
        raise Refused("there is no such file beside the design", accepted) from None
    except (OSError, ValueError, RuntimeError) as error:
        if isinstance(error, Refused):
            raise
        raise Refused(f"cannot be read ({getattr(error, 'strerror', None) or error})", accepted) from None
    if not stat.S_ISREG(found.st_mode):
        raise Refused("is not an ordinary file", accepted)
    if found.st_size > bytes_most:
        raise Refused(f"is too large: {found.st_size:,} bytes", f"at most {bytes_most:,} bytes")
    return path
