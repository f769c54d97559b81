"""Velocities: what the faces in contact let several units do at the same instant.

Each contact says that the two units it lies between do not press into each other: along its
normal the one never falls behind the other. The velocities that keep to all of these form a
cone. One linear program finds the contacts that can open, all of them in one motion; every
other contact can then only slide, whatever the units do. Where all contacts open by at least
one, the least motion is the only one of its kind: a regular ring opens evenly, along its radii.
Not checked here: turning, and how far the motion gets (`together`).
Source: Wilson & Latombe, Artificial Intelligence 71 (1994), motions of many bodies at the
first instant; least distance programming after Lawson & Hanson, "Solving Least Squares
Problems" (1974), chapter 23 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from assembly.blocking import Blocking

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
Bools = NDArray[np.bool_]

ALIKE = 1e-3
"""Normals nearer than this (rad) to one line are taken to lie in it: what leans less, the solids decide."""
FAST_MOST = 1e3
"""How many times faster than a contact opens any unit may move: what opens more slowly only slides."""
SAME = 1e-6
"""Velocities nearer than this, for a fastest one of 1, are one; what opens more slowly only slides."""
DENSE_MOST = 900
"""Unknowns up to which the least motion is found with full matrices; beyond, all contacts open alike."""


@dataclass(frozen=True, eq=False)
class Contacts:
    """P distinct contacts among K bodies (units or groups): `first`, `second` (P,), `normals` (P, 3) first to second.

    `patches` (P,): a patch of the blocking that each stands for, -1 for a facing that was added.
    """

    count: int
    first: Indices
    second: Indices
    normals: Array
    patches: Indices

    def __len__(self) -> int:
        return len(self.first)

    def openings(self, velocities: Array) -> Array:
        """Return how fast each contact opens (P,) under velocities (K, 3)."""
        apart: Array = np.einsum("pi,pi->p", velocities[self.second] - velocities[self.first], self.normals)
        return apart

    def rows(self) -> Array:
        """Return the openings as a matrix (P, 3 K) on the velocities in a row."""
        made = np.zeros((len(self), self.count, 3))
        every = np.arange(len(self))
        made[every, self.second] += self.normals
        made[every, self.first] -= self.normals
        return made.reshape(len(self), 3 * self.count)

    def kept(self, which: Bools | Indices) -> Contacts:
        """Return some of the contacts."""
        return replace(self, first=self.first[which], second=self.second[which], normals=self.normals[which],
                       patches=self.patches[which])

    def facing(self, one: int, other: int, normal: Array) -> Contacts:
        """Return the contacts and one more, out of `one` into `other`."""
        return replace(self, first=np.append(self.first, one), second=np.append(self.second, other),
                       normals=np.vstack([self.normals, normal]), patches=np.append(self.patches, -1))

    def merged(self, of: Indices) -> Contacts:
        """Return the contacts between groups, `of` (K,) naming the group of each body; those inside one are dropped."""
        between = of[self.first] != of[self.second]
        return replace(self.kept(between), count=int(of.max()) + 1, first=of[self.first[between]],
                       second=of[self.second[between]])


def contacts_among(blocking: Blocking, units: Sequence[int]) -> Contacts:
    """Return the distinct contacts among some units, counted as they stand in `units`."""
    place = np.full(len(blocking.units), -1, dtype=np.int64)
    place[list(units)] = np.arange(len(units))
    inside = np.flatnonzero((place[blocking.first] >= 0) & (place[blocking.second] >= 0))
    first, second = place[blocking.first[inside]], place[blocking.second[inside]]
    swap = first > second
    normals = np.where(swap[:, None], -blocking.normals[inside], blocking.normals[inside])
    lower, upper = np.minimum(first, second), np.maximum(first, second)
    line, sign, lines = _on_lines(normals)
    _, chosen = np.unique(np.column_stack([lower, upper, line, sign]), axis=0, return_index=True)
    return Contacts(len(units), lower[chosen], upper[chosen], sign[chosen, None] * lines[line[chosen]], inside[chosen])


def _on_lines(normals: Array) -> tuple[Indices, Indices, Array]:
    """Return for each normal the line it lies in and its sense along it, and the lines (L, 3)."""
    lines: list[Array] = []
    line = np.zeros(len(normals), dtype=np.int64)
    known: dict[bytes, int] = {}
    for p, normal in enumerate(normals):
        key = np.round(normal * 1e6).astype(np.int64).tobytes()
        if key not in known:
            away = np.linalg.norm(np.cross(np.array(lines).reshape(-1, 3), normal), axis=1)
            near = int(np.argmin(away)) if len(away) else -1
            if near < 0 or away[near] > ALIKE:
                lines.append(normal)
                near = len(lines) - 1
            known[key] = near
        line[p] = known[key]
    every = np.array(lines).reshape(-1, 3)
    return line, np.where(np.einsum("pi,pi->p", every[line], normals) > 0, 1, -1).astype(np.int64), every


@dataclass(frozen=True, eq=False)
class Opening:
    """What a linear program found: which contacts open (P,), a motion (K, 3) that opens them, the pressures (P,).

    `pressures`: the multipliers of the contacts; where nothing opens they are forces that hold each other in balance.
    """

    opens: Bools
    velocities: Array
    pressures: Array


def opening(contacts: Contacts) -> Opening:
    """Return which contacts can open at all; there is a motion in which all of those open at once."""
    from scipy.optimize import linprog
    from scipy.sparse import csr_array

    count, many = contacts.count, len(contacts)
    if not many or count < 2:
        return Opening(np.zeros(many, dtype=bool), np.zeros((count, 3)), np.zeros(many))
    every = np.repeat(np.arange(many), 3)
    columns = [(3 * side[:, None] + np.arange(3)).ravel() for side in (contacts.second, contacts.first)]
    gaps = 3 * count + np.arange(many)
    table: Any = csr_array((np.concatenate([-contacts.normals.ravel(), contacts.normals.ravel(), np.ones(many)]),
                       (np.concatenate([every, every, np.arange(many)]), np.concatenate([*columns, gaps]))),
                      shape=(many, 3 * count + many))
    bounds: Any = np.concatenate([np.zeros((3, 2)), np.tile((-FAST_MOST, FAST_MOST), (3 * count - 3, 1)),
                             np.tile((0.0, 1.0), (many, 1))])
    cost = np.concatenate([np.zeros(3 * count), -np.ones(many)])
    found = linprog(cost, A_ub=table, b_ub=np.zeros(many), bounds=bounds, method="highs")
    if found.x is None:
        return Opening(np.zeros(many, dtype=bool), np.zeros((count, 3)), np.zeros(many))
    velocities = found.x[:3 * count].reshape(-1, 3)
    return Opening(found.x[3 * count:] > 0.5, velocities, -np.asarray(found.ineqlin.marginals))


def least_motion(contacts: Contacts, opens: Bools, least: Array | None = None) -> Array | None:
    """Return the least velocities (K, 3) by which each contact named opens by one at least, the others only slide.

    `least` (of those named): by how much each opens instead of by one. None where there are none such.
    Their sum is zero: nothing is held fast.
    """
    asked = np.ones(int(opens.sum())) if least is None else least
    if 3 * contacts.count > DENSE_MOST:
        return _all_alike(contacts, opens, asked)
    free = sliding(contacts.kept(~opens))
    ahead = contacts.kept(opens).rows() @ free
    inner = _least_distance(ahead, asked)
    if inner is None:
        return None
    return _centred((free @ inner).reshape(-1, 3))


def sliding(contacts: Contacts) -> Array:
    """Return an orthonormal basis (3 K, D) of the motions that slide along every contact and open none."""
    if not len(contacts):
        return np.eye(3 * contacts.count)
    from scipy.linalg import qr

    turned, steps, _ = qr(contacts.rows().T, pivoting=True)
    size = np.abs(np.diag(steps))
    free: Any = turned[:, int((size > 1e-7 * max(1.0, size[0])).sum()):]
    return np.asarray(free, dtype=np.float64)


def held_together(contacts: Contacts) -> Indices:
    """Return for each body the number of the set it moves with in every motion that only slides along the contacts.

    Found from one motion taken at random among them (always the same): bodies that agree in that agree in all.
    """
    pulled = np.random.default_rng(20).standard_normal((contacts.count, 3))
    if 3 * contacts.count > DENSE_MOST:
        motion = pulled - _pushed_out(contacts, contacts.openings(pulled))
    else:
        free = sliding(contacts)
        motion = (free @ (free.T @ pulled.ravel())).reshape(-1, 3)
    return alike(motion - motion[0])


def alike(velocities: Array) -> Indices:
    """Return for each velocity (K, 3) the number of its kind, those within SAME being one."""
    seen: list[Array] = []
    kinds = np.zeros(len(velocities), dtype=np.int64)
    for k, velocity in enumerate(velocities):
        away = np.abs(np.array(seen).reshape(-1, 3) - velocity).max(axis=1)
        if not len(away) or away.min() > SAME:
            seen.append(velocity)
            kinds[k] = len(seen) - 1
        else:
            kinds[k] = int(np.argmin(away))
    return kinds


def _least_distance(ahead: Array, asked: Array) -> Array | None:
    """Return the shortest y with ahead @ y >= asked, or None."""
    from scipy.optimize import nnls

    stacked = np.vstack([ahead.T, asked])
    aim = np.zeros(len(stacked))
    aim[-1] = 1.0
    try:
        weights, _ = nnls(stacked, aim, maxiter=30 * max(stacked.shape))
    except RuntimeError:
        return None
    left = stacked @ weights - aim
    if left[-1] > -1e-10:
        return None
    active = weights > 1e-12 * max(1.0, float(weights.max()))
    short: Any = np.linalg.lstsq(ahead[active], asked[active], rcond=None)[0]
    rough: Array = -left[:-1] / left[-1]
    return short if bool(np.all(ahead @ short >= asked - 1e-7)) else rough


def _all_alike(contacts: Contacts, opens: Bools, asked: Array) -> Array | None:
    """Return the least motion in which every contact named opens just so far, where there is one: for many bodies."""
    wanted = np.zeros(len(contacts))
    wanted[opens] = asked
    velocities = _pushed_out(contacts, wanted)
    return _centred(velocities) if np.abs(contacts.openings(velocities) - wanted).max() < SAME else None


def _pushed_out(contacts: Contacts, wanted: Array) -> Array:
    """Return the least velocities (K, 3) under which the contacts open as wanted (P,), as near as can be."""
    from scipy.sparse import csr_array, identity
    from scipy.sparse.linalg import splu

    every, many = np.repeat(np.arange(len(contacts)), 3), len(contacts)
    columns = [(3 * side[:, None] + np.arange(3)).ravel() for side in (contacts.second, contacts.first)]
    rows: Any = csr_array((np.concatenate([contacts.normals.ravel(), -contacts.normals.ravel()]),
                           (np.concatenate([every, every]), np.concatenate(columns))),
                          shape=(many, 3 * contacts.count))
    solver = splu((rows @ rows.T + 1e-11 * identity(many)).tocsc())
    weights = solver.solve(wanted)
    for _ in range(REFINED):
        weights = weights + solver.solve(wanted - rows @ (rows.T @ weights))
    pushed: Array = (rows.T @ weights).reshape(-1, 3)
    return pushed


REFINED = 3
"""How often the least velocities of many bodies are made more exact."""


def _centred(velocities: Array) -> Array:
    centred: Array = velocities - velocities.mean(axis=0)
    return centred
