"""What is said of the clamps of a stage: what is missing and the cheapest way out, what the pads ask for."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from assembly.findings import Amount, Finding
from assembly.glue_up import named
from assembly.plan import Stage
from assembly.pressure.bands import Band
from assembly.pressure.options import Bar
from model.glues import recognised
from model.shop import ClampStock, Shop
from model.units import show


@dataclass(frozen=True, eq=False)
class Set:
    """A clamp chosen: what it is, the joints it presses, the names of the work's parts, whether the shop has it."""

    made: Bar | Band
    joints: tuple[str, ...]
    names: tuple[str, ...]
    owned: bool

    @property
    def kind(self) -> Literal["bar", "band"]:
        """Whether it is a bar or a band."""
        return "bar" if isinstance(self.made, Bar) else "band"

    @property
    def opening(self) -> float:
        """How far the bar opens, or how long the band is, mm."""
        return self.made.line.opening if isinstance(self.made, Bar) else self.made.length

    @property
    def reach(self) -> float:
        """How deep the bar's throat is, mm; 0 for a band."""
        return self.made.room.reach if isinstance(self.made, Bar) and self.made.room is not None else 0.0

    @property
    def blocks(self) -> float:
        """How much higher the work must lie for it, mm."""
        return self.made.room.blocks if isinstance(self.made, Bar) and self.made.room is not None else 0.0


def told(shop: Shop, stage: Stage, sets: Sequence[Set], bare: Sequence[str], blocks: float,
         unit: str) -> list[Finding]:
    """Return what there is to say of a stage's clamps, of the joints that nothing presses, of blocks (mm) beneath.

    `unit`: the one that a person reads.
    """
    lines = [(s, s.made.line) for s in sets if isinstance(s.made, Bar)]
    leaning = [(s.joints, line.lean) for s, line in lines if line.asks == "caul"]
    uneven = [s.joints for s, line in lines if line.asks == "block"]
    spread = [(s.joints, line.block) for s, line in lines if line.block]
    found = [*_bare(shop, stage, bare), *_missing(shop, stage, sets, "bar", unit),
             *_missing(shop, stage, sets, "band", unit)]
    if blocks:
        found.append(_note(stage, f"bars and screws need room beneath the work, which lies {show(blocks, unit)} "
                           "too low", f"Block it up by {show(blocks, unit)}; the plan counts on that",
                           Amount(round(blocks, 1), "mm"), ()))
    if leaning:
        most = math.degrees(max(lean for _, lean in leaning))
        found.append(_note(stage, f"the faces under the pads for {_several(j for j, _ in leaning)} lean by up to "
                           f"{most:.0f} degrees, so that a pad slips", "Cut a caul to the angle for each pad",
                           Amount(round(most, 1), "deg"), _joints(j for j, _ in leaning)))
    if uneven:
        found.append(_note(stage, f"the pads for {_several(uneven)} do not lie flat on firm wood: a curve, an edge, "
                           "a thin wall or the end of a tenon is under them",
                           "Lay a block under each that is cut to bear on the sound wood beside that",
                           Amount(float(len(uneven)), ""), _joints(uneven)))
    if spread:
        thick = max(block for _, block in spread)
        found.append(_note(stage, f"the pads are too small for {_several(j for j, _ in spread)} (pressure spreads at "
                           "45 degrees)", f"Lay a stiff block {show(thick, unit)} thick under each pad there; the "
                           "openings count on that", Amount(round(thick, 1), "mm"), _joints(j for j, _ in spread)))
    return [*found, *_stretched(stage, sets, unit), *_lightly(shop, stage)]


def light(shop: Shop) -> bool:
    """Whether the glue wants contact only."""
    glue = recognised(shop.glue)
    return glue is not None and "epoxy" in glue.name


def _bare(shop: Shop, stage: Stage, bare: Sequence[str]) -> list[Finding]:
    if not bare:
        return []
    helped = "Glue on ears to clamp to before, cut cauls to the angle of the faces, or press with wedges against a stop"
    if light(shop):
        helped = "Epoxy wants contact only: hold them together with tape, wedges or weights"
    severity: Literal["warn", "note"] = "note" if light(shop) else "warn"
    message = (f"stage {stage.name}: no bar finds two sound faces and room on a line through {named(bare)}, "
               "and no band goes round")
    return [Finding("clamps", severity, (), message, helped, None, Amount(float(len(bare)), ""),
                    tuple(bare), stage=stage.name)]


