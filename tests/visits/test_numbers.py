"""The figures of a plan as a whole: deterministic, monotone where they should be, alike in either engine."""

from __future__ import annotations

import os
import subprocess
import sys

import numpy as np
import pytest

from steadyhead.errors import InputError
from steadyhead.findings.telling import tell
from steadyhead.hydraulics import build, solve
from steadyhead.records.station import Station
from steadyhead.records.steady import Conditions
from steadyhead.visits import drawn
from steadyhead.visits.numbers import band_of, flow_points, trickle_flow, work_out
from tests.printed import printed
from tests.visits.known_stations import STATION_A, default_station, station_a, without_part
from tests.visits.random_stations import random_station

FEW = 60


@pytest.fixture(scope="module")
def plan_a():
    return work_out(station_a(), "first", samples=FEW)


def test_the_same_station_gives_the_same_figures(plan_a):
    drawn.drawn.cache_clear()
    assert work_out(station_a(), "first", samples=FEW) == plan_a


def test_every_band_holds_its_nominal(plan_a):
    for key, band in plan_a.bands.items():
        assert band.low <= band.nominal <= band.high, key


def test_the_kind_of_plan_changes_only_the_drain_budget(plan_a):
    yearly = work_out(station_a(), "yearly", samples=FEW)
    assert yearly.bands == plan_a.bands
    assert yearly.turn_tables == plan_a.turn_tables
    assert yearly.drain_budget != plan_a.drain_budget


def test_another_inlet_pressure_changes_bands_and_turns_but_no_question(plan_a):
    other = work_out(station_a(supply__static="15 bar", supply__night="14 bar"), "first", samples=FEW)
    assert other.bands.keys() == plan_a.bands.keys()
    assert other.bands["v2.T1"] != plan_a.bands["v2.T1"]
    assert other.inlet_opening["outlet"].turns < plan_a.inlet_opening["outlet"].turns


def test_a_coarser_gauge_widens_what_it_reads_and_nothing_else(plan_a):
    gauges = [dict(gauge) for gauge in STATION_A["gauges"]]
    gauges[0]["accuracy"] = "1.6 %"
    coarse = work_out(station_a(gauges=gauges), "first", samples=FEW)

    def width(plan, key):
        return plan.bands[key].high - plan.bands[key].low

    for key in ("trickle.T3", "lockup.T3", "trip.T3", "vented.T3"):
        assert width(coarse, key) > width(plan_a, key)
    for key in ("trickle.T1", "v2.T1", "closing.time"):
        assert coarse.bands[key] == plan_a.bands[key]


def test_what_is_set_and_read_with_one_gauge_does_not_know_its_error(plan_a):
    """Duty set to 4.0 on TG-07 reads 4.0 on TG-07, however wrong the gauge: only nut and reading are left."""
    gauges = [dict(gauge) for gauge in STATION_A["gauges"]]
    gauges[0]["accuracy"] = "0.1 %"
    fine = work_out(station_a(gauges=gauges), "first", samples=FEW)
    for key in ("duty.T3", "lockup_set.T3"):
        assert fine.bands[key].low == pytest.approx(plan_a.bands[key].low, abs=300.0)
        assert fine.bands[key].high == pytest.approx(plan_a.bands[key].high, abs=300.0)


def test_a_gauge_above_the_datum_reads_lower_by_its_water_column(plan_a):
    raised = work_out(station_a(T3__height="1 m"), "first", samples=FEW)
    moved = plan_a.bands["trickle.T3"].nominal - raised.bands["trickle.T3"].nominal
    assert moved == pytest.approx(9.81 * 999.6, rel=1e-3)
    assert raised.target_reading["trip"] == pytest.approx(5.1e5 - 9.81 * 999.6, rel=1e-4)
    assert raised.bands["vented.T3"] == plan_a.bands["vented.T3"]


@pytest.mark.source(kind="analytic", ref="zero flow: T1 is the supply, the outlet stands at lock-up")
def test_nominal_readings_without_flow_are_the_stated_pressures(plan_a):
    assert plan_a.bands["v2.T1"].nominal == pytest.approx(10.6e5, abs=10.0)
    assert plan_a.bands["lockup.T3"].nominal == pytest.approx(4.3e5, abs=10.0)
    assert plan_a.bands["v2.loss"].nominal == pytest.approx(0.0, abs=10.0)


