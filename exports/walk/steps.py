"""The steps of a stage, in the order a person makes them: ready, spread, move, clamp, wait, take away, cut."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from assembly.findings import Finding
from assembly.placing import Assembly
from assembly.plan import Action, Move, Stage
from assembly.rehearsal import Rehearsal
from exports import glue_ups, steps, words
from exports.walk.book import Book, Json, vector
from model.frames import Frame, Vector

CLEAR, CLEAR_LEAST = 0.08, 60.0
"""How far before the proven travel a piece is first seen, as a share of the work's diagonal, and at least, mm. Straight
ways in are played from clear of everything by the replay, so all of it is proven."""
TITLED = 2
"""Names that a title has before the rest is counted."""
REACH = 0.38
"""Where hands hold a piece, from its middle, as a share of its length."""


@dataclass(frozen=True, eq=False)
class Telling:
    """What is told of one stage, and what it needs: the stage in its shop frame."""

    rehearsal: Rehearsal
    stage: Stage
    there: Assembly
    """Where the parts stand, closed, in the shop frame."""
    frame: Frame
    """Carries the finished work's world into the shop's."""
    book: Book
    called: steps.Units
    size: float
    """The diagonal of the work at this stage, mm."""
    found: Sequence[tuple[int, Finding]] = ()
    """The findings that may show here, with their indices."""
    out: Sequence[Move] = ()
    """The ways out of temporary parts, in the finished work's world."""
    seen: set[int] = field(default_factory=set)

    @property
    def unit(self) -> str:
        """The unit the maker reads."""
        return self.rehearsal.design.unit

    @cached_property
    def closings(self) -> list[list[int]]:
        """Moves by number, those made at the same time together."""
        found: list[list[int]] = []
        for k, move in enumerate(self.stage.moves):
            if found and move.simultaneous and self.stage.moves[k - 1].simultaneous:
                found[-1].append(k)
            else:
                found.append([k])
        return found

    def turned(self, way: Sequence[float]) -> tuple[float, float, float]:
        """Return a direction of the finished work as the work lies in the shop."""
        x, y, z = (self.frame[:3, :3] @ np.asarray(way, dtype=np.float64)).tolist()
        return x, y, z


def told(telling: Telling) -> list[Json]:
    """Return the steps of a stage, without the finished work that follows the last."""
    found = [_ready(telling), *_glued(telling)]
    if telling.stage.clamps or telling.stage.minutes.get("clamped"):
        found.append(_wait(telling))
    if telling.stage.takes_away:
        found.append(_away(telling))
    if cut := _cut(telling):
        found.append(cut)
    for number, step in enumerate(found, 1):
        step["id"] = f"{telling.stage.number}.{number}"
    return found


def blank(kind: str, title: str, says: Sequence[str], **more: object) -> Json:
    """Return a step of which nothing is known but its kind and words, and what is given besides."""
    return {"id": "", "kind": kind, "stage": None, "title": title, "says": [s for s in says if s], "glue": [],
            "glued": [], "parts": [], "moves": [], "minutes": None, "people": 0, "hands": [], "leaves": [],
            "changes": [], "findings": [], **more}


def _ready(t: Telling) -> Json:
    stage = t.stage
    ready = {group: name.onto for group, name in t.called.items()}
    says = [glue_ups.lying(stage, t.unit), glue_ups.laid_out(stage, t.rehearsal.design, ready)]
    whole = glue_ups.glue(stage, t.rehearsal.design)[:1]
    clamps = glue_ups.clamps(stage, t.unit, t.rehearsal.findings)
    says += [f"{line.rstrip(':')}." for line in (*whole, *clamps[:1])]
    return blank("ready", "Lay everything ready", says, parts=t.book.known(stage.parts),
                 findings=_showing(t, lambda f: f.stage == stage.name and not f.joints))


