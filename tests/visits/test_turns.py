"""Turn tables, first safe turn, response table."""

from __future__ import annotations

import itertools

import pytest

from steadyhead.hydraulics import build
from steadyhead.visits.numbers import work_out
from steadyhead.visits.turns import Stop, coarse_spring, first_turn
from tests.printed import printed
from tests.visits.known_stations import default_station, station_a

AT_TRICKLE = {"RV__duty": {"pressure": "4.08 bar", "flow": "0.4 L/s"}}
BARS = 1e5
PRINTED = (4.08, 4.25, 4.42, 4.60, 4.77, 4.94, 5.11, 5.28)


@pytest.fixture(scope="module")
def plan_a():
    """Station A with its duty stated as its trickle reading, so that the table starts there."""
    return work_out(station_a(**AT_TRICKLE), "first", samples=10)


def table(plan, spring, valve="RV", start="trickle"):
    tables = plan.turn_tables
    return next(t for t in tables if (t.spring, t.valve, t.start) == (spring, valve, start))


@pytest.mark.source(
    kind="independent", ref="design handbook 3.8, turn table of station A, spring on the plate"
)
def test_the_plate_spring_of_station_a_reads_as_printed(plan_a):
    readings = table(plan_a, "plate").readings["T3"]
    assert table(plan_a, "plate").per_turn / BARS == printed("0.69")
    for reading, bar in zip(readings, PRINTED, strict=False):
        assert reading / BARS == pytest.approx(bar, abs=0.0075)


@pytest.mark.source(
    kind="independent", ref="design handbook 3.8, turn table of station A, spring twice as stiff"
)
def test_the_stiffer_spring_stops_after_three_quarter_turns(plan_a):
    stiff = table(plan_a, "twice as stiff")
    for reading, bar in zip(stiff.readings["T3"], ["4.08", "4.42", "4.77", "5.11", "5.46"], strict=True):
        assert reading / BARS == pytest.approx(float(bar), abs=0.0125)
    assert stiff.stop_after == 3
    assert stiff.limit / BARS == printed("5.31")


def test_a_table_ends_at_the_first_row_above_its_limit(plan_a):
    for one in plan_a.turn_tables:
        watched = one.readings["T3"]
        assert all(reading <= one.limit for reading in watched[: one.stop_after + 1])
        assert len(watched) - 1 <= one.stop_after + 1


def test_readings_never_fall_while_the_setting_is_raised(plan_a):
    for one in plan_a.turn_tables:
        assert list(one.readings["T3"]) == sorted(one.readings["T3"])


def test_a_table_stops_at_the_end_of_the_spring():
    station = station_a(
        RV__pilot={"spring_low": "1.5 bar", "spring_high": "4.6 bar", "per_turn": "0.5 bar/turn"}
    )
    one = table(work_out(station, "first", samples=10), "plate")
    assert one.readings["T3"][-1] < 4.7e5
    assert one.stop_after == len(one.turns) - 1


@pytest.mark.source(kind="analytic", ref="room to the limit over four times the plate's bar per turn")
@pytest.mark.parametrize(
    ("start", "per_turn", "turn"),
    [(4.08e5, 0.6875e5, 0.25), (4.08e5, 2.0e5, 3 / 24), (5.0e5, 1.0e5, 1 / 24)],
)
def test_the_first_turn_is_safe_with_a_spring_four_times_as_stiff(start, per_turn, turn):
    found = first_turn(start, Stop("T3", 5.31e5), per_turn)
    assert found == pytest.approx(turn)
    assert start + 4.0 * per_turn * found <= 5.31e5


def test_no_first_turn_is_given_where_even_the_smallest_is_too_much():
    assert first_turn(5.2e5, Stop("T3", 5.31e5), 2e5) is None


def test_the_plan_gives_a_first_turn_for_every_reducer(plan_a):
    assert plan_a.first_turn == {"RV": 0.25}
    assert plan_a.first_turn_lowest == {"RV": 0.25}


