"""The named numbers of a design file, and one of them changed: its own bytes alone, to what the reader takes alone."""

from __future__ import annotations

import os
import stat
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from exports.live.editing import Change, Outdated, Refused, Unwritable, changed, replace_bytes
from exports.live.numbers import numbers, told_of
from model.reader import read_text
from model.units import to_mm

ROOT = Path(__file__).resolve().parent.parent
GATE = (ROOT / "examples" / "orchard_gate.toml").read_bytes()
HERE = Path("/nowhere/design.toml")


def read(text: str) -> object:
    return read_text(text, HERE)


def anything(_text: str) -> object:
    return None


def keys(raw: bytes) -> dict[str, str]:
    return {one.key: one.text for one in numbers(raw)}


def test_the_numbers_of_the_main_example_stand_where_they_say() -> None:
    found = numbers(GATE)
    assert found[0].key == "family.segments_in_ring"
    by_key = {one.key: one for one in found}
    height = by_key["family.overall_height"]
    assert (height.text, height.kind, height.group, height.says) == ("8 ft 4 in", "length", "family", "overall height")
    assert GATE[height.start:height.end] == b'"8 ft 4 in"'
    assert GATE.split(b"\n")[height.line - 1].startswith(b"overall_height")
    assert by_key["shop.open"].kind == "number"
    assert by_key["shop.clamp[2].opening"].text == "30 ft"
    assert by_key["family.leg_rails"].kind == "count"
    assert "shop.glue" not in by_key and "stock.leg.nominal" not in by_key


@pytest.mark.parametrize("name", ["hive_stand", "lantern_ring", "net_rack", "quay_bench", "orchard_gate"])
def test_every_number_of_every_example_can_be_written_as_it_is(name: str) -> None:
    raw = (ROOT / "examples" / f"{name}.toml").read_bytes()
    for one in numbers(raw):
        assert changed(raw, Change(one.key, one.text, one.text), anything) == raw


def test_an_angle_and_a_clearance_are_known_for_what_they_are() -> None:
    raw = (b'[family]\nkind = "arch gateway"\nfit = "0.2 mm"\n[stand]\nturn_angle = 15\n'
           b'[shop.seconds]\n"bring" = 40\n[joint.one]\nkind = "lap"\n[pattern.p]\nstep = 3.5\nstep_angle = "30 deg"\n')
    kinds = {one.key: one.kind for one in numbers(raw)}
    assert kinds["family.fit"] == "length"
    assert kinds["stand.turn_angle"] == kinds["pattern.p.step_angle"] == "angle"
    assert kinds["shop.seconds.bring"] == "number"
    assert kinds["pattern.p.step"] == "length"


@pytest.mark.parametrize("raw", [b"", b"\xff\xfe", b"[family\n", b"a = [[[[", b"x = 1\nx = 2\n[shop]\nopen = 3\n"])
def test_what_is_no_toml_has_no_numbers(raw: bytes) -> None:
    assert numbers(raw) == []


def test_a_folder_and_a_file_that_is_not_there_have_no_numbers(tmp_path: Path) -> None:
    assert told_of(tmp_path) == told_of(tmp_path / "none.toml") == []


# -- only that value changes ----------------------------------------------------------------------


@pytest.mark.parametrize(("key", "was", "text", "old", "new"), [
    ("family.overall_height", "8 ft 4 in", "8 ft 6 1/2 in", '"8 ft 4 in"', '"8 ft 6 1/2 in"'),
    ("family.overall_height", "8 ft 4 in", " 100 ", '"8 ft 4 in"', '"100"'),
    ("family.overall_height", "8 ft 4 in", "8' 6\"", '"8 ft 4 in"', '"8\' 6\\""'),
    ("shop.open", "45", "50.5", "open = 45", "open = 50.5"),
    ("shop.clamp[2].count", "2", "4", '"band", count = 2', '"band", count = 4'),
    ("shop.doorway.width", "9 ft", "10 ft", '{ width = "9 ft"', '{ width = "10 ft"'),
])
def test_one_value_changes_and_all_else_stays(key: str, was: str, text: str, old: str, new: str) -> None:
    after = changed(GATE, Change(key, was, text), read)
    assert after == GATE.replace(old.encode(), new.encode(), 1)
    assert read(after.decode())


def test_a_bare_length_gets_quotes_where_it_gets_a_unit() -> None:
    raw = GATE.replace(b'depth = "5 ft 2 in"', b"depth = 62")
    assert b'depth = "5 ft 3 in"' in changed(raw, Change("family.depth", "62", "5 ft 3 in"), read)
    assert b"depth = 63.5\n" in changed(raw, Change("family.depth", "62", "63.5"), read)


