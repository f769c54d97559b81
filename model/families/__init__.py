"""The families of structures: one file a family, one line here."""

from __future__ import annotations

from model.families.arch_gateway import ARCH_GATEWAY
from model.families.closed_ring import CLOSED_RING
from model.families.family import Family
from model.families.post_and_rail import POST_AND_RAIL

FAMILIES: dict[str, Family] = {f.name: f for f in (ARCH_GATEWAY, CLOSED_RING, POST_AND_RAIL)}
