"""Lying: what lies together at each moment of a stage, and by which moves it grows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
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
    """Work that lies in one place of the shop from its first piece to its last, moment by moment.

    `brought`: the groups made up beside it, each in a place of its own, and carried to it later.
    """

    growths: tuple[Growth, ...]
    brought: tuple[Lying, ...] = ()

    @property
    def parts(self) -> frozenset[str]:
        """All that lies there in the end."""
        return self.growths[-1].parts

    @property
    def all(self) -> tuple[Lying, ...]:
        """Itself last, before it whatever is brought to it."""
        return (*(one for lying in self.brought for one in lying.all), self)


def lyings(stage: Stage) -> tuple[Lying, ...]:
    """Return the works made up in a stage that are not brought to another one.

    A piece that is brought straight to its place never lies anywhere by itself. A stage in which nothing is brought
    to anything has its pieces lying each by itself.
    """
    unit_of = {name: frozenset(unit) for unit in stage.units for name in unit}
    here: list[Lying] = []
    for moves in _closings(stage.moves):
        movers = frozenset(n for _, m in moves for n in m.parts)
        if any(m.onto for _, m in moves):
            here = _closed(here, moves, movers, unit_of)
        else:
            here.append(Lying((Growth(moves, movers),)))
    grown = tuple(lying for lying in here if len(lying.growths) > 1)
    return grown or tuple(here)


def _closed(here: Sequence[Lying], moves: tuple[tuple[int, Move], ...], movers: frozenset[str],
            unit_of: Mapping[str, frozenset[str]]) -> list[Lying]:
    """Return what lies where once some moves that come together are made: the works they tie have become one."""
    still = frozenset(n for _, m in moves for n in m.onto) - movers
    met = [lying for lying in here if lying.parts & (movers | still)]
    lain = [lying for lying in met if lying.parts & still] or met
    stays = max(lain, key=lambda lying: (len(lying.parts), len(lying.growths)), default=None)
    if stays is None:
        stays = Lying((Growth((), _whole(unit_of, still or movers)),))
    brought = tuple(one for one in met if one is not stays and len(one.growths) > 1)
    together = _whole(unit_of, movers | still).union(stays.parts, *(one.parts for one in met))
    grown = Lying((*stays.growths, Growth(moves, together)), (*stays.brought, *brought))
    return [*(one for one in here if one not in met), grown]


def _whole(unit_of: Mapping[str, frozenset[str]], names: frozenset[str]) -> frozenset[str]:
    """Return all parts of the units that some parts belong to."""
    return frozenset().union(*(unit_of.get(n, frozenset((n,))) for n in names))


def _closings(moves: Sequence[Move]) -> Iterator[tuple[tuple[int, Move], ...]]:
    """Yield the moves one by one, those that come together at the same time as one."""
    run = 0
    keyed: list[tuple[int, int, Move]] = []
    for k, move in enumerate(moves):
        run += not (move.simultaneous and k and moves[k - 1].simultaneous)
        keyed.append((run, k, move))
    for _, together in groupby(keyed, key=lambda item: item[0]):
        yield tuple((k, move) for _, k, move in together)
