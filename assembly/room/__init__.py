"""Room: whether the work, as large as it is by then, goes on the machines, through the doorway and into the vehicle.

From that follows where each stage is glued up: in the shop, or outside where what it makes could not be got out
again, or where it has to be joined on site. Only what the shop says it has is held against a plan. Whoever carries,
loads and drives it minds local rules on lifting and traffic.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from assembly.findings import Finding
from assembly.placing import Assembly
from assembly.plan import Stage
from assembly.room.beds import beds
from assembly.room.doorway import doorway
from assembly.room.flow import Flow
from assembly.room.vehicle import vehicle
from model.design import Shop

__all__ = ["sized"]


def sized(assembly: Assembly, shop: Shop, stages: Sequence[Stage]) -> tuple[tuple[Stage, ...], list[Finding]]:
    """Return the stages, each with where it is glued up, and what is to be said of sizes (kind "size").

    `stages` stand in an order in which they can be carried out. Not checked: room in the shop itself and on the way
    from the door to the vehicle; corners to be turned; weight.
    """
    flow = Flow(assembly, tuple(stages))
    found = beds(assembly, shop, stages)
    on_site, loading = vehicle(flow, shop)
    out, leaving = doorway(flow, shop, on_site)
    placed = tuple(replace(s, place="outside" if k in out else "shop") for k, s in enumerate(flow.stages))
    return placed, [*found, *leaving, *loading]
