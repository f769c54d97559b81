"""Walking the joints: from parts that stand to every part they hold, leaving as few loops open as may be.

Where every loop of joints closes, any way round gives the same frames. Where one does not,
the frames depend on which joint is left open: the walk leaves open the joints with which
the fewest loops stay open, so that one wrong part stands wrong alone and does not carry
its error into all that hangs on it, whatever order the joints are listed in.
"""

from __future__ import annotations

import math
from collections import Counter, deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from model.frames import Frame, apart, snapped
from model.joint import Joint

LOOP_GAP = 0.05
"""A loop of joints closes when its ends are this near, mm."""
LOOP_ANGLE = math.radians(0.02)
"""And when their frames are turned by no more than this, rad."""

TRIED = 24
"""How many joints are tried, in each round, for being the one that should be left open."""
ROUNDS = 8
"""How many joints are put off in this way at most."""


@dataclass(frozen=True)
class OpenLoop:
    """A joint whose two parts are held apart by the other joints: by how much (mm, rad) and where (mm).

    `standoffs` names the joints of the loop that stop short, where they alone keep it open.
    """

    joint: str
    gap: float
    angle: float
    where: tuple[float, float, float]
    standoffs: tuple[str, ...] = ()


@dataclass(frozen=True)
class Walk:
    """What a walk reached: the frames, the loops left open, and the joint by which each part was reached."""

    frames: Mapping[str, Frame]
    open_loops: tuple[OpenLoop, ...]
    by: Mapping[str, Joint]

    @property
    def harm(self) -> tuple[int, float]:
        """How many loops are open, and by how much together, mm."""
        return len(self.open_loops), round(sum(loop.gap for loop in self.open_loops), 2)


def walk(joints: Sequence[Joint], start: Mapping[str, Frame]) -> Walk:
    """Return every part that the joints hold to those that stand in `start`, with the fewest open loops found.

    Found by putting off one joint after the other, each time the one that helps most: exact
    for one wrong joint, not promised to be the least for several.
    """
    put_off: tuple[str, ...] = ()
    best = _reach(joints, start, put_off)
    for _ in range(ROUNDS):
        if len(best.open_loops) < 2:
            break
        tries = [((*put_off, name), _reach(joints, start, (*put_off, name))) for name in _suspects(joints, best)]
        if not tries or min(t.harm for _, t in tries) >= best.harm:
            break
        put_off, best = min(tries, key=lambda t: t[1].harm)
    return best


def explained(found: Walk, home: Mapping[str, Joint], off: Mapping[str, float]) -> tuple[OpenLoop, ...]:
    """Return the loops a walk left open, with the stand-offs of those that would close if every joint were home.

    `home`: the joints by name with their seats home; `off`: how far those stand off that do, mm.
    """
    if not off or not found.open_loops:
        return found.open_loops
    frames = {name: frame for name, frame in found.frames.items() if name not in found.by}
    for name, by in found.by.items():
        joint = home[by.name]
        frames[name] = (frames[joint.a] @ joint.b_in_a if joint.b == name else frames[joint.b] @ joint.a_in_b)
    return tuple(_caused(loop, found, home, frames, off) for loop in found.open_loops)


def _caused(loop: OpenLoop, found: Walk, home: Mapping[str, Joint], frames: Mapping[str, Frame],
            off: Mapping[str, float]) -> OpenLoop:
    joint = home[loop.joint]
    if _open(joint, frames) is not None:
        return loop
    round_about = {joint.name} | (_trail(joint.a, found) ^ _trail(joint.b, found))
    named = dict.fromkeys(home[name].of or name for name in off if name in round_about)
    return replace(loop, standoffs=tuple(named))


@dataclass
class _Steps:
    frames: dict[str, Frame]
    by: dict[str, Joint] = field(default_factory=dict)
    closing: list[Joint] = field(default_factory=list)


def _reach(joints: Sequence[Joint], start: Mapping[str, Frame], put_off: Sequence[str]) -> Walk:
    """Walk breadth first; joints put off place a part only where no other joint does."""
    steps = _Steps(dict(start))
    late = [j for j in joints if j.name in put_off]
    _spread([j for j in joints if j.name not in put_off], deque(start), steps)
    for _ in late:
        bridge = next((j for j in late if (j.a in steps.frames) != (j.b in steps.frames)), None)
        if bridge is None:
            break
        late.remove(bridge)
        standing = bridge.a if bridge.a in steps.frames else bridge.b
        _spread([bridge], deque([standing]), steps)
        _spread([j for j in joints if j.name not in put_off], deque([bridge.b if standing == bridge.a else bridge.a]),
                steps)
    steps.closing += [j for j in late if j.a in steps.frames and j.b in steps.frames]
    loops = [loop for j in dict.fromkeys(steps.closing) if (loop := _open(j, steps.frames)) is not None]
    return Walk(steps.frames, tuple(loops), steps.by)


def _spread(joints: Iterable[Joint], queue: deque[str], steps: _Steps) -> None:
    by_part: dict[str, list[Joint]] = {}
    for joint in joints:
        by_part.setdefault(joint.a, []).append(joint)
        by_part.setdefault(joint.b, []).append(joint)
    used = {j.name for j in (*steps.by.values(), *steps.closing)}
    while queue:
        here = queue.popleft()
        for joint in by_part.get(here, ()):
            if joint.name in used:
                continue
            used.add(joint.name)
            other, relative = (joint.b, joint.b_in_a) if joint.a == here else (joint.a, joint.a_in_b)
            if other in steps.frames:
                steps.closing.append(joint)
            else:
                steps.frames[other] = snapped(steps.frames[here] @ relative)
                steps.by[other] = joint
                queue.append(other)


def _open(joint: Joint, frames: Mapping[str, Frame]) -> OpenLoop | None:
    one, other = frames[joint.a] @ joint.seat_a, frames[joint.b] @ joint.seat_b
    gap, angle = apart(one, other)
    if gap <= LOOP_GAP and angle <= LOOP_ANGLE:
        return None
    x, y, z = ((one[:3, 3] + other[:3, 3]) / 2).tolist()
    return OpenLoop(joint.name, gap, angle, (x, y, z))


def _suspects(joints: Sequence[Joint], found: Walk) -> list[str]:
    """Return the joints that most of the open loops run through, by the way the walk went."""
    named = {j.name: j for j in joints}
    passed: Counter[str] = Counter()
    for loop in found.open_loops:
        joint = named[loop.joint]
        passed.update(_trail(joint.a, found) ^ _trail(joint.b, found))
    return sorted((name for name in named if passed[name]), key=lambda name: -passed[name])[:TRIED]


def _trail(part: str, found: Walk) -> set[str]:
    """Return the joints by which a part was reached from where the walk began."""
    trail: set[str] = set()
    here = part
    while here in found.by:
        joint = found.by[here]
        trail.add(joint.name)
        here = joint.other(here)
    return trail