def test_where_no_first_turn_is_safe_the_plan_says_so_and_gives_none():
    station = station_a(
        RV__duty={"pressure": "5.0 bar", "flow": "0.4 L/s"}, RV__lockup="5.05 bar",
        RV__pilot={"spring_low": "1.5 bar", "spring_high": "12 bar", "per_turn": "2 bar/turn"},
    )  # fmt: skip
    plan = work_out(station, "first", samples=10)
    assert "NUM-06" in {finding.code for finding in plan.findings}
    assert "RV" not in plan.first_turn
    assert plan.first_turn_lowest["RV"] > 0.0


@pytest.mark.source(kind="common practice", ref="design handbook 3.8: 0.69 bar/turn, twice and four times")
def test_a_quarter_turn_is_told_for_three_springs(plan_a):
    assert [rise / BARS for rise in plan_a.per_quarter["RV"]] == pytest.approx([0.17, 0.34, 0.69], abs=0.005)


def test_a_table_from_the_lowest_setting_rises_by_the_quarter_turn(plan_a):
    for spring, rise in zip(("plate", "twice as stiff"), plan_a.per_quarter["RV"], strict=False):
        readings = table(plan_a, spring, start="lowest").readings["T3"]
        assert readings[0] == pytest.approx(plan_a.spring_lowest["RV"], abs=0.3e5)
        steps = [b - a for a, b in itertools.pairwise(readings)]
        assert steps == pytest.approx([rise] * len(steps), rel=0.15)
        assert len(readings) <= 9


@pytest.mark.source(kind="analytic", ref="15° of 2 bar/turn are 0.083 bar, half of 0.15 bar is 0.075 bar")
def test_a_two_bar_spring_is_too_coarse_for_a_trip_repeating_within_0_15_bar():
    model = build(station_a(SO__pilot={"spring_low": "1 bar", "spring_high": "17 bar"}))
    shut_off, rate = model.layout.shut_offs[0], model.twins["SO"].per_turn
    finding = coarse_spring(shut_off, rate, 0.15e5)
    assert finding is not None
    assert finding.value is not None
    assert finding.value.si / BARS == printed("0.083")
    assert coarse_spring(shut_off, rate, 0.2e5) is None


def test_a_coarse_spring_is_told_by_the_plan():
    station = station_a(SO__pilot={"spring_low": "1 bar", "spring_high": "17 bar"})
    assert "NUM-03" in {finding.code for finding in work_out(station, "first", samples=10).findings}


class TestResponse:
    """Readings over (reducer turns × shut-off turns × drain), straight in between."""

    def test_it_follows_its_axes(self, plan_a):
        axes, values = plan_a.response.axes, plan_a.response.values
        assert [name for name, _ in axes] == ["RV", "SO", "drain"]
        assert len(values) == len(axes[0][1])
        assert all(len(row) == len(axes[1][1]) for row in values)
        assert all(len(cell) == len(axes[2][1]) for row in values for cell in row)
        assert plan_a.response.taps == ("T1", "T2", "T3", "margin")

    def test_at_no_turn_it_shows_the_trickle_reading(self, plan_a):
        axes = plan_a.response.axes
        start = axes[0][1].index(0.0), axes[1][1].index(0.0), axes[2][1].index(1.0)
        cell = plan_a.response.values[start[0]][start[1]][start[2]]
        assert cell[2] == pytest.approx(plan_a.target_reading["trickle"], abs=500.0)
        assert cell[3] == pytest.approx(5.1e5 - cell[2], abs=1.0)

    def test_raising_the_shut_off_widens_the_margin_and_moves_no_tap(self, plan_a):
        row = plan_a.response.values[2]
        assert row[0][1][:3] == row[2][1][:3]
        assert row[0][1][3] < row[1][1][3] < row[2][1][3]

    def test_raising_the_reducer_narrows_the_margin(self, plan_a):
        margins = [row[1][1][3] for row in plan_a.response.values]
        assert margins == sorted(margins, reverse=True)

    def test_there_is_none_without_a_trip(self):
        assert work_out(default_station(SO__trip=None), "first", samples=10).response is None
