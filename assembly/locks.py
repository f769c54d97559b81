"""Locks: sets of units that hold each other so that no motion known here brings them together.

What is said of a lock is its certificate (`certificate`): the fewest joints and pieces found that
hold each other, and where they press; and the least changes that free it, each of them tried
(`ways_out`).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.blocking import Blocking
from assembly.certificate import Certificate, Witness, certificate
from assembly.taking_apart import Group
from assembly.ways_out import WayOut, ways_out

THIN = "Some of them are too thin for this to be told for certain."
UNTRIED = "Not every motion of several pieces at once could be tried."
SPARE = "Some of these pieces may have no part in it: not all could be tried without the others."


@dataclass(frozen=True)
class Lock:
    """Units that lock each other: their parts, the joints between them, what frees them.

    `freed_by`: joints any one of which, its tenon left off, lets the rest come together; each was tried.
    `glued_too_early`: the same pieces were found to come together with nothing among them glued.
    `sure` is False where it could not be told for certain; `doubt` says why, in words. `where`: their middle, mm.
    `witness`: two parts that press on each other, where and which way. `ways_out`: changes that were tried and free
    them; `all_ways` is False where there were more to try than were tried.
    """

    parts: tuple[str, ...]
    joints: tuple[str, ...]
    freed_by: tuple[str, ...]
    sure: bool
    where: tuple[float, float, float]
    glued_too_early: bool = False
    witness: Witness | None = None
    ways_out: tuple[WayOut, ...] = ()
    all_ways: bool = True
    doubt: str = ""


@lru_cache(maxsize=64)
def lock(blocking: Blocking, core: Group) -> Lock:
    """Return what is to be said about units that nothing takes apart."""
    held = certificate(blocking, core)
    ways = ways_out(blocking, core, held.units, held.joints)
    middle = np.mean(_middles(blocking, held.units), axis=0)
    doubt = _doubt(blocking, held)
    return Lock(blocking.parts(held.units), held.joints, _any_of(ways.found),
                THIN not in doubt and UNTRIED not in doubt, (float(middle[0]), float(middle[1]), float(middle[2])),
                witness=held.witness, ways_out=ways.found, all_ways=ways.every, doubt=" ".join(doubt))


def _any_of(ways: tuple[WayOut, ...]) -> tuple[str, ...]:
    return tuple(w.joint for w in ways if w.kind == "leave out" and w.alone)


def _doubt(blocking: Blocking, held: Certificate) -> list[str]:
    said = [] if _thick(blocking, held.units) else [THIN]
    said += [] if held.rigid or held.every else [UNTRIED]
    return said + ([] if held.least else [SPARE])


def _middles(blocking: Blocking, few: Group) -> NDArray[np.float64]:
    bodies = np.concatenate([blocking.members[u] for u in few])
    middle = np.array([blocking.bodies.solids[b].bounds.mean(axis=0) for b in bodies])
    frames = blocking.bodies.frames[bodies]
    at: NDArray[np.float64] = np.einsum("nij,nj->ni", frames[:, :3, :3], middle) + frames[:, :3, 3]
    return at


def _thick(blocking: Blocking, few: Group) -> bool:
    thin = [u for u in few if not all(blocking.bodies.told(int(b)) for b in blocking.members[u])]
    return not any(v in blocking.touching[u] for u in thin for v in thin)