def _glued(t: Telling) -> list[Json]:
    """Return the steps from the first glue to the last clamp, in the order of the stage's actions."""
    of = {m: k for k, some in enumerate(t.closings) for m in some}
    actions: dict[int, list[Action]] = {}
    for action in t.stage.actions:
        if action.move is not None:
            actions.setdefault(of[action.move], []).append(action)
    found: list[Json] = []
    waiting = list(range(len(t.closings)))

    def close(until: int) -> None:
        while waiting and (waiting[0] <= until or waiting[0] not in actions):
            found.append(_move(t, t.closings[waiting[0]], actions.get(waiting[0], ())))
            del waiting[0]

    close(-1)
    for action in t.stage.actions:
        if action.what == "spread":
            found.append(_spread(t, action))
        elif action.move is not None:
            close(of[action.move])
        elif action.what == "clamp":
            close(len(t.closings))
            found.append(_clamp(t, action))
    close(len(t.closings))
    if t.stage.clamps and not any(step["kind"] == "clamp" for step in found):
        found.append(_clamp(t, None))
    return found


def _spread(t: Telling, action: Action) -> Json:
    some = [s for s in t.stage.spreads if s.joint in set(action.joints)]
    lines = glue_ups.glue(replace(t.stage, spreads=tuple(some)), t.rehearsal.design)
    parts = t.book.known(name for s in some for name, _ in s.faces)
    title = f"Glue for {words.count(len(some), 'joint')}"
    return blank("spread", title, [words.sentence(line.rstrip(":")) for line in lines[:1]],
                 glue=[line.removeprefix("- ") for line in lines[1:]], glued=parts, parts=parts,
                 minutes=_minutes(action.start, action.end), people=action.people)


def _move(t: Telling, numbers: Sequence[int], actions: Sequence[Action]) -> Json:
    moves = [t.stage.moves[k] for k in numbers]
    lying = [replace(m, direction=t.turned(m.direction), before=None if m.before is None else t.turned(m.before))
             for m in moves]
    band = any(clamp.kind == "band" for clamp in t.stage.clamps)
    kinds = t.rehearsal.design.part
    lines = steps.lines(lying, t.called, t.unit, lambda name: kinds[name].group or name, band)
    parts = [n for m in moves for n in m.parts]
    joints = {j for m in moves for j in m.joints}
    people = max((a.people for a in actions), default=1)
    return blank("move", _title(t, moves), [words.sentence(line.said) for line in lines], parts=t.book.known(parts),
                 moves=[_motion(t, m) for m in lying], people=people, hands=_hands(t, parts, people),
                 minutes=_minutes(min(a.start for a in actions), max(a.end for a in actions)) if actions else None,
                 findings=_showing(t, lambda f: bool(joints & set(f.joints)) if f.joints else
                                   bool(f.parts) and f.parts[0] in parts and f.stage in ("", t.stage.name)))


def _motion(t: Telling, m: Move) -> Json:
    clear = 0.0 if m.simultaneous else max(CLEAR_LEAST, CLEAR * t.size)
    way = m.direction if m.onto or m.simultaneous else (0.0, 0.0, -1.0)
    return {"parts": t.book.known(m.parts), "onto": t.book.known(m.onto), "way": vector(way, 9),
            "travel": round(float(m.travel), 3) if m.onto or m.simultaneous else 0.0, "clear": round(clear, 1),
            "before": None if m.before is None else vector(m.before, 9)}


def _title(t: Telling, moves: Sequence[Move]) -> str:
    if len(moves) > 1:
        names = [n for m in moves for n in m.parts]
        return f"{words.several(names, most=TITLED)}, all at once"
    move = moves[0]
    called = t.called.get(frozenset(move.parts))
    name = called.onto if called is not None else words.several(move.parts, most=TITLED)
    return f"{name} onto {words.several(move.onto, most=TITLED)}" if move.onto else f"{name}, laid down"


def _clamp(t: Telling, action: Action | None) -> Json:
    lines = glue_ups.clamps(t.stage, t.unit, t.rehearsal.findings)
    says = [words.sentence(line.removeprefix("- ").rstrip(":")) for line in lines]
    number = words.count(len(t.stage.clamps), "clamp")
    return blank("clamp", f"Set {number}", says, people=action.people if action else 1,
                 parts=t.book.known(n for c in t.stage.clamps for n in c.pads or c.around),
                 minutes=_minutes(action.start, action.end) if action else None,
                 findings=_showing(t, lambda f: f.kind == "clamps" and f.stage == t.stage.name))


