"""Loops that what was measured explains: which part is off, and what else could be cut to match it.

Round a loop of joints every part carries the next one from one seat to another. A part that came
out otherwise carries it elsewhere than drawn; where those differences add up to what the loop
is open by, they are what keeps it open.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from assembly.placing import Assembly, as_drawn
from assembly.presence import Moment
from assembly.walk import LOOP_ANGLE, LOOP_GAP, OpenLoop
from model.frames import apart, directions, inverse
from model.joint import Joint

Floats = NDArray[np.float64]

TELLS = 0.02
"""A part carries the next one elsewhere than drawn when it is off by more than this, mm."""
ALONG = 0.999
"""A length runs along what a loop is open by within about 2.5 degrees."""
LEVEL = 0.5
"""Seats are at one end of a part when they lie within this along its length, mm."""

LONGER = 1.01
"""A part that must be longer counts for a little more than one that can be shortened."""


@dataclass(frozen=True, eq=False)
class Off:
    """A part that carries the next one in a loop elsewhere than drawn.

    `by` how much, in the world (3,) mm; `turned` by how much, rad; `enters`, `leaves` the joints
    by which the way round comes to the part and goes on from it; `drawn`, `now` mm from the one to the other.
    """

    part: str
    by: Floats
    turned: float
    enters: Joint
    leaves: Joint
    drawn: float
    now: float


@dataclass(frozen=True)
class Match:
    """A part that could be cut otherwise to match: its length between its two joints as it is and as it should be."""

    part: str
    length: float
    wanted: float


def explaining(moment: Moment, loop: OpenLoop, others: Sequence[str]) -> tuple[Off, ...]:
    """Return the measured parts of a loop (its open joint, the others in order round) that keep it open; else none.

    Largest first. What they are off by adds up to what the loop is open by, within LOOP_GAP.
    """
    assembly = moment.assembly
    drawn = as_drawn(assembly).design
    measured = {m.part for m in assembly.design.measured}
    if not measured or drawn is assembly.design:
        return ()
    joints = [assembly.design.joint[n] for n in (loop.joint, *others)]
    found = [off for name, enters, leaves in _round(joints) if name in measured
             and (off := _off(assembly, drawn.joint, name, enters, leaves)) is not None]
    joint = joints[0]
    gap = assembly.seat(joint)[:3, 3] - assembly.seat_of_a(joint)[:3, 3]
    if any(off.turned > LOOP_ANGLE for off in found):
        return tuple(sorted(found, key=lambda off: -off.turned)) if loop.angle > LOOP_ANGLE else ()
    told = bool(found) and float(np.linalg.norm(sum(off.by for off in found) - gap)) <= LOOP_GAP
    return tuple(sorted(found, key=lambda off: -float(np.linalg.norm(off.by)))) if told else ()


def _round(joints: Sequence[Joint]) -> list[tuple[str, Joint, Joint]]:
    """Return each part of a loop with the joint by which the way round enters it and the one by which it leaves it.

    The way round begins at part a of the first joint and ends at its part b.
    """
    out: list[tuple[str, Joint, Joint]] = []
    here, enters = joints[0].a, joints[0]
    for joint in (*joints[1:], joints[0]):
        out.append((here, enters, joint))
        here, enters = joint.other(here), joint
    return out


def _off(assembly: Assembly, drawn: Mapping[str, Joint], name: str, enters: Joint, leaves: Joint) -> Off | None:
    """Return how a part's way from one seat to another differs from the drawing's, seen from where it enters."""
    if enters.name not in drawn or leaves.name not in drawn:
        return None
    was = inverse(drawn[enters.name].seat(name)) @ drawn[leaves.name].seat(name)
    now = inverse(enters.seat(name)) @ leaves.seat(name)
    way = now[:3, 3] - was[:3, 3]
    _, turned = apart(was, now)
    if float(np.linalg.norm(way)) <= TELLS and turned <= LOOP_ANGLE:
        return None
    return Off(name, directions(assembly.frames[name] @ enters.seat(name), way), turned, enters, leaves,
               *(float(np.linalg.norm(f[:3, 3])) for f in (was, now)))


def matches(moment: Moment, off: Off) -> tuple[Match, ...]:
    """Return the fewest parts that, all cut to match a part that is off, let its loops close; none where no lengths do.

    Of as many parts, those that are to be shortened.
    Looked at are parts whose grain runs from joint to joint along what the part is off by.
    """
    amount = float(np.linalg.norm(off.by))
    lines = _lines(moment, off, off.by / amount) if amount > TELLS else None
    if lines is None or lines.near == lines.far:
        return ()
    ties: nx.DiGraph = nx.DiGraph()
    ties.add_nodes_from((lines.near, lines.far))
    for low, high, _ in lines.spans:
        for one, other, cost in ((low, high, LONGER), (high, low, 1.0)):
            ties.add_edge(one, other, capacity=ties.get_edge_data(one, other, {"capacity": 0.0})["capacity"] + cost)
    _, (side, _) = nx.minimum_cut(ties, lines.near, lines.far)
    found = [Match(name, lines.lengths[name], lines.lengths[name] + (amount if one in side else -amount))
             for one, other, name in lines.spans if (one in side) != (other in side)]
    return tuple(sorted(found, key=lambda m: moment.names.index(m.part)))


@dataclass(frozen=True)
class _Lines:
    """What holds together across a direction, as numbers, and the parts that span from one such to another along it.

    `spans`: from which to which, each part's low end first; `lengths`: from joint to joint, mm;
    `near`, `far`: where the part that is off holds on before and behind what is off.
    """

    spans: tuple[tuple[int, int, str], ...]
    lengths: dict[str, float]
    near: int
    far: int


def _lines(moment: Moment, off: Off, way: Floats) -> _Lines:
    assembly = moment.assembly
    joints = [assembly.design.joint[n] for n in moment.closed]
    levels: dict[str, dict[str, float]] = {name: {} for name in moment.names}
    for joint in joints:
        for name in (joint.a, joint.b):
            at = assembly.frames[name] @ joint.seat(name)
            levels[name][joint.name] = float(at[:3, 3] @ way)
    sides = {name: _sides(assembly, name, found, way) for name, found in levels.items()}
    sides[off.part] = _moved(assembly, off, levels[off.part])
    together: nx.utils.UnionFind = nx.utils.UnionFind((name, side) for name in sides for side in (0, 1))
    for name, found in sides.items():
        if len(set(found.values())) < 2:
            together.union((name, 0), (name, 1))
    for joint in joints:
        together.union((joint.a, sides[joint.a][joint.name]), (joint.b, sides[joint.b][joint.name]))
    number = {root: k for k, root in enumerate(dict.fromkeys(together[node] for node in list(together)))}
    ends = {name: (number[together[name, 0]], number[together[name, 1]]) for name in sides}
    spans = [(*ends[name], name) for name, found in sides.items()
             if name != off.part and set(found.values()) == {0, 1}]
    lengths = {name: max(levels[name].values()) - min(levels[name].values()) for *_, name in spans}
    return _Lines(tuple(spans), lengths, *ends[off.part])


def _sides(assembly: Assembly, name: str, levels: Mapping[str, float], way: Floats) -> dict[str, int]:
    """Return at which end along a direction each joint of a part lies: 0 low, 1 high; all 0 where it does not span."""
    low, high = min(levels.values(), default=0.0), max(levels.values(), default=0.0)
    straight = abs(float(directions(assembly.frames[name], assembly.part(name).blank.grain) @ way)) >= ALONG
    at_ends = all(min(level - low, high - level) <= LEVEL for level in levels.values())
    spans = straight and at_ends and high - low > 2 * LEVEL
    return {joint: int(spans and level - low > LEVEL) for joint, level in levels.items()}


def _moved(assembly: Assembly, off: Off, joints: Iterable[str]) -> dict[str, int]:
    """Return which joints of the part that is off are where they are drawn (0), and which are off with it (1)."""
    drawn, name = as_drawn(assembly).design.joint, off.part
    amount = float(off.by @ off.by)
    sides = {}
    for joint in joints:
        found = _off(assembly, drawn, name, off.enters, assembly.design.joint[joint])
        sides[joint] = int(found is not None and float(found.by @ off.by) > amount / 2)
    return sides
