"""The table of the proof: kind by kind what was planted, and what was seen of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from tests.seeded.mistake import Judged, Mistake
from tests.seeded.planters import PLANTERS

WIDE = 42


@dataclass
class Table:
    """Counts by kind of mistake, and those that were missed."""

    rows: dict[str, list[int]] = field(default_factory=dict)
    missed: list[tuple[Mistake, Judged]] = field(default_factory=list)

    def add(self, mistake: Mistake, seen: Judged) -> None:
        """Count one mistake."""
        row = self.rows.setdefault(mistake.name, [0] * 6)
        for k, true in enumerate((True, seen.found, seen.kind, seen.parts, seen.amount, seen.first)):
            row[k] += true
        if not seen.good:
            self.missed.append((mistake, seen))

    def lines(self) -> Iterable[str]:
        """Yield the lines of the table."""
        heads = ("planted", "found", "kind", "parts", "amount", "first")
        yield f"{'mistake':<{WIDE}}" + "".join(f"{head:>9}" for head in heads) + "   seen from"
        order = {p.name: p for p in PLANTERS}
        for name in [*(n for n in order if n in self.rows), *(n for n in self.rows if n not in order)]:
            yield f"{name:<{WIDE}}" + "".join(f"{n:>9}" for n in self.rows[name]) + (
                f"   {order[name].threshold}" if name in order else "")
        whole = [sum(row[k] for row in self.rows.values()) for k in range(6)]
        yield f"{'together':<{WIDE}}" + "".join(f"{n:>9}" for n in whole)
        yield ""
        yield from (f"not seen by design: {p.name}: {p.blind}" for p in PLANTERS if p.blind)
