"""The rehearsal: one whole run over a design, from placing to plan."""

from __future__ import annotations

from dataclasses import dataclass, replace

import networkx as nx

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
    """Place the parts, check the fit, work out the order and the stages."""
    return planned(fitted(design, share(progress, 0.0, 0.6)), share(progress, 0.6, 1.0))


def fitted(design: Design, progress: Progress = quiet) -> Rehearsal:
    """Place the parts and check the fit: a rehearsal with an empty plan and what the fit alone finds.

    Where a file has the parts in place without joints, what touches shares a seam (see `seams`), and the rehearsal's
    design has these.
    """
    progress("placing the parts", 0.0)
    design = seamed(design)
    assembly = place(design)
    progress("finding what touches", 0.1)
    patches = contacts(assembly)
    progress("checking the fit", 0.5)
    findings = check(assembly, design.shop)
    if design.standing:
        progress("looking which way each part can leave", 0.9)
        free_ways(assembly)
    progress("the fit is checked", 1.0)
    return Rehearsal(design, assembly, patches, findings, Plan((), nx.DiGraph()))


def planned(rehearsal: Rehearsal, progress: Progress = quiet) -> Rehearsal:
    """Work out the order and the stages of work whose fit has been checked.

    The plan is that of the work with its causes of misfit put right (see `causes`): it takes the parts the way
    round in which they have to go in.
    """
    progress("working out the order", 0.0)
    fit = rehearsal.findings
    made = plan(righted(rehearsal.assembly, fit), rehearsal.design.shop, progress)
    progress("rehearsed", 1.0)
    return replace(rehearsal, findings=by_harm((*fit, *made.findings)), plan=made)
