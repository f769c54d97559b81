"""How far each part is drawn from home when all is spread apart, along the ways it comes in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from assembly.rehearsal import Rehearsal
from assembly.standing import standing
from exports.pictures.camera import Camera
from exports.pictures.spread import CLEAR, spread
from exports.walk.laid import Laid
from model.frames import Vector

LOOKED_AT = 400
"""Pieces on all benches together up to which it is looked at what the eye sees best, as for the picture."""
GROWTH = 1.8
"""Of more pieces the whole grows to no more than this many times its size (its diagonal)."""


def apart(rehearsal: Rehearsal, laids: Sequence[Laid], camera: Camera) -> Mapping[str, Vector]:
    """Return how far each placed part is drawn from home, finished work, mm; `camera`: the side it is seen from."""
    if not laids or not rehearsal.assembly.names:
        return {}
    if sum(len(one.names) for one in laids) <= LOOKED_AT:
        return spread(rehearsal, camera)
    return _along_the_ways(rehearsal, laids)


def _along_the_ways(rehearsal: Rehearsal, laids: Sequence[Laid]) -> Mapping[str, Vector]:
    """Draw every move of every stage back by its travel and as much again as is seen, and shrink that to what fits."""
    home = standing(rehearsal.assembly, names=rehearsal.assembly.names)
    size = float(np.linalg.norm(home.high.max(axis=0) - home.low.min(axis=0)))
    off = np.zeros((len(home.names), 3))
    for one in laids:
        here = [home.index[n] for n in one.names]
        turned = np.einsum("nij,nkj,nk->ni", home.frames[here, :3, :3], one.frames[:, :3, :3],
                           _balanced(one, _drawn_back(one, CLEAR * size)))
        off[here] += turned
    grown = float(np.linalg.norm((home.high + off).max(axis=0) - (home.low + off).min(axis=0)))
    share = _share(home.low, home.high, off, GROWTH * size) if grown > GROWTH * size else 1.0
    return dict(zip(home.names, off * share, strict=True))


def _drawn_back(one: Laid, clear: float) -> NDArray[np.float64]:
    off = np.zeros((len(one.names), 3))
    for move in one.moves:
        if move.onto or move.simultaneous:
            off[one.rows(move.parts)] -= np.asarray(move.direction) * (move.travel + clear)
    return off


def _balanced(one: Laid, off: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return offsets shifted so that the middle of each group that leaves the stage stays where it is."""
    for result in one.stage.results or (one.names,):
        rows = one.rows(result)
        if rows:
            off[rows] -= off[rows].mean(axis=0)
    return off


def _share(low: NDArray[np.float64], high: NDArray[np.float64], off: NDArray[np.float64], most: float) -> float:
    """Return the share of offsets at which the box around all has a diagonal of `most`, found by halving."""
    few, many = 0.0, 1.0
    for _ in range(20):
        middle = (few + many) / 2.0
        reach = (high + off * middle).max(axis=0) - (low + off * middle).min(axis=0)
        few, many = (few, middle) if float(np.linalg.norm(reach)) > most else (middle, many)
    return few
