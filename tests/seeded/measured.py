"""Mistakes of size and place: a part or a cut came off the machine otherwise than drawn."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from numpy.random import Generator

from assembly.findings import Kind
from model.as_cut import CutAsCut, PartAsCut
from model.design import Design
from model.errors import DryfitError
from model.joint import Joint
from model.recut import recut
from model.recut.cuts import place_of
from model.shapes.mitred_board import MITRED_BOARD
from tests.seeded.mistake import Mistake
from tests.seeded.reasons import Tenoned, in_loops, placed, rails, seams, shuffled, staying, tenoned

Sized = tuple[dict[str, float], float]
"""The sizes measured of a cut, and how much must be found because of them."""
Change = Callable[[Tenoned], Sized]


def cut(design: Design, *measured: PartAsCut) -> Design | None:
    """Return the design as cut, or None where no part can come out so."""
    try:
        return recut(design, measured)
    except DryfitError:
        return None


def made(name: str, design: Design | None, kind: Kind | tuple[Kind, ...], parts: set[str], amount: float | None = None,
         unit: str = "mm") -> Mistake | None:
    """Return the mistake, or None where the design could not be made."""
    kinds = (kind,) if isinstance(kind, str) else kind
    return None if design is None else Mistake(name, design, kinds, frozenset(parts), amount, unit)


def error(rng: Generator, least: float, most: float) -> float:
    """Return a size drawn so that small ones come as often as large ones, to a hundredth."""
    return round(float(math.exp(rng.uniform(math.log(least), math.log(most)))), 2)


def _rail(design: Design, rng: Generator, sign: int, name: str) -> Mistake | None:
    for rail, _, _ in rails(design, rng):
        e = error(rng, 0.1, 10.0)
        return made(name, cut(design, PartAsCut(rail.name, length=rail.blank.length + sign * e)), "gap", {rail.name}, e)
    return None


def rail_long(design: Design, rng: Generator) -> Mistake | None:
    """A rail between two tenons is too long: its loop stays open by as much."""
    return _rail(design, rng, 1, "rail too long")


def rail_short(design: Design, rng: Generator) -> Mistake | None:
    """A rail between two tenons is too short: its loop stays open by as much."""
    return _rail(design, rng, -1, "rail too short")


def _off(design: Design, rng: Generator, on: str, along: bool, name: str) -> Mistake | None:
    for t in tenoned(design, rng, through=True):
        if t.joint.name not in in_loops(design):
            continue
        e = error(rng, 0.1, 20.0 if along and on == "b" else 5.0) * (1 if rng.random() < 0.5 else -1)
        off = CutAsCut(t.joint.name, along=e) if along else CutAsCut(t.joint.name, across=e)
        part = t.joint.a if on == "a" else t.joint.b
        return made(name, cut(design, PartAsCut(part, cuts=(off,))), "gap", {t.joint.a, t.joint.b}, abs(e))
    return None


def mortise_along(design: Design, rng: Generator) -> Mistake | None:
    """A mortise too far along its piece: the tenon goes where the mortise is, its loop stays open by as much."""
    return _off(design, rng, "b", True, "mortise off along")


def mortise_across(design: Design, rng: Generator) -> Mistake | None:
    """A mortise off across its piece."""
    return _off(design, rng, "b", False, "mortise off across")


def tenon_off(design: Design, rng: Generator) -> Mistake | None:
    """A tenon off the middle of its end."""
    return _off(design, rng, "a", bool(rng.random() < 0.5), "tenon off its place")


def resized(design: Design, rng: Generator, name: str, kind: Kind, on: str, change: Change, *, through: bool = True,
            takes: Callable[[Tenoned], bool] = lambda t: True) -> Mistake | None:
    """Plant a size that `change` gives a tenon (on "a") or a mortise (on "b"), with the amount to be found."""
    for t in tenoned(design, rng, through=through):
        if takes(t):
            sizes, amount = change(t)
            part = t.joint.a if on == "a" else t.joint.b
            again = cut(design, PartAsCut(part, cuts=(CutAsCut(t.joint.name, **sizes),)))
            return made(name, again, kind, {t.joint.a, t.joint.b}, amount)
    return None


def mortise_shallow(design: Design, rng: Generator) -> Mistake | None:
    """A mortise less deep than its tenon is long: the shoulder stays open by the difference."""
    def change(t: Tenoned) -> Sized:
        e = error(rng, 0.1, min(8.0, 0.4 * t.tenon.sizes["depth"]))
        return {"depth": t.tenon.sizes["depth"] - e}, e

    return resized(design, rng, "mortise too shallow", "gap", "b", change, through=False)


def tenon_long(design: Design, rng: Generator) -> Mistake | None:
    """A tenon longer than its mortise is deep: the shoulder stays open by the difference."""
    def change(t: Tenoned) -> Sized:
        e = error(rng, 0.1, 8.0)
        return {"depth": t.mortise.sizes["depth"] + e}, e

    return resized(design, rng, "tenon too long", "gap", "a", change, through=False)


def mortise_tight(design: Design, rng: Generator) -> Mistake | None:
    """A mortise narrower than its tenon is thick: it is in the wood by half the difference on either side."""
    def change(t: Tenoned) -> Sized:
        e = error(rng, 0.05, 1.0)
        return {"thickness": t.tenon.sizes["thickness"] - 2 * e}, e

    return resized(design, rng, "mortise too tight", "interference", "b", change)


def tenon_thick(design: Design, rng: Generator) -> Mistake | None:
    """A tenon thicker than its mortise is wide: it is in the wood by half the difference on either side."""
    def change(t: Tenoned) -> Sized:
        e = error(rng, 0.05, 1.0)
        return {"thickness": t.mortise.sizes["thickness"] + 2 * e}, e

    return resized(design, rng, "tenon too thick", "interference", "a", change)


def mortise_loose(design: Design, rng: Generator) -> Mistake | None:
    """A mortise so wide that the glue does not fill it: more clearance a side than the glue bridges."""
    def change(t: Tenoned) -> Sized:
        c = error(rng, 0.3, 1.0) + (0.4 if "epoxy" in design.shop.glue else 0.0)
        return {"thickness": t.tenon.sizes["thickness"] + 2 * c}, c

    return resized(design, rng, "mortise too loose", "gap", "b", change)


def fit_too_close(design: Design, rng: Generator) -> Mistake | None:
    """A mortise that leaves its tenon less room than any glue wants, but some."""
    def change(t: Tenoned) -> Sized:
        c = round(float(rng.uniform(0.0, 0.03)), 3) + (0.03 if "epoxy" in design.shop.glue else 0.0)
        return {"thickness": t.tenon.sizes["thickness"] + 2 * c}, c

    return resized(design, rng, "fit too close", "gap", "b", change)


def _beside_flush(design: Design, rng: Generator, what: str, place: str, name: str) -> Mistake | None:
    for seam in seams(design, place, rng):
        size = getattr(design.part[seam.part].blank, what)
        e = error(rng, 0.2, min(5.0, 0.15 * size))
        record = PartAsCut(seam.part, **{what: size - e})
        return made(name, cut(design, record), "proud", {seam.part, seam.other}, e)
    return None


def thinner_beside_flush(design: Design, rng: Generator) -> Mistake | None:
    """A part planed thinner than the one whose back it was to be flush with."""
    return _beside_flush(design, rng, "thickness", "back", "planed thinner beside a flush neighbour")


def narrower_beside_flush(design: Design, rng: Generator) -> Mistake | None:
    """A part ripped narrower than the one whose far edge it was to be flush with."""
    return _beside_flush(design, rng, "width", "far_edge", "ripped narrower beside a flush neighbour")


def board_thinner(design: Design, rng: Generator) -> Mistake | None:
    """Every part of a group planed thinner than the parts of another that they were to be flush with."""
    for seam in seams(design, "back", rng):
        part, other = design.part[seam.part], design.part[seam.other]
        if part.group == other.group:
            continue
        e = error(rng, 0.2, 4.0)
        group = [p for p in staying(design) if p.group == part.group and p.blank.thickness == part.blank.thickness]
        records = [PartAsCut(p.name, thickness=p.blank.thickness - e) for p in group]
        found, names = made("whole board thinner", cut(design, *records), "proud", set(), e), {p.name for p in group}
        return found and replace(found, among=tuple({frozenset((s.part, s.other)) for s in seams(design, "back", rng)
                                                     if (s.part in names) != (s.other in names)}))
    return None


def _ring(design: Design) -> list[Joint]:
    """Return the joints of a plain ring of mitred boards, end to start all the way round; none where it is no such."""
    whole = [j for j in design.joints if j.of is None]
    parts = staying(design)
    plain = all(p.blank.shape == MITRED_BOARD.name for p in parts) and len(whole) == len(parts)
    return whole if plain and len(parts) > 2 and all(j.kind in ("loose tenon", "glued face") for j in whole) else []


def mitre_off(design: Design, rng: Generator) -> Mistake | None:
    """One mitre of a ring off by an angle: the ring stays open by that angle."""
    ring = _ring(design)
    for joint in shuffled(ring, rng):
        part = design.part[joint.a]
        e = round(float(rng.uniform(0.05, 2.0)), 3) * (1 if rng.random() < 0.5 else -1)
        what = "start_angle" if abs(joint.seat_a[0, 3]) < 1e-6 else "end_angle"
        place = part.blank.places[what.removesuffix("_angle")]
        out = float(place[:3, 2] @ part.blank.grain) * (1 if what == "end_angle" else -1)
        angle = math.atan2(-place[1, 2], out)
        return made("mitre off", cut(design, PartAsCut(part.name, **{what: angle + math.radians(e)})), "gap",
                    {joint.a, joint.b}, abs(e), "deg")
    return None


def wrong_count(design: Design, rng: Generator) -> Mistake | None:
    """The segments of a ring all mitred for one segment more or less: n joints are off by twice the error, 2 n e."""
    ring = _ring(design)
    if not ring:
        return None
    n = len(ring)
    m = n + (1 if rng.random() < 0.5 or n == 3 else -1)
    angle = math.pi / m
    records = [PartAsCut(p.name, start_angle=angle, end_angle=angle) for p in staying(design)]
    again = cut(design, *records)
    found = made("wrong count of segments", again, "gap", set(), 2 * n * abs(180.0 / m - 180.0 / n), "deg")
    return found and replace(found, among=tuple(frozenset((j.a, j.b)) for j in ring))


def leg_short(design: Design, rng: Generator) -> Mistake | None:
    """A leg sawn short at its foot: it ends above the ground by as much of it as was upright."""
    stand = placed(design).frames
    for part in shuffled([p for p in staying(design) if "end" in p.blank.places], rng):
        end = stand[part.name] @ part.blank.places["end"]
        used = any(place_of(part, j) == "end" for j in design.joints if part.name in (j.a, j.b))
        if used or end[2, 2] > -1 + 1e-9 or abs(end[2, 3]) > 1e-6:
            continue
        e = error(rng, 0.3, 6.0)
        upright = abs(float((stand[part.name][:3, :3] @ part.blank.grain)[2]))
        return made("leg too short", cut(design, PartAsCut(part.name, length=part.blank.length - e)), "proud",
                    {part.name}, e * upright)
    return None


def foot_leaning(design: Design, rng: Generator) -> Mistake | None:
    """A foot sawn out of square: its face leans on the ground by as much."""
    stand = placed(design).frames
    feet = [p for p in staying(design) if p.blank.shape == "board"
            and (stand[p.name] @ p.blank.places["start"])[2, 2] < -1 + 1e-9
            and abs((stand[p.name] @ p.blank.places["start"])[2, 3]) < 1e-6
            and not any(f.solid.bounds[0][0] < 5.0 for f in p.features)]
    for part in shuffled(feet, rng) if len(feet) > 2 else ():
        e = round(float(rng.uniform(0.15, 2.0)), 2)
        return made("foot out of square", cut(design, PartAsCut(part.name, start_angle=math.radians(e))), "proud",
                    {part.name}, e, "deg")
    return None


def wall_thin(design: Design, rng: Generator) -> Mistake | None:
    """A mortise across so far that less wood is left beside it than a wall wants."""
    return _towards_a_side(design, rng, float(rng.uniform(0.3, 5.5)), "thin-wall", "thin wall beside a mortise")


def mortise_out(design: Design, rng: Generator) -> Mistake | None:
    """A mortise across so far that it comes out of the side."""
    return _towards_a_side(design, rng, -float(rng.uniform(0.2, 5.0)), "exposed-joint", "mortise comes out of a side")


def _towards_a_side(design: Design, rng: Generator, left: float, kind: Kind, name: str) -> Mistake | None:
    from tests.seeded.reasons import alone_along, in_place, pocket_corners

    for t in tenoned(design, rng):
        part = design.part[t.joint.b]
        if part.blank.shape != "board" or not alone_along(part, t.joint, design, 15.0):
            continue
        corners = in_place(t.mortise, pocket_corners(t.mortise, part))
        wood = in_place(t.mortise, part.blank.solid.mesh[0])
        if abs(t.mortise.place[:3, 0] @ part.blank.grain) < 0.999:
            continue
        wall = float(wood[:, 1].max() - corners[:, 1].max())
        if wall < max(left, 0) + 1.0:
            continue
        off = CutAsCut(t.joint.name, across=wall - round(left, 2))
        return made(name, cut(design, PartAsCut(part.name, cuts=(off,))), kind, {part.name}, abs(round(left, 2)))
    return None


