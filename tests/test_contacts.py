"""Contacts: areas by hand, grain, gaps, leaning faces, and an independent clipping of polygons."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.contacts import GAP, Patch, contacts, joint_area
from assembly.placing import Assembly, place
from model.draft import Draft
from model.frames import Frame, frame_of, identity, move, turn
from model.part import Feature
from model.shapes.board import board
from model.solids import arc_points, box, prism
from tests import zoo
from tests.strategies import (
    POST,
    RAIL,
    boxes,
    reordered,
    rigid_frames,
    row_of_posts,
    set_down,
    side_by_side,
    small_frames,
    tenoned_pair,
    upright,
)

SLAB = box((0, 0, 0), (200, 100, 20))


def areas(assembly: Assembly) -> list[tuple[str, str, float]]:
    """Pair and area of every patch, whatever the order."""
    return sorted((*sorted((p.a, p.b)), round(p.area, 3)) for p in contacts(assembly))


# -- by hand --------------------------------------------------------------------------------------


@pytest.mark.parametrize("fit", [0.0, 0.1, 0.25])
@pytest.mark.parametrize("frame", [identity(), move(12000, -400, 900) @ turn((1, 2, 3), 1.1)], ids=["flat", "turned"])
def test_cheeks_and_shoulders_of_a_tenon(fit: float, frame: Frame) -> None:
    """A tenon 60 x 12 mm, 30 mm deep, on a rail of 90 x 40 mm: four cheeks, and the end less the mortise's mouth."""
    design = tenoned_pair(thickness=12.0, width=60.0, depth=30.0, fit=fit)
    patches = contacts(place(design).moved(frame))
    by_gap = {round(p.gap, 6): [q.area for q in patches if round(q.gap, 6) == round(p.gap, 6)] for p in patches}
    shoulder = 90.0 * 40.0 - (60.0 + 2 * fit) * (12.0 + 2 * fit)
    cheeks = [60.0 * 30.0] * 2 + [12.0 * 30.0] * 2
    flush = [shoulder] if fit else [shoulder, *cheeks]
    assert sorted(by_gap[0.0]) == pytest.approx(sorted(flush), rel=1e-6)
    if fit:
        assert sorted(by_gap[round(fit, 6)]) == pytest.approx(sorted(cheeks), rel=1e-6)
    assert {p.joint for p in patches} == {"tie"}


def test_glue_area_and_end_grain_of_a_tenon() -> None:
    """The rail's shoulder is end grain; the narrow cheeks meet the post's end grain; the wide ones are long grain."""
    assembly = place(tenoned_pair(thickness=12.0, width=60.0, depth=30.0, fit=0.1))
    found = joint_area(assembly, assembly.design.joint["tie"])
    shoulder, wide, narrow = 3600.0 - 60.2 * 12.2, 2 * 60.0 * 30.0, 2 * 12.0 * 30.0
    assert found.area == pytest.approx(shoulder + wide + narrow, rel=1e-6)
    assert found.end_grain == pytest.approx(shoulder + narrow, rel=1e-6)
    assert found.end_share == pytest.approx((shoulder + narrow) / (shoulder + wide + narrow), rel=1e-6)


def test_a_joint_that_touches_nowhere_has_no_area() -> None:
    assembly = place(tenoned_pair())
    away = Assembly(assembly.design, {**assembly.frames, "rail": move(x=200.0) @ assembly.frames["rail"]})
    assert joint_area(away, assembly.design.joint["tie"]).area == 0.0
    assert joint_area(away, assembly.design.joint["tie"]).end_share == 0.0


def test_a_patch_says_where_which_way_and_with_what_grain() -> None:
    one = SLAB
    (patch,) = contacts(side_by_side(one, SLAB, move(150, 30, 20) @ turn((0, 0, 1), np.pi / 2)))
    assert (patch.a, patch.b, patch.joint) == ("one", "other", None)
    assert patch.normal == pytest.approx((0, 0, 1), abs=1e-9)
    assert patch.area == pytest.approx(100.0 * 70.0, rel=1e-6)
    assert patch.centre == pytest.approx((100.0, 65.0, 20.0), abs=1e-6)
    assert (patch.grain_a, patch.grain_b) == pytest.approx((0.0, 0.0), abs=1e-9)


