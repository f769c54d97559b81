"""What a sound design file means: parts, joints, patterns, stages, families, how the base part stands."""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.placing import Assembly, place
from model.design import Design
from model.errors import DesignError
from model.reader import read

Reads = Callable[[str], Design]

HEAD = """name = "Thing"
[stock]
beam = { nominal = "4x4", species = "Western larch" }
lath = { thickness = 20, width = 60, species = "Western larch" }
"""


@pytest.fixture
def reads(tmp_path: Path) -> Reads:
    def read_text(text: str) -> Design:
        file = tmp_path / "design.toml"
        file.write_text(text, encoding="utf-8")
        return read(file)
    return read_text


def centre(assembly: Assembly, name: str) -> list[float]:
    at = assembly.vertices(name)
    middle: list[float] = ((at.min(axis=0) + at.max(axis=0)) / 2).round(6).tolist()
    return middle


def test_what_is_not_said_has_its_default(reads: Reads) -> None:
    design = reads(HEAD + '[part]\npost = { shape = "board", stock = "beam", length = 1000 }\n')
    assert (design.name, design.says, design.unit, design.base, design.stages) == ("Thing", "", "mm", "post", ())
    assert design.shop.people == 2 and design.shop.open_minutes == 10
    [post] = design.parts
    assert (post.group, post.leaves_after, post.temporary) == ("post", None, False)


def test_what_is_said_is_kept(reads: Reads, tmp_path: Path) -> None:
    design = reads("""dryfit = 1
name = "Thing"
says = "one thing"
unit = "in"
base = "b"
[shop]
glue = "epoxy"
open = 25.5
people = 3
[stock.beam]
nominal = "4x6"
species = "Douglas-fir, coast"
thickness = 3.25
length = "8 ft"
[part.a]
shape = "board"
length = 10
group = "boards"
[part.b]
shape = "board"
length = "1 ft 2 1/2 in"
width = 4
""")
    assert (design.base, design.unit, design.says) == ("b", "in", "one thing")
    assert (design.shop.glue, design.shop.open_minutes, design.shop.people) == ("epoxy", 25.5, 3)
    a, b = design.parts
    assert a.group == "boards" and a.blank.length == 254.0
    assert (b.blank.length, b.blank.width) == (pytest.approx(368.3), pytest.approx(101.6))
    stock = a.blank.stock
    # PS 20: a dry 4x6 is dressed to 3 1/2 by 5 1/2 in; this one was milled a quarter inch thinner
    assert (stock.thickness, stock.width, stock.length) == pytest.approx((82.55, 139.7, 2438.4))
    assert design.source == tmp_path / "design.toml"


@settings(max_examples=60, deadline=None)
@given(feet=st.integers(0, 20), inches=st.integers(0, 11), sixteenths=st.integers(1, 15))
def test_a_length_survives_the_file(tmp_path_factory: pytest.TempPathFactory, feet: int, inches: int,
                                    sixteenths: int) -> None:
    part = Fraction(sixteenths, 16)
    file = tmp_path_factory.mktemp("lengths") / "design.toml"
    text = f"""[part]
a = {{ shape = "board", stock = "beam", length = "{feet} ft {inches} {part} in" }}
b = {{ shape = "board", stock = "beam", length = {(feet * 12 + inches + float(part)) * 25.4} }}
"""
    file.write_text(HEAD + text, encoding="utf-8")
    a, b = read(file).parts
    # 1 in = 25.4 mm exactly (international yard and pound agreement, 1959)
    assert a.blank.length == pytest.approx(float((feet * 12 + inches + part) * Fraction(254, 10)), abs=1e-8)
    assert b.blank.length == pytest.approx(a.blank.length, abs=1e-8)


POST_AND_RAIL = HEAD + """[part]
post = { shape = "board", stock = "beam", length = 1000 }
rail = { shape = "board", stock = "lath", length = 400 }
"""


