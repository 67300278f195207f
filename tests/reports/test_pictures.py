from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.drawings import draw_ladder, draw_strip, paper
from steadyhead.records.design import DesignCase
from steadyhead.records.ladder import FailurePeak
from steadyhead.records.steady import Steady, ValveReading
from steadyhead.reports.inputs import stated
from steadyhead.reports.pictures import MOST_PEAKS, brief, ladder_picture, strip_picture
from steadyhead.units import METRIC, US
from tests.reports.example_sheet import BAR, LADDER, SHEET, sheet
from tests.reports.stations import NAMES, station, with_bypass

TAPS = {"T0": 8.6 * BAR, "T1": 8.6 * BAR, "T2": 8.5 * BAR, "T3": 4.0 * BAR, "T4": 4.0 * BAR}
STEADY = Steady(7e-3, 7e-3, {}, TAPS, 4e5, {"RV": ValveReading(0.12, "holding", 8.5e5, 4e5, 7e-3)}, 0.0)
CASE = DesignCase("average", "typical", 7e-3, 8.6e5, STEADY)


@pytest.mark.parametrize("name", NAMES)
def test_the_strip_holds_every_tap_and_part_of_the_line_in_its_order(name):
    about = station(name)
    picture = strip_picture(about)
    assert [part.id for part in picture.parts] == [part.id for part in about.line]
    assert [tap.tap for tap in picture.pressures] == [part.id for part in about.line if part.part == "tap"]
    assert draw_strip(picture, paper(), 720.0).startswith("<svg")


def test_the_strip_shows_the_case_it_is_given_and_says_which():
    picture = strip_picture(station(), sheet=sheet(cases=(CASE,)))
    assert {tap.tap: tap.now for tap in picture.pressures} == TAPS
    assert picture.flow == 7e-3
    assert picture.moment == "worked out, typical inlet pressure, average flow"
    assert next(p for p in picture.parts if p.kind == "reducer").travel == 0.12


def test_without_a_case_no_pressure_is_shown():
    assert {tap.now for tap in strip_picture(station()).pressures} == {None}


def test_the_strip_carries_the_limits_of_the_ladder():
    limits = {each.kind: each.pressure for each in strip_picture(station(), sheet=SHEET).limits}
    assert limits == {"fault": 5.94 * BAR, "normal": 5.94 * BAR, "trip": 5.1 * BAR, "alarm": 4.8 * BAR}


def test_pilots_that_share_a_tapping_hang_on_one_root_cock():
    about = station()
    shared = tuple(
        part.model_copy(update={"sensing_tap": "shared with reducer"}) if part.part == "shut_off" else part
        for part in about.line
    )
    roots = [
        p.sensing.root for p in strip_picture(about.model_copy(update={"line": shared})).parts if p.sensing
    ]
    own = [p.sensing.root for p in strip_picture(about).parts if p.sensing]
    assert len(set(roots)) == 1
    assert len(set(own)) == 2


def test_a_manual_bypass_is_drawn_below_between_its_neighbours():
    picture = strip_picture(with_bypass(station()))
    (branch,) = picture.branches
    assert (branch.after, branch.before, branch.words) == ("T2", "T3", ("locked shut",))
    assert [(p.id, p.open_share) for p in branch.parts] == [("BV", 0.0)]
    assert draw_strip(picture, paper(), 720.0).startswith("<svg")


def test_the_brief_strip_names_parts_by_id_only():
    assert {p.words for p in brief(strip_picture(station())).parts if not p.sensing} == {()}


def test_the_ladder_shows_its_rungs_both_stackings_and_where_each_limit_stands():
    picture = ladder_picture(station(), SHEET)
    assert picture is not None
    rungs = {rung.kind: rung.pressure for rung in picture.rungs}
    assert rungs["trip"] == 5.1 * BAR
    assert rungs["trip_upper"] == 5.45 * BAR
    assert "reset" not in rungs
    worst, squares = picture.stackings
    assert worst.base + sum(block.size for block in worst.below) == pytest.approx(worst.lowest)
    assert worst.roof - sum(block.size for block in worst.above) == pytest.approx(worst.highest)
    assert (squares.lowest, squares.highest) == (4.98 * BAR, 5.16 * BAR)
    assert [(c.name, c.kind) for c in picture.components] == [
        ("old spur, Tannery Row", "both"),
        ("PVC-U main", "both"),
    ]


def test_the_chosen_stacking_decides_the_edges_of_the_trip():
    picture = ladder_picture(station(), sheet(stacking="root-sum-square"))
    assert picture is not None
    assert {r.kind: r.pressure for r in picture.rungs}["trip_upper"] == 5.31 * BAR


def test_the_ladder_shows_what_is_credited_and_the_worst_of_each_speed_that_is_not_covered():
    peaks = tuple(
        FailurePeak("reducer drifts open", within, at, 5.6, 1e5, peak * BAR, peak < 5.94, within == 120.0)
        for within, at, peak in (
            (120.0, "night flow", 5.88),
            (2.0, "average flow", 6.4),
            (2.0, "night flow", 6.7),
            (30.0, "night flow", 6.2),
            (600.0, "night flow", 5.5),
        )
    )
    picture = ladder_picture(station(), sheet(ladder=replace(LADDER, peaks=peaks)))
    assert picture is not None
    assert [(p.pressure, p.credited) for p in picture.peaks] == [
        (5.88 * BAR, True),
        (6.7 * BAR, False),
        (6.2 * BAR, False),
    ]
    assert len(picture.peaks) <= MOST_PEAKS


@pytest.mark.parametrize("units", [METRIC, US])
def test_the_ladder_can_be_drawn_in_both_unit_sets(units):
    picture = ladder_picture(station(), SHEET, units=units)
    assert picture is not None
    assert draw_ladder(picture, paper(), 720.0).startswith("<svg")


def test_without_a_fault_limit_no_window_is_drawn():
    bare = replace(LADDER, inputs=replace(LADDER.inputs, fault_limit=None), weakest_fault=None)
    picture = ladder_picture(station(), sheet(ladder=bare))
    assert picture is not None
    assert picture.stackings == ()


def test_without_a_ladder_there_is_no_picture():
    assert ladder_picture(station(), sheet(ladder=None)) is None


def test_every_stated_value_is_listed_as_it_was_typed():
    rows = stated(station())
    assert ["supply › min", "7.2 bar", "logger at T0, seven days, 2026-03-02, measured"] in rows
    assert ["line › IV1 › turns", "24 turns", ""] in rows
    assert ["limits › lowest draw-off › normal", "7.5 bar", ""] in rows
    assert len(rows) > 50


def test_a_ladder_without_limits_or_alarm_shows_what_it_has():
    inputs = replace(LADDER.inputs, fault_limit=None, normal_limit=None, alarm=None, trip=None)
    bare = replace(LADDER, inputs=inputs, weakest_fault=None, weakest_normal=None)
    assert strip_picture(station(), sheet=sheet(ladder=bare)).limits == ()


def test_a_component_with_one_limit_only_shows_that_one():
    first, second = LADDER.components
    one = replace(first, normal_local=None, normal_at_datum=None)
    other = replace(second, fault_local=None, fault_at_datum=None)
    inner = replace(second, side="between")
    judged = sheet(ladder=replace(LADDER, components=(one, other, inner), weakest_normal=other))
    picture = ladder_picture(station(), judged)
    assert picture is not None
    assert [(c.name, c.kind) for c in picture.components] == [
        (one.component, "fault"),
        (other.component, "normal"),
    ]
