"""Alike: parts gathered by sameness, their marks, mirror pairs, look-alikes and whole sub-assemblies."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.alike import LETTERS, groups, handed_pairs, letter, marks, onto_first
from assembly.alike_cuts import differences
from assembly.alike_hands import handed_by
from assembly.alike_looks import look_alikes
from assembly.alike_units import given_sub_assemblies, sub_assemblies
from assembly.alike_wood import wrong_wood
from assembly.checks.handed import handed
from assembly.checks.look_alike import look_alike
from assembly.findings import Finding
from assembly.placing import place
from assembly.stages import plan
from assembly.symmetry import carries, chiral
from model.design import Design, Shop, StageSpec
from model.draft import Draft
from model.frames import MIRROR_X, Frame, frame_of, identity, move
from model.part import Blank, Feature, Part
from model.reader import read
from model.shapes.board import board
from model.solids import Solid, box
from model.stock import Stock, species
from tests import zoo
from tests.bench.structures import lattice
from tests.strategies import POST, RAIL, WOOD, reordered, rigid_frames, row_of_posts, upright

SHOP = Shop()
EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("*.toml"))
FLIP_Z = np.diag([1.0, 1.0, -1.0, 1.0])


# -- by hand --------------------------------------------------------------------------------------


def carried(part: Part, wood: Frame) -> Part:
    """Return a part with its wood carried by a frame, proper or not; its places stay where they are."""
    return replace(part, blank=replace(part.blank, solid=part.blank.solid.moved(wood)), features=tuple(
        replace(f, solid=f.solid.moved(wood), frame=wood @ f.frame) for f in part.features))


def renamed(part: Part, name: str) -> Part:
    return replace(part, name=name)


def mirrored_wood(design: Design, *names: str) -> Design:
    """Return the design as cut, with parts made as their mirror image, face for back."""
    return replace(design, drawn=design,
                   parts=tuple(carried(p, FLIP_Z) if p.name in names else p for p in design.parts))


def exchanged(design: Design, one: str, other: str) -> Design:
    """Return the design as cut, the wood of two parts in each other's place."""
    def holding(at: Part, of: Part) -> Part:
        return replace(at, blank=replace(of.blank, places=at.blank.places), features=of.features)

    a, b = design.part[one], design.part[other]
    swapped = {one: holding(a, b), other: holding(b, a)}
    return replace(design, drawn=design, parts=tuple(swapped.get(p.name, p) for p in design.parts))


def pieces(*parts: Part) -> Design:
    return Design("pieces", parts, (), parts[0].name)


def cut(role: str, solid: Solid, after: str | None = None) -> Feature:
    return Feature(f"{role} by hand", "cut", solid, role, after=after)


def bar(name: str, *cuts: Feature, length: float = 600.0, stock: Stock = RAIL, leaves: str | None = None) -> Part:
    return Part(name, board(stock, length), cuts, leaves)


def pocket(x: float, y: float = 12.0, side: float = 1.0) -> Feature:
    """Return a blind mortise in the face (side 1) or the back (-1) of a rail, its middle at x, y."""
    return cut("mortise", box((x - 25, y - 6, -10), (x + 25, y + 6, 10)).moved(move(z=20.0 * side)))


def kinds(design: Design) -> set[frozenset[str]]:
    return {frozenset(g.parts) for g in groups(design)}


# -- marks ----------------------------------------------------------------------------------------


def test_letters_leave_out_those_that_look_like_figures() -> None:
    made = [letter(k) for k in range(len(LETTERS) * (len(LETTERS) + 1))]
    assert made[:9] == list("ABCDEFGHJ")
    assert made[len(LETTERS) - 1:len(LETTERS) + 2] == ["Z", "AA", "AB"]
    assert made[-1] == "ZZ"
    assert len(set(made)) == len(made)
    assert not set("IOQ") & set("".join(made))


@pytest.mark.parametrize("name", zoo.SOUND)
def test_every_part_is_in_one_group_and_every_group_has_its_mark(name: str) -> None:
    design = zoo.SOUND[name]()
    found = groups(design)
    assert sorted(n for g in found for n in g.parts) == sorted(design.part)
    assert len({g.mark for g in found}) == len(found)
    assert marks(design) == {n: g.mark for g in found for n in g.parts}
    firsts = [list(design.part).index(g.first) for g in found]
    assert firsts == sorted(firsts), "in the design's order"
    for group in found:
        assert group.mark == group.letter + group.hand