@pytest.mark.parametrize(("turned", "long_way"), [("", 2), ("turn = 90", 1), ("turn = -90", 1), ("turn = 180", 2)])
def test_a_joint_puts_one_part_where_it_says_on_the_other(reads: Reads, turned: str, long_way: int) -> None:
    design = reads(POST_AND_RAIL + f"""[joint.one]
kind = "blind tenon"
from = "rail.start"
into = "post.face"
along = 700
across = 5
depth = 30
{turned}
[stand]
grain = "up"
""")
    assembly = place(design)
    # by hand: the post stands up, its face looks to -x, across runs to +y; the rail grows out to -x
    half = 88.9 / 2
    assert centre(assembly, "post") == pytest.approx([0, 0, 500])
    low, high = assembly.vertices("rail").min(axis=0), assembly.vertices("rail").max(axis=0)
    assert (low[0], high[0]) == pytest.approx((-half - 400, -half + 30))
    assert (low[1] + high[1]) / 2 == pytest.approx(5) and (low[2] + high[2]) / 2 == pytest.approx(700)
    assert (high - low)[long_way] == pytest.approx(60) and (high - low)[3 - long_way] == pytest.approx(20)


def test_a_place_on_the_first_part_can_be_shifted_too(reads: Reads) -> None:
    design = reads(POST_AND_RAIL + """[joint.one]
kind = "glued face"
from = "rail.back"
from_along = 100
from_across = 10
into = "post.face"
along = 300
""")
    assembly = place(design)
    assert centre(assembly, "rail") == pytest.approx([300 - 100 + 200, 10, 88.9 + 10])


def test_a_lap_sinks_both_pieces(reads: Reads) -> None:
    design = reads(POST_AND_RAIL + """[joint.one]
kind = "cross lap"
from = "rail.back"
from_along = 200
into = "post.face"
along = 500
turn = 90
depth = 8
""")
    assembly = place(design)
    # flush: the lath is 20 thick, 8 of it cut away, 12 let into the post
    assert assembly.vertices("rail")[:, 2].max() == pytest.approx(88.9)
    assert assembly.vertices("rail")[:, 2].min() == pytest.approx(88.9 - 20)


@pytest.mark.parametrize(("stand", "low", "high"), [
    ("", [0, -44.45, 0], [1000, 44.45, 88.9]),
    ('grain = "up"', [-44.45, -44.45, 0], [44.45, 44.45, 1000]),
    ('grain = "down"\nlift = 200', [-44.45, -44.45, 200], [44.45, 44.45, 1200]),
    ("turn_angle = 90", [-44.45, 0, 0], [44.45, 1000, 88.9]),
    ("tip_angle = 90\nturn_angle = 30\nroll_angle = 90", None, None),
    ("roll_angle = 45", [0, -44.45 * math.sqrt(2), 0], [1000, 44.45 * math.sqrt(2), 88.9 * math.sqrt(2)]),
])
def test_how_the_base_part_stands(reads: Reads, stand: str, low: list[float] | None, high: list[float] | None) -> None:
    design = reads(POST_AND_RAIL + f"[stand]\n{stand}\n")
    at = place(design).vertices("post")
    assert at[:, 2].min() == pytest.approx(200 if "lift" in stand else 0, abs=1e-6)
    if low is not None and high is not None:
        assert at.min(axis=0) == pytest.approx(low, abs=1e-6) and at.max(axis=0) == pytest.approx(high)
    else:
        assert np.ptp(at[:, 2]) == pytest.approx(1000)


LADDER = HEAD + """[part]
left = { shape = "board", stock = "beam", length = 2000 }
right = { shape = "board", stock = "beam", length = 2000 }
rung = { shape = "board", stock = "lath", length = 400 }
[joint]
rung_left = { kind = "blind tenon", from = "rung.start", into = "left.face", along = 250 }
rung_right = { kind = "blind tenon", from = "rung.end", into = "right.back", along = 250 }
"""


