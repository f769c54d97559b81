"""What holds for any options of any family: a sound structure, or a refusal that says which option and what instead."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hypothesis import event

from assembly.interference import overlaps
from assembly.placing import place
from model.design import Design
from model.errors import DraftError
from model.families import FAMILIES
from model.stock import Stock


def drafted(kind: str, given: Mapping[str, Any], stock: Mapping[str, Stock]) -> Design | None:
    """Return a family's design with options in mm and degrees, or None where it refuses them as it should."""
    family = FAMILIES[kind]
    try:
        return family.draft(kind, family.options.model_validate(given, context={"unit": "mm"}), stock).finish()
    except DraftError as refused:
        assert refused.key and refused.accepted
        return None


def standing_sound(design: Design | None) -> None:
    """Hold a design, where there is one, to closing, hanging together and staying clear of itself."""
    event("refused" if design is None else "made")
    if design is not None:
        standing = place(design)
        assert standing.open_loops == () and standing.loose == ()
        assert overlaps(standing) == ()
