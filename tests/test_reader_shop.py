"""The shop and the pins of a design file: what is said is kept, what is not said stays open, what is wrong is named."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from model.design import Design, Pin, StageSpec
from model.errors import DesignError, Problem
from model.reader import read
from model.reader.schema import PINS_MOST
from model.reader.shop_tables import CLAMPS_MOST, KINDS_MOST, actions
from model.shop import Bench, ClampStock, Machine, Opening, Shop, Vehicle
from tests.test_reader_hostile import VALUES, as_toml

Reads = Callable[[str], Design]
Refuses = Callable[[str], list[Problem]]

STAND = """name = "Hat stand"
[stock]
beam = { thickness = "90 mm", width = "90 mm", species = "Western larch" }
[part]
left_post = { shape = "board", length = "900 mm" }
right_post = { shape = "board", length = "900 mm" }
left_foot = { shape = "board", length = "500 mm" }
right_foot = { shape = "board", length = "500 mm" }
rail = { shape = "board", length = "700 mm" }
[joint]
left_stand = { kind = "blind tenon", from = "left_post.start", into = "left_foot.face", along = "250 mm" }
right_stand = { kind = "loose tenon", from = "right_post.start", into = "right_foot.face", along = "250 mm" }
rail_left = { kind = "blind tenon", from = "rail.start", into = "left_post.face", along = "600 mm" }
rail_right = { kind = "blind tenon", from = "rail.end", into = "right_post.back", along = "600 mm" }
"""
HALVES = ("right_stand_tenon_a", "right_stand_tenon_b")


@pytest.fixture
def reads(tmp_path: Path) -> Reads:
    def read_text(text: str) -> Design:
        file = tmp_path / "design.toml"
        file.write_text(STAND + text, encoding="utf-8")
        return read(file)
    return read_text


@pytest.fixture
def refuses(reads: Reads) -> Refuses:
    def refused(text: str) -> list[Problem]:
        with pytest.raises(DesignError) as found:
            reads(text)
        assert all(line.isprintable() and len(line) < 600 for line in found.value.lines())
        return found.value.problems
    return refused


# -- the shop -------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["", "[shop]\n", "[shop.seconds]\n", "[shop.bench]\n", "[shop]\nclamp = []\n"])
def test_what_is_not_said_stays_open(reads: Reads, text: str) -> None:
    assert reads(text).shop == Shop()


def test_what_is_said_is_kept(reads: Reads) -> None:
    shop = reads("""[shop]
