"""Hunting, shut-off, transients, trip margin, cavitation and demand: values are those of the water made."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import reduce

import numpy as np
import pytest

from steadyhead.watch.measures import (
    Days,
    cavitation_hours,
    days_of,
    demand,
    hunting,
    merge,
    renewed,
    shut_off_trend,
    transients,
    trip_margin,
)
from steadyhead.watch.measures import day as day_module
from steadyhead.watch.measures.keeping import from_text, to_text
from steadyhead.watch.measures.rainflow import Counted, counted, joined, with_halves
from tests.logger.handing import channels, context
from tests.logger.measuring import Seen, Trace, measured
from tests.logger.truth import BAR, DAY, HOUR, MONDAY, Water, water
from tests.watch.measures.test_measures import NOTHING, QUIET, life, of


def between(rng: np.random.Generator, now: Water, loss: np.ndarray) -> Seen:
    """Return what is stored with a gauge between the valves that stands `loss` below the inlet's."""
    seen = measured(rng, now)
    noise = 0.003 * BAR * rng.standard_normal(now.t.size)
    seen.traces["mid"] = Trace(
        "pressure between the valves", "spot", now.t.copy(), np.round(now.inlet - loss + noise, -2), 100.0
    )
    return seen


@pytest.fixture(scope="module")
def fast() -> Days:
    """Return two days at 2 s with a swing of 0.2 bar and 13 s from 0.6 to 0.9 of the mean flow."""
    rng, now = life(30, days=2.0, step=2.0)
    at = (now.flow > 0.6 * QUIET.mean_flow) & (now.flow < 0.9 * QUIET.mean_flow)
    now.outlet[at] += 0.1 * BAR * np.sin(2.0 * np.pi * now.t[at] / 13.0)
    return of(measured(rng, now))


def test_hunting_has_size_period_and_band_of_flow(fast):
    got = hunting(fast)
    assert got.measured.value == pytest.approx(0.2 * BAR, rel=0.3)
    assert got.period == pytest.approx(13.0, rel=0.1)
    assert got.flows is not None
    assert got.flows[0] == pytest.approx(0.6 * QUIET.mean_flow, rel=0.35)
    assert got.flows[1] == pytest.approx(0.9 * QUIET.mean_flow, rel=0.35)
    assert (got.seen, got.shortest, got.days, got.of_days) == ("slow", 8.0, 2, 2)
    assert "below 8 s cannot be seen" in got.measured.words


def test_a_still_outlet_does_not_hunt_and_a_swing_of_the_supply_is_not_its_own():
    rng, now = life(31, days=1.0, step=2.0)
    assert hunting(of(measured(rng, now))).period is None
    at = now.flow > 0.6 * QUIET.mean_flow
    swing = 0.2 * BAR * np.sin(2.0 * np.pi * now.t[at] / 13.0)
    now.inlet[at] += swing
    now.outlet[at] += swing
    got = hunting(of(measured(rng, now)))
    assert got.period is None
    assert got.measured.value is not None


@pytest.mark.parametrize("step", [60.0, 900.0])
def test_hunting_that_the_sampling_cannot_show_is_said_to_be_unseen(step):
    rng, now = life(32, days=4.0, step=step)
    got = hunting(of(measured(rng, now)))
    assert (got.measured.value, got.measured.trust, got.seen) == (None, "none", "none")
    assert "Cannot see hunting at this sampling" in got.measured.words
    assert "hint" not in got.measured.words


def test_a_scatter_at_one_flow_is_a_hint_and_no_value():
    rng, now = life(33, days=8.0)
    at = (now.flow > 0.6 * QUIET.mean_flow) & (now.flow < 0.9 * QUIET.mean_flow)
    now.outlet[at] += 0.15 * BAR * np.sin(2.0 * np.pi * now.t[at] / 11.3)
    got = hunting(of(measured(rng, now)))
    assert got.measured.value is None
    assert "a hint; a record at 1 s shows it" in got.measured.words


def test_the_resistance_of_the_shut_off_has_a_value_and_a_trend():
    rng, now = life(34, days=20.0)
    k0 = 0.05 * BAR / QUIET.mean_flow**2
    k = k0 * (1.0 + 0.1 * (now.t - MONDAY) / DAY)
    got = shut_off_trend(of(between(rng, now, k * now.flow**2)), open_=k0)
    assert got.now.value == pytest.approx(2.8 * k0, rel=0.12)
    assert got.trend.value == pytest.approx(0.1 * k0, rel=0.2)
    assert "times that of the open valve" in got.now.words
    same = shut_off_trend(of(between(rng, now, k0 * now.flow**2)))
    assert "no trend" in same.trend.words
    none = shut_off_trend(of(measured(rng, now)))
    assert none.now.value is None


