"""The families of structures: one file a family, one line here."""

from __future__ import annotations

from model.families.family import Family

FAMILIES: dict[str, Family] = {}
