"""Look-alike: parts that are easily taken for one another, and parts that were."""

from __future__ import annotations

from collections.abc import Sequence

import networkx as nx

from assembly.alike import Group
from assembly.alike_cuts import Difference, differences, laid_best
from assembly.alike_looks import LookAlike, look_alikes, lying
from assembly.alike_units import Laid, given_sub_assemblies
from assembly.alike_wood import WrongWood, wrong_wood
from assembly.checks.alike_wording import amount, marked, spot_of, told, united
from assembly.checks.wording import listed
from assembly.findings import Amount, Finding
from assembly.placing import Assembly, as_drawn
from assembly.symmetry import misfit
from model.design import Design, Shop
from model.frames import identity

PAIRED = 3
"""Up to so many groups that look alike are told pair by pair; more of them are told together."""


def look_alike(assembly: Assembly, shop: Shop) -> list[Finding]:
    """Find parts cut as another is drawn (stop), and parts that look alike and are not the same (note).

    Cut as another: the finished solid as cut is no motion of what is drawn in its place, and some proper motion of
    what is drawn for another part, to within 0.02 mm. Two that have changed places are one finding; exchanged
    parts that are the same are none. The amount is the telling dimension's. Look alike: every corner and
    every size of the blank within 5 mm, with cuts alike in number and kind; one note for each pair of groups, one for
    all where more than three look alike; and one for each sub-assembly of the given stages that is another but for
    some of its cuts, where every joint closes. Not promised: exchanged parts that have other errors of cutting too, and
    parts of one shape out of different stock.
    """
    return [*_exchanged(assembly), *_notes(as_drawn(assembly)), *_units(as_drawn(assembly))]


def _exchanged(assembly: Assembly) -> list[Finding]:
    found, seen = [], set()
    wrong = [one for one in wrong_wood(assembly) if one.how == "another's"]
    for one in wrong:
        if one.part not in seen:
            seen |= {one.part, one.swap}
            found.append(_finding(assembly, one, {o.part for o in wrong}))
    return found


def _finding(assembly: Assembly, one: WrongWood, wrong: set[str]) -> Finding:
    drawn = as_drawn(assembly).design
    other = one.swap or next((n for n in one.serves if n in wrong), one.serves[0])
    off = telling(drawn, one.part, other)
    said = told(drawn, one.part, other, off[0]) if off else "their shapes differ"
    if one.swap:
        message = f"{one.part} and {other} have changed places as cut. They look alike, but {said}." \
            if _alike(drawn, one.part, other) else f"{one.part} and {other} have changed places as cut: {said}."
        remedy = f"Swap {one.part} and {other}."
    else:
        message = f"{one.part} is cut as {other} is drawn, not as it is drawn itself: {said}."
        remedy = (f"Put it where {other} belongs and look for the wood of {one.part}; if it is not there, cut "
                  f"{one.part} anew as drawn.")
    far = Amount(misfit(identity(), drawn.part[one.part].finished, assembly.part(one.part).finished), "mm")
    return Finding("look-alike", "stop", (one.part, other), message, remedy, spot_of(assembly, one.part),
                   amount(off) or far)


def _alike(drawn: Design, one: str, other: str) -> bool:
    return lying(drawn.part[one], drawn.part[other]) is not None


def telling(design: Design, one: str, other: str) -> tuple[Difference, ...]:
    """Return in what two drawn parts differ, the telling dimension first, laid on each other as nearly as can be."""
    mine, theirs = design.part[one], design.part[other]
    frame = lying(mine, theirs)
    if frame is None:
        frame = laid_best(mine, theirs)
    return () if frame is None else differences(mine, theirs, frame)


# -- what a drawing allows ----------------------------------------------------------------------


def _notes(drawn: Assembly) -> list[Finding]:
    pairs = look_alikes(drawn.design)
    web: nx.Graph = nx.Graph((p.one.mark, p.other.mark) for p in pairs)
    found = []
    for crowd in nx.connected_components(web):
        within = [p for p in pairs if p.one.mark in crowd]
        found += [_pair(drawn, p) for p in within] if len(crowd) <= PAIRED else [_crowd(drawn, within)]
    return found


def _pair(drawn: Assembly, pair: LookAlike) -> Finding:
    design = drawn.design
    return Finding(
        "look-alike", "note", (*pair.one.parts, *pair.other.parts),
        f"{marked(pair.one)} and {marked(pair.other)} look alike and are not the same: {_said(design, pair)}.",
        f"Mark them {pair.one.mark} and {pair.other.mark} as they are cut, and read the mark before each goes in.",
        spot_of(drawn, pair.one.first, pair.telling[0].cut if pair.telling else None), _amount(pair))


def _crowd(drawn: Assembly, pairs: Sequence[LookAlike]) -> Finding:
    design = drawn.design
    kinds = list({g.mark: g for p in pairs for g in (p.one, p.other)}.values())
    nearest = min(pairs, key=lambda p: _amount(p).value)
    return Finding(
        "look-alike", "note", tuple(n for g in kinds for n in g.parts),
        f"{len(kinds)} kinds of parts look alike and are not the same, {_first_of(kinds)}. The nearest two are "
        f"{nearest.one.mark} and {nearest.other.mark}: {_said(design, nearest)}.",
        "Write its mark on each as it is cut, and read the mark before it goes in.",
        spot_of(drawn, nearest.one.first), _amount(nearest))


def _units(drawn: Assembly) -> list[Finding]:
    if drawn.open_loops:
        return []
    return [_unit(drawn, laid) for laid in given_sub_assemblies(drawn) if laid.how == "alike"]


def _unit(drawn: Assembly, laid: Laid) -> Finding:
    one, other, found = laid.unlike[0]
    more = len(laid.unlike) - 1
    rest = f", and {more} more of their parts differ{'s' if more == 1 else ''}" if more else ""
    said = told(drawn.design, one, other, found[0]) if found else f"{one} and {other} are not the same"
    return Finding(
        "look-alike", "note", tuple(dict.fromkeys((*laid.one.parts, *laid.other.parts))),
        f"{united(laid.one)} and {united(laid.other)} are alike but for some cuts: {said}{rest}.",
        f"Mark {laid.one.stage} and {laid.other.stage} where the mark still shows when they are carried to the next "
        "glue-up.", spot_of(drawn, one), amount(found) or Amount(float(len(laid.unlike)), ""), laid.joints,
        stage=laid.other.stage)


def _first_of(kinds: Sequence[Group]) -> str:
    return f"marked {listed([g.mark for g in kinds])}"


def _said(design: Design, pair: LookAlike) -> str:
    if not pair.telling:
        return "they come from different stock, or are cut at different times"
    return told(design, pair.one.first, pair.other.first, pair.telling[0])


def _amount(pair: LookAlike) -> Amount:
    return amount(pair.telling) or Amount(0.0, "mm")