def test_a_pattern_along_a_line(reads: Reads) -> None:
    design = reads(LADDER + '[pattern.rungs]\npart = "rung"\ncount = 6\nstep = 300\n')
    assert [p.name for p in design.parts] == ["left", "right", *(f"rung_{i}" for i in range(1, 7))]
    assert [j.name for j in design.joints][:2] == ["rung_left_1", "rung_left_2"]
    assert {p.group for p in design.parts} == {"left", "right", "rung"}
    assembly = place(design)
    assert not assembly.open_loops and not assembly.loose
    assert [centre(assembly, f"rung_{i}")[0] for i in range(1, 7)] == pytest.approx([250 + 300 * i for i in range(6)])
    assert design.part["rung_1"].blank is design.part["rung_6"].blank


def test_a_place_that_runs_the_other_way_is_stepped_backwards(reads: Reads) -> None:
    turned = LADDER.replace('into = "right.back", along = 250', 'into = "right.face", along = 1750, turn = 180')
    pattern = '[pattern.rungs]\npart = "rung"\ncount = 4\nstep = 50\nagainst = "rung_right"\n'
    right = reads(turned + pattern)
    assert not place(right).open_loops
    forgotten = reads(turned + pattern.replace('against = "rung_right"', ""))
    assert place(forgotten).open_loops
    for design, step in ((right, -50), (forgotten, 50)):
        at = [design.joint[f"rung_right_{i}"].seat_b[0, 3] for i in range(1, 5)]
        assert at == pytest.approx([1750 + step * i for i in range(4)])


def test_a_pattern_of_parts_that_are_joined_to_each_other(reads: Reads) -> None:
    design = reads(HEAD + """[part]
sill = { shape = "board", stock = "beam", length = 3000 }
post = { shape = "board", stock = "beam", length = 900 }
arm = { shape = "board", stock = "lath", length = 300 }
[joint]
foot = { kind = "blind tenon", from = "post.start", into = "sill.face", along = 300 }
arm = { kind = "blind tenon", from = "arm.start", into = "post.edge", along = 600 }
[pattern.posts]
part = ["post", "arm"]
count = 4
step = 700
""")
    assembly = place(design)
    assert not assembly.loose and len(design.joints) == 8
    for i in range(4):
        assert centre(assembly, f"post_{i + 1}")[0] == pytest.approx(300 + 700 * i)
        # the arm is where it was on its own post
        assert design.joint[f"arm_{i + 1}"].seat_b == pytest.approx(design.joint["arm_1"].seat_b)


def test_a_pattern_of_a_pattern_makes_a_grid(reads: Reads) -> None:
    design = reads(LADDER + """panel = { kind = "glued face", from = "floor.face", into = "left.back", along = 1000 }
[part.floor]
shape = "board"
stock = "beam"
length = 3000
[pattern.rungs]
part = "rung"
count = 3
step = 300
[pattern.ladders]
part = ["left", "right", "rung_*"]
count = 2
step_across = 500
""")
    assert len(design.parts) == 1 + 2 * 5 and "rung_3_2" in design.part
    assert len(design.joints) == 2 * 6 + 2
    assembly = place(design)
    assert not assembly.open_loops and not assembly.loose
    gap = np.subtract(centre(assembly, "rung_2_2"), centre(assembly, "rung_2_1"))
    assert np.abs(gap) == pytest.approx([0, 500, 0], abs=1e-6)


