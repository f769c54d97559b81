"""Openings: how far parts are drawn apart so that what is wrong between them lies open."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

import numpy as np

from assembly.interference import Overlap, overlaps
from assembly.placing import Assembly
from exports.pictures.ways_round import DRAWN_BACK, around, wide
from exports.walk.scenes import Offsets, Scene
from model.frames import Vector, move, points, unit
from model.joint import Joint

LIFTED = 0.16
"""What is lifted or held is raised by this share of the diagonal of what is there."""
LONGER = (1.0, 1.6, 2.5)
"""How many times the usual way is tried before parts are drawn apart by their whole length."""
FAR = 1e-6


def opening(scene: Scene, focus: Sequence[str] = ()) -> Offsets:
    """Return how far each part is drawn apart, mm, in the coordinates of the scene; with `focus`, from these parts.

    What the parts of the finding do not settle follows them: a part goes with what it is joined to, and half-way with
    two that go different ways.
    """
    seeds = drawn_back(scene, focus) if focus else _WAYS.get(scene.finding.kind, _of_pair)(scene)
    if not any(np.linalg.norm(v) > FAR for v in seeds.values()):
        return {}
    return {n: v for n, v in _carried(scene, seeds).items() if np.linalg.norm(v) > FAR}


def _carried(scene: Scene, seeds: Offsets) -> dict[str, Vector]:
    """Return the offsets of all parts shown: each goes as those it is joined to, nearest first."""
    ties: dict[str, set[str]] = {n: set() for n in scene.pieces}
    for joint in scene.held.assembly.design.joints:
        if joint.a in ties and joint.b in ties:
            ties[joint.a].add(joint.b)
            ties[joint.b].add(joint.a)
    found = {n: np.asarray(v, dtype=np.float64) for n, v in seeds.items() if n in scene.pieces}
    while fresh := {n: np.mean([found[m] for m in sorted(ties[n]) if m in found], axis=0)
                    for n in scene.pieces if n not in found and ties[n] & found.keys()}:
        found.update(fresh)
    return found


# -- two parts ------------------------------------------------------------------------------------


def _of_pair(scene: Scene) -> Offsets:
    """Return the first part drawn from the second along their own joint, else the thinnest way out; where a finding is
    about one part alone, what is joined to it drawn back."""
    joint = _shared(scene)
    if joint is None and len(scene.own) < 2:
        return _neighbours(scene)
    pair = (scene.own[0], scene.own[1]) if joint is None else (joint.a, joint.b)
    tried = list(_ways_out(scene, *pair, joint))
    for more in LONGER:
        for seeds in tried:
            longer = {n: np.asarray(v * more) for n, v in seeds.items()}
            if _clear(scene, pair, longer):
                return longer
    return _whole_way(scene, pair, tried[0])


def _shared(scene: Scene) -> Joint | None:
    """Return the joint of a finding between two parts that are there, of its own before others and nearest its spot;
    else any joint between its first two parts."""
    there, joints = scene.pieces.keys(), scene.held.assembly.design.joint
    own = set(scene.own)
    known = [joints[n] for n in scene.finding.joints if n in joints and {joints[n].a, joints[n].b} <= there]
    inside = [j for j in known if {j.a, j.b} <= own]
    if inside or (known and len(own) < 2):
        return min(inside or known, key=lambda j: _off(scene, j))
    ends = set(scene.own[:2])
    return next((j for j in joints.values() if {j.a, j.b} == ends), None)


def _off(scene: Scene, joint: Joint) -> float:
    """Return how far a joint lies from the spot, mm."""
    at = scene.at if scene.at is not None else np.zeros(3)
    return round(float(np.linalg.norm(scene.held.assembly.seat(joint)[:3, 3] - at)), 3)


def _ways_out(scene: Scene, a: str, b: str, joint: Joint | None) -> Iterator[Offsets]:
    """Yield ways to draw two parts apart, the likeliest first: offsets of one of them, the other staying."""
    at, still = scene.held.assembly, np.zeros(3)
    clear = DRAWN_BACK * min(wide(at.part(a)), wide(at.part(b)))
    if joint is not None:
        yield {joint.a: -at.axis(joint) * (joint.travel + clear), joint.b: still}
    for one, other in ((a, b), (b, a)):
        for own in _joints_of(scene, one):
            out = -at.axis(own) if own.a == one else at.axis(own)
            yield {one: out * (own.travel + clear), other: still}
    deepest = next(iter(_overlaps(scene, a, b)), None)
    if deepest is not None:
        yield {deepest.b: deepest.along * (deepest.depth + clear), deepest.a: still}
    yield {b: _between(scene, a, b) * clear, a: still}


def _joints_of(scene: Scene, name: str) -> list[Joint]:
    joints = scene.held.assembly.design.joint
    known = [joints[n] for n in scene.finding.joints if n in joints]
    return [j for j in known if name in (j.a, j.b) and {j.a, j.b} <= scene.held.assembly.frames.keys()]


def _between(scene: Scene, a: str, b: str) -> Vector:
    """Return the axis of the first part that leads most from its middle to the second's."""
    frame, other = scene.pieces[a][0], scene.pieces[b][0]
    way = points(other, scene.pieces[b][1].centroid) - points(frame, scene.pieces[a][1].centroid)
    k = int(np.argmax(np.abs(frame[:3, :3].T @ way)))
    axis: Vector = frame[:3, k]
    return axis if float(axis @ way) >= 0 else -axis


