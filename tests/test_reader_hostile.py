"""What a design file must not be able to do: crash, hang, fill the memory, reach outside its folder."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from model.errors import DesignError, Problem
from model.reader import read
from model.reader.lines import lines_of
from model.reader.patterns import GLOBS_MOST
from model.reader.schema import PARTS_MOST
from model.reader.text import BYTES_MOST, DOTS_MOST

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("*.toml"))
BAD = sorted((Path(__file__).parent / "bad").glob("*.toml"))


def refused(path: Path) -> list[Problem]:
    with pytest.raises(DesignError) as found:
        read(path)
    assert found.value.problems and all(line.isprintable() for line in found.value.lines())
    return found.value.problems


def refused_bytes(folder: Path, raw: bytes) -> list[Problem]:
    file = folder / "design.toml"
    file.write_bytes(raw)
    return refused(file)


def test_no_file(tmp_path: Path) -> None:
    assert "no such file" in refused(tmp_path / "none.toml")[0].message
    assert "no such file" in refused(tmp_path / "none" / "none.toml")[0].message
    assert refused(tmp_path / ("long" * 100))[0].message.startswith("cannot be read")
    assert refused(Path("a\0b"))[0].message.startswith("cannot be read")


def test_no_ordinary_file(tmp_path: Path) -> None:
    assert "folder" in refused(tmp_path)[0].message
    os.mkfifo(tmp_path / "pipe")
    assert "ordinary" in refused(tmp_path / "pipe")[0].message
    assert "ordinary" in refused(Path("/dev/zero"))[0].message
    loop = tmp_path / "loop.toml"
    loop.symlink_to(loop)
    assert "cannot be read" in refused(loop)[0].message


def test_a_file_underneath_a_file(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("x")
    assert "cannot be read" in refused(tmp_path / "a" / "b.toml")[0].message


@pytest.mark.parametrize(("raw", "line", "words"), [
    (b"", None, "empty"), (b" \n\t\r\n", None, "empty"), (b"# nothing\n", None, "is missing"),
    (b"name = 'a'\n\x00", 2, "not text"), (b"\x7fELF\x02\x01\x01\x00", 1, "not text"),
    (b"\xff\xfen\x00a\x00", 1, "not text"), (b"a = 1\nb = 2\nname = '\xe9'\n", 3, "not UTF-8"),
    (b"\x89PNG\r\n\x1a\n", 1, "not UTF-8"),
    (b"#" * (BYTES_MOST + 1), None, "too large"),
    (b"a = " + b"[" * 100_000, None, "nested too deep"), (b"a = " + b"{x=" * 100_000, None, "nested too deep"),
    (b"[a]\n" * 2, 2, "given twice"), (b"x = 0\npeople = 1" + b"0" * 5000, 2, "far too long"),
    (b"x" + b".x" * 300_000 + b" = 1", 1, "too many dots"), (b"\n[x" + b".x" * 300_000 + b"]", 2, "too many dots"),
    (b"x = {y" + b" . 'y'" * 90_000 + b" = 1}", 1, "too many dots"),
])
def test_not_a_design(tmp_path: Path, raw: bytes, line: int | None, words: str) -> None:
    found = refused_bytes(tmp_path, raw)
    assert words in found[0].message and found[0].line == line


def test_a_line_of_dots_is_no_key(tmp_path: Path) -> None:
    dots = "." * 3 * DOTS_MOST
    found = refused_bytes(tmp_path, f"name = 'a' # {dots} a.b.c\nsays = 'b {dots}'\n".encode())
    assert [p.message for p in found] == ["has no parts"]


def test_as_many_keys_as_fit(tmp_path: Path) -> None:
    found = refused_bytes(tmp_path, b"".join(b"a.b%d.c=1\n" % i for i in range(10_000)))
    assert "no such key" in found[0].message


HEAD = """name = "Many"
[stock]
beam = { nominal = "4x4", species = "Western larch" }
"""


def test_a_name_with_a_star_has_its_price(tmp_path: Path) -> None:
    parts = "".join(f'[part.p{i}]\nshape = "board"\nlength = 9\n' for i in range(200))
    words = ", ".join('"*p*"' for _ in range(GLOBS_MOST + 1))
    found = refused_bytes(tmp_path, (HEAD + parts + f"[pattern.a]\npart = [{words}]\ncount = 2\nstep = 1\n").encode())
    assert [p.message for p in found] == ["too many names with a *"]
    late = "*a" * 70
    found = refused_bytes(tmp_path, (HEAD + parts + f"[pattern.a]\npart = '{late}'\ncount = 2\nstep = 1\n").encode())
    assert "too many names with a *" in found[0].message


@pytest.mark.parametrize("count", ["5000", "1_000_000_000", "0", "-1", "1e9", '"many"', "true", "0x7fffffffffffffff"])
def test_no_pattern_makes_more_parts_than_a_design_may_have(tmp_path: Path, count: str) -> None:
    text = HEAD + f"""[part]
