"""Instances of known answer: no wrong verdict and none undecided, whatever the size."""

from __future__ import annotations

import pytest

from tests.instances import KINDS, Instance, judged
from tests.instances.kinds import LARGEST

SMALL, MIDDLE, LARGE = (10, 30), (100,), (300, 1000)


def cases(sizes: tuple[int, ...]) -> list[tuple[str, int, bool]]:
    return [(kind, size, possible) for kind in KINDS for size in sizes if size <= LARGEST.get(kind, size)
            for possible in (True, False)]


def instance(kind: str, size: int, possible: bool) -> Instance:
    sound, spoilt = KINDS[kind]
    return Instance(kind, size, sound(size), frozenset()) if possible else Instance(kind, size, *spoilt(size))


@pytest.mark.parametrize(("kind", "size", "possible"), [*cases(SMALL), *(
    pytest.param(*case, marks=pytest.mark.slow) for case in (*cases(MIDDLE), *cases(LARGE)))])
def test_no_wrong_verdict_and_none_undecided(kind: str, size: int, possible: bool) -> None:
    found = judged(instance(kind, size, possible))
    assert found.said == ("together" if possible else "locked"), found.why
    assert found.right, found.why