def _overlaps(scene: Scene, a: str, b: str, offsets: Offsets | None = None) -> tuple[Overlap, ...]:
    held, off = scene.held, offsets or {}
    frames = {n: move(*off.get(n, np.zeros(3))) @ held.frame(n) for n in (a, b)}
    return overlaps(Assembly(held.assembly.design, frames), held.done, (a, b))


def _clear(scene: Scene, pair: tuple[str, str], offsets: Offsets) -> bool:
    return not _overlaps(scene, *pair, offsets)


def _whole_way(scene: Scene, pair: tuple[str, str], seeds: Offsets) -> Offsets:
    """Return offsets with which two parts are clear of each other whatever their shape: by their lengths that way."""
    mover = max(pair, key=lambda n: float(np.linalg.norm(seeds.get(n, np.zeros(3)))))
    other = pair[0] if mover == pair[1] else pair[1]
    way = unit(seeds[mover])
    back = float((_corners(scene, mover) @ way).min())
    front = float((_corners(scene, other) @ way).max())
    return {mover: way * max(front - back + float(np.linalg.norm(seeds[mover])) / 4.0, 0.0), other: np.zeros(3)}


def _corners(scene: Scene, name: str) -> Vector:
    frame, solid = scene.pieces[name]
    return points(frame, solid.mesh[0])


# -- other ways -----------------------------------------------------------------------------------


def drawn_back(scene: Scene, names: Sequence[str]) -> Offsets:
    """Return what is joined to some parts drawn back from them, each along its own joint; what is drawn several ways
    goes the mean of them."""
    at, inside = scene.held.assembly, [n for n in names if n in scene.pieces and n in scene.held.assembly.frames]
    found: dict[str, list[Vector]] = {}
    for name in inside:
        for other, beside in around(name, at).items():
            if other in scene.pieces and other not in inside:
                found.setdefault(other, []).append(beside.back)
    return dict.fromkeys(inside, np.zeros(3)) | {n: np.mean(backs, axis=0) for n, backs in found.items()}


def _neighbours(scene: Scene) -> Offsets:
    return drawn_back(scene, scene.own[:1])


def _out_of_walls(scene: Scene) -> Offsets:
    """Return what goes into the cuts that a finding is about drawn out of them, else all that is joined to the part."""
    every = _neighbours(scene)
    joined = {n for own in _joints_of(scene, scene.own[0]) for n in (own.a, own.b)} if scene.own else set()
    meant = {n: v for n, v in every.items() if n in joined}
    return meant if len(meant) > 1 else every


def _each_its_way(scene: Scene) -> Offsets:
    """Return parts that lock each other each drawn out along the mean of the ways its joints were tried."""
    if len(scene.own) < 3:
        return _of_pair(scene)
    at = scene.held.assembly
    own = [n for n in scene.own if n in at.frames]
    middle = np.mean([_corners(scene, n).mean(axis=0) for n in own], axis=0)
    named = set(scene.finding.joints)
    found: dict[str, Vector] = {}
    for name in own:
        ties = [j for j in at.design.joints if name in (j.a, j.b) and j.other(name) in own
                and (not named or j.name in named or j.of in named)]
        outs = [(-at.axis(j) if j.a == name else at.axis(j)) for j in ties]
        away = _corners(scene, name).mean(axis=0) - middle
        way = np.sum(outs, axis=0) if outs else np.zeros(3)
        way = way if float(np.linalg.norm(way)) > 0.2 else away
        far = max((j.travel for j in ties), default=0.0) + DRAWN_BACK * wide(at.part(name))
        found[name] = unit(way) * far if float(np.linalg.norm(way)) > FAR else np.zeros(3)
    return found


def _lifted(scene: Scene) -> Offsets:
    """Return what a finding is about raised, so that it is seen what is lifted or held."""
    if set(scene.own) >= set(scene.pieces) or not scene.own:
        return {}
    up = np.array([0.0, 0.0, LIFTED * float(np.linalg.norm(scene.box[1] - scene.box[0]))])
    return {n: up if n in set(scene.own) else np.zeros(3) for n in scene.pieces}


def _still(_scene: Scene) -> Offsets:
    return {}


_WAYS: Mapping[str, Callable[[Scene], Offsets]] = {
    "backwards": _neighbours, "handed": _neighbours, "look-alike": _neighbours, "thin-wall": _out_of_walls,
    "exposed-joint": _out_of_walls, "blocked": _each_its_way, "mass": _lifted, "hands": _lifted,
    "open-time": _still, "clamps": _still, "size": _still, "stance": _still,
}
