"""Thin wall: too little wood left around a mortise, slot, housing or lap."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assembly.checks.wording import place, side, small, spot
from assembly.findings import Amount, Finding, Severity
from assembly.placing import Assembly
from assembly.walls import Left, Wall, WallKind, left_around
from model.design import Shop
from model.frames import directions, points
from model.part import Feature

SLACK = 1e-3
"""A wall of a limit's own size is enough, to this, mm."""


@dataclass(frozen=True)
class Limit:
    """Least wood, mm: below `stop` the glue-up is stopped, below `warn` it is warned of."""

    stop: float
    warn: float


LIMITS: dict[WallKind, Limit] = {
    "cover": Limit(5.0, 10.0),
    "wall": Limit(2.0, 6.0),
    "between": Limit(2.0, 6.0),
    "floor": Limit(0.5, 1.0),
    "core": Limit(0.5, 1.0),
    "rib": Limit(0.0, 1.0),
}
"""What has to be left, by kind of wall (all: common practice, no source). A cover is sawn to a line on glued-up work,
so more is asked of it than of a wall. A floor under a blind pocket only closes it, nothing bears on it sideways: it is
asked for what a kind of joint leaves at least. So is the core of a bridle, whose own proportions (thirds of the
piece) are its walls, and a rib beside a lap or housing, which holds by its bottom and stands open at the sides in any
case: a rib that breaks off costs a stop to lay the piece against, and no hold; it never stops the glue-up."""


def thin_wall(assembly: Assembly, shop: Shop) -> list[Finding]:
    """Find pockets with too little wood between them and the outside of their part, or another pocket of it.

    Looked at: every mortise, slot, housing and lap of every placed part, as cut, before any
    glue and after each stage behind which the part is cut again; what gets thin only by such a
    cut is told late. Least distances are exact on the faceted solids (curves within 0.005 mm);
    one finding for each pocket and kind of wall, at its thinnest place; two pockets that run
    into each other are told with 0 mm between them. LIMITS says from where on. Not promised:
    wood beside a face nearly flush with the mouth's (a chamfer flatter than 30 degrees), walls
    in which a hole was bored that is no joint's, whether a wall thick enough is strong enough.
    Where a pocket comes out of the wood, exposed-joint tells.
    """
    findings: list[Finding] = []
    for name in assembly.names:
        left = left_around(assembly.design, assembly.part(name))
        for kind in LIMITS:
            thinnest: dict[tuple[int, int | None], Wall] = {}
            for wall in left.walls:
                key = wall.pocket, wall.other
                if wall.kind == kind and (key not in thinnest or wall.left < thinnest[key].left):
                    thinnest[key] = wall
            findings.extend(_finding(_Thin(assembly, name, left, wall)) for wall in thinnest.values()
                            if wall.left < LIMITS[kind].warn - SLACK)
    return findings


@dataclass(frozen=True, eq=False)
class _Thin:
    """A wall too thin, of a placed part."""

    assembly: Assembly
    name: str
    left: Left
    wall: Wall

    @property
    def pocket(self) -> Feature:
        return self.left.pockets[self.wall.pocket]

    @property
    def other(self) -> Feature | None:
        return None if self.wall.other is None else self.left.pockets[self.wall.other]

    @property
    def stage(self) -> str:
        return self.left.stages[self.wall.step]

    @property
    def limit(self) -> Limit:
        return LIMITS[self.wall.kind]

    @property
    def severity(self) -> Severity:
        return "stop" if self.wall.left < self.limit.stop - SLACK else "warn"

    def says(self, mm: float) -> str:
        return small(mm, self.assembly.design.unit)

    @property
    def more(self) -> str:
        """How much more wood is wanted."""
        return self.says(self.limit.warn - self.wall.left + self.wall.runs)


def _finding(thin: _Thin) -> Finding:
    frame = thin.assembly.frames[thin.name]
    where = points(frame, thin.wall.at)
    face = outside(thin.assembly, thin.name, directions(frame, thin.wall.way))
    message, remedy = _between(thin) if thin.other is not None else _to_outside(thin, face)
    joints = tuple(dict.fromkeys(f.joint for f in (thin.pocket, thin.other) if f is not None and f.joint))
    return Finding("thin-wall", thin.severity, (thin.name,),
                   f"{message}, {spot(thin.assembly, thin.name, where)}; {_asked(thin)}.", remedy, place(where),
                   Amount(round(thin.wall.left, 3), "mm"), joints, thin.stage, bool(thin.stage))


def _to_outside(thin: _Thin, face: str) -> tuple[str, str]:
    pocket, left, more = called(thin.pocket), thin.says(thin.wall.left), thin.more
    if thin.wall.kind == "cover":
        cut = later_cut(thin.assembly, thin.name, thin.stage)
        was = "" if thin.wall.before is None else f" of the {thin.says(thin.wall.before)}"
        return (f"{thin.name} is left with {left}{was} of wood over {pocket} once its {cut} is sawn after {thin.stage}",
                f"Move {pocket} {more} away from the {cut}, make it {more} narrower or shallower there, or saw the "
                f"{cut} {more} farther off.")
    if thin.wall.kind == "floor":
        return (f"{thin.name} has {left} of wood left under {pocket}, to {face}",
                f"Make {pocket}, and what goes into it, {more} shallower.")
    if thin.wall.kind == "core":
        return (f"{thin.name} has {left} of wood left beside {pocket}, to {face}",
                f"Make {pocket} {more} narrower on that side.")
    return (f"{thin.name} has {left} of wood left between {pocket} and {face}",
            f"Move {pocket} {more} away from there, or make it {more} narrower on that side.")


def _between(thin: _Thin) -> tuple[str, str]:
    assert thin.other is not None
    one, other, more = called(thin.pocket), called(thin.other), thin.more
    if thin.wall.kind == "core":
        return (f"{thin.name} has {thin.says(thin.wall.left)} of wood left between the two cuts of {one}",
                f"Make them {more} narrower together.")
    if thin.wall.runs > 0:
        into = f"In {thin.name}, {one} and {other} run {thin.says(thin.wall.runs)} into each other"
        if thin.stage:
            into += f": the one cut after {thin.stage} would be cut into what is glued into the other"
        return into, (f"Make one of the two {more} shallower, or move one aside until {thin.says(thin.limit.warn)} of "
                      f"wood is left between them.")
    return f"{thin.name} has {thin.says(thin.wall.left)} of wood left between {one} and {other}", (
        f"Move {one} or {other} {more} away from the other, or make one of them {more} less deep or wide.")


def _asked(thin: _Thin) -> str:
    where = {"floor": "under", "cover": "over", "between": "around", "rib": "beside"}.get(thin.wall.kind, "beside")
    return f"{thin.says(thin.limit.warn)} is the least to leave {where} a {thin.pocket.role}"


def called(pocket: Feature) -> str:
    """Return what a pocket is called in a sentence: "the mortise of rail_3_end"."""
    return f"the {pocket.role} of {pocket.joint}"


def outside(assembly: Assembly, name: str, way: NDArray[np.float64]) -> str:
    """Return the side of a part that looks along a direction of the world, "its outside" where it has no name."""
    found = side(assembly, name, way)
    return "its outside" if found == name else found


def later_cut(assembly: Assembly, name: str, stage: str) -> str:
    """Return what is cut off a part after a stage: "curve"."""
    roles = dict.fromkeys(f.role for f in assembly.part(name).features if f.after == stage)
    return next(iter(roles)) if len(roles) == 1 else "later cut"
