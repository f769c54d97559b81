"""The rehearsal: one whole run over a design, from placing to plan."""

from __future__ import annotations

from dataclasses import dataclass

from assembly.causes import righted
from assembly.checks import check
from assembly.contacts import Patch, contacts
from assembly.findings import Finding, by_harm
from assembly.free import free_ways
from assembly.placing import Assembly, place
from assembly.plan import Plan
from assembly.seams import seamed
from assembly.stages import plan
from model.design import Design
from model.progress import Progress, quiet, share


@dataclass(frozen=True, eq=False)
class Rehearsal:
    """What one run over a design found: where all stands, what touches, what is wrong, how it goes together."""

    design: Design
    assembly: Assembly
    patches: tuple[Patch, ...]
    findings: tuple[Finding, ...]
    plan: Plan

    @property
    def stops(self) -> int:
        """How many findings stop the glue-up."""
        return sum(f.severity == "stop" for f in self.findings)


def rehearse(design: Design, progress: Progress = quiet) -> Rehearsal:
    """Place the parts, check the fit, work out the order and the stages.

    The plan is that of the work with its causes of misfit put right (see `causes`): it takes the parts the way
    round in which they have to go in. Where a file has the parts in place without joints, what touches shares a seam
    (see `seams`), and the rehearsal's design has these.
    """
    progress("placing the parts", 0.0)
    design = seamed(design)
    assembly = place(design)
    progress("finding what touches", 0.05)
    patches = contacts(assembly)
    progress("checking the fit", 0.3)
    fit = check(assembly, design.shop)
    if design.standing:
        progress("looking which way each part can leave", 0.55)
        free_ways(assembly)
    progress("working out the order", 0.6)
    planned = plan(righted(assembly, fit), design.shop, share(progress, 0.6, 1.0))
    progress("rehearsed", 1.0)
    return Rehearsal(design, assembly, patches, by_harm((*fit, *planned.findings)), planned)
