"""Lying: what lies together at each moment of a stage, and by which moves it grows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from assembly.plan import Move, Stage


@dataclass(frozen=True)
class Growth:
    """One moment: `moves` (with their numbers, from 0) have just been made, and these parts lie together."""

    moves: tuple[tuple[int, Move], ...]
    parts: frozenset[str]


@dataclass(frozen=True)
class Lying:
    """Work that lies in one place of the shop from its first piece to its last, moment by moment."""

    growths: tuple[Growth, ...]

    @property
    def parts(self) -> frozenset[str]:
        """All that lies there in the end."""
        return self.growths[-1].parts


def lyings(stage: Stage) -> tuple[Lying, ...]:
    """Return what is made up in a stage, each in its own place: groups that are carried to others later on, too.

    A piece that is brought straight to its place never lies anywhere by itself.
    """
    unit_of = {name: frozenset(unit) for unit in stage.units for name in unit}
    here: list[Lying] = []
    carried: list[Lying] = []
    for moves in _closings(stage.moves):
        movers = frozenset(n for _, m in moves for n in m.parts)
        if not any(m.onto for _, m in moves):
            here.append(Lying((Growth(moves, movers),)))
            continue
        onto = frozenset(n for _, m in moves for n in m.onto)
        met = [lying for lying in here if lying.parts & (movers | onto)]
        stays = _stays(met, onto - movers)
        carried += [lying for lying in met if lying is not stays and len(lying.growths) > 1]
        all_of = frozenset().union(*(unit_of.get(n, frozenset((n,))) for n in movers | onto), *(m.parts for m in met))
        if stays is None:
            stays = _first(unit_of, onto - movers or onto)
        here = [lying for lying in here if lying not in met]
        here.append(Lying((*stays.growths, Growth(moves, all_of))))
    made = [lying for lying in here if len(lying.growths) > 1]
    return tuple(carried + made) or tuple(here)


def _closings(moves: Sequence[Move]) -> Iterator[tuple[tuple[int, Move], ...]]:
    """Yield the moves one by one, those that come together at the same time as one."""
    run = 0
    keyed: list[tuple[int, int, Move]] = []
    for k, move in enumerate(moves):
        run += not (move.simultaneous and k and moves[k - 1].simultaneous)
        keyed.append((run, k, move))
    for _, together in groupby(keyed, key=lambda item: item[0]):
        yield tuple((k, move) for _, k, move in together)


def _stays(met: Sequence[Lying], onto: frozenset[str]) -> Lying | None:
    """Return the one of the works that meet to which the others are brought: the largest that does not move."""
    still = [lying for lying in met if lying.parts & onto]
    return max(still, key=lambda lying: (len(lying.parts), len(lying.growths)), default=None)


def _first(unit_of: dict[str, frozenset[str]], onto: frozenset[str]) -> Lying:
    """Return work that was not laid down by a move of its own, as if it had been."""
    lain = frozenset().union(*(unit_of.get(n, frozenset((n,))) for n in onto))
    return Lying((Growth((), lain),))