@pytest.mark.parametrize("lean", [0.0, 15.0, 30.0, 60.0, 90.0])
def test_grain_leans_to_the_face_by_the_mitre(lean: float) -> None:
    """A board sawn at an angle shows its grain at that angle: 0 long grain, 90 degrees end grain."""
    way = np.radians(lean)
    square = box((-500, -50, -10), (500, 50, 10)).split_at((0, 0, 0), (-np.sin(way), -np.cos(way), 0))
    face = frame_of((0, 0, 0), (np.sin(way), np.cos(way), 0), (0, 0, 1))
    other = box((-20, -20, 0), (20, 20, 20)).cut(box((-20, 15, -5), (20, 30, 5)))
    patches = contacts(side_by_side(square, other, face))
    assert [p.grain_a for p in patches] == pytest.approx([way], abs=1e-6)


@pytest.mark.parametrize(("gap", "touching"), [(0.0, True), (0.03, True), (0.049, True), (0.051, False), (0.5, False),
                                               (-0.03, True), (-0.2, False)])
def test_faces_touch_up_to_the_gap_a_clamp_closes(gap: float, touching: bool) -> None:
    found = contacts(side_by_side(SLAB, SLAB, move(z=20.0 + gap)))
    assert bool(found) is touching
    if touching:
        assert found[0].gap == pytest.approx(gap, abs=1e-9)
        assert found[0].area == pytest.approx(20000.0, rel=1e-6)


def test_faces_that_lean_touch_only_as_far_as_the_gap_is_small() -> None:
    """0.05 degrees over 200 mm opens by 0.1745 mm; the first 0.05 mm of it, less than a third, is contact."""
    way = np.radians(0.05)
    (found,) = contacts(side_by_side(SLAB, SLAB, move(z=20.0) @ turn((0, -1, 0), way)))
    assert found.area == pytest.approx(100.0 * GAP / np.tan(way), rel=1e-5)
    assert found.gap == pytest.approx(GAP / 2, rel=1e-5)


@pytest.mark.parametrize(("degrees", "touching"), [(0.09, True), (0.11, False)])
def test_faces_that_lean_by_more_than_a_tenth_of_a_degree_do_not_face_each_other(degrees: float,
                                                                                 touching: bool) -> None:
    assert bool(contacts(side_by_side(SLAB, SLAB, move(z=20.0) @ turn((0, -1, 0), np.radians(degrees))))) is touching


def test_two_feet_are_two_patches() -> None:
    bench = box((0, 0, 20), (200, 100, 40)).joined(box((10, 0, 0), (40, 100, 21)), box((160, 0, 0), (190, 50, 21)))
    found = contacts(side_by_side(SLAB, bench, move(z=20.0)))
    assert sorted(p.area for p in found) == pytest.approx([1500.0, 3000.0], rel=1e-6)


def test_a_ring_of_contact_leaves_out_its_hole() -> None:
    holed = box((0, 0, 0), (100, 100, 20)).cut(box((30, 30, -5), (70, 70, 25)))
    (found,) = contacts(side_by_side(SLAB, holed, move(50, 0, 20)))
    assert found.area == pytest.approx(10000.0 - 1600.0, rel=1e-6)


def test_edges_and_corners_are_no_contact() -> None:
    assert contacts(side_by_side(SLAB, SLAB, move(200, 0, 20))) == ()
    assert contacts(side_by_side(SLAB, SLAB, move(200, 100, 20))) == ()