def test_nominal_readings_are_those_of_the_twins_own_door(plan_a):
    """The quick path behind the bands and `hydraulics.solve` agree where both can answer."""
    model = build(station_a())
    for number, flow in enumerate(plan_a.flow_points, start=1):
        steady = solve(model, Conditions(supply_pressure=10.6e5, consumer_flow=flow))
        for role in ("T0", "T1", "T2"):
            assert plan_a.bands[f"flow.{number}.{role}"].nominal == pytest.approx(steady.taps[role], abs=50.0)
        assert plan_a.bands[f"flow.{number}.T3"].nominal == pytest.approx(steady.taps["T3"], abs=300.0)


@pytest.mark.source(
    kind="analytic", ref="7.5e-4 and 3e-4 bar/(L/s)² of design handbook 10.2 at the highest flow"
)
def test_losses_of_strainer_and_shut_off_grow_with_the_square_of_flow(plan_a):
    top = plan_a.flow_points[-1] * 1e3
    assert plan_a.bands["strainer.loss"].nominal / 1e5 == pytest.approx((7.5e-4 + 3.2e-6) * top**2, rel=0.02)
    assert plan_a.bands["shut_off.loss"].nominal / 1e5 == pytest.approx(3e-4 * top**2, rel=0.01)


@pytest.mark.source(
    kind="common practice", ref="design handbook 10.2: 0.4 L/s trickle, H4 from 0.4 to 22 L/s"
)
def test_station_a_gets_its_trickle_and_its_flow_points():
    station = station_a()
    assert trickle_flow(station) * 1e3 == printed("0.4")
    points = flow_points(station, build(station), trickle_flow(station))
    assert len(points) >= 5
    assert points[-1] * 1e3 == printed("22")
    assert list(points) == sorted(points)


def test_a_small_drain_limits_the_flow_test():
    points = work_out(station_a(TD__kv="Kv 12"), "first", samples=10).flow_points
    assert points[-1] < 12 / 3600 * 2.0
    assert points[0] < points[-1]


@pytest.mark.source(
    kind="common practice", ref="design handbook 2.4a, station A: 5.6 s at trickle stays 5.6 s there"
)
def test_a_closing_time_stated_at_trickle_is_expected_at_trickle(plan_a):
    assert plan_a.bands["closing.time"].nominal == pytest.approx(5.6, abs=0.06)


def test_a_trip_that_is_held_reads_the_trip_whatever_the_gauge_is_worth(plan_a):
    """The setting gauge both says the trip and is read: what is left is the hand and the eye."""
    held, running = plan_a.bands["trip_held.T3"], plan_a.bands["trip_set.T3"]
    assert held.nominal == pytest.approx(5.1e5, abs=1.0)
    assert held.high - held.low < 0.2e5 < running.high - running.low


@pytest.mark.source(kind="analytic", ref="a run is read up to a step late: half of 0.075 bar in the middle")
@pytest.mark.parametrize("way", ["trip", "trip_set"])
def test_the_middle_of_a_run_lies_at_the_trip_its_reading_half_a_step_above(plan_a, way):
    middle, reading = plan_a.bands[f"{way}_mid.T3"], plan_a.bands[f"{way}.T3"]
    assert middle.nominal == pytest.approx(5.1e5, abs=1.0)
    assert reading.nominal - middle.nominal == pytest.approx(0.0375e5)
    assert abs(5.1e5 - 0.5 * (middle.low + middle.high)) < 0.03e5


@pytest.mark.source(kind="common practice", ref="design handbook 10.2: 5.31 is P_T with its RSS tolerance up")
def test_an_as_found_trip_is_valid_within_its_tolerance_both_ways():
    """Class 1.0 on 0 to 10 bar: the tolerance of the worked example."""
    edges = work_out(station_a(), "yearly", samples=10).target_reading
    assert edges["trip_high"] / 1e5 == printed("5.31")
    assert edges["trip_low"] == pytest.approx(2 * 5.1e5 - edges["trip_high"])


def test_a_reducer_at_its_lowest_setting_stands_below_its_trickle_reading(plan_a):
    assert plan_a.spring_lowest == {"RV": 1.5e5}
    lowest, full = plan_a.bands["lowest.T3"], plan_a.bands["v2_drain_lowest.T3"]
    assert lowest.nominal == pytest.approx(1.8e5, abs=10.0)
    assert full.high < lowest.high < plan_a.bands["trickle.T3"].low
    assert full.nominal < 1.5e5


