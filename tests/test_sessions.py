"""Sessions: closings put into as few glue-ups as may be, against brute force and a published balancing problem."""

from __future__ import annotations

from collections.abc import Set
from functools import cache
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.sessions.solve import Clash, Problem, solve


def problem(times: list[float], order: Set[tuple[int, int]], limit: float, *,
            strict: Set[tuple[int, int]] = frozenset(), together: tuple[frozenset[int], ...] = (),
            apart: tuple[frozenset[int], ...] = ()) -> Problem:
    """Return closings of so many minutes each, a glue open for `limit`, and sets that never fit one session."""
    def fits(tasks: frozenset[int]) -> bool:
        return sum(times[t] for t in tasks) <= limit + 1e-9 and not any(few <= tasks for few in apart)

    return Problem(len(times), frozenset(order), frozenset(strict), together, (tuple(times),), (limit,), fits)


def least(asked: Problem) -> int:
    """Return the least number of sessions by trying every way; a closing that fits nowhere is alone."""
    alone = {t for t in range(asked.count) if not asked.fits(frozenset([t]))}
    for sessions in range(1, asked.count + 1):
        for at in product(range(sessions), repeat=asked.count):
            groups = [frozenset(t for t in range(asked.count) if at[t] == s) for s in range(sessions)]
            if (all(at[a] <= at[b] for a, b in asked.order) and all(at[a] < at[b] for a, b in asked.strict)
                    and all(len({at[t] for t in g}) == 1 for g in asked.together)
                    and all((len(g) == 1 if g & alone else asked.fits(g)) for g in groups if g)):
                return sessions
    raise AssertionError("no way at all")


def holds(asked: Problem, sessions: tuple[tuple[int, ...], ...], misfits: frozenset[int]) -> bool:
    at = {t: s for s, few in enumerate(sessions) for t in few}
    return (len(at) == asked.count and all(at[a] <= at[b] for a, b in asked.order)
            and all(at[a] < at[b] for a, b in asked.strict)
            and all(asked.fits(frozenset(few)) or set(few) <= misfits for few in sessions))


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    count = draw(st.integers(1, 6))
    times = draw(st.lists(st.integers(1, 6).map(float), min_size=count, max_size=count))
    pairs = [(a, b) for a in range(count) for b in range(a + 1, count)]
    order = draw(st.sets(st.sampled_from(pairs), max_size=6)) if pairs else set()
    strict = draw(st.sets(st.sampled_from(pairs), max_size=2)) if pairs else set()
    sets = st.frozensets(st.integers(0, count - 1), min_size=2, max_size=3)
    apart = draw(st.lists(sets, max_size=2)) if pairs else []
    return problem(times, order, draw(st.integers(4, 10)), strict=strict, apart=tuple(apart))


@settings(max_examples=60, deadline=None)
@given(problems())
def test_as_few_sessions_as_brute_force_finds(asked: Problem) -> None:
    found = solve(asked)
    assert holds(asked, found.sessions, found.misfits)
    assert len(found.sessions) == least(asked)
    assert found.bound <= len(found.sessions)
    assert found.optimal


JACKSON = [6, 2, 5, 7, 1, 2, 3, 6, 5, 5, 4]
JACKSON_ORDER = {(1, 2), (1, 3), (1, 4), (1, 5), (2, 6), (3, 7), (4, 7), (5, 7), (6, 8), (7, 9), (8, 10), (9, 11),
                 (10, 11)}


@pytest.mark.parametrize(("limit", "sessions"), [(7, 8), (9, 6), (10, 5), (13, 4), (14, 4), (21, 3)])
def test_jacksons_line(limit: int, sessions: int) -> None:
    """The eleven operations of J. R. Jackson, "A computing procedure for a line balancing problem", Management
    Science 2 (1956), with the least numbers of stations listed for it in later collections: all from memory."""
    asked = problem([float(t) for t in JACKSON], {(a - 1, b - 1) for a, b in JACKSON_ORDER}, float(limit))
    found = solve(asked)
    assert (len(found.sessions), found.bound) == (sessions, sessions)
    assert _by_states(tuple(JACKSON), frozenset(JACKSON_ORDER), limit) == sessions


def _by_states(times: tuple[int, ...], order: frozenset[tuple[int, int]], limit: int) -> int:
    """Return the least number of stations by looking at every set of operations done (Held, Karp & Shareshian 1963)."""
    before = {t: {a for a, b in order if b == t} for t in range(1, len(times) + 1)}

    @cache
    def best(done: frozenset[int]) -> tuple[int, int]:
        """Return stations begun and the time used in the last of them."""
        if not done:
            return 0, limit
        found = (len(times) + 1, limit)
        for last in done:
            rest = done - {last}
            if before[last] <= rest and not any(last in before[t] for t in rest):
                stations, used = best(rest)
                here = times[last - 1]
                found = min(found, (stations, used + here) if used + here <= limit else (stations + 1, here))
        return found

    return best(frozenset(range(1, len(times) + 1)))[0]


def test_a_group_that_moves_as_one_has_set_before() -> None:
    found = solve(problem([1, 1, 1], {(0, 1)}, 10, strict={(1, 2)}))
    assert found.sessions == ((0, 1), (2,)) and found.optimal


def test_what_shares_a_session_shares_it_and_its_order_goes_with_it() -> None:
    found = solve(problem([4, 4, 4, 4], {(0, 1), (1, 2), (2, 3)}, 8, together=(frozenset({1, 2}),)))
    assert found.sessions == ((0,), (1, 2), (3,)) and found.optimal


def test_what_has_to_share_a_session_and_cannot_is_named() -> None:
    with pytest.raises(Clash) as clash:
        solve(problem([1, 1, 1], {(0, 1)}, 10, strict={(1, 2)}, together=(frozenset({0, 2}),)))
    assert clash.value.tasks == {0, 1, 2}


def test_what_does_not_fit_even_alone_is_alone_and_named() -> None:
    found = solve(problem([3, 20, 3], {(0, 1), (1, 2)}, 10))
    assert found.sessions == ((0,), (1,), (2,)) and found.misfits == {1} and found.optimal


def test_sessions_are_evenly_full() -> None:
    found = solve(problem([3, 3, 3, 3], {(0, 1), (1, 2), (2, 3)}, 9))
    assert found.sessions == ((0, 1), (2, 3))


def test_more_minutes_never_make_more_sessions() -> None:
    for limit in range(7, 47):
        asked = [problem([float(t) for t in JACKSON], {(a - 1, b - 1) for a, b in JACKSON_ORDER}, float(more))
                 for more in (limit, limit + 1)]
        less, more = (len(solve(p).sessions) for p in asked)
        assert more <= less