def test_bands_sawn_on_one_arc_touch_all_along_it() -> None:
    """The arc as its chords run: n chords of 2 r sin(a / 2n)."""
    def band(inner: float, outer: float) -> np.ndarray:
        return np.vstack([arc_points(outer, 0.0, 0.4), arc_points(inner, 0.4, 0.0)])

    found = contacts(side_by_side(prism(band(1000.0, 1090.0), -19, 19), prism(band(910.0, 1000.0), -19, 19),
                                  identity()))
    chords = len(arc_points(1000.0, 0.0, 0.4)) - 1
    assert len(found) == chords
    assert sum(p.area for p in found) == pytest.approx(38 * chords * 2000.0 * np.sin(0.2 / chords), rel=1e-6)


def test_two_joints_between_the_same_parts_get_the_patches_nearest_to_them() -> None:
    draft = Draft("bracket")
    draft.add("beam", board(RAIL, 1000.0), frame_of((0, 0, 0), (0, 0, 1), (1, 0, 0)))
    draft.add("plate", board(RAIL, 1000.0), frame_of((0, 0, 40), (0, 0, 1), (1, 0, 0)))
    for name, x in (("left", 200.0), ("right", 800.0)):
        draft.join_at(name, "blind tenon", "plate", "beam", frame_of((x, 0, 20), (0, 0, -1), (1, 0, 0)), fit=0.1,
                      sizes={"thickness": 12.0, "width": 40.0, "depth": 20.0})
    assembly = place(draft.finish())
    cheeks = [p for p in contacts(assembly) if abs(p.normal[2]) < 0.5]
    assert len(cheeks) == 8
    assert all(p.joint == ("left" if p.centre[0] < 500 else "right") for p in cheeks)


def test_the_fit_of_a_joint_is_no_licence_for_others() -> None:
    """A rail that passes a post at 0.1 mm touches it only where a joint with that fit is declared."""
    draft = Draft("passing")
    draft.add("post", board(POST, 700.0), upright(0.0, 0.0))
    draft.add("rail", board(RAIL, 500.0), frame_of((45, 0, 300), (0, 1, 0), (1, 0, 0)))
    draft.join_at("tie", "blind tenon", "rail", "post", frame_of((45, 0, 300), (-1, 0, 0), (0, 0, 1)), fit=0.1)
    design = draft.finish()
    tied = place(design)
    assert any(p.gap == pytest.approx(0.1) for p in contacts(tied))
    untied = set_down({n: (tied.solid(n), tied.frames[n]) for n in tied.names})
    assert [p.gap for p in contacts(untied)] == pytest.approx([0.0], abs=1e-9)


def test_only_the_named_parts_are_looked_at() -> None:
    assembly = place(zoo.frame())
    some = ("post_1a", "long_rail_01", "post_2a")

    def told(patches: tuple[Patch, ...]) -> set[tuple[frozenset[str], float]]:
        return {(frozenset((p.a, p.b)), round(p.area, 4)) for p in patches if {p.a, p.b} <= set(some)}

    few = contacts(assembly, names=some)
    assert 0 < len(few) < len(contacts(assembly))
    assert told(few) == told(contacts(assembly))
    assert contacts(assembly, names=("post_1a",)) == ()


def test_only_the_cuts_made_by_then_count() -> None:
    """A pocket sawn into one slab after its glue-up takes its share of the face away."""
    assembly = side_by_side(SLAB, SLAB, move(z=20.0))
    pocket = Feature("pocket", "cut", box((0, 0, 10), (50, 100, 30)), "curve", after="glue")
    one, other = assembly.design.parts
    later = Assembly(replace(assembly.design, parts=(replace(one, features=(pocket,)), other)), assembly.frames)
    assert [p.area for p in contacts(later, frozenset())] == pytest.approx([20000.0], rel=1e-6)
    assert [p.area for p in contacts(later, frozenset({"glue"}))] == pytest.approx([15000.0], rel=1e-6)
    assert [p.area for p in contacts(later)] == pytest.approx([15000.0], rel=1e-6)


# -- independent: polygons clipped by hand ----------------------------------------------------------