def _missing(shop: Shop, stage: Stage, sets: Sequence[Set], kind: Literal["bar", "band"],
             unit: str) -> list[Finding]:
    """Return what the shop has too few of, or none that is long or deep enough."""
    here = [s for s in sets if s.kind == kind]
    short = [s for s in here if not s.owned]
    if not short or not shop.clamps:
        return []
    stock = [c for c in shop.clamps if c.kind == kind and c.count > 0]
    why = list(dict.fromkeys(_why(s, stock, kind, unit) for s in sorted(short, key=lambda s: (-s.opening, -s.reach))))
    word = "bar clamp" if kind == "bar" else "band"
    longest, deepest = show(math.ceil(max(s.opening for s in short)), unit), show(max(s.reach for s in short), unit)
    throat = f" with a throat of {deepest}" if any("throat" in w for w in why) else ""
    size = f" that opens {longest}{throat}" if kind == "bar" else f", {longest} long; two hooked end to end do as well"
    much = f"{len(here)} are needed at once" if len(here) > 1 else "1 is needed"
    split = ", or close some of the joints in a further stage" if len(sets) > 1 else ""
    made = short[0].made
    return [Finding("clamps", "stop", (), f"stage {stage.name}: {_count(len(short), word)} missing; {much}, there "
                    f"{'is' if _total(stock) == 1 else 'are'} {_total(stock)}. {' '.join(why)}",
                    f"Get {_count(len(short), word)} more{size}{split}",
                    made.line.at(0.0) if isinstance(made, Bar) else made.foot, Amount(float(len(short)), ""),
                    _joints(s.joints for s in short), stage=stage.name)]


def _why(one: Set, stock: Sequence[ClampStock], kind: str, unit: str) -> str:
    """Return why no clamp is left for one: too short, too shallow, or all in use."""
    long_enough = [c for c in stock if c.opening >= one.opening - 1e-6]
    where, needed = named(one.joints), math.ceil(one.opening - 1e-6)
    if not long_enough:
        most = max((c.opening for c in stock), default=0.0)
        longest, short = show(most, unit), show(needed - most, unit)
        if kind == "band":
            has = f"the longest is {longest}, {short} too short" if most else "there is none"
            return f"The way round {where} is {show(needed, unit)}; {has}."
        has = f"the longest opens {longest}, {short} too little" if most else "there is none"
        return f"For {where} it has to open {show(needed, unit)}; {has}."
    if kind == "bar" and all(c.reach != one.reach for c in long_enough):
        throats = ", ".join(show(r, unit) for r in sorted({c.reach for c in long_enough}))
        return f"For {where} its throat has to be {show(one.reach, unit)}; those that open so far have {throats}."
    return f"All that {f'open {show(needed, unit)}' if kind == 'bar' else 'are long enough'} are in use."


def _stretched(stage: Stage, sets: Sequence[Set], unit: str) -> list[Finding]:
    stretched = [(s.joints, s.made.stretcher) for s in sets if isinstance(s.made, Band) and s.made.stretcher]
    return [_note(stage, f"the band for {named(joints)} runs across an open side, and draws its ends together",
                  f"Hold the ends apart with a stretcher of about {show(mm, unit)} along the band there",
                  Amount(round(mm, 1), "mm"), joints) for joints, mm in stretched]


def _lightly(shop: Shop, stage: Stage) -> list[Finding]:
    if not stage.clamps or not light(shop):
        return []
    return [_note(stage, "epoxy wants contact only; hard pressure starves the joint of glue",
                  "Draw the clamps up until the joints are closed, and no further", None, ())]


def _note(stage: Stage, message: str, remedy: str, amount: Amount | None, joints: tuple[str, ...]) -> Finding:
    return Finding("clamps", "note", (), f"stage {stage.name}: {message}", remedy, None, amount, joints,
                   stage=stage.name)


def _joints(some: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(n for joints in some for n in joints))


def _several(some: Iterable[tuple[str, ...]]) -> str:
    return named(_joints(some))


def _total(stock: Sequence[ClampStock]) -> int:
    return sum(c.count for c in stock)


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'s' * (number != 1)}"
