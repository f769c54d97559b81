"""Verdicts against sums that need none of the checks: volumes, hand-worked glue areas, loops that stay open.

All hand values are derived beside their test: plane geometry and trigonometry. Volumes in
common come from the boolean of the placed solids alone, without shrinking or contacts.
"""

from __future__ import annotations

from dataclasses import replace
from math import cos, degrees, pi, radians, sin, tan

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from assembly.checks import check
from assembly.contacts import contacts, joint_area
from assembly.interference import overlaps
from assembly.placing import Assembly, place
from model.design import Design, Shop
from model.draft import Draft
from model.errors import DryfitError
from model.frames import Frame, X, move, turn
from model.joints import KINDS
from model.part import Blank
from model.shapes.board import board
from model.shapes.curved_band import curved_band
from model.shapes.mitred_board import mitred_board
from model.shapes.tapered_leg import tapered_leg
from tests import zoo
from tests.joined import THICKNESS, WIDTH, facing, pair, usual
from tests.strategies import lengths, rigid_frames
from tests.test_checks import ring
from tests.zoo import milled

ROUNDING = 0.01
"""Sound neighbours share less than this, mm³: rounding of leaning faces to 1e-9 over their area."""


def in_common(assembly: Assembly) -> float:
    """Return by how much the parts' volumes together exceed the volume of their union, mm³."""
    solids = [assembly.solid(n).moved(assembly.frames[n]) for n in assembly.there()]
    return sum(s.volume for s in solids) - solids[0].joined(*solids[1:]).volume


# -- glue areas by hand ---------------------------------------------------------------------------

LONG, SHORT, DEEP = 60.0, 12.0, 50.0
"""The tenon's section and its reach, mm; the boards are 140 x 40 mm, `a` 500 long."""


def by_hand(kind: str, fit: float) -> float:
    """Return the area over which two boards meet, joined as `usual` joins them, mm²."""
    end, around = WIDTH * THICKNESS, 2 * (LONG + SHORT)
    shoulder = end - (LONG + 2 * fit) * (SHORT + 2 * fit)
    half, prong = THICKNESS / 2, (THICKNESS - SHORT) / 2 - fit
    areas = {
        "blind tenon": shoulder + around * DEEP,
        "through tenon": shoulder + around * WIDTH,
        "loose tenon": shoulder,
        "half lap": WIDTH * WIDTH + 4 * WIDTH * half,
        "cross lap": WIDTH * WIDTH + 4 * WIDTH * half,
        "housing": end + 2 * WIDTH * THICKNESS / 3,
        "bridle": SHORT * WIDTH + 2 * WIDTH * WIDTH + 4 * prong * WIDTH,
        "glued face": 500.0 * WIDTH,
    }
    return areas[kind]


def sizes_of(kind: str) -> dict[str, float]:
    """Return the sizes the hand values are worked with."""
    tenon = {"width": LONG, "thickness": SHORT}
    given = {"blind tenon": {**tenon, "depth": DEEP}, "through tenon": tenon, "loose tenon": {**tenon, "length": 80.0},
             "bridle": {"thickness": SHORT}}
    return given.get(kind, {})


@pytest.mark.parametrize("fit", [0.0, 0.1, 0.25])
@pytest.mark.parametrize("kind", KINDS)
def test_the_glue_area_of_each_kind_of_joint(kind: str, fit: float) -> None:
    """Cheeks and shoulders. A cheek is as large as the smaller of its two faces; a mouth is wider by the fit."""
    design = usual(kind, fit=fit, **sizes_of(kind))
    standing = place(design).moved(move(800.0, -300.0, 40.0) @ turn((1, 2, 3), 0.7))
    assert joint_area(standing, design.joint["j"]).area == pytest.approx(by_hand(kind, fit), rel=1e-6)
    for half in (j for j in design.joints if j.of == "j"):
        assert joint_area(standing, half).area == pytest.approx(2 * (LONG + SHORT) * 40.0, rel=1e-6)


@pytest.mark.parametrize("lean", [-30.0, 12.5, 40.0])
def test_the_glue_area_of_a_tenon_on_a_mitred_end(lean: float) -> None:
    """The shoulder is longer by the cosine of the mitre; the tenon stands square to the face it enters."""
    a = mitred_board(milled("a", THICKNESS, WIDTH), 700.0, 0.0, radians(lean))
    b = board(milled("b", THICKNESS, WIDTH), 900.0)
    design = pair("blind tenon", a, b, a.place("end"), facing(b.place("edge", 450.0)), fit=0.1,
                  sizes=sizes_of("blind tenon"))
    shoulder = WIDTH / cos(radians(lean)) * THICKNESS - (LONG + 0.2) * (SHORT + 0.2)
    found = joint_area(place(design), design.joint["j"]).area
    assert found == pytest.approx(shoulder + 2 * (LONG + SHORT) * DEEP, rel=1e-6)


# -- volumes --------------------------------------------------------------------------------------

