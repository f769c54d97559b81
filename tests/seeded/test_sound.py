"""No finding stops or warns on a sound design."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from model.design import Design
from tests.seeded import sound
from tests.seeded.harmless import as_cut
from tests.seeded.mistake import wrong

IN_THE_SUITE, SUITE_SEED = 18, 20263
IN_THE_LONG_RUN, LONG_SEED = 300, 20264
FEW = 14
"""In the suite only designs of so many parts are cut anew in every harmless way."""


def alarms(design: Design) -> list[tuple[str, str]]:
    """What stops or warns: kind and message."""
    return [(f.kind, f.message) for f in wrong(design) if f.severity != "note"]


@pytest.mark.parametrize(("name", "make"), list(sound.given()), ids=lambda v: v if isinstance(v, str) else "")
def test_the_designs_written_down_are_silent(name: str, make: Callable[[], Design]) -> None:
    assert not alarms(make())


def test_designs_at_random_are_silent() -> None:
    for name, design in sound.drawn(IN_THE_SUITE, SUITE_SEED):
        assert not alarms(design), name


def test_what_was_cut_as_drawn_or_makes_no_difference_is_silent() -> None:
    small = ((name, make()) for name, make in sound.given())
    for name, design in as_cut(((n, d) for n, d in small if len(d.parts) <= FEW), SUITE_SEED):
        assert not alarms(design), name


@pytest.mark.slow
def test_hundreds_of_designs_are_silent() -> None:
    designs = [*sound.drawn(IN_THE_LONG_RUN, LONG_SEED), *sound.varied(LONG_SEED)]
    loud = [(name, alarms(design)) for name, design in designs if alarms(design)]
    assert len(designs) >= IN_THE_LONG_RUN and not loud


@pytest.mark.slow
def test_sound_work_as_cut_is_silent() -> None:
    designs = [(name, make()) for name, make in sound.given()] + list(sound.drawn(60, LONG_SEED + 1))
    loud = [(name, alarms(design)) for name, design in as_cut(iter(designs), LONG_SEED) if alarms(design)]
    assert not loud
