"""The day a strainer meets its limit: the interval holds it, and without a clear growth no day is named."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest

from steadyhead.watch.measures import Days, strainer_trend
from steadyhead.watch.measures.day import Day
from steadyhead.watch.measures.strainer import LossLimit
from tests.logger.measuring import measured
from tests.logger.truth import BAR, DAY, MONDAY
from tests.watch.measures.test_measures import QUIET, blinding, life, of

CLEAN, SIGMA = 1e9, 0.04
"""Coefficient of the made days [Pa s²/m⁶], and the scatter of one day over it."""


@pytest.fixture(scope="module")
def day() -> Day:
    rng, now = life(0, days=1.0)
    return of(measured(rng, now)).days[0]


def made(day: Day, seed: int, shares: np.ndarray, *, alone: bool = True) -> Days:
    """Return days whose coefficient is a share of the clean one, with the scatter of gauges."""
    rng = np.random.default_rng([seed, shares.size])
    noise = SIGMA * rng.standard_normal(shares.size)
    return Days(
        tuple(
            replace(
                day, number=day.number + at, start=day.start + at * DAY, end=day.end + at * DAY,
                resistance=(CLEAN * float(share), SIGMA * CLEAN), alone=alone,
            )
            for at, share in enumerate(shares + noise)
        )
    )  # fmt: skip


def growing(days: int, growth: float, clean: int = 0) -> np.ndarray:
    """Return shares that begin to grow after some clean days, by `growth` a day."""
    return np.asarray(1.0 + growth * np.maximum(np.arange(days) + 0.5 - clean, 0.0))


def number(when: datetime | None) -> float:
    return np.inf if when is None else when.timestamp() / DAY


@pytest.mark.parametrize(("days", "growth"), [(12, 0.06), (30, 0.02), (90, 0.008)])
def test_the_interval_holds_the_day_about_as_often_as_it_says(day, days, growth):
    true = day.start / DAY + 1.0 / growth
    named = held = 0
    for seed in range(60):
        got = strainer_trend(made(day, seed, growing(days, growth)), 2.0 * CLEAN)
        if got.earliest is not None:
            named += 1
            assert got.meets is not None
            assert got.earliest <= got.meets
            held += number(got.earliest) <= true <= number(got.latest)
    assert named > 40
    assert held >= 0.82 * named  # 90 % are meant; 60 draws


@pytest.mark.parametrize("days", [10, 40, 120])
def test_a_strainer_that_does_not_grow_has_no_day_and_says_so(day, days):
    dates = [strainer_trend(made(day, seed, np.ones(days)), 1.5 * CLEAN) for seed in range(60)]
    assert sum(got.meets is not None for got in dates) <= 2
    quiet = next(got for got in dates if got.meets is None)
    assert quiet.trend.words == "The strainer coefficient shows no trend."


def test_a_made_record_tells_the_day_it_will_meet_its_limit():
    limit = LossLimit(9.0 * 0.1 * BAR / QUIET.mean_flow**2, "station file")
    got = strainer_trend(blinding(0.2), limit)
    true = MONDAY / DAY + 40.0
    assert number(got.earliest) <= true <= number(got.latest)
    assert number(got.latest) - number(got.earliest) < 12.0
    assert got.trend.words.count("-") >= 6  # three days, ISO
    assert "It meets its limit about " in got.trend.words
    assert " over all, " in got.trend.words
    assert " over the last " in got.trend.words
    assert "(90 %)" in got.trend.words
    assert "limit: station file" in got.trend.assumptions
    assert any("straight line" in phrase for phrase in got.trend.assumptions)


def test_without_a_stated_limit_twice_the_cleanest_days_are_taken_and_told_as_an_own_estimate(day):
    shares = growing(60, 0.015, clean=20)
    got = strainer_trend(made(day, 1, shares), own=True)
    assert got.limit == pytest.approx(2.0 * CLEAN, rel=0.06)
    assert got.own_limit
    assert number(got.earliest) <= day.start / DAY + 20.0 + 1.0 / 0.015 <= number(got.latest)
    assert any("own estimate" in phrase for phrase in got.trend.assumptions)
    assert strainer_trend(made(day, 1, shares)).meets is None


def test_a_stated_limit_of_the_strainer_is_not_held_against_strainer_and_line_together(day):
    stated = LossLimit(1.2 * CLEAN, "station file")
    line = made(day, 2, growing(60, 0.01, clean=20), alone=False)
    got = strainer_trend(line, stated, own=True)
    assert got.own_limit
    assert got.limit == pytest.approx(2.0 * CLEAN, rel=0.06)
    assert strainer_trend(line, stated).limit is None


def test_one_that_stands_over_its_limit_says_so(day):
    got = strainer_trend(made(day, 3, growing(40, 0.05)), 2.0 * CLEAN)
    assert got.meets == got.earliest == got.latest == got.by_day[-1][0]
    assert "stands at its limit or over it" in got.trend.words


def test_a_loss_below_what_two_gauges_tell_apart_is_no_coefficient(day):
    quiet = Days(
        tuple(
            replace(
                day, number=day.number + at, start=day.start + at * DAY, end=day.end + at * DAY,
                resistance=(2e6, 1e5), alone=True,
            )
            for at in range(20)
        )
    )  # fmt: skip
    got = strainer_trend(quiet, own=True)
    assert got.now.value is None
    assert got.now.trust == "none"
    assert got.now.words.endswith("less than two gauges tell apart (0.02 bar).")
    assert got.trend.words == got.now.words
    assert got.meets is None
    assert len(got.by_day) == 20


def test_a_coefficient_of_a_large_station_is_written_without_an_exponent(day):
    large = tuple(
        replace(
            day, number=day.number + at, start=day.start + at * DAY, end=day.end + at * DAY,
            resistance=(2.4e7, 1e5), alone=True,
        )
        for at in range(20)
    )  # fmt: skip
    rows = day.cells.copy()
    rows[:, 2] += 24  # ten times the flow
    got = strainer_trend(Days(tuple(replace(one, cells=rows) for one in large)))
    assert got.now.words == "The strainer coefficient stands at 0.00024 bar/(L/s)²."
    small = strainer_trend(Days(tuple(replace(one, cells=rows, resistance=(2.4e6, 1e4)) for one in large)))
    assert small.now.words == "The strainer coefficient stands at 0.000024 bar/(L/s)²."


def test_a_strainer_that_blinded_and_was_cleaned_between_is_not_told_as_if_nothing_was(day):
    shares = np.ones(90)
    shares[30:42] = np.exp(np.log(12.0) * np.arange(12) / 11.0)
    words = strainer_trend(made(day, 5, shares), own=True).now.words
    assert "times that of its cleanest days, and fell again." in words
    stood = float(words.split(", ")[1].split(" times")[0])
    assert 8.0 < stood < 13.0
    assert "fell again" not in strainer_trend(made(day, 6, np.ones(90)), own=True).now.words
    lone = np.ones(90)
    lone[40] = 9.0
    assert "fell again" not in strainer_trend(made(day, 7, lone), own=True).now.words


def test_days_of_a_fast_blinding_scatter_and_take_part_all_the_same(day):
    shares = np.ones(28)
    shares[14:] = np.exp(np.log(14.0) * np.arange(14) / 13.0)
    days = Days(
        tuple(
            replace(one, resistance=(one.resistance[0], 0.05 * one.resistance[0]))
            for one in made(day, 8, shares).days
            if one.resistance is not None
        )
    )
    now = strainer_trend(days, own=True).now
    assert now.value is not None
    assert now.value > 9.0 * CLEAN, "the worst days are not left out for scattering"