FAMILIES = {
    "post and rail": {"posts_along": st.integers(2, 3), "posts_across": st.integers(1, 2),
                      "length": lengths(900, 2400), "long_joint": st.sampled_from(["blind tenon", "through tenon"])},
    "arch gateway": {"segments_in_ring": st.just(12), "segments_per_arch": st.sampled_from([4, 5, 6]),
                     "band": lengths(50, 80), "radius": lengths(600, 900), "leg_rails": st.integers(1, 2),
                     "leg_length": lengths(500, 900)},
    "closed ring": {"segments": st.integers(6, 11), "curved": st.booleans(),
                    "segment_joint": st.sampled_from(["half lap", "loose tenon", "glued face"])},
}


@pytest.mark.parametrize("family", FAMILIES)
@settings(max_examples=4, deadline=None)
@given(data=st.data())
def test_parts_of_any_structure_share_no_volume(family: str, data: st.DataObject) -> None:
    """The union has the volume of the sum, and the checks are silent, but for laps so wide that seasons tell."""
    try:
        design = zoo.made(family, "drawn", **data.draw(st.fixed_dictionaries(FAMILIES[family])))
    except DryfitError:
        assume(False)
    assembly = place(design)
    assert in_common(assembly) == pytest.approx(0.0, abs=ROUNDING * len(design.joints))
    assert [f for f in check(assembly, design.shop) if f.severity != "note" and f.kind != "grain"] == []


@pytest.mark.parametrize("name", ["mortise_shifted", "mortise_missing"])
def test_the_volume_of_all_overlaps_is_what_the_union_lacks(name: str) -> None:
    assembly = place(zoo.MISTAKES[name][0]())
    assert sum(o.volume for o in overlaps(assembly)) == pytest.approx(in_common(assembly), rel=1e-6)


WOOD, WIDE = milled("piece", 40.0, 140.0), milled("wide", 40.0, 700.0)


@st.composite
def pieces(draw: st.DrawFn) -> Blank:
    """A board, a mitred board whose ends lean two ways, a tapered leg or a curved band."""
    width, length = draw(lengths(60, 140)), draw(lengths(500, 900))
    leans = [radians(draw(st.integers(-m, m))) for m in (40, 40, 15)]
    kind = draw(st.sampled_from(["board", "mitred", "leg", "band"]))
    if kind == "board":
        return board(WOOD, length, width)
    if kind == "mitred":
        return mitred_board(WOOD, length, leans[0], leans[1], end_tilt=leans[2], width=width)
    if kind == "leg":
        return tapered_leg(WOOD, length, draw(lengths(50, 100)), draw(lengths(25, 40)), width=width)
    return curved_band(WIDE, length, draw(lengths(400, 480)), draw(lengths(4, 9)) / 10)


@st.composite
def joined(draw: st.DrawFn) -> Design:
    """Two pieces of any shape joined by any kind of joint, anywhere and at any turn."""
    kind, fit = draw(st.sampled_from(sorted(KINDS))), draw(st.sampled_from([0.0, 0.1, 0.25]))
    a, b = draw(pieces()), draw(pieces())
    ends, flat = ["start", "end"], kind in ("half lap", "cross lap", "glued face")
    sides = [[n for n in blank.places if n not in ends] for blank in (a, b)]
    seat_a = a.place(draw(st.sampled_from(sides[0] if flat else ends)), draw(along(a)) if flat else 0.0)
    about = draw(st.integers(0, 359)) if flat else draw(st.sampled_from([0, 90, 180]))
    seat_b = facing(b.place(draw(st.sampled_from(sides[1])), draw(along(b))), radians(about))
    try:
        in_a, in_b = KINDS[kind].sink({}, a, b, seat_a, seat_b)
        design = pair(kind, a, b, seat_a @ move(z=-in_a), seat_b @ move(z=in_b), fit=fit)
        for part in design.parts:
            part.checked()
    except DryfitError:
        assume(False)
    return design


def along(blank: Blank) -> st.SearchStrategy[float]:
    """How far along a place of a piece: the places of a band start in its middle."""
    return lengths(-50, 50) if blank.shape == "curved band" else lengths(0.3 * blank.length, 0.7 * blank.length)


@settings(max_examples=40, deadline=None)
@given(joined(), rigid_frames())
def test_overlaps_are_told_where_the_volumes_say_so_and_nowhere_else(design: Design, frame: Frame) -> None:
    """A square end on a hollow curve is in its wood at the corners: so joints of any shape are, or are not."""
    assembly = place(design).moved(frame)
    told = {frozenset((o.a, o.b)) for o in overlaps(assembly)}
    names = assembly.names
    for i, one in enumerate(names):
        for other in names[i + 1:]:
            p, q = (assembly.solid(n).moved(assembly.frames[n]) for n in (one, other))
            common = p.kept(q).volume
            if frozenset((one, other)) in told:
                assert common > ROUNDING
            else:
                area = sum(c.area for c in contacts(assembly, names=(one, other)))
                assert common < ROUNDING + 0.025 * area
    findings = {f.kind for f in check(assembly, Shop())}
    assert ("interference" in findings) is bool(told)


# -- loops that do not close ----------------------------------------------------------------------


