"""What a planter must know of a design to say what a mistake will do, worked out by hand from its frames and joints."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import networkx as nx
import numpy as np
from numpy.random import Generator

from assembly.placing import Assembly, place
from model.design import Design
from model.frames import Frame, inverse, move, points
from model.joint import Joint
from model.part import Part
from model.recut.cuts import Cut, cut_of, place_of
from model.recut.wood import TURNS, mirrored_wood, turned_wood

DIFFERS = 500.0
"""Two solids that share all but less wood than this, mm³, are told from each other by nobody."""
SEEN = 5.0
"""Two solids whose boxes differ by more than this, mm, are told from each other by anybody."""
FLUSH = 1e-3
"""Faces in one plane to within this, mm, are flush."""


@lru_cache(maxsize=64)
def placed(design: Design) -> Assembly:
    """Return where the parts of a sound design stand."""
    return place(design)


def staying(design: Design) -> list[Part]:
    """Return the parts that stay and are no loose tenons."""
    return [p for p in design.parts if not p.temporary and not p.blank.stock.name.endswith(", loose tenon")]


def shuffled(things: list, rng: Generator) -> Iterator:
    """Yield things in a random order."""
    yield from (things[k] for k in rng.permutation(len(things)))


@lru_cache(maxsize=64)
def in_loops(design: Design) -> frozenset[str]:
    """Return the joints between firm parts that lie on a closed loop of parts."""
    firm = [j for j in design.joints if not (design.part[j.a].temporary or design.part[j.b].temporary)]
    web = nx.Graph()
    web.add_edges_from((j.a, j.b) for j in firm)
    bridges = {frozenset(e) for e in nx.bridges(web)}
    return frozenset(j.name for j in firm if frozenset((j.a, j.b)) not in bridges)


@dataclass(frozen=True, eq=False)
class Tenoned:
    """A plain blind or through tenon: its joint, the cut on either part."""

    joint: Joint
    tenon: Cut
    mortise: Cut


def tenoned(design: Design, rng: Generator, *, through: bool = False) -> Iterator[Tenoned]:
    """Yield the mortise and tenon joints between parts that stay, in a random order; through ones where asked for."""
    kinds = ("blind tenon", "through tenon") if through else ("blind tenon",)
    for joint in shuffled([j for j in design.joints if j.kind in kinds], rng):
        a, b = design.part[joint.a], design.part[joint.b]
        if a.temporary or b.temporary:
            continue
        tenon, mortise = cut_of(a, joint), cut_of(b, joint)
        blind = joint.kind == "blind tenon"
        if tenon is not None and mortise is not None and ("depth" in mortise.sizes) == blind and "width" in tenon.sizes:
            yield Tenoned(joint, tenon, mortise)


def rails(design: Design, rng: Generator) -> Iterator[tuple[Part, Joint, Joint]]:
    """Yield boards held by one tenon at their start and one at their end, both in a loop that runs along them."""
    by_part: dict[str, list[Joint]] = {}
    for joint in design.joints:
        by_part.setdefault(joint.a, []).append(joint)
        by_part.setdefault(joint.b, []).append(joint)
    for part in shuffled([p for p in staying(design) if p.blank.shape == "board"], rng):
        held = by_part.get(part.name, [])
        if len(held) != 2 or any(j.kind not in ("blind tenon", "through tenon") or j.a != part.name for j in held):
            continue
        ends = {place_of(part, j): j for j in held}
        if set(ends) == {"start", "end"} and all(j.name in in_loops(design) for j in held):
            yield part, ends["start"], ends["end"]


def side_of(design: Design, part: Part, joint: Joint) -> str:
    """Return the place of a part that a joint, or the joint it is half of, is laid out from."""
    return place_of(part, joint)


@dataclass(frozen=True)
class Seam:
    """Two parts that share a joint and have a face in one plane: the first's place, and the other part."""

    part: str
    place: str
    other: str


def seams(design: Design, place_name: str, rng: Generator) -> Iterator[Seam]:
    """Yield the seams at a place of a part, where nothing is laid out from that place, in a random order."""
    stand = placed(design).frames
    for part in shuffled(staying(design), rng):
        if place_name not in part.blank.places or part.blank.shape == "mesh" or any(
                f.role == "lap" or f.role == "housing" for f in part.features):
            continue
        own = [j for j in design.joints if part.name in (j.a, j.b)]
        if any(side_of(design, part, j) == place_name for j in own):
            continue
        world = stand[part.name] @ part.blank.places[place_name]
        for joint in own:
            other = design.part[joint.b if joint.a == part.name else joint.a]
            if other.temporary or other.blank.shape == "mesh" or other.blank.stock.name.endswith(", loose tenon"):
                continue
            for face in other.blank.places.values():
                there = stand[other.name] @ face
                if there[:3, 2] @ world[:3, 2] > 1 - 1e-9 and abs(
                        (there[:3, 3] - world[:3, 3]) @ world[:3, 2]) < FLUSH and joint.of is None:
                    yield Seam(part.name, place_name, other.name)
                    break


def same_wood(one: Part, other: Part) -> bool:
    """Whether two parts are the same wood where they lie."""
    if one.finished == other.finished:
        return True
    if abs(one.finished.volume - other.finished.volume) >= DIFFERS or np.any(
            np.abs(one.finished.bounds - other.finished.bounds) > SEEN):
        return False
    a, b = one.finished.manifold, other.finished.manifold
    return bool((a - b).volume() < DIFFERS and (b - a).volume() < DIFFERS)


def cured_by_a_turn(wrong: Part, right: Part) -> bool:
    """Whether some turn about the middle of its box makes one part the other."""
    return any(same_wood(turned_wood(wrong, way), right) for way in TURNS)


def mirror_cured(wrong: Part, right: Part) -> bool:
    """Whether a part is the other's mirror image, however turned."""
    image = mirrored_wood(wrong)
    return same_wood(image, right) or cured_by_a_turn(image, right)


def pocket_corners(cut: Cut, part: Part) -> np.ndarray:
    """Return the corners (8, 3) of a mortise as far as it lies in the wood, in the part's own frame."""
    reach = cut.way * cut.sizes["depth"]
    return points(cut.seat, np.array([(x, y, z) for x in (cut.low[0], cut.high[0]) for y in (cut.low[1], cut.high[1])
                                      for z in (0.0, reach)]))


def alone_along(part: Part, joint: Joint, design: Design, clear: float) -> bool:
    """Whether no other joint's cut comes within `clear` mm of a joint's, along the grain."""
    def reach(name: str) -> tuple[float, float] | None:
        x = [f.solid.mesh[0][:, 0] for f in part.features if f.joint == name and f.role != "shoulder"]
        return (min(v.min() for v in x), max(v.max() for v in x)) if x else None

    mine = reach(joint.name)
    if mine is None:
        return False
    others = [reach(n) for n in {f.joint for f in part.features if f.joint} - {joint.name}]
    return all(o is None or o[0] > mine[1] + clear or o[1] < mine[0] - clear for o in others)


def shifted(frame: Frame, x: float, y: float) -> Frame:
    """Return a frame moved along its own x and y."""
    return frame @ move(x, y)


def in_place(cut: Cut, corners: np.ndarray) -> np.ndarray:
    """Return points of the part's frame as the place of the cut sees them."""
    return points(inverse(cut.place), corners)
