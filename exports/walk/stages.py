"""The stages of the walk: each glue-up as it lies in the shop, with what is there and when."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from assembly.plan import Stage
from assembly.rehearsal import Rehearsal
from exports import glue_ups, steps, words
from exports.names import shown
from exports.walk.book import Book, Json, rows, vector
from exports.walk.laid import Laid
from exports.walk.motions import offsets
from exports.walk.noticed import Noticed
from exports.walk.steps import Telling, outs, told
from exports.walk.things import When, things

TIMES = {"open": "open", "closed": "closed", "openUsed": "open used", "closedUsed": "closed used", "needed": "needed",
         "clamped": "clamped", "load": "load"}


def stages(rehearsal: Rehearsal, book: Book, laids: Sequence[Laid],
           noticed: Noticed) -> tuple[list[Json], list[Json]]:
    """Return the stages as they lie in the shop (`laids`), and the steps of all of them one after another."""
    found: list[Json] = []
    walked: list[Json] = []
    before: set[str] = set()
    for k, telling in enumerate(_tellings(rehearsal, book, laids, noticed)):
        own = [{**step, "stage": k} for step in told(telling)]
        here = telling.laid
        found.append({
            **_stage(telling), "pieces": _pieces(here, book, before),
            "things": things(here, book, rehearsal.design.unit, _when(own, len(walked))),
            "first": len(walked), "end": len(walked) + len(own), "box": _box(telling, own)})
        walked += own
        before.update(here.names)
    return found, walked


def _tellings(rehearsal: Rehearsal, book: Book, laids: Sequence[Laid], noticed: Noticed) -> Iterator[Telling]:
    out = outs(rehearsal)
    before: set[str] = set()
    for here in laids:
        yield Telling(rehearsal, here, book, steps.units(here.stage, rehearsal.plan), out.get(here.stage.number, ()),
                      [n for n in here.names if n not in before], noticed)
        before.update(here.names)


def _pieces(here: Laid, book: Book, before: set[str]) -> list[Json]:
    return [{"part": book.part(name), "at": at, "shape": book.shape(solid), "before": name in before}
            for name, at, solid in zip(here.names, rows(here.frames), here.solids, strict=True)]


def _box(t: Telling, own: list[Json]) -> list[list[int | float]]:
    """Return the box around all that lies there in the stage, what is made up beside the rest or moved off included."""
    here = t.laid
    if not here.names:
        return [[0, 0, 0], [0, 0, 0]]
    off = np.zeros((len(here.names), 3))
    row = {t.book.part(name): k for k, name in enumerate(here.names)}
    for step in own:
        for left in step["leaves"]:
            if left["stays"]:
                off[row[left["part"]]] = left["by"]
    beside = offsets(here, t.coming)
    lows = [here.low, here.low + off, here.low + beside]
    highs = [here.high, here.high + off, here.high + beside]
    return [vector(np.vstack(lows).min(axis=0)), vector(np.vstack(highs).max(axis=0))]


def _when(own: list[Json], first: int) -> When:
    """Return when things come and go: blocks lie beneath to the end, clamps come off after the wait."""
    kinds = [step["kind"] for step in own]
    clamps = kinds.index("clamp") if "clamp" in kinds else len(kinds)
    off = kinds.index("wait") + 1 if "wait" in kinds else len(kinds)
    return When(first, first + clamps, first + off, first + len(kinds))


def _stage(t: Telling) -> Json:
    stage, design, unit = t.stage, t.design, t.unit
    ready = {group: name.onto for group, name in t.called.items()}
    says = [glue_ups.lying(stage, unit) if stage.actions else "", glue_ups.laid_out(stage, design, ready),
            *glue_ups.glue(stage, design), *glue_ups.clamps(stage, unit, t.rehearsal.findings),
            steps.afterwards(stage, design), *glue_ups.time(stage, design.shop.people),
            f"It then weighs {words.weight(stage.mass_kg, unit)}, {words.overall(stage.size_mm, unit)}."
            if stage.mass_kg > 0 else ""]
    return {"number": stage.number, "name": shown(stage.name), "title": _title(stage), "on": stage.rest.on,
            "frame": rows(t.laid.frame), "bench": _bench(t),
            "time": {word: _minutes(stage, name) for word, name in TIMES.items()},
            "people": design.shop.people, "says": [s for s in says if s]}


def _title(stage: Stage) -> str:
    numbered = f"Stage {stage.number}"
    return numbered if stage.name == f"glue-up {stage.number}" else f"{numbered}: {shown(stage.name)}"


def _minutes(stage: Stage, name: str) -> float:
    return round(float(stage.minutes.get(name, 0.0)), 2)


def _bench(t: Telling) -> list[int | float] | None:
    """Return the bench's top along x and y, laid the long way of the work; None where the work is on the floor."""
    if t.stage.rest.on != "bench":
        return None
    bench, low, high = t.design.shop.bench, t.laid.low, t.laid.high
    wide, deep = (high.max(axis=0) - low.min(axis=0))[:2] if len(low) else (1.0, 0.0)
    return vector([bench.length, bench.width] if wide >= deep else [bench.width, bench.length], 1)
