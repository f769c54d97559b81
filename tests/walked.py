"""Walks made once for the tests of the walk page's data, and their solids and places read back out of the data."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import manifold3d
import numpy as np
from numpy.typing import NDArray

from assembly.rehearsal import Rehearsal, rehearse
from exports.walk import walk_data
from model.design import Design
from model.frames import identity
from model.reader import read
from tests import zoo
from tests.blocks import polygon

Floats = NDArray[np.float64]
ROOT = Path(__file__).resolve().parent.parent
EXAMPLES = ("orchard_gate", "lantern_ring", "quay_bench", "hive_stand", "net_rack")


def in_place(sides: int) -> Design:
    """A ring of so many pieces that stand where a file has them."""
    design = polygon(sides).design
    return replace(design, standing={p.name: identity() for p in design.parts})


OTHERS: dict[str, Callable[[], Design]] = {
    "gate as cut": lambda: read(ROOT / "examples/orchard_gate.toml",
                                measured=ROOT / "examples/orchard_gate_measured.csv"),
    "ring all at once": lambda: in_place(5), "locked": zoo.ring_late, "loose part": zoo.part_loose,
    "gateway": zoo.gateway_small}
EVERY = (*EXAMPLES, *OTHERS)


@cache
def rehearsed(name: str) -> Rehearsal:
    """Return the rehearsal of an example, or of one of the others."""
    return rehearse(OTHERS[name]() if name in OTHERS else read(ROOT / f"examples/{name}.toml"))


@cache
def walked(name: str) -> dict[str, Any]:
    """Return the walk of an example, or of one of the others."""
    return walk_data(rehearsed(name))


def numbers(text: str, kind: str) -> NDArray[Any]:
    """Return the numbers that the data holds as base64."""
    return np.frombuffer(base64.b64decode(text), dtype=kind)


def mesh(shape: Mapping[str, Any]) -> tuple[Floats, NDArray[np.int64]]:
    """Return corners (N, 3) and triangles (M, 3) of a shape."""
    corners = numbers(shape["corners"], "<f4").reshape(-1, 3).astype(np.float64)
    return corners, whole(shape, "triangles").reshape(-1, 3)


def whole(shape: Mapping[str, Any], what: str) -> NDArray[np.int64]:
    """Return corner numbers of a shape."""
    many = len(numbers(shape["corners"], "<f4")) // 3
    return numbers(shape[what], "<u2" if many < 65536 else "<u4").astype(np.int64)


def framed(at: Sequence[float]) -> Floats:
    """Return the 4x4 of a frame's three rows."""
    return np.vstack([np.array(at, dtype=np.float64).reshape(3, 4), [0.0, 0.0, 0.0, 1.0]])


@dataclass(frozen=True, eq=False)
class Placed:
    """One part at a moment: its number, its solid in its own frame, and where it stands."""

    part: int
    solid: manifold3d.Manifold
    at: Floats

    def off(self, by: Floats) -> Placed:
        """Return it carried off (3,)."""
        at = self.at.copy()
        at[:3, 3] += by
        return Placed(self.part, self.solid, at)

    @property
    def body(self) -> manifold3d.Manifold:
        """Its solid where it stands."""
        return self.solid.transform(np.ascontiguousarray(self.at[:3]))


def solids(walk: Mapping[str, Any]) -> list[manifold3d.Manifold]:
    """Return the shapes of a walk as solids."""
    found = []
    for shape in walk["shapes"]:
        corners, triangles = mesh(shape)
        given = manifold3d.Mesh64(np.ascontiguousarray(corners), triangles.astype(np.uint64))
        given.merge()
        found.append(manifold3d.Manifold(given))
    return found


def begins(motion: Mapping[str, Any]) -> tuple[Floats, Floats | None]:
    """Return where a motion begins and where it turns, as offsets from its end."""
    way = np.array(motion["way"], dtype=np.float64)
    if motion["before"] is None:
        return -way * (motion["travel"] + motion["clear"]), None
    corner = -way * motion["travel"]
    return corner - np.array(motion["before"]) * motion["clear"], corner


def moments(walk: Mapping[str, Any], stage: Mapping[str, Any], shares: Sequence[float]
            ) -> Iterator[tuple[dict[str, Any], list[Placed], list[Placed]]]:
    """Yield each step of a stage with what moves and what lies still, at each share of the step."""
    made = solids(walk)
    home = {p["part"]: Placed(p["part"], made[p["shape"]], framed(p["at"])) for p in stage["pieces"]}
    steps = walk["steps"][stage["first"]:stage["end"]]
    to_come: dict[int, Floats] = {}
    for step in steps:
        for motion in step["moves"]:
            for part in motion["parts"]:
                to_come[part] = to_come.get(part, np.zeros(3)) + begins(motion)[0]
    there = {p: np.zeros(3) for p in home if p not in to_come}
    for step in steps:
        for motion in step["moves"]:
            for part in motion["parts"]:
                to_come[part] = to_come[part] - begins(motion)[0]
        goes = {left["part"]: np.array(left["by"]) for left in step["leaves"]}
        for share in shares:
            moving = [home[p].off(to_come[p] + _on_the_way(motion, share)) for motion in step["moves"]
                      for p in motion["parts"]]
            moving += [home[p].off(there[p] * (1 - share) + by * share) for p, by in goes.items()]
            busy = {m.part for m in moving}
            yield step, moving, [home[p].off(by) for p, by in there.items() if p not in busy]
        for motion in step["moves"]:
            there |= {p: to_come[p] for p in motion["parts"]}
        there = {p: goes.get(p, by) for p, by in there.items()
                 if all(left["stays"] for left in step["leaves"] if left["part"] == p)}


def _on_the_way(motion: Mapping[str, Any], share: float) -> Floats:
    start, corner = begins(motion)
    if corner is None:
        return start * (1.0 - share)
    return start + (corner - start) * 2 * share if share < 0.5 else corner * (2.0 - 2 * share)


def shared(one: Placed, other: Placed) -> float:
    """Return how thick the wood is that two parts share: twice its volume over its surface, mm."""
    common = one.body ^ other.body
    return max((2.0 * p.volume() / p.surface_area() for p in common.decompose() if p.volume() > 1.0), default=0.0)