glue = "epoxy"
open = 20
people = 3
temperature = 12.5
closed = 25
clamped = 90
cure = 24
spread_rate = 250
lift_one = 15
lift_two = 40
[[shop.clamp]]
kind = "bar"
count = 6
opening = "1.2 m"
reach = "95 mm"
pad = 40
[[shop.clamp]]
kind = "band"
count = 2
opening = "13 ft"
[[shop.machine]]
name = "band saw"
length = "2.4 m"
width = 600
height = 300
cuts = "curve"
[[shop.machine]]
name = "router"
[shop.bench]
length = 1800
height = "34 in"
[shop.doorway]
width = "32 in"
height = "80 in"
[shop.vehicle]
length = 2400
width = 1200
height = 1300
door_width = 1100
overhang = 500
[shop.seconds]
move_piece = 12.5
""").shop
    assert shop == Shop(
        "epoxy", 20.0, 3, temperature=12.5, closed_minutes=25.0, clamp_minutes=90.0, cure_hours=24.0,
        spread_rate=250.0, lift_one=15.0, lift_two=40.0,
        clamps=(ClampStock("bar", 6, 1200.0, 95.0, 40.0), ClampStock("band", 2, 3962.4)),
        machines=(Machine("band saw", 2400.0, 600.0, 300.0, ("curve",)), Machine("router")),
        bench=Bench(1800.0, 900.0, 863.6), doorway=Opening(812.8, 2032.0),
        vehicle=Vehicle(2400.0, 1200.0, 1300.0, 1100.0, None, 500.0), seconds={"move_piece": 12.5})


@pytest.mark.parametrize(("lines", "key", "accepted"), [
    ("lift_two = 20", "lift_two", "more than 20 kg, or lift_one as well"),
    ("lift_one = 40", "lift_one", "less than 35 kg, or lift_two as well"),
    ("lift_one = 30\nlift_two = 30", "lift_two", "more than 30 kg"),
    ("clamped = 90\ncure = 1", "cure", "at least 1.5 h"),
    (f"clamp = [{'{}, ' * (KINDS_MOST + 1)}]", "clamp", f"at most {KINDS_MOST}"),
    (f'clamp = [{{ kind = "bar", opening = 900, count = {CLAMPS_MOST + 1} }}]', "clamp[1].count", "up to"),
    ("clamp = 3", "clamp", "[[shop.clamp]]"), ("doorway = 900", "doorway", "[shop.doorway]"),
    ("machine = [3]", "machine[1]", "[[shop.machine]]"), ('seconds = "few"', "seconds", "[shop.seconds]"),
    ('seconds = { spread_jiont = 3 }', "seconds.spread_jiont", "spread_joint")])
def test_what_no_shop_can_have(refuses: Refuses, lines: str, key: str, accepted: str) -> None:
    [problem] = refuses(f"[shop]\n{lines}\n")
    assert problem.key == f"shop.{key}" and accepted in problem.accepted
    assert problem.line is not None and problem.line > STAND.count("\n")


def test_a_shop_may_say_that_it_has_no_clamp_of_a_kind(reads: Reads) -> None:
    assert reads('[[shop.clamp]]\nkind = "band"\ncount = 0\nopening = "4 m"\n').shop.clamps[0].count == 0


def test_only_times_can_be_measured() -> None:
    assert {"spread_joint", "move_piece"} <= set(actions()) and not {"lift_one", "long_piece"} & set(actions())


def test_all_problems_of_a_shop_come_at_once(refuses: Refuses) -> None:
    found = refuses('[shop]\npeople = 0\ncure = "long"\n[[shop.clamp]]\nkind = "bra"\ncount = 1\nopening = 1\n'
                    '[shop.doorway]\nwidth = 0\nheight = nan\n[[pin]]\ntogether = ["nobody", "rail_left"]\n')
    assert [p.key for p in found] == ["shop.people", "shop.cure", "shop.clamp[1].kind", "shop.doorway.width",
                                      "shop.doorway.height", "pin[1].together[1]"]
    assert found[2].nearest == "bar"


# -- pins -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("lines", "pin"), [
    ('together = ["rail_left", "rail_right"]', Pin("pin 1", ("rail_left", "rail_right"))),
    ('together = "rail_*"', Pin("pin 1", ("rail_left", "rail_right"))),
    ('name = "ends"\ntogether = "rail"', Pin("ends", ("rail_left", "rail_right"))),
    ('together = "right_post"', Pin("pin 1", ("right_stand", "rail_right", *HALVES))),
    ('together = ["rail", "left_post", "left_foot"]', Pin("pin 1", ("left_stand", "rail_left"))),
    ('first = "left_*"', Pin("pin 1", (), ("left_stand",), ("right_stand", "rail_left", "rail_right", *HALVES))),
    ('first = ["left_*", "right_*"]\nthen = "rail"',
     Pin("pin 1", (), ("left_stand", "right_stand", *HALVES), ("rail_left", "rail_right"))),
    ('first = "right_stand"\nthen = "rail_right"', Pin("pin 1", (), ("right_stand", *HALVES), ("rail_right",))),
    ('first = "*"\nthen = "rail_left"',
     Pin("pin 1", (), ("left_stand", "right_stand", "rail_right", *HALVES), ("rail_left",))),
    ('first = "rail_left"\nthen = "rail*"', Pin("pin 1", (), ("rail_left",), ("rail_right",))),
])
def test_what_names_stand_for(reads: Reads, lines: str, pin: Pin) -> None:
    [found] = reads(f"[[pin]]\n{lines}\n").pins
    assert (found.name, *map(sorted, (found.together, found.first, found.then))) == (
        pin.name, *map(sorted, (pin.together, pin.first, pin.then)))


def test_a_pin_names_the_copies_of_a_pattern(reads: Reads) -> None:
    text = """[part.peg]
