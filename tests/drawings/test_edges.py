"""Pictures with something left out, or with one thing more."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.drawings import alt_text, draw_ladder, draw_strip, paper, screen
from steadyhead.drawings.ladder import compose_ladder
from steadyhead.drawings.strip import compose_strip
from steadyhead.errors import InputError
from steadyhead.records.pictures import ComponentLimit, LadderRung, StripBranch
from tests.drawings.samples import BAR, INLET, REDUCER, UPSTREAM, WORKED_EXAMPLE

WIDTHS = (390, 720, 1360)


def said(canvas) -> str:
    return " ".join(box.text for box in canvas.boxes)


def test_a_ladder_without_rungs_is_refused():
    with pytest.raises(InputError, match=r"^rungs: got none"):
        draw_ladder(replace(WORKED_EXAMPLE, rungs=()), screen(), 1360)


@pytest.mark.parametrize("width", WIDTHS)
def test_a_ladder_needs_no_more_than_one_rung(width):
    bare = replace(
        WORKED_EXAMPLE, rungs=(LadderRung("duty", 4e5),), stackings=(), build_up=(), peaks=(), components=(),
        inlet_lowest=None, inlet_highest=None,
    )  # fmt: skip
    assert "4.00 duty" in said(compose_ladder(bare, paper(), width))
    assert alt_text(bare) == "Pressure ladder, Quernhollow Lane: duty 4.00, bar at datum 142.0 m."


@pytest.mark.parametrize("width", WIDTHS)
def test_a_relief_has_a_rung_of_its_own(width):
    rungs = (*WORKED_EXAMPLE.rungs, LadderRung("relief", 4.9e5, "drains to the chamber sump"))
    assert "4.90 relief opens" in said(compose_ladder(replace(WORKED_EXAMPLE, rungs=rungs), paper(), width))


def test_peaks_are_drawn_without_a_trip_too():
    rungs = tuple(rung for rung in WORKED_EXAMPLE.rungs if not rung.kind.startswith("trip"))
    for width in WIDTHS:
        assert "6.45 NOT covered" in said(
            compose_ladder(replace(WORKED_EXAMPLE, rungs=rungs), screen(), width)
        )


@pytest.mark.source(kind="analytic", ref="p = ρ g h with ρ = 1000 kg/m³, g = 9.81 m/s²: 5 m carry 0.49 bar")
@pytest.mark.parametrize(
    ("elevation", "at_datum", "sum_of_it"),
    [(147.0, 8.49, "8.00 + 0.49 = 8.49 bar"), (137.0, 7.51, "8.00 − 0.49 = 7.51 bar")],
)
def test_the_sum_to_datum_has_the_sign_of_the_level(elevation, at_datum, sum_of_it):
    component = ComponentLimit("tank feed", 8 * BAR, elevation, at_datum * BAR)
    picture = replace(WORKED_EXAMPLE, components=(component,))
    assert sum_of_it in said(compose_ladder(picture, screen(), 1360))


def test_a_component_at_datum_needs_no_sum():
    component = ComponentLimit("spool", 8 * BAR, 142.0, 8 * BAR)
    assert " = " not in said(compose_ladder(replace(WORKED_EXAMPLE, components=(component,)), screen(), 1360))


@pytest.mark.parametrize("width", WIDTHS)
def test_a_crossing_smaller_than_a_hundredth_still_shows_a_figure(width):
    worst = WORKED_EXAMPLE.stackings[0]
    close = replace(worst, highest=worst.lowest - 300.0)
    assert "edges cross by 0.003 bar" in said(
        compose_ladder(replace(WORKED_EXAMPLE, stackings=(close,)), paper(), width)
    )


@pytest.mark.parametrize("width", WIDTHS)
def test_a_branch_may_hold_a_reducer_between_two_valves(width):
    parts = (replace(INLET, id="B1"), replace(REDUCER, id="LB", sensing=None), replace(INLET, id="B2"))
    branch = StripBranch("LB", "Low-flow stream", "T2", "T3", parts, ("wide open, 3.5 L/s",))
    picture = replace(UPSTREAM, branches=(branch,))
    assert "wide open, 3.5 L/s" in said(compose_strip(picture, paper(), width)).replace("  ", " ")


def test_a_strip_needs_neither_flow_nor_place():
    drawn = draw_strip(replace(UPSTREAM, flow=None, outlet_name=""), screen(), 390)
    assert "L/s" not in drawn


def test_markup_in_a_name_stays_text():
    drawn = draw_strip(replace(UPSTREAM, name="<b>&", outlet_name='"<i>"'), screen(), 1360)
    assert "<b>" not in drawn
    assert "<i>" not in drawn
