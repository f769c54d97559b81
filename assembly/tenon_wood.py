"""Tenon wood: what a tenon is of its part, the part without it, and mortises run out to a side.

A cut tenon is known by its feature; where nothing is known of how a part was cut (an imported mesh) it is what
stands out past the shoulder, no farther than the joint slides.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from assembly.blocking import Blocking, Unit
from model.frames import directions, frame_of, inverse, points
from model.joint import Joint
from model.solids import Solid, box, hull, polyhedron

Array = NDArray[np.float64]

SAME_SIDE = 0.7
"""Sides of two joints count as the same when they look the same way within 45 degrees (cosine)."""
LEVEL = 0.05
"""What stands out past a joint's meeting plane by more than this is its tenon, where no cut of its own names it, mm."""
FACES = 0.5
"""A face on which a piece comes to rest looks along its joint within 60 degrees (cosine)."""
PLAY = 1.0
"""A tenon reaches no farther past the meeting plane than its joint slides, and this, mm."""


def loose_tenon(held: Blocking, units: Sequence[Unit], name: str) -> str | None:
    """Return the loose tenon of a joint among the units, where it has one that comes as a piece of its own."""
    halves = {j.a for j in held.source.assembly.design.joints if j.of == name}
    return next((u[0] for u in units if len(u) == 1 and u[0] in halves), None)


def tenon_of(held: Blocking, joint: Joint) -> tuple[Solid, Solid] | None:
    """Return the tenon of a joint and its part without it, both in part a's frame; None where there is none.

    It is the wood added for it, or, where nothing is known of how a part was cut, what stands out past its shoulder.
    """
    part, whole = held.source.assembly.part(joint.a), held.source.assembly.solid(joint.a, held.source.done)
    if any(f.joint == joint.name and f.operation == "add" for f in part.features):
        bare = replace(part, features=tuple(f for f in part.features
                                            if f.joint != joint.name or f.operation != "add")).solid(held.source.done)
        tenon = whole.cut(bare)
    elif part.features or joint.travel <= 0:
        return None
    else:
        around = _standing_out(whole, joint, *_shoulder(held, joint))
        if not around:
            return None
        tenon, bare = whole.kept(*around), whole.cut(*around)
    return None if tenon.empty or bare.empty else (tenon, bare)


def _standing_out(whole: Solid, joint: Joint, origin: Array, normal: Array) -> list[Solid]:
    """Return boxes round all that stands out past a shoulder as far as the joint slides, on the shoulder plane."""
    beyond = whole.split_at(origin + LEVEL * normal, normal)
    on = frame_of(origin, normal, joint.seat_a[:3, 0])
    boxes = []
    for piece in beyond.manifold.decompose():
        mesh = piece.to_mesh64()
        made = polyhedron(np.asarray(mesh.vert_properties)[:, :3], mesh.tri_verts)
        if made.bounds_in(joint.seat_a)[1, 2] <= joint.travel + PLAY:
            low, high = made.bounds_in(on)
            boxes.append(box((low[0] - PLAY, low[1] - PLAY, 0.0), high + PLAY).moved(on))
    return boxes


def _shoulder(held: Blocking, joint: Joint) -> tuple[Array, Array]:
    """Return a point of the face on which part a of a joint comes to rest, and its normal out of a, in a's frame."""
    origin, axis = held.source.assembly.seat(joint)[:3, 3], held.source.assembly.axis(joint)
    faces = []
    for p, name in enumerate(held.patch_joints):
        if name == joint.name:
            out = 1.0 if joint.a in held.units[int(held.first[p])] else -1.0
            faces.append((float((held.centres[p] - origin) @ axis), held.centres[p], out * held.normals[p]))
    faces = [f for f in faces if float(f[2] @ axis) > FACES]
    _, at, normal = min(faces, key=lambda f: round(f[0], 4), default=(0.0, origin, axis))
    back = inverse(held.source.assembly.frames[joint.a])
    return points(back, at), directions(back, normal)


def opened_to(held: Blocking, joint: Joint, loose: str | None, towards: Array,
               done: Mapping[str, Solid]) -> dict[str, Solid] | None:
    """Return the solids `done` and those of a joint's mortised parts, run out to a side; None where one falls apart."""
    frames, seat = held.source.assembly.frames, held.source.assembly.seat(joint)
    sides = [seat[:3, 0], -seat[:3, 0], seat[:3, 1], -seat[:3, 1]]
    side = max(sides, key=lambda s: round(float(s @ towards), 6))
    if float(side @ towards) < SAME_SIDE:
        return None
    made = dict(done)
    for part in (joint.a, joint.b) if loose else (joint.b,):
        solid = made.get(part) or held.source.assembly.solid(part, held.source.done)
        cuts = _mortise(held, joint, part, loose)
        way = directions(inverse(frames[part]), side) * float(np.linalg.norm(solid.bounds[1] - solid.bounds[0]))
        opened = solid.cut(*(hull(np.vstack([c.mesh[0], c.mesh[0] + way])) for c in cuts))
        if not cuts or opened.empty or opened.pieces != 1:
            return None
        made[part] = opened
    return made


def _mortise(held: Blocking, joint: Joint, part: str, loose: str | None) -> list[Solid]:
    """Return what is cut out of a part for a joint, in its own frame; the tenon's own shape where no cut names it."""
    cuts = [f.solid for f in held.source.assembly.part(part).features if f.joint == joint.name and f.role == "mortise"]
    cut = tenon_of(held, joint) if loose is None and not cuts else None
    tenon = held.source.assembly.solid(loose, held.source.done) if loose else cut[0] if cut else None
    if cuts or tenon is None:
        return cuts
    frames = held.source.assembly.frames
    return [tenon.moved(inverse(frames[part]) @ frames[loose or joint.a])]