def test_line_ends_a_mark_at_the_beginning_and_comments_stay() -> None:
    raw = b"\xef\xbb\xbf" + GATE.replace(b"\n", b"\r\n").replace(b"leg_rails = 8", "leg_rails = 8   # “nine”".encode())
    after = changed(raw, Change("family.leg_rails", "8", "9"), read)
    assert after == raw.replace(b"leg_rails = 8 ", b"leg_rails = 9 ")


def test_the_table_of_a_list_that_is_meant_is_changed() -> None:
    raw = GATE[:GATE.index(b"clamp = ")] + b"""
[[shop.clamp]]
kind = "bar"
count = 20
opening = "6 ft"
[[shop.clamp]]
kind = "band"
count = 20
opening = '30 ft'
""" + GATE[GATE.index(b"[family]"):]
    after = changed(raw, Change("shop.clamp[2].count", "20", "2"), read)
    assert after == raw.replace(b'"band"\ncount = 20', b'"band"\ncount = 2')
    assert b"opening = '31 ft'" in changed(raw, Change("shop.clamp[2].opening", "30 ft", "31 ft"), read)


space = st.sampled_from(["", " ", "  ", "\t"])
comment = st.text(st.characters(min_codepoint=32, max_codepoint=0x2fff, exclude_categories=["Cs", "Cc"]), max_size=20)
length = st.builds(lambda n, unit: f"{n} {unit}", st.integers(1, 400), st.sampled_from(["mm", "cm", "in"]))


@st.composite
def tables(draw: st.DrawFn) -> tuple[bytes, str, str, str]:
    """Bytes of a design with stock sizes among comments, the key of one of them, what it is and what it is to be."""
    names = draw(st.lists(st.from_regex(r"[a-z][a-z0-9_-]{0,8}", fullmatch=True), min_size=1, max_size=5, unique=True))
    end = draw(st.sampled_from(["\n", "\r\n"]))
    lines, spots = [f"# {draw(comment)}", f"unit{draw(space)}={draw(space)}\"mm\""], []
    for name in names:
        inline = draw(st.booleans())
        sizes = {key: draw(length | st.integers(1, 500).map(str)) for key in ("thickness", "width")}
        said = {k: v if v.isdigit() else draw(st.sampled_from(['"{}"', "'{}'"])).format(v) for k, v in sizes.items()}
        spots += [(f"stock.{name}.{key}", value) for key, value in sizes.items()]
        pairs = [f"{draw(st.sampled_from([k, repr(k), f'{chr(34)}{k}{chr(34)}']))}{draw(space)}={draw(space)}{v}"
                 for k, v in said.items()]
        if inline:
            lines.insert(2, f"stock.{name} = {{{draw(space)}{', '.join(pairs)}{draw(space)}}} # {draw(comment)}")
        else:
            lines += [f"[stock.{name}]{draw(space)}# {draw(comment)}"]
            lines += [f"{pair}{draw(space)}#{draw(comment)}" for pair in pairs]
    key, was = draw(st.sampled_from(spots))
    mark = draw(st.sampled_from([b"", b"\xef\xbb\xbf"]))
    return mark + end.join([*lines, ""]).encode(), key, was, draw(length | st.integers(1, 500).map(str))


def value_at(raw: bytes, key: str) -> Any:
    values: Any = tomllib.loads(raw.decode("utf-8-sig"))
    for step in key.split("."):
        values = values[step]
    return values


@settings(deadline=None)
@given(tables())
def test_whatever_stands_around_it_only_that_value_changes(drawn: tuple[bytes, str, str, str]) -> None:
    raw, key, was, text = drawn
    assert keys(raw)[key] == was
    after = changed(raw, Change(key, was, text), anything)
    assert to_mm(value_at(after, key)) == to_mm(text)
    one = next(n for n in numbers(raw) if n.key == key)
    assert after[:one.start] == raw[:one.start]
    assert after[len(after) - len(raw) + one.end:] == raw[one.end:]
    others = {k: v for k, v in keys(raw).items() if k != key}
    assert {k: v for k, v in keys(after).items() if k != key} == others
    assert changed(after, Change(key, keys(after)[key], was), anything).count(b"\n") == raw.count(b"\n")