@pytest.mark.parametrize("name", zoo.SOUND)
def test_each_part_is_carried_onto_the_first_of_its_group(name: str) -> None:
    design = zoo.SOUND[name]()
    onto = onto_first(design)
    for group in groups(design):
        for part in group.parts:
            frame = onto[part]
            assert np.linalg.det(frame[:3, :3]) == pytest.approx(1.0)
            assert carries(frame, design.part[part].finished, design.part[group.first].finished)


def test_a_gateway_is_cut_from_five_kinds() -> None:
    """Segments of both arches, spacers, legs of two hands, rails, loose tenons: counted by hand."""
    design = zoo.gateway()
    assert [(g.mark, len(g.parts)) for g in groups(design)] == [
        ("A", 18), ("B", 2), ("Ca", 2), ("Cb", 2), ("D", 17), ("E", 16)]
    ((one, other),) = handed_pairs(design)
    assert set(one.parts) == {"far_leg_left", "near_leg_right"}
    assert set(other.parts) == {"far_leg_right", "near_leg_left"}


def test_a_thousand_parts_of_few_shapes() -> None:
    """End posts take rails on one side: one group, turned. Between them, posts; and rails of three lengths."""
    design = lattice(200)
    assert len(groups(design)) == 5
    assert sum(len(g.parts) for g in groups(design)) == len(design.parts)


# -- sameness -------------------------------------------------------------------------------------


def test_parts_turned_in_their_own_frames_are_the_same() -> None:
    assert kinds(pieces(bar("one", pocket(100.0)), bar("other", pocket(500.0, -12.0)))) == {
        frozenset({"one", "other"})}


def test_a_mirror_pair_shares_a_letter() -> None:
    design = pieces(bar("plain"), bar("left", pocket(100.0)), bar("right", pocket(500.0)), bar("left_2", pocket(100.0)))
    assert dict(marks(design)) == {"plain": "A", "left": "Ba", "right": "Bb", "left_2": "Ba"}


def test_stock_tells_parts_apart_by_species_and_section_not_by_name() -> None:
    oak = species()["White oak (Quercus alba)"]
    design = pieces(bar("one"), bar("other", stock=Stock("the other pile", WOOD, 40.0, 90.0)),
                    bar("oak", stock=Stock("rail", oak, 40.0, 90.0)),
                    Part("ripped", board(Stock("wide", WOOD, 40.0, 140.0), 600.0, width=90.0)))
    assert kinds(design) == {frozenset({"one", "other"}), frozenset({"oak"}), frozenset({"ripped"})}


def test_a_temporary_part_is_another() -> None:
    assert len(groups(pieces(bar("stays"), bar("leaves", leaves="first")))) == 2


def test_grain_tells_square_boards_apart() -> None:
    def plate(name: str, grain: tuple[float, float, float]) -> Part:
        solid = box((0, -50, -10), (100, 50, 10))
        made = board(Stock("plate", WOOD, 20.0, 100.0), 100.0)
        return Part(name, Blank("board", solid, 100.0, 100.0, 20.0, made.stock, made.places, np.array(grain)))

    design = pieces(plate("along", (1, 0, 0)), plate("against", (-1, 0, 0)), plate("across", (0, 1, 0)))
    assert kinds(design) == {frozenset({"along", "against", "across"})}, "a plate can be turned by a quarter"
    hole = cut("mortise", box((5, -6, 3), (55, 6, 11)))
    marked = [replace(p, features=(hole,)) for p in design.parts]
    assert kinds(pieces(*marked)) == {frozenset({"along", "against"}), frozenset({"across"})}


def test_parts_finished_alike_are_not_the_same_when_they_are_cut_at_other_times() -> None:
    now, late = pocket(100.0), replace(pocket(100.0), after="first")
    stages = (StageSpec("first", ()), StageSpec("second", ()))
    design = replace(pieces(bar("now", now), bar("late", late), bar("later", replace(late, after="second"))),
                     stages=stages)
    assert kinds(design) == {frozenset({"now"}), frozenset({"late", "later"})}, "each stage has its own name"


