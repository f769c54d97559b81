"""The steps of a stage, in the order a person makes them: ready, spread, move, hold, clamp, wait, take away, cut."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from assembly.plan import Action, Move, Spread, Stage
from assembly.rehearsal import Rehearsal
from assembly.stance.people import by_hand, people_for
from exports import glue_ups, steps, words
from exports.walk.book import Book, Json, vector
from exports.walk.hands import hands
from exports.walk.laid import Laid
from exports.walk.leaving import Going, goings
from exports.walk.motions import Coming, comings
from exports.walk.noticed import Noticed
from model.design import Design

TITLED = 2
"""Names that a title has before the rest is counted."""
AT_LARGE = frozenset({"open-time", "hands", "mass", "size", "stance"})
"""Kinds of finding about a whole stage: they show before it begins."""
HOIST = "It is too heavy to lift by hand: use a hoist, or make it up where it lies."


@dataclass(frozen=True, eq=False)
class Telling:
    """What is told of one stage, and what it needs."""

    rehearsal: Rehearsal
    laid: Laid
    book: Book
    called: steps.Units
    out: Sequence[Move] = ()
    """The ways out of temporary parts, in the finished work's world."""
    fresh: Sequence[str] = ()
    """The parts that come to the bench for the first time."""
    noticed: Noticed = field(default_factory=lambda: Noticed(()))

    @property
    def stage(self) -> Stage:
        """The stage that is told."""
        return self.laid.stage

    @property
    def design(self) -> Design:
        """The design it is of."""
        return self.rehearsal.design

    @property
    def unit(self) -> str:
        """The unit the maker reads."""
        return self.design.unit

    @cached_property
    def coming(self) -> list[Coming]:
        """How each move comes in."""
        return comings(self.laid)

    @cached_property
    def spreads(self) -> Mapping[str, Spread]:
        """The glue of each joint."""
        return {s.joint: s for s in self.stage.spreads}


def told(telling: Telling) -> list[Json]:
    """Return the steps of a stage, without the finished work that follows the last."""
    found = [_ready(telling), *_glued(telling)]
    if telling.stage.clamps or telling.stage.minutes.get("clamped"):
        found.append(_wait(telling))
    found += [_away(telling, some) for some in goings(telling.laid, telling.out)]
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
    says = [glue_ups.lying(stage, t.unit) if stage.actions else "", glue_ups.laid_out(stage, t.design, ready)]
    whole = glue_ups.glue(stage, t.design)[:1]
    clamps = glue_ups.clamps(stage, t.unit, t.rehearsal.findings)
    says += [f"{line.rstrip(':.')}." for line in (*whole, *clamps[:1])]
    return blank("ready", "Lay everything ready", says, parts=t.book.known(t.fresh),
                 findings=t.noticed.of_stage(stage.name, lambda f: not f.joints or f.kind in AT_LARGE))


def _glued(t: Telling) -> list[Json]:
    """Return the steps from the first glue to the last clamp, in the order of the stage's actions."""
    of = {m: k for k, some in enumerate(t.laid.closings) for m in some}
    actions: dict[int, list[Action]] = {}
    for action in t.stage.actions:
        if action.move is not None:
            actions.setdefault(of[action.move], []).append(action)
    found = [_hold(a) for a in t.stage.actions if a.what == "hold"]
    made = 0

    def make(until: int) -> None:
        nonlocal made
        while made < len(t.laid.closings) and (made <= until or made not in actions):
            found.append(_move(t, t.laid.closings[made], actions.get(made, ())))
            made += 1

    make(-1)
    for action in t.stage.actions:
        if action.what == "spread":
            found.append(_spread(t, action))
        elif action.move is not None:
            make(of[action.move])
        elif action.what == "clamp":
            make(len(t.laid.closings))
            found.append(_clamp(t, action))
    make(len(t.laid.closings))
    if t.stage.clamps and not any(action.what == "clamp" for action in t.stage.actions):
        found.append(_clamp(t, None))
    return found