@settings(deadline=None)
@given(st.text(max_size=30))
def test_whatever_is_typed_is_refused_or_is_that_value_alone(text: str) -> None:
    try:
        after = changed(GATE, Change("family.depth", "5 ft 2 in", text), read)
    except Refused:
        return
    before, now = (tomllib.loads(raw.decode()) for raw in (GATE, after))
    assert to_mm(now["family"].pop("depth"), "in") == to_mm(text.strip(), "in")
    before["family"].pop("depth")
    assert now == before


# -- what is refused ------------------------------------------------------------------------------


@pytest.mark.parametrize(("key", "was", "text", "accepted"), [
    ("family.overall_height", "8 ft 4 in", "tall", "a length such as"),
    ("family.overall_height", "8 ft 4 in", "-3 in", "a length such as"),
    ("family.overall_height", "8 ft 4 in", "", "a length such as"),
    ("family.overall_height", "8 ft 4 in", '1" # \nx = 2', "a length such as"),
    ("family.overall_height", "8 ft 4 in", "9" * 61, "a length such as"),
    ("family.segments_in_ring", "20", "2", "a whole number from 3 up to 96"),
    ("family.segments_in_ring", "20", "20.5", "a whole number from 3 up to 96"),
    ("family.segments_in_ring", "20", "[20]", "a whole number from 3 up to 96"),
    ("family.segments_in_ring", "20", "20\n[shop]", "a whole number"),
    ("shop.open", "45", "inf", "a number above 0"),
    ("shop.people", "3", "true", "a whole number from 1 up to 100"),
])
def test_no_value_is_refused_with_what_would_be_accepted(key: str, was: str, text: str, accepted: str) -> None:
    with pytest.raises(Refused) as caught:
        changed(GATE, Change(key, was, text), read)
    assert accepted in caught.value.accepted


def test_a_value_that_gives_no_structure_is_refused() -> None:
    with pytest.raises(Refused):
        changed(GATE, Change("family.overall_height", "8 ft 4 in", "1 in"), read)


def test_a_file_that_is_wrong_elsewhere_can_be_changed() -> None:
    raw = GATE.replace(b'glue = "slow-setting epoxy"', b'glew = "slow-setting epoxy"')
    after = changed(raw, Change("family.leg_rails", "8", "9"), read)
    assert after == raw.replace(b"leg_rails = 8", b"leg_rails = 9")


@pytest.mark.parametrize("change", [Change("family.leg_rails", "7", "9"), Change("family.nothing", "7", "9"),
                                    Change("name", "Orchard gate", "9"), Change("", "", "")])
def test_what_was_not_seen_is_not_changed(change: Change) -> None:
    with pytest.raises(Outdated):
        changed(GATE, change, read)


def test_a_key_given_twice_is_not_changed() -> None:
    with pytest.raises(Outdated):
        changed(GATE + b"leg_rails = 8\n", Change("family.leg_rails", "8", "9"), read)


# -- the file itself ------------------------------------------------------------------------------


def test_a_file_is_replaced_whole_with_its_mode(tmp_path: Path) -> None:
    file = tmp_path / "design.toml"
    file.write_bytes(b"before")
    file.chmod(0o640)
    replace_bytes(file, b"before", b"after")
    assert file.read_bytes() == b"after"
    assert stat.S_IMODE(file.stat().st_mode) == 0o640
    assert [f.name for f in tmp_path.iterdir()] == ["design.toml"]


def test_a_file_that_changed_meanwhile_stays(tmp_path: Path) -> None:
    file = tmp_path / "design.toml"
    file.write_bytes(b"somebody's")
    with pytest.raises(Outdated):
        replace_bytes(file, b"before", b"after")
    assert file.read_bytes() == b"somebody's"
    assert len(list(tmp_path.iterdir())) == 1


@pytest.mark.skipif(sys.platform == "win32", reason="links want rights there")
def test_a_link_is_not_written_through(tmp_path: Path) -> None:
    (tmp_path / "other").write_bytes(b"before")
    link = tmp_path / "design.toml"
    link.symlink_to(tmp_path / "other")
    with pytest.raises(Unwritable):
        replace_bytes(link, b"before", b"after")
    assert (tmp_path / "other").read_bytes() == b"before" and link.is_symlink()


def test_a_folder_that_is_gone_is_said(tmp_path: Path) -> None:
    with pytest.raises(Unwritable):
        replace_bytes(tmp_path / "gone" / "design.toml", b"before", b"after")


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everything")
def test_a_file_that_may_not_be_written_stays(tmp_path: Path) -> None:
    file = tmp_path / "design.toml"
    file.write_bytes(b"before")
    file.chmod(0o400)
    with pytest.raises(Unwritable):
        replace_bytes(file, b"before", b"after")
    assert file.read_bytes() == b"before"