def test_steps_count_in_their_order() -> None:
    one, other = pocket(100.0), pocket(300.0, -12.0)
    stages = (StageSpec("first", ()), StageSpec("second", ("x",), ("first",)))
    design = replace(pieces(bar("a", replace(one, after="first"), replace(other, after="second")),
                            bar("b", replace(one, after="second"), replace(other, after="first")),
                            bar("c", replace(other, after="second"), replace(one, after="first"))), stages=stages)
    assert kinds(design) == {frozenset({"a", "c"}), frozenset({"b"})}


@given(st.data())
@settings(max_examples=25, deadline=None)
def test_wood_laid_otherwise_in_its_frame_stays_what_it_is(data: st.DataObject) -> None:
    """Turned in its own frame, grain and all, a part keeps its group; mirrored it joins the other hand."""
    one = bar("one", pocket(100.0))
    frame = data.draw(rigid_frames(500.0))
    blank = replace(one.blank, grain=frame[:3, 0])
    other = carried(replace(one, name="other", blank=blank), frame)
    glass = carried(replace(one, name="glass", blank=replace(blank, grain=MIRROR_X[:3, :3] @ frame[:3, 0])),
                    MIRROR_X @ frame)
    assert dict(marks(pieces(one, other, glass))) == {"one": "Aa", "other": "Aa", "glass": "Ab"}


@given(st.permutations(range(12)))
@settings(max_examples=15, deadline=None)
def test_groups_do_not_depend_on_the_order_of_parts(order: list[int]) -> None:
    design = zoo.frame()
    assert kinds(reordered(design, order)) == kinds(design)
    pairs = {frozenset({a.parts[0], b.parts[0]}) for a, b in handed_pairs(reordered(design, order))}
    assert len(pairs) == len(handed_pairs(design))


@pytest.mark.parametrize("name", zoo.SOUND)
def test_the_mirror_image_of_a_design_has_the_same_groups(name: str) -> None:
    design = zoo.SOUND[name]()
    assert kinds(design.in_the_mirror()) == kinds(design)
    assert dict(marks(design.in_the_mirror())) == dict(marks(design))


def test_parts_as_cut_keep_the_marks_of_the_drawing() -> None:
    drawn = zoo.trestle()
    shaved = replace(drawn.part["post_2"], blank=board(zoo.STOCK["post"], 480.0, 80.0))
    as_cut = replace(drawn, drawn=drawn, parts=tuple(shaved if p.name == "post_2" else p for p in drawn.parts))
    assert marks(as_cut) == marks(drawn)


# -- hands ----------------------------------------------------------------------------------------


def test_the_cut_that_makes_a_pair_handed() -> None:
    design = zoo.gateway_small()
    found = handed_by(design, "far_leg_left", "far_leg_right")
    assert [(d.what, d.cut and d.cut.joint, d.match and d.match.joint) for d in found] == [
        ("side", "rail_01_far", "rail_05_far")]
    assert found[0].amount == pytest.approx(38.1)


@pytest.mark.parametrize("name", ["frame", "grid", "gateway", "gateway_small", "gateway_two_rings"])
def test_mirror_pairs_are_told_once_with_what_makes_them_so(name: str) -> None:
    (finding,) = handed(place(zoo.SOUND[name]()), SHOP)
    assert (finding.kind, finding.severity) == ("handed", "note")
    assert "on the face" in finding.message and "on the back" in finding.message
    assert finding.amount is not None and finding.amount.value in (38.1, 88.9)


def test_a_hand_by_a_hair_is_told_by_how_much() -> None:
    """The legs of the half rings are upright; only their tenons lie off the middle. The shift is worked out here from
    the parts: mirror images about y differ by twice the offset."""
    design = zoo.gateway_halves()
    (finding,) = handed(place(design), SHOP)
    tenon = next(f for f in design.part["far_leg_left"].features if f.role == "tenon")
    off = 2.0 * abs(float(tenon.solid.centroid[1]))
    assert finding.amount is not None and finding.amount.value == pytest.approx(off, abs=1e-3)
    assert "1.4 mm apart across the width" in finding.message


