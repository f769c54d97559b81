"""Locks: sets of units that hold each other so that no piece and no group can slide out.

A lock is cut down to the units that make it: those without which the rest would come
apart are kept, the others dropped. What would free it is tried before it is offered: the
contacts of one joint that run along its axis (the cheeks of its tenon) are left out, as
if that joint were a plain face, and the lock is asked again at the first instant.
Not promised: the smallest lock there is, where a set holds several.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from assembly.blocking import Blocking, Tie
from assembly.directions import tried_for_groups
from assembly.taking_apart import Group, take_apart

TRIES_MOST = 600
"""How many units are looked at, over all tries without some of them, before a lock is reported as it is."""
TRIED_MOST = 24
"""Joints that are tried as what would free a lock."""
CHEEK = 0.5
"""A contact counts as a cheek of its joint when its normal is within 60 degrees of square to the joint's axis."""


@dataclass(frozen=True)
class Lock:
    """Units that lock each other: their parts, the joints between them, what frees them.

    `freed_by`: joints any one of which, made as a plain face, lets the rest come apart.
    `glued_too_early`: the same pieces were found to come together with nothing among them glued.
    `sure` is False where some pair is too thin for it to be told whether it stops each other.
    """

    parts: tuple[str, ...]
    joints: tuple[str, ...]
    freed_by: tuple[str, ...]
    sure: bool
    where: tuple[float, float, float]
    glued_too_early: bool = False


def lock(blocking: Blocking, core: Group) -> Lock:
    """Return what is to be said about units that nothing takes apart."""
    few = tuple(sorted(smallest(blocking, core)))
    held = [t for t in blocking.ties if t.a in few and t.b in few]
    freed = freed_by(blocking, few, held)
    middle = np.mean(_middles(blocking, few), axis=0)
    return Lock(blocking.parts(few), tuple(dict.fromkeys(family(t) for t in held)), freed, _sure(blocking, few),
                (float(middle[0]), float(middle[1]), float(middle[2])))


def smallest(blocking: Blocking, core: Group) -> Group:
    """Return a subset of a lock that is locked by itself, cut down by halves, then quarters, then units.

    Not promised where that takes long (TRIES_MOST): it may then hold units that could be spared.
    """
    few = sorted(core, key=blocking.rank.__getitem__)
    size, tries = len(few) // 2, TRIES_MOST // len(few)
    while size >= 1 and tries > 0:
        tries -= len(few) // size
        least = _without_some(blocking, few, size)
        few, size = (list(least), min(size, len(least) // 2)) if least else (few, size // 2)
    return tuple(few)


def _without_some(blocking: Blocking, few: Sequence[int], size: int) -> Group | None:
    """Return the least lock left when some run of `size` units is taken out, or None where each is needed."""
    for start in range(0, len(few), size):
        spared = [*few[:start], *few[start + size:]]
        still = [core for chain in take_apart(blocking, spared) for core in chain.locked]
        if still:
            return min(still, key=len)
    return None


def family(tie: Tie) -> str:
    """Return the joint a tie belongs to: the declared one, for the halves of a loose tenon."""
    return tie.joint.of or tie.joint.name


def freed_by(blocking: Blocking, few: Group, held: Sequence[Tie]) -> tuple[str, ...]:
    """Return the joints any one of which, made as a plain face, would let the lock come apart."""
    names = list(dict.fromkeys(family(t) for t in held))
    return tuple(n for n in names[:TRIED_MOST] if _loosens(blocking, few, [t for t in held if family(t) == n], held))


def _loosens(blocking: Blocking, few: Group, plain: Sequence[Tie], held: Sequence[Tie]) -> bool:
    """Return whether some group could begin to leave, were these ties plain faces; the solids are not asked."""
    loose = {u for t in plain for u in (t.a, t.b) if all(o in plain for o in held if u in (o.a, o.b))}
    left = tuple(u for u in few if u not in loose)
    eased = _without_cheeks(blocking, plain)
    axes, ways = eased.all_ways(left)
    return any(not nx.is_strongly_connected(eased.graph(d, left))
               for tier in tried_for_groups(axes, ways) for d in tier)


def _without_cheeks(blocking: Blocking, plain: Sequence[Tie]) -> Blocking:
    axis = {t.joint.name: t.axis for t in plain}
    kept = np.array([not (j in axis and abs(float(axis[j] @ n)) < CHEEK)
                     for j, n in zip(blocking.patch_joints, blocking.normals, strict=True)], dtype=bool)
    joints = tuple(j for j, k in zip(blocking.patch_joints, kept, strict=True) if k)
    return replace(blocking, first=blocking.first[kept], second=blocking.second[kept], normals=blocking.normals[kept],
                   patch_joints=joints, _ways={})


def _middles(blocking: Blocking, few: Group) -> NDArray[np.float64]:
    bodies = np.concatenate([blocking.members[u] for u in few])
    middle = np.array([blocking.bodies.solids[b].bounds.mean(axis=0) for b in bodies])
    frames = blocking.bodies.frames[bodies]
    at: NDArray[np.float64] = np.einsum("nij,nj->ni", frames[:, :3, :3], middle) + frames[:, :3, 3]
    return at


def _sure(blocking: Blocking, few: Group) -> bool:
    thin = [u for u in few if not all(blocking.bodies.told(int(b)) for b in blocking.members[u])]
    return not any(v in blocking.touching[u] for u in thin for v in thin)
