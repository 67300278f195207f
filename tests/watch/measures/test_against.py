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
from steadyhead.watch.measures.keeping import from_text, to_text
from tests.logger.measuring import measured
from tests.logger.truth import BAR, DAY
from tests.watch.measures.test_measures import QUIET, life, of, within

LITRE = 1e-3
DAY_LEFT = "14 Apr 2027"


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
    held = droop_as_left(ten, AsLeft(DAY_LEFT, droop=Stood(then, 0.02 * BAR, (first, last))))
    got = held.measured
    assert held.then == pytest.approx(then, rel=0.05)
    assert got.value == pytest.approx(fall(first, last) - then, abs=0.04 * BAR)
    assert within(got)
    assert said in got.words
    assert DAY_LEFT in got.words


def test_of_a_flow_test_half_met_the_fall_is_shared_and_of_one_hardly_met_nothing_is_said(ten):
    top = droop_curve(ten).points[-1].flow
    half = AsLeft(DAY_LEFT, droop=Stood(fall(0.4 * top, 1.6 * top), 0.02 * BAR, (0.4 * top, 1.6 * top)))
    got = droop_as_left(ten, half).measured
    assert got.value == pytest.approx(0.0, abs=0.04 * BAR)
    assert any("% of the flows of the test met" in one for one in got.assumptions)
    far = AsLeft(DAY_LEFT, droop=Stood(0.3 * BAR, 0.02 * BAR, (0.9 * top, 4.0 * top)))
    assert droop_as_left(ten, far).measured.value is None
    assert "too little of its flows" in droop_as_left(ten, far).measured.words
    assert droop_as_left(ten, AsLeft(DAY_LEFT)).measured.value is None


def test_the_lockup_is_held_against_that_as_left_by_its_rise(ten):
    duty = QUIET.mean_flow
    rise = float(np.median([4.0 * BAR - QUIET.droop * (d.night.flow / duty) ** 0.5 for d in ten.days]))
    rise -= 4.0 * BAR - QUIET.droop
    sound = lockup_as_left(ten, AsLeft(DAY_LEFT, rise=Stood(rise + 0.1 * BAR, 0.02 * BAR, (duty, duty))))
    assert sound.value == pytest.approx(-0.1 * BAR, abs=0.04 * BAR)
    assert "no more than then" in sound.words
    rng, now = life(0)
    now.outlet[now.flow < 0.6 * QUIET.mean_flow] += 0.3 * BAR
    leaky = lockup_as_left(
        of(measured(rng, now)), AsLeft(DAY_LEFT, rise=Stood(rise, 0.02 * BAR, (duty, duty)))
    )
    assert leaky.value == pytest.approx(0.3 * BAR, abs=0.06 * BAR)
    assert leaky.low is not None
    assert leaky.low > 0.1 * BAR
    assert "more now" in leaky.words
    beside = AsLeft(DAY_LEFT, rise=Stood(rise, 0.02 * BAR, (9.0 * duty, 9.0 * duty)))
    assert lockup_as_left(ten, beside).value is None
    assert "not met" in lockup_as_left(ten, beside).words
    assert lockup_as_left(ten, AsLeft(DAY_LEFT)).value is None


def test_level_and_droop_are_held_against_the_twin_at_equal_flow_and_inlet(ten):
    same = against_twin(ten, law())
    assert same.level.value == pytest.approx(0.0, abs=0.025 * BAR)  # half the hysteresis
    assert same.lockup.value == pytest.approx(0.0, abs=0.03 * BAR)
    off = against_twin(ten, law(shift=0.25 * BAR, more=0.5))
    droop = droop_curve(ten).droop.value
    assert droop is not None
    assert off.droop.value == pytest.approx(0.5 * droop, abs=0.03 * BAR)
    assert off.droop.low is not None
    assert off.droop.low > 0.0
    assert "more than that of the twin" in off.droop.words
    assert off.lockup.value is not None
    assert 0.1 * BAR < off.lockup.value < 0.3 * BAR
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
    got = against_twin(blind, law())
    assert {one.inlet for one in got.beside} == {None}
    assert "the usual inlet" in got.level.assumptions


def test_the_twins_supply_sensitivity_stands_beside_that_of_service():
    rng, now = life(5, days=20.0, step=60.0)
    now.inlet += 0.5 * BAR * (np.floor(now.t / 5400.0) % 2)
    days = of(measured(rng, now))
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