def test_with_consumers_connected_the_shut_off_is_clocked_at_their_flow():
    passing = work_out(station_a(IV2__tight="no"), "yearly", samples=FEW)
    service, trickle = passing.bands["closing_service.time"], passing.bands["closing.time"]
    assert service.high - service.low > trickle.high - trickle.low
    assert service.nominal != pytest.approx(trickle.nominal, rel=0.02)
    assert "closing_service.time" not in work_out(station_a(), "yearly", samples=5).bands


def test_water_from_the_inlet_closes_a_shut_off_behind_the_reducer_no_slower_where_it_was_not_timed():
    def seconds(medium):
        station = default_station(SO__closing_medium=medium)
        return work_out(station, "yearly", samples=10).bands["closing.time"].nominal

    assert seconds("station inlet") < 0.8 * seconds("own inlet")


class TestPumped:
    """How far the outlet is pumped, and the leak that is accepted there."""

    def test_out_of_the_way_it_goes_to_the_test_limit_in_service_it_stays_below_the_trip(self, plan_a):
        free, guarded = plan_a.pumped["out_of_way"], plan_a.pumped["in_service"]
        assert free.reading == pytest.approx(plan_a.target_reading["trip_high"])
        assert guarded.reading == pytest.approx(plan_a.target_reading["trip_low"] - 0.1e5)

    def test_a_leak_no_hand_keeps_up_with_is_not_measured_by_pump(self, plan_a):
        """A tenth of 1.8 L/s is 10.8 L/min; a hand brings 0.8."""
        assert not plan_a.pumped["out_of_way"].by_pump
        assert plan_a.pumped["out_of_way"].strokes == 40.0

    @pytest.mark.source(
        kind="analytic", ref="a tenth of 0.06 L/s is 18 strokes of 20 mL a minute, less below"
    )
    def test_a_small_leak_is_told_in_strokes_per_minute_and_scaled(self):
        plan = work_out(station_a(demand__night="0.06 L/s"), "yearly", samples=10)
        free, guarded = plan.pumped["out_of_way"], plan.pumped["in_service"]
        assert free.by_pump
        assert free.strokes == pytest.approx(18.0)
        share = (guarded.reading - 4e5) / (free.reading - 4e5)
        assert guarded.strokes == pytest.approx(18.0 * share)

    def test_a_zone_that_may_draw_nothing_accepts_no_leak(self):
        plan = work_out(station_a(demand__zero_possible="yes"), "yearly", samples=10)
        assert {one.leak for one in plan.pumped.values()} == {0.0}

    def test_a_reducer_alone_is_pumped_to_its_test_limit(self):
        plan = work_out(without_part(STATION_A, "SO"), "yearly", samples=10)
        assert list(plan.pumped) == ["out_of_way"]
        assert plan.pumped["out_of_way"].reading == pytest.approx(plan.test_limit["outlet"])


@pytest.mark.source(kind="analytic", ref="0.4 bar step over 0.6875 bar/turn and so on: ΔP over bar per turn")
def test_turns_to_the_trip_are_the_rise_over_bar_per_turn(plan_a):
    rise = plan_a.bands["at_trip.T3"].nominal - plan_a.bands["trickle.T3"].nominal
    assert plan_a.bands["turns.RV"].nominal == pytest.approx(rise / 0.6875e5, rel=0.01)


def test_upstream_both_sections_drain_after_the_trip_downstream_the_first_one_holds(plan_a):
    assert plan_a.bands["after_trip.T2"].nominal == 0.0
    assert plan_a.bands["after_trip.T3"].nominal == 0.0
    downstream = work_out(default_station(), "first", samples=FEW)
    assert downstream.bands["after_trip.T2"].nominal > 5.5e5
    assert downstream.bands["after_trip.T3"].nominal == 0.0


def test_gauges_are_called_good_or_poor_by_name():
    gauges = [*STATION_A["gauges"], {"id": "TG-1", "span": "10 bar", "accuracy": "0.25 %"}]
    plan = work_out(station_a(gauges=gauges), "first", samples=10)
    assert (plan.good_gauges, plan.poor_gauges) == (("TG-1",), ("TG-07", "TG-11"))