def test_a_pattern_along_an_arc(reads: Reads) -> None:
    design = reads(HEAD + """[stand]
lift = "600 mm"
[part]
top = { shape = "board", stock = "beam", length = 600 }
leg = { shape = "board", stock = "lath", length = 500 }
[joint]
leg = { kind = "glued face", from = "leg.start", into = "top.back", along = 420 }
[pattern.legs]
part = "leg"
count = 5
step_angle = 72
centre_along = 300
""")
    assembly = place(design)
    middles = np.array([centre(assembly, f"leg_{i}") for i in range(1, 6)])
    assert np.hypot(middles[:, 0] - 300, middles[:, 1]) == pytest.approx([120.0] * 5)
    assert middles[:, 2] == pytest.approx([350.0] * 5)
    turned = np.degrees(np.arctan2(middles[:, 1], middles[:, 0] - 300))
    assert np.diff(np.unwrap(turned, period=360)) == pytest.approx([-72.0] * 4)
    # every leg looks to the middle as the first does
    ways = np.array([assembly.frames[f"leg_{i}"][:2, 1] for i in range(1, 6)])
    out = (middles[:, :2] - [300, 0]) / 120
    assert (ways * out).sum(axis=1) == pytest.approx([float(ways[0] @ out[0])] * 5)


def test_a_pattern_follows_the_arc_of_a_curved_band(reads: Reads) -> None:
    design = reads(HEAD + """[stock.wide]
thickness = 60
width = 400
species = "Western larch"
[part]
band = { shape = "curved band", stock = "wide", outer_radius = 1000, inner_radius = 900, band_angle = 60 }
ray = { shape = "board", stock = "lath", length = 300 }
[joint]
ray = { kind = "glued face", from = "ray.start", into = "band.outer", along = -200 }
[pattern.rays]
part = "ray"
count = 3
step = 200
""")
    assembly = place(design)
    ways = [assembly.frames[f"ray_{i}"][:3, 0] for i in (1, 2, 3)]
    # 200 mm along an arc of 1000 mm radius is 0.2 rad
    assert [math.acos(float(ways[0] @ w)) for w in ways[1:]] == pytest.approx([0.2, 0.4])


STAGES = LADDER + """[pattern.rungs]
part = "rung"
count = 3
step = 300
[[stage]]
name = "left"
joints = {left}
[[stage]]
name = "right"
joints = {right}
after = ["left"]
"""


@pytest.mark.parametrize(("left", "right"), [
    ('"rung_left"', '["rung_right"]'), ('"rung_left_*"', '"rung_right_*"'), ('"rung_left"', '"*"'),
    ('["rung_left_1", "rung_left_2", "rung_left_3"]', '"rung_*"'), ('"*_left*"', '"*"'),
])
def test_stages_name_joints_their_copies_or_what_is_left(reads: Reads, left: str, right: str) -> None:
    one, two = reads(STAGES.replace("{left}", left).replace("{right}", right)).stages
    assert one.joints == ("rung_left_1", "rung_left_2", "rung_left_3") and one.after == ()
    assert two.joints == ("rung_right_1", "rung_right_2", "rung_right_3") and two.after == ("left",)


def test_both_halves_of_a_loose_tenon_come_with_their_joint(reads: Reads) -> None:
    design = reads(POST_AND_RAIL + """[joint.one]
kind = "loose tenon"
from = "rail.start"
into = "post.face"
along = 500
[[stage]]
name = "only"
joints = ["one"]
""")
    assert set(design.stages[0].joints) == {j.name for j in design.joints} and len(design.joints) > 1


def test_a_temporary_part_is_never_glued(reads: Reads) -> None:
    text = POST_AND_RAIL + """[part.prop]
shape = "board"
stock = "lath"
length = 500
leaves_after = "glue"
[joint.one]
kind = "blind tenon"
from = "rail.start"
into = "post.face"
along = 500
[joint.two]
kind = "glued face"
from = "prop.end"
into = "rail.face"
along = 200
[[stage]]
name = "glue"
joints = "*"
"""
    design = reads(text)
    assert design.part["prop"].temporary and not design.joint["two"].glued and design.joint["one"].glued
    with pytest.raises(DesignError, match="cannot be glued"):
        reads(text.replace('from = "prop.end"', 'from = "prop.end"\nglued = true'))