def rectangle(short: float, kind: str) -> Design:
    """Two stiles of 500 mm between two rails of 800 mm, the upper one `short` mm too short between its joints."""
    stock = milled("frame", 20.0, 60.0)
    stile, rail, cut = board(stock, 500.0), board(stock, 800.0), board(stock, 800.0 - short)
    draft = Draft("rectangle", base="lower")
    for name, blank in (("lower", rail), ("left", stile), ("right", stile), ("upper", cut)):
        draft.add(name, blank)
    for name, at, up in (("left", 30.0, 30.0), ("right", 770.0, 770.0 - short)):
        draft.join(f"{name}_foot", kind, name, "lower", stile.place("start"), rail.place("edge", at) @ turn(X, pi))
        draft.join(f"{name}_head", kind, name, "upper", stile.place("end"), cut.place("far_edge", up) @ turn(X, pi))
    return draft.finish()


@pytest.mark.parametrize("kind", ["glued face", "blind tenon"])
@pytest.mark.parametrize("short", [3.0, -3.0, 0.07])
def test_a_rectangle_with_one_rail_too_short_stays_open_by_as_much(short: float, kind: str) -> None:
    (finding,) = [f for f in check(place(rectangle(short, kind)), Shop()) if f.severity == "stop"]
    assert finding.kind == "gap" and finding.amount is not None and finding.amount.unit == "mm"
    assert finding.amount.value == pytest.approx(abs(short), abs=1e-3)
    assert set(finding.joints) == {"left_foot", "left_head", "right_foot", "right_head"}
    assert "degrees" not in finding.message
    assert [f for f in check(place(rectangle(0.0, kind)), Shop()) if f.severity == "stop"] == []


@pytest.mark.parametrize("off", [0.5, -0.5, 0.1])
@pytest.mark.parametrize("n", [3, 5, 9, 12])
def test_a_ring_with_every_cut_off_stays_open_by_twice_as_much_a_joint(n: int, off: float) -> None:
    """Derived: 2 n e of angle; the n centrelines of length s turn by t each and span s sin(n t / 2) / sin(t / 2)."""
    (loop,) = place(ring(n, error=radians(off))).open_loops
    side, by = 600.0 * tan(pi / n), 2 * (pi / n + radians(off))
    assert degrees(loop.angle) == pytest.approx(2 * n * abs(off), abs=1e-6)
    assert loop.gap == pytest.approx(abs(side * sin(n * by / 2) / sin(by / 2)), abs=1e-4)
    found = [f for f in check(place(ring(n, error=radians(off))), Shop()) if f.kind == "gap"]
    assert f"and {2 * n * abs(off):.3g}° out of line" in found[0].message
    assert found[0].amount is not None and found[0].amount.value == pytest.approx(loop.gap, abs=1e-3)


# -- laws -----------------------------------------------------------------------------------------


def told(design: Design) -> list[tuple[str, str, float]]:
    """Kind, severity and amount of every finding, worst first."""
    return sorted((f.kind, f.severity, round(f.amount.value, 2) if f.amount else 0.0)
                  for f in check(place(design), design.shop))


def renamed(design: Design, rng: np.random.Generator) -> Design:
    """Return the design with parts and joints in another order and under other names."""
    parts, joints = ([items[k] for k in rng.permutation(len(items))] for items in (design.parts, design.joints))
    new = {p.name: f"p{rng.integers(10**6)}_{k}" for k, p in enumerate(parts)}
    named = {j.name: f"j{rng.integers(10**6)}_{k}" for k, j in enumerate(joints)}
    return replace(
        design, base=new[design.base],
        parts=tuple(replace(p, name=new[p.name], features=tuple(
            replace(f, joint=named.get(f.joint or "", f.joint)) for f in p.features)) for p in parts),
        joints=tuple(replace(j, name=named[j.name], a=new[j.a], b=new[j.b], of=named.get(j.of or "")) for j in joints),
        stages=tuple(replace(s, joints=tuple(named[n] for n in s.joints)) for s in design.stages))


LAWFUL = {**{n: zoo.SOUND[n] for n in ("frame_through", "gateway_small", "ring_loose")},
          **{n: make for n, (make, _) in zoo.MISTAKES.items()}, "ring off": lambda: ring(9, error=0.002)}


@pytest.mark.parametrize("name", LAWFUL)
def test_findings_keep_when_moved_at_the_base_mirrored_reordered_and_renamed(name: str) -> None:
    """Which joint of a wrong part is left open may change with their order; what is wrong, and how much, may not."""
    design = LAWFUL[name]()
    before, rng = told(design), np.random.default_rng(11)
    frame = move(4000.0, -2500.0, 700.0) @ turn((2, -1, 3), 1.3)
    for other in (replace(design, base_frame=frame @ design.base_frame), design.in_the_mirror(),
                  renamed(design, rng), renamed(design, rng)):
        again = told(other)
        assert [f[:2] for f in again] == [f[:2] for f in before]
        assert [f[2] for f in again] == pytest.approx([f[2] for f in before], abs=0.0101)