@pytest.mark.source(kind="own estimate", ref="design handbook C2: 0.3 m/s alone is 3.6 bar in ductile iron")
def test_filling_is_bounded_by_the_stop_of_its_column(plan_a):
    assert plan_a.fill_speed == 0.3
    assert plan_a.fill_surge / 1e5 == printed("3.6")


def test_filling_is_slower_where_the_rating_leaves_little_room():
    limits = [
        *STATION_A["limits"],
        {"component": "section", "normal": "13 bar", "level": "142 m", "side": "between"},
    ]
    plan = work_out(station_a(limits=limits), "first", samples=10)
    assert 0.0 < plan.fill_speed < 0.3
    assert plan.fill_surge + 11.8e5 == pytest.approx(13e5, rel=1e-6)


def test_a_station_without_an_outlet_tap_says_which_is_missing():
    with pytest.raises(InputError, match="T3"):
        work_out(without_part(STATION_A, "T3"), "first", samples=10)


@pytest.mark.source(
    kind="analytic", ref="expected share between order statistics j and k of n is (k - j)/(n + 1)"
)
def test_a_band_holds_its_share_on_average():
    rng = np.random.default_rng(4)
    inside = []
    for _ in range(400):
        band = band_of(rng.normal(size=200), 0.0)
        assert band is not None
        inside.append(
            np.mean(
                np.abs(rng.normal(size=200) - 0.5 * (band.low + band.high)) <= 0.5 * (band.high - band.low)
            )
        )
    assert np.mean(inside) == pytest.approx(0.95, abs=0.005)


def test_a_reading_the_twin_mostly_cannot_answer_gets_no_band():
    assert band_of([1.0] * 90 + [float("nan")] * 10, 1.0) is None
    assert band_of([1.0] * 10, float("nan")) is None


def test_random_stations_of_every_layout_get_figures():
    for number in range(8):
        station = Station.model_validate(random_station(np.random.default_rng([21, number])))
        plan = work_out(station, "first", samples=10)
        assert len(plan.bands) > 20
        assert all(np.isfinite([b.low, b.high]).all() for b in plan.bands.values())


def test_plain_and_compiled_engines_give_the_same_bands(plan_a):
    code = (
        "from steadyhead.visits.numbers import work_out; from tests.visits.known_stations import station_a\n"
        f"b = work_out(station_a(), 'first', samples={FEW}).bands['trickle.T3']; print(repr((b.low, b.high)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "STEADYHEAD_ENGINE": "plain", "PYTHONPATH": os.pathsep.join(("src", "."))},
        capture_output=True,
        text=True,
        check=True,
    )
    low, high = (float(word) for word in done.stdout.strip("()\n ").split(","))
    assert (low, high) == pytest.approx(
        (plan_a.bands["trickle.T3"].low, plan_a.bands["trickle.T3"].high), abs=1.0
    )


def test_a_reading_without_an_answer_is_told(monkeypatch):
    def silent(work, draws, water):
        return {question.key: float("nan") for question in work.asked}

    monkeypatch.setattr(drawn, "readings", silent)
    plan = work_out(station_a(), "yearly", samples=7)
    assert not plan.bands
    assert {finding.code for finding in plan.findings} == {"NUM-05"}


def test_the_stations_drawn_for_one_plan_serve_the_plans_of_every_other_kind(monkeypatch):
    first = work_out(station_a(), "first", samples=8)

    def again(work, draws, water):
        raise AssertionError("drawn twice")

    monkeypatch.setattr(drawn, "readings", again)
    assert work_out(station_a(), "yearly", samples=8).bands == first.bands
    with pytest.raises(AssertionError, match="drawn twice"):
        work_out(station_a(T3__height="1 m"), "yearly", samples=8)


def test_every_finding_of_the_figures_has_its_words():
    stations = (
        station_a(TD__kv="Kv 1", IV1__turns="8 turns"),
        station_a(IV1__turns=None),
        station_a(SO__pilot={"spring_low": "1 bar", "spring_high": "17 bar"}),
        station_a(TD__allowed="20 m³"),
    )
    told = [tell(finding) for one in stations for finding in work_out(one, "first", samples=10).findings]
    assert {one.code for one in told} >= {"NUM-01", "NUM-02", "NUM-03", "NUM-04"}
    assert all(one.statement and "{" not in one.statement for one in told)