SEGMENT = """name = "Ring"
[stock]
board = { nominal = "2x6", species = "Western larch" }
[part.segment]
shape = "mitred board"
length = 300
start_angle = 10
end_angle = 10
curve = { outer_radius = 900, inner_radius = 800, after = "ring" }
[part.next]
shape = "mitred board"
length = 300
start_angle = 10
end_angle = 10
curve = { outer_radius = 900, inner_radius = 800, after = "ring" }
[joint.mitre]
kind = "glued face"
from = "segment.end"
into = "next.start"
[[stage]]
name = "ring"
joints = ["mitre"]
"""


def test_a_segment_is_sawn_to_its_curve_after_the_stage(reads: Reads) -> None:
    design = reads(SEGMENT)
    part = design.part["segment"]
    # 18 of these make a ring; its middle lies 150 / tan 10 degrees below the middle of the board (trigonometry)
    radius = 150 / math.tan(math.radians(10))
    before, after = part.solid(frozenset()), part.solid(frozenset({"ring"}))
    assert before.volume == pytest.approx(300 * 139.7 * 38.1)
    # the band's section turned through 20 degrees: (Ro² - Ri²) / 2 x angle x thickness
    assert after.volume == pytest.approx((900**2 - 800**2) / 2 * math.radians(20) * 38.1, rel=1e-4)
    seen = np.hypot(after.mesh[0][:, 0] - 150, after.mesh[0][:, 1] + radius)
    assert (seen.min(), seen.max()) == pytest.approx((800, 900), abs=0.02)
    assembly = place(design)
    assert assembly.frames["next"][:3, 0] @ assembly.frames["segment"][:3, 0] == pytest.approx(
        math.cos(math.radians(20)))


FAMILY = """name = "Rack"
[stock]
post = { thickness = "80 mm", width = "80 mm", species = "Western larch" }
rail = { nominal = "2x4", species = "Western larch" }
[family]
kind = "post and rail"
post_stock = "post"
rail_stock = "rail"
"""


def test_free_parts_join_a_family(reads: Reads) -> None:
    plain = reads(FAMILY)
    post = next(p.name for p in plain.parts if p.blank.thickness == 80.0)
    hook = f"""[part.hook]
shape = "board"
stock = "rail"
length = 200
width = "60 mm"
[joint.hook]
kind = "glued face"
from = "hook.start"
into = "{post}.edge"
along = 50
"""
    mixed = reads(FAMILY + hook)
    assert len(mixed.parts) == len(plain.parts) + 1
    assert mixed.base == plain.base and mixed.base_frame == pytest.approx(plain.base_frame)
    assert not place(mixed).loose
    assert [s.name for s in mixed.stages] == [s.name for s in plain.stages]
    last = plain.stages[-1].name
    added = reads(FAMILY + hook + f'[[stage]]\nname = "hooks"\njoints = "hook"\nafter = "{last}"\n')
    assert [s.name for s in added.stages] == [*(s.name for s in plain.stages), "hooks"]
    alone = reads(FAMILY + hook + '[[stage]]\nname = "all at once"\njoints = "*"\n')
    [stage] = alone.stages
    assert {j.name for j in alone.joints} == set(stage.joints)


def test_another_base_part_leaves_a_family_where_it_stands(reads: Reads) -> None:
    plain = place(reads(FAMILY))
    for other in plain.names[1:4]:
        moved = place(reads(f'base = "{other}"\n' + FAMILY))
        for name in plain.names:
            assert moved.frames[name] == pytest.approx(plain.frames[name], abs=1e-6)


def test_a_byte_order_mark_and_dos_lines_do_no_harm(reads: Reads, tmp_path: Path) -> None:
    file = tmp_path / "dos.toml"
    file.write_bytes(b"\xef\xbb\xbf" + LADDER.replace("\n", "\r\n").encode())
    assert len(read(file).parts) == 3
