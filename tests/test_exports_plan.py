"""The plan as a person gets it: in words, as a graph, and drawn."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import networkx as nx
import numpy as np
import pytest
from PIL import Image

from assembly.findings import Finding
from assembly.plan import Clamp, Plan, Rest, Stage
from assembly.rehearsal import Rehearsal, rehearse
from exports import command, glue_ups
from exports.findings_json import plan_json, text
from exports.graph import graphml
from exports.names import shown
from exports.pictures.course import draw_course
from exports.pictures.minutes import draw_minutes
from exports.prose import plain
from exports.report import only_plan
from model.reader import read
from tests import zoo

EXAMPLES = Path(__file__).parent.parent / "examples"
HOSTILE = '<b>"ring" & </node>\u202e\x07' + "x" * 10_000


@pytest.fixture(scope="module")
def gate() -> Rehearsal:
    return rehearse(read(EXAMPLES / "orchard_gate.toml"))


@pytest.fixture(scope="module")
def frame() -> Rehearsal:
    return rehearse(zoo.frame())


def flowing(found: Rehearsal) -> str:
    return " ".join(plain(only_plan(found)).split())


def with_stage(found: Rehearsal, **change: object) -> Rehearsal:
    stage = replace(found.plan.stages[0], **change)  # type: ignore[arg-type]
    return replace(found, plan=replace(found.plan, stages=(stage, *found.plan.stages[1:])))


def test_every_stage_says_what_lies_ready_what_is_spread_and_how_long_there_is(gate: Rehearsal) -> None:
    said = flowing(gate)
    assert "Lay out in this order: the group from stage 2; D rail_01 to rail_25; the group from stage 3." in said
    assert "Glue: 180 mL in all, on both faces of 50 joints:" in said
    assert "mortise and loose tenon of far_arch_1_2 to far_arch_8_9" in said
    assert "Glue lies open for up to" in said and "of 45 min" in said
    assert "Move it after 15 h, load it after 4 days." in said
    assert "Every move was played through again by independent code and passed." in said
    assert "From the first cut until it may be loaded:" in said
    assert "its data sheet comes first" in said


def test_how_the_work_lies_is_said(frame: Rehearsal) -> None:
    rest = Rest(on="bench", lies="on its left side", blocks=80.0, held=2)
    said = flowing(with_stage(frame, rest=rest, place="outside"))
    assert "Glue it up on its left side, on the bench, outside, blocked up 80 mm, 2 people holding it." in said


def test_clamps_are_told_with_opening_place_and_number(frame: Rehearsal) -> None:
    bars = [Clamp("bar", (f"joint_{k}",), (0, 0, 0), (600, 0, 0), 600.0, 80.0, (0, 0, 1), ("post_1a", "post_2a"))
            for k in range(3)]
    band = Clamp("band", ("joint_9",), (0, 0, 0), (1, 0, 0), 2400.0, around=("a", "b"))
    said = flowing(with_stage(frame, clamps=(*bars, band)))
    assert "Clamps: 3 bar clamps and 1 band:" in said
    assert "3 bars opening 600 mm, pads on post_1a and post_2a: joint_0 to joint_2" in said
    assert "1 band 2400 mm long round a and b: joint_9" in said


def test_all_at_once_is_said() -> None:
    said = flowing(rehearse(zoo.made("closed ring", "odd", segments=5, radius=400.0, segment_joint="loose tenon")))
    assert "11-14. all at the same time, with a band: draw home to segment_4 and ring_4_5_tenon, which stay: " in said
    assert "Lay out, in the order of the moves below: 5 × A: segment_1 to segment_5; 5 × B: " in said


def test_where_nothing_presses_what_to_do_instead_is_said(gate: Rehearsal) -> None:
    stage = gate.plan.stages[1]
    none = replace(stage, clamps=())
    finding = Finding("clamps", "note", (), "nothing presses it", "Wedge it shut", stage=stage.name)
    assert glue_ups.clamps(none, "mm", [finding]) == ["Clamps: none presses this. Wedge it shut."]
    assert glue_ups.clamps(none, "mm", [replace(finding, stage="another")]) == []


@pytest.mark.parametrize(("minutes", "said"), [(0.4, "0 min"), (45, "45 min"), (118, "2 h"), (900, "15 h"),
                                               (1440, "24 h"), (5760, "4 days"), (8280, "6 days")])
def test_times_as_a_person_says_them(minutes: float, said: str) -> None:
    assert glue_ups.span(minutes) == said


@pytest.mark.parametrize(("ml", "said"), [(0.1, "0.5 mL"), (3.3, "3.5 mL"), (9.8, "10 mL"), (176.4, "176 mL")])
def test_glue_as_it_is_measured_out(ml: float, said: str) -> None:
    assert glue_ups._ml(ml) == said


# -- the graph -------------------------------------------------------------------------------------


def test_graphml_reads_back_as_the_same_graph(gate: Rehearsal) -> None:
    back = nx.read_graphml(io.BytesIO(graphml(gate.plan).encode()))
    assert isinstance(back, nx.DiGraph)
    assert set(back.nodes) == set(gate.plan.steps.nodes) and set(back.edges) == set(gate.plan.steps.edges)
    for name, data in back.nodes(data=True):
        own = gate.plan.steps.nodes[name]
        assert data["kind"] == own["kind"] and data["minutes"] == own["minutes"] and data["stage"] == own["stage"]
        assert data["parts"] == ", ".join(own["parts"])
        assert data["longest_way"] == (name in gate.plan.critical)


def test_the_longest_way_leads_from_a_cut_to_standing(gate: Rehearsal) -> None:
    way, steps = gate.plan.critical, gate.plan.steps
    assert steps.nodes[way[0]]["kind"] == "cut" and way[-1] == "standing"
    assert all(steps.has_edge(a, b) for a, b in pairwise(way))
    assert sum(steps.nodes[n]["minutes"] for n in way) == pytest.approx(60 * gate.plan.hours, abs=0.5)
    assert gate.plan.elapsed >= gate.plan.hours - 0.02


def test_a_hostile_name_is_text(frame: Rehearsal) -> None:
    graph = nx.relabel_nodes(frame.plan.steps, {next(iter(frame.plan.steps)): HOSTILE})
    back = nx.read_graphml(io.BytesIO(graphml(replace(frame.plan, steps=graph)).encode()))
    assert any(str(n).startswith('<b>"ring" & </node>') for n in back)


def test_names_that_look_alike_once_they_can_be_written_stay_apart(frame: Rehearsal) -> None:
    graph = nx.DiGraph([("a\x01", "a\x02"), ("a\x02", "a?")])
    nx.set_node_attributes(graph, {n: {"kind": "cut", "stage": 1, "parts": (), "minutes": 1.0} for n in graph})
    back = nx.read_graphml(io.BytesIO(graphml(replace(frame.plan, steps=graph)).encode()))
    assert set(back.edges) == {("a?", "a? (2)"), ("a? (2)", "a? (3)")}


def test_json_says_of_every_stage_all_that_the_plan_knows(gate: Rehearsal) -> None:
    read = json.loads(text(plan_json(gate)))
    assert read["replayed"] is True and read["hours"] > 0 and read["longest_way"][-1] == "standing"
    assert set(read["quality"]) == {"sessions", "least", "proven", "gap", "says"}
    for told, stage in zip(read["stages"], gate.plan.stages, strict=True):
        assert told["units"] == [list(u) for u in stage.units]
        assert sum(g["ml"] for g in told["glue"]) == pytest.approx(sum(s.ml for s in stage.spreads), abs=0.5)
        assert [c["kind"] for c in told["clamps"]] == [c.kind for c in stage.clamps]
        assert all(a["from"] <= a["to"] for a in told["actions"]) and len(told["actions"]) == len(stage.actions)
        assert told["rest"]["lies"] == stage.rest.lies and told["where"] == stage.place


# -- pictures --------------------------------------------------------------------------------------


def ink(image: Image.Image) -> float:
    """Return the share of pixels that are not paper."""
    return float((np.asarray(image.convert("L")) < 235).mean())


@pytest.mark.parametrize("draw", [draw_course, draw_minutes])
def test_pictures_have_their_size_and_something_on_them(gate: Rehearsal, draw) -> None:  # type: ignore[no-untyped-def]
    image = draw(gate.plan, "Orchard gate")
    assert image.width == 1600 and 500 < image.height < 1400
    assert 0.02 < ink(image) < 0.6


@pytest.mark.parametrize("draw", [draw_course, draw_minutes])
def test_pictures_bear_long_plans_hostile_names_and_nothing_at_all(frame: Rehearsal, draw) -> None:  # type: ignore[no-untyped-def]
    few = draw(frame.plan, shown(HOSTILE))
    stages = tuple(replace(frame.plan.stages[0], name=HOSTILE, number=k + 1) for k in range(30))
    long = draw(replace(frame.plan, stages=stages), shown(HOSTILE))
    assert long.width == 1600 and long.height > 4 * few.height, "every glue-up has its row"
    very = draw(replace(frame.plan, stages=tuple(replace(stages[0], number=k + 1) for k in range(300))), "long")
    assert very.height < 12_000, "and one that goes on for ever ends"
    assert draw(Plan((), nx.DiGraph()), "nothing").width == 1600
    bare = Stage(1, "bare", (), (("a",),), (), (), frozenset())
    assert draw(Plan((bare,), nx.DiGraph()), "bare").width == 1600


def test_the_command_writes_the_plan_and_writes_it_again(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "plan"
    folder.mkdir()
    (folder / "my notes.txt").write_text("kept")
    for _ in range(2):
        assert command.main(["plan", str(EXAMPLES / "net_rack.toml"), "-o", str(folder)]) == 0
    made = {p.name for p in folder.iterdir()}
    assert made == {"plan.txt", "plan.json", "plan.graphml", "course.png", "minutes.png", "manifest.json",
                    "my notes.txt"}
    assert set(json.loads((folder / "manifest.json").read_text())["files"]) == made - {"my notes.txt"}
    assert "Stage 1" in capsys.readouterr().out
