"""The walk page's libraries and bundle, fetched and made once for all tests that run beside each other."""

from __future__ import annotations

import fcntl
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from exports.page import hook

PAGE = Path(hook.__file__).parent


def fetched() -> None:
    """Have the page's libraries there, those of its checks too; skip the test where they cannot be had."""
    if hook.left_out():
        pytest.skip(f"{hook.WITHOUT} is set: no walk page is wanted")
    with _alone():
        try:
            hook.libraries(PAGE, checks=True)
        except hook.PageError as error:
            pytest.skip(str(error))


def bundled() -> None:
    """Have the page's bundle there as its sources are now; skip the test where its libraries cannot be had."""
    fetched()
    with _alone():
        hook.bundle(PAGE)


@contextmanager
def _alone() -> Iterator[None]:
    """Keep other processes that test this same checkout waiting."""
    with (Path(tempfile.gettempdir()) / f"dryfit-page-{PAGE.stat().st_ino}.lock").open("a") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield
