"""Completion: a stage that goes together becomes a glue-up that can be carried out.

How it lies, what clamps it, how long it takes, who lifts it: station by station, each adding
what it worked out and saying what stands in the way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from assembly.findings import Finding
from assembly.placing import Assembly
from assembly.plan import Stage
from assembly.pressure import clamped
from assembly.stance import lifts, rested
from assembly.timing import slow, timed
from model.design import Shop


def completed(assembly: Assembly, shop: Shop, stage: Stage, before: Sequence[Stage]) -> tuple[Stage, list[Finding]]:
    """Return a stage with its rest, clamps, glue and times, and what was noticed; `before`: the stages made so far.

    `assembly` is the work as it stands in the stage. A stage without moves (its pieces lock) is left as it is.
    """
    if not stage.moves:
        return stage, []
    lying, unsteady = rested(assembly, shop, stage)
    pressed, unpressed = clamped(assembly, shop, lying)
    done = timed(assembly, shop, pressed)
    found = [*unsteady, *unpressed, *lifts(assembly, shop, done, before), *slow(assembly, shop, done)]
    return done, [replace(f, stage=f.stage or stage.name) for f in found]