def test_a_part_made_as_its_mirror_image_stops() -> None:
    design = mirrored_wood(zoo.gateway_small(), "far_leg_left")
    (finding,) = stops(design)
    assert (finding.kind, finding.parts) == ("handed", ("far_leg_left",))
    assert "the mortise for rail_01 is on the back instead of the face" in finding.message
    assert "would serve as far_leg_right" in finding.remedy
    assert finding.amount is not None and finding.amount.value == pytest.approx(38.1, abs=0.02)
    assert finding.where is not None


def test_a_mirror_image_that_a_turn_brings_back_is_no_wrong_hand() -> None:
    """A rail with tenons in the middle of its ends is its own mirror image; so is a post with mortises on one side."""
    for name in ("rail_01", "spacer_1", "far_arch_2"):
        assert stops(mirrored_wood(zoo.gateway_small(), name)) == []
    assert stops(mirrored_wood(zoo.trestle(), "post_1")) == []


def test_both_hands_in_each_others_place_are_one_finding() -> None:
    (finding,) = stops(exchanged(zoo.gateway_small(), "far_leg_left", "far_leg_right"))
    assert (finding.kind, finding.parts) == ("handed", ("far_leg_left", "far_leg_right"))
    assert finding.remedy == "Swap far_leg_left and far_leg_right."


def test_both_hands_made_wrong_are_to_be_swapped() -> None:
    """Each leg made as its mirror image is the other: nothing has to be cut anew."""
    (finding,) = stops(mirrored_wood(zoo.gateway_small(), "far_leg_left", "far_leg_right"))
    assert finding.remedy == "Swap far_leg_left and far_leg_right."


# -- look-alikes ----------------------------------------------------------------------------------


def stops(design: Design) -> list[Finding]:
    at = place(design)
    return [f for f in (*handed(at, SHOP), *look_alike(at, SHOP)) if f.severity == "stop"]


def notes(design: Design) -> list[Finding]:
    return [f for f in look_alike(place(design), SHOP) if f.severity == "note"]


@cache
def two_spans(more: float) -> Design:
    """Three posts in a row; the rails of the second span are longer than those of the first."""
    return row_of_posts([600.0, 600.0 + more], [150.0, 330.0])


@pytest.mark.parametrize("more", [0.05, 0.7, 3.0, 4.9])
def test_rails_of_almost_one_length_look_alike(more: float) -> None:
    (finding,) = notes(two_spans(more))
    assert set(finding.parts) == {"rail_0_0", "rail_0_1", "rail_1_0", "rail_1_1"}
    assert finding.amount is not None and finding.amount.value == pytest.approx(more, abs=1e-3)
    assert "longer than rail_0_0" in finding.message


@pytest.mark.parametrize("more", [0.0, 5.1, 60.0])
def test_rails_of_one_length_and_of_plainly_other_lengths_do_not(more: float) -> None:
    assert notes(two_spans(more)) == []


@pytest.mark.parametrize(("one", "other", "what", "amount", "said"), [
    ((pocket(100.0, 0.0),), (pocket(103.0, 0.0),), "place", 3.0, "lie 3 mm apart along the grain"),
    ((pocket(300.0, 3.0),), (pocket(300.0, 5.0),), "place", 2.0, "lie 2 mm apart across the width"),
    ((pocket(300.0, 3.0), pocket(100.0, 0.0)), (pocket(304.0, 3.0), pocket(101.0, 0.0)), "place", 4.0, "4 mm"),
    ((cut("mortise", box((80, -6, 5), (130, 6, 25))),), (cut("mortise", box((80, -6, 7), (130, 6, 25))),),
     "size", 1.0, ""),
])
def test_the_telling_cut(one: tuple[Feature, ...], other: tuple[Feature, ...], what: str, amount: float,
                         said: str) -> None:
    design = pieces(bar("one", *one), bar("other", *other))
    (found,) = look_alikes(design)
    if what == "place":
        assert found.telling[0].what == what
        assert found.telling[0].amount == pytest.approx(amount, abs=1e-6)
        (finding,) = notes(design)
        assert said in finding.message


