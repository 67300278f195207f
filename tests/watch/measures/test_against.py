"""Droop and lock-up of service against those as left and against a twin whose law is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from steadyhead.watch.measures import (
    AsLeft,
    Days,
    Measure,
    Stood,
    Twin,
    against_twin,
    droop_as_left,
    droop_curve,
    level_trend,
    lockup_as_left,
    supply_sensitivity,
)
from steadyhead.watch.measures.as_left import around_middle
from steadyhead.watch.measures.keeping import from_text, to_text
from steadyhead.watch.measures.levels import BY_CLOCK, by_clock, levelled
from tests.logger.measuring import measured
from tests.logger.truth import BAR, DAY
from tests.watch.measures.test_measures import QUIET, life, of, within

LITRE = 1e-3
DAY_LEFT = "14 Apr 2027"


def left(since: float = 0.0, **stood: Stood) -> AsLeft:
    return AsLeft(DAY_LEFT, since, "RV", **stood)


def fall(first: float, last: float) -> float:
    """Return the droop of the made reducer from one flow to another [m³/s]. [Pa]"""
    return float(QUIET.droop * (last**0.5 - first**0.5) / QUIET.mean_flow**0.5)


def law(shift: float = 0.0, more: float = 0.0) -> Twin:
    """Return a twin of the made reducer, its level `shift` lower, its droop by a share `more` smaller."""

    def outlet(asked):
        return [
            4.0 * BAR - shift - (1.0 - more) * QUIET.droop * (flow / QUIET.mean_flow) ** 0.5
            + 0.02 * ((inlet if inlet is not None else 8.0 * BAR) - 8.0 * BAR)
            for flow, inlet in asked
        ]  # fmt: skip

    return Twin(outlet, "twin by a law")


@pytest.fixture(scope="module")
def ten() -> Days:
    rng, now = life(0)
    return of(measured(rng, now))


@pytest.mark.parametrize(("share", "said"), [(1.0, "do not tell"), (0.4, "more now"), (2.0, "less now")])
def test_the_droop_is_held_against_that_of_the_flow_test(ten, share, said):
    flows = [p.flow for p in droop_curve(ten).points]
    first, last = flows[2], flows[-2]
    then = share * fall(first, last)
    held = droop_as_left(ten, left(droop=Stood(then, 0.02 * BAR, (first, last))))
    got = held.measured
    assert held.then == pytest.approx(then, rel=0.05)
    assert got.value == pytest.approx(fall(first, last) - then, abs=0.04 * BAR)
    assert within(got)
    assert said in got.words
    assert DAY_LEFT in got.words


def test_of_a_flow_test_half_met_the_fall_is_shared_and_of_one_hardly_met_nothing_is_said(ten):
    top = droop_curve(ten).points[-1].flow
    half = left(droop=Stood(fall(0.4 * top, 1.6 * top), 0.02 * BAR, (0.4 * top, 1.6 * top)))
    got = droop_as_left(ten, half).measured
    assert got.value == pytest.approx(0.0, abs=0.04 * BAR)
    assert any("% of the flows of the test met" in one for one in got.assumptions)
    far = left(droop=Stood(0.3 * BAR, 0.02 * BAR, (0.9 * top, 4.0 * top)))
    assert droop_as_left(ten, far).measured.value is None
    assert "too little of the flows of its test" in droop_as_left(ten, far).measured.words
    assert droop_as_left(ten, left()).measured.value is None


def rise_of(days: Days) -> float:
    """Return the rise of the made reducer from its mean flow to the lowest flow of the nights. [Pa]"""
    flows = [d.night.flow for d in days.days if d.night is not None]
    return QUIET.droop - float(np.median([QUIET.droop * (q / QUIET.mean_flow) ** 0.5 for q in flows]))


def as_left_of(rise: float) -> AsLeft:
    return left(rise=Stood(rise, 0.02 * BAR, (QUIET.mean_flow, QUIET.mean_flow)))


def made(change=None, number: int = 0, days: float = 10.0, step: float = 300.0) -> Days:
    """Return days of the made reducer; `change` gets time since the start [days], hour and the water."""
    rng, now = life(number, days, step)
    if change is not None:
        change((now.t - now.t[0]) / DAY, (now.t % DAY) / 3600.0, now)
    return of(measured(rng, now))


def test_the_lockup_is_held_against_that_as_left_by_its_rise(ten):
    rise = rise_of(ten)
    sound = lockup_as_left(ten, as_left_of(rise + 0.1 * BAR))
    assert sound.value == pytest.approx(-0.1 * BAR, abs=0.04 * BAR)
    assert "below that lock-up" in sound.words
    assert "above it in 0 of" in sound.words

    def leak(_day, _hour, now):
        now.outlet[now.flow < 0.6 * QUIET.mean_flow] += 0.3 * BAR

    leaky = lockup_as_left(made(leak), as_left_of(rise))
    assert leaky.value == pytest.approx(0.3 * BAR, abs=0.06 * BAR)
    assert leaky.low is not None
    assert leaky.low > 0.1 * BAR
    assert "above that lock-up" in leaky.words
    far = left(rise=Stood(rise, 0.02 * BAR, (9.0 * QUIET.mean_flow, 9.0 * QUIET.mean_flow)))
    assert lockup_as_left(ten, far).value is None
    assert "was not met" in lockup_as_left(ten, far).words
    assert lockup_as_left(ten, left()).value is None
    assert "no lock-up rise of RV" in lockup_as_left(ten, left()).words


def test_a_leak_on_most_nights_is_told_with_their_number(ten):
    def leak(day, _hour, now):
        now.outlet[(now.flow < 0.6 * QUIET.mean_flow) & (np.floor(day + 0.5) % 5 != 0)] += 0.3 * BAR

    got = lockup_as_left(made(leak, days=30.0), as_left_of(rise_of(ten)))
    assert got.low is not None
    assert got.low > 0.1 * BAR
    assert any(f"above it in {n} of 30" in got.words for n in range(22, 27))


def test_a_duty_that_was_turned_is_neither_a_leak_nor_hides_one(ten):
    def turned(day, _hour, now):
        now.outlet[day > 5.0] += 0.3 * BAR

    def leaks_too(day, hour, now):
        turned(day, hour, now)
        now.outlet[now.flow < 0.6 * QUIET.mean_flow] += 0.3 * BAR

    rise = rise_of(ten)
    assert lockup_as_left(made(turned), as_left_of(rise)).value == pytest.approx(0.0, abs=0.04 * BAR)
    assert lockup_as_left(made(leaks_too), as_left_of(rise)).value == pytest.approx(0.3 * BAR, abs=0.06 * BAR)
    flows = [p.flow for p in droop_curve(ten).points]
    stood = Stood(fall(flows[2], flows[-2]), 0.02 * BAR, (flows[2], flows[-2]))
    assert droop_as_left(made(turned), left(droop=stood)).measured.value == pytest.approx(0.0, abs=0.04 * BAR)


def test_where_a_clock_moves_the_pilot_the_rise_is_not_held(ten):
    def timed(_day, hour, now):
        now.outlet[(hour > 6.0) & (hour < 15.0)] -= 0.3 * BAR

    days = made(timed)
    assert by_clock(ten, levelled(ten)) < 0.6 * BY_CLOCK
    assert by_clock(days, levelled(days)) > 1.5 * BY_CLOCK
    got = lockup_as_left(days, as_left_of(rise_of(ten)))
    assert got.value is None
    assert "as where a clock moves the pilot" in got.words


def test_only_whole_days_after_the_baseline_are_held_against_it(ten):
    def mended(day, _hour, now):
        now.outlet[(now.flow < 0.6 * QUIET.mean_flow) & (day < 5.0)] += 0.3 * BAR

    days, stood = made(mended), as_left_of(rise_of(ten))
    since = days.days[4].end + 3600.0
    got = lockup_as_left(days, replace(stood, since=since))
    assert got.value == pytest.approx(0.0, abs=0.04 * BAR)
    assert got.start is not None
    assert got.start.timestamp() == days.days[6].start
    before = lockup_as_left(days, replace(stood, since=days.days[-1].end))
    assert before.value is None
    assert "after these data" in before.words
    flows = [p.flow for p in droop_curve(ten).points]
    droop = left(days.days[-1].end, droop=Stood(fall(flows[2], flows[-2]), 0.02 * BAR, (flows[2], flows[-2])))
    assert "after these data" in droop_as_left(days, droop).measured.words


def test_nights_without_flow_are_not_held_backfeed_looks_the_same(ten):
    dry = Days(
        tuple(replace(d, night=replace(d.night, flow=0.0)) if d.night is not None else d for d in ten.days)
    )
    got = lockup_as_left(dry, as_left_of(rise_of(ten)))
    assert got.value is None
    assert "0 nights with flow" in got.words


def test_the_middle_of_values_lies_between_two_of_them():
    rng = np.random.default_rng(3)
    for n in (3, 7, 30, 101):
        held = 0
        for _ in range(400):
            low, middle, high = around_middle(np.sort(rng.normal(0.0, 1.0, n)))
            assert low <= middle <= high
            held += low <= 0.0 <= high
        assert held > 0.74 * 400  # of three values the ends hold it in 75 %, of more in 90 %
        assert n < 7 or held > 0.86 * 400


def test_level_and_droop_are_held_against_the_twin_at_equal_flow_and_inlet(ten):
    same = against_twin(ten, law())
    assert same.level.value == pytest.approx(0.0, abs=0.025 * BAR)  # half the hysteresis
    assert same.lockup.value == pytest.approx(0.0, abs=0.03 * BAR)
    assert "stands where that of the twin does" in same.level.words or "0.0" in same.level.words
    off = against_twin(ten, law(shift=0.25 * BAR, more=0.5))
    droop = droop_curve(ten).droop.value
    assert droop is not None
    assert off.droop.value == pytest.approx(0.5 * droop, abs=0.03 * BAR)
    assert off.droop.low is not None
    assert off.droop.low > 0.0
    assert "more than that of the twin" in off.droop.words
    assert off.lockup.value is not None
    assert 0.0 < off.lockup.value < 0.15 * BAR  # half of the rise to the nights' flow: no level in it
    assert len(off.beside) == len(droop_curve(ten).points)
    assert all(one.inlet == pytest.approx(8.0 * BAR, abs=0.8 * BAR) for one in off.beside)
    assert off.level.assumptions[:2] == ("twin by a law", "mean inlet of each flow")


def test_without_an_answer_of_the_twin_nothing_is_said(ten):
    silent = against_twin(ten, Twin(lambda asked: [None for _ in asked], "twin"))
    assert (silent.level.value, silent.droop.value, silent.lockup.value) == (None, None, None)
    assert silent.level.trust == "none"
    none = against_twin(Days(), law())
    assert none.level.value is None
    assert none.lockup.value is None


def test_without_an_inlet_the_twin_takes_its_usual_one(ten):
    blind = Days(tuple(replace(d, inlets=d.inlets[:0]) for d in ten.days))
    for got in (against_twin(blind, law()), against_twin(ten, replace(law(), takes_inlet=False))):
        assert {one.inlet for one in got.beside} == {None}
        assert "the usual inlet" in got.level.assumptions


def test_the_twins_supply_sensitivity_stands_beside_that_of_service():
    rng, now = life(5, days=20.0, step=60.0)
    now.inlet += 0.5 * BAR * (np.floor(now.t / 5400.0) % 2)
    days = of(measured(rng, now))
    assert "twin" not in supply_sensitivity(days, replace(law(), takes_inlet=False)).words
    assert "In the twin it moves by 0.020 of the inlet's move." in supply_sensitivity(days, law()).words
    assert "twin" not in supply_sensitivity(days).words


@pytest.mark.parametrize("drift", [0.2, -0.2, 0.0])
def test_an_outlet_that_settles_over_weeks_shows_at_equal_flow(drift):
    rng, now = life(7, days=60.0, step=900.0)
    now.outlet += drift * BAR * (now.t - now.t[0]) / (60.0 * DAY)
    got = level_trend(of(measured(rng, now)))
    assert got.value is not None
    assert got.value * 60.0 == pytest.approx(drift * BAR, abs=0.03 * BAR)
    told = "rises" if drift > 0.0 else "falls" if drift < 0.0 else "no trend"
    assert told in got.words
    assert got.code is Measure.LEVEL_TREND
    assert level_trend(Days()).value is None


def test_inlets_by_flow_are_kept_with_the_day(ten):
    assert from_text(to_text(ten)) == ten
    assert all(d.inlets.shape[1] == 3 for d in from_text(to_text(ten)).days)
    assert sum(int(d.inlets[:, 1].sum()) for d in ten.days) > 0.9 * sum(d.n_valid for d in ten.days)
