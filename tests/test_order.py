"""Order: small structures worked out by hand, and random blockworks against an independent count of voxels."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.order import Order, order
from assembly.placing import Assembly, place
from model.frames import Frame
from model.solids import Solid, box
from tests import zoo
from tests.blocks import (
    crossing_braces,
    drawer,
    dumbbell,
    links,
    mirrored,
    peg_inside,
    polygon,
    renamed,
    split_links,
    standing,
    tapered_key,
)
from tests.strategies import rigid_frames

Voxels = frozenset[tuple[int, int, int]]


def singly(assembly: Assembly) -> Order:
    return order(assembly, [(n,) for n in assembly.names])


# -- by hand --------------------------------------------------------------------------------------


def test_a_drawer_goes_into_its_case_one_way_only() -> None:
    found = singly(drawer())
    assert not found.locks
    laid, home = found.moves
    assert (laid.parts, laid.onto) == (("case",), ())
    assert (home.parts, home.onto) == (("drawer",), ("case",))
    assert home.direction == pytest.approx((-1.0, 0.0, 0.0))
    assert home.travel == pytest.approx(290.0, abs=1.0)


def test_a_drawer_behind_a_closed_front_is_locked() -> None:
    case = drawer().solid("case").joined(box((295, 0, 0), (310, 200, 100)))
    found = singly(standing({"case": case, "drawer": box((10, 10.5, 10.5), (295, 189.5, 89.5))}))
    assert [set(lock.parts) for lock in found.locks] == [{"case", "drawer"}]


def test_a_tapered_key_slides_towards_its_wide_end_only() -> None:
    found = singly(tapered_key())
    assert not found.locks
    assert len(found.moves) == 2
    sense = 1.0 if found.moves[1].parts == ("board",) else -1.0
    assert sense * found.moves[1].direction[0] == pytest.approx(-1.0), "the board leaves to +x and comes home along -x"


def test_a_bar_with_two_heads_never_leaves_its_plates() -> None:
    found = singly(dumbbell())
    assert len(found.locks) == 1
    assert found.locks[0].sure
    assert set(found.locks[0].parts) in ({"bar", "plate_0"}, {"bar", "plate_1"}), "one plate is enough to lock the bar"


def test_two_whole_links_of_a_chain_are_locked_though_they_do_not_touch() -> None:
    assert [set(lock.parts) for lock in singly(links()).locks] == [{"lying", "upright"}]


def test_a_link_in_two_halves_opens() -> None:
    found = singly(split_links())
    assert not found.locks
    assert {n for m in found.moves for n in m.parts} == {"lying", "hook", "rest"}


def test_a_shelf_inside_a_frame_turns_a_corner() -> None:
    found = singly(peg_inside())
    assert not found.locks
    home = found.moves[-1]
    assert home.parts == ("shelf",)
    assert home.direction == pytest.approx((-1.0, 0.0, 0.0))
    assert home.travel == pytest.approx(11.0, abs=1.0)
    assert home.before is not None and abs(home.before[2]) == pytest.approx(1.0)


def test_rails_are_never_last_between_two_posts() -> None:
    """Tenoned both ends, a rail cannot go between posts that stand: the post has to close on the rails."""
    found = singly(place(zoo.trestle()))
    assert not found.locks
    assert [m.parts[0].split("_")[0] for m in found.moves] == ["post", "long", "post"]
    last = found.moves[-1]
    assert abs(last.direction[0]) == pytest.approx(1.0)
    assert last.travel > 20.0


def test_a_rail_between_posts_that_are_one_piece_is_locked() -> None:
    assembly = place(zoo.trestle())
    found = order(assembly, [("post_1", "post_2"), ("long_rail_01",)])
    assert [set(lock.parts) for lock in found.locks] == [{"post_1", "post_2", "long_rail_01"}]


def test_a_frame_closes_side_to_side() -> None:
    """Four posts with rails both ways: no post alone, no rail alone can be last."""
    found = singly(place(zoo.frame()))
    assert not found.locks
    assert len(found.moves[-1].parts) > 1


def test_crossing_braces_close_before_the_posts_close_on_them() -> None:
    found = singly(crossing_braces())
    assert not found.locks
    rank = {n: i for i, m in enumerate(found.moves) for n in m.parts}
    assert max(rank["post_0"], rank["post_1"]) > max(rank["one"], rank["two"])
    braces = next(m for m in found.moves if m.onto and m.parts in {("one",), ("two",)} and set(m.onto) & {"one", "two"})
    assert abs(braces.direction[1]) == pytest.approx(1.0), "a lap closes across, not along"


@pytest.mark.parametrize("sides", [3, 5, 7, 9])
def test_an_odd_ring_of_tongues_closes_all_at_once(sides: int) -> None:
    """The joints at the two ends of a group are parallel only when it is half of the ring: no two halves close it."""
    found = singly(polygon(sides))
    assert not found.locks
    laid, *drawn = found.moves
    assert not laid.simultaneous and not laid.onto
    assert len(drawn) == sides - 1 and all(m.simultaneous and m.onto == laid.parts for m in drawn)
    assert sorted(n for m in drawn for n in m.joints) == sorted(f"joint_{i}" for i in range(sides))


@pytest.mark.parametrize("sides", [4, 6, 8])
def test_an_even_ring_of_tongues_closes_by_two_halves(sides: int) -> None:
    found = singly(polygon(sides))
    assert not found.locks
    assert len(found.moves[-1].parts) == sides // 2
    assert len(found.moves[-1].joints) == 2
    assert not any(m.simultaneous for m in found.moves)


@pytest.mark.parametrize("sides", [3, 5, 9])
def test_an_odd_ring_with_a_plain_joint_needs_no_two_pieces_at_once(sides: int) -> None:
    for ring in (polygon(sides, plain=0), polygon(sides, tenons=False)):
        found = singly(ring)
        assert not found.locks and not any(m.simultaneous for m in found.moves)


# -- laws -----------------------------------------------------------------------------------------


def verdict(assembly: Assembly) -> tuple[int, list[int]]:
    """How many pieces take part in a move, and the sizes of the locks."""
    found = singly(assembly)
    return sum(len(m.parts) == 1 for m in found.moves), sorted(len(lock.parts) for lock in found.locks)


STRUCTURES = [drawer, tapered_key, dumbbell, links, split_links, peg_inside, crossing_braces, lambda: polygon(5),
              lambda: polygon(6)]


@pytest.mark.parametrize("make", STRUCTURES)
def test_the_mirror_changes_no_verdict(make) -> None:  # type: ignore[no-untyped-def]
    assembly = make()
    assert verdict(mirrored(assembly)) == verdict(assembly)


@given(st.integers(0, len(STRUCTURES) - 1), rigid_frames())
@settings(max_examples=30, deadline=None)
def test_rigid_motion_changes_no_verdict(which: int, frame: Frame) -> None:
    assembly = STRUCTURES[which]()
    assert verdict(assembly.moved(frame)) == verdict(assembly)


@given(st.integers(0, len(STRUCTURES) - 1), st.randoms(use_true_random=False))
@settings(max_examples=30, deadline=None)
def test_other_names_in_another_order_change_no_verdict(which: int, random) -> None:  # type: ignore[no-untyped-def]
    assembly = STRUCTURES[which]()
    shuffled = list(range(len(assembly.names)))
    random.shuffle(shuffled)
    assert verdict(renamed(assembly, shuffled)) == verdict(assembly)


def test_the_same_structure_gives_the_same_moves() -> None:
    assert singly(polygon(6)).moves == singly(polygon(6)).moves


# -- voxels ---------------------------------------------------------------------------------------

CELL = 20.0
WAYS = [(x, y, z) for x, y, z in np.vstack([np.eye(3, dtype=int), -np.eye(3, dtype=int)]).tolist()]


def escapes(movers: Voxels, rest: Voxels) -> bool:
    """Whether cells step out among others along one of the six ways without ever standing in one of them."""
    return any(all((x + dx * k, y + dy * k, z + dz * k) not in rest for x, y, z in movers for k in range(1, 8))
               for dx, dy, dz in WAYS)


def stuck(pieces: list[Voxels]) -> int:
    """How many pieces are left in sets that no group of them can leave: tried group by group, with no graph."""
    if len(pieces) < 2:
        return 0
    for count in range(1, len(pieces) // 2 + 1):
        for group in combinations(range(len(pieces)), count):
            some = [pieces[i] for i in group]
            others = [p for i, p in enumerate(pieces) if i not in group]
            if escapes(frozenset().union(*some), frozenset().union(*others)):
                return stuck(some) + stuck(others)
    return len(pieces)


@st.composite
def blockworks(draw: st.DrawFn) -> list[Voxels]:
    """A block of 3 x 3 x 2 cells dealt out to a few pieces, each one connected: often interlocked."""
    cells = [(x, y, z) for x in range(3) for y in range(3) for z in range(2)]
    left = set(cells)
    pieces: list[set[tuple[int, int, int]]] = []
    for _ in range(draw(st.integers(2, 6))):
        if not left:
            break
        grown = {draw(st.sampled_from(sorted(left)))}
        for _ in range(draw(st.integers(1, 6))):
            edge = sorted({n for c in grown for n in _beside(c)} & left - grown)
            if edge:
                grown.add(draw(st.sampled_from(edge)))
        left -= grown
        pieces.append(grown)
    return [frozenset(p) for p in pieces]


def _beside(cell: tuple[int, int, int]) -> list[tuple[int, int, int]]:
    return [(cell[0] + dx, cell[1] + dy, cell[2] + dz) for dx, dy, dz in WAYS]


def solid_of(cells: Voxels) -> Solid:
    """The cells as one solid, each run a hair long so that neighbours are truly one."""
    blocks = [box(np.multiply(c, CELL), np.add(c, 1) * CELL) for c in sorted(cells)]
    across = [box(np.multiply(c, CELL), np.add(c, 1) * CELL + np.subtract(n, c))
              for c in sorted(cells) for n in _beside(c) if n in cells and n > c]
    return blocks[0].joined(*blocks[1:], *across)


@given(blockworks())
@settings(max_examples=120, deadline=None)
def test_blockworks_come_apart_exactly_when_counting_cells_says_so(pieces: list[Voxels]) -> None:
    found = singly(standing({f"piece_{i}": solid_of(p) for i, p in enumerate(pieces)}))
    locked = sum(len(core) for chain in found.chains for core in chain.locked)
    counted = stuck(pieces)
    assert locked == counted or (locked < counted and any(m.before is not None for m in found.moves))


def test_among_these_blockworks_are_some_that_interlock() -> None:
    """Two hooks: found locked by the count, and by the solids."""
    hook = frozenset({(0, 0, 0), (0, 1, 0), (0, 2, 0), (1, 0, 0), (1, 2, 0)})
    cross = frozenset({(1, 1, 0), (2, 1, 0), (2, 0, 0), (2, 2, 0), (1, 1, 1)})
    lid = frozenset({(0, 1, 1), (2, 1, 1), (0, 0, 1), (0, 2, 1), (2, 0, 1), (2, 2, 1), (1, 0, 1), (1, 2, 1)})
    assert stuck([hook, cross]) == 0
    ring = frozenset({(0, 0, 0), (0, 1, 0), (0, 2, 0), (1, 0, 0), (1, 2, 0), (2, 0, 0), (2, 1, 0), (2, 2, 0)})
    bar = frozenset({(1, 1, 0), (1, 1, 1), (0, 1, 1), (1, 1, -1), (2, 1, -1)})
    assert stuck([ring, bar]) == 2
    assert len(singly(standing({"ring": solid_of(ring), "bar": solid_of(bar)})).locks[0].parts) == 2
    assert not singly(standing({"hook": solid_of(hook), "cross": solid_of(cross), "lid": solid_of(lid)})).locks
