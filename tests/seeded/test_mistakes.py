"""Every mistake at or above its threshold is found: the right kind, the right parts, the right amount."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from model.design import Design
from tests import zoo
from tests.seeded import sound
from tests.seeded.measured import rail_long
from tests.seeded.mistake import judged, wrong
from tests.seeded.planters import PLANTERS, planted

IN_THE_SUITE, SUITE_SEED = 4, 20261
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


def test_a_finding_that_is_not_right_does_not_count() -> None:
    """The judge itself: nothing found, another kind, other parts, or an amount just over what is allowed."""
    design = zoo.frame()
    mistake = rail_long(design, np.random.default_rng(1))
    assert mistake is not None and mistake.amount is not None
    findings = wrong(mistake.design)
    assert judged(mistake, findings).good and judged(mistake, findings).first
    assert not judged(mistake, ()).found
    assert not judged(mistake, wrong(design)).found
    assert not judged(replace(mistake, finds=("proud",)), findings).kind
    assert not judged(replace(mistake, parts=frozenset({"post_1a", "post_2b"})), findings).parts
    assert not judged(replace(mistake, among=(frozenset({"nobody"}),)), findings).parts
    assert judged(replace(mistake, amount=mistake.amount + 0.015), findings).good
    assert not judged(replace(mistake, amount=mistake.amount + 0.03), findings).good
    assert not judged(replace(mistake, unit="deg"), findings).good


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
