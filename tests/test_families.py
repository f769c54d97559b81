"""What every family promises: options that explain themselves, starters that read, sound designs that are sound."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from pydantic import BaseModel, ValidationError

from assembly.checks import check
from assembly.interference import overlaps
from assembly.placing import place, place_in_stage
from assembly.stages import plan
from model.errors import DraftError
from model.families import FAMILIES
from model.reader import read
from tests import zoo

EXAMPLES = Path(__file__).parent.parent / "examples"


@pytest.mark.parametrize("name", zoo.SOUND)
def test_sound_designs_close_touch_and_stay_out_of_each_other(name: str) -> None:
    design = zoo.SOUND[name]()
    assembly = place(design)
    assert assembly.open_loops == () and assembly.loose == ()
    assert overlaps(assembly) == ()
    assert [f for f in check(assembly, design.shop) if f.severity != "note"] == []


@pytest.mark.parametrize("name", zoo.SOUND)
def test_sound_designs_come_apart_into_whole_pieces(name: str) -> None:
    for part in zoo.SOUND[name]().parts:
        assert len(part.finished.manifold.decompose()) == 1
        assert part.finished.volume > 0


@pytest.mark.parametrize("name", zoo.SOUND)
def test_every_stage_of_a_sound_design_stands_without_gap_or_clash(name: str) -> None:
    design = zoo.SOUND[name]()
    for stage in design.stages:
        here = place_in_stage(design, stage)
        assert here.open_loops == ()
        assert overlaps(here, frozenset()) == ()


@pytest.mark.parametrize("name", zoo.MISTAKES)
def test_each_mistake_brings_its_finding(name: str) -> None:
    make, kind = zoo.MISTAKES[name]
    design = make()
    assembly = place(design)
    found = [*check(assembly, design.shop), *plan(assembly, design.shop).findings]
    assert kind in {f.kind for f in found if f.severity == "stop"}


@pytest.mark.parametrize("name", FAMILIES)
def test_every_option_is_described_and_in_the_starter(name: str) -> None:
    family = FAMILIES[name]
    for key, option in family.options.model_fields.items():
        assert option.description, key
        assert f"{key} = " in family.starter, key


@pytest.mark.parametrize("name", FAMILIES)
def test_a_starter_reads_and_rehearses_without_a_stop_or_a_warning(name: str, tmp_path: Path) -> None:
    file = tmp_path / "start.toml"
    file.write_text(FAMILIES[name].starter, encoding="utf-8")
    design = read(file)
    assembly = place(design)
    assert [f for f in check(assembly, design.shop) if f.severity != "note"] == []
    assert [f for f in plan(assembly, design.shop).findings if f.severity != "note"] == []


ADDED = {"arch gateway": (), "closed ring": ("posts",), "post and rail": ("slats",)}
"""The options a starter turns on to show them; it says so beside them."""


@pytest.mark.parametrize("name", FAMILIES)
def test_a_starter_shows_the_defaults(name: str, tmp_path: Path) -> None:
    """Left out, the options a starter writes out have the same values."""
    whole, bare = tmp_path / "whole.toml", tmp_path / "bare.toml"
    lines = FAMILIES[name].starter.splitlines()
    cut = lines.index("[family]")
    kept = tuple(f"{key} = " for key in ("kind", *ADDED[name]))
    whole.write_text("\n".join(lines), encoding="utf-8")
    few = [*lines[:cut + 1], *(line for line in lines[cut + 1:] if line.startswith(kept))]
    bare.write_text("\n".join(few), encoding="utf-8")
    one, other = read(whole), read(bare)
    assert [(p.name, p.finished.key) for p in one.parts] == [(p.name, p.finished.key) for p in other.parts]


@pytest.mark.parametrize("name", FAMILIES)
def test_unknown_and_senseless_options_are_refused(name: str) -> None:
    family = FAMILIES[name]
    for wrong in ({"no_such_option": 1}, {"fit": -0.1}, {"fit": 3}, {"fit": math.nan}):
        with pytest.raises(ValidationError):
            family.options.model_validate(wrong, context={"unit": "mm"})
    options = family.options.model_validate({}, context={"unit": "mm"})
    with pytest.raises(ValidationError):
        options.fit = 0.2  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", FAMILIES)
def test_a_missing_stock_is_named_with_those_there_are(name: str) -> None:
    family = FAMILIES[name]
    with pytest.raises(DraftError, match="this design has: plank"):
        family.draft("x", family.options.model_validate({}, context={"unit": "mm"}), {"plank": zoo.stock("plank")})


@pytest.mark.parametrize("name", FAMILIES)
def test_options_of_another_family_are_a_programming_error(name: str) -> None:
    class Other(BaseModel):
        pass

    with pytest.raises(TypeError):
        FAMILIES[name].draft("x", Other(), zoo.STOCK)


@pytest.mark.parametrize("name", ["orchard_gate", "quay_bench", "lantern_ring"])
def test_the_examples_rehearse_without_a_stop_or_a_warning(name: str) -> None:
    design = read(EXAMPLES / f"{name}.toml")
    assembly = place(design)
    assert assembly.open_loops == () and assembly.loose == ()
    assert [f for f in check(assembly, design.shop) if f.severity != "note"] == []
    assert [f for f in plan(assembly, design.shop).findings if f.severity != "note"] == []


def test_parts_cut_alike_are_one_solid() -> None:
    design = read(EXAMPLES / "orchard_gate.toml")
    for group, kinds in (("rail", 1), ("spacer", 1), ("loose tenon", 1), ("leg", 2)):
        assert len({p.finished.key for p in design.parts if p.group == group}) == kinds
    assert len({p.finished.key for p in design.parts}) <= 10