post = {{ shape = "board", length = 900 }}
peg = {{ shape = "board", length = 90 }}
[joint]
peg = {{ kind = "blind tenon", from = "peg.start", into = "post.face", along = 300 }}
[pattern.pegs]
part = "peg"
count = {count}
step = 0.1
"""
    [found] = refused_bytes(tmp_path, text.encode())
    assert found.key == "pattern.pegs.count" and found.line == 11
    assert f"{PARTS_MOST:,}" in found.accepted


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(raw=st.binary(max_size=400))
@example(raw=b"name='a'\n[part]\na={shape='mesh',file='/dev/zero'}\n")
def test_any_bytes_are_read_or_refused(tmp_path: Path, raw: bytes) -> None:
    refused_bytes(tmp_path, raw)


KEYS = st.sampled_from([
    "name", "unit", "base", "stand", "stock", "shop", "family", "part", "joint", "pattern", "stage", "kind", "shape",
    "length", "nominal", "species", "from", "into", "along", "fit", "joints", "after", "count", "step", "a", "rail",
    "grain", "lift", "file", "curve", "turn", "glued", "segments_in_ring", "radius",
])
VALUES = st.recursive(
    st.one_of(st.integers(), st.floats(), st.booleans(), st.text(max_size=12), st.dates(),
              st.sampled_from(["board", "mesh", "blind tenon", "half lap", "a.face", "rail.end", "4x4", "38 mm", "in",
                               "closed ring", "arch gateway", "Western larch", "*", "..", "1/0 in", ""])),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(KEYS, inner, max_size=4)), max_leaves=12)


def as_toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{k} = {as_toml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(c):08x}" if not 0xd800 <= ord(c) < 0xe000 else "?" for c in value) + '"'
    return str(value).lower() if isinstance(value, bool | float) else str(value)


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(values=st.dictionaries(KEYS, VALUES, max_size=6))
def test_any_values_are_read_or_refused(tmp_path: Path, values: dict[str, Any]) -> None:
    text = "".join(f"{key} = {as_toml(value)}\n" for key, value in values.items())
    tomllib.loads(text)
    refused_bytes(tmp_path, text.encode())


@st.composite
def mutated(draw: st.DrawFn) -> str:
    """A file of the examples or the bad ones, its lines dropped, doubled, swapped, its values exchanged."""
    lines = draw(st.sampled_from(EXAMPLES + BAD)).read_text(encoding="utf-8").splitlines()
    for _ in range(draw(st.integers(1, 4))):
        i, j = (draw(st.integers(0, len(lines) - 1)) for _ in range(2))
        way = draw(st.sampled_from(["drop", "double", "swap", "value", "number", "character"]))
        if way == "drop" and len(lines) > 1:
            del lines[i]
        elif way == "double":
            lines.insert(j, lines[i])
        elif way == "swap":
            lines[i], lines[j] = lines[j], lines[i]
        elif way == "value" and "=" in lines[i] and "=" in lines[j]:
            lines[i] = lines[i].partition("=")[0] + "=" + lines[j].partition("=")[2]
        elif way == "number" and "=" in lines[i]:
            lines[i] = lines[i].partition("=")[0] + "= " + draw(st.sampled_from(
                ["0", "-1", "1e-9", "nan", "1e6", "3", '"1/64 in"', '"90 m"', "360", "[]", '""']))
        elif way == "character" and lines[i]:
            at = draw(st.integers(0, len(lines[i]) - 1))
            lines[i] = lines[i][:at] + draw(st.sampled_from(list("\"'[]{}=.#*\\ x0"))) + lines[i][at + 1:]
    return "\n".join(lines) + "\n"


@settings(max_examples=120, deadline=None, suppress_health_check=list(HealthCheck))
@given(text=mutated())
def test_any_change_to_a_file_is_read_or_refused(tmp_path: Path, text: str) -> None:
    file = tmp_path / "design.toml"
    file.write_text(text, encoding="utf-8")
    try:
        design = read(file)
    except DesignError as error:
        assert error.problems and all(line.isprintable() for line in error.lines())
    else:
        assert design.base in design.part


def paths_in(value: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path] * bool(path) + [p for key, child in inside for p in paths_in(child, (*path, key))]


@pytest.mark.parametrize("file", EXAMPLES + [b for b in BAD if b.stem not in ("twice", "unquoted")],
                         ids=lambda f: f.stem)
def test_every_value_of_a_file_has_its_line(file: Path) -> None:
    text = file.read_text(encoding="utf-8")
    lines, rows = lines_of(text), text.splitlines()
    for path in paths_in(tomllib.loads(text)):
        assert path in lines.line
        if isinstance(path[-1], str):
            assert path[-1] in rows[lines.line[path] - 1]


@settings(max_examples=60, deadline=None)
@given(values=st.dictionaries(KEYS, VALUES, max_size=6), tables=st.dictionaries(KEYS, VALUES, max_size=3))
def test_lines_and_values_know_the_same_keys(values: dict[str, Any], tables: dict[str, Any]) -> None:
    text = "".join(f"{key} = {as_toml(value)}\n" for key, value in values.items())
    text += "".join(f"[z.'{key}']\nk.{key}.\"x y\" = {as_toml(value)}\n[[y.{key}]]\n[[y.{key}]]\nq = {as_toml(value)}\n"
                    for key, value in tables.items())
    lines = lines_of(text)
    assert lines.broken is None and not lines.twice
    for path in paths_in(tomllib.loads(text)):
        assert path in lines.line
