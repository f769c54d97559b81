"""The checks: one file a check, one line here."""

from __future__ import annotations

from collections.abc import Callable

from assembly.checks.backwards import backwards
from assembly.checks.exposed_joint import exposed_joint
from assembly.checks.gap import gap
from assembly.checks.interference import interference
from assembly.checks.thin_wall import thin_wall
from assembly.checks.unmatched import unmatched
from assembly.findings import Finding, by_harm
from assembly.placing import Assembly
from model.design import Shop

Check = Callable[[Assembly, Shop], list[Finding]]

CHECKS: tuple[Check, ...] = (backwards, interference, gap, unmatched, thin_wall, exposed_joint)


def check(assembly: Assembly, shop: Shop) -> tuple[Finding, ...]:
    """Return what every check finds, worst first."""
    return by_harm(finding for one in CHECKS for finding in one(assembly, shop))
