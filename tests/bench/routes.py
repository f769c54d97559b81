"""Three routes to the same question, which parts run into each other, over the same meshes and places."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import trimesh

from assembly.broad import near_pairs
from assembly.interference import overlaps
from assembly.placing import Assembly
from tests.bench.structures import Pair

DEPTH = 0.02
"""The depth from which a collision library's contact counts as interference in its second, kinder column, mm."""


@dataclass(frozen=True)
class Prepared:
    """What every route is handed, made before its clock starts: meshes by shape, and world boxes."""

    assembly: Assembly
    meshes: Mapping[bytes, trimesh.Trimesh]
    low: np.ndarray
    high: np.ndarray


@dataclass(frozen=True)
class Verdict:
    """Pairs a route calls interfering; pairs it could not tell; pairs it would call at a depth beyond DEPTH."""

    pairs: frozenset[Pair]
    unsure: int = 0
    deep: frozenset[Pair] | None = None


def wrong(pairs: Collection[Pair], truth: Collection[Pair]) -> tuple[int, int]:
    """Return how many sound pairs are called bad and how many bad ones are passed."""
    return len(set(pairs) - set(truth)), len(set(truth) - set(pairs))


def prepared(assembly: Assembly) -> Prepared:
    """Return the assembly with its meshes ready for any library."""
    solids = {name: assembly.solid(name) for name in assembly.names}
    meshes = {s.key: trimesh.Trimesh(*s.mesh, process=False) for s in solids.values()}
    corners = [assembly.vertices(name) for name in assembly.names]
    return Prepared(assembly, meshes, np.array([c.min(axis=0) for c in corners]),
                    np.array([c.max(axis=0) for c in corners]))


def ours(given: Prepared) -> Verdict:
    """The project's own: depth of overlap against a named tolerance."""
    found = overlaps(given.assembly)
    return Verdict(frozenset(frozenset({o.a, o.b}) for o in found if o.told), sum(not o.told for o in found))


def collisions(given: Prepared) -> Verdict:
    """A general-purpose collision manager (trimesh over python-fcl), with contact data, every pair at once."""
    manager = trimesh.collision.CollisionManager()
    for name in given.assembly.names:
        mesh = given.meshes[given.assembly.solid(name).key]
        manager.add_object(name, mesh, transform=given.assembly.frames[name])
    _, names, contacts = manager.in_collision_internal(return_names=True, return_data=True)
    deep = frozenset(frozenset(c.names) for c in contacts if c.depth > DEPTH)
    return Verdict(frozenset(frozenset(pair) for pair in names), deep=deep)


def booleans(given: Prepared) -> Verdict:
    """Raw booleans on the same candidate pairs, any volume at all taken for interference."""
    assembly = given.assembly
    found: set[Pair] = set()
    for i, j in near_pairs(given.low, given.high, 0.0).tolist():
        a, b = assembly.names[i], assembly.names[j]
        if (_stood(assembly, a) ^ _stood(assembly, b)).volume() > 0.0:
            found.add(frozenset({a, b}))
    return Verdict(frozenset(found))


def _stood(assembly: Assembly, name: str) -> Any:
    return assembly.solid(name).manifold.transform(np.ascontiguousarray(assembly.frames[name][:3]))


ROUTES: Mapping[str, Callable[[Prepared], Verdict]] = {
    "dryfit": ours, "collision manager": collisions, "raw booleans": booleans,
}
