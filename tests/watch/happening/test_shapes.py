"""Events by their shape: a quick rise over a high night, a cleaning, a ramp, two levels by the clock."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from steadyhead.watch.happening import Event, Happening, tell
from tests.logger.handing import channels, context
from tests.logger.measuring import measured
from tests.logger.truth import BAR, DAY, HOUR, MONDAY, Array, Water, place, water
from tests.watch.happening.test_nights_alike import draws
from tests.watch.happening.test_telling import QUIET, life, said, with_switch


def codes(found: tuple[Happening, ...]) -> list[Event]:
    return [one.code for one in found]


def hours(now: Water) -> Array:
    return np.asarray((now.t % DAY) / HOUR)


def tripped(now: Water, start: float, took: float) -> None:
    """Let the outlet rise straight to 5.2 bar within `took` [s] and the shut-off close for three hours."""
    rise = (now.t >= start) & (now.t < start + took)
    shut = (now.t >= start + took) & (now.t < start + took + 3.0 * HOUR)
    now.outlet[rise] += ((now.t - start) / took * (5.2 * BAR - now.outlet))[rise]
    now.outlet[shut] = 0.5 * BAR + 4.6 * BAR * np.exp(-(now.t[shut] - start - took) / 600.0)
    now.flow[shut], now.closed[shut] = 0.0, 1.0


def test_a_quick_trip_at_night_begins_with_its_rise_and_not_with_the_night():
    rng, now = life(601, step=60.0)
    now.outlet += 0.25 * BAR * ((hours(now) < 5.0) | (hours(now) >= 23.0))
    start = MONDAY + 8.0 * DAY + 2.6 * HOUR
    tripped(now, start, 180.0)
    (one,) = said(with_switch(rng, now))
    assert one.code is Event.TRIP
    assert one.start.timestamp() == pytest.approx(start, abs=180.0)
    assert "crept" not in one.words


def test_a_slow_rise_before_a_trip_at_night_keeps_its_beginning():
    rng, now = life(602, step=60.0)
    start = MONDAY + 8.0 * DAY + 1.5 * HOUR
    tripped(now, start, 2400.0)
    (one,) = said(with_switch(rng, now))
    assert one.start.timestamp() == pytest.approx(start, abs=600.0)
    assert "crept up at the lowest flow" in one.words


def strained(number: int, days: float, k: Array, now: Water, rng: np.random.Generator) -> list[Happening]:
    """Return what is told with a gauge before a strainer that takes 0.04 bar times `k` at the mean flow."""
    before = now.inlet.copy()
    now.inlet -= 0.04 * BAR * k * (now.flow / QUIET.mean_flow) ** 2
    seen = measured(rng, now)
    seen.traces["before"] = replace(seen.traces["in"], t=now.t.copy(), v=np.round(before, -2))
    frames = [
        (replace(c, place={"before": "T0", "in": "T1"}.get(c.id, c.place)), f) for c, f in channels(seen)
    ]
    return list(tell(frames, context(seen)).happenings)


@pytest.mark.parametrize(("days", "first"), [(40.0, 15.0), (90.0, 60.0)])
def test_a_strainer_that_blinds_and_is_cleaned_is_told_up_to_the_cleaning(days, first):
    rng, now = life(603, days=days)
    start, cleaned = MONDAY + first * DAY, MONDAY + (first + 12.4) * DAY
    share = np.clip((now.t - start) / (cleaned - start), 0.0, 1.0) * (now.t < cleaned)
    (one,) = strained(603, days, 12.0**share, now, rng)
    assert one.code is Event.STRAINER
    assert one.magnitude == pytest.approx(12.0, rel=0.25)
    assert one.start.timestamp() == pytest.approx(start, abs=4.0 * DAY)
    assert one.end.timestamp() == pytest.approx(cleaned, abs=1.0 * DAY)
    assert "cleaning" in one.words


def test_a_strainer_that_blinds_fast_is_told_with_its_last_days():
    rng, now = life(604, days=28.0)
    share = np.clip((now.t - MONDAY - 14.0 * DAY) / (14.0 * DAY), 0.0, 1.0)
    (one,) = strained(604, 28.0, 14.0**share, now, rng)
    assert one.magnitude == pytest.approx(14.0, rel=0.2)
    assert "cleaning" not in one.words


@pytest.mark.parametrize("number", [610, 611, 612])
def test_an_outlet_that_drifts_slowly_is_no_moved_setting(number):
    rng, now = life(number, days=40.0)
    now.outlet += 0.4 * BAR * (now.t - now.t[0]) / (now.t[-1] - now.t[0])
    now.outlet += 0.02 * BAR * rng.standard_normal(now.t.size)
    assert Event.SETTING not in codes(said(measured(rng, now)))


@pytest.mark.parametrize("number", [612, 614])
def test_an_outlet_of_two_levels_by_the_clock_does_not_hunt(number):
    rng, now = life(number, days=60.0, step=900.0)
    now.outlet -= 0.6 * BAR * (hours(now) < 5.0)
    now.outlet += 0.01 * BAR * rng.standard_normal(now.t.size)
    assert codes(said(measured(rng, now))) == []


def test_a_night_creep_begins_with_its_first_night_and_is_as_large_as_the_nights():
    rng, now = life(609, days=28.0)
    hour = hours(now)
    shape = np.clip((hour - 1.2) / 1.5, 0.0, 1.0) * np.clip((4.6 - hour) / 0.5, 0.0, 1.0)
    night = (now.t - MONDAY) // DAY - 14.0
    now.outlet += BAR * np.where(night >= 0.0, np.minimum(0.12 + 0.05 * night, 0.55), 0.0) * shape
    (one,) = said(measured(rng, now))
    assert one.code is Event.CREEP
    assert one.magnitude == pytest.approx(0.55 * BAR, rel=0.08)
    assert one.start.timestamp() == pytest.approx(MONDAY + 14.0 * DAY, abs=1.0 * DAY)


def test_nights_that_draw_a_third_stand_higher_by_the_droop_alone():
    rng, now = life(610, days=60.0)
    away = ((now.t - MONDAY) // DAY >= 20.0) & ((now.t - MONDAY) // DAY < 34.0)
    now.flow[away] *= 0.35
    flow = now.flow / QUIET.mean_flow
    now.outlet += BAR * (0.5 * np.exp(-7.5 * flow) - 0.16 * flow)
    assert Event.CREEP not in codes(said(measured(rng, now)))


@pytest.mark.parametrize("step", [60.0, 300.0])
def test_an_outlet_that_goes_up_at_a_steady_flow_and_comes_back_is_told(step):
    rng, now = life(611, step=step)
    start = MONDAY + 8.0 * DAY + 11.0 * HOUR
    now.outlet += 0.42 * BAR * ((now.t >= start) & (now.t < start + 75.0 * 60.0))
    (one,) = said(measured(rng, now))
    assert one.code is Event.RAISED
    assert one.magnitude == pytest.approx(0.42 * BAR, rel=0.15)
    assert one.start.timestamp() == pytest.approx(start, abs=step + 1.0)
    assert one.end.timestamp() == pytest.approx(start + 75.0 * 60.0, abs=step + 1.0)


def test_an_outlet_that_is_raised_at_the_same_hour_again_and_again_is_set_by_the_clock():
    rng, now = life(612, days=28.0)
    week = ((now.t - MONDAY) // DAY) % 7.0
    now.outlet += 0.4 * BAR * ((week == 2.0) & (hours(now) >= 10.0) & (hours(now) < 12.0))
    assert Event.RAISED not in codes(said(measured(rng, now)))


@pytest.mark.parametrize("channel", ["flow", "inlet"])
def test_an_outlet_that_rises_with_less_flow_or_with_the_inlet_is_not_raised(channel):
    rng, now = life(613)
    start = MONDAY + 8.0 * DAY + 11.0 * HOUR
    at = (now.t >= start) & (now.t < start + 75.0 * 60.0)
    now.outlet[at] += 0.3 * BAR
    if channel == "flow":
        now.flow[at] *= 0.3
    else:
        now.inlet[at] += 1.0 * BAR
    assert Event.RAISED not in codes(said(measured(rng, now)))


def test_an_outlet_that_does_not_sag_on_one_day_as_on_others_is_not_raised():
    rng, now = life(614, days=14.0)
    day = (now.t - MONDAY) // DAY
    now.outlet -= 0.5 * BAR * ((hours(now) >= 8.0) & (hours(now) < 9.5) & (day != 9.0))
    assert Event.RAISED not in codes(said(measured(rng, now)))


def test_an_outlet_that_is_raised_amid_the_morning_is_told_where_its_ends_meet_a_like_flow():
    rng, now = life(615, days=14.0)
    start, end = MONDAY + 8.0 * DAY + 3.0 * HOUR, MONDAY + 8.0 * DAY + 9.6 * HOUR
    at = (now.t >= start) & (now.t < end)
    now.outlet += 0.5 * BAR * at
    assert np.max(now.flow[at]) > 3.0 * np.min(now.flow[at])
    (one,) = said(measured(rng, now))
    assert one.code is Event.RAISED
    assert one.magnitude == pytest.approx(0.5 * BAR, rel=0.15)
    assert one.start.timestamp() == pytest.approx(start, abs=301.0)
    assert one.end.timestamp() == pytest.approx(end, abs=301.0)


def test_the_first_hours_of_a_new_user_are_no_burst():
    of = place(np.random.default_rng([98, 2]))
    rng = np.random.default_rng([99, 2])
    now = water(rng, of, MONDAY, 200.0, 900.0)
    day = (now.t - MONDAY) / DAY
    draws(now, 1.0, 0.5 * of.mean_flow * ((day >= 60.0) & (day < 130.0)))
    assert codes(said(measured(rng, now))) == [Event.DEMAND, Event.DEMAND]