shape = "board"
width = "30 mm"
thickness = "30 mm"
length = "90 mm"
[joint.peg]
kind = "blind tenon"
from = "peg.start"
into = "rail.edge"
along = "200 mm"
depth = "20 mm"
[pattern.pegs]
part = "peg"
count = 3
step = "100 mm"
[[pin]]
together = "peg"
[[pin]]
first = ["peg_1"]
then = ["peg_2", "peg_3"]
"""
    together, order = reads(text).pins
    assert together.together == ("peg_1", "peg_2", "peg_3")
    assert (order.first, order.then) == (("peg_1",), ("peg_2", "peg_3"))


def test_pins_stand_beside_given_stages(reads: Reads) -> None:
    design = reads('[[stage]]\nname = "all"\njoints = "*"\n[[pin]]\nfirst = "left_stand"\nthen = "rail_left"\n')
    assert [s.name for s in design.stages] == ["all"] and isinstance(design.stages[0], StageSpec)
    assert design.pins == (Pin("pin 1", (), ("left_stand",), ("rail_left",)),)


@pytest.mark.parametrize(("lines", "key", "words"), [
    ('first = "rail_left"\nthen = "rail_left"', "pin[1].then", "is in first as well"),
    ('first = "*"\nthen = "rail*"', "pin[1].then", "no joint is left"),
    ('first = "*"', "pin[1].first", "takes every joint"),
    ('first = "rail_*"\nthen = ["rail_left", "rail_right"]', "pin[1].first", "no joint is left"),
    ('together = ["left_foot", "right_foot"]', "pin[1].together", "no joint between these parts"),
    ('together = "rail_left"', "pin[1].together", "is one joint only"),
    ('first = "rial_left"', "pin[1].first[1]", "no such joint, and no such part"),
    ('together = "z*"', "pin[1].together[1]", "no such joint, and no such part"),
    ('first = "rail_left"\nthen = []', "pin[1].then", "names nothing"),
    ('name = "a*"\ntogether = "*"', "pin[1].name", "not a name"),
    ('first = "rail_left"\nthen = "rail_right"\n[[pin]]\nfirst = "rail_right"\nthen = "rail_left"', "pin[1]",
     "wait for each other in a circle: pin 1, pin 2"),
])
def test_pins_that_say_nothing_one_can_keep_to(refuses: Refuses, lines: str, key: str, words: str) -> None:
    [problem] = refuses(f"[[pin]]\n{lines}\n")
    assert problem.key == key and words in problem.message
    assert problem.nearest == ("rail_left" if "rial" in lines else "")


def test_what_failed_elsewhere_is_not_missed_again(refuses: Refuses) -> None:
    bad = '[joint.hook]\nkind = "blind tenon"\nfrom = "rail.edge"\n[[pin]]\ntogether = ["hook", "rail_left"]\n'
    assert [p.key for p in refuses(bad)] == ["joint.hook.into"]


def test_pins_have_their_price(refuses: Refuses) -> None:
    [problem] = refuses('[[pin]]\nfirst = "rail_left"\n' * (PINS_MOST + 1))
    assert problem.key == "pin" and f"at most {PINS_MOST}" in problem.accepted
    found = refuses("[[pin]]\ntogether = [" + ", ".join('"*"' for _ in range(500)) + "]\n")
    assert {p.message for p in found[:-1]} == {"too many names with a *"} and "more problems" in found[-1].message
    assert len(refuses("[[pin]]\ntogether = [" + ", ".join(f'"n{i}"' for i in range(20_000)) + "]\n")) > 1


KEYS = st.sampled_from(["clamp", "machine", "bench", "doorway", "vehicle", "seconds", "kind", "count", "opening",
                        "name", "length", "width", "height", "cuts", "overhang", "move_piece", "cure", "clamped",
                        "people", "lift_one", "lift_two", "closed", "temperature", "together", "first", "then"])
SHOPS = st.dictionaries(KEYS, st.one_of(VALUES, st.dictionaries(KEYS, VALUES, max_size=4),
                                        st.lists(st.dictionaries(KEYS, VALUES, max_size=4), max_size=3)), max_size=6)


@settings(max_examples=120, deadline=None, suppress_health_check=list(HealthCheck))
@given(shop=SHOPS, pins=st.lists(SHOPS, max_size=3))
def test_any_values_are_read_or_refused(tmp_path: Path, shop: dict[str, Any], pins: list[dict[str, Any]]) -> None:
    file = tmp_path / "design.toml"
    file.write_text(f"shop = {as_toml(shop)}\npin = {as_toml(pins)}\n{STAND}", encoding="utf-8")
    try:
        design = read(file)
    except DesignError as error:
        assert error.problems and all(line.isprintable() for line in error.lines())
    else:
        assert {n for p in design.pins for n in (*p.together, *p.first, *p.then)} <= set(design.joint)
