"""Handed: parts that come in two hands, and parts made as the wrong one."""

from __future__ import annotations

from assembly.alike import Group, handed_pairs
from assembly.alike_cuts import Difference, differences
from assembly.alike_hands import handed_by
from assembly.alike_units import Laid, given_sub_assemblies
from assembly.alike_wood import WrongWood, wrong_wood
from assembly.checks.alike_wording import amount, handing, marked, misplaced, spot_of, united
from assembly.checks.wording import listed
from assembly.findings import Amount, Finding
from assembly.placing import Assembly, as_drawn
from assembly.symmetry import TOLERANCE, misfit
from model.design import Design, Shop
from model.frames import identity
from model.part import Part


def handed(assembly: Assembly, shop: Shop) -> list[Finding]:
    """Find parts made as the mirror image of what is drawn (stop), and mirror pairs in the drawing (note).

    Made as the wrong hand: the finished solid as cut is the drawn one's mirror image to within 0.02 mm, and no turn
    makes it the drawn one. Two that have changed places, each the other's mirror image, are one finding.
    One note for each pair of groups, with the cut that makes it handed, and for each sub-assembly of the given stages
    that is the mirror image of another. Not promised: a part of the wrong
    hand that has other errors of cutting too; its cuts are then told by what they miss. A mirror image that some turn
    brings back to the drawing is the right part, or one the wrong way round.
    """
    return [*_made_wrong(assembly), *_pairs(as_drawn(assembly)), *_mirrored_units(as_drawn(assembly))]


def _made_wrong(assembly: Assembly) -> list[Finding]:
    found, told = [], set()
    for one in wrong_wood(assembly):
        if one.how == "mirrored" and one.part not in told:
            told |= {one.part, one.swap}
            found.append(_swapped(assembly, one) if one.swap else _wrong_hand(assembly, one))
    return found


def _wrong_hand(assembly: Assembly, one: WrongWood) -> Finding:
    design, off = assembly.design, _off(assembly, one.part)
    drawn = as_drawn(assembly).design
    other = next((n for n in one.serves if n != one.part), "")
    spare = f" As it is, it would serve as {other}." if other else ""
    return Finding(
        "handed", "stop", (one.part,),
        f"{one.part} is made as the mirror image of what is drawn: {misplaced(drawn, one.part, off)}. "
        "No way of turning it makes it the right one.",
        f"Cut {one.part} anew, of the other hand, before any glue.{spare}",
        spot_of(assembly, one.part, off[0].match if off else None), _how_far(design, drawn, one.part, off))


def _swapped(assembly: Assembly, one: WrongWood) -> Finding:
    drawn = as_drawn(assembly).design
    found = handed_by(drawn, one.part, one.swap)
    return Finding(
        "handed", "stop", (one.part, one.swap),
        f"{one.part} and {one.swap} have changed places as cut, and they are mirror images of each other: "
        f"{handing(drawn, one.part, one.swap)}.",
        f"Swap {one.part} and {one.swap}.",
        spot_of(assembly, one.part, found[0].cut if found else None),
        _how_far(assembly.design, drawn, one.part, found))


def _off(assembly: Assembly, name: str) -> tuple[Difference, ...]:
    """Return how a part as cut differs from the drawn one as it lies, cuts on another side first."""
    drawn: Part = as_drawn(assembly).part(name)
    found = differences(drawn, assembly.part(name), identity())
    return tuple(sorted(found, key=lambda d: (d.match is None, d.what != "side")))


def _how_far(design: Design, drawn: Design, name: str, off: tuple[Difference, ...]) -> Amount:
    """Return how far the first cut that is off is from its place, mm; the farthest corner where it only looks the
    other way there, as a lap does."""
    first = amount([d for d in off if d.unit == "mm" and abs(d.amount) > TOLERANCE])
    return first or Amount(misfit(identity(), drawn.part[name].finished, design.part[name].finished), "mm")


def _pairs(drawn: Assembly) -> list[Finding]:
    return [_note(drawn, one, other) for one, other in handed_pairs(drawn.design)]


def _note(drawn: Assembly, one: Group, other: Group) -> Finding:
    design = drawn.design
    found = handed_by(design, one.first, other.first)
    return Finding(
        "handed", "note", (*one.parts, *other.parts),
        f"{marked(one)} and {marked(other)} are mirror images of each other, not the same: "
        f"{handing(design, one.first, other.first)}.",
        f"Mark them {one.mark} and {other.mark} when they are sawn to length, and lay out a left and a right side by "
        f"side. {listed([one.mark, other.mark])} cannot stand in for each other.",
        spot_of(drawn, one.first, found[0].cut if found else None), amount(found))


def _mirrored_units(drawn: Assembly) -> list[Finding]:
    return [_unit(drawn, laid) for laid in given_sub_assemblies(drawn) if laid.how == "mirror"]


def _unit(drawn: Assembly, laid: Laid) -> Finding:
    one, other = laid.pairs[0]
    return Finding(
        "handed", "note", tuple(dict.fromkeys((*laid.one.parts, *laid.other.parts))),
        f"{united(laid.one)} and {united(laid.other)} are mirror images of each other, not the same: {one} stands in "
        f"the one as {other} does in the other.",
        f"Lay the parts of both out side by side before the glue, {one} and {other} on opposite hands.",
        spot_of(drawn, one), Amount(float(len(laid.pairs)), ""), stage=laid.other.stage)
