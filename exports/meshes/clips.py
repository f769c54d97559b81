"""Clips: the assembly played in a mesh file. When each part is seen, as which solid, and where, through time.

Parts come into sight where their proven motion begins and go straight home; what closes together moves together;
groups glued earlier move as one. In the whole's clips the work lies as it lies in the shop; from one glue-up to the
next, and at last to where it will stand, it is carried as one rigid thing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from assembly.alike import marks
from assembly.placing import standing_in
from assembly.plan import Stage
from assembly.rehearsal import Rehearsal
from exports.meshes.carrying import carried
from exports.motions import Closing, closings, cuts, ways_out
from exports.names import shown, shown_names
from exports.pieces import bounds
from model.design import Design
from model.frames import Frame, identity, inverse, move, points
from model.part import ALL
from model.solids import Solid

CLEAR, CLEAR_LEAST = 0.08, 60.0
"""How far before its proven travel a piece comes into sight, as a share of the work's diagonal, and at least, mm."""
SLOWEST, FASTEST = 1.4, 0.3
"""Seconds that one closing takes, where there are few and where there are many."""
ENOUGH = 60.0
"""The closings of the whole take about so many seconds, if they are many but not too many."""
LAID, SET, GONE, CARRIED, STANDS = 0.4, 0.8, 0.8, 1.6, 2.0
"""Seconds for a piece laid down, for glue that sets, for a part that leaves, for work carried on, for the end."""
WHOLE = "assembly"


@dataclass(frozen=True, eq=False)
class Track:
    """One part, by its shown name, through a clip. `times` (s, rising) and `frames` (its own frame into the world, mm)
    are joined by straight ways; `seen`: from when on which of its solids is seen, None for none of them.
    """

    part: str
    species: str
    mark: str
    times: tuple[float, ...]
    frames: tuple[Frame, ...]
    seen: tuple[tuple[float, Solid | None], ...]


@dataclass(frozen=True, eq=False)
class Clip:
    """One animation, `length` seconds long, with tracks by shown names; parts without one are not seen in it."""

    name: str
    length: float
    tracks: Mapping[str, Track]


class _Reel:
    """A clip while it is made: keys are set at the time `now`."""

    def __init__(self) -> None:
        self.now = 0.0
        self._keys: dict[str, list[tuple[float, Frame]]] = {}
        self._seen: dict[str, list[tuple[float, Solid | None]]] = {}

    def key(self, part: str, frame: Frame) -> None:
        keys = self._keys.setdefault(part, [])
        if keys and keys[-1][0] >= self.now - 1e-6:
            keys.pop()
        if len(keys) > 1 and np.array_equal(keys[-1][1], frame) and np.array_equal(keys[-2][1], frame):
            keys.pop()
        keys.append((self.now, frame))

    def show(self, part: str, solid: Solid | None) -> None:
        seen = self._seen.setdefault(part, [(0.0, None)])
        if seen[-1][0] >= self.now - 1e-6:
            seen.pop()
        if not seen or seen[-1][1] is not solid:
            seen.append((self.now, solid))

    def where(self, part: str) -> Frame:
        return self._keys[part][-1][1]

    @property
    def there(self) -> list[str]:
        """The parts seen now."""
        return [n for n, seen in self._seen.items() if seen[-1][1] is not None]

    def clip(self, name: str, design: Design) -> Clip:
        called, mark = shown_names(p.name for p in design.parts), marks(design)
        tracks = {}
        for part, keys in self._keys.items():
            times, frames = zip(*keys, strict=True)
            species = design.part[part].blank.stock.species.name
            tracks[called[part]] = Track(called[part], species, mark[part], times, frames, tuple(self._seen[part]))
        return Clip(name, self.now, tracks)


def clips_of_whole(rehearsal: Rehearsal) -> list[Clip]:
    """Return the whole assembly as one clip, and each stage as one of its own."""
    stages = [s for s in rehearsal.plan.stages if s.parts]
    if not stages:
        return []
    pace, whole = _pace(rehearsal), _Reel()
    for stage in stages:
        _play(whole, rehearsal, stage, _lying(rehearsal, stage), pace)
    _stand(whole, rehearsal)
    found = [whole.clip(WHOLE, rehearsal.design)]
    for stage in stages:
        reel = _Reel()
        _play(reel, rehearsal, stage, _lying(rehearsal, stage), pace)
        found.append(reel.clip(stage_clip(stage), rehearsal.design))
    return found


def clips_of_stage(rehearsal: Rehearsal, stage: Stage) -> list[Clip]:
    """Return the one clip of a stage's own file: the work stands in it as the file shows it."""
    reel = _Reel()
    _play(reel, rehearsal, stage, identity(), _pace(rehearsal))
    return [reel.clip(stage_clip(stage), rehearsal.design)] if stage.parts else []


def stage_clip(stage: Stage) -> str:
    """Return what the clip of a stage is called: "stage 2: far side"."""
    return f"stage {stage.number}: {shown(stage.name)}"


def _pace(rehearsal: Rehearsal) -> float:
    number = sum(not c.still for s in rehearsal.plan.stages for c in closings(s, 1.0))
    return float(np.clip(ENOUGH / max(number, 1), FASTEST, SLOWEST))


def _lying(rehearsal: Rehearsal, stage: Stage) -> Frame:
    """Return what turns a stage's work as it lies in the shop, over the ground on which the whole will stand."""
    turned = np.array(stage.rest.frame, dtype=np.float64)
    turned[:3, 3] = 0.0
    there = standing_in(rehearsal.assembly, stage.name)
    at = np.vstack([points(turned, there.vertices(n, stage.done)) for n in stage.parts if n in there.frames])
    middle, ground = bounds(rehearsal.assembly).mean(axis=0), bounds(rehearsal.assembly)[0, 2]
    x, y, _ = (middle - (at.min(axis=0) + at.max(axis=0)) / 2.0).tolist()
    return move(x, y, float(ground - at[:, 2].min()) + stage.rest.blocks) @ turned


