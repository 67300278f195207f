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