def test_a_deeper_mortise_is_told_by_its_depth() -> None:
    """The seat of a cut looks into the wood; 2 mm deeper is 2 mm."""
    down = frame_of((105, 0, 20), (0, 0, -1), (1, 0, 0))

    def hole(depth: float) -> Feature:
        return Feature("mortise", "cut", box((-25, -6, -5), (25, 6, depth)).moved(down), "mortise", frame=down)

    (found,) = look_alikes(pieces(bar("one", hole(15.0)), bar("other", hole(17.0))))
    assert (found.telling[0].what, found.telling[0].amount) == ("size", pytest.approx(2.0))


def test_cuts_of_another_number_or_kind_are_no_look_alikes() -> None:
    assert not look_alikes(pieces(bar("one", pocket(100.0)), bar("other", pocket(100.0, 9.0), pocket(300.0))))
    assert not look_alikes(pieces(bar("one", pocket(100.0)), bar("other", cut("housing", pocket(102.0).solid))))


def test_a_mirror_pair_is_no_look_alike() -> None:
    design = pieces(bar("left", pocket(100.0, 1.0)), bar("right", pocket(500.0, 1.0)))
    assert len(handed_pairs(design)) == 1
    assert look_alikes(design) == ()


def test_many_that_look_alike_are_told_together() -> None:
    design = pieces(*(bar(f"slat_{k}", length=600.0 + 1.5 * k) for k in range(9)))
    (finding,) = notes(design)
    assert len(finding.parts) == 9 and "9 kinds" in finding.message
    assert finding.amount is not None and finding.amount.value == pytest.approx(1.5)


@pytest.mark.parametrize("more", [0.06, 0.5, 3.0])
def test_exchanged_look_alikes_are_found_with_what_tells_them_apart(more: float) -> None:
    (finding,) = stops(exchanged(two_spans(more), "rail_0_0", "rail_1_1"))
    assert (finding.kind, finding.parts) == ("look-alike", ("rail_0_0", "rail_1_1"))
    assert finding.amount is not None and finding.amount.value == pytest.approx(more, abs=0.02)
    assert finding.remedy == "Swap rail_0_0 and rail_1_1."
    assert "look alike" in finding.message


def test_exchanged_parts_that_do_not_look_alike_are_found_too() -> None:
    (finding,) = stops(exchanged(zoo.frame(), "cross_rail_01", "long_rail_01"))
    assert finding.parts == ("cross_rail_01", "long_rail_01")
    assert finding.amount is not None and finding.amount.value == pytest.approx(900.0)
    assert "look alike" not in finding.message


def test_exchanged_parts_that_are_the_same_are_nothing() -> None:
    assert stops(exchanged(two_spans(3.0), "rail_0_0", "rail_0_1")) == []
    assert stops(exchanged(zoo.gateway_small(), "far_leg_left", "near_leg_right")) == []
    assert stops(exchanged(zoo.gateway_small(), "rail_01", "rail_05")) == []


def test_a_part_cut_as_another_is_drawn() -> None:
    """One wrong rail alone: the other is right, so nothing can be swapped."""
    both = exchanged(two_spans(3.0), "rail_0_0", "rail_1_0")
    right = two_spans(3.0).part["rail_1_0"]
    design = replace(both, parts=tuple(right if p.name == right.name else p for p in both.parts))
    (finding,) = stops(design)
    assert finding.parts == ("rail_0_0", "rail_1_0")
    assert "is cut as rail_1_0 is drawn" in finding.message and "anew" in finding.remedy


def test_three_parts_in_a_round_are_each_found() -> None:
    drawn = row_of_posts([600.0, 603.0, 700.0], [150.0])
    a, b, c = (drawn.part[f"rail_{k}_0"] for k in range(3))
    wood = {a.name: b, b.name: c, c.name: a}
    design = replace(drawn, drawn=drawn, parts=tuple(renamed(wood[p.name], p.name) if p.name in wood else p
                                                     for p in drawn.parts))
    assert sorted(f.parts[0] for f in stops(design)) == ["rail_0_0", "rail_1_0", "rail_2_0"]