def _hold(action: Action) -> Json:
    holds = "holds" if action.people == 1 else "hold"
    who = words.people(action.people)
    return blank("hold", f"{who[0].upper()}{who[1:]} {holds} the work",
                 [f"{who[0].upper()}{who[1:]} {holds} the work from now on, until all clamps are on: it would not stay "
                  "as it lies by itself."], people=action.people, minutes=_minutes([action]))


def _spread(t: Telling, action: Action) -> Json:
    some = [t.spreads[n] for n in action.joints if n in t.spreads]
    lines = glue_ups.glue(replace(t.stage, spreads=tuple(some)), t.design)
    parts = t.book.known(name for s in some for name, _ in s.faces)
    return blank("spread", f"Glue for {words.count(len(some), 'joint')}",
                 [words.sentence(line.rstrip(":")) for line in lines[:1]],
                 glue=[line.removeprefix("- ") for line in lines[1:]], glued=parts, parts=parts,
                 minutes=_minutes([action]), people=action.people)


def _move(t: Telling, numbers: Sequence[int], actions: Sequence[Action]) -> Json:
    moves, coming = [t.laid.moves[k] for k in numbers], [t.coming[k] for k in numbers]
    parts = list(dict.fromkeys(n for m in moves for n in m.parts))
    joints = [j for m in moves for j in m.joints]
    people = max((a.people for a in actions), default=0) or _lifters(t, parts)
    lifted = by_hand(float(t.laid.masses[t.laid.rows(parts)].sum()), people)
    takes = "" if people == 1 else f"It takes {words.people(people)}."
    held = hands(t.laid, parts, people) if lifted else []
    return blank("move", _title(t, moves), [*_moved(t, moves), takes if lifted else HOIST], parts=t.book.known(parts),
                 moves=[_motion(t, one) for one in coming], people=people, hands=[vector(at, 1) for at in held],
                 minutes=_minutes(actions), findings=t.noticed.closing(joints, parts, t.stage.name))


def _moved(t: Telling, moves: Sequence[Move]) -> list[str]:
    """Return the sentences of moves as the work lies, without arrows: the scene has its own."""
    band = any(clamp.kind == "band" for clamp in t.stage.clamps)
    lines = steps.lines(moves, t.called, t.unit, lambda name: t.design.part[name].group or name, band)
    said = [words.sentence(line.said, {*moves[0].parts}) for line in lines]
    for way in {w for m in moves for w in (m.direction, m.before) if w is not None}:
        told = words.way(way)
        said = [line.replace(f"{words.arrow(way)} {told}", told) for line in said]
    return said


def _lifters(t: Telling, parts: Sequence[str]) -> int:
    """Return how many people lay down what comes first, by the rules that hold for every move."""
    rows = t.laid.rows(parts)
    if not rows:
        return 1
    longest = float((t.laid.high[rows].max(axis=0) - t.laid.low[rows].min(axis=0)).max())
    return people_for(float(t.laid.masses[rows].sum()), longest, t.design.shop)


def _motion(t: Telling, one: Coming) -> Json:
    return {"parts": t.book.known(one.parts), "onto": t.book.known(one.onto), "way": vector(one.way, 9),
            "travel": vector([one.travel])[0], "clear": vector([one.clear])[0],
            "before": None if one.before is None else vector(one.before, 9)}


def _title(t: Telling, moves: Sequence[Move]) -> str:
    called = {parts: group.onto for parts, group in t.called.items()}
    moved = _titled(dict.fromkeys(n for m in moves for n in m.parts), called)
    if len(moves) > 1:
        return f"{moved}, all at once"
    onto = _titled(dict.fromkeys(moves[0].onto), called)
    return f"{moved} onto {onto}" if onto else f"Lay down {moved}"


def _titled(parts: Mapping[str, None], called: Mapping[frozenset[str], str]) -> str:
    """Return parts in few words: groups by what they are called, else the first names."""
    groups = [name for unit, name in called.items() if unit <= parts.keys()]
    in_groups = {n for unit in called if unit <= parts.keys() for n in unit}
    left = [n for n in parts if n not in in_groups]
    told = [*groups, *([words.several(left, most=TITLED)] if left else [])]
    return " and ".join(told[:TITLED]) + (" and more" if len(told) > TITLED else "")


