"""All at once: rings and wedges that close only together, worked out by hand, and verdicts against Tucker's theorem."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import nnls

from assembly.blocking import blocking
from assembly.order import Order, order
from assembly.placing import Assembly, place
from assembly.plan import Plan, Stage
from assembly.replay import replay
from assembly.steps import steps
from assembly.together import Closing, draw_together
from assembly.velocities import Contacts, least_motion, opening
from model.frames import Frame
from model.solids import box
from tests import zoo
from tests.blocks import polygon, renamed, sliding_three, standing
from tests.instances.kinds import loose, pegged
from tests.strategies import rigid_frames

Array = NDArray[np.float64]


def singly(assembly: Assembly) -> Order:
    return order(assembly, [(n,) for n in assembly.names])


def closing(assembly: Assembly) -> Closing:
    (chain,) = singly(assembly).chains
    assert chain.drawn is not None
    return chain.drawn


def refused(assembly: Assembly, found: Order) -> object:
    """Play an order as one stage by the code that knows only solids and motions."""
    joints = tuple(n for m in found.moves for n in m.joints)
    stage = Stage(1, "all", joints, tuple((n,) for n in assembly.names), found.moves, (), frozenset())
    return replay(assembly, Plan((stage,), steps(assembly, [stage], {})))


def ring(segments: int) -> Assembly:
    """A ring with loose tenons out of the family of closed rings; three stay straight."""
    return place(zoo.made("closed ring", "ring", segments=segments, radius=400.0, curved=segments > 3,
                          segment_joint="loose tenon"))


# -- rings ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("sides", [3, 5, 7, 9, 11])
def test_a_regular_ring_opens_evenly_along_its_radii(sides: int) -> None:
    """By hand: pieces moving out along radii 360/n apart at one speed r part by 2 r sin(180/n) across the mitre."""
    assembly = loose(polygon(sides))
    found = closing(assembly)
    assert [len(g) for g in found.groups] == [1] * sides
    out = found.velocities - found.velocities.mean(axis=0)
    speed = np.linalg.norm(out, axis=1)
    assert speed == pytest.approx(speed[0])
    where = {g[0]: k for k, g in enumerate(found.groups)}
    for i in range(sides):
        angle = 2 * np.pi * i / sides
        assert out[where[i]] == pytest.approx(speed[0] * np.array([np.cos(angle), np.sin(angle), 0.0]), abs=1e-6)
        apart = out[where[(i + 1) % sides]] - out[where[i]]
        assert np.linalg.norm(apart) == pytest.approx(2 * speed[0] * np.sin(np.pi / sides))
    tongue = 25.0
    least = 2 * np.sin(np.pi / sides) * speed[0]
    assert found.travel == pytest.approx(tongue / least), "all are out of their mortises at the same time"
    assert refused(assembly, singly(assembly)) is None


@pytest.mark.parametrize("segments", [3, 5, 7, 9, 11])
def test_a_ring_of_an_odd_number_with_loose_tenons_closes_all_at_once(segments: int) -> None:
    assembly = ring(segments)
    found = singly(assembly)
    assert not found.locks
    drawn = [m for m in found.moves if m.simultaneous]
    assert len(drawn) == segments - 1, "each loose tenon goes into one segment first"
    assert sorted(n for m in found.moves for n in m.joints) == sorted(j.name for j in assembly.design.joints)
    assert refused(assembly, found) is None


def test_a_ring_of_an_even_number_still_closes_as_two_halves() -> None:
    assert not any(m.simultaneous for m in singly(ring(8)).moves)


def test_tongues_that_all_lean_up_lock_a_ring() -> None:
    """By hand: each piece would have to rise against the one before it, all the way round."""
    for sides in (3, 4, 5):
        (lock,) = singly(polygon(sides, lean=0.15)).locks
        assert len(lock.parts) == sides


# -- sliding, and stopped on the way --------------------------------------------------------------


def test_three_that_only_slide_on_each_other_move_at_once() -> None:
    """Along x, along y, along x = y: with speeds 1, 1 and their sum all rails run true, and nothing opens at first."""
    assembly = sliding_three()
    held = blocking(assembly, [(n,) for n in assembly.names])
    found = closing(assembly)
    parts = [held.parts(g) for g in found.groups]
    out = dict(zip(parts, found.velocities - found.velocities[parts.index(("bed",))], strict=True))
    assert out["one",] == pytest.approx(np.array([1.0, 0.0, 0.0]), abs=1e-6)
    assert out["two",] == pytest.approx(np.array([0.0, -1.0, 0.0]), abs=1e-6)
    assert refused(assembly, singly(assembly)) is None


def test_a_motion_that_can_begin_and_is_stopped_on_the_way_is_no_motion() -> None:
    assembly = sliding_three(hooked=True)
    tried = draw_together(blocking(assembly, [(n,) for n in assembly.names]), (0, 1, 2))
    assert tried.opens and tried.closing is None
    assert tried.stop is not None and tried.stop.at == pytest.approx(5.0, abs=0.1), "the stop is 5 mm away"
    assert len(singly(assembly).locks) == 1


@pytest.mark.parametrize("room", [5.0, 400.0])
def test_a_ring_in_a_closed_case_stays_there(room: float) -> None:
    """It opens inside where there is room, and then none of its pieces can leave the case."""
    whole = polygon(3)
    low, high = np.full(3, np.inf), np.full(3, -np.inf)
    for n in whole.names:
        low, high = np.minimum(low, whole.solid(n).bounds[0]), np.maximum(high, whole.solid(n).bounds[1])
    case = box(low - room - 20, high + room + 20).cut(box(low - room, high + room))
    found = singly(standing({"case": case, **{n: whole.solid(n) for n in whole.names}}))
    assert all("case" in lock.parts for lock in found.locks) and found.locks


def test_only_what_is_pegged_stays_together_in_a_ring_that_opens() -> None:
    """A headed peg with play in its hole: it can begin to move, and is stopped by a face it did not touch."""
    assembly, cause = pegged(loose(polygon(11)))
    found = singly(assembly)
    assert [set(lock.parts) <= cause for lock in found.locks] == [True]
    (chain,) = found.chains
    assert chain.drawn is not None
    assert sorted(len(g) for g in chain.drawn.groups) == [1] * 9 + [3]


# -- laws -----------------------------------------------------------------------------------------


def verdict(assembly: Assembly) -> tuple[int, int, list[int]]:
    found = singly(assembly)
    return (sum(m.simultaneous for m in found.moves), len(found.moves), sorted(len(x.parts) for x in found.locks))


STRUCTURES = [lambda: loose(polygon(3)), lambda: loose(polygon(7)), sliding_three, lambda: sliding_three(hooked=True),
              lambda: loose(polygon(5, lean=0.15)), lambda: ring(5)]


@given(st.integers(0, len(STRUCTURES) - 1), rigid_frames())
@settings(max_examples=15, deadline=None)
def test_rigid_motion_changes_no_verdict(which: int, frame: Frame) -> None:
    assembly = STRUCTURES[which]()
    assert verdict(assembly.moved(frame)) == verdict(assembly)


@given(st.integers(0, len(STRUCTURES) - 2), st.randoms(use_true_random=False))
@settings(max_examples=15, deadline=None)
def test_other_names_in_another_order_change_no_verdict(which: int, random) -> None:  # type: ignore[no-untyped-def]
    assembly = STRUCTURES[which]()
    shuffled = list(range(len(assembly.names)))
    random.shuffle(shuffled)
    assert verdict(renamed(assembly, shuffled)) == verdict(assembly)


# -- against a theorem ----------------------------------------------------------------------------


@st.composite
def heaps(draw: st.DrawFn) -> Contacts:
    """A few bodies with contacts along the axes and their diagonals, any way round: often locked, seldom wholly."""
    count, many = draw(st.integers(2, 5)), draw(st.integers(3, 16))
    ends = [draw(st.permutations(range(count)))[:2] for _ in range(many)]
    ways = [draw(st.tuples(*[st.integers(-1, 1)] * 3).filter(any)) for _ in range(many)]
    normals = np.array(ways, dtype=np.float64)
    first, second = np.array(ends, dtype=np.int64).T
    return Contacts(count, first, second, normals / np.linalg.norm(normals, axis=1)[:, None], np.arange(many))


def tucker(contacts: Contacts) -> NDArray[np.bool_]:
    """Tucker's theorem (1956, from memory): a contact opens unless forces, its own among them, balance everywhere."""
    rows = contacts.rows()
    opens = np.ones(len(contacts), dtype=bool)
    for p in range(len(contacts)):
        _, rest = nnls(rows.T, -rows[p], maxiter=1000)
        opens[p] = rest > 1e-7
    return opens


@given(heaps())
@settings(max_examples=80, deadline=None)
def test_what_opens_is_what_no_balance_of_forces_holds_shut(contacts: Contacts) -> None:
    found = opening(contacts)
    assert found.opens.tolist() == tucker(contacts).tolist()
    held = found.pressures[~found.opens]
    balance = contacts.kept(~found.opens).rows().T @ held
    assert np.all(held > 0.5) and np.abs(balance).max(initial=0.0) < 1e-6 * max(1.0, held.max(initial=0.0)), \
        "what holds them shut is a balance of forces in which each takes part"


@given(heaps())
@settings(max_examples=60, deadline=None)
def test_the_least_motion_opens_what_opens_and_slides_on_the_rest(contacts: Contacts) -> None:
    opens = opening(contacts).opens
    motion = least_motion(contacts, opens) if opens.any() else None
    if motion is not None:
        rates = contacts.openings(motion)
        assert np.all(rates[opens] > 1 - 1e-6) and np.abs(rates[~opens]).max(initial=0.0) < 1e-6
        assert motion.sum(axis=0) == pytest.approx(np.zeros(3), abs=1e-6)
    else:
        assert not opens.any()