@dataclass(frozen=True, eq=False)
class _Bench:
    """A stage being played: where its parts are at home in it, and how far off they still are."""

    rehearsal: Rehearsal
    stage: Stage
    homes: Mapping[str, Frame]
    turned: Frame
    off: dict[str, np.ndarray]

    def frame(self, name: str) -> Frame:
        x, y, z = (self.turned[:3, :3] @ self.off[name]).tolist()
        return move(x, y, z) @ self.homes[name]

    def solid(self, name: str) -> Solid:
        return self.rehearsal.assembly.solid(name, self.stage.done)


def _play(reel: _Reel, rehearsal: Rehearsal, stage: Stage, lying: Frame, pace: float) -> None:
    there = standing_in(rehearsal.assembly, stage.name)
    homes = {n: lying @ there.frames[n] for n in stage.parts if n in there.frames}
    at = np.vstack([there.vertices(n, stage.done) for n in homes])
    clear = max(CLEAR_LEAST, CLEAR * float(np.linalg.norm(np.ptp(at, axis=0))))
    some = closings(stage, clear)
    off = {n: np.zeros(3) for n in homes}
    for closing in some:
        for way in closing.ways:
            for name in way.parts:
                off[name] = off[name] + way.back
    bench = _Bench(rehearsal, stage, homes, lying, off)
    _begin(reel, bench, some)
    for closing in some:
        _close(reel, bench, closing, pace)
    reel.now += SET
    _leave(reel, bench, clear)
    _cut(reel, bench)
    _settle(reel, homes)


def _begin(reel: _Reel, bench: _Bench, some: Sequence[Closing]) -> None:
    """Carry on what lies there from the stage before and begins this one; all else goes out of sight."""
    moved = {n for c in some if not c.still for n in c.parts}
    first = [n for n in bench.homes if n not in moved]
    stay = [n for n in reel.there if n in first]
    gone = [n for n in reel.there if n not in stay]
    for name in gone:
        reel.show(name, None)
    reel.now += LAID if gone else 0.0
    _settle(reel, stay)
    _carry(reel, {n: bench.frame(n) for n in stay})
    alone = [n for n in first if not any(n in c.parts for c in some)]
    _appear(reel, bench, alone)


def _appear(reel: _Reel, bench: _Bench, names: Iterable[str]) -> None:
    there = set(reel.there)
    for name in names:
        if name in bench.homes and name not in there:
            reel.key(name, bench.frame(name))
            reel.show(name, bench.solid(name))


def _close(reel: _Reel, bench: _Bench, closing: Closing, pace: float) -> None:
    new = set(closing.parts) - set(reel.there)
    _appear(reel, bench, closing.parts)
    if closing.still:
        reel.now += LAID if new else 0.0
        return
    begun = reel.now
    _keyed(reel, bench, closing.parts)
    for way in closing.ways:
        for (share, one), (_, other) in zip(way.stops[1:], way.stops, strict=False):
            reel.now = begun + pace * share
            for name in way.parts:
                if name in bench.homes:
                    bench.off[name] = bench.off[name] + one - other
            _keyed(reel, bench, way.parts)
    reel.now = begun + pace


def _keyed(reel: _Reel, bench: _Bench, names: Iterable[str]) -> None:
    for name in names:
        if name in bench.homes:
            reel.key(name, bench.frame(name))


def _leave(reel: _Reel, bench: _Bench, clear: float) -> None:
    for parts, by in ways_out(bench.stage, bench.rehearsal.plan, clear):
        _keyed(reel, bench, parts)
        reel.now += GONE
        for name in parts:
            bench.off[name] = bench.off[name] + by
        _keyed(reel, bench, parts)
        for name in parts:
            if name in bench.stage.takes_away:
                reel.show(name, None)


def _cut(reel: _Reel, bench: _Bench) -> None:
    found = cuts(bench.stage, bench.rehearsal)
    for name, (_, after) in found.items():
        if name in bench.homes:
            reel.show(name, after)
    reel.now += SET if found else 0.0


def _settle(reel: _Reel, names: Iterable[str]) -> None:
    for name in names:
        reel.key(name, reel.where(name))


def _carry(reel: _Reel, to: Mapping[str, Frame]) -> None:
    """Carry parts from where they are to other frames, those with one rigid motion as one."""
    groups: dict[bytes, list[str]] = {}
    for name, frame in to.items():
        motion = frame @ inverse(reel.where(name))
        if not np.allclose(motion, np.eye(4), atol=1e-6):
            groups.setdefault((np.round(motion, 3) + 0.0).tobytes(), []).append(name)
    begun = reel.now
    for names in groups.values():
        _settle(reel, names)
        for share, frames in carried({n: reel.where(n) for n in names}, to):
            reel.now = begun + CARRIED * share
            for name in names:
                reel.key(name, frames[name])
        reel.now = begun
    reel.now = begun + (CARRIED if groups else 0.0)


def _stand(reel: _Reel, rehearsal: Rehearsal) -> None:
    """Bring all that stays to where it stands in the finished work, and show what is not in sight."""
    assembly = rehearsal.assembly
    left = [n for n in assembly.names if not assembly.part(n).temporary]
    there = set(reel.there)
    for name in there - set(left):
        reel.show(name, None)
    _carry(reel, {n: assembly.frames[n] for n in left if n in there})
    for name in left:
        reel.key(name, assembly.frames[name])
        reel.show(name, assembly.solid(name, ALL))
    reel.now += STANDS
    _settle(reel, left)
