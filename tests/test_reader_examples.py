"""Every design file that comes with dryfit reads, places, and closes every loop of its joints."""

from __future__ import annotations

from pathlib import Path

import pytest

from assembly.interference import overlaps
from assembly.placing import place
from model.families import FAMILIES
from model.reader import read

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").rglob("*.toml"))


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda f: f.stem)
def test_every_example_reads_and_places(file: Path) -> None:
    design = read(file)
    assembly = place(design)
    assert not assembly.open_loops and not assembly.loose
    assert len({p.name for p in design.parts}) == len(design.parts)
    assert design.says


@pytest.mark.parametrize("family", sorted(FAMILIES))
def test_every_start_file_reads_and_places(family: str, tmp_path: Path) -> None:
    file = tmp_path / "start.toml"
    file.write_text(FAMILIES[family].starter, encoding="utf-8")
    assembly = place(read(file))
    assert not assembly.open_loops and not assembly.loose


def test_the_hive_stand_stands_as_drawn() -> None:
    """By hand: legs 18 in high, their middles 39 1/2 in apart, rails and slats flush, 1/2 in below their tops."""
    design = read(Path(__file__).parent.parent / "examples" / "hive_stand.toml")
    assembly = place(design)
    assert len(design.parts) == 15 and not overlaps(assembly)
    tops = {n: assembly.vertices(n)[:, 2].max() / 25.4 for n in assembly.names}
    assert tops["leg_back_right"] == pytest.approx(18)
    assert [tops[n] for n in ("front_rail", "slat_1", "slat_6")] == pytest.approx([17.5] * 3)
    span = assembly.frames["leg_front_right"][0, 3] - assembly.frames["leg_front_left"][0, 3]
    assert span / 25.4 == pytest.approx(36 + 3.5)
    assert {f.role for f in design.part["slat_1"].features} == {"lap"}