def test_a_part_cut_as_nothing_in_the_drawing_is_left_to_the_other_checks() -> None:
    drawn = zoo.trestle()
    short = replace(drawn, drawn=drawn, parts=zoo.tenon_long(5.0).parts)
    assert wrong_wood(place(short)) == ()


@pytest.mark.parametrize("name", zoo.SOUND)
def test_sound_designs_have_only_notes_and_few(name: str) -> None:
    at = place(zoo.SOUND[name]())
    found = [*handed(at, SHOP), *look_alike(at, SHOP)]
    assert all(f.severity == "note" and f.amount is not None and f.where is not None for f in found)
    assert len(found) <= 2


@pytest.mark.parametrize("name", zoo.SOUND)
def test_one_of_each_kind_made_as_its_mirror_image(name: str) -> None:
    """Found where the part has a hand, in the one part; nothing where it has none."""
    design = zoo.SOUND[name]()
    for group in groups(design):
        found = stops(mirrored_wood(design, group.parts[-1]))
        if chiral(design.part[group.first].finished):
            assert [(f.kind, f.parts) for f in found] == [("handed", (group.parts[-1],))]
            assert found[0].amount is not None and found[0].amount.value > 1.0
        else:
            assert found == []


@pytest.mark.parametrize("name", [n for n in zoo.SOUND if not n.startswith("ring")])
def test_one_of_each_two_kinds_exchanged(name: str) -> None:
    design = zoo.SOUND[name]()
    for one, other in pairwise(groups(design)):
        (finding,) = stops(exchanged(design, one.parts[-1], other.first))
        assert finding.kind == ("handed" if one.letter == other.letter else "look-alike")
        assert set(finding.parts) == {one.parts[-1], other.first}
        assert finding.remedy.startswith("Swap ") and finding.amount is not None


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_examples_have_only_notes(path: Path) -> None:
    at = place(read(path))
    assert all(f.severity == "note" for f in (*handed(at, SHOP), *look_alike(at, SHOP)))


@given(rigid_frames(), st.permutations(range(7)))
@settings(max_examples=10, deadline=None)
def test_verdicts_do_not_depend_on_where_the_work_stands_or_on_its_order(frame: Frame, order: list[int]) -> None:
    design = exchanged(two_spans(3.0), "rail_0_0", "rail_1_1")
    assert len(design.parts) == 7
    turned = replace(reordered(design, order), base_frame=frame @ design.base_frame)
    drawn = replace(reordered(two_spans(3.0), order), base_frame=turned.base_frame)
    (finding,) = stops(replace(turned, drawn=drawn))
    assert set(finding.parts) == {"rail_0_0", "rail_1_1"}
    assert finding.amount is not None and finding.amount.value == pytest.approx(3.0, abs=1e-3)


def test_differences_in_the_ends_are_told_in_degrees() -> None:
    from model.shapes.mitred_board import mitred_board

    one, other = (Part(n, mitred_board(RAIL, 600.0, a, 0.2)) for n, a in (("one", 0.2), ("other", 0.21)))
    found = differences(one, other, identity())
    assert (found[0].what, found[0].unit) == ("end angle", "deg")
    assert found[0].amount == pytest.approx(np.degrees(0.01), abs=1e-6)


# -- sub-assemblies -------------------------------------------------------------------------------


def test_the_far_and_the_near_side_of_a_gateway_are_the_same() -> None:
    """Two legs of two hands under one arch: half a turn about the plumb line carries one side onto the other."""
    found = given_sub_assemblies(place(zoo.gateway_small()))
    assert [(f.one.stage, f.other.stage, f.how) for f in found] == [
        ("ring", "ring", "same"), ("far side", "near side", "same")]
    pairs = dict(found[1].pairs)
    assert (pairs["far_leg_left"], pairs["far_arch_1"]) == ("near_leg_right", "near_arch_3")
    assert np.linalg.det(found[1].frame[:3, :3]) == pytest.approx(1.0)