def _clamp(t: Telling, action: Action | None) -> Json:
    lines = glue_ups.clamps(t.stage, t.unit, t.rehearsal.findings)
    says = [words.sentence(line.removeprefix("- ").rstrip(":")) for line in lines[1:]]
    bars, bands = (sum(c.kind == kind for c in t.stage.clamps) for kind in ("bar", "band"))
    told = [f"set {words.count(bars, 'bar clamp')}"] if bars else []
    told += ["draw up the band" if bands == 1 else f"draw up {bands} bands"] if bands else []
    title = " and ".join(told)
    return blank("clamp", f"{title[:1].upper()}{title[1:]}", says, people=action.people if action else 1,
                 parts=t.book.known(n for c in t.stage.clamps for n in c.pads or c.around),
                 minutes=_minutes([action] if action else ()),
                 findings=t.noticed.of_stage(t.stage.name, lambda f: f.kind == "clamps"))


def _wait(t: Telling) -> Json:
    stage, off = t.stage, "take the clamps off; it may be moved then"
    clamped, load = (stage.minutes.get(name, 0.0) for name in ("clamped", "load"))
    says = [f"Leave it for {glue_ups.span(clamped)}, then {off}." if clamped else
            f"Leave it until the glue has set, then {off}." if stage.spreads else
            "Nothing is glued here: it only has to hold until the next step.",
            f"Load it after {glue_ups.span(load)}." if load else "",
            f"It then weighs {words.weight(stage.mass_kg, t.unit)} and measures "
            f"{words.overall(stage.size_mm, t.unit)}." if stage.mass_kg > 0 else ""]
    return blank("wait", "Let the glue set" if stage.spreads else "Leave it", says)


def _away(t: Telling, some: Sequence[Going]) -> Json:
    names = [n for one in some for n in one.parts]
    stuck, stays = not any(one.far for one in some), some[0].stays
    named = _titled(dict.fromkeys(names), {})
    if stuck:
        title, says = f"{named} cannot come out", [f"No way out was found for {words.several(names, most=6)}: see what "
                                                   "the dry fit found."]
    else:
        title = f"{'Move off' if stays else 'Take away'} {named}"
        ways = [f"{'Move off' if stays else 'Take away'} {words.several(one.parts, most=6)}, {words.way(one.way)}."
                for one in some]
        says = [*ways, "This makes room for what is taken away next." if stays else
                "It only held the work while the glue set." if len(names) == 1 else
                "They only held the work while the glue set."]
    return blank("take away", title, says, parts=t.book.known(names),
                 leaves=[{"part": t.book.part(n), "by": vector(one.off[n], 1), "stays": one.stays}
                         for one in some for n in one.parts])


def _cut(t: Telling) -> Json | None:
    stage, changes = t.stage, []
    roles: dict[str, list[str]] = {}
    for name in t.laid.names:
        own = [f.role for f in t.design.part[name].features if f.after == stage.name]
        if name in stage.takes_away or not own:
            continue
        before, after = (t.design.part[name].solid(done) for done in (stage.done, stage.done | {stage.name}))
        if before.key != after.key:
            changes.append({"part": t.book.part(name), "from": t.book.shape(before), "to": t.book.shape(after)})
        for role in dict.fromkeys(own):
            roles.setdefault(role, []).append(name)
    if not changes:
        return None
    told = {f"{'saw' if role == 'curve' else 'cut'} the {role}": names for role, names in roles.items()}
    says = [words.sentence(f"{what} of {words.several(names, most=6)}") for what, names in told.items()]
    return blank("cut", words.sentence(" and ".join(told)).rstrip("."), says, parts=[c["part"] for c in changes],
                 changes=changes)


def _minutes(actions: Sequence[Action]) -> list[float] | None:
    if not actions:
        return None
    return [round(min(a.start for a in actions), 2), round(max(a.end for a in actions), 2)]


def outs(rehearsal: Rehearsal) -> Mapping[int, Sequence[Move]]:
    """Return the ways out of temporary parts by the number of the stage after which they leave."""
    return {data["stage"]: data["moves"] for _, data in rehearsal.plan.steps.nodes(data=True)
            if data.get("kind") == "take away" and data.get("moves")}


__all__ = ["Telling", "blank", "outs", "told"]