def clipped(subject: np.ndarray, convex: np.ndarray) -> np.ndarray:
    """Clip a polygon (N, 2) by a convex counter-clockwise one (Sutherland and Hodgman, 1974)."""
    for a, b in pairwise([*convex, convex[0]]):
        way = np.array([a[1] - b[1], b[0] - a[0]])
        inside = (subject - a) @ way
        kept = []
        for k in range(len(subject)):
            n = (k + 1) % len(subject)
            if inside[k] >= 0:
                kept.append(subject[k])
            if inside[k] * inside[n] < 0:
                kept.append(subject[k] + (subject[n] - subject[k]) * inside[k] / (inside[k] - inside[n]))
        subject = np.array(kept)
        if len(subject) < 3:
            return np.empty((0, 2))
    return subject


def shoelace(p: np.ndarray) -> tuple[float, np.ndarray]:
    q = np.roll(p, -1, axis=0)
    cross = p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1]
    if abs(cross.sum()) < 1e-12:
        return 0.0, np.zeros(2)
    return float(cross.sum()) / 2, ((p + q) * cross[:, None]).sum(axis=0) / (3 * cross.sum())


@settings(max_examples=50, deadline=None)
@given(st.integers(0, 359), st.floats(-150, 150), st.floats(-100, 100), rigid_frames())
def test_the_overlap_of_two_faces_is_what_clipping_by_hand_gives(angle: int, x: float, y: float,
                                                                  frame: Frame) -> None:
    between = move(x, y, 20.0) @ turn((0, 0, 1), np.radians(angle))
    flat = np.array([(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)])
    common = clipped(flat @ between[:2, :2].T + (x, y), flat)
    area, middle = shoelace(common)
    found = contacts(set_down({"one": (SLAB, frame), "other": (SLAB, frame @ between)}))
    if area < 0.1:
        assert sum(p.area for p in found) <= 0.1
        return
    (patch,) = found
    assert patch.area == pytest.approx(area, rel=1e-6, abs=1e-3)
    assert patch.centre == pytest.approx(frame[:3, :3] @ (*middle, 20.0) + frame[:3, 3], abs=1e-3)


# -- laws -----------------------------------------------------------------------------------------


@settings(max_examples=12, deadline=None)
@given(small_frames(), rigid_frames(), st.randoms(use_true_random=False))
def test_areas_keep_when_the_whole_is_moved_mirrored_or_reordered(design, frame: Frame, seed) -> None:
    told = areas(place(design))
    assert len({p[:2] for p in told}) >= len(design.joints)
    order = list(range(len(design.parts)))
    seed.shuffle(order)
    for other in (place(design).moved(frame), place(design.in_the_mirror()), place(reordered(design, order))):
        again = areas(other)
        assert [p[:2] for p in again] == [p[:2] for p in told]
        assert [p[2] for p in again] == pytest.approx([p[2] for p in told], rel=1e-6)


@settings(max_examples=20, deadline=None)
@given(boxes(), boxes(), st.integers(-50, 50), st.integers(-50, 50))
def test_a_patch_looks_the_other_way_from_the_other_part(one, other, x: int, y: int) -> None:
    between = move(float(x), float(y), float(one.bounds[1][2]))
    pieces = {"one": (one, identity()), "other": (other, between)}

    def key(patch: Patch, sign: float) -> tuple[float, ...]:
        return (*np.round(sign * patch.normal, 6) + 0.0, *np.round(patch.centre, 6), round(patch.area, 4))

    there = contacts(set_down({"other": pieces["other"], "one": pieces["one"]}))
    here = [key(p, 1.0) for p in contacts(set_down(pieces))]
    assert len(here) == len(there)
    for p, q in zip(here, there, strict=True):
        assert p == pytest.approx(key(q, -1.0), rel=1e-6, abs=1e-5)


def test_a_rail_touches_only_its_own_posts() -> None:
    design = row_of_posts([400.0, 700.0], [200.0, 400.0])
    pairs = {frozenset((p.a, p.b)) for p in contacts(place(design))}
    assert pairs == {frozenset((j.a, j.b)) for j in design.joints}
