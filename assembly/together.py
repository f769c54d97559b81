"""Together: closings in which several pieces or groups move at the same time, as a band draws a ring shut.

Units that no motion of two bodies takes apart are asked, all at once, what velocities their
contacts allow (`velocities`). Each pair of them then moves in a straight line towards each
other, so that whether they meet on the way is known exactly (`passing`): the motion must be
free for ever, or free until every joint is clear and each group can go on by itself. Where a
face stops it, that face is added to the contacts and the units are asked again; then motions
that open fewer contacts are tried, and those that only slide.
Not checked: turning, velocities that change on the way.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from assembly.blocking import Blocking
from assembly.directions import both_ways, lines
from assembly.engagement import engagement
from assembly.going_along import hosts
from assembly.passing import Stop, first_stop, go_on_alone
from assembly.velocities import SAME, Contacts, alike, contacts_among, least_motion, opening, sliding

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
Indices = NDArray[np.int64]
Group = tuple[int, ...]

ROUNDS_MOST = 12
"""How often a face that stops the motion is added before another motion is tried."""
MOTIONS_MOST = 60
"""Motions tried in which fewer contacts open, or none, once the one that opens all is stopped."""
SLIDES_MOST = 900
"""Unknowns up to which motions that only slide are looked for."""
CLEAR = 1.0
"""How far past its joints a group must get before it goes on by itself, mm."""


@dataclass(frozen=True, eq=False)
class Closing:
    """Groups of units that come apart all at once; backwards, how they close.

    `groups`: the one at rest first. `velocities` (K, 3): of the opening, in the world; the first is zero, the
    fastest 1. `travel`: how far the fastest goes until all are clear of each other's joints, mm.
    """

    groups: tuple[Group, ...]
    velocities: Array
    travel: float


@dataclass(frozen=True, eq=False)
class Tried:
    """What was found when units were asked to open all at once: a closing, or what stops the motion that got farthest.

    `opens`: whether any motion was possible at the first instant. `every`: whether all motions worth trying were.
    """

    closing: Closing | None
    opens: bool
    every: bool = True
    stop: Stop | None = None


def draw_together(blocking: Blocking, units: Sequence[int]) -> Tried:
    """Return how some units come apart all at once, or why not."""
    search = _Search(blocking, tuple(units), contacts_among(blocking, units))
    closing = search.all_open() or search.fewer_open()
    return Tried(closing, search.opens, search.every, search.stop)


@dataclass
class _Search:
    blocking: Blocking
    units: Group
    contacts: Contacts
    opens: bool = False
    every: bool = True
    stop: Stop | None = None
    seen: set[bytes] = field(default_factory=set)

    def all_open(self) -> Closing | None:
        """Return the closing in which all opens that can, faces that stop it being added to the contacts."""
        contacts = self.contacts
        for _ in range(ROUNDS_MOST):
            found = opening(contacts)
            if not found.opens.any():
                return None
            motion = least_motion(contacts, found.opens)
            tried = self._try(contacts, found.velocities if motion is None else motion)
            if isinstance(tried, Closing):
                return tried
            if tried is None:
                return None
            contacts = contacts.facing(self._place(tried.one), self._place(tried.other), tried.normal)
        self.every = False
        return None

    def fewer_open(self) -> Closing | None:
        """Return a closing in which one contact opens and others only as they must, or none opens and all slide."""
        for count, motion in enumerate(self._smaller()):
            if count == MOTIONS_MOST:
                self.every = False
                return None
            tried = self._try(self.contacts, motion)
            if isinstance(tried, Closing):
                return tried
        return None

    def _smaller(self) -> Iterator[Array]:
        opens = opening(self.contacts).opens
        for p in range(int(opens.sum())):
            motion = least_motion(self.contacts, opens, np.eye(int(opens.sum()))[p])
            if motion is not None:
                yield motion
        yield from self._slides()

    def _slides(self) -> Iterator[Array]:
        """Yield motions that slide along every contact: for each joint the least that draws it out, or drives it on."""
        if 3 * len(self.units) > SLIDES_MOST:
            self.every = False
            return
        free = sliding(self.contacts)
        place = {u: k for k, u in enumerate(self.units)}
        for tie in self.blocking.ties:
            if tie.a in place and tie.b in place:
                draw = np.zeros((len(self.units), 3))
                draw[place[tie.a]] -= tie.axis
                draw[place[tie.b]] += tie.axis
                motion = (free @ (free.T @ draw.ravel())).reshape(-1, 3)
                if np.linalg.norm(motion) > SAME:
                    yield motion
                    yield -motion

    def _place(self, body: int) -> int:
        return self.units.index(int(self.blocking.unit_of[body]))

    def _try(self, contacts: Contacts, motion: Array) -> Closing | Stop | None:
        """Return the closing that a motion (U, 3) makes, what stops it, or None where it was tried or moves nothing."""
        motion = self._carried(contacts, motion)
        size = float(np.linalg.norm(motion - motion[0], axis=1).max())
        if size < SAME:
            return None
        closing = _closing(self.blocking, self.units, motion)
        word = np.round(closing.velocities[:, None] - closing.velocities[None], 5).tobytes()
        word += repr(closing.groups).encode()
        if word in self.seen:
            return None
        self.seen.add(word)
        self.opens = True
        found = _through(self.blocking, closing)
        if isinstance(found, Stop) and (self.stop is None or found.at > self.stop.at):
            self.stop = found
        return found

    def _carried(self, contacts: Contacts, motion: Array) -> Array:
        """Return a motion in which pieces that only slide go along with a neighbour, where all else opens as it did."""
        size = float(np.abs(motion).max())
        openings = contacts.openings(motion)
        opens = openings > SAME * size
        of = hosts(self.blocking, self.units, contacts, motion / max(size, 1e-300), opens)
        rest = contacts.merged(of)
        kept = opens[of[contacts.first] != of[contacts.second]]
        asked = openings[of[contacts.first] != of[contacts.second]][kept]
        again = least_motion(rest, kept, asked) if kept.any() and rest.count > 1 else None
        first = np.unique(of, return_index=True)[1]
        return motion[first][of] if again is None else again[of]


def _closing(blocking: Blocking, units: Group, motion: Array) -> Closing:
    """Return the groups that a motion (U, 3) makes, the heaviest at rest, with no travel yet."""
    size = float(np.linalg.norm(motion - motion[0], axis=1).max())
    kinds = alike(motion / size)
    sets = [[units[k] for k in np.flatnonzero(kinds == kind)] for kind in range(int(kinds.max()) + 1)]
    whole = [len(_pieces(blocking, some)) == 1 for some in sets]
    rank = {u: int(blocking.rank[u]) for u in units}
    still = max(range(len(sets)), key=lambda s: (whole[s], round(float(blocking.masses[sets[s]].sum()), 6),
                                                 max(rank[u] for u in sets[s])))
    at = {u: k for k, u in enumerate(units)}
    groups = [tuple(sorted(sets[still], key=rank.__getitem__))]
    for s, some in enumerate(sets):
        if s != still:
            groups += _pieces(blocking, some)
    groups = _outward(blocking, groups)
    velocities = np.array([motion[at[g[0]]] for g in groups]) - motion[at[groups[0][0]]]
    return Closing(tuple(groups), velocities / np.linalg.norm(velocities, axis=1).max(), 0.0)


def _outward(blocking: Blocking, groups: Sequence[Group]) -> list[Group]:
    """Return groups from the first outward, each touching one before it where that can be."""
    of = {u: g for g, group in enumerate(groups) for u in group}
    line = sorted(range(1, len(groups)), key=lambda g: (-len(groups[g]), int(blocking.rank[groups[g][0]])))
    place = {g: k for k, g in enumerate((0, *line))}
    near = [sorted({of[v] for u in group for v in blocking.touching[u] if v in of}, key=place.__getitem__)
            for group in groups]
    done = dict.fromkeys([0])
    for start in (0, *line):
        front = [start] if start == 0 or start not in done else []
        while front:
            done.update(dict.fromkeys(front))
            front = list(dict.fromkeys(n for g in front for n in near[g] if n not in done))
    return [groups[g] for g in done]


def _pieces(blocking: Blocking, some: Sequence[int]) -> list[Group]:
    """Return the sets among some units that hang together by touching."""
    few = set(some)
    web = nx.Graph()
    web.add_nodes_from(some)
    web.add_edges_from((u, v) for u in some for v in blocking.touching[u] if v in few)
    return [tuple(sorted(c, key=lambda u: int(blocking.rank[u]))) for c in nx.connected_components(web)]


def _through(blocking: Blocking, closing: Closing) -> Closing | Stop:
    """Return a closing with its travel once it is known to be clear all the way, or what stops it."""
    members = [np.concatenate([blocking.members[u] for u in g]) for g in closing.groups]
    movers = np.concatenate(members)
    each = np.repeat(closing.velocities, [len(m) for m in members], axis=0)
    stop = first_stop(blocking.bodies, movers, each)
    clear = _until_clear(blocking, closing)
    if stop is not None:
        ways = both_ways(lines(np.concatenate([blocking.axes, blocking.normals])))
        if clear + CLEAR > stop.at or not go_on_alone(blocking.bodies, members,
                                                      closing.velocities * (clear + CLEAR / 2), ways):
            return stop
        clear += CLEAR / 2
    return Closing(closing.groups, closing.velocities, clear)


def _until_clear(blocking: Blocking, closing: Closing) -> float:
    """Return how far the fastest group goes until all are clear of each other's joints, mm; CLEAR at least."""
    of = {u: g for g, group in enumerate(closing.groups) for u in group}
    pairs = {(of[u], of[v]) for u in of for v in blocking.touching[u] if v in of and of[u] < of[v]}
    far = CLEAR
    for one, other in sorted(pairs):
        apart = closing.velocities[one] - closing.velocities[other]
        speed = float(np.linalg.norm(apart))
        if speed > SAME:
            held = engagement(blocking, closing.groups[one], set(closing.groups[other]), apart / speed)
            far = max(far, held / speed)
    return far
