"""A glue-up beyond its moves, in words: what lies ready, how the work lies, the glue, the clamps, the time there is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from assembly.alike import marks
from assembly.findings import Finding
from assembly.plan import Clamp, Plan, Spread, Stage
from exports import words
from exports.names import shown

if TYPE_CHECKING:
    from assembly.rehearsal import Rehearsal
    from model.design import Design

GROUPS_MOST = 6
"""Sets of like joints or clamps told apart before the rest is counted."""
ORDER_MOST = 9
"""Runs of pieces of one mark told in their order; with more of them the moves tell it."""
HOUR, DAY = 60.0, 24 * 60.0


def laid_out(stage: Stage, design: Design, called: Mapping[frozenset[str], str]) -> str:
    """Return the pieces in the order in which they are taken up, with their marks; very many by their marks alone."""
    own = marks(design.drawn or design)
    taken = [unit for move in stage.moves for unit in stage.units if set(unit) <= set(move.parts)]
    order = list(dict.fromkeys(taken))
    told: list[tuple[str, list[str]]] = []
    for unit in order:
        if len(unit) > 1:
            told.append((called.get(frozenset(unit), f"the group with {shown(unit[0])}"), []))
        elif told and told[-1][1] and told[-1][0] == own.get(unit[0], ""):
            told[-1][1].append(unit[0])
        else:
            told.append((own.get(unit[0], ""), [unit[0]]))
    if len(told) > ORDER_MOST:
        return _by_mark(told)
    said = [f"{mark} {words.several(names, most=len(names))}".strip() if names else mark for mark, names in told]
    return f"Lay out in this order: {'; '.join(said)}." if said else ""


def _by_mark(told: Sequence[tuple[str, Sequence[str]]]) -> str:
    """Return what lies ready where marks change often: how many of each, to be taken in the order of the moves."""
    groups = list(dict.fromkeys(mark for mark, names in told if not names))
    number: dict[str, list[str]] = {}
    for mark, names in told:
        if names:
            number.setdefault(mark, []).extend(names)
    said = [f"{len(names)} × {mark}: {words.several(names, most=4)}" for mark, names in number.items()]
    return f"Lay out, in the order of the moves below: {'; '.join([*groups, *said])}."


def lying(stage: Stage, unit: str) -> str:
    """Return how the work lies, where, and who holds it."""
    rest = stage.rest
    where = {"shop": "", "outside": ", outside"}[stage.place]
    said = [f"Glue it up {rest.lies}, on the {rest.on}{where}"]
    if rest.blocks > 0:
        said.append(f"blocked up {words.tape(rest.blocks, unit)}")
    if rest.held:
        said.append(f"{words.people(rest.held)} holding it")
    return ", ".join(said) + "."


def glue(stage: Stage, design: Design) -> list[str]:
    """Return which faces get glue and how much: joints alike told together."""
    if not stage.spreads:
        return []
    whole = sum(s.ml for s in stage.spreads)
    like: dict[tuple[str, str], list[Spread]] = {}
    for spread in stage.spreads:
        like.setdefault((_faces(spread), _ml(spread.ml)), []).append(spread)
    lines = [f"Glue: {_ml(whole)} in all, on both faces of {words.count(len(stage.spreads), 'joint')}:"]
    groups = sorted(like.items(), key=lambda item: -len(item[1]))
    for (faces, ml), spreads in groups[:GROUPS_MOST]:
        names = words.several([s.joint for s in spreads], most=4)
        each = " each" if len(spreads) > 1 else ""
        lines.append(f"- {faces} of {names}: {ml}{each}")
    if len(groups) > GROUPS_MOST:
        rest = [s for _, spreads in groups[GROUPS_MOST:] for s in spreads]
        lines.append(f"- {words.count(len(rest), 'more joint')}: {_ml(sum(s.ml for s in rest))} together")
    return lines


def _faces(spread: Spread) -> str:
    return " and ".join(dict.fromkeys(word for _, faces in spread.faces for word in faces.split(" and "))) or "faces"


def _ml(ml: float) -> str:
    """Return an amount of glue as it is measured out: halves of a millilitre below ten, whole ones above."""
    return f"{max(0.5, round(ml * 2) / 2):g} mL" if ml < 10 else f"{ml:.0f} mL"


def clamps(stage: Stage, unit: str, found: Iterable[Finding] = ()) -> list[str]:
    """Return the clamps with how far each opens and what it presses, those alike told together, and what they ask for.

    Where there are none, what the findings of the stage say to do instead.
    """
    noted = [f.remedy for f in found if f.kind == "clamps" and f.stage == stage.name]
    if not stage.clamps:
        instead = next(iter(noted), "")
        return [f"Clamps: none presses this. {words.sentence(instead)}"] if stage.spreads and instead else []
    like: dict[tuple[str, str], list[Clamp]] = {}
    for clamp in stage.clamps:
        like.setdefault((clamp.kind, words.tape(clamp.opening, unit)), []).append(clamp)
    number = {kind: sum(c.kind == kind for c in stage.clamps) for kind in ("bar", "band")}
    counted = [words.count(number["bar"], "bar clamp")] if number["bar"] else []
    counted += [words.count(number["band"], "band")] if number["band"] else []
    lines = [f"Clamps: {' and '.join(counted)}:"]
    groups = sorted(like.items(), key=lambda item: -item[1][0].opening)
    for (kind, opening), some in groups[:GROUPS_MOST]:
        lines.append(f"- {_clamp(kind, opening, some)}")
    if len(groups) > GROUPS_MOST:
        rest = sum(len(some) for _, some in groups[GROUPS_MOST:])
        lines.append(f"- {rest} more that open less")
    return [*lines, *(f"- {words.sentence(remedy)}" for remedy in noted)]


def _clamp(kind: str, opening: str, some: Sequence[Clamp]) -> str:
    joints = words.several(list(dict.fromkeys(n for c in some for n in c.joints)), most=3)
    if kind == "band":
        around = words.several(some[0].around, most=3)
        return f"{words.count(len(some), 'band')} {opening} long round {around}: {joints}"
    pads = words.several(list(dict.fromkeys(n for c in some for n in c.pads)), most=4)
    return f"{words.count(len(some), 'bar')} opening {opening}, pads on {pads}: {joints}"


def time(stage: Stage, people: int) -> list[str]:
    """Return the minutes used of the minutes there are, and how long the work then waits."""
    minutes = stage.minutes
    whole = max(1, round(minutes.get("needed", 0.0)))
    lines = [f"About {whole} min with {words.people(people)} in the shop; the heaviest move takes "
             f"{words.people(stage.hands)}."]
    if minutes.get("open used"):
        said = f"Glue lies open for up to {minutes['open used']:.0f} of {minutes['open']:.0f} min"
        if minutes["closed used"] >= 1.0:
            said += (f"; joints wait closed for up to {minutes['closed used']:.0f} of {minutes['closed']:.0f} min "
                     "until all is clamped")
        lines.append(f"{said}.")
    if minutes.get("clamped"):
        lines.append(f"Move it after {span(minutes['clamped'])}, load it after {span(minutes['load'])}.")
    return lines


def span(minutes: float) -> str:
    """Return a time as a person says it: "45 min", "2.5 h", "4 days"."""
    if minutes < 1.5 * HOUR:
        return f"{minutes:.0f} min"
    if minutes < 2 * DAY:
        return f"{round(2 * minutes / HOUR) / 2:g} h"
    return f"{round(2 * minutes / DAY) / 2:g} days"


def quality(plan: Plan) -> list[str]:
    """Return how good the plan is, and what takes longest."""
    lines = []
    if plan.solved is not None and plan.stages:
        solved = plan.solved
        proof = "" if solved.optimal or solved.bound <= 1 else f", {solved.bound} at least (gap {solved.gap:.0%})"
        lines.append(f"{words.count(solved.sessions, 'glue-up')}{proof}: {solved.said}.")
    if plan.replayed:
        lines.append("Every move was played through again by independent code and passed.")
    if plan.critical:
        wood = [n for n in plan.critical if plan.steps.nodes[n].get("minutes", 0.0) > 0]
        lines.append(f"From the first cut until it may be loaded: {span(plan.hours * HOUR)} at least, by way of "
                     + "; ".join(shown(n) for n in wood) + ".")
        if plan.elapsed > plan.hours * 1.02:
            lines.append(f"With the people and the clamps there are: {span(plan.elapsed * HOUR)}, nights not counted.")
    return lines


def caution(rehearsal: Rehearsal) -> str:
    """Return where the times come from."""
    return (f"Times are rules of thumb for {shown(rehearsal.design.shop.glue)} at "
            f"{rehearsal.design.shop.temperature:.0f} °C; its data sheet comes first.")
