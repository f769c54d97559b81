"""The stages of the walk: each glue-up as it lies in the shop, with what is there and when."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assembly.placing import standing_in
from assembly.plan import Stage
from assembly.rehearsal import Rehearsal
from exports import glue_ups, steps, words
from exports.names import shown
from exports.walk.book import Book, Json, rows, vector
from exports.walk.steps import Telling, outs, told
from exports.walk.things import things
from model.frames import move

TIMES = {"open": "open", "closed": "closed", "openUsed": "open used", "closedUsed": "closed used", "needed": "needed",
         "clamped": "clamped", "load": "load"}


@dataclass(frozen=True)
class When:
    """The steps (indices in the whole walk) at which things of a stage come and go."""

    first: int
    clamps: int
    off: int


def stages(rehearsal: Rehearsal, book: Book) -> tuple[list[Json], list[Json]]:
    """Return the stages, and the steps of all of them one after another."""
    found: list[Json] = []
    walked: list[Json] = []
    out = outs(rehearsal)
    before: set[str] = set()
    seen: set[int] = set()
    for k, stage in enumerate(s for s in rehearsal.plan.stages if s.parts):
        frame = move(z=stage.rest.blocks) @ stage.rest.frame
        there = standing_in(rehearsal.assembly, stage.name).moved(frame)
        at = np.vstack([there.vertices(n, stage.done) for n in stage.parts])
        low, high = at.min(axis=0), at.max(axis=0)
        here = set(stage.parts)
        telling = Telling(rehearsal, stage, there, frame, book, steps.units(stage, rehearsal.plan),
                          float(np.linalg.norm(high - low)),
                          [(n, f) for n, f in enumerate(rehearsal.findings) if not f.parts or here & set(f.parts)],
                          out.get(stage.number, ()), seen)
        own = [{**step, "stage": k} for step in told(telling)]
        when = _when(own, len(walked))
        found.append(_stage(rehearsal, stage, book, {
            "pieces": [{"part": book.part(n), "at": rows(there.frames[n]), "before": n in before,
                        "shape": book.shape(there.solid(n, stage.done))} for n in stage.parts],
            "things": things(stage, there, frame, book, rehearsal.design.unit, when),
            "first": len(walked), "end": len(walked) + len(own), "box": [vector(low), vector(high)]}))
        walked += own
        before |= here
    return found, walked


def _when(own: list[Json], first: int) -> When:
    kinds = [step["kind"] for step in own]
    clamps = kinds.index("clamp") if "clamp" in kinds else len(kinds)
    off = kinds.index("wait") + 1 if "wait" in kinds else len(kinds)
    return When(first, first + clamps, first + off)


def _stage(rehearsal: Rehearsal, stage: Stage, book: Book, more: Json) -> Json:
    design = rehearsal.design
    bench = design.shop.bench
    unit, minutes = design.unit, stage.minutes
    titled = f"Stage {stage.number}"
    ready = {group: name.onto for group, name in steps.units(stage, rehearsal.plan).items()}
    says = [glue_ups.lying(stage, unit), glue_ups.laid_out(stage, design, ready), *glue_ups.glue(stage, design),
            *glue_ups.clamps(stage, unit, rehearsal.findings), steps.afterwards(stage, design),
            *glue_ups.time(stage, design.shop.people),
            f"It then weighs {words.weight(stage.mass_kg, unit)}, {words.overall(stage.size_mm, unit)}."]
    return {"number": stage.number, "name": shown(stage.name),
            "title": titled if stage.name == f"glue-up {stage.number}" else f"{titled}: {shown(stage.name)}",
            "on": stage.rest.on, "bench": [bench.length, bench.width] if stage.rest.on == "bench" else None,
            "time": {word: round(float(minutes.get(name, 0.0)), 2) for word, name in TIMES.items()},
            "people": design.shop.people, "says": [s for s in says if s], **more}
