"""What is said of steps between faces that were to be flush: how far, where, what to take off, to which size."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import degrees

from assembly.checks.wording import SAID, capital, listed, place, side, small, spot
from assembly.contacts import names_between
from assembly.findings import Amount, Finding
from assembly.flushness import Step, seams
from assembly.placing import Assembly, as_drawn
from assembly.surface import Surface, surface
from model.part import Part

STANDS_OUT = 0.1
"""A step of so many mm is felt by hand (common practice, no source)."""
ROUNDING = 1e-6
"""What is on a limit counts as reaching it."""
LEANING = 0.05
"""An angle of so many degrees is told beside a step."""
SAID_FROM = 0.005
"""A size or angle that differs by less than this, mm or degrees, is said to be the same."""
ACROSS = {"face": "back", "back": "face", "edge": "far_edge", "far_edge": "edge", "start": "end", "end": "start"}
"""The place on the other side of a piece."""
MEASURED = {"face": "thick", "back": "thick", "edge": "wide", "far_edge": "wide", "start": "long", "end": "long"}
"""What a piece measures across a place."""


@dataclass(frozen=True, eq=False)
class Cut:
    """All steps at which one part is to be worked, or to be cut anew."""

    part: str
    steps: tuple[Step, ...]

    @cached_property
    def worst(self) -> Step:
        """The step that stands out most."""
        return max(self.steps, key=lambda s: (s.amount, s.angle))

    @property
    def others(self) -> tuple[str, ...]:
        """The parts on the other side of the steps."""
        return tuple(dict.fromkeys(s.low if s.proud == self.part else s.proud for s in self.steps))


def size(part: Part, place_name: str) -> float:
    """Return what a part measures across one of its places, mm."""
    blank = part.blank
    return {"thick": blank.thickness, "wide": blank.width, "long": blank.length}[MEASURED[place_name]]


def smaller(assembly: Assembly, step: Step) -> bool:
    """Whether the low part measures less across the low face than in the drawing."""
    now, then = assembly.part(step.low), as_drawn(assembly).part(step.low)
    name = surface(now).place(step.low_face)
    return name in MEASURED and size(now, name) < size(then, name) - SAID_FROM


def larger(assembly: Assembly, step: Step) -> bool:
    """Whether the proud part measures more across the proud face than in the drawing."""
    now, then = assembly.part(step.proud), as_drawn(assembly).part(step.proud)
    name = surface(now).place(step.face)
    return name in MEASURED and size(now, name) > size(then, name) + SAID_FROM


def is_short_tenon(assembly: Assembly, step: Step) -> bool:
    """Whether a step is over the end of a tenon, in a part that is no larger than drawn."""
    maker = surface(assembly.part(step.low)).made_by(step.low_face)
    return (maker is not None and maker.operation == "add" and not larger(assembly, step)
            and step.amount >= STANDS_OUT - ROUNDING)


def short_tenon(assembly: Assembly, cut: Cut) -> Finding:
    """Return what is said of a part whose tenons end below what they were to be flush with."""
    worst, amount = cut.worst, small(cut.worst.amount, assembly.design.unit)
    return Finding(
        "proud", "warn", (cut.part, *cut.others),
        f"The tenon of {cut.part} ends {amount} below {side(assembly, worst.proud, worst.normal)}; it was to be flush.",
        f"Cut a tenon {amount} longer; one that stays below shows as a hollow, and holds water.",
        place(worst.where), Amount(round(worst.amount, 4), "mm"), _joints(assembly, cut))


def cut_anew(assembly: Assembly, cut: Cut) -> Finding:
    """Return what is said of a part that came out too small and alone lies low."""
    worst, unit = cut.worst, assembly.design.unit
    outer = surface(assembly.part(cut.part))
    name = outer.place(worst.low_face)
    was, now = (size(w.part(cut.part), name) for w in (as_drawn(assembly), assembly))
    face, amount = side(assembly, cut.part, worst.normal), small(worst.amount, unit)
    return Finding(
        "proud", "warn", (cut.part, *cut.others),
        f"{capital(face)} lies {amount} below {listed(cut.others)}, with which it was to be flush: "
        f"{cut.part} is {small(now, unit)} {MEASURED[name]} instead of {small(was, unit)}.",
        f"Cut {cut.part} anew, {small(was, unit)} {MEASURED[name]}; otherwise all that is flush with it there has to "
        f"come down by {amount}: {listed(cut.others)} first.",
        place(worst.where), Amount(round(worst.amount, 4), "mm"), _joints(assembly, cut))


def take_off(assembly: Assembly, cuts: Sequence[Cut]) -> Iterator[Finding]:
    """Yield what is said of parts that stand proud; parts of one group with the same to take off are told together."""
    together: dict[object, list[_Off]] = {}
    for cut in cuts:
        off = _Off(assembly, cut)
        together.setdefault(off.same, []).append(off)
    for alike in together.values():
        yield _told(assembly, alike)


@dataclass(frozen=True, eq=False)
class _Off:
    """What one part has too much of."""

    assembly: Assembly
    cut: Cut

    @cached_property
    def outer(self) -> Surface:
        return surface(self.assembly.part(self.cut.part))

    @cached_property
    def sides(self) -> dict[int, Step]:
        """The worst step on each face, by its number."""
        worst: dict[int, Step] = {}
        for step in self.cut.steps:
            if step.face not in worst or step.amount > worst[step.face].amount:
                worst[step.face] = step
        return worst

    @cached_property
    def place(self) -> str:
        return self.outer.place(self.cut.worst.face)

    @property
    def tenon(self) -> bool:
        """Whether what stands out was grown onto the part."""
        maker = self.outer.made_by(self.cut.worst.face)
        return maker is not None and maker.operation == "add"

    @cached_property
    def at(self) -> dict[str, float]:
        """How far it stands out at each of its places, mm."""
        return {name: s.amount for face, s in self.sides.items() if (name := self.outer.place(face)) in MEASURED}

    @cached_property
    def new(self) -> dict[str, float]:
        """The sizes to bring it to, mm, by what they measure ("thick"); none where that cannot be said of it."""
        if self.part.blank.shape == "tapered leg":
            return {}
        off: dict[str, float] = {}
        for name, mm in self.at.items():
            off[MEASURED[name]] = off.get(MEASURED[name], 0.0) + mm
        return {MEASURED[name]: size(self.part, name) - off[MEASURED[name]] for name in self.at}

    @property
    def part(self) -> Part:
        return self.assembly.part(self.cut.part)

    @property
    def same(self) -> object:
        """What has to be the same for two parts to be told together."""
        worst = self.cut.worst
        sides = tuple(sorted((n, round(v, 2)) for n, v in self.at.items()))
        return (self.part.group if self.place else self.cut.part, self.place, sides, round(worst.amount, 2),
                round(degrees(worst.angle), 2), tuple((n, round(v, 2)) for n, v in self.new.items()),
                self.cut.part if self.tenon or worst.amount < STANDS_OUT - ROUNDING else "")

    @cached_property
    def shifted(self) -> bool:
        """Whether neither it is larger than drawn there nor what it stands out from smaller."""
        face = self.cut.worst.face
        low = (smaller(self.assembly, s) for s in self.cut.steps if s.face == face)
        return not larger(self.assembly, self.cut.worst) and not any(low)

    @cached_property
    def faced(self) -> bool:
        """Whether its other side is to be flush with something too, so that its size has to be right."""
        across = ACROSS.get(self.place, "")
        drawn = as_drawn(self.assembly).part(self.cut.part)
        face = surface(drawn).at_place(across) if across else None
        return face is not None and any((self.cut.part, face) in ((s.a, s.face_a), (s.b, s.face_b))
                                        for s in seams(as_drawn(self.assembly)) if s.flush)


def _told(assembly: Assembly, alike: Sequence[_Off]) -> Finding:
    first = max(alike, key=lambda o: o.cut.worst.amount)
    worst = first.cut.worst
    parts = tuple(o.cut.part for o in alike)
    others = tuple(n for n in dict.fromkeys(n for o in alike for n in o.cut.others) if n not in parts)
    steps = worst.amount >= STANDS_OUT - ROUNDING
    amount = Amount(round(worst.amount, 4), "mm") if steps else Amount(round(degrees(worst.angle), 4), "deg")
    say = _Say(assembly, first, parts, others)
    message, remedy = say.stepped() if steps else say.askew()
    return Finding("proud", "warn", (*parts, *others), message, remedy, place(worst.where), amount,
                   tuple(dict.fromkeys(j for o in alike for j in _joints(assembly, o.cut))))


@dataclass(frozen=True, eq=False)
class _Say:
    """The sentences about parts that stand proud alike: the first, all their names, what they stand out from."""

    assembly: Assembly
    first: _Off
    parts: tuple[str, ...]
    others: tuple[str, ...]

    @property
    def worst(self) -> Step:
        return self.first.cut.worst

    @property
    def amount(self) -> str:
        return self.says(self.worst.amount)

    @property
    def face(self) -> str:
        return SAID.get(self.first.place, "outside")

    @property
    def where(self) -> str:
        return spot(self.assembly, self.worst.proud, self.worst.where)

    def says(self, mm: float) -> str:
        return small(mm, self.assembly.design.unit)

    def askew(self) -> tuple[str, str]:
        angle = f"{degrees(self.worst.angle):.2f} degrees"
        return (f"The {self.face} of {listed(self.parts)} and {listed(self.others)} were to be flush; they are {angle} "
                f"out of one plane, {self.where}.",
                f"Recut the joint between them by {angle}, or plane the two level once they are glued.")

    def stepped(self) -> tuple[str, str]:
        lean = degrees(self.worst.angle)
        leaning = f", and {lean:.2f} degrees out of its plane" if lean >= LEANING else ""
        stand = "stands" if len(self.parts) == 1 else "stand"
        if self.first.tenon:
            return (f"The tenon of {listed(self.parts)} {stand} {self.amount} proud of "
                    f"{side(self.assembly, self.worst.low, self.worst.normal)}{leaning}; it was to be flush.",
                    f"Pare {self.amount} off its end once it is glued, or cut it as much shorter now.")
        was = "it was" if len(self.parts) == 1 else "they were"
        return (f"{listed(self.parts)} {stand} {self._on_sides()}{leaning}, {self.where}; {was} to be flush with "
                f"{listed(self.others)}.", self._remedy())

    def _on_sides(self) -> str:
        return " and ".join(f"{self.says(mm)} proud on the {SAID.get(name, 'outside')}" for name, mm in self.sides)

    @property
    def sides(self) -> list[tuple[str, float]]:
        """The places it stands out at and how far, mm, the worst first."""
        found = sorted(self.first.at.items(), key=lambda at: -at[1])
        return [at for at in found if at[1] >= STANDS_OUT - ROUNDING] or [("", self.worst.amount)]

    def _remedy(self) -> str:
        names, new = listed(self.parts), self.first.new
        off = " and ".join(f"{self.says(mm)} off the {SAID.get(side, 'outside')}" for side, mm in self.sides)
        if not new:
            return f"Plane {off} of {names}, down to what it is to be flush with."
        size = " and ".join(f"{self.says(mm)} {word}" for word, mm in new.items())
        if self.first.shifted:
            return (f"Both have their size; it is their joint that brings them out of line. Cut it {self.amount} the "
                    f"other way, or plane {off} of {names} once it is glued.")
        if "long" in new:
            return f"Saw {off} of {names}, to {size}."
        if self.first.faced or len(self.sides) > 1:
            return f"Rip {names} to {size}: {off}."
        return f"Plane {off} of {names}, which makes it {size}."


def _joints(assembly: Assembly, cut: Cut) -> tuple[str, ...]:
    return tuple(name for other in cut.others for name in names_between(assembly.design, cut.part, other))
