"""Every kind of finding is explained, and the limits quoted are those the checks use."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Any

import pytest

from assembly import contacts, interference, walk
from assembly.checks.thin_wall import LIMITS
from assembly.effort import effort
from assembly.pressure import beside
from assembly.stance import people, steadiness
from exports import command
from exports.explain import (
    FIGURE,
    KINDS,
    KindError,
    clearances,
    explanation,
    figure,
    listing,
    texts,
    told,
    with_figures,
    written,
)
from exports.prose import plain


def limits() -> Iterator[tuple[str, dict[str, Any]]]:
    for kind, one in texts().items():
        yield from ((kind, limit) for limit in one.get("limits", []))  # type: ignore[attr-defined]


def test_every_kind_has_an_explanation_and_nothing_else_has() -> None:
    assert set(texts()) == set(KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_each_says_all_a_person_asks(kind: str) -> None:
    one = explanation(kind)
    for text in (one.line, one.what, one.bench, one.matters, one.remedy, *one.blind):
        assert len(text) > 15 and "{" not in text
    assert one.blind, "what cannot be seen is said"
    read = plain(told(kind))
    for title in ("What it is", "At the bench", "Why it matters", "What people do", "Limits", "What dryfit cannot see"):
        assert f"\n{title}\n---" in read
    assert all(len(line) <= 100 for line in read.splitlines())


def test_no_limit_is_typed_twice() -> None:
    """A limit without its figures holds no digit: every figure is looked up where the check keeps it."""
    found = list(limits())
    assert found
    for kind, one in found:
        assert FIGURE.search(one["says"]), f"{kind}: {one['says']}"
        assert not re.search(r"\d", FIGURE.sub("", one["says"])), f"{kind}: {one['says']}"
        assert one["from"].strip(), kind


def test_figures_are_those_of_the_checks() -> None:
    assert figure("assembly.interference", "TOLERANCE") == interference.TOLERANCE
    assert figure("assembly.effort", "effort.lift_one") == effort().lift_one
    assert figure("assembly.checks.thin_wall", "LIMITS.cover.warn") == LIMITS["cover"].warn
    assert f"{interference.TOLERANCE:g} mm" in explanation("interference").limits[0].says
    assert f"{contacts.GAP:g} mm" in explanation("gap").limits[0].says
    assert f"{math.degrees(walk.LOOP_ANGLE):g}°" in explanation("gap").limits[1].says
    assert f"{clearances()['epoxy'].most:g} mm" in explanation("gap").limits[4].says
    assert f"{people.MASS_MOST:g} kg" in explanation("hands").limits[1].says
    assert f"{math.degrees(steadiness.STEADY):g}°" in explanation("stance").limits[0].says
    assert f"{beside.SCREW:g} mm" in explanation("clamps").limits[2].says
    assert f"{effort().set_clamp:g} s" in explanation("open-time").limits[1].says
    with pytest.raises(AttributeError):
        with_figures("{assembly.contacts:NO_SUCH mm}")


@pytest.mark.parametrize(("value", "unit", "said"), [
    (0.05, "mm", "0.05 mm"), (25.4, "mm", "25.4 mm (1 in)"), (math.pi / 4, "rad", "45°"), (0.25, "%", "25 %"),
    (20.0, "kg", "20 kg"), (3.0, "", "3"), (400.0, "mm2", "400 mm²")])
def test_how_a_figure_is_written(value: float, unit: str, said: str) -> None:
    assert written(value, unit) == said


def test_kinds_are_listed_one_line_each() -> None:
    lines = listing().splitlines()
    assert [line.split()[0] for line in lines] == list(KINDS)


@pytest.mark.parametrize("asked", ["thin-wall", "Thin Wall", "thin_wall"])
def test_a_kind_may_be_written_in_any_way(asked: str) -> None:
    assert explanation(asked).kind == "thin-wall"


def test_a_kind_that_is_none_names_the_nearest() -> None:
    with pytest.raises(KindError, match=r"no such kind of finding: backward; .*did you mean 'backwards'\?"):
        explanation("backward")
    with pytest.raises(KindError, match=r"qq\?\[2J; accepted: backwards, .*unmatched$"):
        explanation("qq\x1b[2J")


def test_the_command_explains(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["explain"]) == 0
    assert capsys.readouterr().out == listing()
    assert command.main(["explain", "exposed", "joint"]) == 0
    assert capsys.readouterr().out == plain(told("exposed-joint"))
    assert command.main(["explain", "gaps"]) == 2
    out, err = capsys.readouterr()
    assert out == "" and "did you mean 'gap'?" in err
