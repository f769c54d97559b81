"""Every way to go wrong that is planted, in the order of the table, and the planting of many."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from numpy.random import Generator, default_rng

from model.as_cut import Turned
from model.design import Design
from tests.seeded import drawn, lapped, measured, offered, tenoned
from tests.seeded.mistake import Mistake, Planter

WAYS: tuple[Turned, ...] = ("end for end", "end over end", "rolled over", "quarter turn", "three quarter turn")

OPEN = "0.1 mm"
PLANTERS: tuple[Planter, ...] = (
    Planter("rail too long", measured.rail_long, OPEN, "a rail in no loop is only a longer rail"),
    Planter("rail too short", measured.rail_short, OPEN, "a rail in no loop is only a shorter rail"),
    Planter("mortise off along", measured.mortise_along, OPEN, "in no loop the piece only stands elsewhere"),
    Planter("mortise off across", measured.mortise_across, OPEN, "in no loop the piece only stands elsewhere"),
    Planter("tenon off its place", measured.tenon_off, OPEN, "in no loop the piece only stands elsewhere"),
    Planter("mortise too shallow", measured.mortise_shallow, OPEN, "room that is left below a tenon is not missed"),
    Planter("tenon too long", measured.tenon_long, OPEN, "room that is left below a tenon is not missed"),
    Planter("mortise too tight", measured.mortise_tight, "0.05 mm a side"),
    Planter("tenon too thick", measured.tenon_thick, "0.05 mm a side"),
    Planter("mortise too loose", measured.mortise_loose, "0.15 mm over what the glue bridges",
            "glue whose kind is not known has no limits"),
    Planter("fit too close", measured.fit_too_close, "0.02 mm under what the glue wants",
            "glue whose kind is not known has no limits"),
    Planter("tenon too wide", tenoned.tenon_wide, "0.05 mm an end"),
    Planter("mortise too narrow", tenoned.mortise_narrow, "0.05 mm an end"),
    Planter("rail end out of square", tenoned.end_out_of_square, "0.1 degrees"),
    Planter("loose tenon too long", tenoned.loose_tenon_long, OPEN, "one that is too short only holds less"),
    Planter("loose tenon too thick", tenoned.loose_tenon_thick, "0.05 mm a side"),
    Planter("lap too shallow", lapped.lap_shallow, OPEN, "in no loop the piece only stands elsewhere"),
    Planter("lap too deep", lapped.lap_deep, OPEN, "in no loop the piece only stands elsewhere"),
    Planter("lap too narrow", lapped.lap_narrow, "0.05 mm a side"),
    Planter("planed thinner beside a flush neighbour", measured.thinner_beside_flush, "0.2 mm"),
    Planter("ripped narrower beside a flush neighbour", measured.narrower_beside_flush, "0.2 mm"),
    Planter("whole board thinner", measured.board_thinner, "0.2 mm",
            "where all neighbours came from the same board nothing stands proud"),
    Planter("mitre off", measured.mitre_off, "0.05 degrees", "in an open arch a mitre only moves the feet"),
    Planter("wrong count of segments", measured.wrong_count, "one segment"),
    Planter("foot too short", drawn.foot_short, "0.2 mm", "which of two feet across is short cannot be told"),
    Planter("leg too short", measured.leg_short, "0.3 mm along the leg"),
    Planter("foot out of square", measured.foot_leaning, "0.15 degrees"),
    Planter("thin wall beside a mortise", measured.wall_thin, "less than 5.5 mm left"),
    Planter("mortise comes out of a side", measured.mortise_out, "0.2 mm"),
    Planter("planed to a thin bottom", tenoned.planed_to_the_bottom, "less than 0.9 mm left"),
    Planter("planed through to a mortise", tenoned.planed_through, OPEN),
    Planter("curve leaves a thin cover", drawn.curve_leaves_little, "less than 9.5 mm left"),
    Planter("curve exposes a joint", drawn.curve_exposes, "0.3 mm"),
    *(Planter(f"turned {way}", offered.turned(way), "500 mm³ of wood elsewhere",
              "two neighbours both turned, where there is no drawing to hold them against") for way in WAYS),
    Planter("exchange of look-alikes", offered.exchanged, "500 mm³ of wood elsewhere"),
    Planter("made as its mirror image", offered.mirrored, "500 mm³ of wood elsewhere"),
    Planter("mortise never cut", offered.mortise_left_out, "any"),
    Planter("tenon never cut", offered.tenon_left_out, "any"),
    Planter("rail never made", offered.rail_forgotten, "any"),
    Planter("joint never declared", drawn.joint_forgotten, "400 mm² of contact"),
    Planter("tied by nothing", drawn.tied_by_nothing, "any"),
    Planter("undeclared clash", drawn.undeclared_clash, "0.1 mm"),
)


def planted(designs: Sequence[Design], count: int, seed: int, planters: Sequence[Planter] = PLANTERS,
            ) -> Iterator[tuple[Planter, Mistake]]:
    """Yield up to `count` mistakes, the kinds in turn, each in a design drawn at random out of those that take it."""
    rng = default_rng(seed)
    for k in range(count):
        planter = planters[k % len(planters)]
        if (mistake := _somewhere(planter, designs, rng)) is not None:
            yield planter, mistake


def _somewhere(planter: Planter, designs: Sequence[Design], rng: Generator) -> Mistake | None:
    for at in rng.permutation(len(designs)):
        if (mistake := planter.plant(designs[int(at)], rng)) is not None:
            return mistake
    return None
