"""No finding stops or warns on a sound design."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from model.design import Design
from tests.seeded import sound
from tests.seeded.mistake import wrong

IN_THE_SUITE, SUITE_SEED = 24, 20263
IN_THE_LONG_RUN, LONG_SEED = 300, 20264


def alarms(design: Design) -> list[tuple[str, str]]:
    """What stops or warns: kind and message."""
    return [(f.kind, f.message) for f in wrong(design) if f.severity != "note"]


@pytest.mark.parametrize(("name", "make"), sound.given(), ids=lambda v: v if isinstance(v, str) else "")
def test_the_designs_written_down_are_silent(name: str, make: Callable[[], Design]) -> None:
    assert not alarms(make())


def test_designs_at_random_are_silent() -> None:
    for name, design in sound.drawn(IN_THE_SUITE, SUITE_SEED):
        assert not alarms(design), name


@pytest.mark.slow
def test_three_hundred_designs_are_silent() -> None:
    for name, design in sound.drawn(IN_THE_LONG_RUN, LONG_SEED):
        assert not alarms(design), name
