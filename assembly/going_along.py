"""Going along: which pieces move with a neighbour they only slide in, so that as few groups as can be move at once.

A loose tenon between two pieces that draw apart could go with either, or hang between them: it is
taken to sit in one of them, into which it is put first.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from assembly.blocking import Blocking
from assembly.velocities import SAME, Contacts

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
Indices = NDArray[np.int64]
Group = tuple[int, ...]


def hosts(blocking: Blocking, units: Group, contacts: Contacts, motion: Array, opens: Bools) -> Indices:
    """Return for each unit the number of the group it moves in, light units going along with what they slide in."""
    host = list(range(len(units)))
    taken: set[int] = set()
    of: list[list[int]] = [[] for _ in units]
    for p in range(len(contacts)):
        of[int(contacts.first[p])].append(p)
        of[int(contacts.second[p])].append(p)
    near = _neighbours(blocking, units)
    for u in sorted(range(len(units)), key=lambda k: int(blocking.rank[units[k]])):
        if u in taken:
            continue
        touching = np.array(of[u], dtype=np.int64)
        for w in near[u]:
            if host[w] == w and _goes_along(contacts, motion, opens, touching, u, w):
                host[u] = w
                motion = motion.copy()
                motion[u] = motion[w]
                taken.add(w)
                break
    _, numbers = np.unique(host, return_inverse=True)
    return numbers.astype(np.int64)


def _neighbours(blocking: Blocking, units: Group) -> list[list[int]]:
    """Return for each unit the others it is joined to, in the order the joints are named."""
    place = {u: k for k, u in enumerate(units)}
    near: list[dict[int, None]] = [{} for _ in units]
    for tie in blocking.ties:
        if tie.a in place and tie.b in place:
            near[place[tie.a]][place[tie.b]] = None
            near[place[tie.b]][place[tie.a]] = None
    return [list(some) for some in near]


def _goes_along(contacts: Contacts, motion: Array, opens: Bools, touching: Indices, u: int, w: int) -> bool:
    """Return whether a unit can move as its neighbour does, and all that opened opens still."""
    first, second = contacts.first[touching], contacts.second[touching]
    between = (first == w) | (second == w)
    if opens[touching][between].any():
        return False
    now = motion.copy()
    now[u] = motion[w]
    speed = np.einsum("pi,pi->p", now[second] - now[first], contacts.normals[touching])
    return bool(np.all(np.where(opens[touching], speed > 100 * SAME, np.abs(speed) < SAME) | between))