def test_cycles_of_the_days_are_those_of_the_record_and_fast_changes_have_their_hours():
    rng = np.random.default_rng([41, 35])
    now = water(rng, replace(QUIET, pump_step=0.1 * BAR), MONDAY, 3.0, 5.0)
    at = MONDAY + DAY * np.arange(3)[:, None] + HOUR * np.array([6.0, 18.0])
    for start in at.ravel().tolist():
        now.inlet[(now.t >= start) & (now.t < start + 20.0)] += 1.2 * BAR
    seen = measured(rng, now)
    days = of(seen)
    got = transients(days, "inlet", "Europe/Dublin")
    assert "changes fast 6 times in 3 days." in got.leaps.words
    assert "most fall into 06:00–07:00, clock of Europe/Dublin." in got.leaps.words
    grains = np.round(np.round(seen.traces["in"].v, 9) / 1000.0).astype(np.int64)
    whole = with_halves(counted(grains))
    merged = with_halves(reduce(joined, [d.more.cycles[0] or Counted() for d in days.days]))
    assert merged == whole
    assert sum(n for size, n in whole.items() if size > 100) == pytest.approx(6.0, abs=0.5)
    assert {row.hour for row in got.by_hour} == {6, 18}
    assert got.leaps.value == pytest.approx(2.0, rel=0.01)
    assert got.by_hour[0].largest == pytest.approx(1.2 * BAR, rel=0.1)
    assert sum(row[2] for row in got.by_range if row[0] >= 1.0 * BAR) == pytest.approx(6.0, abs=1.0)
    assert transients(Days(), "outlet").cycles.value is None


def test_fast_changes_are_not_counted_where_samples_lie_minutes_apart(months):
    got = transients(months, "outlet")
    assert got.leaps.value is None
    assert "Cannot count" in got.leaps.words
    assert got.cycles.trust == "poor"


@pytest.fixture(scope="module")
def months() -> Days:
    """Return sixty days at 15 min: outlet rises 5 mbar a day, half as much flow again from day forty."""
    rng = np.random.default_rng([41, 36])
    now = water(rng, QUIET, MONDAY, 60.0, 900.0)
    now.flow[now.t >= MONDAY + 40.0 * DAY] *= 1.5
    now.outlet += 0.005 * BAR * (now.t - MONDAY) / DAY
    seen = measured(rng, now)
    return of(seen)


def test_the_margin_to_the_trip_has_a_trend_and_a_date(months):
    tops = [d.more.top.value for d in months.days if d.more.top is not None]
    got = trip_margin(months, 4.8 * BAR)
    assert got.margin.low == pytest.approx(4.8 * BAR - max(tops))
    assert got.margin.value == pytest.approx(4.8 * BAR - np.quantile(tops, 0.95))
    assert got.trend.value == pytest.approx(0.005 * BAR, rel=0.2)
    assert got.reaches is not None
    assert got.earliest is not None
    assert got.latest is not None
    assert got.earliest <= got.reaches <= got.latest
    level = got.by_day[-1][1]
    wished = got.by_day[-1][0] + timedelta(days=(4.8 * BAR - level) / (0.005 * BAR))
    assert abs((got.reaches - wished).days) <= 25
    assert got.margin.trust == "poor"
    assert "shorter peaks are not in it" in got.margin.words


def test_days_above_the_trip_are_told_as_one_in_twenty_and_above(months):
    tops = [d.more.top.value for d in months.days if d.more.top is not None]
    edge = float(np.quantile(tops, 0.95)) - 0.1 * BAR
    words = trip_margin(months, edge).margin.words
    assert words.startswith(
        "On one day in twenty the highest outlet stands 0.10 bar or more above the trip's lower edge;"
    )
    assert "nineteen" not in words
    assert f"the highest day stands {(max(tops) - edge) / BAR:.2f} bar above it." in words
    between = 0.5 * (float(np.quantile(tops, 0.95)) + max(tops))
    words = trip_margin(months, between).margin.words
    assert words.startswith("On nineteen days in twenty the highest outlet stays ")
    assert "bar above it." in words


def test_a_top_that_stays_has_no_date_and_the_logger_s_own_maximum_counts():
    rng, now = life(37, days=20.0)
    seen = measured(rng, now)
    seen.traces["out max"] = Trace("outlet pressure", "maximum", now.t.copy(), now.outlet + 0.3 * BAR, 100.0)
    got = trip_margin(of(seen), 5.0 * BAR)
    assert got.reaches is None
    assert got.margin.value == pytest.approx(5.0 * BAR - 4.3 * BAR, abs=0.1 * BAR)
    assert "the logger's own maximum" in got.margin.assumptions
    assert trip_margin(Days(), 5.0 * BAR).margin.value is None


