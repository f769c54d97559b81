"""The walk page: a rehearsal to be walked through in a browser, one self-contained file."""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from exports.walk.data import walk_data

__all__ = ["walk_data"]


def __getattr__(name: str) -> Any:
    """Load what makes the data when it is asked for: who only puts pages together does without."""
    if name != "walk_data":
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from exports.walk.data import walk_data

    return walk_data
