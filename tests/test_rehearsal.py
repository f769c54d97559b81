"""The whole line, end to end: examples and families from file to plan, and what must not change a verdict."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from assembly.rehearsal import Rehearsal, rehearse
from assembly.replay import replay
from model.design import Design
from model.families import FAMILIES
from model.frames import move, turn
from model.reader import read
from tests.zoo import MISTAKES, SOUND

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("*.toml"))


WEIGHT = {"stance", "mass", "hands", "clamps", "size"}
"""Kinds of finding that go by which way is up."""


def verdict(rehearsal: Rehearsal) -> Counter[tuple[str, str, int, float]]:
    """Return what was found and how the work closes, free of names, places and directions; weight left aside."""
    found = Counter(("finding " + f.kind, f.severity, len(f.parts), round(f.amount.value, 2) if f.amount else 0.0)
                    for f in rehearsal.findings if f.kind not in WEIGHT)
    for stage in rehearsal.plan.stages:
        found[("stage " + stage.name, "", len(stage.units), float(len(stage.moves)))] += 1
    return found


def renamed(design: Design, order: list[int]) -> Design:
    """Return the design with its parts renamed and its parts and joints listed in another order."""
    names = {p.name: f"p{k}" for k, p in enumerate(reversed(design.parts))}
    parts = [replace(p, name=names[p.name]) for p in design.parts]
    joints = [replace(j, a=names[j.a], b=names[j.b]) for j in design.joints]
    shuffled = [parts[k] for k in sorted(range(len(parts)), key=lambda k: (order[k % len(order)], k))]
    return replace(design, parts=tuple(shuffled), joints=tuple(reversed(joints)), base=names[design.base])


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_every_example_rehearses_without_a_stop_or_a_warning(path: Path) -> None:
    rehearsal = rehearse(read(path))
    assert [f.message for f in rehearsal.findings if f.severity != "note"] == []
    assert rehearsal.plan.stages
    closed = [j for stage in rehearsal.plan.stages for j in stage.joints]
    assert sorted(closed) == sorted(j.name for j in rehearsal.design.joints)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_every_example_plan_survives_its_replay(path: Path) -> None:
    rehearsal = rehearse(read(path))
    assert replay(rehearsal.assembly, rehearsal.plan) is None


@pytest.mark.parametrize("name", sorted(FAMILIES))
def test_every_starter_rehearses_without_a_stop_or_a_warning(name: str, tmp_path: Path) -> None:
    path = tmp_path / "begin.toml"
    path.write_text(FAMILIES[name].starter, encoding="utf-8")
    rehearsal = rehearse(read(path))
    assert [f.message for f in rehearsal.findings if f.severity != "note"] == []


@pytest.mark.parametrize("name", sorted(SOUND))
def test_sound_designs_bring_no_stop(name: str) -> None:
    rehearsal = rehearse(SOUND[name]())
    assert [f.message for f in rehearsal.findings if f.severity == "stop"] == []
    assert replay(rehearsal.assembly, rehearsal.plan) is None


@pytest.mark.parametrize("name", sorted(MISTAKES))
def test_each_mistake_is_found_by_its_kind(name: str) -> None:
    make, kind = MISTAKES[name]
    assert kind in {f.kind for f in rehearse(make()).findings if f.severity == "stop"}


@pytest.mark.parametrize("name", ["frame", "row", "gateway_small", "ring", "ring_loose", "leg_short", "ring_late", *(
    pytest.param(name, marks=pytest.mark.slow) for name in sorted(set(MISTAKES) - {"leg_short", "ring_late"}))])
@given(axis=st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: np.linalg.norm(v) > 0.1),
       angle=st.floats(-3.1, 3.1), away=st.floats(-2000, 2000),
       order=st.lists(st.integers(0, 99), min_size=1, max_size=9))
@settings(max_examples=2, deadline=None, phases=[Phase.explicit, Phase.reuse, Phase.generate])
def test_verdicts_do_not_change_when_the_whole_is_moved_mirrored_reordered_or_renamed(
        name: str, axis: tuple[float, float, float], angle: float, away: float, order: list[int]) -> None:
    design = (SOUND.get(name) or MISTAKES[name][0])()
    as_drawn = verdict(rehearse(design))
    carried = replace(design, base_frame=move(away, -away, away / 2) @ turn(axis, angle) @ design.base_frame)
    assert verdict(rehearse(carried)) == as_drawn
    assert verdict(rehearse(design.in_the_mirror())) == as_drawn
    assert verdict(rehearse(renamed(design, order))) == as_drawn
