"""Measures of a station: days merge in any grouping, values are those of the water that was made."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pytest

from steadyhead.records.logger import Context
from steadyhead.watch.defects import long
from steadyhead.watch.defects.episode import Code, Episode, moment
from steadyhead.watch.defects.judging import Judged, judge
from steadyhead.watch.happening import set_aside, tell
from steadyhead.watch.measures import (
    Days,
    Measured,
    days_of,
    droop_change,
    droop_curve,
    merge,
    night_lockup,
    strainer_trend,
    supply_sensitivity,
    time_in_band,
)
from steadyhead.watch.measures.grid import midnights
from tests.logger.defects import by_exception
from tests.logger.handing import channels, context
from tests.logger.measuring import Seen, measured
from tests.logger.truth import BAR, DAY, HOUR, MONDAY, Place, Water, water

SEED = 41
QUIET = Place(4.0e5, 0.15e5, 0.04e5, 0.02, 8.0e5, 0.4e5, 0.3e5, 0.012, 0.3, 120.0, 0.05)
"""A station on which nothing is drawn: outlet 4 bar, inlet 8 bar, 43 m³/h, droop 0.15 bar at the mean."""
NOTHING = Judged((), ())


def life(number: int, days: float = 10.0, step: float = 300.0) -> tuple[np.random.Generator, Water]:
    rng = np.random.default_rng([SEED, number])
    return rng, water(rng, QUIET, MONDAY, days, step)


def of(seen: Seen, judged: Judged = NOTHING, zone: str = "UTC") -> Days:
    return days_of(channels(seen), replace(context(seen), zone=zone), judged)


def within(one: Measured) -> bool:
    assert one.low is not None
    assert one.value is not None
    assert one.high is not None
    return one.low < one.value < one.high


@pytest.fixture(scope="module")
def ten() -> Days:
    rng, now = life(0)
    return of(measured(rng, now))


def test_merging_is_associative_commutative_and_idempotent(ten):
    rng, now = life(0)
    seen = measured(rng, now)
    for trace in seen.traces.values():
        keep = (trace.t < trace.t[0] + 3.5 * DAY) | (trace.t > trace.t[0] + 3.9 * DAY)
        trace.t, trace.v = trace.t[keep], trace.v[keep]
    holed = of(seen)
    parts = [Days(ten.days[:4]), Days(ten.days[2:7]), Days(holed.days[3:]), Days()]
    wanted = None
    for a, b, c, d in itertools.permutations(parts):
        left, right = merge(merge(merge(a, b), c), d), merge(a, merge(b, merge(c, d)))
        assert left == right
        wanted = wanted or left
        assert left == wanted
    assert wanted is not None
    assert merge(wanted, wanted) == wanted
    assert merge(ten, holed) == merge(holed, ten) == ten
    assert ten != holed
    assert (ten == "ten") is False


@pytest.mark.parametrize("rows", [600, 1000])
def test_days_of_portions_are_days_of_the_whole(ten, rows, monkeypatch):
    rng, now = life(0)
    seen = measured(rng, now)
    monkeypatch.setattr(long, "ROWS", rows)
    assert len(list(long.spans(channels(seen)))) > 1
    assert of(seen) == ten


def test_a_day_that_is_added_changes_no_other_day(ten):
    rng, now = life(0)
    seen = measured(rng, now)
    for trace in seen.traces.values():
        keep = trace.t < trace.t[0] + 9.0 * DAY
        trace.t, trace.v = trace.t[keep], trace.v[keep]
    nine = of(seen)
    assert Days(ten.days[:9]) == nine
    assert merge(nine, Days(ten.days[9:])) == ten


def test_time_in_band_is_the_share_of_the_samples_by_hour_and_by_flow():
    rng, now = life(1)
    hour = (now.t % DAY) / HOUR
    now.outlet[:] = 4.005 * BAR
    now.outlet[(hour >= 6.0) & (hour < 9.0)] = 3.405 * BAR
    now.outlet[(hour >= 20.0) & (hour < 20.5)] = 4.605 * BAR
    seen = measured(rng, now)
    seen.traces["out"].v = now.outlet.copy()
    got = time_in_band(of(seen), 3.8 * BAR, 4.2 * BAR)
    assert got.measured.value == pytest.approx(1.0 - 3.5 / 24.0, abs=1e-9)
    rows = {row.at: row for row in got.by_hour}
    assert [rows[h].under for h in (5, 6, 7, 8, 9)] == [0.0, 1.0, 1.0, 1.0, 0.0]
    assert rows[20].over == 0.5
    assert sum(row.hours for row in got.by_hour) == pytest.approx(240.0)
    assert sum(row.hours for row in got.by_flow) == pytest.approx(240.0)
    assert got.measured.trust == "good"
    assert got.measured.n_valid == got.measured.n_total == 2880
    assert got.measured.start == datetime.fromtimestamp(MONDAY, tz=UTC)
    assert set(got.measured.channels) == {"in", "out", "flow"}


def test_time_in_band_says_that_trips_and_lost_supply_are_not_in_it():
    rng, now = life(1)
    dry = (now.t >= MONDAY + 2.0 * DAY) & (now.t < MONDAY + 2.0 * DAY + 3.0 * HOUR)
    now.outlet[:] = 4.005 * BAR
    now.outlet[dry] = 0.3 * BAR
    seen = measured(rng, now)
    seen.traces["out"].v = now.outlet.copy()
    aside = ((MONDAY + 2.0 * DAY - 1.0, MONDAY + 2.0 * DAY + 3.0 * HOUR),)
    days = days_of(channels(seen), replace(context(seen), zone="UTC"), NOTHING, aside)
    got = time_in_band(days, 3.8 * BAR, 4.2 * BAR).measured
    assert got.value == 1.0
    assert got.words.startswith("Trips and lost supply aside, the outlet stands from ")
    assert "gaps, trips and lost supply are not counted" in got.assumptions


def test_hours_are_those_of_the_wall_where_the_station_stands_and_days_have_23_or_25():
    spring = datetime(2027, 3, 27, 23, tzinfo=UTC).timestamp()
    (day,) = midnights("Europe/Vienna", spring, spring + HOUR)
    assert day.end - day.start == 23.0 * HOUR
    assert day.hours[:4].tolist() == [0, 1, 3, 4]
    autumn = datetime(2027, 10, 30, 22, tzinfo=UTC).timestamp()
    (day,) = midnights("Europe/Vienna", autumn, autumn + HOUR)
    assert day.end - day.start == 25.0 * HOUR
    assert day.hours[:5].tolist() == [0, 1, 2, 2, 3]
    (utc,) = midnights("no such zone", MONDAY, MONDAY + HOUR)
    assert utc.start == MONDAY


def test_the_droop_curve_is_that_of_the_reducer_both_ways(ten):
    curve = droop_curve(ten)
    flows = np.array([p.flow for p in curve.points])
    wished = 4.0 * BAR - 0.15 * BAR * np.sqrt(flows / QUIET.mean_flow)
    error = np.array([p.outlet for p in curve.points]) - wished
    assert np.ptp(error) < 0.05 * BAR  # the hysteresis is 0.04 bar
    span = np.sqrt(flows[-1] / QUIET.mean_flow) - np.sqrt(flows[0] / QUIET.mean_flow)
    assert curve.droop.value == pytest.approx(0.15 * BAR * span, rel=0.2)
    assert curve.hysteresis.value == pytest.approx(0.04 * BAR, abs=0.02 * BAR)
    assert within(curve.droop)


def test_a_change_of_the_curve_is_measured_at_equal_flow(ten):
    rng, now = life(0)
    now.outlet -= 0.08 * BAR
    later = of(measured(rng, now))
    got = droop_change(droop_curve(ten), droop_curve(later), later)
    assert got.value == pytest.approx(-0.08 * BAR, abs=0.011 * BAR)
    assert "lower" in got.words
    assert droop_change(droop_curve(Days()), droop_curve(later), later).value is None


def test_the_night_is_tight_down_to_a_flow_and_never_just_tight(ten):
    got = night_lockup(ten)
    lowest = min(d.night.flow for d in ten.days if d.night is not None)
    assert got.tight_down_to == pytest.approx(lowest)
    assert "Tight down to Q = " in got.measured.words
    assert "L/s" in got.measured.words
    assert got.trend == pytest.approx(0.0, abs=0.05 * BAR)
    assert any("zero flow" in phrase for phrase in got.measured.assumptions)


def test_nights_that_float_up_are_tight_at_no_flow_they_met_and_follow_the_inlet():
    rng, now = life(3)
    calm = now.flow < 0.5 * QUIET.mean_flow
    night = np.floor((now.t - MONDAY) / DAY)
    shift = 0.1 * BAR * np.sin(night * 2.1)
    now.inlet += 5.0 * shift
    now.outlet[calm] += (0.3 * BAR + 2.0 * shift)[calm]
    got = night_lockup(of(measured(rng, now)))
    assert got.tight_down_to is None
    assert "floats up in 10 of 10 nights, at flows up to " in got.measured.words
    assert got.follows_inlet == pytest.approx(0.4, abs=0.12)


def test_a_flow_that_hardly_changes_is_told_as_too_few_flows_and_not_as_a_leak():
    rng, now = life(14)
    now.flow[:] = QUIET.mean_flow * (1.0 + 0.02 * np.sin(now.t / 3000.0))
    got = night_lockup(of(measured(rng, now)))
    assert got.tight_down_to is None
    assert "too few flows above those of the nights are met" in got.measured.words
    assert "floats" not in got.measured.words


def test_still_nights_are_tight_down_to_what_the_meter_sees():
    rng, now = life(4)
    hour = (now.t % DAY) / HOUR
    still = (hour > 0.5) & (hour < 4.7)
    now.flow[still], now.outlet[still] = 0.0, 4.0 * BAR
    got = night_lockup(of(measured(rng, now)))
    assert got.tight_down_to == 0.0
    assert "as far as this meter sees" in got.measured.words


@pytest.mark.parametrize(("nights", "dead", "least"), [(10, 1, 3), (10, 2, 3), (20, 3, 4), (20, 4, 4)])
def test_a_meter_that_read_zero_in_few_nights_is_no_proof_of_tightness(nights, dead, least):
    rng, now = life(0, float(nights))
    seen = measured(rng, now)
    flow = seen.traces["flow"]
    hour, day = (flow.t % DAY) / HOUR, np.floor((flow.t - MONDAY) / DAY)
    flow.v[(hour > 0.5) & (hour < 5.0) & (day >= nights - dead)] = 0.0
    got = night_lockup(of(seen))
    said = "In one night the meter showed none" if dead == 1 else f"In {dead} nights the meter showed none"
    if dead >= least:
        assert got.tight_down_to == 0.0
        assert "the meter showed none" not in got.measured.words
        return
    assert got.tight_down_to is not None
    assert got.tight_down_to > 0.0
    assert "Q = 0 " not in got.measured.words
    assert said in got.measured.words


def test_supply_sensitivity_is_that_of_the_reducer():
    rng, now = life(5, days=20.0, step=60.0)
    now.inlet += 0.5 * BAR * (np.floor(now.t / 5400.0) % 2)
    now.outlet += 0.06 * 0.5 * BAR * (np.floor(now.t / 5400.0) % 2)
    got = supply_sensitivity(of(measured(rng, now)))
    assert got.value == pytest.approx(0.06, abs=0.015)
    assert within(got)
    assert got.trust == "good"
    few = supply_sensitivity(Days())
    assert (few.value, few.trust) == (None, "none")


def test_droop_that_goes_with_the_inlet_lies_within_the_interval_of_the_sensitivity():
    rng, now = life(5, days=20.0, step=60.0)
    on = np.floor(now.t / 5400.0) % 2
    now.inlet += 0.5 * BAR * on
    now.outlet += (0.05 * 0.5 + 0.004) * BAR * on  # with the higher inlet a little less is drawn
    got = supply_sensitivity(of(measured(rng, now)))
    assert got.value == pytest.approx(0.058, abs=0.012)
    assert got.low is not None
    assert got.high is not None
    assert got.low <= 0.05 <= got.high
    assert got.high - got.low < 0.08


def blinding(growth: float) -> Days:
    rng, now = life(6, days=20.0)
    share = 1.0 + growth * (now.t - MONDAY) / DAY
    before = now.inlet.copy()
    now.inlet -= 0.1 * BAR * share * (now.flow / QUIET.mean_flow) ** 2
    seen = measured(rng, now)
    seen.traces["before"] = replace(seen.traces["in"], v=np.round(before, -2))
    frames = [
        (replace(c, place={"before": "T0", "in": "T1"}.get(c.id, c.place)), f) for c, f in channels(seen)
    ]
    return days_of(frames, context(seen), NOTHING)


def test_the_strainer_coefficient_has_a_trend_and_a_date_with_an_interval():
    k0 = 0.1 * BAR / QUIET.mean_flow**2
    days = blinding(0.2)
    got = strainer_trend(days, limit=9.0 * k0)
    assert got.now.value == pytest.approx(4.95 * k0, rel=0.1)
    assert got.trend.value == pytest.approx(0.2 * k0, rel=0.1)
    assert got.meets is not None
    assert got.earliest is not None
    assert got.earliest <= got.meets
    assert abs((got.meets - datetime.fromtimestamp(MONDAY + 40.0 * DAY, tz=UTC)).days) <= 4
    assert len(got.by_day) == 20
    assert strainer_trend(days, limit=2.0 * k0).meets == got.by_day[-1][0]
    assert strainer_trend(days).meets is None


def test_a_strainer_that_stays_clean_has_no_date():
    got = strainer_trend(blinding(0.0), limit=20.0 * 0.1 * BAR / QUIET.mean_flow**2)
    assert got.meets is None
    assert strainer_trend(Days()).now.value is None


def test_without_a_gauge_before_it_strainer_and_line_are_one(ten):
    got = strainer_trend(ten)
    assert got.now.value == pytest.approx(QUIET.friction / QUIET.mean_flow**2, rel=0.15)
    assert got.now.trust == "fair"
    assert any("supply line" in phrase for phrase in got.now.assumptions)


def test_refused_samples_and_times_aside_are_not_counted():
    rng, now = life(7)
    seen = measured(rng, now)
    out = seen.traces["out"]
    first = out.t[0] + 2.0 * DAY
    held = (out.t >= first) & (out.t < first + 0.5 * DAY)
    out.v[held] = out.v[held][0]
    frames, known = channels(seen), context(seen)
    judged = judge(frames, known)
    assert [str(e.code) for e in judged.episodes] == ["stuck"]
    got = days_of(frames, known, judged)
    assert got.days[2].n_valid == pytest.approx(144, abs=2)
    assert got.days[2].n_total == 288
    less = days_of(frames, known, judged, [(first + 5.0 * DAY, first + 5.25 * DAY)])
    assert less.days[7].n_valid == pytest.approx(216, abs=1)


def test_the_hours_of_a_trip_are_set_aside_so_that_no_still_zone_counts_as_a_quiet_night():
    rng, now = life(10)
    start = MONDAY + 5.5 * DAY
    now.outlet[(now.t >= start - 900.0) & (now.t < start)] += 1.2 * BAR
    shut = (now.t >= start) & (now.t < start + 5.0 * HOUR)
    now.flow[shut], now.outlet[shut], now.closed[shut] = 0.0, 0.6 * BAR, 1.0
    seen = measured(rng, now)
    frames, known = channels(seen), context(seen)
    judged = judge(frames, known)
    spans = set_aside(tell(frames, known, judged))
    assert spans
    quiet = [d.night.flow for d in days_of(frames, known, judged, spans).days if d.night is not None]
    assert min(quiet) > 0.1 * QUIET.mean_flow
    loud = [d.night.flow for d in days_of(frames, known, judged).days if d.night is not None]
    assert min(loud) < min(quiet)


def test_an_outlet_whose_sensor_drifts_is_not_measured():
    rng, now = life(8)
    seen = measured(rng, now)
    drift = Episode(
        Code.DRIFT, moment(MONDAY), moment(MONDAY + 10.0 * DAY), ("out",), 0.4 * BAR, "Pa", "It drifts."
    )
    got = time_in_band(of(seen, Judged((drift,), ("in", "out"))), 3.0 * BAR, 5.0 * BAR)
    assert got.measured.value is None
    assert got.measured.trust == "none"


def test_a_report_by_exception_is_counted_by_the_time_it_holds():
    rng, now = life(9)
    seen = measured(rng, now)
    whole = time_in_band(of(seen), 3.85 * BAR, 4.2 * BAR).measured
    by_exception(rng, seen)
    assert seen.traces["out"].t.size < 0.5 * now.t.size
    got = time_in_band(of(seen), 3.85 * BAR, 4.2 * BAR).measured
    assert got.value == pytest.approx(whole.value, abs=0.06)
    assert got.n_valid > 0.95 * got.n_total


def test_a_period_picks_its_days(ten):
    part = ten.between(date(2026, 12, 30), date(2027, 1, 1))
    assert len(part.days) == 3
    assert days_of([], Context(), NOTHING) == Days()


def test_the_lock_up_of_a_long_record_is_that_of_its_last_nights():
    rng, now = life(12, days=70.0, step=900.0)
    late = now.t > now.t[0] + 38.0 * DAY
    calm = now.flow < float(np.quantile(now.flow, 0.1))
    now.outlet[late & calm] += 0.5 * BAR
    days = of(measured(rng, now))
    got = night_lockup(days).measured
    early = night_lockup(of(measured(*life(12, days=70.0, step=900.0)))).measured
    assert got.value is not None
    assert early.value is not None
    assert got.value - early.value > 0.15 * BAR  # the middle of all nights would not have moved
    assert "the last 30 of" in got.words