def _wait(t: Telling) -> Json:
    minutes, stage = t.stage.minutes, t.stage
    says = [f"Leave it for {glue_ups.span(minutes['clamped'])}, then take the clamps off; it may be moved then."
            if minutes.get("clamped") else "Leave it until the glue has set, then take the clamps off.",
            f"Load it after {glue_ups.span(minutes['load'])}." if minutes.get("load") else "",
            f"It then weighs {words.weight(stage.mass_kg, t.unit)} and measures "
            f"{words.overall(stage.size_mm, t.unit)}."]
    return blank("wait", "Let the glue set", says, parts=t.book.known(stage.parts))


def _away(t: Telling) -> Json:
    by: dict[str, Vector] = {}
    for move in t.out:
        far = move.travel + max(CLEAR_LEAST, CLEAR * t.size)
        by.update(dict.fromkeys(move.parts, np.asarray(t.turned(move.direction)) * far))
    up = np.array([0.0, 0.0, max(CLEAR_LEAST, CLEAR * t.size)])
    names = t.stage.takes_away
    return blank("take away", f"Take away {words.several(names, most=TITLED)}",
                 [f"Take away {words.several(names, most=6)}: it was only there to hold the work."
                  if len(names) == 1 else
                  f"Take away {words.several(names, most=6)}: they were only there to hold the work."],
                 parts=t.book.known(names),
                 leaves=[{"part": t.book.part(n), "by": vector(by.get(n, up), 1)} for n in names])


def _cut(t: Telling) -> Json | None:
    stage, changes = t.stage, []
    roles: dict[str, list[str]] = {}
    for name in stage.parts:
        part = t.rehearsal.design.part[name]
        own = [f.role for f in part.features if f.after == stage.name]
        if name in stage.takes_away or not own:
            continue
        before, after = part.solid(stage.done), part.solid(stage.done | {stage.name})
        if before.key != after.key:
            changes.append({"part": t.book.part(name), "from": t.book.shape(before), "to": t.book.shape(after)})
        for role in dict.fromkeys(own):
            roles.setdefault(role, []).append(name)
    if not changes:
        return None
    said = [f"{'saw' if role == 'curve' else 'cut'} the {role} of {words.several(names, most=6)}"
            for role, names in roles.items()]
    title = words.sentence(", ".join(f"{'saw' if r == 'curve' else 'cut'} the {r}" for r in roles)).rstrip(".")
    return blank("cut", title, [words.sentence(line) for line in said], parts=[c["part"] for c in changes],
                 changes=changes)


def _hands(t: Telling, names: Sequence[str], people: int) -> list[list[float]]:
    """Return where hands go on a moving piece at home: one at its middle, more spread along its length."""
    at = np.vstack([t.there.vertices(n, t.stage.done) for n in names])
    middle, size = (at.min(axis=0) + at.max(axis=0)) / 2.0, np.ptp(at, axis=0)
    if len(names) == 1:
        frame = t.there.frames[names[0]]
        along = frame[:3, :3] @ t.there.part(names[0]).blank.grain
        span = at @ along
        middle = middle + along * (float((span.min() + span.max()) / 2.0) - float(middle @ along))
        length = float(np.ptp(span))
    else:
        along, length = np.eye(3)[int(np.argmax(size))], float(size.max())
    if people <= 1:
        return [vector(middle, 1)]
    return [vector(middle + along * length * s, 1) for s in np.linspace(-REACH, REACH, people)]


def _showing(t: Telling, shows: Callable[[Finding], bool]) -> list[int]:
    """Return the indices of findings that show first at this step."""
    found = [k for k, f in t.found if k not in t.seen and shows(f)]
    t.seen.update(found)
    return found


def _minutes(start: float, end: float) -> list[float]:
    return [round(start, 2), round(end, 2)]


def outs(rehearsal: Rehearsal) -> Mapping[int, Sequence[Move]]:
    """Return the ways out of temporary parts by the number of the stage after which they leave."""
    return {data["stage"]: data["moves"] for _, data in rehearsal.plan.steps.nodes(data=True)
            if data.get("kind") == "take away" and data.get("moves")}
