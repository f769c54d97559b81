"""The checks: one file a check, one line here."""

from __future__ import annotations

from collections.abc import Callable

from assembly.causes import CAUSES, righted
from assembly.checks.apart import apart
from assembly.checks.backwards import backwards
from assembly.checks.exposed_joint import exposed_joint
from assembly.checks.fit import fit
from assembly.checks.gap import gap
from assembly.checks.grain import grain
from assembly.checks.handed import handed
from assembly.checks.interference import interference
from assembly.checks.look_alike import look_alike
from assembly.checks.proud import proud
from assembly.checks.thin_wall import thin_wall
from assembly.checks.unmatched import unmatched
from assembly.findings import Finding, by_harm
from assembly.placing import Assembly
from model.design import Shop

Check = Callable[[Assembly, Shop], list[Finding]]

CHECKS: tuple[Check, ...] = (backwards, handed, look_alike, interference, gap, fit, unmatched, thin_wall, exposed_joint,
                             proud, grain)
IN_PLACE: tuple[Check, ...] = (handed, look_alike, interference, apart)
"""The checks for parts that stand where a file has them. What the others hold against, joints, cuts, stock, grain and a
drawing, no mesh file says."""


def check(assembly: Assembly, shop: Shop) -> tuple[Finding, ...]:
    """Return what every check finds, worst first; what follows from a cause is not told beside it (see `causes`)."""
    checks = IN_PLACE if assembly.design.standing else CHECKS
    first = [one for one in checks if one.__name__.replace("_", "-") in CAUSES]
    causes = [finding for one in first for finding in one(assembly, shop)]
    right = righted(assembly, causes)
    return by_harm([*causes, *(finding for one in checks if one not in first for finding in one(right, shop))])
