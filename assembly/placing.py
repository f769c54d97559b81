"""Placing: where each part stands, found by pushing every joint home from one base part."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.pushing import pushed
from assembly.walk import LOOP_GAP, OpenLoop, explained, walk
from model.design import Design, StageSpec
from model.frames import Frame, points, snapped
from model.joint import Joint
from model.part import ALL, Part
from model.solids import Solid


@dataclass(frozen=True, eq=False)
class Assembly:
    """Every part where it stands. `frames` carry each part's own frame into the world.

    `loose` names the parts that no chain of joints ties to the base part; they stand at
    their own frame in the world origin and are left out of every check but connectivity.
    """

    design: Design
    frames: Mapping[str, Frame]
    open_loops: tuple[OpenLoop, ...] = ()
    loose: tuple[str, ...] = ()

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The placed parts, in the design's order."""
        return tuple(p.name for p in self.design.parts if p.name in self.frames)

    def there(self, done: frozenset[str] = ALL) -> tuple[str, ...]:
        """Return the placed parts still there with the stages in `done` behind: temporary ones may have left."""
        return tuple(n for n in self.names if not _gone(self.part(n), done))

    def part(self, name: str) -> Part:
        """Return a part by name."""
        return self.design.part[name]

    def solid(self, name: str, done: frozenset[str] = ALL) -> Solid:
        """Return a part's solid in its own frame, with the stages in `done` behind it."""
        return self.part(name).solid(done)

    def vertices(self, name: str, done: frozenset[str] = ALL) -> NDArray[np.float64]:
        """Return a part's corners in the world, mm (N, 3)."""
        return points(self.frames[name], self.solid(name, done).mesh[0])

    @property
    def standoffs(self) -> Mapping[str, float]:
        """How far part a of a joint stops short of home when it is pushed in, mm, for the joints in which it does."""
        return pushed(self.design).standoffs

    def seat(self, joint: Joint) -> Frame:
        """Return a joint's seat in the world as part b holds it; z is the way a slides home."""
        seat: Frame = self.frames[joint.b] @ joint.seat_b
        return seat

    def seat_of_a(self, joint: Joint) -> Frame:
        """Return a joint's seat in the world as part a holds it, where a stops: b's seat when the joint is closed."""
        seat: Frame = self.frames[joint.a] @ pushed(self.design).stopped(joint).seat_a
        return seat

    def axis(self, joint: Joint) -> NDArray[np.float64]:
        """Return the world direction, unit length, in which part a slides home."""
        axis: NDArray[np.float64] = self.seat(joint)[:3, 2]
        return axis

    def moved(self, frame: Frame) -> Assembly:
        """Return the whole assembly carried by a rigid frame."""
        return Assembly(self.design, {n: snapped(frame @ f) for n, f in self.frames.items()},
                        self.open_loops, self.loose)


def place(design: Design) -> Assembly:
    """Place every part by its joints, breadth first from the base part, as in the finished work.

    Each joint is pushed home; where its part a stops short (see `pushing`), what hangs on it stands off too.
    Every joint that is not needed to place a part closes a loop: where its two seats do not
    meet it is kept as an open loop, for the checks to report (see `walk`).
    Parts that the design has standing are where it says.
    A temporary part stands where the first of its joints holds it and closes no loop: what it
    held together may have gone separate ways since.
    """
    brief = frozenset(p.name for p in design.parts if p.temporary)
    home = pushed(design)
    joints = [home.stopped(j) for j in design.joints]
    firm = [j for j in joints if j.a not in brief and j.b not in brief]
    placed = {design.base: design.base_frame, **design.standing}
    found = walk(firm, {name: snapped(frame) for name, frame in placed.items()})
    held = walk([j for j in joints if j.a in brief or j.b in brief], found.frames) if brief else found
    loose = tuple(p.name for p in design.parts if p.name not in held.frames)
    return Assembly(design, held.frames, explained(found, design.joint, home.shifts), loose)


@lru_cache(maxsize=16)
def as_drawn(assembly: Assembly) -> Assembly:
    """Return the same work as it stands in the drawing; the assembly itself where nothing was measured."""
    drawn = assembly.design.drawn
    return assembly if drawn is None else place(drawn)


def place_in_stage(design: Design, stage: StageSpec) -> Assembly:
    """Place the parts at the bench in a given stage, as the joints of that stage and of those behind it hold them.

    So two arches stand opposite each other in the ring they are glued in, though they part
    afterwards. All loops count, those of temporary parts too. What hangs together stands with
    one of its parts, the base part if it is there, as in the finished work.
    """
    behind = design.behind(stage.name)
    left = frozenset(p.name for p in design.parts if p.leaves_after in behind)
    named = {j for s in design.stages if s.name in behind for j in s.joints} | set(stage.joints)
    home = pushed(design)
    joints = [home.stopped(j) for j in design.joints if j.name in named and j.a not in left and j.b not in left]
    own = {n for j in joints if j.name in stage.joints for n in (j.a, j.b)}
    finished = place(design).frames
    frames: dict[str, Frame] = {}
    open_loops: list[OpenLoop] = []
    for part in sorted(design.parts, key=lambda p: (p.name != design.base, p.temporary)):
        if part.name in own and part.name in finished and part.name not in frames:
            found = walk(joints, {part.name: finished[part.name]})
            frames.update(found.frames)
            open_loops.extend(explained(found, design.joint, home.shifts))
    return Assembly(design, frames, tuple(open_loops))


def standing_in(assembly: Assembly, stage: str) -> Assembly:
    """Return the assembly as it stands in a stage: itself, unless temporary parts may hold the work otherwise there."""
    spec = next((s for s in assembly.design.stages if s.name == stage), None)
    if spec is None or not any(p.temporary for p in assembly.design.parts):
        return assembly
    return _standing_in(assembly, spec)


@lru_cache(maxsize=64)
def _standing_in(assembly: Assembly, stage: StageSpec) -> Assembly:
    there = place_in_stage(assembly.design, stage)
    moved = any(not np.allclose(there.frames[n], assembly.frames[n], atol=LOOP_GAP) for n in there.frames)
    return Assembly(assembly.design, {**assembly.frames, **there.frames}, there.open_loops) if moved else assembly


def _gone(part: Part, done: frozenset[str]) -> bool:
    return part.leaves_after is not None and (done is ALL or part.leaves_after in done)