def test_hours_below_the_cavitation_limit_are_those_of_the_water():
    rng, now = life(38, days=10.0)
    seen = measured(rng, now)
    sigma = (now.inlet + 1.013e5 - 1.7e3) / (now.inlet - now.outlet)
    limit = float(np.quantile(sigma, 0.3))
    got = cavitation_hours(of(seen), limit)
    assert got.measured.value == pytest.approx(0.3 * 10.0 * DAY, rel=0.25)
    assert got.share == pytest.approx(0.3, abs=0.08)
    volume = float(now.flow[sigma < limit].sum() / now.flow.sum())
    assert got.share_of_volume == pytest.approx(volume, abs=0.08)
    assert cavitation_hours(of(seen), 9.0).measured.value is None
    assert cavitation_hours(Days(), 1.8).measured.value is None


def test_demand_has_its_change_point_and_what_it_looks_like(months):
    got = demand(months)
    (one,) = got.changes
    assert abs((one.day - datetime.fromtimestamp(MONDAY + 40.0 * DAY, tz=UTC)).days) <= 1
    assert one.after / one.before == pytest.approx(1.5, rel=0.1)
    assert "in proportion" in one.words
    assert all(flow is not None for flow in got.by_weekday)
    rng, now = life(39, days=42.0, step=900.0)
    assert demand(of(measured(rng, now))).changes == ()
    now.flow[now.t >= MONDAY + 21.0 * DAY] += 0.5 * QUIET.mean_flow
    (leak,) = demand(of(measured(rng, now))).changes
    assert "a leak, or a steady user" in leak.words
    rng, now = life(39, days=42.0, step=900.0)
    nights = [d.night.flow for d in of(measured(rng, now)).days if d.night is not None]
    now.flow[now.t >= MONDAY + 21.0 * DAY] += 0.45 * float(np.median(nights))
    (small,) = demand(of(measured(rng, now))).changes
    assert small.by_night
    assert "The flow at the lowest hours rises" in small.words
    assert "a leak, or a steady user" in small.words
    assert abs((small.day - datetime.fromtimestamp(MONDAY + 21.0 * DAY, tz=UTC)).days) <= 1
    assert demand(Days(months.days[:5])).measured.value is not None
    assert demand(Days()).measured.value is None


def test_fields_that_are_watered_at_night_for_ten_weeks_are_no_leak():
    rng, now = life(39, days=120.0, step=900.0)
    hour, day = (now.t % DAY) / HOUR, (now.t - MONDAY) / DAY
    watered = (day >= 30.0) & (day < 100.0) & ((hour >= 22.0) | (hour < 5.0))
    now.flow[watered] += 0.1 * QUIET.mean_flow * 24.0 / 7.0
    first, last = demand(of(measured(rng, now))).changes
    assert first.by_night
    assert "drawn at night only, as by watering or tanks (likely)" in first.words
    assert "no more drawn at night (likely)" in last.words
    for one, at in ((first, 30.0), (last, 100.0)):
        assert abs((one.day - datetime.fromtimestamp(MONDAY + at * DAY, tz=UTC)).days) <= 1


def test_every_measure_names_its_rows(months):
    holed = Days((*months.days[:10], *months.days[20:]))
    got = demand(holed).measured
    spans = [(r.start, r.end) for r in got.rows if r.channel == "flow"]
    assert len(spans) == 2
    assert spans[0][0] == got.start
    assert spans[1][1] == got.end
    assert spans[1][0] - spans[0][1] == timedelta(days=10)
    assert {r.channel for r in got.rows} >= {"in", "out", "flow"}


def test_partials_of_portions_and_of_parts_are_those_of_the_whole(months, fast):
    for days in (months, fast):
        one, two = Days(days.days[:1]), Days(days.days[1:])
        assert merge(two, one) == days
    third = len(months.days) // 3
    parts = [Days(months.days[a : a + third]) for a in range(0, len(months.days), third)]
    whole = reduce(merge, reversed(parts))
    for found in (demand, hunting, lambda d: transients(d, "inlet"), lambda d: trip_margin(d, 5e5)):
        assert found(whole) == found(months)


def test_days_are_kept_as_plain_text_and_come_back_the_same(months, fast):
    for days in (months, fast, Days()):
        again = from_text(to_text(days))
        assert again == days
        assert to_text(again) == to_text(days)
    assert demand(from_text(to_text(months))) == demand(months)
    with pytest.raises(ValueError, match="steadyhead/day/2"):
        from_text('{"format": "steadyhead/day/0"}')


def test_a_day_added_works_out_a_day_and_gives_what_the_whole_gives(monkeypatch):
    rng, now = life(40, days=12.0)
    seen = measured(rng, now)
    frames, known = channels(seen), replace(context(seen), zone="Europe/Vienna")
    whole = days_of(frames, known, NOTHING)
    last = MONDAY + 11.0 * DAY
    old = [(c, f.filter(f["t"].dt.epoch("s") < int(last))) for c, f in frames]
    before = days_of(old, known, NOTHING)
    worked: list[int] = []
    real = day_module.of_day

    def noted(*a):
        worked.append(a[2].number)
        return real(*a)

    monkeypatch.setattr(day_module, "of_day", noted)
    got = renewed(before, frames, known, NOTHING, (), last)
    assert got == whole
    assert len(set(worked)) <= 4
