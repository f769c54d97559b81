"""Every mistake at or above its threshold is found: the right kind, the right parts, the right amount."""

from __future__ import annotations

from functools import cache

import pytest

from model.design import Design
from tests.seeded import sound
from tests.seeded.mistake import judged, wrong
from tests.seeded.planters import PLANTERS, planted

IN_THE_SUITE, SUITE_SEED = 6, 20261
"""Mistakes of each kind planted here, and the seed they are drawn by."""
SMALL = 40
"""In the suite only designs of so many parts are planted in."""
IN_THE_LONG_RUN, LONG_SEED, LONG_SOUND = 2_112, 20262, 90


@cache
def small_designs() -> tuple[Design, ...]:
    """The sound designs of the suite that are small enough to look at often."""
    written = [make() for _, make in sound.given()]
    return tuple(d for d in (*written, *(d for _, d in sound.drawn(12, SUITE_SEED))) if len(d.parts) <= SMALL)


@pytest.mark.parametrize("planter", PLANTERS, ids=lambda p: p.name)
def test_mistakes_of_each_kind_are_found(planter: object) -> None:
    mine = [p for p in PLANTERS if p is planter]
    done = list(planted(small_designs(), IN_THE_SUITE, SUITE_SEED + PLANTERS.index(mine[0]), mine))
    assert len(done) == IN_THE_SUITE, "no sound design takes this mistake"
    for _, mistake in done:
        findings = wrong(mistake.design)
        told = [(f.kind, f.parts, f.amount) for f in findings]
        assert judged(mistake, findings).good, (mistake.name, mistake.design.name, mistake.finds,
                                                sorted(mistake.parts), mistake.amount, told)


@pytest.mark.slow
def test_two_thousand_mistakes_are_found() -> None:
    designs = [make() for _, make in sound.given()] + [d for _, d in sound.drawn(LONG_SOUND, LONG_SEED)]
    missed, count = [], 0
    for _, mistake in planted(designs, IN_THE_LONG_RUN, LONG_SEED):
        count += 1
        if not judged(mistake).good:
            missed.append((mistake.name, mistake.design.name, sorted(mistake.parts), mistake.amount))
    assert count >= 2_000
    assert not missed