def test_frames_at_the_end_and_in_the_middle_are_alike_but_for_some_joints() -> None:
    """Middle posts take long rails on both sides."""
    at = place(zoo.grid())
    found = {(f.one.stage, f.other.stage): f for f in given_sub_assemblies(at)}
    assert {k: f.how for k, f in found.items()} == {("frame 1", "frame 2"): "alike", ("frame 1", "frame 3"): "same"}
    middle = found["frame 1", "frame 2"]
    assert {(a, b) for a, b, _ in middle.unlike} == {("post_1a", "post_2a"), ("post_1b", "post_2b"),
                                                     ("post_1c", "post_2c")}
    assert middle.joints and all(j.startswith("long_rail") for j in middle.joints)
    (finding,) = [f for f in look_alike(at, SHOP) if f.stage]
    assert (finding.severity, finding.joints) == ("note", middle.joints)


@cache
def benches(*, deep: bool) -> Design:
    """Two frames of three posts, 500 and 300 mm apart, face to face: their rails lie 8 mm nearer to each other than the
    middles of the posts, a tie joins their first posts. `deep`: tenons of one rail of the second are 5 mm longer."""
    draft = Draft("benches")
    for word, y, way in (("here", 0.0, 1.0), ("there", 900.0, -1.0)):
        for k, x in enumerate((0.0, 500.0, 800.0)):
            draft.add(f"{word}_post_{k}", board(POST, 700.0), upright(x, y))
        for k, (left, right, z) in enumerate(((0.0, 500.0, 200.0), (500.0, 800.0, 450.0))):
            name, level = f"{word}_rail_{k}", y + 8.0 * way
            draft.add(name, board(RAIL, right - left - 90.0), frame_of((left + 45.0, level, z), (0, 1, 0), (1, 0, 0)))
            for side, x, post, out in (("start", left + 45.0, k, -1), ("end", right - 45.0, k + 1, 1)):
                depth = 30.0 if deep and word == "there" and k else 25.0
                draft.join_at(f"{name}_{side}", "blind tenon", name, f"{word}_post_{post}",
                              frame_of((x, level, z), (out, 0, 0), (0, 0, 1)),
                              sizes={"thickness": 12.0, "width": 60.0, "depth": depth})
    draft.add("tie", board(RAIL, 810.0), frame_of((0, 45.0, 600.0), (1, 0, 0), (0, 1, 0)))
    for side, word, y, out in (("start", "here", 45.0, -1), ("end", "there", 855.0, 1)):
        draft.join_at(f"tie_{side}", "blind tenon", "tie", f"{word}_post_0",
                      frame_of((0, y, 600.0), (0, out, 0), (0, 0, 1)),
                      sizes={"thickness": 12.0, "width": 60.0, "depth": 25.0})
    design = draft.finish()
    stages = tuple(StageSpec(w, tuple(j.name for j in design.joints if j.name.startswith(w)))
                   for w in ("here", "there"))
    return replace(design, stages=(*stages, StageSpec("both", ("tie_start", "tie_end"), ("here", "there"))))


def test_two_frames_built_in_the_mirror_are_told() -> None:
    at = place(benches(deep=False))
    (found,) = given_sub_assemblies(at)
    assert (found.one.stage, found.other.stage, found.how) == ("here", "there", "mirror")
    assert dict(found.pairs)["here_post_2"] == "there_post_2"
    (finding,) = [f for f in handed(at, SHOP) if f.stage]
    assert finding.severity == "note" and "here" in finding.message and "there" in finding.message


def test_two_frames_in_the_mirror_but_for_one_rail() -> None:
    (found,) = given_sub_assemblies(place(benches(deep=True)))
    assert found.how == "alike"
    assert {(a, b) for a, b, _ in found.unlike} == {
        ("here_rail_1", "there_rail_1"), ("here_post_1", "there_post_1"), ("here_post_2", "there_post_2")}
    assert set(found.joints) == {f"{w}_rail_1_{e}" for w in ("here", "there") for e in ("start", "end")}
    assert {round(abs(d.amount), 3) for _, _, ds in found.unlike for d in ds} == {5.0, 10.0}, "10 mm over both tenons"


def test_sub_assemblies_of_a_plan_are_those_of_the_given_stages() -> None:
    at = place(zoo.frame())
    by_plan = sub_assemblies(at, plan(at, SHOP))
    assert [(f.one, f.other, f.how) for f in by_plan] == [
        (f.one, f.other, f.how) for f in given_sub_assemblies(at)]
    assert len(by_plan) == 1
